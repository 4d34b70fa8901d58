//! Taking a file in: read, shown, and written only after the grower said yes.

use std::rc::Rc;
use std::time::Duration;

use bloomdue_core::handover::join::joined_with;
use bloomdue_core::handover::json::Reading;
use bloomdue_core::handover::{Preview, Rehearsed};
use bloomdue_core::ledger::{Ledger, id::Id};
use bloomdue_core::record::Command;
use bloomdue_core::work::{Done as WorkDone, Task};
use bloomdue_words::form::Problem;
use bloomdue_words::route::Route;
use bloomdue_words::told::{NotTakenIn, NotWorkedOut};
use bloomdue_words::{evening, files as say, start};
use leptos::prelude::*;
use wasm_bindgen::JsCast as _;
use web_sys::{File, HtmlInputElement};

use crate::app::{App, Phase, app, fresh_device, worker};
use crate::device::files::take_chosen;
use crate::device::shared;
use crate::parts::field::ProblemLine;
use crate::parts::fold::Fold;
use crate::parts::heading::Heading;
use crate::store::{FileError, Known, Store, preview_file, read_file, remember};

/// How long a file may take to be tried out, with what is here: at all, and more for each thousand records.
const LIMIT: Duration = Duration::from_secs(7);
const LIMIT_A_THOUSAND: Duration = Duration::from_millis(300);

/// What stands on the screen.
#[derive(Clone)]
enum At {
    Choose,
    Reading,
    Refused(Problem),
    /// Of the open nursery, or of one that is not open here: then it is kept apart.
    Shown {
        preview: Rc<Preview>,
        found: Rc<Rehearsed>,
        file: File,
        apart: bool,
        join: Option<Join>,
    },
    /// Of a nursery that this device keeps and that is not open now.
    Elsewhere {
        why: String,
        file: File,
    },
    Writing,
    Done {
        n_new: usize,
        n_photos: usize,
        disagreements: usize,
        twice: usize,
        /// What did not work after the records were taken in, and what else there is to say.
        beside: Vec<String>,
        /// What the sender lacks of the records here.
        back: Option<String>,
    },
}

impl At {
    /// Whether a file is to be chosen, and not another one answered first.
    fn asks_for_file(&self) -> bool {
        matches!(self, Self::Choose | Self::Refused(_) | Self::Elsewhere { .. } | Self::Done { .. })
    }
}

/// The nursery whose records are read as records of the open one.
#[derive(Clone)]
struct Join {
    to: Id,
    devices: Vec<Id>,
    n_waiting: usize,
}

/// Reads a file and shows what it would change; `join` reads another nursery's as the same one's, started twice.
fn look(app: App, at: RwSignal<At, LocalStorage>, file: File, join: bool) {
    at.set(At::Reading);
    wasm_bindgen_futures::spawn_local(async move {
        let next = match look_into(app, file, join).await {
            Ok(next) => next,
            Err(why) => At::Refused(Problem::whole(say::not_taken_in(&why))),
        };
        let _ = at.try_set(next);
    });
}

/// Takes a file in.
#[component]
pub(crate) fn TakeIn() -> impl IntoView {
    let app = app();
    let at = RwSignal::new_local(At::Choose);
    let chosen = move |event: leptos::ev::Event| {
        let Some(field) = event.target().and_then(|target| target.dyn_into::<HtmlInputElement>().ok()) else {
            return;
        };
        let Some(file) = take_chosen(&field).into_iter().next() else {
            return;
        };
        look(app, at, file, false);
    };
    // One that another program handed over is looked into at once.
    wasm_bindgen_futures::spawn_local(async move {
        if let Some(file) = shared::take().await
            && at.try_get_untracked().is_some_and(|at| at.asks_for_file())
        {
            look(app, at, file, false);
        }
    });
    let first = move || app.phase.with(|phase| *phase == Phase::First);
    view! {
        {move || {
            let back = if first() { Route::Start } else { Route::Files };
            view! { <Heading place=say::files_word() title=say::take_in() under=say::take_in_under() back=back /> }
        }}
        <label class="field" hidden=move || at.with(|at| !at.asks_for_file())>
            <span class="label">{say::choose_file()}</span>
            <input type="file" on:change=chosen />
        </label>
        {move || match at.get() {
            At::Choose => ().into_any(),
            At::Reading => view! { <p role="status">{say::reading()}</p> }.into_any(),
            At::Writing => view! { <p role="status">{say::taking_in()}</p> }.into_any(),
            At::Refused(why) => view! { <ProblemLine problem=Some(why) /> }.into_any(),
            At::Elsewhere { why, file } => {
                view! {
                    <p class="problem" role="alert">{why}</p>
                    <StartedTwice app=app at=at file=file />
                }
                .into_any()
            }
            At::Shown { preview, found, file, apart, join } => {
                view! { <Shown app=app at=at preview=preview found=found file=file apart=apart join=join /> }.into_any()
            }
            At::Done { n_new, n_photos, disagreements, twice, beside, back } => {
                let settle = (disagreements, twice);
                view! { <Done n_new=n_new n_photos=n_photos settle=settle beside=beside back=back /> }.into_any()
            }
        }}
    }
}

