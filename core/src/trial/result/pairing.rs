//! Pairs of groups compared unit by unit, in steps: by how much a measure differs, or which group is faster.
//!
//! The permutations of some dozen units take seconds, so a screen gathers the units and has them compared elsewhere
//! ([`crate::work`]); where all is said at once the same steps are taken one after the other.

use serde::{Deserialize, Serialize};

use crate::{
    evidence::{
        How, Interval, Level,
        permutation::{Permuting, Scored},
        shift::Shifting,
    },
    ledger::id::Id,
};

/// Pairs of so few units in all are compared in a moment, wherever it is done.
const FEW_UNITS: usize = 60;
/// The same of a single pair, whose draws grow much faster.
const FEW_OF_PAIR: usize = 18;

/// Two groups with a number for each of their units.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct PairUnits {
    /// First group, in which the units are `in_a`.
    pub a: Id,
    /// Second group.
    pub b: Id,
    /// The units with their size classes.
    pub units: crate::evidence::Result<Vec<Scored>>,
    /// Whether by how much they differ is asked too, and not only whether.
    pub how_much: bool,
}

/// What the units of two groups say.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Pair {
    /// First group.
    pub a: Id,
    /// Second group.
    pub b: Id,
    /// Two-sided p of the permutation within size classes, and how it was found.
    pub p: crate::evidence::Result<(f64, How)>,
    /// a less b with its 95 % interval, where it was asked for.
    pub shift: Option<crate::evidence::Result<(f64, crate::evidence::Result<Interval>)>>,
}

/// True when all of them are compared in a moment.
pub fn is_short(pairs: &[PairUnits]) -> bool {
    let n = |pair: &PairUnits| pair.units.as_ref().map_or(0, Vec::len);
    let sizes = || pairs.iter().map(n);
    sizes().sum::<usize>() <= FEW_UNITS && sizes().all(|n| n <= FEW_OF_PAIR)
}

/// All pairs of one question, one after the other.
pub struct Pairing {
    pairs: Vec<PairUnits>,
    found: Vec<Pair>,
    going: Option<Going>,
}

enum Going {
    Shift(Box<Shifting>),
    Test(Box<Permuting>),
}

impl Pairing {
    /// Makes ready for the first step.
    pub fn new(pairs: Vec<PairUnits>) -> Self {
        Self { pairs, found: Vec::new(), going: None }
    }

    /// The next step, of some milliseconds; all answers after the last one.
    pub fn step(&mut self) -> Option<Vec<Pair>> {
        let Some(pair) = self.pairs.get(self.found.len()) else {
            return Some(std::mem::take(&mut self.found));
        };
        let (p, shift) = match &mut self.going {
            None => match begin(pair) {
                Ok(going) => {
                    self.going = Some(going);
                    return None;
                }
                Err(why) => (Err(why), pair.how_much.then_some(Err(why))),
            },
            Some(Going::Shift(shifting)) => {
                let shift = shifting.step()?;
                let by = (shift.estimate, shift.interval);
                (Ok((shift.test.two_sided, shift.test.how)), Some(Ok(by)))
            }
            Some(Going::Test(permuting)) => {
                let test = permuting.step()?;
                (Ok((test.two_sided, test.how)), None)
            }
        };
        self.going = None;
        let (a, b) = (pair.a, pair.b);
        self.found.push(Pair { a, b, p, shift });
        None
    }

    /// How far it is, 0 to 1000.
    pub fn done_permille(&self) -> u32 {
        let going = match &self.going {
            Some(Going::Shift(shifting)) => shifting.done(),
            Some(Going::Test(permuting)) => permuting.done(),
            None => 0.0,
        };
        let all = self.pairs.len().max(1) as f64;
        ((self.found.len() as f64 + going) / all * 1000.0) as u32
    }
}

fn begin(pair: &PairUnits) -> crate::evidence::Result<Going> {
    let units = pair.units.as_ref().map_err(|why| *why)?;
    Ok(if pair.how_much {
        Going::Shift(Box::new(Shifting::new(units, Level::PCT_95)?))
    } else {
        Going::Test(Box::new(Permuting::new(units)?))
    })
}

/// All pairs in one go.
pub fn compared(pairs: Vec<PairUnits>) -> Vec<Pair> {
    let mut pairing = Pairing::new(pairs);
    loop {
        if let Some(found) = pairing.step() {
            return found;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::evidence::{NoAnswer, Reason, shift::shift};
    use crate::testing::id;

    fn pair(n: usize, how_much: bool) -> PairUnits {
        let unit = |at: usize| Scored { score: (at * at % 17) as f64, in_a: at.is_multiple_of(2), block: at / 8 };
        PairUnits { a: id("gr_a"), b: id("gr_b"), units: Ok((0..n).map(unit).collect()), how_much }
    }

    #[test]
    fn many_steps_say_what_one_go_says() {
        let nothing = PairUnits { units: Err(NoAnswer(Reason::NoBulbs)), ..pair(0, false) };
        let pairs = vec![pair(60, true), pair(12, false), nothing, pair(0, true)];
        let (mut pairing, mut n_steps, mut before) = (Pairing::new(pairs.clone()), 0, 0);
        let found = loop {
            n_steps += 1;
            if let Some(found) = pairing.step() {
                break found;
            }
            let permille = pairing.done_permille();
            assert!(before <= permille && permille <= 1000);
            before = permille;
        };
        assert!(n_steps > 60, "{n_steps}");
        let whole = shift(pairs[0].units.as_ref().expect("units"), Level::PCT_95);
        let whole = whole.expect("a shift");
        assert_eq!(found[0].p, Ok((whole.test.two_sided, whole.test.how)));
        assert_eq!(found[0].shift, Some(Ok((whole.estimate, whole.interval))));
        assert!(found[1].p.is_ok() && found[1].shift.is_none());
        assert_eq!(found[2].p, Err(NoAnswer(Reason::NoBulbs)));
        assert_eq!(found[3].shift, Some(Err(NoAnswer(Reason::NoBulbs))));
    }

    #[test]
    fn only_small_pairs_are_short() {
        assert!(is_short(&[pair(18, true), pair(12, false)]));
        assert!(!is_short(&[pair(19, true)]));
        assert!(!is_short(&vec![pair(13, true); 5]));
    }
}
