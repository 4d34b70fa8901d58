//! Saving, and keeping several tabs of one nursery in step.

use std::{rc::Rc, sync::Arc};

use bloomdue_core::ledger::{
    entry::Entry,
    shelf::{
        Form, LineRow,
        session::{Between, CatchUp, Save, Saved, compacting, exporting},
    },
};
use bloomdue_words::told::StoreError;
use wasm_bindgen::{JsCast as _, JsValue, closure::Closure};
use web_sys::{BroadcastChannel, MessageEvent};

use super::{Store, registry};

impl Store {
    /// Saves a form in one strict transaction. When it gives back entries, they are on the medium and were read back.
    ///
    /// # Errors
    /// Nothing was saved, and the form's draft is still there. When the connection was lost it was opened again and
    /// the save tried once more; a save that had got through all the same is not done twice.
    pub(crate) async fn append(&self, form: Form) -> Result<Saved<StoreError>, StoreError> {
        let saved = self.carry_out(Save::new(form)).await?;
        self.tell_others();
        Ok(saved)
    }

    /// Entries with these arrivals, from wherever they stand now.
    pub(super) async fn entries_between(&self, from: u64, to: u64) -> Result<Vec<Arc<Entry>>, StoreError> {
        self.carry_out(Between::new(from, to)).await
    }

    /// Looks whether another tab has saved something, and gives it out: on a message, when the page is seen again, and
    /// before a file is composed. Gives how far this device has come; everything up to there has been given out.
    pub(crate) async fn catch_up(&self) -> Result<LineRow, StoreError> {
        let (entries, line) = self.carry_out(CatchUp::default()).await?;
        let listener = self.0.on_change.borrow().clone();
        if let Some(listener) = listener {
            listener(entries, line.clone());
        }
        Ok(line)
    }

    /// Listens to the other tabs of this nursery.
    pub(super) fn listen(&self) {
        let name = registry::database_name(self.0.ledger);
        // Without the channel other tabs are noticed at the next save or when the page is seen again.
        let Ok(channel) = BroadcastChannel::new(&name) else {
            return;
        };
        let inner = Rc::downgrade(&self.0);
        let heard = Closure::<dyn FnMut(MessageEvent)>::new(move |_| {
            let Some(inner) = inner.upgrade() else { return };
            wasm_bindgen_futures::spawn_local(async move {
                // A failure here is met again, and shown, at the next save.
                let _ = Store(inner).catch_up().await;
            });
        });
        channel.set_onmessage(Some(heard.as_ref().unchecked_ref()));
        heard.forget();
        *self.0.channel.borrow_mut() = Some(channel);
    }

    /// Tells the other tabs that there is something new.
    pub(super) fn tell_others(&self) {
        if let Some(channel) = &*self.0.channel.borrow() {
            // A tab that is not told notices at its next save.
            let _ = channel.post_message(&JsValue::from_str("saved"));
        }
    }

    /// Moves rows of `tail` into blocks, if there are many. Gives whether anything was moved. Best when idle.
    pub(crate) async fn compact(&self) -> Result<bool, StoreError> {
        if !self.0.tab.borrow().is_full() {
            return Ok(false);
        }
        Ok(self.carry_out(compacting()).await? > 0)
    }

    /// Moves rows into blocks when the browser has nothing else to do.
    pub(crate) fn compact_when_idle(&self) {
        if !self.0.tab.borrow().is_full() {
            return;
        }
        let store = self.clone();
        super::when_idle(move || {
            wasm_bindgen_futures::spawn_local(async move {
                // Compaction only saves time at the next start; it is tried again after the next saves.
                let _ = store.compact().await;
            });
        });
    }

    /// Notes that a file went out just now which holds this device's entries up to line `up_to`.
    pub(crate) async fn mark_exported(&self, up_to: u64) -> Result<LineRow, StoreError> {
        let line = self.carry_out(exporting(up_to)).await?;
        self.tell_others();
        Ok(line)
    }
}
