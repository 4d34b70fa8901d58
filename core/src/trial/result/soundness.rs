//! Soundness and losses by group: did a way of treating bulbs harm them?
//!
//! A bulb of a try is sound, watched or unfit as its last inspection in the cycle of the try says ([`crate::inspect`]), or it
//! died. What was never inspected there says nothing, and neither does what left or is missing: both are counted and left
//! out. Sound bulbs of all that are known are compared by the design's own test and interval, once the try has a verdict and
//! nothing is unknown; that decides nothing of the try.

use serde::Serialize;

use crate::{
    evidence::{
        Share,
        permutation::Scored,
        strata::Stratum,
        verdict::{Groups, Verdict, family},
    },
    inspect,
    ledger::{Ledger, body::Body, id::Id},
    nursery::{Bulb, State, bulb::Fate},
    trial::standing::{Compared, Design, GroupStanding, oriented, pairs},
};

/// How one bulb of a try came through it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Came {
    Sound,
    Watched,
    Unfit,
    Died,
    NotInspected,
    Gone,
}

/// Bulbs of one group.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct SoundGroup {
    /// The group.
    pub group: Id,
    /// Sound at their last inspection.
    pub n_sound: u32,
    /// To be watched since it.
    pub n_watched: u32,
    /// Found unfit, and still here.
    pub n_unfit: u32,
    /// Died or thrown away.
    pub n_died: u32,
    /// Here, and never inspected in the cycle of the try.
    pub n_not_inspected: u32,
    /// Left or missing.
    pub n_gone: u32,
    /// Of what they died, in the grower's words, with how many; the most frequent first.
    pub causes: Vec<(String, u32)>,
}

/// Two groups compared.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct SoundPair {
    /// Which has the greater share of sound bulbs, and by how much.
    pub compared: Compared,
    /// What the test of the design says of it.
    pub verdict: Verdict,
}

/// Soundness and losses of a try.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Soundness {
    /// Group by group.
    pub groups: Vec<SoundGroup>,
    /// Pairs compared, once there is a verdict and nothing is unknown.
    pub pairs: Vec<SoundPair>,
}

/// One bulb with what stands for it in the comparison.
struct Of {
    unit: Id,
    block: u32,
    came: Came,
    cause: Option<String>,
}

/// Soundness of a try; nothing when nobody inspected a bulb of it and none died.
pub(super) fn soundness(
    design: &Design<'_>,
    ledger: &Ledger,
    state: &State,
    groups: &[GroupStanding],
    decided: bool,
) -> Option<Soundness> {
    let of_group = |group: &GroupStanding| -> Vec<Of> {
        let units = group.units.iter().flat_map(|unit| unit.bulbs.iter().map(move |bulb| (unit, bulb)));
        let bulbs = units.filter_map(|(unit, bulb)| Some((unit, state.bulb(bulb)?)));
        let of = |bulb: &Bulb| came(design, ledger, bulb);
        bulbs
            .map(|(unit, bulb)| {
                let (came, cause) = of(bulb);
                Of { unit: unit.unit, block: unit.block, came, cause }
            })
            .collect()
    };
    let bulbs: Vec<Vec<Of>> = groups.iter().map(of_group).collect();
    let says = |of: &Of| !matches!(of.came, Came::NotInspected | Came::Gone);
    if !bulbs.iter().flatten().any(says) {
        return None;
    }
    let counted: Vec<SoundGroup> =
        groups.iter().zip(&bulbs).map(|(group, bulbs)| counted(group.group, bulbs)).collect();
    let unknown = counted.iter().any(|group| group.n_not_inspected > 0);
    let pairs = if decided && !unknown { compared(design, groups, &bulbs) } else { Vec::new() };
    Some(Soundness { groups: counted, pairs })
}

