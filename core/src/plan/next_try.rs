//! What to try next: which treatments to keep, drop or add, and how to share the bulbs out between the crop and the try.
//!
//! Each treatment is planned on its own best day. A treatment hardly ever best is not looked at further, nor is one never
//! tried that is not best often enough to be worth a place (probability of being best: Thompson 1933, Biometrika
//! 25:285). Those that are left are drawn over the same possible seasons and weighed by what they bring now and teach for
//! later ([`super::spend`]). What would be done anyway is in every try; the grower decides.

use serde::{Deserialize, Serialize};

use super::{
    Refusal, Wish,
    assure::{Chances, tries},
    check, day,
    spend::{
        Purse, Spending,
        beliefs::{SEASONS, Truths},
    },
};
use crate::{
    calendar::Date,
    forecast::{Ahead, Data, Fit, InDays, seasons, some_draws},
};

/// Below this chance of being the best a treatment is dropped.
const HARDLY_EVER: f64 = 0.05;
/// From this chance of being the best on, a treatment never tried is worth a place.
const WORTH_A_PLACE: f64 = 0.15;
/// Weeks of rest that are looked at when they were not tried: the ends and the middle of what is published.
const PUBLISHED_WEEKS: [u32; 4] = [8, 10, 12, 14];
/// The most treatments that are weighed, the control among them.
const MOST_GROUPS: usize = 4;
/// Draws of what may be true that treatments are weighed by.
const N_DRAWS: usize = 500;
/// Bulbs drawn in each season, to know the chance of one.
const N_BULBS: u32 = 60;
/// Draws in one step.
const DRAWS_A_STEP: usize = 50;

/// What to do with a treatment.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Advice {
    /// It is what would be done anyway: it always stays, to compare with.
    Control,
    /// Keep it.
    Keep,
    /// Drop it.
    Drop,
    /// Try it for the first time.
    Add,
    /// Not tried and not worth a place now.
    LeaveOut,
}

/// One treatment that could be in the next try.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Choice {
    /// Index into [`Data::treatments`]; nothing for a length of rest that was not tried.
    pub treatment: Option<u32>,
    /// Weeks of rest it is reckoned with.
    pub rest_weeks: u32,
    /// The day on which its rest best ends.
    pub rest_ends: Date,
    /// What to do with it.
    pub advice: Advice,
    /// The chance to reach what is wanted if all bulbs had it, 0 to 1.
    pub chance: f64,
    /// The chance of one bulb: mean over what is not known.
    pub one_bulb: f64,
    /// How unsure that is: standard deviation. What a try of it would teach is less of this.
    pub unsure: f64,
    /// The chance that it is the best of those looked at.
    pub best: f64,
    /// Bulbs for it in the next try; 0 where it is not in it.
    pub n: u32,
}

/// Advice for the next try.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct NextTry {
    /// From published ranges, not from this nursery.
    pub from_published: bool,
    /// Every treatment looked at, the control first, then by the chance of being best. Those that were weighed are the
    /// first ones, in the order of the numbers of [`Self::spending`]; their bulbs are those of the split that is advised.
    pub choices: Vec<Choice>,
    /// How to share the bulbs out.
    pub spending: Spending,
}

impl NextTry {
    /// The same with the bulbs of another split.
    #[must_use]
    pub fn with_split(mut self, at: usize) -> Self {
        if let Some(split) = self.spending.splits.get(at) {
            share_out(&mut self.choices, &split.n);
        }
        self
    }
}

/// In how many cycles a treatment was tried; one that a plan still has ahead is none.
pub(super) fn times_tried(data: &Data, treatment: u32) -> usize {
    let courses = data.courses.iter();
    let begun = courses.filter(|course| !course.begins.is_ahead());
    begun.filter(|course| course.treatment == Some(treatment)).count()
}

/// Every treatment with its weeks of rest: the middle of those it was tried with, or is planned with where it was not yet.
pub fn tried(data: &Data) -> Vec<(u32, u32)> {
    let all = 0..u32::try_from(data.treatments.len()).unwrap_or(0);
    all.map(|treatment| {
        let is_planned = times_tried(data, treatment) == 0;
        let of = data
            .courses
            .iter()
            .filter(|course| course.treatment == Some(treatment) && course.begins.is_ahead() == is_planned);
        let mut days: Vec<i32> = of.filter_map(|course| course.rest_days).collect();
        days.sort();
        let middle = days.get(days.len() / 2).copied().unwrap_or(70);
        (treatment, (middle.max(0) as u32 + 3) / 7)
    })
    .collect()
}

