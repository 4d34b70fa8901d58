//! One record: what it says, when it happened and when it was written down; put right, or taken back.

use bloomdue_core::error::Field;
use bloomdue_core::ledger::body::Body;
use bloomdue_core::ledger::entry::Entry;
use bloomdue_core::ledger::id::{EntryId, Id};
use bloomdue_core::record::Command;
use bloomdue_core::record::mistakes::{goes_with, gone_without};
use bloomdue_words::form::acts::{Typed, What};
use bloomdue_words::form::{self, Problem};
use bloomdue_words::route::Route;
use bloomdue_words::{dates, mistakes, records as say};
use leptos::prelude::*;
use std::sync::Arc;

use crate::app::{App, app};
use crate::device::clock;
use crate::parts::draft::{FormDraft, GoesOn};
use crate::parts::field::{Chips, DayField, LinesField, ProblemLine, TextField};
use crate::parts::heading::Heading;
use crate::parts::records::Records;
use crate::screens::care::fields::{Asked, Fields};

/// One record.
#[component]
pub(crate) fn Record(entry: EntryId) -> impl IntoView {
    let app = app();
    move || match app.read(|r| r.ledger.get(entry).cloned()) {
        Some(entry) => view! { <Known app=app entry=entry /> }.into_any(),
        None => view! { <p>{say::not_here()}</p> }.into_any(),
    }
}

#[component]
fn Known(app: App, entry: Arc<Entry>) -> impl IntoView {
    let facts = app.peek(|r| {
        let names: Vec<String> = entry
            .envelope
            .about
            .iter()
            .map(|id| r.state.name_of(*id).to_owned())
            .filter(|name| !name.is_empty())
            .collect();
        let mut lines = vec![
            say::happened(&entry),
            say::written(&dates::moment(&clock::written(entry.envelope.hlc.ms), r.today)),
            say::by(r.state.name_of(entry.envelope.who)),
        ];
        if !names.is_empty() {
            lines.push(say::about(&names));
        }
        lines
    });
    let standing: Vec<Id> = app.peek(|r| {
        entry.envelope.about.iter().copied().filter(|subject| r.ledger.is_in_force(&entry, *subject)).collect()
    });
    let row = |other: &Arc<Entry>| {
        app.peek(|r| (other.id, say::said(&other.body, r.state), say::under(other, r.state, r.today, true)))
    };
    let after: Vec<_> =
        app.peek(|r| r.ledger.successors(&entry).into_iter().cloned().collect::<Vec<_>>()).iter().map(row).collect();
    let before: Vec<_> = app
        .peek(|r| entry.envelope.supersedes.iter().filter_map(|id| r.ledger.get(*id).cloned()).collect::<Vec<_>>())
        .iter()
        .map(row)
        .collect();
    let title = app.peek(|r| say::said(&entry.body, r.state));
    let first = entry.envelope.about.first().copied();
    let back = first.filter(|id| app.peek(|r| r.state.bulb(id).is_some())).map_or(Route::Places, Route::Bulb);
    let stands = !standing.is_empty();
    if !stands {
        // Put right or taken back meanwhile: there is no form to go on with.
        app.let_go_at(&Route::Record(entry.id));
    }
    view! {
        <Heading place=say::record() title=title back=back />
        <ul>{facts.into_iter().map(|line| view! { <li>{line}</li> }).collect_view()}</ul>
        <p>{if stands { say::stands() } else { say::no_longer() }}</p>
        {(!before.is_empty()).then(|| view! { <h2>{say::replaces()}</h2> <Records rows=before /> })}
        {(!after.is_empty()).then(|| view! { <h2>{say::replaced_by()}</h2> <Records rows=after /> })}
        {stands.then(|| view! { <Mend app=app entry=entry standing=standing /> })}
    }
}

fn mend_key(entry: EntryId) -> String {
    format!("mend {}", Route::Record(entry))
}

fn take_back_key(entry: EntryId) -> String {
    format!("take-back {}", Route::Record(entry))
}

/// Putting right and taking back.
#[component]
fn Mend(app: App, entry: Arc<Entry>, standing: Vec<Id>) -> impl IntoView {
    let why = RwSignal::new(String::new());
    let id = entry.id;
    // Bulbs that nothing else says to be bulbs are gone with this record, and their records with them.
    let goes = app.peek(|r| {
        let gone: Vec<Id> = gone_without(r.ledger, r.state, &entry).collect();
        (!gone.is_empty()).then(|| mistakes::goes(&goes_with(r.ledger, r.state, &gone)))
    });
    let draft = FormDraft::of(app, take_back_key(id)).field("why", why).keep();
    let take_back = move |_| {
        let why = why.get_untracked();
        let why = (!why.trim().is_empty()).then_some(why);
        let command = Command::TakeBack { entries: vec![id], why };
        wasm_bindgen_futures::spawn_local(async move {
            match draft.record(command).await {
                Ok(entries) => {
                    app.notify_saved(say::took_back().to_owned(), entries.iter().map(|entry| entry.id).collect())
                }
                Err(why) => app.refused(&why),
            }
        });
    };
    view! {
        <PutRight app=app entry=entry standing=standing />
        <h2>{say::take_back()}</h2>
        {goes.map(|text| view! { <p>{text}</p> })}
        <GoesOn draft=draft />
        <TextField label=say::why() value=why />
        <button type="button" class="btn soft" on:click=take_back>{say::take_back()}</button>
    }
}

