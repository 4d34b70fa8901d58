//! Show it: one page of a try to hand round, as a picture or a file. No place, person or bulb is named unless chosen.

use bloomdue_core::handover::file_name;
use bloomdue_core::ledger::Register;
use bloomdue_core::ledger::id::Id;
use bloomdue_core::trial::conditions::{grounds, lookers};
use bloomdue_core::trial::outcome::Kind;
use bloomdue_core::trial::pictures::{PhotoDay, photo_days};
use bloomdue_core::trial::standing::{Standing, standing};
use bloomdue_words::route::Route;
use bloomdue_words::told::NotMade;
use bloomdue_words::{files, report, results, show as say, trials};
use js_sys::Array;
use leptos::prelude::*;
use wasm_bindgen::JsValue;

use super::run;
use crate::app::{App, Records, app};
use crate::device::files::Outgoing;
use crate::device::screen;
use crate::parts::field::Chips;
use crate::parts::file_ready::FileReady;
use crate::parts::heading::Heading;
use crate::parts::leaflet::{Column, Leaflet, Piece, as_file, as_picture};

const CHOICES: &str = "show-choices";
const READY: &str = "file-ready";

/// Photos of a group on the page.
const PHOTOS_A_GROUP: usize = 2;

/// What goes on the page beyond what always does. Nothing, to begin with.
#[derive(Clone, Copy)]
struct With {
    nursery: RwSignal<bool>,
    places: RwSignal<bool>,
    persons: RwSignal<bool>,
    bulbs: RwSignal<bool>,
    /// Which of the days with photos, by place; nothing for none.
    day: RwSignal<Option<usize>>,
}

/// What the page is made as.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Form {
    Picture,
    File,
}

/// The page of a try.
#[component]
pub(crate) fn Show(run: Id) -> impl IntoView {
    let app = app();
    let days = StoredValue::new(app.peek(|r| photo_days(r.state, run)));
    let first = days.with_value(|days| (!days.is_empty()).then_some(0));
    let with = With {
        nursery: RwSignal::new(false),
        places: RwSignal::new(false),
        persons: RwSignal::new(false),
        bulbs: RwSignal::new(false),
        day: RwSignal::new(first),
    };
    let pieces = Memo::new(move |_| {
        app.read(|r| {
            let stands = standing(r.ledger, r.state, run, r.today);
            let day = with.day.get();
            let day = day.and_then(|at| days.with_value(|days| days.get(at).cloned()));
            stands.map(|stands| pieces(r, run, &stands, with, day.as_ref()))
        })
    });
    // What was chosen stays while the page that it makes changes.
    let known = Memo::new(move |_| pieces.get().is_some());
    view! {
        <Heading place=trials::trials() title=say::title() under=say::under() back=Route::Run(run) />
        {move || (!known.get()).then(|| view! { <p>{trials::no_such_try()}</p> })}
        {move || pieces.get().map(|pieces| view! { <Leaflet app=app pieces=pieces /> })}
        {move || known.get().then(|| view! { <Make app=app pieces=pieces with=with days=days /> })}
    }
}

/// A part of how the page is made.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Part {
    Form,
    Photos,
    Named,
}

impl Part {
    fn of(name: &str) -> Option<Self> {
        Some(match name {
            "form" => Self::Form,
            "photos" => Self::Photos,
            "named" => Self::Named,
            _ => return None,
        })
    }
}

