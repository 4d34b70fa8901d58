//! What the form of a plan starts with, and how a list of bulbs is sorted for it.

use super::{
    Lacks, Readiness, Wish,
    next_try::{times_tried, tried},
    readiness, starting_point,
};
use crate::{
    calendar::Date,
    forecast::{Data, Wanted, Window},
    ledger::id::Id,
    nursery::State,
};

/// Weeks of rest where nothing else is known: the middle of what is published.
const REST_WEEKS: u32 = 10;
/// Days from the earliest end of rest to the first day that is proposed, and from there to the last: a week is left
/// before anything has to be done.
const LEAD_DAYS: i64 = 45;
const WINDOW_DAYS: i64 = 13;
/// Bulbs at hand where the records know of none.
const SOME: u32 = 40;

/// Bulbs by what a plan can do with them, the readiest first.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct AtHand {
    /// Fit to force.
    pub ready: Vec<Readiness>,
    /// At rest already and otherwise free.
    pub resting: Vec<Readiness>,
    /// Free, but something is lacking or nothing is known.
    pub not_ready: Vec<Readiness>,
    /// In a running try, in another plan, or being forced.
    pub busy: Vec<Readiness>,
}

impl AtHand {
    /// Of a nursery; those in the plan `of` are free for it.
    pub fn of(state: &State, of: Option<Id>, today: Date) -> Self {
        let mut at_hand = Self::default();
        for mut one in readiness(state, today) {
            let mut forcings = state.forcings_of(one.bulb);
            if of.is_some() && forcings.any(|(forcing, _)| Some(forcing) == of) {
                one.lacks.retain(|lack| *lack != Lacks::Planned);
            }
            let is = |lack: Lacks| one.lacks.contains(&lack);
            let list = if is(Lacks::InATry) || is(Lacks::Planned) || is(Lacks::UnderWay) {
                &mut at_hand.busy
            } else if is(Lacks::Rests) {
                &mut at_hand.resting
            } else if one.is_ready() {
                &mut at_hand.ready
            } else {
                &mut at_hand.not_ready
            };
            list.push(one);
        }
        at_hand
    }

    /// Those that can be chosen, the readiest first.
    pub fn free(&self) -> impl Iterator<Item = &Readiness> {
        self.ready.iter().chain(&self.resting).chain(&self.not_ready)
    }
}

/// The wish that a form starts with, and the bulbs ticked in it: the ready ones; where none is, those at rest; where
/// none is either, those of which nothing is known that speaks against it.
pub fn first_wish(state: &State, data: &Data, at_hand: &AtHand) -> (Wish, Vec<Id>) {
    let unknown = at_hand.not_ready.iter().filter(|one| one.lacks.is_empty());
    let lists = [&at_hand.ready, &at_hand.resting];
    let some = lists.into_iter().find(|list| !list.is_empty());
    let bulbs: Vec<Id> = match some {
        Some(list) => list.iter().map(|one| one.bulb).collect(),
        None => unknown.map(|one| one.bulb).collect(),
    };
    let now = starting_point(state, &bulbs, data.today).now;
    let times = |treatment: u32| {
        let n = times_tried(data, treatment);
        (n, std::cmp::Reverse(treatment))
    };
    let tried = tried(data).into_iter();
    let tried = tried.filter(|(at, _)| times_tried(data, *at) > 0);
    let most = tried.max_by_key(|(at, _)| times(*at));
    let rest_weeks = most.map_or(REST_WEEKS, |(_, weeks)| weeks.min(super::MOST_REST_WEEKS));
    let n = u32::try_from(bulbs.len()).unwrap_or(0);
    let at_hand = if n == 0 { SOME } else { n };
    let mut wish = Wish {
        window: Window { from: data.today, to: data.today },
        stage: Wanted::FitToSell,
        wanted: (at_hand / 2).max(1),
        assurance: 0.9,
        at_hand,
        now,
        rest_weeks,
        treatment: most.map(|(treatment, _)| treatment),
        lot: None,
        staggered: 1,
    };
    let rest_end = super::earliest(&wish)(data.today);
    let day = |days: i64| data.today.add_days(days).unwrap_or(data.today);
    wish.window = Window { from: day(rest_end + LEAD_DAYS), to: day(rest_end + LEAD_DAYS + WINDOW_DAYS) };
    (wish, bulbs)
}

/// The window moved by so many days.
pub fn moved(window: Window, days: i64) -> Window {
    let day = |on: Date| on.add_days(days).unwrap_or(on);
    Window { from: day(window.from), to: day(window.to) }
}

/// The same number of due days, the last of them on a day, as before a holiday.
///
/// ```
/// use bloomdue_core::forecast::Window;
///
/// let day = |text: &str| text.parse().unwrap();
/// let window = Window { from: day("2027-02-26"), to: day("2027-03-11") };
/// let easter = bloomdue_core::plan::ending(window, day("2027-03-28"));
/// assert_eq!(easter, Window { from: day("2027-03-15"), to: day("2027-03-28") });
/// ```
pub fn ending(window: Window, last: Date) -> Window {
    moved(window, window.to.days_until(last))
}

