//! Invented nurseries for checking the forecast: from the model itself, and from worlds that are not the model.

use bloomdue_draws::{Terms, futures::first_seen, normal, random::Random};

use super::{
    Ask, Window,
    data::{Attempt, Begins, Course, Data, Known},
    design::Design,
    fit::Fit,
    futures::{Futures, Wanted},
    priors,
};
use crate::{calendar::Date, evidence::special, ledger::id::Id};

/// How durations come about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum World {
    /// As the model has it.
    Model,
    /// Gamma durations of the same mean and variance.
    Gamma,
    /// A warm spell of three weeks, now, in which everything runs a quarter faster for all bulbs.
    WarmSpell,
    /// Everything in the last try comes seven days later.
    Shock,
}

/// A nursery to invent.
#[derive(Clone, Copy, Debug)]
pub struct Shape {
    /// Bulbs in all tries together.
    pub n_bulbs: usize,
    /// Tries; the last one is under way.
    pub n_tries: usize,
    /// Treatments.
    pub n_treatments: usize,
    /// Lots.
    pub n_lots: usize,
    /// Days between looks.
    pub look_days: i32,
    /// Days since the last try's rest ended.
    pub elapsed_days: i32,
    /// Whether pots are marked as fit to sell.
    pub marks_fit: bool,
}

impl Shape {
    /// The usual nursery of so many bulbs.
    pub fn of(n_bulbs: usize) -> Self {
        Self { n_bulbs, n_tries: 3, n_treatments: 2, n_lots: 2, look_days: 4, elapsed_days: 32, marks_fit: true }
    }
}

/// The numbers of one step that a nursery was invented with.
#[derive(Clone, Debug)]
pub struct StepTruth {
    /// Effects: median, effect of rest, treatments, lots, tries.
    pub effects: Vec<f64>,
    /// ln spread.
    pub ln_spread: f64,
    /// Standard deviations of treatments, lots, tries.
    pub deviations: [f64; 3],
}

/// A nursery with what really happened.
#[derive(Clone, Debug)]
pub struct Invented {
    /// What is known.
    pub data: Data,
    /// By cycle: day of each stage since its origin, infinite when blind.
    pub days: Vec<[f64; 4]>,
    /// The numbers of the four steps.
    pub steps: Vec<StepTruth>,
    /// The same of the log odds of staying blind, without an effect of rest and a spread.
    pub blind: StepTruth,
}

/// Chance for simulations, from a seed.
#[derive(Clone, Debug)]
pub struct Chance(Random);

impl Chance {
    /// A stream.
    pub fn new(seed: u64) -> Self {
        Self(Random::new(seed))
    }

    fn normal(&mut self, prior: priors::Normal) -> f64 {
        prior.mean + prior.sd * normal::draw(&mut self.0)
    }

    fn effects(&mut self, shape: &Shape, differ: [f64; 3], head: Vec<f64>) -> (Vec<f64>, [f64; 3]) {
        let deviations = differ.map(|scale| scale * normal::draw(&mut self.0).abs());
        let mut effects = head;
        let n = [shape.n_treatments, shape.n_lots, shape.n_tries];
        for (n, sd) in n.into_iter().zip(deviations) {
            effects.extend((0..n).map(|_| sd * normal::draw(&mut self.0)));
        }
        (effects, deviations)
    }

    /// Numbers from the priors.
    fn truth(&mut self, shape: &Shape) -> (Vec<StepTruth>, StepTruth) {
        let steps = priors::STEPS
            .iter()
            .map(|prior| {
                let head = vec![self.normal(prior.ln_median), self.normal(prior.longer_rest)];
                let ln_spread = self.normal(prior.ln_spread);
                let (effects, deviations) = self.effects(shape, prior.differ, head);
                StepTruth { effects, ln_spread, deviations }
            })
            .collect();
        let head = vec![self.normal(priors::BLIND)];
        let (effects, deviations) = self.effects(shape, priors::BLIND_DIFFER, head);
        let blind = StepTruth { effects, ln_spread: 0.0, deviations };
        (steps, blind)
    }

    /// A gamma number of this shape (≥ 1) and mean (Marsaglia & Tsang 2000, ACM TOMS 26:363).
    fn gamma(&mut self, shape: f64, mean: f64) -> f64 {
        let d = shape - 1.0 / 3.0;
        let c = 1.0 / (9.0 * d).sqrt();
        loop {
            let z = normal::draw(&mut self.0);
            let v = (1.0 + c * z).powi(3);
            if v > 0.0 {
                let u = self.0.unit().max(1e-300);
                if u.ln() < 0.5 * z * z + d - d * v + d * v.ln() {
                    return d * v * mean / shape;
                }
            }
        }
    }

