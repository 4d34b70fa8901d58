//! What every screen shares: the records in memory, the way to write, where one is, and what was just saved.

mod demo;
pub(crate) mod drafts;
mod frame;
pub(crate) mod lazy;
mod start;
mod way;
mod whole;
pub(crate) mod work;
pub(crate) mod worker;

use std::cell::{Cell, RefCell};
use std::collections::BTreeSet;
use std::rc::Rc;
use std::sync::Arc;

use bloomdue_core::calendar::{Date, Happened};
use bloomdue_core::care;
use bloomdue_core::ledger::Ledger;
use bloomdue_core::ledger::entry::Entry;
use bloomdue_core::ledger::id::{EntryId, Id, Ids, Noun};
use bloomdue_core::ledger::shelf::{Attachment, Form, LineRow};
use bloomdue_core::nursery::State;
use bloomdue_core::record::{Command, Moment, record};
use bloomdue_words::form::Problem;
use bloomdue_words::formats::{self, Units};
use bloomdue_words::route::Route;
use bloomdue_words::told::{Copied, Gone, NotRecorded, StoreError};
use bloomdue_words::trail::Trail;
use bloomdue_words::{common, dates, start as say};
use leptos::prelude::*;

use crate::device::{address, clock, entropy, locale, prefs};
use crate::store::{self, Known, Store};

pub(crate) use frame::Notices;
pub(crate) use start::{fresh_device, run};

/// Entries added between two frames.
const SLICE_ENTRIES: usize = 1000;

/// Folding between two frames, in ms at most, but for a last subject.
const SLICE_MS: f64 = 10.0;

/// How far the start has come.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Phase {
    /// No nursery on this device yet, or none chosen.
    First,
    /// A nursery is open.
    Open,
    /// The last start of this nursery did not reach its first screen. None of its records was read.
    Unfinished(Id),
    /// The storage could not be opened; the sentence says why and what to do.
    Broken(String),
}

/// What was just saved, shown at the foot for a while with a way back.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Notice {
    /// What was saved.
    pub(crate) text: String,
    /// What undoing takes back; empty when there is nothing to undo.
    pub(crate) entries: Vec<EntryId>,
    /// Whether it says that something was not recorded.
    pub(crate) is_wrong: bool,
    /// Where one mends what is wrong, when that is elsewhere.
    pub(crate) mend: Option<Route>,
    /// Counts up with every message, so that an older timer does not hide a newer one.
    n: u64,
}

struct Shared {
    ledger: RefCell<Ledger>,
    state: RefCell<State>,
    store: RefCell<Option<Store>>,
    known: RefCell<Vec<Known>>,
    n_said: Cell<u64>,
    last_tap_ms: Cell<f64>,
    drafts: RefCell<drafts::Drafts>,
    behind: whole::Behind,
    trail: RefCell<Trail<crate::device::screen::Left>>,
    /// How the screen that is being left stood.
    left: RefCell<Option<crate::device::screen::Left>>,
    /// Whether the app itself opens the next page: the one that something done leads to.
    leads_on: Cell<bool>,
    /// Counts up with every touch, key and turn of a wheel.
    n_hands: Cell<u32>,
    /// Whether the page stands.
    mounted: Cell<bool>,
    /// What is said with the next message.
    beside: RefCell<Option<String>>,
}

