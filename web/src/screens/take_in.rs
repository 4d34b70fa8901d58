//! Taking a file in: read, shown, and written only after the grower said yes.

use std::rc::Rc;

use bloomdue_core::handover::Preview;
use bloomdue_core::handover::json::Reading;
use bloomdue_core::ledger::{Ledger, entry::Entry};
use leptos::prelude::*;
use wasm_bindgen::JsCast as _;
use web_sys::{File, HtmlInputElement};

use crate::app::{App, Phase, app, route::Route};
use crate::device::files::take_chosen;
use crate::parts::heading::Heading;
use crate::store::{FileError, Known, Store, preview_file, read_file, remember};
use crate::words::{en, files as say};

/// What stands on the screen.
#[derive(Clone)]
enum At {
    Choose,
    Reading,
    Refused(String),
    /// Of the open nursery, or of one that is not open here: then it is kept apart.
    Shown {
        preview: Rc<Preview>,
        file: File,
        apart: bool,
    },
    Writing,
    Done {
        n_new: usize,
        n_photos: usize,
        disagreements: usize,
    },
}

/// Takes a file in.
#[component]
pub(crate) fn TakeIn() -> impl IntoView {
    let app = app();
    let at = RwSignal::new_local(At::Choose);
    let chosen = move |event: leptos::ev::Event| {
        let Some(field) = event
            .target()
            .and_then(|target| target.dyn_into::<HtmlInputElement>().ok())
        else {
            return;
        };
        let Some(file) = take_chosen(&field).into_iter().next() else {
            return;
        };
        at.set(At::Reading);
        wasm_bindgen_futures::spawn_local(async move {
            let next = match look_into(app, file).await {
                Ok(next) => next,
                Err(why) => At::Refused(why),
            };
            let _ = at.try_set(next);
        });
    };
    let first = move || app.phase.with(|phase| *phase == Phase::First);
    view! {
        {move || {
            let back = if first() { Route::Start } else { Route::Files };
            view! { <Heading place=say::files_word() title=say::take_in() under=say::take_in_under() back=back /> }
        }}
        <label class="field">
            <span class="label">{say::choose_file()}</span>
            <input type="file" accept=".json,application/json,text/plain" on:change=chosen />
        </label>
        {move || match at.get() {
            At::Choose => ().into_any(),
            At::Reading => view! { <p role="status">{say::reading()}</p> }.into_any(),
            At::Writing => view! { <p role="status">{say::taking_in()}</p> }.into_any(),
            At::Refused(why) => view! { <p class="problem" role="alert">{why}</p> }.into_any(),
            At::Shown { preview, file, apart } => {
                view! { <Shown app=app at=at preview=preview file=file apart=apart /> }.into_any()
            }
            At::Done { n_new, n_photos, disagreements } => {
                view! { <Done n_new=n_new n_photos=n_photos disagreements=disagreements /> }.into_any()
            }
        }}
    }
}

async fn look_into(app: App, file: File) -> Result<At, String> {
    let reading = read_file(&file).await.map_err(|why| match why {
        FileError::Refused(why) => say::refusal(&why),
        FileError::Unread(why) => en::store_error(&why),
    })?;
    let open = app.phase.with_untracked(|phase| *phase == Phase::Open);
    let same = open && app.peek(|r| r.ledger.id()) == reading.ledger;
    let here = match app.store().filter(|_| same) {
        Some(store) => store
            .photos_here()
            .await
            .map_err(|why| en::store_error(&why))?,
        None => Default::default(),
    };
    let own = app
        .line
        .with_untracked(|line| line.as_ref().map(|line| line.device));
    let preview = if same {
        let is_own = |entry: &Entry| Some(entry.envelope.device) == own;
        preview_file(reading, here, is_own, |work| app.peek(|r| work(r.ledger))).await
    } else {
        known_elsewhere(app, &reading)?;
        let empty = Ledger::new(reading.ledger);
        preview_file(reading, here, |_| false, |work| work(&empty)).await
    };
    let preview = Rc::new(preview.map_err(|why| say::refusal(&why))?);
    Ok(At::Shown {
        preview,
        file,
        apart: !same,
    })
}

