//! Opening.

use std::ops::ControlFlow;

use super::{Answers, Change, Durability, Fault, KeyedRows, Next, Read, Session, Step, Tab};
use crate::ledger::shelf::{BLOCKS_KEY, Bytes, Fresh, LINE_KEY, Op, Opened, Opening, Store};

/// What opening gives.
#[derive(Clone, Debug)]
pub struct OpenedShelf {
    /// The ledger, and what was found odd.
    pub opened: Opened,
    /// Forms not saved yet, by the screen's key.
    pub drafts: KeyedRows,
}

/// Opens a shelf, or sets it up: reads every entry, and puts right what the two rows of `meta` do not say as it is.
pub struct Open {
    fresh: Fresh,
    repair: Option<Repair>,
    renewed: bool,
}

/// Repairs to be written, unless the two rows are no longer what was read.
struct Repair {
    shelf: OpenedShelf,
    before: [Option<Bytes>; 2],
    same: bool,
}

impl Open {
    /// Opens it.
    pub const fn new(fresh: Fresh) -> Self {
        Self { fresh, repair: None, renewed: false }
    }
}

impl<F: Fault> Session<F> for Open {
    type Done = OpenedShelf;

    fn step(&mut self, _: &mut Tab, _: u64) -> Step {
        let rows = [Read::meta(LINE_KEY), Read::meta(BLOCKS_KEY)];
        if self.repair.is_some() {
            return Step::Change(Change {
                stores: vec![Store::Meta],
                durability: Durability::Strict,
                reads: rows.into(),
                again: false,
            });
        }
        let all = [Store::Blocks, Store::Tail, Store::Drafts].map(Read::All);
        Step::Read(rows.into_iter().chain(all).collect())
    }

    fn found(&mut self, tab: &mut Tab, found: Result<Answers, F>) -> Next<Self::Done, F> {
        let mut found = found?;
        let before = [found.row(), found.row()];
        let [line, list] = [0, 1].map(|at: usize| before[at].as_deref());
        let mut opening = Opening::new(line, list, self.fresh);
        for (key, row) in found.rows() {
            opening.block(&key, &row);
        }
        let tail = found.rows();
        for (key, row) in &tail {
            opening.tail(key, row);
        }
        let mut opened = opening.finish();
        self.renewed |= opened.renewed;
        opened.renewed = self.renewed;
        tab.stands(&opened.line, tail.len());
        let shelf = OpenedShelf { opened, drafts: found.rows() };
        if shelf.opened.repairs.is_empty() {
            return Ok(ControlFlow::Break(shelf));
        }
        self.repair = Some(Repair { shelf, before, same: false });
        Ok(ControlFlow::Continue(()))
    }

    fn decide(&mut self, _: &mut Tab, mut found: Answers, _: u64) -> Result<Vec<Op>, F> {
        let rows = [found.row(), found.row()];
        Ok(self.repair.as_mut().map_or_else(Vec::new, |repair| {
            repair.same = rows == repair.before;
            if repair.same { repair.shelf.opened.repairs.clone() } else { Vec::new() }
        }))
    }

    fn ended(&mut self, _: &mut Tab, ended: Result<(), F>) -> Next<Self::Done, F> {
        ended?;
        // Another tab may be setting up the same database: whoever is second reads again.
        let repair = self.repair.take().filter(|repair| repair.same);
        Ok(repair.map_or(ControlFlow::Continue(()), |repair| ControlFlow::Break(repair.shelf)))
    }
}
