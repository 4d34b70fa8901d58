//! A value that a callback gives and one future waits for.

use std::{
    cell::RefCell,
    future::poll_fn,
    rc::Rc,
    task::{Poll, Waker},
};

/// Given at most once; later gifts are handed back.
pub(super) struct Once<T>(Rc<RefCell<State<T>>>);

struct State<T> {
    value: Option<T>,
    given: bool,
    waker: Option<Waker>,
}

impl<T> Clone for Once<T> {
    fn clone(&self) -> Self {
        Self(Rc::clone(&self.0))
    }
}

impl<T> Once<T> {
    pub(super) fn new() -> Self {
        Self(Rc::new(RefCell::new(State {
            value: None,
            given: false,
            waker: None,
        })))
    }

    /// Gives the value, or hands it back when one was given before.
    pub(super) fn give(&self, value: T) -> Option<T> {
        let mut state = self.0.borrow_mut();
        if state.given {
            return Some(value);
        }
        state.given = true;
        state.value = Some(value);
        let waker = state.waker.take();
        drop(state);
        if let Some(waker) = waker {
            waker.wake();
        }
        None
    }

    /// Waits for the value.
    pub(super) async fn wait(&self) -> T {
        poll_fn(|context| {
            let mut state = self.0.borrow_mut();
            match state.value.take() {
                Some(value) => Poll::Ready(value),
                None => {
                    state.waker = Some(context.waker().clone());
                    Poll::Pending
                }
            }
        })
        .await
    }
}
