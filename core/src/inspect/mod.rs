//! A bulb in hand, asked piece by piece: sound, to be watched, or to be thrown away, and why.
//!
//! The rules are common practice beside what extension services and handbooks say of each sign ([`Ailment`]); none of
//! them is measured. Red marks alone never condemn a bulb: any injury reddens. What decides is the grower's choice,
//! which is recorded with what was found; the advice is worked out anew each time.
//!
//! | finding | what it calls for |
//! |---|---|
//! | basal plate soft, soft spots, maggot or hole | throw it away |
//! | red marks, pests seen, mottled leaves | watch it, apart from the others |
//! | slack, shrivelled, mould, tunic damp, nose hurt | watch it where it is |
//! | roots poor, sprout, offsets | nothing; it is mentioned |

mod ailments;
mod weight;

pub use ailments::{Ailment, Step, possible};
pub use weight::{Loss, loss};

use crate::ledger::body::{Check, Finding, Inspection};

/// What was told of one piece: nothing wrong, or what was found.
pub type Told = (Check, Option<Finding>);

/// What a bulb has to be asked before it may be called sound: rot begins where these are.
pub const ESSENTIAL: [Check; 3] = [Check::Firmness, Check::Base, Check::Spots];

impl Check {
    /// The answers to choose from, the good one first.
    pub const fn choices(self) -> &'static [Option<Finding>] {
        match self {
            Self::Firmness => &[Some(Finding::Firm), Some(Finding::Slack), Some(Finding::Shrivelled)],
            Self::Base => &[None, Some(Finding::BaseSoft)],
            Self::Spots => &[None, Some(Finding::SoftSpots)],
            Self::Red => &[None, Some(Finding::RedMarks)],
            Self::Mould => &[None, Some(Finding::Mould)],
            Self::Pests => &[None, Some(Finding::Maggots), Some(Finding::Pests)],
            Self::Tunic => &[None, Some(Finding::TunicDamp)],
            Self::Nose => &[None, Some(Finding::NoseHurt), Some(Finding::Sprout)],
            Self::Leaves => &[None, Some(Finding::Mottled)],
            Self::Roots => &[None, Some(Finding::RootsPoor)],
            Self::Offsets => &[None, Some(Finding::Offsets)],
        }
    }
}

/// What one finding calls for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Calls {
    Nothing,
    Watching,
    WatchingApart,
    ThrowingAway,
}

const fn calls(finding: Finding) -> Calls {
    match finding {
        Finding::BaseSoft | Finding::SoftSpots | Finding::Maggots => Calls::ThrowingAway,
        Finding::RedMarks | Finding::Pests | Finding::Mottled => Calls::WatchingApart,
        Finding::Slack | Finding::Shrivelled | Finding::Mould | Finding::TunicDamp | Finding::NoseHurt => {
            Calls::Watching
        }
        Finding::Firm | Finding::RootsPoor | Finding::Sprout | Finding::Offsets => Calls::Nothing,
    }
}

/// What an inspection comes to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verdict {
    /// Nothing wrong was found, and what has to be asked was.
    Sound,
    /// Too little was told to call it sound.
    Unsure,
    /// To be watched.
    Watch,
    /// To be thrown away.
    Discard,
}

/// What follows from findings.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Advice {
    /// What it comes to.
    pub verdict: Verdict,
    /// The findings that led there, in the order of [`Finding`].
    pub reasons: Vec<Finding>,
    /// Whether it is better kept apart from the others: it may be catching.
    pub apart: bool,
    /// What is still to be asked before it may be called sound.
    pub lacking: Vec<Check>,
}

/// What follows from what was checked and found. Findings without a list of what was checked are those of a quick look:
/// there *firm* says that the bulb was taken in hand and nothing struck the eye.
pub fn advise(checked: &[Check], findings: &[Finding]) -> Advice {
    let worst = findings.iter().map(|finding| calls(*finding)).max().unwrap_or(Calls::Nothing);
    let quick = checked.is_empty() && findings.contains(&Finding::Firm);
    let is_lacking = |check: &Check| !quick && !checked.contains(check);
    let lacking: Vec<Check> = ESSENTIAL.into_iter().filter(is_lacking).collect();
    let verdict = match worst {
        Calls::ThrowingAway => Verdict::Discard,
        Calls::Watching | Calls::WatchingApart => Verdict::Watch,
        Calls::Nothing if lacking.is_empty() => Verdict::Sound,
        Calls::Nothing => Verdict::Unsure,
    };
    let led = |finding: &Finding| match verdict {
        Verdict::Discard => calls(*finding) == Calls::ThrowingAway,
        Verdict::Watch => calls(*finding) >= Calls::Watching,
        Verdict::Sound | Verdict::Unsure => false,
    };
    let mut reasons: Vec<Finding> = findings.iter().copied().filter(led).collect();
    reasons.sort_unstable();
    Advice { verdict, reasons, apart: worst >= Calls::WatchingApart, lacking }
}

