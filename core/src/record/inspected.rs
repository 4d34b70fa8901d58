//! What one inspection of a bulb records: what was found, what becomes of it, its weight; saved and undone as one.

use super::Command;
use crate::{
    calendar::Date,
    inspect::{Advice, Told, Verdict, recorded},
    ledger::{
        body::{Act, ActKind, Body, Inspection, Measure, Measured},
        id::Id,
    },
};

/// What becomes of an inspected bulb.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Becomes {
    /// It stays among the others.
    Stays,
    /// It is inspected again by itself.
    Watched,
    /// The same, set apart from the others.
    SetApart,
    /// It is thrown away.
    ThrownAway,
}

impl Becomes {
    /// Every one, from the mildest.
    pub const ALL: [Self; 4] = [Self::Stays, Self::Watched, Self::SetApart, Self::ThrownAway];

    /// What the advice proposes; the grower decides.
    pub const fn proposed(advice: &Advice) -> Self {
        match (advice.verdict, advice.apart) {
            (Verdict::Sound | Verdict::Unsure, _) => Self::Stays,
            (Verdict::Watch, false) => Self::Watched,
            (Verdict::Watch, true) => Self::SetApart,
            (Verdict::Discard, _) => Self::ThrownAway,
        }
    }

    /// Whether it is to be inspected again.
    pub const fn is_watched(self) -> bool {
        matches!(self, Self::Watched | Self::SetApart)
    }
}

/// One inspection.
#[derive(Clone, Debug)]
pub struct Inspected {
    /// The bulb.
    pub bulb: Id,
    /// What was told.
    pub told: Vec<Told>,
    /// What becomes of it.
    pub becomes: Becomes,
    /// When it is inspected again, where it is to be watched.
    pub again: Option<Date>,
    /// Its weight, g, where it was weighed.
    pub weight_g: Option<i64>,
    /// Why it was set apart or thrown away, in the words that the screen has for what was found.
    pub cause: String,
    /// In the grower's words.
    pub note: Option<String>,
    /// On which day, when not now.
    pub on: Option<Date>,
}

/// The command that records it.
pub fn inspected(said: Inspected) -> Command {
    let Inspected { bulb, told, becomes, again, weight_g, cause, note, on } = said;
    let (checked, findings) = recorded(&told);
    let about = vec![bulb];
    let watch = becomes.is_watched();
    let inspection = Inspection { findings, checked, again: again.filter(|_| watch), watch, note };
    let observed = Command::Observe { about: about.clone(), body: Body::Inspection(inspection), on };
    let weighed = weight_g.map(|g| {
        let measure = Measure { what: Measured::Weight, mm: None, mm_to: None, g: Some(g), at: None };
        Command::Observe { about: about.clone(), body: Body::Measure(measure), on }
    });
    let kind = match becomes {
        Becomes::SetApart => Some(ActKind::PutAside),
        Becomes::ThrownAway => Some(ActKind::Died),
        Becomes::Stays | Becomes::Watched => None,
    };
    let cause = Some(cause).filter(|cause| !cause.is_empty());
    let done = kind.map(|kind| Command::Do { kind, act: Act { cause, ..Act::default() }, about, on });
    Command::Together([Some(observed), weighed, done].into_iter().flatten().collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        calendar::Happened,
        inspect::advise,
        ledger::{
            body::{Check, Finding},
            id::Ids,
        },
        nursery::bulb::Fate,
        record::{Moment, record},
        testing::{World, day, id},
    };

    const RED: Told = (Check::Red, Some(Finding::RedMarks));
    const SOUND: [Told; 3] = [(Check::Firmness, Some(Finding::Firm)), (Check::Base, None), (Check::Spots, None)];

    fn said(told: &[Told], becomes: Becomes) -> Inspected {
        let cause = "red marks".to_owned();
        Inspected {
            bulb: id("b_1"),
            told: told.to_vec(),
            becomes,
            again: Some(day(12)),
            weight_g: Some(410),
            cause,
            note: None,
            on: None,
        }
    }

    fn save(world: &mut World, on: i64, said: Inspected) -> crate::error::Result<usize> {
        let mut moment = Moment { now: Happened::on(day(on)), ids: Ids::new([on as u8; 32]) };
        let drafts = record(inspected(said), &world.ledger, &world.state(), &mut moment)?;
        Ok(world.save("mia", drafts).len())
    }

    #[test]
    fn what_is_set_apart_comes_back_once_it_is_found_sound() {
        let mut world = World::of("-9 mia lot lo_1 Red\n-9 mia bulb b_1 lo_1");
        assert_eq!(save(&mut world, 5, said(&[RED], Becomes::SetApart)), Ok(3));
        let bulb = world.state().bulbs[&id("b_1")].clone();
        assert_eq!((bulb.put_aside, bulb.inspect_again), (Some(day(5)), Some(day(12))));
        assert_eq!(bulb.watch, Some((day(5), vec![Finding::RedMarks])));
        // A quick look that finds it firm does not bring it back, one of all pieces does.
        world.add(r#"8 mia json b_1 inspection {"findings":["firm"]}"#);
        assert_eq!(world.state().bulbs[&id("b_1")].put_aside, Some(day(5)));
        assert_eq!(save(&mut world, 12, said(&SOUND, Becomes::Stays)), Ok(2));
        let bulb = world.state().bulbs[&id("b_1")].clone();
        assert_eq!((bulb.put_aside, bulb.inspect_again, bulb.watch), (None, None, None));
    }

    #[test]
    fn what_is_thrown_away_died_of_what_was_found() {
        let mut world = World::of("-9 mia lot lo_1 Red\n-9 mia bulb b_1 lo_1");
        assert_eq!(save(&mut world, 5, said(&[RED], Becomes::ThrownAway)), Ok(3));
        let fate = world.state().bulbs[&id("b_1")].fate.clone();
        assert_eq!(fate, Fate::Died { on: day(5), cause: "red marks".to_owned() });
        // Nothing more is seen on it, and nothing was told of another.
        assert!(save(&mut world, 6, said(&SOUND, Becomes::Stays)).is_err());
        let mut world = World::of("-9 mia lot lo_1 Red\n-9 mia bulb b_1 lo_1");
        assert!(save(&mut world, 5, said(&[], Becomes::Stays)).is_err());
    }

    #[test]
    fn the_advice_proposes_what_becomes_of_it() {
        let proposed = |findings: &[Finding]| Becomes::proposed(&advise(&crate::inspect::ESSENTIAL, findings));
        assert_eq!(proposed(&[Finding::Firm]), Becomes::Stays);
        assert_eq!(proposed(&[Finding::Slack]), Becomes::Watched);
        assert_eq!(proposed(&[Finding::Slack, Finding::Mottled]), Becomes::SetApart);
        assert_eq!(proposed(&[Finding::RedMarks, Finding::SoftSpots]), Becomes::ThrownAway);
    }
}
