//! From nothing to the first screen: which nursery, its records, who records, then the view.

use bloomdue_core::ledger::Ledger;
use bloomdue_core::ledger::id::{Id, Ids, Noun};
use bloomdue_core::ledger::shelf::LineRow;
use bloomdue_core::nursery::State;
use bloomdue_core::record::{Command, record};
use bloomdue_words::route::Route;
use bloomdue_words::told::{NotRecorded, StoreError};
use leptos::prelude::*;
use wasm_bindgen::JsCast as _;

use super::{App, Phase, broken, frame::Frame, lazy};
use crate::device::{self, clock, entropy, prefs};
use crate::store::{self, Known, Opened, OpenedSoon, Store};

pub(crate) fn fresh_device() -> Id {
    Ids::new(entropy::bytes32()).draw(Noun::Device)
}

/// Opens the last nursery and shows the app.
pub(crate) async fn run() {
    let owner = Owner::new();
    let app = owner.with(App::new);
    std::mem::forget(owner);
    app.listen();
    match prefs::get("light").as_deref() {
        Some("dark") => device::screen::set_dark(Some(true)),
        Some("light") => device::screen::set_dark(Some(false)),
        _ => {}
    }
    match store::registry().await {
        Ok(known) => {
            let last = prefs::get("nursery").and_then(|text| Id::parse(&text).ok());
            let chosen = known.iter().find(|k| Some(k.ledger) == last).or(known.first()).map(|k| k.ledger);
            app.shared().known.replace(known);
            if let Some(ledger) = chosen {
                app.open(ledger, false).await;
            }
        }
        Err(why) => app.phase.set(broken(&why)),
    }
    let Some(place) = device::screen::clear_skeleton() else {
        return;
    };
    mount_to(place.unchecked_into(), move || view! { <Frame app=app/> }).forget();
    app.shared().mounted.set(true);
    device::shared::on_opened(move || app.go(Route::TakeIn));
    let first = lazy::is_first(&app.route.get_untracked());
    if first {
        device::screen::mark_usable();
        app.start_done_soon();
    }
    lazy::load().await;
    if !first {
        device::screen::mark_usable();
        app.start_done_soon();
    }
}

impl App {
    /// Follows what the browser tells: the address, midnight, the width.
    fn listen(self) {
        device::address::listen_first(move || self.address_changes());
        device::address::listen(move || self.address_changed());
        device::screen::on_hand(move || self.hand_laid_on());
        device::keys::enter_is_the_main_button();
        device::screen::on_wide(move |wide| self.wide.set(wide));
        device::locale::on_change(move || self.look_at_formats());
        device::screen::on_visible(move || {
            self.look_at_clock();
            if let Some(store) = self.store() {
                wasm_bindgen_futures::spawn_local(async move {
                    // A failure here is met again, and shown, at the next save.
                    let _ = store.catch_up().await;
                });
            }
        });
        device::screen::on_leave(move || wasm_bindgen_futures::spawn_local(self.keep_forms()));
        set_interval(move || self.look_at_clock(), std::time::Duration::from_secs(30));
    }

    /// Opens a nursery that this device keeps; `anyway` even if its last start did not finish.
    pub(crate) async fn open(self, ledger: Id, anyway: bool) {
        match Store::open_soon(ledger, fresh_device(), anyway).await {
            Ok(OpenedSoon::Unfinished) => return self.phase.set(Phase::Unfinished(ledger)),
            Ok(OpenedSoon::Whole(opened)) => self.opened(opened),
            Ok(OpenedSoon::Resumed { store, resumed, n_later, line, drafts, rest }) => {
                self.begin_behind(Some(n_later));
                self.torn.set(0);
                self.stands(store, resumed.part, resumed.state, line, drafts);
                self.read_behind(rest);
            }
            Err(why) => return self.phase.set(broken(&why)),
        }
        // The first screen does not wait for this.
        wasm_bindgen_futures::spawn_local(self.note_opened(ledger));
    }

    /// The first screen stands, once what waits to be drawn is drawn.
    fn start_done_soon(self) {
        let done = move || {
            wasm_bindgen_futures::spawn_local(async move {
                if let Some(store) = self.store() {
                    // A mark that stays asks one question too many at the next start, and nothing more.
                    let _ = store.start_done().await;
                }
            });
        };
        set_timeout(done, std::time::Duration::ZERO);
    }

