//! What is typed and tapped, and the wish it comes to.

use std::collections::BTreeSet;

use bloomdue_core::forecast::{Data, Window};
use bloomdue_core::json;
use bloomdue_core::ledger::body::Forcing;
use bloomdue_core::ledger::id::Id;
use bloomdue_core::nursery::State;
use bloomdue_core::plan::{self, AtHand, Wish};
use bloomdue_words::form::wish::Typed;
use leptos::prelude::*;

use crate::app::Records;

/// What the page is made from: read once, when it opens.
pub(super) struct Basis {
    pub(super) data: Data,
    pub(super) seed: u64,
    pub(super) at_hand: AtHand,
    pub(super) wish: Wish,
    pub(super) ticked: Vec<Id>,
    /// The plan that was saved.
    pub(super) saved: Option<(Id, Forcing)>,
    /// Most of its bulbs have ended their rest: nothing is left to count back.
    pub(super) under_way: bool,
}

impl Basis {
    /// Nothing when the plan asked for is not there.
    pub(super) fn of(r: Records<'_>, forcing: Option<Id>) -> Option<Self> {
        let data = bloomdue_core::forecast::gather(r.state, r.today);
        let at_hand = AtHand::of(r.state, forcing, r.today);
        let saved = match forcing {
            Some(id) => Some((id, meant(r.state, id)?)),
            None => None,
        };
        let (mut wish, mut ticked) = plan::first_wish(r.state, &data, &at_hand);
        let mut under_way = false;
        if let Some((_, forcing)) = &saved {
            let stands;
            (wish, ticked, stands) = plan::wish_now(r.state, forcing, &data);
            under_way = stands.n_started * 2 > ticked.len();
        }
        Some(Self { seed: data.seed(), data, at_hand, wish, ticked, saved, under_way })
    }
}

/// A plan that is still meant.
fn meant(state: &State, id: Id) -> Option<Forcing> {
    let forcing = state.forcings.get(&id)?.shown()?;
    (!forcing.given_up).then(|| forcing.clone())
}

/// The fields. What is one of a few is a number, so that one kind of chips serves all: 0 for none of them.
#[derive(Clone, Copy)]
pub(super) struct Form {
    pub(super) name: RwSignal<String>,
    pub(super) from: RwSignal<String>,
    pub(super) to: RwSignal<String>,
    pub(super) wanted: RwSignal<String>,
    /// 0 fit to sell, 1 in flower.
    pub(super) stage: RwSignal<u32>,
    pub(super) sure_permille: RwSignal<u32>,
    /// 0 from the records, 1 a number.
    pub(super) by_number: RwSignal<u32>,
    pub(super) number: RwSignal<String>,
    pub(super) ticked: RwSignal<BTreeSet<Id>>,
    /// 0 in leaf, 1 at rest.
    pub(super) resting: RwSignal<u32>,
    pub(super) since: RwSignal<String>,
    /// From 1.
    pub(super) treatment: RwSignal<u32>,
    pub(super) weeks: RwSignal<String>,
    /// From 1, in the order of [`plan::WAYS`].
    pub(super) way: RwSignal<u32>,
    /// From 1.
    pub(super) lot: RwSignal<u32>,
    pub(super) batches: RwSignal<u32>,
}

impl Form {
    pub(super) fn of(basis: &Basis) -> Self {
        let saved = basis.saved.as_ref().map(|(_, forcing)| forcing);
        let name = saved.map_or_else(String::new, |forcing| forcing.name.clone());
        let typed = Typed::of(&basis.wish, &basis.ticked, name, saved.and_then(|forcing| forcing.way));
        Self {
            name: RwSignal::new(typed.name),
            from: RwSignal::new(typed.from),
            to: RwSignal::new(typed.to),
            wanted: RwSignal::new(typed.wanted),
            stage: RwSignal::new(typed.stage),
            sure_permille: RwSignal::new(typed.sure_permille),
            by_number: RwSignal::new(typed.by_number),
            number: RwSignal::new(typed.number),
            ticked: RwSignal::new(typed.ticked),
            resting: RwSignal::new(typed.resting),
            since: RwSignal::new(typed.since),
            treatment: RwSignal::new(typed.treatment),
            weeks: RwSignal::new(typed.weeks),
            way: RwSignal::new(typed.way),
            lot: RwSignal::new(typed.lot),
            batches: RwSignal::new(typed.batches),
        }
    }

    /// What they hold now.
    pub(super) fn typed(self) -> Typed {
        Typed {
            name: self.name.get(),
            from: self.from.get(),
            to: self.to.get(),
            wanted: self.wanted.get(),
            stage: self.stage.get(),
            sure_permille: self.sure_permille.get(),
            by_number: self.by_number.get(),
            number: self.number.get(),
            ticked: self.ticked.get(),
            resting: self.resting.get(),
            since: self.since.get(),
            treatment: self.treatment.get(),
            weeks: self.weeks.get(),
            way: self.way.get(),
            lot: self.lot.get(),
            batches: self.batches.get(),
        }
    }

    fn texts(self) -> [RwSignal<String>; 7] {
        let Self { name, from, to, .. } = self;
        [name, from, to, self.wanted, self.number, self.since, self.weeks]
    }

    fn choices(self) -> [RwSignal<u32>; 6] {
        let Self { stage, way, .. } = self;
        let (sure, batches) = (self.sure_permille, self.batches);
        [stage, sure, self.by_number, self.resting, way, batches]
    }

    /// What is typed and tapped, to be kept as a draft. Treatment and lot go by what they are: their numbers change with
    /// the records.
    pub(super) fn to_bytes(self, basis: &Basis) -> Vec<u8> {
        let at = |chosen: RwSignal<u32>| Some(chosen.get().checked_sub(1)? as usize);
        let treatment = at(self.treatment).and_then(|at| basis.data.treatments.get(at)).cloned();
        let lot = at(self.lot).and_then(|at| basis.data.lots.get(at)).copied();
        let (texts, choices) = (self.texts().map(|one| one.get()), self.choices());
        let choices = choices.map(|one| one.get());
        let typed = (texts, choices, treatment, lot, self.ticked.get());
        json::to_bytes(&typed)
    }

    /// Fills a draft in, as far as what it names is still there. Whether it could be read.
    pub(super) fn fill(self, draft: &[u8], basis: &Basis) -> bool {
        type Typed = ([String; 7], [u32; 6], Option<String>, Option<Id>, BTreeSet<Id>);
        let Ok((texts, choices, treatment, lot, mut ticked)) = json::read_bytes::<Typed>(draft) else {
            return false;
        };
        for (field, text) in self.texts().into_iter().zip(texts) {
            field.set(text);
        }
        for (field, choice) in self.choices().into_iter().zip(choices) {
            field.set(choice);
        }
        let data = &basis.data;
        let nth = |at: Option<usize>| at.map_or(0, |at| at as u32 + 1);
        let treatment = treatment.and_then(|of| data.treatments.iter().position(|one| *one == of));
        self.treatment.set(nth(treatment));
        let lot = lot.and_then(|of| data.lots.iter().position(|one| *one == of));
        self.lot.set(nth(lot));
        let free: BTreeSet<Id> = basis.at_hand.free().map(|one| one.bulb).collect();
        ticked.retain(|bulb| free.contains(bulb) || basis.ticked.contains(bulb));
        self.ticked.set(ticked);
        true
    }

    pub(super) fn set_window(self, window: Window) {
        self.from.set(window.from.to_string());
        self.to.set(window.to.to_string());
    }
}
