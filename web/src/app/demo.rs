//! The demo: its records are made here, kept in a ledger of their own, and put away when the next one is opened.

use bloomdue_words::route::Route;
use bloomdue_words::start as say;
use bloomdue_words::told::{NotRecorded, StoreError};
use leptos::prelude::Set;

use super::{App, lazy};
use crate::{device::clock, store::Store};

impl App {
    /// Opens today's demo, made when it is not here yet.
    ///
    /// # Errors
    /// Why; then nothing is kept.
    pub(crate) async fn look_at_demo(self) -> Result<(), NotRecorded> {
        let demo = lazy::demo(clock::today()).await.map_err(|why| why.0)?;
        self.put_old_demos_away(demo.ledger).await?;
        self.make(demo.ledger, say::demo_name(), true).await?;
        let store = self.shared().store.borrow().clone();
        let is_empty = self.peek(|records| records.ledger.is_empty());
        if let Some(store) = store.filter(|_| is_empty) {
            let taken = store.import_made(demo.entries, &demo.photos, super::start::fresh_device()).await?;
            self.line.set(Some(taken.line));
            self.take_in_many(taken.missed).await;
            self.take_in_many(taken.entries).await;
        }
        if let Some(first) = demo.persons.first() {
            self.set_who(*first);
        }
        self.go(Route::Due);
        Ok(())
    }

    /// Demos of other days are of no use any more.
    async fn put_old_demos_away(self, but: bloomdue_core::ledger::id::Id) -> Result<(), StoreError> {
        let kept = self.shared().known.borrow().clone();
        for known in kept {
            if known.demo && known.ledger != but {
                let fresh = super::start::fresh_device();
                let old = Store::open(known.ledger, fresh).await?;
                old.store.wipe().await?;
            }
        }
        Ok(())
    }
}