/// What a next try is called and how it is split: the groups that are to be in it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Proposed {
    /// What differs.
    pub factor: String,
    /// Unit of its levels; empty where they are no numbers.
    pub unit: &'static str,
    /// Groups: name, number of the level where there is one, whether it is the control.
    pub groups: Vec<(String, Option<u32>, bool)>,
    /// Bulbs of each.
    pub sizes: Vec<u32>,
}

/// The try that advice comes to. Where every group is a length of rest it is one about weeks of rest, else groups go by
/// the words of their treatments. `factor` is what weeks of rest are called, and `of_weeks` a group of so many.
pub fn proposed(next: &super::NextTry, data: &Data, factor: &str, of_weeks: impl Fn(u32) -> String) -> Proposed {
    let inside = next.choices.iter().filter(|choice| choice.n > 0);
    let sizes: Vec<u32> = inside.clone().map(|choice| choice.n).collect();
    let words = |at: u32| data.treatments.get(at as usize).cloned().unwrap_or_default();
    let own: Vec<(Option<String>, u32, bool)> = inside
        .map(|choice| {
            let is_control = choice.advice == super::Advice::Control;
            (choice.treatment.map(words), choice.rest_weeks, is_control)
        })
        .collect();
    let of_rest = |words: &Option<String>| {
        let words = words.as_deref();
        words.is_none_or(|words| words.starts_with(factor) && !words.contains("; "))
    };
    if own.iter().all(|(words, ..)| of_rest(words)) {
        let group = |(_, weeks, control): (Option<String>, u32, bool)| (of_weeks(weeks), Some(weeks), control);
        let groups = own.into_iter().map(group).collect();
        return Proposed { factor: factor.to_owned(), unit: "weeks", groups, sizes };
    }
    let group = |(words, weeks, control): (Option<String>, u32, bool)| {
        let new = || format!("{factor}: {weeks}");
        (words.unwrap_or_else(new), None, control)
    };
    Proposed { factor: String::new(), unit: "", groups: own.into_iter().map(group).collect(), sizes }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        forecast::gather,
        plan::{
            Advice, Choice, NextTry, check,
            spend::{GoOn, Purse, Spending},
        },
    };

    #[test]
    fn the_demo_starts_with_a_wish_that_makes_sense() {
        let today = Date::new(2026, 11, 25).expect("a day");
        let demo = crate::demo::generate(crate::demo::SCRIPT, today).expect("the demo");
        let state = State::fold(&demo.to_ledger());
        let data = gather(&state, today);
        let at_hand = AtHand::of(&state, None, today);
        let (wish, bulbs) = first_wish(&state, &data, &at_hand);
        assert_eq!(check(&wish, today), Ok(()), "{wish:?}");
        assert!(
            !bulbs.is_empty() && wish.treatment.is_some(),
            "{} {} {} {} {wish:?}",
            at_hand.ready.len(),
            at_hand.resting.len(),
            at_hand.not_ready.len(),
            at_hand.busy.len()
        );
        let (nothing, none) = first_wish(&State::default(), &gather(&State::default(), today), &AtHand::default());
        assert_eq!(check(&nothing, today), Ok(()));
        assert!(none.is_empty() && nothing.at_hand == SOME && nothing.rest_weeks == REST_WEEKS);
    }

    #[test]
    fn lengths_of_rest_make_a_try_about_rest_and_others_go_by_their_words() {
        let choice = |treatment, rest_weeks, advice, n| Choice {
            treatment,
            rest_weeks,
            rest_ends: Date::new(2027, 3, 1).expect("a day"),
            advice,
            chance: 0.5,
            one_bulb: 0.5,
            unsure: 0.1,
            best: 0.5,
            n,
        };
        let next = NextTry {
            from_published: false,
            choices: vec![
                choice(Some(0), 8, Advice::Control, 10),
                choice(None, 12, Advice::Add, 10),
                choice(Some(1), 8, Advice::Drop, 0),
            ],
            spending: Spending {
                purse: Purse { at_hand: 20, wanted: 5, assurance: 0.9, seasons: 3 },
                one_bulb: Vec::new(),
                best: Vec::new(),
                crop: 0,
                control: 0,
                splits: Vec::new(),
                advised: 0,
                go_on: GoOn::Try,
            },
        };
        let today = Date::new(2026, 11, 25).expect("a day");
        let mut data = gather(&State::default(), today);
        data.treatments = vec!["weeks of rest: 8 weeks".to_owned(), "leaves: cut".to_owned()];
        let of_rest = proposed(&next, &data, "weeks of rest", |weeks| format!("{weeks} weeks"));
        assert_eq!((of_rest.factor.as_str(), of_rest.unit), ("weeks of rest", "weeks"));
        assert_eq!(of_rest.groups[0], ("8 weeks".to_owned(), Some(8), true));
        assert_eq!(of_rest.groups[1], ("12 weeks".to_owned(), Some(12), false));
        assert_eq!(of_rest.sizes, [10, 10]);
        data.treatments[0] = "leaves: kept".to_owned();
        let mixed = proposed(&next, &data, "weeks of rest", |weeks| format!("{weeks} weeks"));
        assert_eq!(mixed.groups[0].0, "leaves: kept");
        assert_eq!(mixed.groups[1].0, "weeks of rest: 12");
    }
}