/// The handle that screens hold; copying it is free.
#[derive(Clone, Copy)]
pub(crate) struct App {
    shared: StoredValue<Rc<Shared>, LocalStorage>,
    version: RwSignal<u64>,
    /// How many forms are not saved yet.
    n_drafts: RwSignal<usize>,
    /// How far the start has come.
    pub(crate) phase: RwSignal<Phase>,
    /// Where one is.
    pub(crate) route: RwSignal<Route>,
    /// What was just saved.
    pub(crate) said: RwSignal<Option<Notice>>,
    /// The civil day, so that screens turn over at midnight.
    pub(crate) today: RwSignal<Date>,
    /// The day that the clock shows, when records know no such day; nothing is recorded meanwhile.
    pub(crate) clock_outside: RwSignal<Option<String>>,
    /// Who records, when chosen.
    pub(crate) who: RwSignal<Option<Id>>,
    /// Whether the open ledger is the demo.
    pub(crate) demo: RwSignal<bool>,
    /// Whether there is room for two panes.
    pub(crate) wide: RwSignal<bool>,
    /// The units that are shown and typed. How all else is written follows the device; every screen is drawn anew when
    /// any of it changes.
    pub(crate) units: RwSignal<Units>,
    /// How far this device has come in the open ledger.
    pub(crate) line: RwSignal<Option<LineRow>>,
    /// Rows of the storage that could not be read at the start.
    pub(crate) torn: RwSignal<usize>,
    /// Whether every entry is in memory. Until then the state is whole, from what was kept, but the ledger is not.
    pub(crate) whole: RwSignal<bool>,
    /// Why this tab can no longer save, once it cannot.
    pub(crate) gone: RwSignal<Option<Gone>>,
}

/// The records as a screen may read them.
#[derive(Clone, Copy)]
pub(crate) struct Records<'a> {
    /// Every entry, once [`App::whole`] says so. A screen that reads it waits until then: [`Route::needs_ledger`].
    pub(crate) ledger: &'a Ledger,
    /// What they say.
    pub(crate) state: &'a State,
    /// The civil day.
    pub(crate) today: Date,
}

/// Photos that go with a command.
#[derive(Default)]
pub(crate) struct Files {
    /// Pictures.
    pub(crate) attachments: Vec<Attachment>,
    /// Their small ones.
    pub(crate) thumbs: Vec<Attachment>,
    /// The draft they were kept in meanwhile.
    pub(crate) draft_key: Option<String>,
}

impl App {
    fn new() -> Self {
        // A ledger of this name is never stored; it stands here until one is opened.
        let nothing = Ledger::new(Ids::new([0; 32]).draw(Noun::Ledger));
        let shared = Shared {
            ledger: RefCell::new(nothing),
            state: RefCell::new(State::default()),
            store: RefCell::new(None),
            known: RefCell::new(Vec::new()),
            n_said: Cell::new(0),
            last_tap_ms: Cell::new(f64::NEG_INFINITY),
            drafts: RefCell::default(),
            behind: whole::Behind::default(),
            trail: RefCell::new(way::begin()),
            left: RefCell::new(None),
            leads_on: Cell::new(false),
            n_hands: Cell::new(0),
            mounted: Cell::new(false),
            beside: RefCell::new(None),
        };
        Self {
            shared: StoredValue::new_local(Rc::new(shared)),
            version: RwSignal::new(0),
            n_drafts: RwSignal::new(0),
            phase: RwSignal::new(Phase::First),
            route: RwSignal::new(Route::parse(&address::get())),
            said: RwSignal::new(None),
            today: RwSignal::new(clock::today()),
            clock_outside: RwSignal::new(clock::outside()),
            who: RwSignal::new(None),
            demo: RwSignal::new(false),
            wide: RwSignal::new(crate::device::screen::is_wide()),
            units: RwSignal::new(read_formats()),
            line: RwSignal::new(None),
            torn: RwSignal::new(0),
            whole: RwSignal::new(true),
            gone: RwSignal::new(None),
        }
    }

    fn shared(self) -> Rc<Shared> {
        self.shared.get_value()
    }

