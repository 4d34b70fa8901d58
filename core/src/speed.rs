//! Work that is timed (`cargo xtask bench`): the same tables natively, in the browser and by general-purpose libraries.
//!
//! Every kind of work is repeatable and gives a number that depends on all it computed, so that nothing is left out by
//! an optimiser. Only built with the feature `testing`.

use crate::{
    evidence::{
        Level, Share, barnard, boschloo, clopper_pearson, exact_conditional, fisher, hierarchical,
        interval_scores::{self, Member},
        k_groups, newcombe,
        power::{Region, Test},
        random_effects::{self, Between, Limits},
        score_difference,
        strata::Stratum,
        trend,
        turnbull::{Bounds, Curve},
        wilson,
    },
    forecast::{self, Ask, Data, Fit, Wanted, Window, simulate},
    ledger::id::Id,
    nursery::State,
    plan::{self, Now, Wish},
    testing::{World, day, id},
    trial::result::{run_result, tries::trial_result},
    work::Task,
};

/// How many tables every test and interval is timed on.
pub const N_TABLES: usize = 200;

/// Power is enumerated on every tenth table's group sizes.
const POWER_EVERY: usize = 10;

/// Everything that can be timed, by name.
pub const NAMES: [&str; 18] = [
    "fisher",
    "boschloo",
    "barnard",
    "exact_conditional",
    "freeman_halton",
    "trend",
    "wilson",
    "clopper_pearson",
    "newcombe",
    "miettinen_nurminen",
    "power",
    "season",
    "turnbull",
    "interval_scores",
    "random_effects",
    "hierarchical",
    "forecast",
    "plan",
];

/// A number below `n`, by Knuth's linear congruential generator MMIX; its high bits are good enough here.
struct Numbers(u64);

impl Numbers {
    fn below(&mut self, n: u32) -> u32 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) % u64::from(n)) as u32
    }
}

/// Pairs of groups of 3 to 40 bulbs with any counts: reached and all of a, reached and all of b.
pub fn tables() -> Vec<[u32; 4]> {
    let mut numbers = Numbers(2027);
    let mut group = || {
        let n = 3 + numbers.below(38);
        [numbers.below(n + 1), n]
    };
    (0..N_TABLES)
        .map(|_| {
            let ([x, n], [y, m]) = (group(), group());
            [x, n, y, m]
        })
        .collect()
}

/// One kind of work with what it needs at hand.
pub struct Work {
    name: String,
    tables: Vec<Stratum>,
    bulbs: Vec<Member>,
    season: Option<(World, State, Vec<Id>)>,
    waiting: Option<(Data, Option<Fit>)>,
}

impl Work {
    /// The work of this name; nothing when there is none.
    pub fn new(name: &str) -> Option<Self> {
        if !NAMES.contains(&name) {
            return None;
        }
        let table = |[x, n, y, m]: [u32; 4]| Some(Stratum { a: Share::new(x, n).ok()?, b: Share::new(y, m).ok()? });
        Some(Self {
            name: name.to_owned(),
            tables: tables().into_iter().filter_map(table).collect(),
            bulbs: looked_at(1_000),
            season: (name == "season").then(season),
            waiting: match name {
                "forecast" => Some((simulate::waiting_300(), None)),
                "plan" => {
                    let data = simulate::waiting_300();
                    let fit = forecast::fit(&data, data.seed(), |_| true).ok();
                    Some((data, fit))
                }
                _ => None,
            },
        })
    }