fn came(design: &Design<'_>, ledger: &Ledger, bulb: &Bulb) -> (Came, Option<String>) {
    let cycle = bulb.cycle_on(design.start);
    let within = |day| day >= design.start && cycle.ended.is_none_or(|ended| day <= ended);
    match &bulb.fate {
        Fate::Died { on, cause } if within(*on) => return (Came::Died, Some(cause.clone())),
        Fate::Left { on, .. } | Fate::Missing { on } if within(*on) => return (Came::Gone, None),
        _ => {}
    }
    let entries = bulb.in_force(ledger);
    let inspected = entries.iter().filter(|entry| within(entry.envelope.happened.date()));
    let mut all = inspected.filter_map(|entry| match &entry.body {
        Body::Inspection(inspection) => Some(inspection),
        _ => None,
    });
    let came = all.next_back().map_or(Came::NotInspected, |inspection| match inspect::of(inspection).verdict {
        _ if inspection.watch => Came::Watched,
        inspect::Verdict::Sound => Came::Sound,
        inspect::Verdict::Watch => Came::Watched,
        inspect::Verdict::Discard => Came::Unfit,
        inspect::Verdict::Unsure => Came::NotInspected,
    });
    (came, None)
}

fn counted(group: Id, bulbs: &[Of]) -> SoundGroup {
    let n = |came: Came| bulbs.iter().filter(|of| of.came == came).count() as u32;
    let mut causes: Vec<(String, u32)> = Vec::new();
    for cause in bulbs.iter().filter_map(|of| of.cause.as_ref()).filter(|cause| !cause.is_empty()) {
        match causes.iter_mut().find(|(known, _)| known == cause) {
            Some((_, n)) => *n += 1,
            None => causes.push((cause.clone(), 1)),
        }
    }
    causes.sort_by(|a, b| b.1.cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
    SoundGroup {
        group,
        n_sound: n(Came::Sound),
        n_watched: n(Came::Watched),
        n_unfit: n(Came::Unfit),
        n_died: n(Came::Died),
        n_not_inspected: n(Came::NotInspected),
        n_gone: n(Came::Gone),
        causes,
    }
}

/// Whether a bulb came through sound, where it is known.
fn sound(of: &Of) -> Option<bool> {
    match of.came {
        Came::Sound => Some(true),
        Came::Watched | Came::Unfit | Came::Died => Some(false),
        Came::NotInspected | Came::Gone => None,
    }
}

fn share<'a>(bulbs: impl Iterator<Item = &'a Of>) -> Option<Share> {
    let known: Vec<bool> = bulbs.filter_map(sound).collect();
    Share::new(known.iter().filter(|sound| **sound).count() as u32, known.len() as u32).ok()
}

fn compared(design: &Design<'_>, groups: &[GroupStanding], bulbs: &[Vec<Of>]) -> Vec<SoundPair> {
    let counting = design.counting();
    let side = |(a, b): (usize, usize)| -> Option<(Id, Id, Groups)> {
        if groups[a].units.len() < 2 || groups[b].units.len() < 2 {
            return None;
        }
        let both = [(a, true), (b, false)];
        let side = if counting.by_container() {
            let mut scored = Vec::new();
            for (group, in_a) in both {
                for unit in &groups[group].units {
                    let share = share(bulbs[group].iter().filter(|of| of.unit == unit.unit))?;
                    if let Ok(score) = share.rate() {
                        scored.push(Scored { score, in_a, block: unit.block as usize });
                    }
                }
            }
            Groups::Containers(scored)
        } else {
            let last = bulbs[a].iter().chain(&bulbs[b]).map(|of| of.block).max().unwrap_or(0);
            let class = |group: usize, block: u32| share(bulbs[group].iter().filter(|of| of.block == block));
            let strata = (0..=last).map(|block| Some(Stratum { a: class(a, block)?, b: class(b, block)? }));
            let strata: Vec<Stratum> = strata.collect::<Option<_>>()?;
            match strata.as_slice() {
                [whole] => Groups::Whole(*whole),
                _ => Groups::Strata(strata),
            }
        };
        side.can_be_compared().then_some((groups[a].group, groups[b].group, side))
    };
    let all: Vec<(Id, Id, Groups)> = pairs(groups, design.rule.family).into_iter().filter_map(side).collect();
    let sides: Vec<Groups> = all.iter().map(|(.., side)| side.clone()).collect();
    let verdicts = family(&sides).unwrap_or_default();
    let pair = all.iter().zip(verdicts);
    pair.map(|((a, b, _), (gap, verdict))| SoundPair { compared: oriented(*a, *b, gap), verdict }).collect()
}