/// What follows from an inspection as it was recorded.
pub fn of(inspection: &Inspection) -> Advice {
    advise(&inspection.checked, &inspection.findings)
}

/// What was checked and what was found, of what was told.
pub fn recorded(told: &[Told]) -> (Vec<Check>, Vec<Finding>) {
    let mut checked: Vec<Check> = told.iter().map(|(check, _)| *check).collect();
    let mut findings: Vec<Finding> = told.iter().filter_map(|(_, finding)| *finding).collect();
    checked.sort_unstable();
    checked.dedup();
    findings.sort_unstable();
    findings.dedup();
    (checked, findings)
}

/// The next thing to ask: the first that was neither told nor passed over.
pub fn next(told: &[Told], passed: &[Check]) -> Option<Check> {
    let known = |check: &&Check| told.iter().any(|(asked, _)| asked == *check) || passed.contains(check);
    Check::ALL.iter().find(|check| !known(check)).copied()
}

#[cfg(test)]
mod tests {
    use super::*;

    const SOUND: [Told; 3] = [(Check::Firmness, Some(Finding::Firm)), (Check::Base, None), (Check::Spots, None)];

    fn verdict(more: &[Told]) -> Advice {
        let told: Vec<Told> = SOUND.iter().chain(more).copied().collect();
        let (checked, findings) = recorded(&told);
        advise(&checked, &findings)
    }

    #[test]
    fn a_bulb_is_sound_once_what_has_to_be_asked_was_and_nothing_is_wrong() {
        assert_eq!(verdict(&[]).verdict, Verdict::Sound);
        for lacking in ESSENTIAL {
            let told: Vec<Told> = SOUND.into_iter().filter(|(check, _)| *check != lacking).collect();
            let (checked, findings) = recorded(&told);
            let advice = advise(&checked, &findings);
            assert_eq!((advice.verdict, advice.lacking), (Verdict::Unsure, vec![lacking]));
        }
        // A quick look that found it firm.
        assert_eq!(advise(&[], &[Finding::Firm]).verdict, Verdict::Sound);
        assert_eq!(advise(&[], &[]).verdict, Verdict::Unsure);
    }

    #[test]
    fn every_finding_can_be_told_once_and_leads_where_the_table_says() {
        let mut told: Vec<Finding> =
            Check::ALL.iter().flat_map(|check| check.choices()).filter_map(|finding| *finding).collect();
        told.sort_unstable();
        assert_eq!(told, Finding::ALL, "each is the answer to one question");
        for check in Check::ALL {
            for finding in check.choices().iter().flatten() {
                let advice = advise(&ESSENTIAL, &[*finding]);
                let expected = match calls(*finding) {
                    Calls::Nothing => (Verdict::Sound, false, false),
                    Calls::Watching => (Verdict::Watch, false, true),
                    Calls::WatchingApart => (Verdict::Watch, true, true),
                    Calls::ThrowingAway => (Verdict::Discard, true, true),
                };
                assert_eq!((advice.verdict, advice.apart, !advice.reasons.is_empty()), expected, "{finding:?}");
            }
        }
    }

    /// "Any injury reddens": red marks with nothing else are watched, never thrown away (PNW Plant Disease Handbook).
    #[test]
    fn red_is_not_proof() {
        let red = verdict(&[(Check::Red, Some(Finding::RedMarks))]);
        assert_eq!((red.verdict, red.apart, red.reasons), (Verdict::Watch, true, vec![Finding::RedMarks]));
        let rotten = verdict(&[(Check::Red, Some(Finding::RedMarks)), (Check::Base, Some(Finding::BaseSoft))]);
        assert_eq!((rotten.verdict, rotten.reasons), (Verdict::Discard, vec![Finding::BaseSoft]));
        assert!(possible(&[Finding::RedMarks]).contains(&Ailment::OldInjury));
    }

    #[test]
    fn questions_come_in_order_and_what_was_passed_over_is_not_asked_again() {
        assert_eq!(next(&[], &[]), Some(Check::Firmness));
        assert_eq!(next(&SOUND[..1], &[Check::Base]), Some(Check::Spots));
        assert_eq!(next(&SOUND, &Check::ALL[3..]), None);
    }

    #[test]
    fn every_ailment_has_signs_that_can_be_told_and_something_to_do() {
        for ailment in Ailment::ALL {
            assert!(!ailment.signs().is_empty() && !ailment.steps().is_empty(), "{ailment:?}");
            assert!(possible(ailment.signs()).first().is_some_and(|first| first.signs() == ailment.signs()));
        }
        assert!(possible(&[Finding::Firm]).is_empty());
    }
}