    /// Does it once.
    pub fn once(&self) -> f64 {
        match self.name.as_str() {
            "fisher" => self.each(|one| fisher::two_sided(one.a, one.b)),
            "boschloo" => self.each(|one| boschloo::two_sided(one.a, one.b).p),
            "barnard" => self.each(|one| barnard::two_sided(one.a, one.b).p),
            "wilson" => self.each(|one| wilson::interval(one.a, Level::PCT_95).lower),
            "clopper_pearson" => self.each(|one| clopper_pearson::interval(one.a, Level::PCT_95).lower),
            "newcombe" => self.each(|one| newcombe::interval(one.a, one.b, Level::PCT_95).lower),
            "miettinen_nurminen" => {
                self.each(|one| score_difference::miettinen_nurminen(one.a, one.b, Level::PCT_95).lower)
            }
            "exact_conditional" => self.fours(|four| exact_conditional::two_sided(four).map(|found| found.p)),
            "freeman_halton" => self.fours(|four| k_groups::freeman_halton(&firsts(four)).map(|found| found.p)),
            "trend" => {
                self.fours(|four| trend::test(&firsts(four), &[1.0, 2.0, 3.0, 4.0]).map(|found| found.two_sided().p))
            }
            "power" => self.power(),
            "season" => self.say_season(),
            "forecast" => self.forecast(),
            "plan" => self.plan(),
            "turnbull" => curve(&self.bulbs),
            "interval_scores" => interval_scores::test(&self.bulbs[..24]).map_or(0.0, |found| found.two_sided),
            "random_effects" => random_effects::log_odds_ratios(&self.tables[..8])
                .and_then(|tries| {
                    random_effects::pool(&tries, Between::Reml, Limits::HartungKnappAtLeastOne, Level::PCT_95)
                })
                .map_or(0.0, |pooled| pooled.estimate),
            _ => hierarchical::posterior(&self.tables[..4], hierarchical::Priors::DEFAULT)
                .map_or(0.0, |posterior| posterior.delta.mean),
        }
    }

    fn each(&self, of: impl Fn(&Stratum) -> f64) -> f64 {
        self.tables.iter().map(of).sum()
    }

    /// Each table with the three after it.
    fn fours(&self, of: impl Fn(&[Stratum]) -> crate::evidence::Result<f64>) -> f64 {
        let round = [&self.tables[..], &self.tables[..3]].concat();
        round.windows(4).map(|four| of(four).unwrap_or(0.0)).sum()
    }

    fn power(&self) -> f64 {
        let some = self.tables.iter().step_by(POWER_EVERY);
        some.map(|one| {
            let region = Region::new(Test::Fisher, one.a.of(), one.b.of(), 0.05);
            region.and_then(|region| region.power(0.75, 0.5)).unwrap_or(0.0)
        })
        .sum()
    }

    /// A forecast of the coming four weeks: the fit, then what is shown of it.
    fn forecast(&self) -> f64 {
        let Some((data, _)) = &self.waiting else {
            return 0.0;
        };
        let window = Some(four_weeks(data, 0));
        let ask = Ask { window, days: window, ..Ask::default() };
        let fit = forecast::fit(data, data.seed(), |_| true);
        fit.map_or(0.0, |fit| {
            let outlook = forecast::outlook(data, &fit, &ask);
            outlook.bulbs.iter().map(|bulb| 1.0 - bulb.blind).sum()
        })
    }

    /// A plan after the fit, for a wish that cannot be met, so that the nearest ones are looked for as well.
    fn plan(&self) -> f64 {
        let Some((data, Some(fit))) = &self.waiting else {
            return 0.0;
        };
        let wish = wish(data);
        plan::plan(data, fit, &wish).map_or(0.0, |plan| f64::from(plan.to_start) + plan.chance)
    }

    /// Everything a results page says of the season's tries and of all of them together.
    fn say_season(&self) -> f64 {
        let Some((world, state, runs)) = &self.season else {
            return 0.0;
        };
        let today = day(100);
        let of_runs: usize = runs
            .iter()
            .filter_map(|run| run_result(&world.ledger, state, *run, today))
            .map(|said| said.beside.len() + said.standing.compared.len())
            .sum();
        let together = trial_result(&world.ledger, state, id("tr_1"), today);
        (of_runs + together.map_or(0, |said| said.pairs.len())) as f64
    }
}

/// The forecast of 300 waiting bulbs over 4 past tries and the plan after it, as screens ask for them. Another seed is
/// another fit.
pub fn tasks(seed: u64) -> [Task; 2] {
    let data = simulate::waiting_300();
    let window = Some(four_weeks(&data, 0));
    let ask = Ask { window, days: window, ..Ask::default() };
    let wish = Box::new(wish(&data));
    let again = Box::new(data.clone());
    let data = Box::new(data);
    [Task::Forecast { data, seed, ask }, Task::Plan { data: again, seed, wish }]
}

/// A wish that cannot be met.
fn wish(data: &Data) -> Wish {
    Wish {
        window: four_weeks(data, 180),
        stage: Wanted::InFlower,
        wanted: 110,
        assurance: 0.9,
        at_hand: 120,
        now: Now::InLeaf,
        rest_weeks: 10,
        treatment: Some(0),
        lot: None,
        staggered: 1,
    }
}

