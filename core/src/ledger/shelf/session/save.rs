//! Saving a form, once and for sure.

use std::{ops::ControlFlow, sync::Arc};

use super::{
    Answers, Between, Change, Durability, Fault, Next, Read, Session, Step, Tab, news::Unread, reads_back, stand,
};
use crate::ledger::{
    entry::Entry,
    shelf::{Form, LINE_KEY, LineRow, Op, Store, append},
};

/// What a save gave: durable, and read back.
#[derive(Clone, Debug)]
pub struct Saved<F> {
    /// The entries of the form.
    pub entries: Vec<Arc<Entry>>,
    /// Entries that another tab saved before, which this tab has not had yet.
    pub missed: Vec<Arc<Entry>>,
    /// How far this device has come.
    pub line: LineRow,
    /// It is saved, and the storage did not answer afterwards: what was written, or what other tabs saved before, could
    /// not be read. Both are met again at the next save or start.
    pub beside: Option<F>,
}

/// Saves a form in one strict transaction and reads it back.
///
/// When the connection was lost meanwhile, it is looked whether the save had got through all the same; it is never done
/// twice.
pub struct Save<F> {
    form: Form,
    at: At,
    /// The last arrival that was known before.
    known: u64,
    was_lost: bool,
    ops: Vec<Op>,
    entries: Vec<Arc<Entry>>,
    beside: Option<F>,
}

enum At {
    /// The change.
    Write,
    /// Reading back what it wrote.
    ReadBack(LineRow),
    /// The same where another tab has moved it into a block already.
    InBlock(LineRow, Between),
    /// After a lost connection: how far this device has come.
    Line,
    /// What has arrived since the save began.
    Since(LineRow, Between),
    /// What other tabs have saved.
    Unread(LineRow, Unread),
}

impl<F: Fault> Save<F> {
    /// Saves this form.
    pub const fn new(form: Form) -> Self {
        Self { form, at: At::Write, known: 0, was_lost: false, ops: Vec::new(), entries: Vec::new(), beside: None }
    }

    /// It is saved, whatever comes of reading what others saved before.
    fn saved(&mut self, tab: &mut Tab, line: LineRow) -> ControlFlow<Saved<F>> {
        match Unread::take(tab) {
            Some(unread) => {
                self.at = At::Unread(line, unread);
                ControlFlow::Continue(())
            }
            None => self.over(line, Vec::new()),
        }
    }

    fn over(&mut self, line: LineRow, mut missed: Vec<Arc<Entry>>) -> ControlFlow<Saved<F>> {
        // After a lost connection its own are among what was not known.
        missed.retain(|entry| !self.entries.iter().any(|own| own.id == entry.id));
        ControlFlow::Break(Saved {
            entries: std::mem::take(&mut self.entries),
            missed,
            line,
            beside: self.beside.take(),
        })
    }

    /// Goes on after reading back. It is on the medium: a storage that does not answer does not undo it.
    fn proven(&mut self, tab: &mut Tab, line: LineRow, proof: Result<(), F>) -> Next<Saved<F>, F> {
        match proof {
            Err(why) if why.is_not_read_back() => Err(why),
            proof => {
                self.beside = proof.err();
                Ok(self.saved(tab, line))
            }
        }
    }
}

impl<F: Fault> Session<F> for Save<F> {
    type Done = Saved<F>;

    fn step(&mut self, tab: &mut Tab, _: u64) -> Step {
        Step::Read(match &self.at {
            At::Write => {
                if !self.was_lost {
                    self.known = tab.known;
                }
                let optional = [
                    (!self.form.attachments.is_empty(), Store::Attachments),
                    (!self.form.thumbs.is_empty(), Store::Thumbs),
                    (self.form.draft_key.is_some(), Store::Drafts),
                ];
                let optional = optional.iter().filter(|(used, _)| *used).map(|(_, store)| *store);
                return Step::Change(Change {
                    stores: [Store::Meta, Store::Tail].into_iter().chain(optional).collect(),
                    durability: Durability::Strict,
                    reads: vec![Read::meta(LINE_KEY)],
                    again: false,
                });
            }
            At::ReadBack(_) => reads_back(&self.ops),
            At::InBlock(_, between) | At::Since(_, between) => between.reads(),
            At::Line => vec![Read::meta(LINE_KEY)],
            At::Unread(_, unread) => unread.reads(),
        })
    }

    fn found(&mut self, tab: &mut Tab, found: Result<Answers, F>) -> Next<Self::Done, F> {
        let going = Ok(ControlFlow::Continue(()));
        match &mut self.at {
            At::Write => going,
            At::ReadBack(line) => {
                let line = line.clone();
                match found.and_then(|mut found| stand::<F>(&self.ops, &mut found)) {
                    Ok(false) => {
                        let first = line.arrived - self.entries.len() as u64 + 1;
                        let between = Between::new(first, line.arrived);
                        self.at = At::InBlock(line, between);
                        going
                    }
                    proof => self.proven(tab, line, proof.map(|_| ())),
                }
            }
            At::InBlock(line, between) => {
                let line = line.clone();
                let proof = match found.and_then(|found| between.found_now(found)) {
                    Ok(None) => return going,
                    Ok(Some(there)) if self.entries.iter().all(|entry| there.contains(entry)) => Ok(()),
                    Ok(Some(_)) => Err(F::not_read_back()),
                    Err(why) => Err(why),
                };
                self.proven(tab, line, proof)
            }
            At::Line => {
                let line = LineRow::read(&found?.line::<F>()?)?;
                tab.claim(line.arrived);
                self.at = match line.arrived {
                    arrived if arrived == self.known => At::Write,
                    arrived => At::Since(line, Between::new(self.known + 1, arrived)),
                };
                going
            }
            At::Since(line, between) => {
                let line = line.clone();
                let Some(mut entries) = between.found_now::<F>(found?)? else { return going };
                entries.retain(|entry| entry.envelope.form == self.form.id);
                if entries.is_empty() {
                    self.at = At::Write;
                    return going;
                }
                self.entries = entries;
                Ok(self.saved(tab, line))
            }
            At::Unread(line, unread) => {
                let line = line.clone();
                match unread.found(tab, found) {
                    Ok(None) => going,
                    Ok(Some(missed)) => Ok(self.over(line, missed)),
                    Err(why) => {
                        self.beside.get_or_insert(why);
                        Ok(self.over(line, Vec::new()))
                    }
                }
            }
        }
    }

    fn decide(&mut self, _: &mut Tab, mut found: Answers, now_ms: u64) -> Result<Vec<Op>, F> {
        let appended = append(&found.line::<F>()?, &self.form, now_ms)?;
        self.entries = appended.entries;
        self.ops = appended.ops.clone();
        self.at = At::ReadBack(appended.line);
        Ok(appended.ops)
    }

    /// What this tab has saved itself is noted, and what came before it from others: the next save, whose transaction
    /// starts later, already counts from here.
    fn ended(&mut self, tab: &mut Tab, ended: Result<(), F>) -> Next<Self::Done, F> {
        match ended {
            Ok(()) => {
                if let At::ReadBack(line) = &self.at {
                    let n = self.entries.len() as u64;
                    tab.claim(line.arrived - n);
                    tab.known = line.arrived;
                    tab.n_tail += n;
                }
            }
            Err(why) if why.is_lost() && !self.was_lost => {
                self.was_lost = true;
                self.at = At::Line;
            }
            Err(why) => return Err(why),
        }
        Ok(ControlFlow::Continue(()))
    }
}