/// Whether each thing is named, with its words.
fn names(with: With) -> [(RwSignal<bool>, &'static str); 4] {
    [
        (with.nursery, say::with_nursery()),
        (with.places, say::with_places()),
        (with.persons, say::with_persons()),
        (with.bulbs, say::with_bulbs()),
    ]
}

#[component]
fn Named(with: With) -> impl IntoView {
    let boxes = names(with).map(|(value, words)| {
        view! {
            <label class="choice">
                <input
                    type="checkbox"
                    prop:checked=value
                    on:change=move |event| value.set(event_target_checked(&event))
                />
                <span>{words}</span>
            </label>
        }
    });
    view! {
        <fieldset class="group">
            <legend>{say::with_it()}</legend>
            {boxes}
        </fieldset>
        <p class="small">{say::as_written()}</p>
    }
}

/// A file is made first and leaves with a second tap: a share sheet opens only inside a tap.
#[component]
fn Make(app: App, pieces: Memo<Option<Vec<Piece>>>, with: With, days: StoredValue<Vec<PhotoDay>>) -> impl IntoView {
    let form = RwSignal::new(Form::Picture);
    let made = RwSignal::new_local(None::<Outgoing>);
    let busy = RwSignal::new(false);
    let open = RwSignal::new(None::<Part>);
    let forms = [(Form::Picture, say::as_picture().to_owned()), (Form::File, say::as_file().to_owned())];
    // The best days first; a grower who wants another one finds the latest few.
    let photos = days.with_value(|days| {
        let days = days.iter().enumerate().take(4).map(|(at, day)| (Some(at), say::photo_day(day)));
        days.chain([(None, say::no_photos().to_owned())]).collect::<Vec<_>>()
    });
    let (form_words, photo_words) = (forms.clone(), photos.clone());
    let words = move |part: Part| {
        let chosen = match part {
            Part::Form => form_words.iter().find(|(one, _)| *one == form.get()).map(|(_, words)| words.clone()),
            Part::Photos => photo_words.iter().find(|(one, _)| *one == with.day.get()).map(|(_, words)| words.clone()),
            Part::Named => {
                let chosen = names(with).into_iter().filter(|(value, _)| value.get()).map(|(_, words)| words);
                Some(say::named(&chosen.collect::<Vec<_>>()))
            }
        };
        chosen.unwrap_or_default()
    };
    let parts: Vec<_> = say::made_as()
        .into_iter()
        .map(|(text, name)| {
            let words = words.clone();
            let choose = name.and_then(Part::of).map(|part| {
                view! {
                    <button
                        type="button"
                        class="ed"
                        aria-expanded=move || if open.get() == Some(part) { "true" } else { "false" }
                        on:click=move |_| {
                            open.update(|open| *open = (*open != Some(part)).then_some(part));
                            request_animation_frame(|| screen::bring_into_sight(CHOICES));
                        }
                    >
                        {move || words(part)}
                    </button>
                }
            });
            view! { {text} {choose} }
        })
        .collect();
    let fields = move || {
        open.get().map(|part| {
            let fields = match part {
                Part::Form => view! { <Chips label=say::form_label() choices=forms.to_vec() value=form /> }.into_any(),
                Part::Photos => {
                    view! { <Chips label=say::photos_label() choices=photos.clone() value=with.day /> }.into_any()
                }
                Part::Named => view! { <Named with=with /> }.into_any(),
            };
            view! { <div class="asked">{fields}</div> }
        })
    };
    // What was made before says what was chosen before.
    Effect::new(move |_| {
        pieces.track();
        form.track();
        made.set(None);
    });
    let make = move |_| {
        let Some(pieces) = pieces.get_untracked().filter(|_| !busy.get_untracked()) else {
            return;
        };
        busy.set(true);
        wasm_bindgen_futures::spawn_local(async move {
            match compose(app, form.get_untracked(), &pieces).await {
                Ok(file) => {
                    let _ = made.try_set(Some(file));
                    request_animation_frame(|| screen::bring_into_sight(READY));
                }
                Err(why) => app.notify(files::not_made(&why)),
            }
            let _ = busy.try_set(false);
        });
    };
    view! {
        <p class="sentence">{parts}</p>
        <div id=CHOICES>{fields}</div>
        <div id=READY>{move || made.get().map(|file| view! { <FileReady app=app file=file /> })}</div>
        <div class="act">
            <button type="button" class="btn main" on:click=make>
                {move || if busy.get() { say::making() } else { say::make() }}
            </button>
        </div>
    }
}

async fn compose(app: App, form: Form, pieces: &[Piece]) -> Result<Outgoing, NotMade> {
    let title = match pieces.first() {
        Some(Piece::Title(title)) => title.as_str(),
        _ => "",
    };
    let now = app.moment().now;
    let name = |ending| file_name(if title.is_empty() { say::file_of() } else { title }, "", &now, ending);
    match form {
        Form::Picture => {
            let picture = as_picture(app, pieces).await?;
            Ok(Outgoing::of_blob(&name("jpg"), "image/jpeg", &picture)?)
        }
        Form::File => {
            let text = as_file(app, title, pieces).await?;
            let parts = Array::of1(&JsValue::from_str(&text));
            Ok(Outgoing::of_parts(&name("html"), "text/html", &parts)?)
        }
    }
}

fn pieces(r: Records<'_>, run: Id, stands: &Standing, with: With, day: Option<&PhotoDay>) -> Vec<Piece> {
    let body = r.state.runs.get(&run).and_then(|run| run.body.shown());
    let n_tries = body.map_or(1, |body| r.state.runs_of_trial(body.trial).len());
    let name = body.map_or("", |body| r.state.name_of(body.trial));
    let mut pieces = vec![Piece::Title(name.to_owned())];
    if with.nursery.get()
        && let Some(nursery) = r.state.name.shown()
    {
        pieces.push(Piece::Small(say::from_nursery(nursery)));
    }
    pieces.push(Piece::Say(trials::sentence(stands, r.state, r.today)));
    let under = trials::sentence_under(stands, r.state);
    if !under.is_empty() {
        pieces.push(Piece::Text(under));
    }
    if let Some(day) = day {
        photos(r, day, with.bulbs.get(), &mut pieces);
    }
    pieces.push(Piece::Head(say::counts().to_owned()));
    let lines = run::lines(stands);
    if !lines.is_empty() {
        let decided = lines.iter().any(|line| line.share.is_some());
        pieces.push(Piece::Shares(lines));
        pieces.push(Piece::Small(results::line_means(decided).to_owned()));
    }
    pieces.push(counts(stands));
    let mut ruled = stands.clone();
    if let Some(window) = &mut ruled.window
        && !with.places.get()
    {
        // A due day may be named after where the bulbs were to go.
        window.name.clear();
    }
    pieces.push(Piece::Small(trials::rule_line(&ruled, r.today)));
    if with.places.get() {
        pieces.push(Piece::Head(report::stood().to_owned()));
        pieces.push(Piece::List(places(r, run)));
    }
    if with.persons.get() {
        let persons = lookers(r.ledger, r.state, run, r.today);
        let persons: Vec<String> = persons.iter().map(|who| person(r, *who)).collect();
        pieces.push(Piece::Small(say::who_looked(&persons)));
    }
    pieces.push(Piece::Head(report::not_known().to_owned()));
    pieces.push(Piece::List(report::leaves_open(stands, r.state, n_tries)));
    pieces.push(Piece::Small(say::foot(stands.total.all() as usize)));
    pieces
}

fn person(r: Records<'_>, who: Id) -> String {
    let known = r.state.persons.get(&who).and_then(Register::shown);
    known.map_or_else(
        String::new,
        |person| {
            if person.name.is_empty() { person.initials.clone() } else { person.name.clone() }
        },
    )
}

fn places(r: Records<'_>, run: Id) -> Vec<String> {
    let groups = grounds(r.state, run, r.today).into_iter();
    let lines = groups.map(|group| {
        let grounds = group.grounds.iter();
        let grounds: Vec<String> = grounds.map(|one| report::ground(one, r.state)).collect();
        format!("{}: {}", r.state.name_of(group.group), grounds.join(" · "))
    });
    lines.collect()
}

fn counts(stands: &Standing) -> Piece {
    let mut heads = vec![trials::outcome().to_owned()];
    heads.extend(stands.groups.iter().map(|group| group.name.clone()));
    let kinds = Kind::ALL.iter().filter(|kind| stands.total.of(**kind) > 0);
    let mut rows: Vec<Vec<String>> = kinds
        .map(|kind| {
            let cells = stands.groups.iter().map(|group| group.counts.of(*kind).to_string());
            std::iter::once(trials::kind(*kind).to_owned()).chain(cells).collect()
        })
        .collect();
    let all = stands.groups.iter().map(|group| group.counts.all().to_string());
    rows.push(std::iter::once(trials::all().to_owned()).chain(all).collect());
    Piece::Table(heads, rows)
}

fn photos(r: Records<'_>, day: &PhotoDay, named: bool, pieces: &mut Vec<Piece>) {
    let mut columns = Vec::new();
    let mut without = Vec::new();
    for (group, pictures) in &day.groups {
        let name = r.state.name_of(*group).to_owned();
        if pictures.is_empty() {
            without.push(say::group_without(&name));
            continue;
        }
        let photos = pictures.iter().take(PHOTOS_A_GROUP).map(|picture| {
            let bulb = named.then(|| r.state.name_of(picture.bulb));
            (picture.photo.clone(), say::caption(picture, day, bulb))
        });
        columns.push(Column { name, photos: photos.collect() });
    }
    pieces.push(Piece::Head(say::photos_head(day)));
    pieces.push(Piece::Photos(columns));
    pieces.extend(without.into_iter().map(Piece::Small));
    pieces.push(Piece::Small(say::chosen_by_lot().to_owned()));
}
