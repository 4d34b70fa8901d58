//! All bulbs of a nursery as one list: what each shows, narrowed down, and how many there are of each kind.

use std::collections::{BTreeMap, BTreeSet};

use crate::{
    counted::Counted,
    ledger::id::Id,
    nursery::{Bulb, Fate, State},
    sketch::{Pose, ShootShow},
};

/// What a bulb shows by its last look, or what became of it, in the order of a season.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Shows {
    /// At rest.
    AtRest,
    /// Growing; no shoot is known that may be a scape.
    NoShoot,
    /// A shoot that may be a scape or a leaf.
    Unsure,
    /// A scape in sight.
    ScapeInSight,
    /// A scape that stretches.
    ScapeStretching,
    /// The bud sheath has split.
    SpatheSplit,
    /// Flowers are open.
    InFlower,
    /// Flowers fade.
    Fading,
    /// The flowers are over, or the scape was cut.
    Over,
    /// Its growth cycle ended without a scape.
    Blind,
    /// Sold, given or withdrawn.
    Left,
    /// Died.
    Died,
    /// Not found.
    Missing,
}

impl Shows {
    /// What a bulb shows today.
    pub fn of(bulb: &Bulb) -> Self {
        match bulb.fate {
            Fate::Left { .. } => return Self::Left,
            Fate::Died { .. } => return Self::Died,
            Fate::Missing { .. } => return Self::Missing,
            Fate::Here => {}
        }
        if bulb.is_blind() {
            return Self::Blind;
        }
        let pose = Pose::of(bulb);
        match pose.shoot {
            ShootShow::None if pose.resting => Self::AtRest,
            ShootShow::None => Self::NoShoot,
            ShootShow::Unsure => Self::Unsure,
            ShootShow::InSight => Self::ScapeInSight,
            ShootShow::Stretching => Self::ScapeStretching,
            ShootShow::SheathSplit => Self::SpatheSplit,
            ShootShow::InFlower => Self::InFlower,
            ShootShow::Fading => Self::Fading,
            ShootShow::Over => Self::Over,
        }
    }

    /// Whether a bulb that shows this is still in the nursery.
    pub fn is_here(self) -> bool {
        self < Self::Left
    }
}

/// A size class as bulbs are graded: circumference from this many cm to two more, in even steps (24/26, 26/28, …).
/// Source: common practice of the trade, no standard.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct SizeClass {
    /// The lower bound in cm, even; the upper is two more and belongs to the next class.
    pub from_cm: i64,
}

impl SizeClass {
    /// The class of a bulb: by the middle of what is known of its circumference; none for one not measured.
    ///
    /// ```
    /// use bloomdue_core::stock::SizeClass;
    /// assert_eq!(SizeClass::of_mm(259), SizeClass { from_cm: 24 });
    /// assert_eq!(SizeClass::of_mm(260), SizeClass { from_cm: 26 });
    /// ```
    pub fn of_mm(circumference_mm: i64) -> Self {
        Self { from_cm: circumference_mm.div_euclid(20) * 2 }
    }

    fn of(bulb: &Bulb) -> Option<Self> {
        bulb.circumference_mm.map(|_| Self::of_mm(bulb.size_mm()))
    }
}

/// What the list is narrowed down to; what is `None` or empty narrows nothing.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Filter {
    /// Only bulbs that show this. Bulbs that are gone are listed only when they are asked for.
    pub shows: Option<Shows>,
    /// Only bulbs of this place.
    pub place: Option<Id>,
    /// Only bulbs of this lot.
    pub lot: Option<Id>,
    /// Only bulbs of lots of this cultivar.
    pub cultivar: Option<String>,
    /// Only bulbs of this size class.
    pub size: Option<SizeClass>,
    /// Only bulbs whose tag, own name, lot or cultivar holds this text.
    pub text: String,
}

/// The list.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Stock<'a> {
    /// Bulbs place by place in bench order, then those in no place, then those that are gone.
    pub bulbs: Vec<&'a Bulb>,
    /// How many show what, of those that pass all but the filter by what is shown.
    pub by_shows: BTreeMap<Shows, usize>,
}

impl Stock<'_> {
    /// How many bulbs there are, before the list is narrowed to what they show: those that are here.
    pub fn n_here(&self) -> usize {
        self.by_shows.iter().filter(|(shows, _)| shows.is_here()).map(|(_, n)| n).sum()
    }
}

/// By what the list can be narrowed down in this nursery.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Choices {
    /// Cultivars of lots, as written.
    pub cultivars: BTreeSet<String>,
    /// Size classes of measured bulbs.
    pub sizes: BTreeSet<SizeClass>,
}

