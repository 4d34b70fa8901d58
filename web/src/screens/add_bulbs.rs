//! Bulbs in bulk: lot, how many, how big, own names; tags are made by the program.

use bloomdue_core::error::Field;
use bloomdue_core::ledger::id::Id;
use bloomdue_core::record::Command;
use bloomdue_core::record::doubts::{called_so, unusual_size};
use bloomdue_words::form::Problem;
use bloomdue_words::form::new_bulbs::{Sizes, Typed};
use bloomdue_words::route::Route;
use bloomdue_words::{formats, places as say};
use leptos::prelude::*;

use crate::app::app;
use crate::parts::doubt::{AskNames, AskSize};
use crate::parts::draft::{FormDraft, GoesOn, fields};
use crate::parts::field::{Chips, LinesField, ProblemLine, TextField};
use crate::parts::fold::Fold;
use crate::parts::heading::Heading;
use crate::parts::lot::{LotField, LotFields};

fields! {
    /// What is typed of the bulbs themselves.
    struct Fields of Typed {
        n_bulbs: String,
        sizes: Sizes,
        low: String,
        high: String,
        each: String,
        own: String,
    }
}

/// Adds bulbs to a place.
#[component]
pub(crate) fn AddBulbs(place: Id) -> impl IntoView {
    let app = app();
    let (lot, form) = (LotFields::fresh(), Fields::of(Typed::fresh()));
    let draft = form.drafted(lot.drafted(FormDraft::of(app, format!("add {}", Route::AddBulbs(place)))));
    let draft = draft.in_units(|typed_in| {
        for one in [form.low, form.high] {
            one.update(|text| *text = formats::retyped_length(text, typed_in));
        }
        form.each.update(|text| *text = formats::retyped_lengths(text, typed_in));
    });
    let draft = draft.keep();
    let problem = RwSignal::new(None::<Problem>);
    let busy = RwSignal::new(false);
    // What is asked about before it is taken, and what was said to be right.
    let (sizes, names) = (RwSignal::new(None), RwSignal::new(Vec::<String>::new()));
    let (sure_sizes, sure_names) = (RwSignal::new(Vec::new()), RwSignal::new(Vec::new()));
    let save = move || {
        let new = match form.typed().bulbs(lot.choice(), place) {
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
                    app.notify_saved(say::added(n), saved);
                    app.done_to(&Route::Place(place));
                }
                Err(why) => {
                    let _ = problem.try_set(Some(Problem::from(&why)));
                    let _ = busy.try_set(false);
                }
            }
        });
    };
    let as_typed = move |()| {
        if let Ok(new) = form.typed().bulbs(lot.choice(), place) {
            sure_sizes.set(new.circumference.typed_mm());
        }
        save();
    };
    let in_inches = move |mm: Vec<i64>| {
        let typed: Vec<String> = mm.into_iter().map(formats::length_number).collect();
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
        <TextField label=say::how_many() value=form.n_bulbs mode="numeric" name=Field::Bulbs problem=problem first=true />
        <LotField app=app fields=lot but=None adding=true problem=problem />
        <Chips label=say::circumference_label() choices=size_choices value=form.sizes />
        <Show when=move || form.sizes.get() == Sizes::Grade>
            <div class="grid2">
                <TextField label=say::from_length() value=form.low mode=formats::length_keyboard() name=Field::Circumference problem=problem />
                <TextField label=say::to_length() value=form.high mode=formats::length_keyboard() />
            </div>
        </Show>
        <Show when=move || form.sizes.get() == Sizes::Each>
            <LinesField label=say::each_length() value=form.each hint=say::each_hint() mode=formats::length_keyboard() name=Field::Circumference problem=problem />
        </Show>
        <Fold summary=say::own_names()>
            <LinesField label=say::own_names_label() value=form.own hint=say::own_names_hint() name=Field::Names problem=problem />
        </Fold>
        <p class="small">{say::poison_note()}</p>
        <div class="act">
            <ProblemLine problem=problem />
            {move || sizes.get().map(|unusual| {
                view! { <AskSize unusual=unusual keep=Callback::new(as_typed) convert=Callback::new(in_inches) /> }
            })}
            {move || {
                let names = names.get();
                (!names.is_empty()).then(|| view! { <AskNames names=names keep=Callback::new(alike) /> })
            }}
            <button type="button" class="btn main" on:click=move |_| save()>{say::add_them()}</button>
        </div>
    }
}
