//! What was advised of how to spend bulbs, kept with the try that was made of it, so that it can be set beside what was
//! done and what came (entries of kind `shown`).
//!
//! One entry about the try's run; `what` is `spending`. Bulbs, and chances in permille:
//!
//! | name | number |
//! |---|---|
//! | `seasons`, `at-hand`, `wanted` | what was asked: seasons to think of, bulbs, how many have to be in time |
//! | `0.advised`, `0.chosen` | bulbs of the try's first group: as advised, and where the slider stood |
//! | `0.permille` | the chance of one of its bulbs |
//!
//! Nothing that is computed for a grower reads these entries but [`turned_out`].

use serde::{Deserialize, Serialize};

use super::NextTry;
use crate::{
    calendar::Date,
    ledger::{
        Ledger,
        body::{Body, Shown},
        id::Id,
    },
    nursery::State,
    trial::standing::standing,
};

/// Name and version of the method.
pub const METHOD: &str = "spend/1";
/// What the entries speak of.
const WHAT: &str = "spending";

/// What was advised of one group.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct SaidOfGroup {
    /// Bulbs that were advised.
    pub advised: u32,
    /// Bulbs that were chosen.
    pub chosen: u32,
    /// The chance of one bulb, in permille.
    pub permille: u32,
}

/// What was advised.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Said {
    /// Seasons that were thought of.
    pub seasons: u32,
    /// Bulbs at hand.
    pub at_hand: u32,
    /// How many had to be in time.
    pub wanted: u32,
    /// By group of the try, in its order.
    pub groups: Vec<SaidOfGroup>,
}

impl Said {
    /// Of the advice, where the slider stands at a split.
    pub fn of(next: &NextTry, at: usize) -> Self {
        let spending = &next.spending;
        let n = |at: usize, way: usize| {
            let split = spending.splits.get(at);
            split.and_then(|split| split.n.get(way)).copied().unwrap_or(0)
        };
        let groups = spending.one_bulb.iter().enumerate().map(|(way, chance)| SaidOfGroup {
            advised: n(spending.advised, way),
            chosen: n(at, way),
            permille: (chance.clamp(0.0, 1.0) * 1000.0).round() as u32,
        });
        Self {
            seasons: spending.purse.seasons,
            at_hand: spending.purse.at_hand,
            wanted: spending.purse.wanted,
            groups: groups.filter(|group| group.chosen > 0).collect(),
        }
    }

    /// As it is recorded.
    pub(crate) fn body(&self, ledger: &Ledger) -> Body {
        let mut numbers = std::collections::BTreeMap::new();
        let mut say = |name: String, number: u32| numbers.insert(name, i64::from(number));
        say("seasons".to_owned(), self.seasons);
        say("at-hand".to_owned(), self.at_hand);
        say("wanted".to_owned(), self.wanted);
        for (n, group) in self.groups.iter().enumerate() {
            say(format!("{n}.advised"), group.advised);
            say(format!("{n}.chosen"), group.chosen);
            say(format!("{n}.permille"), group.permille);
        }
        let digest: String = ledger.digest().iter().map(|b| format!("{b:02x}")).collect();
        Body::Shown(Shown { what: WHAT.to_owned(), method: METHOD.to_owned(), digest, numbers })
    }

    /// What an entry says; nothing when it is of no spending, or of one that a newer version made.
    pub fn of_shown(shown: &Shown) -> Option<Self> {
        let number = |name: &str| u32::try_from(*shown.numbers.get(name)?).ok();
        let group = |n: usize| {
            let of = |what: &str| number(&format!("{n}.{what}"));
            Some(SaidOfGroup { advised: of("advised")?, chosen: of("chosen")?, permille: of("permille")? })
        };
        (shown.what == WHAT).then_some(())?;
        Some(Self {
            seasons: number("seasons")?,
            at_hand: number("at-hand")?,
            wanted: number("wanted")?,
            groups: (0..).map_while(group).collect(),
        })
    }

    /// Whether it is the advice that was followed.
    pub fn is_followed(&self) -> bool {
        self.groups.iter().all(|group| group.advised == group.chosen)
            && self.groups.iter().map(|group| group.advised).sum::<u32>() == self.at_hand
    }
}

/// Whether an entry is of a spending, of this version or a newer one.
pub fn is_of_spending(shown: &Shown) -> bool {
    shown.what == WHAT
}

/// What was done with a group, and what came of it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Came {
    /// The treatment.
    pub group: Id,
    /// What was said of it; nothing for a group that was not in the advice.
    pub said: Option<SaidOfGroup>,
    /// Bulbs in it.
    pub n: u32,
    /// How many of them were in time.
    pub in_time: u32,
    /// How many are not decided yet, or can't be.
    pub open: u32,
}