/// Everything that the kind holds, and the day. A look is put right on a screen of its own.
#[component]
fn PutRight(app: App, entry: Arc<Entry>, standing: Vec<Id>) -> impl IntoView {
    if matches!(entry.body, Body::Look(_)) {
        let href = Route::MendLook(entry.id).href();
        return view! { <a class="btn gap-above" href=href>{say::put_look_right()}</a> }.into_any();
    }
    view! { <Form app=app entry=entry standing=standing /> }.into_any()
}

#[component]
fn Form(app: App, entry: Arc<Entry>, standing: Vec<Id>) -> impl IntoView {
    let today = app.today.get_untracked().to_string();
    let day = RwSignal::new(entry.envelope.happened.date().to_string());
    let value = RwSignal::new(form::value::typed(&entry.body));
    let problem = RwSignal::new(None::<Problem>);
    let what = What::of(&entry.body);
    let fields = Fields::of(Typed::of(&entry.body, day.get_untracked()));
    let n = standing.len();
    let only = RwSignal::new(None::<Id>);
    let mut choices: Vec<(Option<Id>, String)> = vec![(None, say::all_of(n))];
    choices.extend(standing.iter().take(40).map(|id| (Some(*id), app.peek(|r| r.state.name_of(*id).to_owned()))));
    let draft = fields
        .drafted(FormDraft::of(app, mend_key(entry.id)))
        .field("on", day)
        .field("value", value)
        .field("only", only)
        .in_units(|typed_in| {
            value.update(|text| *text = form::value::retyped(&entry.body, std::mem::take(text), typed_in));
            if let Some(what) = what {
                let form = fields.typed();
                fields.number.update(|text| *text = form.retyped_number(what, text, typed_in));
                if what == What::Climate {
                    fields.lowest.update(|text| *text = form.retyped_number(what, text, typed_in));
                    fields.highest.update(|text| *text = form.retyped_number(what, text, typed_in));
                }
            }
        })
        .keep();
    let before = entry.body.clone();
    let (id, about) = (entry.id, standing);
    let read = move || {
        let on = form::day(Field::Date, &day.get_untracked(), bloomdue_words::care::choose_day())?;
        let body = match (&before, what) {
            (Body::Act(kind, act), _) => Body::Act(*kind, fields.typed().act(*kind, act.clone())?),
            (_, Some(what)) => fields.typed().body(what)?.beside(&before),
            (_, None) => form::value::with(before.clone(), &value.get_untracked())?,
        };
        let about = only.get_untracked().map_or_else(|| about.clone(), |one| vec![one]);
        Ok::<Command, Problem>(Command::PutRight { entry: id, body, on: Some(on), about })
    };
    let save = move |_| {
        let command = match read() {
            Ok(command) => command,
            Err(why) => return problem.set(Some(why)),
        };
        wasm_bindgen_futures::spawn_local(async move {
            match draft.record(command).await {
                Ok(entries) => {
                    app.notify_saved(say::was_put_right().to_owned(), entries.iter().map(|e| e.id).collect())
                }
                Err(why) => {
                    let _ = problem.try_set(Some(Problem::from(&why)));
                }
            }
        });
    };
    let swept = matches!(entry.body, Body::Sweep(_));
    let field = form::value::label(&entry.body);
    let keyboard = form::value::keyboard(&entry.body);
    view! {
        <h2>{say::put_right()}</h2>
        <GoesOn draft=draft />
        {swept.then(|| view! { <p class="small">{say::sweep_day()}</p> })}
        {what.map(|what| view! { <Asked app=app fields=fields what=what mending=true problem=problem /> })}
        {field
            .map(|(label, long)| {
                if long {
                    view! { <LinesField label=label value=value /> }.into_any()
                } else {
                    view! { <TextField label=label value=value mode=keyboard /> }.into_any()
                }
            })}
        <DayField label=say::day() value=day max=today />
        {(n > 1).then(|| view! { <Chips label=say::for_all() choices=choices value=only /> })}
        <ProblemLine problem=problem />
        <button type="button" class="btn" on:click=save>{say::put_right()}</button>
    }
}