/// A file of a nursery that this device keeps but that is not open now is taken in there.
fn known_elsewhere(app: App, reading: &Reading) -> Result<(), String> {
    let known: Option<Known> = app
        .known_now()
        .into_iter()
        .find(|known| known.ledger == reading.ledger);
    match known {
        Some(known) => Err(say::open_it_first(&known.name)),
        None => Ok(()),
    }
}

#[component]
fn Shown(
    app: App,
    at: RwSignal<At, LocalStorage>,
    preview: Rc<Preview>,
    file: File,
    apart: bool,
) -> impl IntoView {
    let lines = say::preview(&preview);
    let warnings = say::preview_warnings(&preview);
    let nothing = preview.new.is_empty() && preview.new_photos.is_empty();
    let kept = StoredValue::new_local((preview, file));
    let open = app.phase.with_untracked(|phase| *phase == Phase::Open);
    let yes = move |_| {
        let (preview, file) = kept.get_value();
        at.set(At::Writing);
        wasm_bindgen_futures::spawn_local(async move {
            let next = match write(app, &preview, &file, apart).await {
                Ok(done) => done,
                Err(why) => At::Refused(why),
            };
            let _ = at.try_set(next);
        });
    };
    view! {
        <div role="status">
            {(apart && open).then(|| view! { <p class="notice">{say::kept_apart()}</p> })}
            <ul>{lines.into_iter().map(|line| view! { <li>{line}</li> }).collect_view()}</ul>
            {warnings.into_iter().map(|line| view! { <p class="problem">{line}</p> }).collect_view()}
        </div>
        {if nothing && !apart {
            view! { <p class="say">{say::nothing_new()}</p> }.into_any()
        } else {
            view! {
                <button type="button" class="btn main" on:click=yes>
                    {if apart && open { say::keep_apart() } else { say::take_it_in() }}
                </button>
                {open.then(|| view! { <p class="small">{say::nothing_written_yet()}</p> })}
            }
            .into_any()
        }}
    }
}

async fn write(app: App, preview: &Preview, file: &File, apart: bool) -> Result<At, String> {
    let failed = |why| en::store_error(&why);
    if apart {
        app.make(preview.ledger, &preview.name, false)
            .await
            .map_err(failed)?;
    }
    let store: Store = app
        .store()
        .ok_or_else(|| en::no_nursery_open().to_owned())?;
    let before = app.peek(|r| r.state.disagreements.len());
    let taken = store.import(preview, file).await.map_err(failed)?;
    let n_new = taken.entries.len();
    app.line.set(Some(taken.line));
    app.take_in(taken.missed);
    app.take_in(taken.entries);
    app.settle_who();
    if let Some(name) = app.peek(|r| r.state.name.shown().cloned()) {
        let known = app
            .known_now()
            .into_iter()
            .find(|known| known.ledger == preview.ledger);
        if let Some(known) = known {
            remember(&Known { name, ..known }).await.map_err(failed)?;
        }
    }
    if apart {
        // The screen belongs to another nursery from now on; what was done is said at its foot.
        app.say(say::taken(n_new, taken.n_photos));
        app.go(if app.who.get_untracked().is_none() {
            Route::People
        } else {
            Route::Due
        });
    }
    let after = app.peek(|r| r.state.disagreements.len());
    Ok(At::Done {
        n_new,
        n_photos: taken.n_photos,
        disagreements: after.saturating_sub(before),
    })
}

#[component]
fn Done(n_new: usize, n_photos: usize, disagreements: usize) -> impl IntoView {
    let app = app();
    view! {
        <p class="say" role="status">{say::taken(n_new, n_photos)}</p>
        {(disagreements > 0)
            .then(|| view! {
                <a class="row" href=Route::Disagreements.href()>
                    <span class="grow"><b>{say::new_disagreements(disagreements)}</b></span>
                    <span class="go" aria-hidden="true">"›"</span>
                </a>
            })}
        <Show when=move || app.who.get().is_none()>
            <a class="btn" href=Route::People.href()>{say::who_are_you()}</a>
        </Show>
        <a class="btn main gap-above" href=Route::Due.href()>{say::to_due()}</a>
    }
}