async fn look_into(app: App, file: File, join: bool) -> Result<At, NotTakenIn> {
    let reading = read_file(&file).await.map_err(|why| match why {
        FileError::Refused(why) => NotTakenIn::Unfit(why),
        FileError::Unread(why) => NotTakenIn::NotRead(why),
    })?;
    let open = app.phase.with_untracked(|phase| *phase == Phase::Open);
    let same = open && app.peek(|r| r.ledger.id()) == reading.ledger;
    let here = match app.store().filter(|_| same) {
        Some(store) => store.photos_here().await?,
        None => Default::default(),
    };
    let may_join = open && !same && !app.demo.get_untracked();
    if may_join && (join || app.peek(|r| joined_with(r.ledger, reading.ledger))) {
        return look_into_joined(app, reading, file).await;
    }
    let preview = if same {
        preview_file(reading, here, |work| app.peek(|r| work(r.ledger))).await
    } else {
        if let Some(known) = known_elsewhere(app, &reading) {
            return Ok(At::Elsewhere { why: say::open_it_first(&known.name), file });
        }
        let empty = Ledger::new(reading.ledger);
        preview_file(reading, here, |work| work(&empty)).await
    };
    let preview = Rc::new(preview?);
    // What its sender has is known from now on, whether or not there is anything to take in.
    if let Some(store) = app.store().filter(|_| same && preview.new.is_empty()) {
        heard(&store, &preview).await;
    }
    let found = Rc::new(rehearsed(app, &preview, !same).await?);
    Ok(At::Shown { preview, found, file, apart: !same, join: None })
}

/// Notes what the sender of a file has. Should that not be kept, more is handed over than they lack, and nothing else.
async fn heard(store: &Store, preview: &Preview) {
    if !preview.heard.is_empty() {
        let _ = store.hear(preview.heard.clone()).await;
    }
}

/// Folds a copy of the nursery with what the file brings, beside the page and within a limit.
async fn rehearsed(app: App, preview: &Preview, apart: bool) -> Result<Rehearsed, NotTakenIn> {
    let here = if apart { Vec::new() } else { app.peek(|r| r.ledger.arrived().to_vec()) };
    let n = here.len() + preview.new.len();
    let limit = LIMIT + LIMIT_A_THOUSAND * (n / 1000) as u32;
    let task =
        Task::Rehearse { ledger: preview.ledger, here, new: preview.new.clone(), today: app.today.get_untracked() };
    match worker::within(task, limit).await {
        Ok(WorkDone::Rehearsed(found)) => Ok(*found),
        // The answer is of the kind of the task.
        Ok(_) => Err(NotTakenIn::NotRehearsed(NotWorkedOut::NoAnswer)),
        Err(why) => Err(NotTakenIn::NotRehearsed(why)),
    }
}

/// A file of another nursery, read as records of the open one.
async fn look_into_joined(app: App, reading: Reading, file: File) -> Result<At, NotTakenIn> {
    let store = app.store().ok_or(NotTakenIn::NoNurseryOpen)?;
    let here = store.photos_here().await?;
    let into = app.peek(|r| r.ledger.id());
    let rewritten = reading.rewritten(into).map_err(NotTakenIn::NotJoined)?;
    let join = Join { to: rewritten.from, devices: rewritten.devices, n_waiting: rewritten.n_waiting };
    let preview = preview_file(rewritten.reading, here, |work| app.peek(|r| work(r.ledger))).await;
    let preview = Rc::new(preview?);
    let found = Rc::new(rehearsed(app, &preview, false).await?);
    Ok(At::Shown { preview, found, file, apart: false, join: Some(join) })
}

/// The other answer to a file of another nursery, where one of one's own is open.
#[component]
fn StartedTwice(app: App, at: RwSignal<At, LocalStorage>, file: File) -> impl IntoView {
    let file = StoredValue::new_local(file);
    let open = app.phase.with_untracked(|phase| *phase == Phase::Open);
    (open && !app.demo.get_untracked()).then(|| {
        view! {
            <button type="button" class="btn gap-above" on:click=move |_| look(app, at, file.get_value(), true)>
                {say::started_twice()}
            </button>
            <p class="small">{say::started_twice_hint()}</p>
        }
    })
}

