//! Records on this device. (In memory until the shelf's executor lands.)
use std::{cell::RefCell, rc::Rc, sync::Arc};
use bloomdue_core::ledger::{Ledger, entry::Entry, id::{Id, Ids, Noun}, shelf::{self, Form}};

#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Known { pub(crate) ledger: Id, pub(crate) name: String, pub(crate) demo: bool }
#[derive(Debug)]
pub(crate) enum StoreError { Refused(bloomdue_core::error::Error) }
pub(crate) struct Opened { pub(crate) store: Store, pub(crate) ledger: Ledger }
pub(crate) struct Saved { pub(crate) entries: Vec<Arc<Entry>>, pub(crate) missed: Vec<Arc<Entry>> }
#[derive(Clone)]
pub(crate) struct Store { line: Rc<RefCell<Vec<u8>>> }
thread_local! { static KNOWN: RefCell<Vec<Known>> = const { RefCell::new(Vec::new()) }; }
pub(crate) async fn registry() -> Result<Vec<Known>, StoreError> { Ok(KNOWN.with_borrow(Clone::clone)) }
pub(crate) async fn remember(ledger: Id, name: &str, demo: bool) -> Result<(), StoreError> {
    KNOWN.with_borrow_mut(|k| k.push(Known { ledger, name: name.to_owned(), demo })); Ok(())
}
impl Store {
    pub(crate) async fn open(ledger: Id, seed: [u8; 32]) -> Result<Opened, StoreError> {
        let device = Ids::new(seed).draw(Noun::Device);
        let line = serde_json::to_vec(&shelf::LineRow::new(ledger, device)).unwrap_or_default();
        Ok(Opened { store: Self { line: Rc::new(RefCell::new(line)) }, ledger: Ledger::new(ledger) })
    }
    pub(crate) fn on_change(&self, _missed: impl Fn(Vec<Arc<Entry>>) + 'static) {}
    pub(crate) async fn append(&self, form: Form) -> Result<Saved, StoreError> {
        let done = shelf::append(&self.line.borrow(), &form, js_sys::Date::now() as u64).map_err(StoreError::Refused)?;
        *self.line.borrow_mut() = serde_json::to_vec(&done.line).unwrap_or_default();
        Ok(Saved { entries: done.entries, missed: Vec::new() })
    }
}