    fn duration(&mut self, world: World, ln_median: f64, spread: f64) -> f64 {
        if world == World::Gamma {
            let square = spread * spread;
            let mean = (ln_median + square / 2.0).exp();
            return self.gamma((1.0 / square.exp_m1()).max(1.0), mean);
        }
        (ln_median + spread * normal::draw(&mut self.0)).exp()
    }
}

/// Day of an event when a spell from `from` on, `long` days, runs a quarter faster.
fn in_spell(day: f64, from: f64, long: f64) -> f64 {
    const FASTER: f64 = 1.25;
    if day <= from {
        return day;
    }
    let gained = (day - from).min(long * FASTER);
    day - gained + gained / FASTER
}

/// 300 bulbs waiting in a try under way, after four past tries of 60: what a forecast is timed on.
pub fn waiting_300() -> Data {
    let mut shape = Shape::of(1500);
    (shape.n_tries, shape.n_treatments, shape.n_lots) = (5, 4, 4);
    shape.elapsed_days = 25;
    let mut data = invent(&shape, World::Model, 5).data;
    let (mut kept, most) = ([0; 5], [60, 60, 60, 60, 300]);
    data.courses.retain(|course| {
        let attempt = course.attempt.unwrap_or(0) as usize;
        kept[attempt] += 1;
        kept[attempt] <= most[attempt]
    });
    data
}

/// Invents a nursery; the last try is under way on the day of the forecast.
pub fn invent(shape: &Shape, world: World, seed: u64) -> Invented {
    let mut chance = Chance::new(seed);
    let (steps, blind) = chance.truth(shape);
    let weather = super::futures::weather(&mut chance.0);
    let today = Date::new(2027, 3, 1).unwrap_or_else(|_| unreachable!("a day of the calendar"));
    let mut data = Data {
        today,
        treatments: (0..shape.n_treatments).map(|n| format!("treatment {n}")).collect(),
        lots: (0..shape.n_lots).map(|n| name("lo", n)).collect(),
        tries: (0..shape.n_tries).map(|n| Attempt::Run(name("ru", n))).collect(),
        courses: Vec::new(),
        unforeseen: Vec::new(),
    };
    let mut days = Vec::new();
    for n in 0..shape.n_bulbs {
        // Evenly over tries, then treatments, then lots.
        let attempt = n % shape.n_tries;
        let treatment = n / shape.n_tries % shape.n_treatments;
        let lot = chance.0.below(shape.n_lots);
        let rest_days = 56 + 28 * treatment as i32;
        let levels = [treatment, lot, attempt];
        let is_last = attempt + 1 == shape.n_tries;
        let elapsed = shape.elapsed_days;
        let mut reached = reach(&mut chance, shape, world, (&steps, &blind), levels, rest_days);
        if world == World::Model && is_last {
            let from = f64::from(elapsed);
            let later = |day: &mut f64| *day = from + weather.day(*day - from);
            reached.iter_mut().for_each(later);
        }
        if world == World::Shock && is_last {
            reached.iter_mut().for_each(|day| *day += 7.0);
        }
        if world == World::WarmSpell && is_last {
            let spell = |day: &mut f64| *day = in_spell(*day, f64::from(elapsed) - 7.0, 21.0);
            reached.iter_mut().for_each(spell);
        }
        let seen_to = if is_last { elapsed } else { 150 };
        let origin = today.add_days(-i64::from(if is_last { elapsed } else { 400 })).unwrap_or(today);
        let first_look = 1 + chance.0.below(shape.look_days as usize) as i32;
        data.courses.push(Course {
            bulb: name("b", n),
            place: Some(name("pl", lot)),
            origin,
            begins: Begins::Recorded,
            rest_days: Some(rest_days),
            treatment: Some(treatment as u32),
            lot: Some(lot as u32),
            attempt: Some(attempt as u32),
            stages: looked_at(&reached, first_look, shape, seen_to),
            height: None,
            waiting: is_last,
        });
        days.push(reached);
    }
    for (course, days) in data.courses.iter_mut().zip(&days) {
        let over = matches!(course.stages[3], Known::Between { .. });
        course.waiting &= !over && (days[3] > 0.0);
    }
    Invented { data, days, steps, blind }
}

fn name(noun: &str, n: usize) -> Id {
    Id::parse(&format!("{noun}_{n}")).unwrap_or_else(|_| unreachable!("a well-formed id"))
}