    /// Reads the records and follows them: what is drawn from the answer is drawn again when they change.
    pub(crate) fn read<R>(self, ask: impl FnOnce(Records<'_>) -> R) -> R {
        self.version.track();
        let today = self.today.get();
        self.ask(today, ask)
    }

    /// Reads the records once, as they are now.
    pub(crate) fn peek<R>(self, ask: impl FnOnce(Records<'_>) -> R) -> R {
        self.ask(self.today.get_untracked(), ask)
    }

    fn ask<R>(self, today: Date, ask: impl FnOnce(Records<'_>) -> R) -> R {
        let shared = self.shared();
        let (ledger, state) = (shared.ledger.borrow(), shared.state.borrow());
        ask(Records { ledger: &ledger, state: &state, today })
    }

    /// The open store.
    pub(crate) fn store(self) -> Option<Store> {
        self.shared().store.borrow().clone()
    }

    /// Nurseries that this device keeps.
    pub(crate) fn known(self) -> Vec<Known> {
        self.version.track();
        self.shared().known.borrow().clone()
    }

    /// The same, without following it.
    pub(crate) fn known_now(self) -> Vec<Known> {
        self.shared().known.borrow().clone()
    }

    /// Whether records know the day that the clock shows.
    ///
    /// # Errors
    /// With that day.
    pub(crate) fn check_clock(self) -> Result<(), NotRecorded> {
        self.clock_outside.get_untracked().map_or(Ok(()), |day| Err(NotRecorded::ClockOutside(day)))
    }

    /// Looks at the device's clock again: on a day that has changed, what is dated for it counts and all is drawn anew.
    pub(crate) fn look_at_clock(self) {
        let (today, outside) = (clock::today(), clock::outside());
        if self.today.get_untracked() != today {
            self.day_comes(today);
        }
        if self.clock_outside.with_untracked(|before| *before != outside) {
            self.clock_outside.set(outside);
        }
    }

    /// Looks again at how this device writes, and draws everything so.
    pub(super) fn look_at_formats(self) {
        self.units.set(read_formats());
    }

    /// Chooses the units that this device shows and asks for.
    pub(crate) fn choose_units(self, units: Units) {
        locale::choose(units.length, units.temperature);
        self.look_at_formats();
    }

    /// The present moment, with fresh ids.
    pub(crate) fn moment(self) -> Moment {
        // What is recorded now and what is shown now are of the same day.
        self.look_at_clock();
        let today = self.today.get_untracked();
        let now = Happened::at(today, clock::minute_of_day(), clock::offset_min());
        // A clock that gives an impossible minute still gives a day.
        Moment { now: now.unwrap_or_else(|_| Happened::on(today)), ids: Ids::new(entropy::bytes32()) }
    }

    /// Records a command: checked by core, saved strictly, read back, then folded in.
    ///
    /// # Errors
    /// Why; then nothing was recorded.
    pub(crate) async fn record(self, command: Command) -> Result<Vec<Arc<Entry>>, NotRecorded> {
        self.record_with(command, Files::default()).await
    }

    /// Records a command with its photos.
    ///
    /// # Errors
    /// As [`Self::record`].
    pub(crate) async fn record_with(self, command: Command, files: Files) -> Result<Vec<Arc<Entry>>, NotRecorded> {
        self.when_whole().await;
        let mut moment = self.moment();
        self.check_clock()?;
        let drafts = self.peek(|r| record(command, r.ledger, r.state, &mut moment))?;
        let who = self.who.get_untracked().ok_or(NotRecorded::NobodyChosen)?;
        let mut form = Form::new(moment.ids.draw(Noun::Form), who, drafts);
        form.attachments = files.attachments;
        form.thumbs = files.thumbs;
        form.draft_key = files.draft_key.clone();
        let store = self.store().ok_or(NotRecorded::NoNurseryOpen)?;
        let saved = store.append(form).await?;
        self.line.set(Some(saved.line));
        self.take_in(saved.missed);
        self.take_in(saved.entries.clone());
        if let Some(why) = &saved.beside {
            let beside = say::saved_but(why);
            self.notify(beside.clone());
            self.shared().beside.replace(Some(beside));
        }
        store.compact_when_idle();
        if let Some(key) = files.draft_key {
            self.draft_saved(&key);
        }
        Ok(saved.entries)
    }

    /// Records a command that a tap gave, and says what was saved or what is wrong at the foot of the screen.
    pub(crate) fn save(self, command: Command, text: impl Into<String>) {
        self.save_then(command, text, |_| {});
    }

    /// Like [`Self::save`], then goes on with the entries once they are saved.
    pub(crate) fn save_then(
        self,
        command: Command,
        text: impl Into<String>,
        then: impl FnOnce(Vec<Arc<Entry>>) + 'static,
    ) {
        let text = text.into();
        wasm_bindgen_futures::spawn_local(async move {
            match self.record(command).await {
                Ok(entries) => {
                    self.notify_saved(text, entries.iter().map(|entry| entry.id).collect());
                    then(entries);
                }
                Err(why) => self.refused(&why),
            }
        });
    }

    /// What went out of this device in files.
    pub(crate) fn copied(self) -> Copied {
        self.line.with(|line| {
            line.as_ref().map_or_else(Copied::default, |line| Copied {
                at: (line.exported_ms > 0).then(|| dates::moment(&clock::written(line.exported_ms), self.today.get())),
                n_since: line.since_export,
            })
        })
    }

    /// Folds entries in that are stored already: own ones just saved, or another tab's.
    pub(crate) fn take_in(self, entries: Vec<Arc<Entry>>) {
        let shared = self.shared();
        let Some(entries) = self.unless_early(entries) else {
            return;
        };
        let changed = self.insert(&shared, &entries);
        if changed.is_empty() {
            return;
        }
        shared.state.borrow_mut().refold(&shared.ledger.borrow(), &changed);
        self.changed();
    }

    /// The same with any number of entries, in slices between which the page can be used. Whatever is read meanwhile is
    /// what the entries folded so far say.
    pub(crate) async fn take_in_many(self, entries: Vec<Arc<Entry>>) {
        let shared = self.shared();
        let Some(entries) = self.unless_early(entries) else {
            return;
        };
        shared.behind.begin_folding();
        let mut changed = BTreeSet::new();
        for slice in entries.chunks(SLICE_ENTRIES) {
            changed.append(&mut self.insert(&shared, slice));
            store::breathe().await;
        }
        let parts = {
            let (state, ledger) = (shared.state.borrow(), shared.ledger.borrow());
            state.parts(&ledger, &changed)
        };
        let mut left = parts.into_iter().peekable();
        while left.peek().is_some() {
            let until = clock::now_ms() + SLICE_MS;
            while clock::now_ms() < until
                && let Some(part) = left.next()
            {
                let mut state = shared.state.borrow_mut();
                state.refold(&shared.ledger.borrow(), &part);
            }
            store::breathe().await;
        }
        shared.behind.end_folding();
        self.changed();
    }

    /// Adds entries; gives what the new ones are about.
    fn insert(self, shared: &Shared, entries: &[Arc<Entry>]) -> BTreeSet<Id> {
        let mut changed = BTreeSet::new();
        let mut ledger = shared.ledger.borrow_mut();
        let today = self.today.get_untracked();
        for entry in entries {
            if ledger.insert(Arc::clone(entry)) {
                shared.behind.note(entry, today);
                changed.extend(entry.envelope.about.iter().copied());
            }
        }
        changed
    }

    /// The civil day, which may be a new one: records of later days that it brings count from now on.
    pub(super) fn day_comes(self, today: Date) {
        let shared = self.shared();
        let changed = shared.ledger.borrow_mut().day_comes(today);
        if !changed.is_empty() {
            shared.state.borrow_mut().refold(&shared.ledger.borrow(), &changed);
            shared.behind.make_stale();
            self.changed();
        }
        if self.today.get_untracked() != today {
            self.today.set(today);
        }
    }

    /// What is odd about the device's day, once every record is here.
    fn odd_clock(self) -> Option<care::clock::Clock> {
        self.whole.get_untracked().then(|| self.peek(|r| care::clock::clock(r.ledger, r.today)))?
    }

    /// What is drawn from the records is drawn again.
    fn changed(self) {
        self.version.update(|version| *version += 1);
        self.keep_later();
    }

    /// Says something at the foot of the screen.
    pub(crate) fn notify(self, text: impl Into<String>) {
        self.notify_saved(text.into(), Vec::new());
    }

    /// Says what was saved, with a way back. A clock that does not fit the records is said with it.
    pub(crate) fn notify_saved(self, mut text: String, entries: Vec<EntryId>) {
        if !entries.is_empty()
            && let Some(clock) = self.odd_clock()
        {
            text.push_str(&say::saved_under(clock, self.today.get_untracked()));
        }
        let shared = self.shared();
        let text = match shared.beside.take() {
            Some(beside) => format!("{text} {beside}"),
            None => text,
        };
        let n = shared.n_said.get() + 1;
        shared.n_said.set(n);
        // In a walk the last answer stays, to be undone until the next one is given.
        let stays = !entries.is_empty() && self.route.with_untracked(|route| matches!(route, Route::Walk(_)));
        self.said.set(Some(Notice { text, entries, is_wrong: false, mend: None, n }));
        if !stays {
            self.hide_later();
        }
    }

    /// Says why something was not recorded.
    pub(crate) fn refused(self, why: &NotRecorded) {
        self.wrong(Problem::from(why));
    }

    /// Says what is wrong, and where it is mended.
    pub(crate) fn wrong(self, why: Problem) {
        self.notify(why.text);
        self.said.update(|said| {
            if let Some(said) = said {
                said.is_wrong = true;
                said.mend = why.mend.map(|to| *to);
            }
        });
    }

    /// Lets the message at the foot go after a while.
    pub(crate) fn hide_later(self) {
        let Some(n) = self.said.with_untracked(|said| said.as_ref().map(|said| said.n)) else {
            return;
        };
        let hide = move || {
            if self.said.with_untracked(|said| said.as_ref().is_some_and(|said| said.n == n)) {
                self.said.set(None);
            }
        };
        set_timeout(hide, std::time::Duration::from_secs(12));
    }

    /// Takes back what the message at the foot speaks of.
    pub(crate) fn undo(self) {
        let Some(said) = self.said.get_untracked() else {
            return;
        };
        self.said.set(None);
        if said.entries.is_empty() {
            return;
        }
        wasm_bindgen_futures::spawn_local(async move {
            match self.record(Command::TakeBack { entries: said.entries, why: None }).await {
                Ok(_) => self.notify(common::taken_back(&said.text)),
                Err(why) => self.refused(&why),
            }
        });
    }

    /// Whether a tap counts: the second of two within 400 ms does not.
    pub(crate) fn tap_counts(self) -> bool {
        let shared = self.shared();
        let now = clock::ticks_ms();
        let counts = now - shared.last_tap_ms.get() >= 400.0;
        if counts {
            shared.last_tap_ms.set(now);
        }
        counts
    }

    /// Goes to a screen.
    pub(crate) fn go(self, route: Route) {
        self.shared().leads_on.set(true);
        address::set(&route.to_string());
    }

    /// Sets who records on this device from now on.
    pub(crate) fn set_who(self, person: Id) {
        let ledger = self.peek(|records| records.ledger.id());
        prefs::set(&format!("who {ledger}"), person.as_str());
        self.who.set(Some(person));
    }
}

/// Reads how this device writes, for all that is said from now on.
fn read_formats() -> Units {
    let formats = locale::formats();
    let units = formats.units;
    formats::set(formats);
    units
}

/// The handle, from any view.
pub(crate) fn app() -> App {
    expect_context::<App>()
}

/// A failed start as a sentence.
pub(crate) fn broken(why: &StoreError) -> Phase {
    Phase::Broken(say::store_error(why))
}