/// How one decision turned out.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TurnedOut {
    /// The try.
    pub run: Id,
    /// Its trial.
    pub trial: Id,
    /// When it was advised.
    pub said_on: Date,
    /// What was asked and advised.
    pub said: Said,
    /// By group.
    pub groups: Vec<Came>,
    /// Whether the try's last day is over.
    pub is_over: bool,
}

/// How decisions turned out, the latest first.
pub fn turned_out(ledger: &Ledger, state: &State, today: Date) -> Vec<TurnedOut> {
    let of_run = |(run, known): (&Id, &crate::nursery::state::Run)| {
        let trial = known.body.shown()?.trial;
        let (said_on, said) = said_of(ledger, *run)?;
        let stands = standing(ledger, state, *run, today)?;
        let groups = stands.groups.iter().enumerate().map(|(at, group)| {
            let counts = group.counts;
            Came {
                group: group.group,
                said: said.groups.get(at).copied(),
                n: counts.by_kind().iter().map(|(_, n)| n).sum(),
                in_time: counts.n_in_time,
                open: counts.n_waiting + counts.n_cant_say,
            }
        });
        let groups = groups.collect();
        Some(TurnedOut { run: *run, trial, said_on, said, groups, is_over: stands.deadline_passed })
    };
    let mut all: Vec<TurnedOut> = state.runs.iter().filter_map(of_run).collect();
    all.sort_by_key(|one| (std::cmp::Reverse(one.said_on), one.run));
    all
}

fn said_of(ledger: &Ledger, run: Id) -> Option<(Date, Said)> {
    let all = ledger.in_force_of(run, |entry| matches!(&entry.body, Body::Shown(shown) if is_of_spending(shown)));
    all.into_iter().find_map(|entry| match &entry.body {
        Body::Shown(shown) => Some((entry.envelope.happened.date(), Said::of_shown(shown)?)),
        _ => None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{World, day, id};

    fn said() -> Said {
        let group = |advised, chosen, permille| SaidOfGroup { advised, chosen, permille };
        Said { seasons: 3, at_hand: 40, wanted: 10, groups: vec![group(34, 30, 620), group(6, 10, 540)] }
    }

    #[test]
    fn what_is_kept_is_read_again() {
        let world = World::of("-9 mia lot lo_1 Red");
        let Body::Shown(shown) = said().body(&world.ledger) else { panic!("no entry of what was said") };
        assert_eq!(Said::of_shown(&shown), Some(said()));
        assert!(!said().is_followed() && is_of_spending(&shown));
        assert_eq!(Said::of_shown(&Shown { what: "forecast in-flower".to_owned(), ..shown }), None);
    }

    /// Two of two and one of two in time, beside what was advised of the groups; a try without advice is not listed.
    #[test]
    fn what_was_advised_stands_beside_what_came() {
        let mut world = World::of(
            "-9 mia lot lo_1 Red
             -9 mia bulb b_1,b_2,b_3,b_4 lo_1
             -2 mia question tr_1 gr_a,gr_b
             -2 mia group gr_a tr_1 Long control
             -2 mia group gr_b tr_1 Short
             -2 mia json ru_1 run {\"trial\":\"tr_1\",\"ordinal\":1,\"start\":\"2027-01-01\",\"look_interval_days\":4}
             -2 mia rule ru_1 by scape-in-sight
             -2 mia due ru_1 30
             -2 mia allot ru_1 drawn gr_a=b_1,b_2 gr_b=b_3,b_4
             0 mia cycle-began b_1,b_2,b_3,b_4
             0 mia run-started ru_1",
        );
        assert!(turned_out(&world.ledger, &world.state(), day(9)).is_empty());
        let body = said().body(&world.ledger);
        let Body::Shown(shown) = &body else { panic!("no entry of what was said") };
        let text = serde_json::to_string(shown).expect("JSON");
        world.add(&format!("-2 mia json ru_1 shown {text}"));
        let running = turned_out(&world.ledger, &world.state(), day(9));
        assert!(!running[0].is_over && running[0].groups.iter().all(|group| group.open > 0));
        world.add(
            "30 mia look b_1 sh_1/scape/scape-in-sight
             30 mia look b_2 sh_2/scape/scape-in-sight
             30 mia look b_3 sh_3/scape/scape-in-sight
             30 mia look b_4 clear",
        );
        let over = turned_out(&world.ledger, &world.state(), day(40));
        let [one] = over.as_slice() else { panic!("{over:?}") };
        assert_eq!((one.run, one.trial, one.said_on, one.is_over), (id("ru_1"), id("tr_1"), day(-2), true));
        assert_eq!(one.said, said());
        let came: Vec<(u32, u32, u32)> = one.groups.iter().map(|group| (group.n, group.in_time, group.open)).collect();
        assert_eq!(came, [(2, 2, 0), (2, 1, 0)]);
        assert_eq!(one.groups[1].said.map(|said| said.chosen), Some(10));
    }
}