/// The nursery that a file is of, where this device keeps it and it is not open now: the file is taken in there.
fn known_elsewhere(app: App, reading: &Reading) -> Option<Known> {
    app.known_now().into_iter().find(|known| known.ledger == reading.ledger)
}

#[component]
fn Shown(
    app: App,
    at: RwSignal<At, LocalStorage>,
    preview: Rc<Preview>,
    found: Rc<Rehearsed>,
    file: File,
    apart: bool,
    join: Option<Join>,
) -> impl IntoView {
    let again = file.clone();
    let ends = app.peek(|r| say::endings(&found, r.state));
    let much = found.is_much() && !apart;
    let much_said = say::ends_much(&found);
    let sure = RwSignal::new(false);
    let later = found
        .later_days
        .map(|(first, last)| say::later(found.n_later as usize, first, last, app.today.get_untracked()));
    let waiting = join.as_ref().map_or(0, |join| join.n_waiting);
    let joins = join.is_some();
    let lines = say::preview(&preview);
    let brings: Vec<String> = found.brings.iter().map(say::brings).collect();
    let of = say::file_of(&preview, app.today.get_untracked());
    let n_new = preview.new.len();
    let settle = say::settle_after(preview.n_twin_acts);
    let answer = say::would_bring(n_new, preview.new_photos.len());
    let warnings = say::preview_warnings(&preview);
    // Taken back before, everything is here and only the link is not.
    let unlinked = join.as_ref().is_some_and(|join| app.peek(|r| !joined_with(r.ledger, join.to)));
    let nothing = preview.new.is_empty() && preview.new_photos.is_empty();
    let kept = StoredValue::new_local((preview, file, join));
    let open = app.phase.with_untracked(|phase| *phase == Phase::Open);
    let unsound = !preview_is_sound(&kept.with_value(|(preview, ..)| Rc::clone(preview)));
    let leads_nowhere = nothing && !apart && !unlinked;
    let answer = if unlinked && nothing { say::links_again().to_owned() } else { answer };
    let answer = if leads_nowhere && unsound { say::nothing_new_of_what_is_sound().to_owned() } else { answer };
    let leave = if open { Route::Files } else { Route::Start };
    let yes = move |_| {
        if much && !sure.get_untracked() {
            sure.set(true);
            return;
        }
        let (preview, file, join) = kept.get_value();
        at.set(At::Writing);
        wasm_bindgen_futures::spawn_local(async move {
            let next = match write(app, &preview, &file, apart, join).await {
                Ok(done) => done,
                Err(why) => At::Refused(why),
            };
            let _ = at.try_set(next);
        });
    };
    view! {
        <div role="status">
            <p class="say">{answer}</p>
            <p class="small">{of}</p>
            {(!ends.is_empty()).then(|| view! {
                <h2>{say::ends_heading()}</h2>
                <ul>{ends.into_iter().map(|line| view! { <li class="problem">{line}</li> }).collect_view()}</ul>
            })}
            {(apart && open).then(|| view! { <p class="note">{say::kept_apart()}</p> })}
            {joins.then(|| view! { <p class="note">{say::read_as_the_same()}</p> })}
            {(waiting > 0).then(|| view! { <p class="problem">{say::waiting_for_others(waiting)}</p> })}
            {warnings.into_iter().map(|line| view! { <p class="problem">{line}</p> }).collect_view()}
            {later.map(|line| view! { <p class="problem">{line}</p> })}
            {settle.into_iter().map(|line| view! { <p class="note">{line}</p> }).collect_view()}
            <ul>{brings.into_iter().map(|line| view! { <li>{line}</li> }).collect_view()}</ul>
        </div>
        <Fold summary=say::in_detail() row=0>
            <ul>{lines.into_iter().map(|line| view! { <li>{line}</li> }).collect_view()}</ul>
        </Fold>
        {if leads_nowhere {
            view! {
                <div class="act">
                    <a class="btn" href=leave.href()>{say::leave_it()}</a>
                </div>
            }
            .into_any()
        } else {
            view! {
                {open.then(|| view! { <p class="small">{say::own_first()}</p> })}
                {apart.then(|| view! { <StartedTwice app=app at=at file=again /> })}
                <div class="act pair">
                    {move || sure.get().then(|| view! { <p class="problem" role="alert">{much_said.clone()}</p> })}
                    <a class="btn" href=leave.href()>{say::leave_it()}</a>
                    <button type="button" class="btn main" on:click=yes>
                        {move || match (sure.get(), apart && open) {
                            (true, _) => say::take_in_all_the_same().to_owned(),
                            (false, true) => say::keep_apart().to_owned(),
                            (false, false) => say::take_it_in_all(n_new),
                        }}
                    </button>
                </div>
            }
            .into_any()
        }}
    }
}