fn reach(
    chance: &mut Chance,
    shape: &Shape,
    world: World,
    (steps, blind): (&[StepTruth], &StepTruth),
    levels: [usize; 3],
    rest_days: i32,
) -> [f64; 4] {
    let at = [levels[0], shape.n_treatments + levels[1], shape.n_treatments + shape.n_lots + levels[2]];
    let longer = ((f64::from(rest_days) - priors::REST_DAYS) / 28.0).clamp(-2.0, 2.0);
    let log_odds = blind.effects[0] + at.iter().map(|k| blind.effects[1 + k]).sum::<f64>();
    let mut days = [f64::INFINITY; 4];
    if chance.0.unit() < 1.0 / (1.0 + (-log_odds).exp()) {
        return days;
    }
    let mut on = 0.0;
    for (day, step) in days.iter_mut().zip(steps) {
        let effects: f64 = at.iter().map(|k| step.effects[2 + k]).sum();
        let ln_median = step.effects[0] + longer * step.effects[1] + effects;
        on += chance.duration(world, ln_median, step.ln_spread.exp());
        *day = on;
    }
    days
}

/// What looks every few days up to a day have shown.
fn looked_at(days: &[f64; 4], first: i32, shape: &Shape, seen_to: i32) -> [Known; 4] {
    let looks: Vec<i32> = (0..).map(|n| first + n * shape.look_days).take_while(|day| *day <= seen_to).collect();
    let mut stages = [Known::NotSaid; 4];
    for (k, stage) in stages.iter_mut().enumerate() {
        let without = looks.iter().rev().find(|day| f64::from(**day) < days[k]);
        let with = looks.iter().find(|day| f64::from(**day) >= days[k]);
        *stage = match (without, with) {
            _ if k == 1 && !shape.marks_fit => Known::NotSaid,
            (without, Some(by)) => Known::Between { after: without.copied().unwrap_or(0), by: *by },
            (without, None) => Known::NotBy(without.copied().unwrap_or(0)),
        };
    }
    stages
}

/// Carries a plan out in an invented nursery: brings on bulbs of treatment and lot 0 after eight weeks of rest, so many
/// on each of some days counted from the forecast's, and counts those that show what is wanted in the window.
pub fn carry_out(
    invented: &Invented,
    shape: &Shape,
    lots: &[(i64, u32)],
    wanted: Wanted,
    window: Window,
    seed: u64,
) -> u32 {
    let mut chance = Chance::new(seed ^ 0x6361_7272_795f_6f75);
    let mut steps = invented.steps.clone();
    let mut blind = invented.blind.clone();
    // A try of its own, put in the place of the last one.
    let at = shape.n_treatments + shape.n_lots + shape.n_tries - 1;
    for step in &mut steps {
        step.effects[2 + at] = step.deviations[2] * normal::draw(&mut chance.0);
    }
    blind.effects[1 + at] = blind.deviations[2] * normal::draw(&mut chance.0);
    let weather = super::futures::weather(&mut chance.0);
    let day = |date| invented.data.today.days_until(date);
    let (from, to) = (day(window.from), day(window.to));
    let levels = [0, 0, shape.n_tries - 1];
    let mut n = 0;
    for (rest_end, n_bulbs) in lots {
        for _ in 0..*n_bulbs {
            let truth = (&steps[..], &blind);
            let days = reach(&mut chance, shape, World::Model, truth, levels, 56);
            let path = days.map(|day| first_seen(*rest_end as f64 + weather.day(day)));
            n += u32::from(super::futures::shows(&path, wanted, from, to));
        }
    }
    n
}

/// Where the truth lies among the draws of one number.
#[derive(Clone, Debug)]
pub struct Rank {
    /// Which number.
    pub what: String,
    /// How many of the draws lie below it.
    pub rank: usize,
}

/// Ranks of true numbers among `n_draws` draws of a fit, for simulation-based calibration (Talts, Betancourt, Simpson,
/// Vehtari & Gelman 2018, arXiv:1804.06788): uniform when prior, model and sampler agree.
pub fn ranks(invented: &Invented, fit: &Fit, n_draws: usize, chance: &mut Chance) -> Vec<Rank> {
    let (design, _) = Design::of(&invented.data);
    let alike = design.cells[0];
    let (duration, blind) = design.terms(alike);
    let sum = |terms: &Terms, effects: &[f64], first: usize| -> f64 {
        let each = terms.each();
        each.map(|(column, weight)| weight * effects[column - first]).sum()
    };
    let mut truths = Vec::new();
    for (k, step) in invented.steps.iter().enumerate() {
        truths.push((format!("median {k}"), sum(&duration, &step.effects, 0)));
        truths.push((format!("spread {k}"), step.ln_spread));
        truths.push((format!("tries differ {k}"), step.deviations[2].ln()));
    }
    let odds = sum(&blind, &invented.blind.effects, design.n_duration());
    truths.push(("log odds of blind".to_owned(), odds));
    truths.push(("treatment".to_owned(), invented.steps[0].effects[2]));
    let futures = Futures::of(&invented.data, fit);
    let (from, to) = (7, 20);
    let true_count = count_of_truth(invented, from, to);
    truths.push(("in flower in two weeks".to_owned(), true_count as f64));
    let step = fit.n_draws() / n_draws;
    let mut below = vec![(0, 0); truths.len()];
    let shown = |path: &&super::futures::Path| super::futures::shows(path, Wanted::InFlower, from, to);
    let counts: Vec<usize> = futures.draws().map(|paths| paths.iter().filter(shown).count()).collect();
    for n in (0..n_draws).map(|n| n * step) {
        let draw = fit.draw(n, &design);
        let (medians, log_odds) = draw.of(&design, alike);
        let mut values = Vec::new();
        for (k, median) in medians.into_iter().enumerate() {
            values.extend([median, draw.spread(k).ln(), draw.deviation(k, 2).ln()]);
        }
        values.push(log_odds);
        values.push(f64::from(draw.effects(0)[2]));
        values.push(counts.get(n).copied().unwrap_or(0) as f64);
        for ((below, value), (_, truth)) in below.iter_mut().zip(values).zip(&truths) {
            below.0 += usize::from(value < *truth);
            below.1 += usize::from(value == *truth);
        }
    }
    let ranks = truths.into_iter().zip(below);
    // Equal whole numbers are put in any order, all orders alike.
    ranks.map(|((what, _), (below, equal))| Rank { what, rank: below + chance.0.below(equal + 1) }).collect()
}