/// The bulbs that pass a filter.
pub fn stock<'a>(state: &'a State, filter: &Filter) -> Stock<'a> {
    let found: Option<BTreeSet<Id>> =
        (!filter.text.trim().is_empty()).then(|| state.find(&filter.text).into_iter().map(|bulb| bulb.id).collect());
    let passes = |bulb: &&Bulb| {
        filter.place.is_none_or(|place| bulb.place == Some(place))
            && filter.lot.is_none_or(|lot| bulb.lot.shown() == Some(&lot))
            && filter.size.is_none_or(|size| SizeClass::of(bulb) == Some(size))
            && filter.cultivar.as_ref().is_none_or(|wanted| state.cultivar_of(bulb) == Some(wanted.as_str()))
            && found.as_ref().is_none_or(|found| found.contains(&bulb.id))
    };
    let rows = state.place_rows();
    let placed = rows.iter().flat_map(|row| state.bulbs_in(row.id));
    let mut gone: Vec<&Bulb> = state.bulbs.values().filter(|bulb| !bulb.is_here()).collect();
    gone.sort_by_key(|bulb| (Counted(bulb.label()), bulb.id));
    let all = placed.chain(state.bulbs_nowhere()).chain(gone);
    let mut stock = Stock::default();
    for bulb in all.filter(passes) {
        let shows = Shows::of(bulb);
        *stock.by_shows.entry(shows).or_default() += 1;
        if filter.shows.map_or(shows.is_here(), |wanted| shows == wanted) {
            stock.bulbs.push(bulb);
        }
    }
    stock
}

/// By what the list can be narrowed down.
pub fn choices(state: &State) -> Choices {
    let bulbs = state.bulbs.values();
    Choices {
        cultivars: bulbs.clone().filter_map(|bulb| state.cultivar_of(bulb)).map(str::to_owned).collect(),
        sizes: bulbs.filter_map(SizeClass::of).collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{World, id};

    fn nursery() -> World {
        World::of(
            "-90 mia place pl_1 Bench
             -90 mia place pl_2 Cellar
             -90 mia lot lo_1 Red
             -90 mia lot lo_2 White
             -90 mia bulb b_1,b_2 lo_1 in=pl_1
             -90 mia bulb b_3,b_4 lo_2 in=pl_2
             -90 mia bulb b_5 lo_2
             -60 mia laid-to-rest b_3
             -2 mia look b_1 s_1/scape/scape-in-sight
             -2 mia look b_2 s_2/unknown/shoot
             -1 mia died b_4 cause=rot",
        )
    }

    fn ids(stock: &Stock<'_>) -> Vec<Id> {
        stock.bulbs.iter().map(|bulb| bulb.id).collect()
    }

    #[test]
    fn the_list_holds_every_bulb_that_is_here_once_in_bench_order() {
        let state = nursery().state();
        let all = stock(&state, &Filter::default());
        assert_eq!(ids(&all), [id("b_1"), id("b_2"), id("b_3"), id("b_5")]);
        let counts: Vec<_> = all.by_shows.into_iter().collect();
        let once = [Shows::AtRest, Shows::NoShoot, Shows::Unsure, Shows::ScapeInSight, Shows::Died].map(|s| (s, 1));
        assert_eq!(counts, once);
    }

    #[test]
    fn filters_work_together_and_the_counts_stay_those_before_what_is_shown() {
        let state = nursery().state();
        let white = Filter { cultivar: Some("White".to_owned()), ..Filter::default() };
        let found = stock(&state, &white);
        assert_eq!(ids(&found), [id("b_3"), id("b_5")]);
        assert_eq!(found.n_here(), 2);
        let died = stock(&state, &Filter { shows: Some(Shows::Died), ..white.clone() });
        assert_eq!(ids(&died), [id("b_4")]);
        assert_eq!(died.by_shows, found.by_shows);
        let cellar = stock(&state, &Filter { place: Some(id("pl_2")), ..white });
        assert_eq!(ids(&cellar), [id("b_3")]);
        let typed = Filter { text: "red".to_owned(), ..Filter::default() };
        assert_eq!(ids(&stock(&state, &typed)), [id("b_1"), id("b_2")]);
        let nobody = Filter { lot: Some(id("lo_1")), place: Some(id("pl_2")), ..Filter::default() };
        assert_eq!(stock(&state, &nobody), Stock::default());
    }

    #[test]
    fn a_bulb_that_ended_its_cycle_without_a_stalk_stands_as_blind_until_it_rests() {
        let world = nursery().and("-1 mia look b_5 clear\n-1 mia cycle-ended b_5");
        let blind = Filter { shows: Some(Shows::Blind), ..Filter::default() };
        let state = world.state();
        assert_eq!(ids(&stock(&state, &blind)), [id("b_5")]);
        assert!(ids(&stock(&state, &Filter::default())).contains(&id("b_5")), "it is still here");
        assert!(ids(&stock(&world.and("0 mia laid-to-rest b_5").state(), &blind)).is_empty());
    }

    #[test]
    fn what_can_be_chosen_is_what_there_is() {
        let state = nursery().state();
        let offered = choices(&state);
        assert_eq!(offered.cultivars, ["Red", "White"].map(str::to_owned).into());
        assert_eq!(offered.sizes, BTreeSet::new(), "nothing was measured");
    }
}
