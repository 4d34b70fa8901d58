//! Which nurseries are kept in this browser: a small database of its own, so that none has to be opened to list them.

use std::rc::Rc;

use bloomdue_core::json;
use bloomdue_core::ledger::{
    id::Id,
    shelf::{
        Op, Store,
        session::{Change, Durability, Read},
    },
};
use bloomdue_words::told::StoreError;
use serde::{Deserialize, Serialize};

use crate::device::folder;

use super::database::{Connection, Fate, delete};

const NAME: &str = "bloomdue";
/// Its one store has the name of a store that core knows, so that lists of operations fit.
const STORE: Store = Store::Meta;

/// A nursery kept in this browser.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct Known {
    /// Its ledger.
    pub(crate) ledger: Id,
    /// Its name when it was last open.
    pub(crate) name: String,
    /// Whether it is the demo.
    pub(crate) demo: bool,
    /// When it was last open, in ms since 1970.
    pub(crate) opened_ms: u64,
}

/// The name of a ledger's database.
pub(super) fn database_name(ledger: Id) -> String {
    format!("{NAME}-{ledger} {}", folder())
}

async fn connect() -> Result<Connection, StoreError> {
    let name = format!("{NAME} {}", folder());
    Connection::open(&name, &[STORE.name()], Rc::new(Fate::default())).await
}

/// The nurseries kept here, the one that was open last first.
pub(crate) async fn registry() -> Result<Vec<Known>, StoreError> {
    let connection = connect().await?;
    let found = connection.read(&[Read::All(STORE)]).await;
    connection.close();
    let rows = found?.rows();
    // A row that cannot be read is passed over: the nursery itself is untouched in its own database.
    let mut known: Vec<Known> = rows.iter().filter_map(|(_, row)| json::read_bytes(row).ok()).collect();
    known.sort_by_key(|known| std::cmp::Reverse(known.opened_ms));
    Ok(known)
}

/// Notes that a nursery is kept here, or what it is called now.
pub(crate) async fn remember(known: &Known) -> Result<(), StoreError> {
    let bytes = json::to_bytes(known);
    change(Op::put(STORE, known.ledger.as_str(), bytes)).await
}

/// Strikes a nursery off the list. Its database stays until it is wiped.
pub(crate) async fn forget(ledger: Id) -> Result<(), StoreError> {
    change(Op::delete(STORE, ledger.as_str())).await
}

/// Removes a nursery from this browser for good: its database, then its line in the list.
pub(super) async fn wipe(ledger: Id) -> Result<(), StoreError> {
    delete(&database_name(ledger)).await?;
    forget(ledger).await
}

async fn change(op: Op) -> Result<(), StoreError> {
    let connection = connect().await?;
    let change = Change { stores: vec![STORE], durability: Durability::Strict, reads: Vec::new(), again: true };
    let done = connection.change(&change, move |_| Ok(vec![op]), || {}).await;
    connection.close();
    done
}