#[cfg(test)]
mod tests {
    use crate::{
        evidence::verdict::{IntervalBy, Method},
        testing::{World, day, id},
        trial::result::run_result,
    };

    /// Eight bulbs in each of two groups that did alike; inspected on day 20.
    fn world(inspections: &str) -> World {
        let bulbs = |from: usize| (from..from + 8).map(|n| format!("b_{n}")).collect::<Vec<_>>().join(",");
        let (a, b) = (bulbs(1), bulbs(9));
        World::of(&format!(
            "-9 mia lot lo_1 Red
             -9 mia bulb {a},{b} lo_1
             -2 mia question tr_1 gr_a,gr_b
             -2 mia group gr_a tr_1 Long control
             -2 mia group gr_b tr_1 Short
             -2 mia run ru_1 tr_1 0 every=40
             -2 mia rule ru_1 by scape-in-sight
             -2 mia due ru_1 30
             -2 mia allot ru_1 drawn gr_a={a} gr_b={b}
             -1 mia json b_1 inspection {{\"findings\":[\"firm\"]}}
             0 mia cycle-began {a},{b}
             0 mia run-started ru_1
             {inspections}
             30 mia look {a},{b} clear"
        ))
    }

    const SOUND: &str = r#"inspection {"findings":["firm"]}"#;

    #[test]
    fn losses_are_compared_by_the_design_s_own_test() {
        // 7 of 8 sound against 3 of 8: reference 02, library, case 7_of_8_vs_3_of_8_at_95pct.
        let world = world(&format!(
            "20 mia json b_1,b_2,b_3,b_4,b_5,b_6,b_7,b_9,b_10,b_11 {SOUND}
             20 mia json b_8 inspection {{\"findings\":[\"red marks\"],\"watch\":true}}
             20 mia json b_12 inspection {{\"checked\":[\"basal plate\"],\"findings\":[\"basal plate soft\"]}}
             31 mia died b_13,b_14,b_15 cause=rot
             31 mia died b_16 cause=fly"
        ));
        let found = run_result(&world.ledger, &world.state(), id("ru_1"), day(60)).unwrap();
        let sound = found.soundness.unwrap();
        let of = |at: usize| {
            let group = &sound.groups[at];
            (group.n_sound, group.n_watched, group.n_unfit, group.n_died, group.n_not_inspected)
        };
        assert_eq!((of(0), of(1)), ((7, 1, 0, 0, 0), (3, 0, 1, 4, 0)));
        assert_eq!(sound.groups[1].causes, [("rot".to_owned(), 3), ("fly".to_owned(), 1)]);
        let [pair] = sound.pairs.as_slice() else { panic!("{:?}", found.standing.sentence) };
        assert_eq!((pair.compared.more, pair.compared.gap.difference), (id("gr_a"), 0.5));
        assert_eq!((pair.verdict.method, pair.compared.gap.by), (Method::Boschloo, IntervalBy::Newcombe));
        assert!((pair.verdict.p - 0.053_413_412_983_812).abs() < 1e-6, "{}", pair.verdict.p);
        let interval = pair.compared.gap.interval.unwrap();
        assert!(
            (interval.lower - 0.029_294_090_542_112).abs() < 1e-9
                && (interval.upper - 0.759_309_304_220_407).abs() < 1e-9
        );
    }

    #[test]
    fn what_nobody_inspected_stands_by_itself_and_nothing_is_compared() {
        let world = world(&format!("20 mia json b_1,b_2 {SOUND}\n21 mia left b_9 how=sold"));
        let found = run_result(&world.ledger, &world.state(), id("ru_1"), day(60)).unwrap();
        let sound = found.soundness.unwrap();
        assert_eq!((sound.groups[0].n_sound, sound.groups[0].n_not_inspected), (2, 6));
        assert_eq!((sound.groups[1].n_gone, sound.groups[1].n_not_inspected), (1, 7));
        assert!(sound.pairs.is_empty());
    }

    /// An inspection before the try, as that of the first bulb here, says nothing of it.
    #[test]
    fn without_an_inspection_in_the_try_there_is_nothing_to_say() {
        let world = world("");
        let found = run_result(&world.ledger, &world.state(), id("ru_1"), day(60)).unwrap();
        assert_eq!(found.soundness, None);
    }
}
