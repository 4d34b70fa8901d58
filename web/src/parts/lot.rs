//! Which lot bulbs are of: more of one that is known, or another cultivar. Nothing is chosen beforehand.

use bloomdue_core::error::Field;
use bloomdue_core::ledger::id::Id;
use bloomdue_core::record::LotChoice;
use bloomdue_words::form::Problem;
use bloomdue_words::form::new_bulbs::lot;
use bloomdue_words::{mistakes, places as say};
use leptos::prelude::*;

use crate::app::App;
use crate::parts::draft::FormDraft;
use crate::parts::field::{Chips, TextField};
use crate::parts::fold::Fold;

/// What is chosen and typed.
#[derive(Clone, Copy)]
pub(crate) struct LotFields {
    /// A known lot, chosen on purpose.
    pub(crate) known: RwSignal<Option<Id>>,
    cultivar: RwSignal<String>,
    name: RwSignal<String>,
}

impl LotFields {
    /// Nothing chosen yet.
    pub(crate) fn fresh() -> Self {
        Self { known: RwSignal::new(None), cultivar: RwSignal::new(String::new()), name: RwSignal::new(String::new()) }
    }

    /// The fields, to be kept until they are saved.
    pub(crate) fn drafted(self, draft: FormDraft) -> FormDraft {
        draft.field("lot", self.known).field("cultivar", self.cultivar).field("lot_name", self.name)
    }

    /// The lot, known or new. A lot without a name of its own goes by its cultivar.
    pub(crate) fn choice(self) -> LotChoice {
        lot(self.known.get_untracked(), self.cultivar.get_untracked(), self.name.get_untracked())
    }
}

/// Asks for it.
#[component]
pub(crate) fn LotField(
    app: App,
    fields: LotFields,
    /// A lot that is not offered.
    but: Option<Id>,
    /// Whether bulbs are added, and not moved.
    adding: bool,
    problem: RwSignal<Option<Problem>>,
) -> impl IntoView {
    let mut lots: Vec<(Option<Id>, String)> = app.peek(|r| {
        let known = r.state.lots.iter().filter(|(id, _)| Some(**id) != but);
        let known = known.filter_map(|(id, lot)| Some((Some(*id), say::lot(lot.shown()?))));
        let words = |words: String| {
            if adding { mistakes::more_of(&words) } else { words }
        };
        known.map(|(id, lot)| (id, words(lot))).collect()
    });
    lots.push((None, mistakes::another_cultivar().to_owned()));
    let several = lots.len() > 1;
    view! {
        {several.then(|| view! { <Chips label=say::which_lot() choices=lots value=fields.known /> })}
        <Show when=move || fields.known.get().is_none()>
            <TextField label=say::cultivar() value=fields.cultivar hint=say::cultivar_hint() name=Field::Lot problem=problem />
            <Fold summary=say::lot_name()>
                <TextField label=say::lot_name() value=fields.name hint=say::lot_name_hint() />
            </Fold>
        </Show>
    }
}
