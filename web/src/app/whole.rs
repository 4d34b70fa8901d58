//! Behind the first screen: every entry is read in slices, and the state is kept for the next start when the device is
//! idle.

use std::cell::{Cell, RefCell};
use std::future::poll_fn;
use std::sync::Arc;
use std::task::{Poll, Waker};
use std::time::Duration;

use bloomdue_core::calendar::Date;
use bloomdue_core::ledger::body::{Body, Nature};
use bloomdue_core::ledger::entry::Entry;
use bloomdue_core::nursery::State;
use bloomdue_core::nursery::kept::Keeping;
use leptos::prelude::*;

use super::{App, broken};
use crate::device::{clock, screen};
use crate::store::{self, Rest};

/// A ledger smaller than this is read as quickly as a kept state would be.
const KEPT_FROM: usize = 3000;

/// Entries that may wait to be folded on top at the next start.
const LATER_MAX: usize = 200;

/// Quiet time after the last save before the state is kept.
const QUIET: Duration = Duration::from_secs(10);

/// Work between two frames, in ms at most, but for a last bulb.
const SLICE_MS: f64 = 6.0;

/// What goes on behind the screens.
#[derive(Default)]
pub(super) struct Behind {
    /// Counts up with every nursery opened, so that what was begun for one is not done to another.
    n_opened: Cell<u64>,
    /// Entries that other tabs saved before everything was read here.
    early: RefCell<Vec<Arc<Entry>>>,
    waiting: RefCell<Vec<Waker>>,
    /// Entries since the state was kept.
    n_later: Cell<usize>,
    /// Whether the state kept last, if there is one, cannot be gone on from.
    stale: Cell<bool>,
    /// Counts up with every wish to keep the state: only the last one counts.
    n_wished: Cell<u64>,
    /// How many times many entries are being folded in now: until then the state is not what the ledger says.
    n_folding: Cell<u32>,
}

impl Behind {
    /// Many entries are folded in from now on.
    pub(super) fn begin_folding(&self) {
        self.n_folding.set(self.n_folding.get() + 1);
        self.wish();
    }

    /// They are folded in.
    pub(super) fn end_folding(&self) {
        self.n_folding.set(self.n_folding.get() - 1);
    }

    /// Makes all earlier wishes to keep the state void.
    fn wish(&self) -> u64 {
        let wish = self.n_wished.get() + 1;
        self.n_wished.set(wish);
        wish
    }

    /// The state kept last cannot be gone on from.
    pub(super) fn make_stale(&self) {
        self.stale.set(true);
    }

    /// Notes an entry that the kept state does not hold.
    pub(super) fn note(&self, entry: &Entry, today: Date) {
        self.n_later.set(self.n_later.get() + 1);
        let envelope = &entry.envelope;
        let needs_earlier = !envelope.supersedes.is_empty()
            || envelope.happened.date() < today
            || Body::nature_of(&envelope.kind) == Some(Nature::Register);
        if needs_earlier {
            self.stale.set(true);
        }
    }
}

impl App {
    /// Notes that another nursery is open now. `kept` is how many entries have arrived since its state was kept.
    pub(super) fn begin_behind(self, kept: Option<usize>) {
        let shared = self.shared();
        let behind = &shared.behind;
        behind.n_opened.set(behind.n_opened.get() + 1);
        behind.early.borrow_mut().clear();
        behind.n_later.set(kept.unwrap_or(0));
        behind.stale.set(kept.is_none());
        self.whole.set(kept.is_none());
        if kept.is_none() {
            self.wake();
            self.keep_later();
        }
    }

    /// Reads all entries, once the first screen stands, and puts them in the place of the few that are here.
    pub(super) fn read_behind(self, rest: Rest) {
        let n_opened = self.shared().behind.n_opened.get();
        let read = move || {
            wasm_bindgen_futures::spawn_local(async move {
                let read = rest.read().await;
                let shared = self.shared();
                if shared.behind.n_opened.get() != n_opened {
                    return;
                }
                match read {
                    Ok((ledger, problems)) => {
                        if !problems.is_empty() {
                            shared.state.replace(State::fold(&ledger));
                            self.torn.set(problems.len());
                            self.version.update(|version| *version += 1);
                        }
                        shared.ledger.replace(ledger);
                        self.day_comes(clock::today());
                        self.whole.set(true);
                        screen::mark_whole();
                        let early = shared.behind.early.take();
                        self.take_in(early);
                        self.wake();
                        self.keep_later();
                    }
                    Err(why) => self.phase.set(broken(&why)),
                }
            });
        };
        set_timeout(read, Duration::ZERO);
    }

    fn wake(self) {
        for waiting in self.shared().behind.waiting.take() {
            waiting.wake();
        }
    }

    /// Waits until every entry is here.
    pub(crate) async fn when_whole(self) {
        poll_fn(|context| {
            if self.whole.get_untracked() {
                return Poll::Ready(());
            }
            let waker = context.waker().clone();
            self.shared().behind.waiting.borrow_mut().push(waker);
            Poll::Pending
        })
        .await;
    }

    /// Gives entries back to be folded in, or keeps them until everything is here.
    pub(super) fn unless_early(self, entries: Vec<Arc<Entry>>) -> Option<Vec<Arc<Entry>>> {
        if self.whole.get_untracked() {
            return Some(entries);
        }
        self.shared().behind.early.borrow_mut().extend(entries);
        None
    }

    /// Keeps the state for the next start, when nothing was saved for a while and if that is worth it.
    pub(super) fn keep_later(self) {
        let shared = self.shared();
        let behind = &shared.behind;
        let wish = behind.wish();
        let is_worth_it = self.whole.get_untracked()
            && behind.n_folding.get() == 0
            && shared.ledger.borrow().len() >= KEPT_FROM
            && (behind.stale.get() || behind.n_later.get() > LATER_MAX);
        if !is_worth_it {
            return;
        }
        let keep = move || {
            if self.shared().behind.n_wished.get() == wish {
                store::when_idle(move || {
                    wasm_bindgen_futures::spawn_local(async move {
                        self.keep_state().await;
                    });
                });
            }
        };
        set_timeout(keep, QUIET);
    }

    /// Keeps the state. Given up as soon as something changes; the change wishes for it again.
    pub(crate) async fn keep_state(self) {
        let shared = self.shared();
        let ready = self.whole.get_untracked() && shared.behind.n_folding.get() == 0;
        let Some(store) = self.store().filter(|_| ready) else {
            return;
        };
        let wish = shared.behind.n_wished.get();
        let n_opened = shared.behind.n_opened.get();
        let unchanged = || shared.behind.n_wished.get() == wish && shared.behind.n_opened.get() == n_opened;
        let made_of = store.made_of(|check| self.peek(|r| check(r.ledger))).await;
        // What cannot be read now is met again, and told, by what is more than a saving.
        let Ok(Some(made_of)) = made_of else { return };
        if !unchanged() {
            return;
        }
        let mut keeping = self.peek(|r| Keeping::new(r.ledger, r.state));
        let mut more = true;
        while more {
            store::breathe().await;
            if !unchanged() {
                return;
            }
            let until = clock::now_ms() + SLICE_MS;
            while more && clock::now_ms() < until {
                more = self.peek(|r| keeping.step(r.ledger, r.state));
            }
        }
        store::breathe().await;
        if store.keep_state(made_of, keeping.finish()).await.is_ok() && unchanged() {
            shared.behind.n_later.set(0);
            shared.behind.stale.set(false);
        }
    }
}