    /// Notes in the list of nurseries which one was open last. A list that cannot be written only forgets that.
    async fn note_opened(self, ledger: Id) {
        let known = self.shared().known.borrow().iter().find(|known| known.ledger == ledger).cloned();
        if let Some(mut known) = known {
            known.opened_ms = clock::now_ms() as u64;
            let _ = store::remember(&known).await;
        }
    }

    fn opened(self, opened: Opened) {
        let state = State::fold(&opened.ledger);
        self.torn.set(opened.problems.len());
        if opened.renewed {
            self.notify(bloomdue_words::files::renewed());
        }
        self.stands(opened.store, opened.ledger, state, opened.line, opened.drafts);
        self.begin_behind(None);
    }

    /// Puts a nursery in place of the one that was open.
    fn stands(self, store: Store, ledger: Ledger, state: State, line: LineRow, drafts: Vec<(String, Vec<u8>)>) {
        let shared = self.shared();
        let id = line.ledger;
        store.on_change(move |missed, line| {
            self.line.set(Some(line));
            self.take_in(missed);
        });
        self.gone.set(None);
        store.on_gone(move |why| self.gone.set(Some(why)));
        store.compact_when_idle();
        let has_written = line.line > 0;
        self.line.set(Some(line));
        shared.drafts.borrow_mut().kept = drafts;
        let demo = shared.known.borrow().iter().any(|known| known.ledger == id && known.demo);
        let chosen = prefs::get(&format!("who {id}")).and_then(|text| Id::parse(&text).ok());
        let who = chosen.filter(|who| state.persons.contains_key(who));
        // Where only one person records and this device has recorded, it was that person. A device that has only taken a
        // file in is somebody else's as likely as not.
        let only = (has_written && state.persons.len() == 1).then(|| state.persons.keys().next().copied()).flatten();
        *shared.ledger.borrow_mut() = ledger;
        *shared.state.borrow_mut() = state;
        *shared.store.borrow_mut() = Some(store);
        prefs::set("nursery", id.as_str());
        self.who.set(who.or(only));
        self.demo.set(demo);
        // First what stands on the screen is told, then it is drawn anew: what is drawn away must not be asked again.
        self.version.update(|version| *version += 1);
        self.phase.set(Phase::Open);
        if self.shared().mounted.get() {
            self.start_done_soon();
        }
    }

    /// Starts a nursery: its own ledger, its name and the first person.
    ///
    /// # Errors
    /// Why; then nothing is kept.
    pub(crate) async fn begin_nursery(self, name: String, initials: String) -> Result<(), NotRecorded> {
        let mut ids = Ids::new(entropy::bytes32());
        let (ledger, person) = (ids.draw(Noun::Ledger), ids.draw(Noun::Person));
        // Checked before a database is made for it.
        let command = Command::Start { name: name.clone(), person, initials };
        let mut moment = self.moment();
        self.check_clock()?;
        record(command.clone(), &Ledger::new(ledger), &State::default(), &mut moment)?;
        self.make(ledger, &name, false).await?;
        self.who.set(Some(person));
        self.record(command).await?;
        self.set_who(person);
        Ok(())
    }

    /// Makes room for a ledger on this device and opens it.
    ///
    /// # Errors
    /// When the storage refuses.
    pub(crate) async fn make(self, ledger: Id, name: &str, demo: bool) -> Result<(), StoreError> {
        store::remember(&Known { ledger, name: name.to_owned(), demo, opened_ms: clock::now_ms() as u64 }).await?;
        let known = store::registry().await?;
        self.shared().known.replace(known);
        let opened = Store::open(ledger, fresh_device()).await?;
        self.opened(opened);
        Ok(())
    }

    /// Puts the open nursery away and shows the first screen, or another nursery.
    pub(crate) async fn leave(self) {
        let shared = self.shared();
        shared.store.replace(None);
        match store::registry().await {
            Ok(known) => {
                let next = known.first().map(|known| known.ledger);
                shared.known.replace(known);
                match next {
                    Some(ledger) => self.open(ledger, false).await,
                    None => self.phase.set(Phase::First),
                }
            }
            Err(why) => self.phase.set(broken(&why)),
        }
        self.go(Route::Due);
    }
}
