//! What other tabs have saved.

use std::{collections::HashSet, ops::ControlFlow, sync::Arc};

use super::{Answers, Fault, KeyedRows, Next, Read, Session, Step, Tab, listed};
use crate::ledger::{
    entry::Entry,
    shelf::{BLOCKS_KEY, LINE_KEY, LineRow, Store, arrival_key, news},
};

/// Entries with these arrivals, from wherever they stand now.
#[derive(Clone, Debug)]
pub struct Between {
    from: u64,
    to: u64,
    tail: KeyedRows,
    /// The blocks to be read, once it is known that the tail does not hold all.
    keys: Vec<String>,
}

impl Between {
    /// Arrivals `from` to `to`.
    pub const fn new(from: u64, to: u64) -> Self {
        Self { from, to, tail: Vec::new(), keys: Vec::new() }
    }

    pub(super) fn reads(&self) -> Vec<Read> {
        if self.keys.is_empty() {
            let after = arrival_key(self.from.saturating_sub(1));
            return vec![Read::meta(LINE_KEY), Read::After(Store::Tail, after), Read::meta(BLOCKS_KEY)];
        }
        self.keys.iter().map(|key| Read::Row(Store::Blocks, key.clone())).collect()
    }

    /// The entries, unless more has to be read.
    pub(super) fn found_now<F: Fault>(&mut self, mut found: Answers) -> Result<Option<Vec<Arc<Entry>>>, F> {
        let mut blocks = Vec::new();
        if self.keys.is_empty() {
            let line = LineRow::read(&found.line::<F>()?)?;
            self.tail = found.rows();
            let after = self.from.saturating_sub(1);
            if self.tail.len() as u64 != line.arrived.saturating_sub(after) {
                self.keys = listed(found.row())?.keys_after(after);
            }
            if !self.keys.is_empty() {
                return Ok(None);
            }
        } else {
            let keys = std::mem::take(&mut self.keys);
            blocks = keys.into_iter().filter_map(|key| Some((key, found.row()?))).collect();
        }
        let (entries, problems) = news(self.from, self.to, &blocks, &self.tail);
        match problems.into_iter().next() {
            // What cannot be read is listed at the next start; here it must not hide the rest.
            Some(problem) if entries.is_empty() => Err(problem.why.into()),
            _ => Ok(Some(entries)),
        }
    }
}

impl<F: Fault> Session<F> for Between {
    type Done = Vec<Arc<Entry>>;

    fn step(&mut self, _: &mut Tab, _: u64) -> Step {
        Step::Read(self.reads())
    }

    fn found(&mut self, _: &mut Tab, found: Result<Answers, F>) -> Next<Self::Done, F> {
        Ok(self.found_now::<F>(found?)?.map_or(ControlFlow::Continue(()), ControlFlow::Break))
    }
}

/// What a tab has claimed and not read yet.
#[derive(Clone, Debug)]
pub(super) struct Unread {
    ranges: Vec<(u64, u64)>,
    /// What has still to be read, the last one first.
    left: Vec<Between>,
    entries: Vec<Arc<Entry>>,
}

impl Unread {
    /// Takes over all that the tab has not read; nothing when it has read all.
    pub(super) fn take(tab: &mut Tab) -> Option<Self> {
        let ranges = std::mem::take(&mut tab.unread);
        let left: Vec<_> = ranges.iter().rev().map(|(from, to)| Between::new(*from, *to)).collect();
        (!left.is_empty()).then_some(Self { ranges, left, entries: Vec::new() })
    }

    pub(super) fn reads(&self) -> Vec<Read> {
        self.left.last().map(Between::reads).unwrap_or_default()
    }

    /// The entries, once all are read. What fails is left to the tab to be read another time.
    pub(super) fn found<F: Fault>(
        &mut self,
        tab: &mut Tab,
        found: Result<Answers, F>,
    ) -> Result<Option<Vec<Arc<Entry>>>, F> {
        let read = match (found, self.left.last_mut()) {
            (Ok(found), Some(between)) => between.found_now(found),
            (found, _) => found.map(|_| None),
        };
        match read {
            Ok(None) => return Ok(None),
            Ok(Some(entries)) => self.entries.extend(entries),
            Err(why) => {
                tab.unread.append(&mut self.ranges);
                return Err(why);
            }
        }
        self.left.pop();
        if !self.left.is_empty() {
            return Ok(None);
        }
        let mut seen = HashSet::new();
        self.entries.retain(|entry| seen.insert(entry.id));
        Ok(Some(std::mem::take(&mut self.entries)))
    }
}

/// Looks whether another tab has saved something; gives it, and how far this device has come.
#[derive(Clone, Debug, Default)]
pub struct CatchUp(Option<(LineRow, Unread)>);

impl<F: Fault> Session<F> for CatchUp {
    type Done = (Vec<Arc<Entry>>, LineRow);

    fn step(&mut self, _: &mut Tab, _: u64) -> Step {
        Step::Read(self.0.as_ref().map_or_else(|| vec![Read::meta(LINE_KEY)], |(_, unread)| unread.reads()))
    }

    fn found(&mut self, tab: &mut Tab, found: Result<Answers, F>) -> Next<Self::Done, F> {
        if let Some((line, unread)) = &mut self.0 {
            let entries = unread.found(tab, found)?;
            return Ok(entries.map_or(ControlFlow::Continue(()), |entries| ControlFlow::Break((entries, line.clone()))));
        }
        let line = LineRow::read(&found?.line::<F>()?)?;
        tab.claim(line.arrived);
        match Unread::take(tab) {
            Some(unread) => self.0 = Some((line, unread)),
            None => return Ok(ControlFlow::Break((Vec::new(), line))),
        }
        Ok(ControlFlow::Continue(()))
    }
}
