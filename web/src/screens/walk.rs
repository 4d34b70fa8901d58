//! The walk: one bulb after another in bench order; one tap answers, saves and moves on.

mod done;
mod last;
mod not_here;
mod pad;
mod see;
mod top;
mod trouble;

use bloomdue_core::ledger::body::Body;
use bloomdue_core::ledger::id::{EntryId, Id, Noun};
use bloomdue_core::nursery::bench;
use bloomdue_core::nursery::course::{self, Course, Stand};
use bloomdue_core::nursery::walk::{self, Answer, Slot};
use bloomdue_core::record::{Command, walked};
use bloomdue_words::walk as words;
use leptos::prelude::*;

use crate::app::{App, Records, app};
use crate::device::{clock, keys, prefs, wake};
use done::Done;
use last::Last;
use not_here::NotHere;
use pad::Pad;
use see::See;
use top::Top;
use trouble::Trouble;

/// Where the next walk through a place is to begin, on this device.
const FROM: &str = "walk from";

/// Lets the next walk through a place begin at a bulb.
pub(crate) fn begin_at(place: Id, bulb: Id) {
    prefs::set(FROM, &format!("{place} {bulb}"));
}

/// The bulb at which this walk is to begin, said once.
fn from_here(place: Id) -> Option<Id> {
    let said = prefs::get(FROM)?;
    prefs::set(FROM, "");
    let (at, bulb) = said.split_once(' ')?;
    (Id::parse(at).ok()? == place).then(|| Id::parse(bulb).ok()).flatten()
}

/// A walk through a place.
///
/// The order is that of the bench. A walk that was broken off on the same day goes on with the first bulb that has not
/// been looked at since it began.
#[component]
pub(crate) fn Walk(place: Id) -> impl IntoView {
    let app = app();
    let key = format!("walk {place}");
    let today = app.today.get_untracked();
    let resumed = prefs::get(&key).is_some_and(|day| day == today.to_string());
    prefs::set(&key, &today.to_string());
    let walking = Walking::begin(app, place);
    // The screen stays on while somebody walks.
    wake::hold();
    on_cleanup(wake::release);
    // The last answer stays under the answers for the length of the walk, and a while beyond it.
    on_cleanup(move || app.hide_later());
    keys::on_key(move |key| walking.heard(key));
    let walks = Memo::new(move |_| walking.now.get().is_some());
    view! {
        <div class="walk" class:at-end=move || !walks.get()>
            <Show when=move || walks.get() fallback=move || view! { <Done walking=walking resumed=resumed /> }>
                <Top walking=walking />
                <See walking=walking />
                <div class="say-it">
                    <Say walking=walking />
                </div>
            </Show>
            <Last walking=walking />
        </div>
    }
}

/// The answers, or what was opened in their place.
#[component]
fn Say(walking: Walking) -> impl IntoView {
    let opened = Memo::new(move |_| walking.opened());
    move || match opened.get() {
        Some(Open::NotHere) => view! { <NotHere walking=walking /> }.into_any(),
        Some(Open::Trouble) => view! { <Trouble walking=walking /> }.into_any(),
        Some(Open::Also) | None => view! { <Pad walking=walking /> }.into_any(),
    }
}

/// What is open at a bulb beside or in place of its answers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Open {
    /// A second answer may be given; the bulb stays for it.
    Also,
    /// What may be wrong.
    Trouble,
    /// It does not stand here.
    NotHere,
}

/// A walk under way, which all its parts share.
#[derive(Clone, Copy)]
struct Walking {
    app: App,
    place: Id,
    course: Memo<Course>,
    /// The bulb one stands at.
    now: Memo<Option<Id>>,
    /// What stands beside its answers.
    seen: Memo<Seen>,
    stand: RwSignal<Stand>,
    /// The looks of this walk.
    given: RwSignal<Vec<EntryId>>,
    open: RwSignal<Option<(Id, Open)>>,
    /// The answers of this walk with their moments.
    answers: RwSignal<Vec<(Answer, f64)>>,
    busy: RwSignal<bool>,
    began_ms: f64,
}

impl Walking {
    fn begin(app: App, place: Id) -> Self {
        let from =
            from_here(place).filter(|bulb| app.peek(|r| r.state.bulb(bulb).is_some_and(|b| b.place == Some(place))));
        let stand = RwSignal::new(from.map_or(Stand::Begin, Stand::At));
        let given = RwSignal::new(Vec::<EntryId>::new());
        let course = Memo::new(move |_| {
            let given = given.get();
            app.read(|r| course::course(r.state, place, r.today, &given, stand.get()))
        });
        let now = Memo::new(move |_| course.with(|course| course.now));
        let seen = Memo::new(move |_| now.get().map(|bulb| app.read(|r| Seen::of(r, bulb))).unwrap_or_default());
        Self {
            app,
            place,
            course,
            now,
            seen,
            stand,
            given,
            open: RwSignal::new(None),
            answers: RwSignal::new(Vec::new()),
            busy: RwSignal::new(false),
            began_ms: clock::ticks_ms(),
        }
    }

    /// What is open at the bulb one stands at; what was opened at another one is closed there.
    fn opened(self) -> Option<Open> {
        let now = self.now.get()?;
        self.open.get().filter(|(bulb, _)| *bulb == now).map(|(_, open)| open)
    }

    fn set_open(self, open: Option<Open>) {
        self.open.set(self.now.get_untracked().zip(open));
    }

    /// Goes to a bulb, looked at or not.
    fn go_to(self, bulb: Id) {
        self.open.set(None);
        self.stand.set(Stand::At(bulb));
    }