/// The advice for the next try under way, in steps, so that whoever runs it can stop in between.
#[derive(Clone, Debug)]
pub struct Choosing {
    wish: Wish,
    purse: Purse,
    control: Option<u32>,
    looked_at: Vec<(Option<u32>, u32)>,
    choices: Vec<Choice>,
    by_try: Vec<Vec<f64>>,
    weighing: Option<Weighing>,
}

/// The draws of those that are weighed.
#[derive(Clone, Debug)]
struct Weighing {
    asked: Vec<InDays>,
    draws: Vec<usize>,
    n_done: usize,
    truths: Truths,
}

impl Choosing {
    /// The beginning; `control` is what would be done anyway, `seasons` how many to think of, this one included.
    ///
    /// # Errors
    /// As [`super::plan`], and where there is nothing to share out ([`Purse::check`]).
    pub fn new(data: &Data, wish: &Wish, control: Option<u32>, seasons: u32) -> Result<Self, Refusal> {
        check(wish, data.today)?;
        let mut looked_at: Vec<(Option<u32>, u32)> = tried(data)
            .into_iter()
            .filter(|(treatment, _)| times_tried(data, *treatment) > 0)
            .map(|(treatment, weeks)| (Some(treatment), weeks))
            .collect();
        let known: Vec<u32> = looked_at.iter().map(|(_, weeks)| *weeks).collect();
        let new = PUBLISHED_WEEKS.into_iter().chain([wish.rest_weeks]);
        for weeks in new.filter(|weeks| !known.contains(weeks)) {
            if !looked_at.contains(&(None, weeks)) {
                looked_at.push((None, weeks));
            }
        }
        let purse = Purse { at_hand: wish.at_hand, wanted: wish.wanted, assurance: wish.assurance, seasons };
        purse.check(looked_at.len())?;
        Ok(Self {
            wish: wish.clone(),
            purse,
            control: control.filter(|treatment| times_tried(data, *treatment) > 0),
            looked_at,
            choices: Vec::new(),
            by_try: Vec::new(),
            weighing: None,
        })
    }

    /// The share done, 0 to 1.
    pub fn done(&self) -> f64 {
        let looked = self.choices.len() as f64 / self.looked_at.len().max(1) as f64;
        let drawn = self.weighing.as_ref().map_or(0.0, |own| own.n_done as f64 / own.draws.len().max(1) as f64);
        (looked + drawn) / 2.0
    }

    /// One treatment more, then some draws more; the advice when they were the last.
    pub fn step(&mut self, data: &Data, fit: &Fit) -> Option<Result<NextTry, Refusal>> {
        let Some(weighing) = &mut self.weighing else {
            if let Some((treatment, rest_weeks)) = self.looked_at.get(self.choices.len()).copied() {
                self.look_at(data, fit, treatment, rest_weeks);
            } else {
                self.begin_weighing(fit);
            }
            return None;
        };
        let left = &weighing.draws[weighing.n_done..];
        if !left.is_empty() {
            let some = &left[..left.len().min(DRAWS_A_STEP)];
            for season in seasons(data, fit, &weighing.asked, some, SEASONS, N_BULBS) {
                weighing.truths.push(season);
            }
            weighing.n_done += some.len();
            return None;
        }
        // The control comes first.
        let spending = match Spending::of(&weighing.truths, 0, self.purse) {
            Ok(spending) => spending,
            Err(why) => return Some(Err(why)),
        };
        let mut choices = std::mem::take(&mut self.choices);
        if let Some(split) = spending.splits.get(spending.advised) {
            share_out(&mut choices, &split.n);
        }
        Some(Ok(NextTry { from_published: fit.from_published, choices, spending }))
    }

