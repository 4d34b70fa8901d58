//! Bulbs in bulk: lot, how many, how big, own names; tags are made by the program.

use bloomdue_core::ledger::id::Id;
use bloomdue_core::limits;
use bloomdue_core::record::doubts::{called_so, unusual_size};
use bloomdue_core::record::{Circumference, Command, NewBulbs};
use bloomdue_core::units;
use leptos::prelude::*;
use serde::{Deserialize, Serialize};

use crate::app::{app, route::Route};
use crate::device::address;
use crate::parts::doubt::{AskNames, AskSize};
use crate::parts::draft::{FormDraft, GoesOn};
use crate::parts::field::{Chips, LinesField, Problem, ProblemLine, TextField};
use crate::parts::heading::Heading;
use crate::parts::lot::{LotField, LotFields};
use crate::words::en as say;

/// What is known of the bulbs' sizes.
#[derive(Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
enum Sizes {
    Unknown,
    Grade,
    Each,
}

#[derive(Clone, Copy)]
struct Form {
    lot: LotFields,
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
    let form = Form {
        lot: LotFields::fresh(),
        n_bulbs: RwSignal::new("12".to_owned()),
        sizes: RwSignal::new(Sizes::Unknown),
        low: text(),
        high: text(),
        each: text(),
        own: text(),
    };
    let draft = form
        .lot
        .drafted(FormDraft::of(app, format!("add {}", Route::AddBulbs(place))))
        .field("n_bulbs", form.n_bulbs)
        .field("sizes", form.sizes)
        .field("low", form.low)
        .field("high", form.high)
        .field("each", form.each)
        .field("own", form.own)
        .keep();
    let problem = RwSignal::new(None::<Problem>);
    let busy = RwSignal::new(false);
    // What is asked about before it is taken, and what was said to be right.
    let (sizes, names) = (RwSignal::new(None), RwSignal::new(Vec::<String>::new()));
    let (sure_sizes, sure_names) = (RwSignal::new(Vec::new()), RwSignal::new(Vec::new()));
    let save = move || {
        let new = match read(form, place) {
            Ok(new) => new,
            Err(why) => return problem.set(Some(why)),
        };
        let typed_mm = new.circumference.typed_mm();
        let unusual = unusual_size(&typed_mm).filter(|_| sure_sizes.get_untracked() != typed_mm);
        let alike: Vec<String> = app.peek(|r| {
            let alike = called_so(r.state, &new.own_names).into_iter();
            alike.map(|bulb| bulb.label().to_owned()).collect()
        });
        let alike = if sure_names.get_untracked() == alike { Vec::new() } else { alike };
        let asks = unusual.is_some() || !alike.is_empty();
        sizes.set(unusual);
        names.set(alike);
        if asks {
            return;
        }
        if busy.get_untracked() {
            return;
        }
        busy.set(true);
        let n = new.n_bulbs;
        wasm_bindgen_futures::spawn_local(async move {
            match draft.record(Command::AddBulbs(new)).await {
                Ok(entries) => {
                    let saved = entries.iter().map(|entry| entry.id).collect();
                    app.say_saved(say::added(n), saved);
                    address::replace(&Route::Place(place).to_string());
                }
                Err(why) => {
                    let _ = problem.try_set(Some(Problem::of(&why)));
                    let _ = busy.try_set(false);
                }
            }
        });
    };
    let as_typed = move |()| {
        if let Ok(new) = read(form, place) {
            sure_sizes.set(new.circumference.typed_mm());
        }
        save();
    };
    let in_inches = move |mm: Vec<i64>| {
        let typed: Vec<String> = mm.into_iter().map(say::cm_number).collect();
        match (form.sizes.get_untracked(), typed.as_slice()) {
            (Sizes::Grade, [low, high]) => {
                form.low.set(low.clone());
                form.high.set(high.clone());
            }
            _ => form.each.set(typed.join(" ")),
        }
        save();
    };
    let alike = move |()| {
        sure_names.set(names.get_untracked());
        save();
    };
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
        <GoesOn draft=draft />
        <TextField label=say::how_many() value=form.n_bulbs mode="numeric" name="bulbs" problem=problem />
        <LotField app=app fields=form.lot but=None adding=true problem=problem />
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
        </details>
        <p class="small">{say::poison_note()}</p>
        <ProblemLine problem=Signal::derive(move || problem.get().filter(|p| !matches!(p.field.as_str(), "bulbs" | "lot"))) />
        {move || sizes.get().map(|unusual| {
            view! { <AskSize unusual=unusual keep=Callback::new(as_typed) convert=Callback::new(in_inches) /> }
        })}
        {move || {
            let names = names.get();
            (!names.is_empty()).then(|| view! { <AskNames names=names keep=Callback::new(alike) /> })
        }}
        <button type="button" class="btn main" on:click=move |_| save()>{say::add_them()}</button>
    }
}

fn read(form: Form, place: Id) -> Result<NewBulbs, Problem> {
    let wrong = |field: &str, text: String| Problem { field: field.to_owned(), text };
    let n_bulbs: usize = form
        .n_bulbs
        .with_untracked(|text| text.trim().parse())
        .map_err(|_| wrong("bulbs", say::digits_only().to_owned()))?;
    let mm = |text: &str| units::mm_of_cm(text).map_err(|why| wrong("circumference", say::sentence(&why.to_string())));
    let circumference = match form.sizes.get_untracked() {
        Sizes::Unknown => Circumference::Unknown,
        Sizes::Grade => {
            let low = form.low.with_untracked(|text| mm(text))?;
            let high = form.high.with_untracked(|text| if text.trim().is_empty() { Ok(low) } else { mm(text) })?;
            Circumference::Range(low, high)
        }
        Sizes::Each => {
            let typed = form.each.get_untracked();
            let each: Result<Vec<i64>, Problem> = units::listed(&typed).map(mm).collect();
            Circumference::Each(each?)
        }
    };
    let own = form.own.get_untracked();
    let own_names: Vec<String> = own.lines().map(str::trim).filter(|l| !l.is_empty()).map(str::to_owned).collect();
    limits::BULBS_AT_ONCE.check(n_bulbs as i64).map_err(|why| wrong("bulbs", say::sentence(&why.to_string())))?;
    Ok(NewBulbs { lot: form.lot.choice(), n_bulbs, circumference, place, own_names, containers: Vec::new() })
}