async fn write(app: App, preview: &Preview, file: &File, apart: bool, join: Option<Join>) -> Result<At, Problem> {
    let failed = |why| Problem::whole(start::store_error(&why));
    if apart {
        app.make(preview.ledger, &preview.name, false).await.map_err(failed)?;
    }
    let store: Store = app.store().ok_or_else(|| Problem::whole(start::no_nursery_open()))?;
    let before = app.peek(|r| r.state.n_to_settle());
    let nothing = preview.new.is_empty() && preview.new_photos.is_empty();
    if let Some(Join { to, devices, .. }) = join.clone().filter(|_| nothing) {
        app.record(Command::Join { to, devices }).await.map_err(|why| Problem::from(&why))?;
        return Ok(At::Done { n_new: 0, n_photos: 0, disagreements: 0, twice: 0, beside: Vec::new(), back: None });
    }
    let (taken, n_photos) = store.import(preview, file, &file.name(), fresh_device()).await.map_err(failed)?;
    // From here on the records are kept, and whatever fails is said beside that.
    let mut beside: Vec<String> = taken.beside.iter().map(start::saved_but).collect();
    if taken.renewed {
        beside.push(say::renewed().to_owned());
    }
    let same = join.is_none();
    if same {
        heard(&store, preview).await;
    }
    let n_new = taken.entries.len();
    app.line.set(Some(taken.line));
    app.take_in_many(taken.missed).await;
    app.take_in_many(taken.entries).await;
    if let Some(Join { to, devices, .. }) = join
        && let Err(why) = app.record(Command::Join { to, devices }).await
    {
        beside.push(say::taken_but(&start::not_recorded(&why)));
    }
    if let Some(name) = app.peek(|r| r.state.name.shown().cloned()) {
        let known = app.known_now().into_iter().find(|known| known.ledger == preview.ledger);
        if let Some(known) = known
            && let Err(why) = remember(&Known { name, ..known }).await
        {
            beside.push(say::taken_but(&failed(why).text));
        }
    }
    if apart {
        // The screen belongs to another nursery from now on; what was done is said at its foot.
        let said = [vec![say::taken(n_new, n_photos)], beside.clone()].concat();
        app.notify(said.join(" "));
        app.go(if app.who.get_untracked().is_none() { Route::Who } else { Route::Due });
    }
    let after = app.peek(|r| r.state.n_to_settle());
    let back = preview.heard.last().filter(|_| same).and_then(|heard| {
        let n = app.peek(|r| heard.have.lacks(r.ledger.arrived()).len());
        (n > 0).then(|| app.peek(|r| evening::give_back(&evening::name(heard.who, r.state), n)))
    });
    let disagreements = after.saturating_sub(before);
    Ok(At::Done { n_new, n_photos, disagreements, twice: preview.n_twin_acts, beside, back })
}

/// Whether all of a file could be read.
fn preview_is_sound(preview: &Preview) -> bool {
    preview.unreadable.is_empty() && preview.changed.is_empty() && preview.damaged_photos.is_empty() && !preview.cut_off
}

#[component]
fn Done(
    n_new: usize,
    n_photos: usize,
    /// Values that differ, and acts that stand twice.
    settle: (usize, usize),
    beside: Vec<String>,
    back: Option<String>,
) -> impl IntoView {
    let app = app();
    let (disagreements, twice) = settle;
    view! {
        <p class="say" role="status">{say::taken(n_new, n_photos)}</p>
        {beside.into_iter().map(|line| view! { <p class="notice" role="status">{line}</p> }).collect_view()}
        {(disagreements > 0).then(|| to_settle(say::new_disagreements(disagreements)))}
        {(twice > 0).then(|| to_settle(say::acts_twice(twice)))}
        <Show when=move || app.who.get().is_none()>
            <a class="btn" href=Route::Who.href()>{say::who_are_you()}</a>
        </Show>
        <div class="act pair">
            {back.map(|words| view! { <a class="btn" href=Route::Evening.href()>{words}</a> })}
            <a class="btn main" href=Route::Due.href()>{say::to_due()}</a>
        </div>
    }
}

fn to_settle(what: String) -> impl IntoView {
    view! {
        <a class="row" href=Route::Disagreements.href()>
            <span class="grow"><b>{what}</b></span>
        </a>
    }
}