    /// Puts those that are worth it first, the control before all.
    fn begin_weighing(&mut self, fit: &Fit) {
        count_best(&mut self.choices, &self.by_try);
        let own_control = self.choices.iter().position(|choice| match self.control {
            Some(control) => choice.treatment == Some(control),
            // Without a named control it is the treatment most like what the wish asks for.
            None => choice.rest_weeks == self.wish.rest_weeks,
        });
        if let Some(control) = own_control.and_then(|at| self.choices.get_mut(at)) {
            control.advice = Advice::Control;
        }
        let is_worth = |choice: &Choice| match (choice.advice, choice.treatment) {
            (Advice::Control, _) => true,
            (_, Some(_)) => choice.best >= HARDLY_EVER,
            (_, None) => choice.best >= WORTH_A_PLACE,
        };
        self.choices.sort_by(|a, b| {
            let first = |choice: &Choice| (choice.advice == Advice::Control, is_worth(choice));
            first(b).cmp(&first(a)).then(b.best.total_cmp(&a.best))
        });
        // With nothing beside the control there would be nothing to weigh.
        let n_worth = self.choices.iter().filter(|choice| is_worth(choice)).count().clamp(2, MOST_GROUPS);
        let window = self.wish.window;
        let asked: Vec<InDays> = self
            .choices
            .iter()
            .take(n_worth)
            .map(|choice| InDays {
                what: ahead(&self.wish, choice.treatment, choice.rest_weeks),
                wanted: self.wish.stage,
                from: choice.rest_ends.days_until(window.from),
                to: choice.rest_ends.days_until(window.to),
            })
            .collect();
        self.weighing = Some(Weighing {
            truths: Truths::new(asked.len(), Some(N_BULBS)),
            asked,
            draws: some_draws(fit, N_DRAWS).collect(),
            n_done: 0,
        });
    }

    fn look_at(&mut self, data: &Data, fit: &Fit, treatment: Option<u32>, rest_weeks: u32) {
        let wish = &self.wish;
        let own = Wish { treatment, rest_weeks, staggered: 1, ..wish.clone() };
        let chances = Chances::of(&tries(data, fit, ahead(wish, treatment, rest_weeks)), data.today, &own);
        let rest_ends = chances.best(&own, Some(super::earliest(&own)(data.today)));
        let of_one = chances.by_try(rest_ends);
        let n = of_one.len().max(1) as f64;
        let one_bulb = of_one.iter().sum::<f64>() / n;
        let variance = of_one.iter().map(|p| (p - one_bulb).powi(2)).sum::<f64>() / n;
        self.choices.push(Choice {
            treatment,
            rest_weeks,
            rest_ends: day(data.today, rest_ends),
            advice: Advice::LeaveOut,
            chance: chances.assurance(rest_ends, wish.at_hand, wish.wanted),
            one_bulb,
            unsure: variance.sqrt(),
            best: 0.0,
            n: 0,
        });
        self.by_try.push(of_one);
    }
}

fn ahead(wish: &Wish, treatment: Option<u32>, rest_weeks: u32) -> Ahead {
    Ahead { treatment, lot: wish.lot, rest_days: rest_weeks as i32 * 7 }
}

/// Which treatments to keep, drop or add for a wish, and how to share the bulbs out; `control` is what would be done
/// anyway, `seasons` how many to think of.
///
/// # Errors
/// As [`Choosing::new`].
pub fn next_try(data: &Data, fit: &Fit, wish: &Wish, control: Option<u32>, seasons: u32) -> Result<NextTry, Refusal> {
    let mut choosing = Choosing::new(data, wish, control, seasons)?;
    loop {
        if let Some(next) = choosing.step(data, fit) {
            return next;
        }
    }
}

/// In how many of the draws each is the best; draws with several best are shared out.
fn count_best(choices: &mut [Choice], by_try: &[Vec<f64>]) {
    let n = by_try.iter().map(Vec::len).min().unwrap_or(0);
    for draw in 0..n {
        let most = by_try.iter().map(|own| own[draw]).fold(0.0, f64::max);
        let is_best = |own: &Vec<f64>| own[draw] >= most - 1e-9;
        let shared = by_try.iter().filter(|own| is_best(own)).count();
        for (choice, own) in choices.iter_mut().zip(by_try) {
            if is_best(own) {
                choice.best += 1.0 / (shared * n) as f64;
            }
        }
    }
}

/// Gives those that were weighed their bulbs, and says what to do with each.
fn share_out(choices: &mut [Choice], n: &[u32]) {
    for (at, choice) in choices.iter_mut().enumerate() {
        choice.n = n.get(at).copied().unwrap_or(0);
        choice.advice = match (choice.advice, choice.treatment, choice.n) {
            (Advice::Control, ..) => Advice::Control,
            (_, Some(_), 0) => Advice::Drop,
            (_, Some(_), _) => Advice::Keep,
            (_, None, 0) => Advice::LeaveOut,
            (_, None, _) => Advice::Add,
        };
    }
}