/// How many of the cycles under way are in flower on at least one of these days, counted from the forecast's day.
fn count_of_truth(invented: &Invented, from: i64, to: i64) -> usize {
    let data = &invented.data;
    let shown = data.waiting().filter(|at| {
        let origin = data.today.days_until(data.courses[*at].origin);
        super::futures::shows(&path_of(&invented.days[*at], origin), Wanted::InFlower, from, to)
    });
    shown.count()
}

fn path_of(days: &[f64; 4], origin: i64) -> super::futures::Path {
    days.map(|day| first_seen(day + origin as f64))
}

/// How a forecast's bands held.
#[derive(Clone, Debug, Default)]
pub struct Held {
    /// Bulbs whose next stage came, and how many of them within their 80 % band.
    pub dates: (usize, usize),
    /// Widths of these bands in days.
    pub widths: Vec<i64>,
    /// Whether the number in flower in the window lay in its 80 % band.
    pub count: bool,
    /// The chance that the forecast itself gave to that band of whole numbers, its ends included: 0.8 or more.
    pub count_said: f64,
    /// Chance of the truth to lie below the band's middle ½ on average: randomised place of the count, 0 to 1.
    pub count_place: f64,
}

/// Compares a forecast with what really happened; the window is from one to three weeks on.
pub fn held(invented: &Invented, fit: &Fit, chance: &mut Chance) -> Held {
    let data = &invented.data;
    let day = |n| data.today.add_days(n).unwrap_or(data.today);
    let window = Window { from: day(7), to: day(21) };
    let ask = Ask { window: Some(window), ..Ask::default() };
    let outlook = super::outlook(data, fit, &ask);
    let mut held = Held::default();
    for (at, bulb) in data.waiting().zip(&outlook.bulbs) {
        let Some(next) = bulb.coming.first() else {
            continue;
        };
        let path = path_of(&invented.days[at], data.today.days_until(data.courses[at].origin));
        let truth = path[next.stage as usize];
        if truth == super::futures::NEVER {
            continue;
        }
        let truth = day(i64::from(truth));
        held.dates.0 += 1;
        held.dates.1 += usize::from(next.dates.p10 <= truth && truth <= next.dates.p90);
        held.widths.push(next.dates.p10.days_until(next.dates.p90));
    }
    let all = &outlook.groups[0];
    if let Some(in_window) = &all.in_flower_in_window {
        let truth = count_of_truth(invented, 7, 21);
        let counted = in_window.counted;
        held.count = (counted.p10 as usize..=counted.p90 as usize).contains(&truth);
        let at_least = |k: usize| in_window.at_least.get(k).copied().unwrap_or(0.0);
        held.count_said = at_least(counted.p10 as usize) - at_least(counted.p90 as usize + 1);
        let (here, above) = (at_least(truth) - at_least(truth + 1), at_least(truth + 1));
        held.count_place = 1.0 - above - here * chance.0.unit();
    }
    held
}

/// The chi-square statistic of ranks from 0 to `n_draws` in `n_bins` bins of equal width, and its p-value.
pub fn uniformity(ranks: &[usize], n_draws: usize, n_bins: usize) -> (f64, f64) {
    let mut bins = vec![0.0; n_bins];
    for rank in ranks {
        bins[rank * n_bins / (n_draws + 1)] += 1.0;
    }
    let expected = ranks.len() as f64 / n_bins as f64;
    let statistic: f64 = bins.iter().map(|n| (n - expected).powi(2) / expected).sum();
    (statistic, special::chi_square_upper(statistic, n_bins as f64 - 1.0))
}
