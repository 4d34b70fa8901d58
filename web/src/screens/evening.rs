//! The evening hand-over: what the other phones lack, as one file for them.

use bloomdue_core::handover::Other;
use bloomdue_core::handover::others::{Whom, n_photos, outgoing};
use bloomdue_words::route::Route;
use bloomdue_words::{evening as say, files, start};
use leptos::prelude::*;

use crate::app::{App, app};
use crate::device::screen;
use crate::parts::field::Chips;
use crate::parts::file_ready::FileReady;
use crate::parts::handing_over::{Made, made, others_of};
use crate::parts::heading::Heading;
use crate::store::PhotosIn;

/// Where the file stands once it is made.
const READY: &str = "file-ready";

/// What others lack, and the file that brings it to them.
#[component]
pub(crate) fn Evening() -> impl IntoView {
    let app = app();
    let known = RwSignal::new(None::<Vec<Other>>);
    wasm_bindgen_futures::spawn_local(async move {
        match others_of(app).await {
            Ok(others) => {
                let _ = known.try_set(Some(others));
            }
            Err(why) => app.notify(start::not_read(&why)),
        }
    });
    view! {
        <Heading place=files::files_word() title=say::title() back=Route::Files />
        {move || known.get().map(|known| view! { <Known app=app known=known /> })}
    }
}

#[component]
fn Known(app: App, known: Vec<Other>) -> impl IntoView {
    let nobody = !known.iter().any(|other| other.is_recent);
    let whom = RwSignal::new(if nobody { Whom::Newcomer } else { Whom::Everyone });
    let photos = RwSignal::new(PhotosIn::Thumbs);
    let ready = RwSignal::new_local(None::<Made>);
    let busy = RwSignal::new(false);
    let others = StoredValue::new(known.clone());
    let name = move |device| {
        let who = others.with_value(|all| all.iter().find(|other| other.device == device).and_then(|other| other.who));
        app.read(|r| say::name(who, r.state))
    };
    let to_give = move || {
        let (n, photos) = app.read(|r| {
            let some = others.with_value(|others| outgoing(r.ledger, others, whom.get()));
            (some.len(), n_photos(&some))
        });
        let name = match whom.get() {
            Whom::One(device) => Some(name(device)),
            Whom::Everyone | Whom::Newcomer => None,
        };
        say::to_give(name.as_deref(), n, photos)
    };
    // Another choice, and whatever is recorded meanwhile, makes another file.
    Effect::new(move |before: Option<()>| {
        let _ = (whom.get(), photos.get());
        app.read(|_| ());
        if before.is_some() {
            ready.set(None);
        }
    });
    let make = move |_| {
        if busy.get_untracked() {
            return;
        }
        busy.set(true);
        wasm_bindgen_futures::spawn_local(async move {
            let others = others.get_value();
            match made(app, Some((whom.get_untracked(), &others)), photos.get_untracked()).await {
                Ok(file) => {
                    let _ = ready.try_set(Some(file));
                    request_animation_frame(|| screen::bring_into_sight(READY));
                }
                Err(why) => app.notify(files::not_made(&why)),
            }
            let _ = busy.try_set(false);
        });
    };
    let words = move || if busy.get() { say::making() } else { say::make() };
    let mut for_whom = vec![(Whom::Newcomer, say::newcomer().to_owned())];
    if !nobody {
        for_whom.insert(0, (Whom::Everyone, say::everyone().to_owned()));
    }
    for_whom.extend(known.iter().map(|other| (Whom::One(other.device), name(other.device))));
    view! {
        <p class="say" role="status">{to_give}</p>
        {nobody.then(|| view! { <p class="small">{say::nobody_yet()}</p> })}
        <div id=READY>
            {move || ready.get().map(|made| {
                let Made { file, page, .. } = made.clone();
                let done = Callback::new(move |()| made.handed_over(app));
                view! { <FileReady app=app file=file page=page done=done /> }
            })}
        </div>
        <ul class="plain">
            {known.into_iter().map(|other| view! { <OneOther app=app other=other /> }).collect_view()}
        </ul>
        <Sentence whom=whom for_whom=for_whom photos=photos />
        <ol class="steps">
            {[say::step_send(), say::step_back(), say::step_take()]
                .into_iter()
                .zip(1..)
                .map(|(step, n)| view! { <li><b class="num">{n}</b> <span>{step}</span></li> })
                .collect_view()}
        </ol>
        <p class="note small">{say::not_arrived()}</p>
        <div class="act">
            <button type="button" class="btn main" on:click=make>{words}</button>
        </div>
    }
}

/// One device: when it was heard of, and what it lacks.
#[component]
fn OneOther(app: App, other: Other) -> impl IntoView {
    let name = app.peek(|r| say::name(other.who, r.state));
    let heard = app.peek(|r| say::heard(&other, r.today));
    view! {
        <li class="row">
            <span class="grow">
                <b>{name}</b> <br />
                <span class="small">{heard}</span>
                {say::not_here(other.n_not_here).map(|line| view! { <br /> <span class="small">{line}</span> })}
            </span>
        </li>
    }
}

/// Which part of the sentence is open.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Asked {
    Whom,
    Photos,
}

/// For whom and with which photos, each changed where it stands.
#[component]
fn Sentence(whom: RwSignal<Whom>, for_whom: Vec<(Whom, String)>, photos: RwSignal<PhotosIn>) -> impl IntoView {
    let open = RwSignal::new(None::<Asked>);
    let with_photos = vec![
        (PhotosIn::Without, files::photos_none().to_owned()),
        (PhotosIn::Thumbs, files::photos_small().to_owned()),
        (PhotosIn::All, files::photos_all().to_owned()),
    ];
    let (for_whom, with_photos) = (StoredValue::new(for_whom), StoredValue::new(with_photos));
    let chosen = move |asked| match asked {
        Asked::Whom => for_whom.with_value(|all| words_of(all, &whom.get())),
        Asked::Photos => with_photos.with_value(|all| words_of(all, &photos.get())),
    };
    let pieces: Vec<_> = say::for_whom()
        .into_iter()
        .map(|(text, part)| {
            let asked = part.map(|part| if part == "whom" { Asked::Whom } else { Asked::Photos });
            let choose = asked.map(|asked| {
                view! {
                    <button
                        type="button"
                        class="ed"
                        aria-expanded=move || if open.get() == Some(asked) { "true" } else { "false" }
                        on:click=move |_| open.update(|open| *open = (*open != Some(asked)).then_some(asked))
                    >
                        {move || chosen(asked)}
                    </button>
                }
            });
            view! { {text} {choose} }
        })
        .collect();
    view! {
        <p class="sentence">{pieces}</p>
        {move || open.get().map(|asked| {
            let chips = match asked {
                Asked::Whom => {
                    view! { <Chips label=say::for_label() choices=for_whom.get_value() value=whom /> }.into_any()
                }
                Asked::Photos => {
                    view! { <Chips label=say::photos_label() choices=with_photos.get_value() value=photos /> }.into_any()
                }
            };
            view! { <div class="asked">{chips}</div> }
        })}
    }
}

fn words_of<T: PartialEq>(all: &[(T, String)], chosen: &T) -> String {
    all.iter().find(|(choice, _)| choice == chosen).map_or_else(String::new, |(_, words)| words.clone())
}
