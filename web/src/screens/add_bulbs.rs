//! Bulbs in bulk: lot, how many, how big, own names; tags are made by the program.

use bloomdue_core::ledger::body::LotBody;
use bloomdue_core::ledger::id::Id;
use bloomdue_core::limits;
use bloomdue_core::record::{Circumference, Command, LotChoice, NewBulbs};
use bloomdue_core::units;
use leptos::prelude::*;

use crate::app::{app, route::Route};
use crate::device::address;
use crate::parts::field::{Chips, LinesField, Problem, ProblemLine, TextField};
use crate::parts::heading::Heading;
use crate::words::en as say;

#[derive(Clone, Copy, PartialEq, Eq)]
enum Sizes {
    Unknown,
    Grade,
    Each,
}

#[derive(Clone, Copy)]
struct Form {
    lot: RwSignal<Option<Id>>,
    lot_name: RwSignal<String>,
    cultivar: RwSignal<String>,
    n_bulbs: RwSignal<String>,
    sizes: RwSignal<Sizes>,
    low: RwSignal<String>,
    high: RwSignal<String>,
    each: RwSignal<String>,
    own: RwSignal<String>,
}

/// Adds bulbs to a place.
#[component]
pub(crate) fn AddBulbs(place: Id) -> impl IntoView {
    let app = app();
    let text = || RwSignal::new(String::new());
    let lots: Vec<(Option<Id>, String)> = app.peek(|r| {
        let known = r
            .state
            .lots
            .iter()
            .filter_map(|(id, lot)| Some((Some(*id), say::lot(lot.shown()?))));
        known.chain([(None, say::new_lot().to_owned())]).collect()
    });
    let first_lot = lots.first().and_then(|(id, _)| *id);
    let form = Form {
        lot: RwSignal::new(first_lot),
        lot_name: text(),
        cultivar: text(),
        n_bulbs: RwSignal::new("12".to_owned()),
        sizes: RwSignal::new(Sizes::Unknown),
        low: text(),
        high: text(),
        each: text(),
        own: text(),
    };
    let problem = RwSignal::new(None::<Problem>);
    let busy = RwSignal::new(false);
    let save = move |_| {
        let new = match read(form, place) {
            Ok(new) => new,
            Err(why) => return problem.set(Some(why)),
        };
        if busy.get_untracked() {
            return;
        }
        busy.set(true);
        let n = new.n_bulbs;
        wasm_bindgen_futures::spawn_local(async move {
            match app.record(Command::AddBulbs(new)).await {
                Ok(_) => {
                    app.say(say::added(n));
                    address::replace(&Route::Place(place).to_string());
                }
                Err(why) => {
                    let _ = problem.try_set(Some(Problem::of(&why)));
                    let _ = busy.try_set(false);
                }
            }
        });
    };
    let several_lots = lots.len() > 1;
    let size_choices = vec![
        (Sizes::Unknown, say::sizes_unknown().to_owned()),
        (Sizes::Grade, say::sizes_grade().to_owned()),
        (Sizes::Each, say::sizes_each().to_owned()),
    ];
    view! {
        <Heading
            place=Signal::derive(move || app.read(|r| r.state.name_of(place).to_owned()))
            title=say::add_bulbs()
            back=Route::Place(place)
        />
        <TextField label=say::how_many() value=form.n_bulbs mode="numeric" name="bulbs" problem=problem />
        <Show when=move || several_lots>
            <Chips label=say::which_lot() choices=lots.clone() value=form.lot />
        </Show>
        <Show when=move || form.lot.get().is_none()>
            <TextField label=say::cultivar() value=form.cultivar hint=say::cultivar_hint() name="lot" problem=problem />
        </Show>
        <Chips label=say::circumference_label() choices=size_choices value=form.sizes />
        <Show when=move || form.sizes.get() == Sizes::Grade>
            <div class="grid2">
                <TextField label=say::from_cm() value=form.low mode="decimal" />
                <TextField label=say::to_cm() value=form.high mode="decimal" />
            </div>
        </Show>
        <Show when=move || form.sizes.get() == Sizes::Each>
            <LinesField label=say::each_cm() value=form.each hint=say::each_hint() mode="decimal" />
        </Show>
        <details>
            <summary>{say::own_names()}</summary>
            <LinesField label=say::own_names_label() value=form.own hint=say::own_names_hint() />
            <TextField label=say::lot_name() value=form.lot_name hint=say::lot_name_hint() />
        </details>
        <p class="small">{say::poison_note()}</p>
        <ProblemLine problem=Signal::derive(move || problem.get().filter(|p| !matches!(p.field.as_str(), "bulbs" | "lot"))) />
        <button type="button" class="btn main" on:click=save>{say::add_them()}</button>
    }
}

fn read(form: Form, place: Id) -> Result<NewBulbs, Problem> {
    let wrong = |field: &str, text: String| Problem {
        field: field.to_owned(),
        text,
    };
    let n_bulbs: usize = form
        .n_bulbs
        .with_untracked(|text| text.trim().parse())
        .map_err(|_| wrong("bulbs", say::digits_only().to_owned()))?;
    let mm = |text: &str| {
        units::mm_of_cm(text).map_err(|why| wrong("circumference", say::sentence(&why.to_string())))
    };
    let circumference = match form.sizes.get_untracked() {
        Sizes::Unknown => Circumference::Unknown,
        Sizes::Grade => {
            let low = form.low.with_untracked(|text| mm(text))?;
            let high = form.high.with_untracked(|text| {
                if text.trim().is_empty() {
                    Ok(low)
                } else {
                    mm(text)
                }
            })?;
            Circumference::Range(low, high)
        }
        Sizes::Each => {
            let typed = form.each.get_untracked();
            let each: Result<Vec<i64>, Problem> = units::listed(&typed).map(mm).collect();
            Circumference::Each(each?)
        }
    };
    let own = form.own.get_untracked();
    let own_names: Vec<String> = own
        .lines()
        .map(str::trim)
        .filter(|l| !l.is_empty())
        .map(str::to_owned)
        .collect();
    let lot = match form.lot.get_untracked() {
        Some(lot) => LotChoice::Known(lot),
        None => {
            let cultivar = form.cultivar.get_untracked();
            let name = form.lot_name.with_untracked(|name| {
                if name.trim().is_empty() {
                    cultivar.clone()
                } else {
                    name.clone()
                }
            });
            LotChoice::New(LotBody {
                name,
                cultivar,
                supplier: String::new(),
                grade: String::new(),
                received: None,
                apart_until: None,
            })
        }
    };
    limits::BULBS_AT_ONCE
        .check(n_bulbs as i64)
        .map_err(|why| wrong("bulbs", say::sentence(&why.to_string())))?;
    Ok(NewBulbs {
        lot,
        n_bulbs,
        circumference,
        place,
        own_names,
        containers: Vec::new(),
    })
}