fn four_weeks(data: &Data, in_days: i64) -> Window {
    let day = |days: i64| data.today.add_days(days).unwrap_or(data.today);
    Window { from: day(in_days), to: day(in_days + 27) }
}

fn firsts(four: &[Stratum]) -> Vec<Share> {
    four.iter().map(|one| one.a).collect()
}

/// Bulbs looked at every week, each from a day of its own, some open at the end.
fn looked_at(n: usize) -> Vec<Member> {
    let mut numbers = Numbers(7);
    let member = |at: usize| {
        let reached = 10 + numbers.below(20) + numbers.below(20);
        let first = numbers.below(7);
        let left = reached.saturating_sub(first) / 7 * 7 + first;
        let right = if left > 42 { f64::INFINITY } else { f64::from(left + 7) };
        Member { bounds: Bounds { left: f64::from(left), right }, in_a: at.is_multiple_of(2), block: 0 }
    };
    (0..n).map(member).collect()
}

fn curve(bulbs: &[Member]) -> f64 {
    let bounds: Vec<Bounds> = bulbs.iter().map(|bulb| bulb.bounds).collect();
    Curve::new(&bounds).map_or(0.0, |curve| curve.ln_likelihood)
}

/// The left and right ends of [`Curve`]'s bulbs, for other programs.
pub fn intervals() -> Vec<[f64; 2]> {
    let bounds = looked_at(1_000).into_iter().map(|bulb| bulb.bounds);
    bounds.map(|bounds| [bounds.left, bounds.right]).collect()
}

/// 200 bulbs in six groups, one of them the control, over four tries that are closed and decided.
fn season() -> (World, State, Vec<Id>) {
    let mut numbers = Numbers(6);
    let groups: Vec<String> = (0..6).map(|n| format!("gr_{n}")).collect();
    let mut lines = format!(
        "-9 mia place pl_1 Bench\n-9 mia lot lo_1 Red\n-9 mia question tr_1 {}\n-9 mia group gr_0 tr_1 Control control\n",
        groups.join(",")
    );
    for group in &groups[1..] {
        lines.push_str(&format!("-9 mia group {group} tr_1 {group}\n"));
    }
    let mut runs = Vec::new();
    for run in 0..4 {
        let bulbs: Vec<String> = (0..50).map(|n| format!("b_{}", run * 50 + n)).collect();
        let all = bulbs.join(",");
        lines.push_str(&format!(
            "-9 mia bulb {all} lo_1 in=pl_1
             -2 mia run ru_{run} tr_1 0
             -2 mia rule ru_{run} by scape-in-sight
             -2 mia due ru_{run} 42
             0 mia cycle-began {all}\n"
        ));
        let lots = groups.iter().enumerate().map(|(at, group)| {
            let members = bulbs.iter().skip(at).step_by(6).cloned();
            format!("{group}={}", members.collect::<Vec<_>>().join(","))
        });
        let lots = lots.collect::<Vec<_>>().join(" ");
        lines.push_str(&format!("-2 mia allot ru_{run} drawn {lots}\n0 mia run-started ru_{run}\n"));
        for (at, bulb) in bulbs.iter().enumerate() {
            // Later groups are a little faster.
            let reached = 20 + numbers.below(30) - (at % 6) as u32;
            for week in 1..=6 {
                let on = week * 7;
                if on < reached {
                    lines.push_str(&format!("{on} mia look {bulb} clear\n"));
                } else {
                    lines.push_str(&format!("{on} mia look {bulb} sh_{}/scape/scape-in-sight\n", run * 50 + at));
                    break;
                }
            }
        }
        lines.push_str(&format!("60 mia run-closed ru_{run}\n"));
        runs.push(id(&format!("ru_{run}")));
    }
    let world = World::of(&lines);
    let state = world.state();
    (world, state, runs)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_work_computes_something() {
        assert_eq!(tables().len(), N_TABLES);
        assert!(Work::new("unheard of").is_none());
        for name in ["fisher", "newcombe", "trend", "turnbull", "random_effects"] {
            let found = Work::new(name).expect("a work").once();
            assert!(found.is_finite() && found != 0.0, "{name}: {found}");
        }
    }

    /// Five groups against the control in each of four tries, each with the tests beside the deciding one, and five
    /// pairs over all tries.
    #[test]
    fn the_season_is_decided() {
        let said = Work::new("season").expect("a work").once();
        assert_eq!(said, 45.0);
    }
}
