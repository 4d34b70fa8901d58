//! A value that the first of several callbacks gives and one future waits for.

use std::{cell::Cell, rc::Rc};

use futures_channel::oneshot::{self, Receiver, Sender};

/// Gives the value; each callback has its own copy.
pub(super) struct Give<T>(Rc<Cell<Option<Sender<T>>>>);

impl<T> Clone for Give<T> {
    fn clone(&self) -> Self {
        Self(Rc::clone(&self.0))
    }
}

impl<T> Give<T> {
    /// Gives the value, or hands it back when one was given before or nobody waits any more.
    pub(super) fn give(&self, value: T) -> Option<T> {
        match self.0.take() {
            Some(sender) => sender.send(value).err(),
            None => Some(value),
        }
    }
}

/// What gives a value, and what waits for it.
pub(super) fn once<T>() -> (Give<T>, Receiver<T>) {
    let (sender, receiver) = oneshot::channel();
    (Give(Rc::new(Cell::new(Some(sender)))), receiver)
}
