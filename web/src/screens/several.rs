//! Several bulbs of a place or a lot put right at once: they are of another lot, or were entered by mistake.

use std::collections::BTreeSet;

use bloomdue_core::ledger::id::{Id, Noun};
use bloomdue_core::nursery::Bulb;
use bloomdue_core::record::{Command, mistakes};
use bloomdue_words::form::Problem;
use bloomdue_words::route::Route;
use bloomdue_words::{common, mistakes as say};
use leptos::prelude::*;

use super::care::{Exceptions, labelled};
use crate::app::{Records, app};
use crate::parts::draft::{FormDraft, GoesOn};
use crate::parts::field::ProblemLine;
use crate::parts::heading::Heading;
use crate::parts::lot::{LotField, LotFields};
use crate::parts::whom::only_offered;

fn bulbs_of(r: Records<'_>, subject: Id) -> Vec<(Id, String)> {
    if subject.is(Noun::Place) {
        return labelled(r.state.bulbs_in(subject));
    }
    let of = |bulb: &&Bulb| bulb.lot.shown() == Some(&subject);
    labelled(r.state.bulbs.values().filter(of).collect())
}

/// None is ticked at first: what is done here is the exception.
#[component]
pub(crate) fn Several(subject: Id) -> impl IntoView {
    let app = app();
    let bulbs = app.peek(|r| bulbs_of(r, subject));
    let all: Vec<Id> = bulbs.iter().map(|(id, _)| *id).collect();
    let left_out: RwSignal<BTreeSet<Id>> = RwSignal::new(all.iter().copied().collect());
    let all = StoredValue::new(all);
    let chosen = move || -> Vec<Id> {
        let out = left_out.get();
        all.with_value(|all| all.iter().copied().filter(|id| !out.contains(id)).collect())
    };
    let fields = LotFields::fresh();
    let key = format!("several {}", Route::Several(subject));
    let draft = fields.drafted(FormDraft::of(app, key)).field("left_out", left_out).keep();
    only_offered(left_out, &bulbs);
    let problem = RwSignal::new(None::<Problem>);
    let back = if subject.is(Noun::Place) { Route::Place(subject) } else { Route::Lot(subject) };
    let to = StoredValue::new(back.clone());
    let save = move |command: Command, text: String| {
        wasm_bindgen_futures::spawn_local(async move {
            match draft.record(command).await {
                Ok(entries) => {
                    app.notify_saved(text, entries.iter().map(|entry| entry.id).collect());
                    to.with_value(|to| app.done_to(to));
                }
                Err(why) => {
                    let _ = problem.try_set(Some(Problem::from(&why)));
                }
            }
        });
    };
    let ticked = move || {
        let bulbs = untrack(chosen);
        if bulbs.is_empty() {
            problem.set(Some(Problem::whole(say::tick_bulbs())));
        }
        bulbs
    };
    let move_them = move |_| {
        let bulbs = ticked();
        if !bulbs.is_empty() {
            let (n, lot) = (bulbs.len(), fields.choice());
            save(Command::MoveToLot { bulbs, lot }, say::moved(n));
        }
    };
    let take_out = move |_| {
        let subjects = ticked();
        if !subjects.is_empty() {
            let text = say::taken_out(&common::bulbs(subjects.len()));
            save(Command::Remove { subjects }, text);
        }
    };
    let goes = move || {
        let bulbs = chosen();
        app.read(|r| say::goes(&mistakes::goes_with(r.ledger, r.state, &bulbs)))
    };
    let name = app.peek(|r| r.state.name_of(subject).to_owned());
    let but = Some(subject).filter(|subject| subject.is(Noun::Lot));
    view! {
        <Heading place=name title=say::several() under=say::several_under() back=back />
        <GoesOn draft=draft />
        <Exceptions bulbs=bulbs left_out=left_out />
        <h2>{say::another_lot()}</h2>
        <LotField app=app fields=fields but=but adding=false problem=problem />
        <h2>{say::by_mistake()}</h2>
        <p>{goes}</p>
        <button type="button" class="btn soft" on:click=take_out>{say::take_out()}</button>
        <div class="act">
            <ProblemLine problem=problem />
            <button type="button" class="btn main" on:click=move_them>{say::move_them()}</button>
        </div>
    }
}