    /// Leaves the bulb that stayed for a second answer; one without any answer waits for its first.
    fn go_on(self) {
        let Some(bulb) = self.now.get_untracked() else { return };
        self.open.set(None);
        if !self.is_open(bulb) {
            self.stand.set(Stand::Past(bulb));
        }
    }

    fn is_open(self, bulb: Id) -> bool {
        self.app.peek(|r| self.given.with_untracked(|given| walk::is_open(r.state, bulb, r.today, given)))
    }

    /// Saves an answer and moves on.
    fn give(self, answer: Answer) {
        let Some(bulb) = self.free_at() else { return };
        let mut ids = self.app.moment().ids;
        let found = self.app.peek(|r| {
            let known = r.state.bulb(&bulb)?;
            let command = walked::answered(answer, known, Some(self.place), &mut ids);
            Some((command, words::walked(&words::label(known), answer)))
        });
        let Some((command, text)) = found else { return };
        self.answers.update(|answers| answers.push((answer, clock::ticks_ms())));
        self.save(bulb, command, text);
    }

    /// The bulb one stands at, when a tap counts and nothing is being saved.
    fn free_at(self) -> Option<Id> {
        let free = !self.busy.get_untracked() && self.app.tap_counts();
        self.now.get_untracked().filter(|_| free)
    }

    /// Saves what was seen of a bulb and goes on to the next.
    fn save(self, bulb: Id, command: Command, text: String) {
        self.busy.set(true);
        // The bulb is kept for a second answer, and only for one.
        let stays = self.open.get_untracked() == Some((bulb, Open::Also)) && self.is_open(bulb);
        wasm_bindgen_futures::spawn_local(async move {
            let done = self.app.record(command).await;
            let _ = self.busy.try_set(false);
            match done {
                Ok(entries) => {
                    prefs::set(see::GOOD_LOOK, see::KNOWN);
                    let entries: Vec<EntryId> = entries.iter().map(|entry| entry.id).collect();
                    let _ = self.given.try_update(|given| given.extend(&entries));
                    self.app.notify_saved(text, entries);
                    if stays {
                        let _ = self.stand.try_set(Stand::At(bulb));
                    } else {
                        let _ = self.open.try_set(None);
                        let _ = self.stand.try_set(Stand::Past(bulb));
                    }
                    self.set_first_order().await;
                }
                Err(why) => self.app.refused(&why),
            }
        });
    }

    /// At the end of a first walk the bench's order is kept as it was walked.
    async fn set_first_order(self) {
        let given = self.given.try_get_untracked().unwrap_or_default();
        let (app, place) = (self.app, self.place);
        let order = app.peek(|r| {
            let ended = course::course(r.state, place, r.today, &given, Stand::Begin).now.is_none();
            bench::first_order(r.state, place).filter(|_| ended)
        });
        if let Some(order) = order {
            let command = Command::Set { subject: place, slot: String::new(), body: Body::BenchOrder(order) };
            if let Err(why) = app.record(command).await {
                app.refused(&why);
            }
        }
    }

    /// Takes back what was saved last and stands at its bulb again.
    fn undo(self) {
        let first = self.app.said.with_untracked(|said| said.as_ref().and_then(|said| said.entries.first().copied()));
        let of = first.and_then(|entry| self.app.peek(|r| r.ledger.get(entry)?.envelope.about.first().copied()));
        self.app.undo();
        if let Some(bulb) = of.filter(|of| of.is(Noun::Bulb)) {
            self.go_to(bulb);
        }
    }

    /// What a key means here: 1 to 6 an answer, U undo, arrows the bulbs beside this one.
    fn heard(self, key: &str) -> bool {
        let beside = |wanted: fn(&Course) -> Option<Id>| {
            let bulb = self.course.with_untracked(wanted);
            bulb.map(|bulb| self.go_to(bulb)).is_some()
        };
        match key {
            "ArrowLeft" => beside(|course| course.before),
            "ArrowRight" => beside(|course| course.after),
            "u" | "U" => {
                let undoes =
                    self.app.said.with_untracked(|said| said.as_ref().is_some_and(|said| !said.entries.is_empty()));
                if undoes {
                    self.undo();
                }
                undoes
            }
            _ => {
                let answers = !matches!(self.opened_now(), Some(Open::NotHere | Open::Trouble));
                let slot = self.seen.with_untracked(|seen| {
                    seen.pad.iter().copied().find(|slot| answers && key == slot.key.to_string())
                });
                slot.map(|slot| self.give(slot.answer)).is_some()
            }
        }
    }

    fn opened_now(self) -> Option<Open> {
        untrack(|| self.opened())
    }
}

/// What stands beside the answers of a bulb.
#[derive(Clone, Debug, Default, PartialEq)]
struct Seen {
    label: String,
    /// Lot and size.
    of_what: String,
    /// When it was looked at last, and what it showed.
    last: (String, String),
    /// Since when it is blind or at rest.
    quiet: Option<String>,
    /// The answers, from above.
    pad: Vec<Slot>,
    /// What the likeliest answer says again.
    as_before: String,
    /// A stalk is known, and the bulb is not marked yet.
    may_be_fit: bool,
    /// A shoot of which it is not known what it is.
    unsure: Option<Id>,
}

impl Seen {
    fn of(r: Records<'_>, bulb: Id) -> Self {
        let Some(known) = r.state.bulb(&bulb) else {
            return Self::default();
        };
        Self {
            label: words::label(known),
            of_what: words::of_what(known, r.state),
            last: words::last_look(known, r.today),
            quiet: words::quiet_since(known, r.today),
            pad: walk::from_above(walk::pad(known)),
            as_before: words::as_before(known),
            may_be_fit: known.cycle().fit.is_none() && known.cycle().furthest().is_some(),
            unsure: walk::present_unsure(known.cycle()).map(|shoot| shoot.id),
        }
    }
}
