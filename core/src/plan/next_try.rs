//! What to try next: which treatments to keep, drop or add, by the chance to reach K and by what they would teach.
//!
//! Each treatment is planned on its own best day. Over the same draws of the fit its chance for one bulb is compared
//! with the others': how often it is the best, and how unsure that is. A treatment hardly ever best is dropped; one never
//! tried is added while it is best often enough to be worth a place. What would be done anyway always stays. This is
//! the reasoning of probability of being best (Thompson 1933, Biometrika 25:285); the grower decides.

use serde::{Deserialize, Serialize};

use super::{
    Refusal, Wish,
    assure::{Chances, tries},
    check,
};
use crate::forecast::{Ahead, Data, Fit};

/// Below this chance of being the best a treatment is dropped.
const HARDLY_EVER: f64 = 0.05;
/// From this chance of being the best on, a treatment never tried is worth a place.
const WORTH_A_PLACE: f64 = 0.15;
/// Weeks of rest that are looked at when they were not tried: the ends and the middle of what is published.
const PUBLISHED_WEEKS: [u32; 4] = [8, 10, 12, 14];
/// The most groups worth having with a nursery's number of bulbs.
const MOST_GROUPS: u32 = 4;
/// Groups of fewer bulbs than this tell next to nothing.
const LEAST_A_GROUP: u32 = 6;

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
    /// Every treatment looked at, the control first, then by the chance of being best.
    pub choices: Vec<Choice>,
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

/// The advice for the next try under way: one treatment a step, so that whoever runs it can stop in between.
#[derive(Clone, Debug)]
pub struct Choosing {
    wish: Wish,
    control: Option<u32>,
    looked_at: Vec<(Option<u32>, u32)>,
    choices: Vec<Choice>,
    by_try: Vec<Vec<f64>>,
}

impl Choosing {
    /// The beginning; `control` is what would be done anyway.
    ///
    /// # Errors
    /// As [`super::plan`].
    pub fn new(data: &Data, wish: &Wish, control: Option<u32>) -> Result<Self, Refusal> {
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
        Ok(Self {
            wish: wish.clone(),
            control: control.filter(|treatment| times_tried(data, *treatment) > 0),
            looked_at,
            choices: Vec::new(),
            by_try: Vec::new(),
        })
    }

    /// The share done, 0 to 1.
    pub fn done(&self) -> f64 {
        self.choices.len() as f64 / self.looked_at.len().max(1) as f64
    }

    /// One treatment more; the advice when it was the last.
    pub fn step(&mut self, data: &Data, fit: &Fit) -> Option<NextTry> {
        if let Some((treatment, rest_weeks)) = self.looked_at.get(self.choices.len()).copied() {
            self.look_at(data, fit, treatment, rest_weeks);
            return None;
        }
        let mut choices = std::mem::take(&mut self.choices);
        count_best(&mut choices, &self.by_try);
        advise(&mut choices, &self.wish, self.control);
        Some(NextTry { from_published: fit.from_published, choices })
    }

    fn look_at(&mut self, data: &Data, fit: &Fit, treatment: Option<u32>, rest_weeks: u32) {
        let wish = &self.wish;
        let own = Wish { treatment, rest_weeks, staggered: 1, ..wish.clone() };
        let what = Ahead { treatment, lot: wish.lot, rest_days: rest_weeks as i32 * 7 };
        let chances = Chances::of(&tries(data, fit, what), data.today, &own);
        let day = chances.best(&own, Some(super::earliest(&own)(data.today)));
        let of_one = chances.by_try(day);
        let n = of_one.len().max(1) as f64;
        let one_bulb = of_one.iter().sum::<f64>() / n;
        let variance = of_one.iter().map(|p| (p - one_bulb).powi(2)).sum::<f64>() / n;
        self.choices.push(Choice {
            treatment,
            rest_weeks,
            advice: Advice::LeaveOut,
            chance: chances.assurance(day, wish.at_hand, wish.wanted),
            one_bulb,
            unsure: variance.sqrt(),
            best: 0.0,
            n: 0,
        });
        self.by_try.push(of_one);
    }
}

/// Which treatments to keep, drop or add for a wish; `control` is what would be done anyway.
///
/// # Errors
/// As [`super::plan`].
pub fn next_try(data: &Data, fit: &Fit, wish: &Wish, control: Option<u32>) -> Result<NextTry, Refusal> {
    let mut choosing = Choosing::new(data, wish, control)?;
    loop {
        if let Some(next) = choosing.step(data, fit) {
            return Ok(next);
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

fn advise(choices: &mut [Choice], wish: &Wish, control: Option<u32>) {
    // Without a named control it is the treatment most like what the wish asks for.
    let own_control = choices.iter().position(|choice| match control {
        Some(control) => choice.treatment == Some(control),
        None => choice.rest_weeks == wish.rest_weeks,
    });
    let is_control = |at: usize| own_control == Some(at);
    for (at, choice) in choices.iter_mut().enumerate() {
        choice.advice = match choice.treatment {
            _ if is_control(at) => Advice::Control,
            Some(_) if choice.best < HARDLY_EVER => Advice::Drop,
            Some(_) => Advice::Keep,
            None if choice.best >= WORTH_A_PLACE => Advice::Add,
            None => Advice::LeaveOut,
        };
    }
    choices.sort_by(|a, b| {
        let first = |choice: &Choice| choice.advice == Advice::Control;
        first(b).cmp(&first(a)).then(b.best.total_cmp(&a.best))
    });
    let most = (wish.at_hand / LEAST_A_GROUP).clamp(2, MOST_GROUPS);
    let mut n_groups = 0;
    for choice in choices.iter_mut() {
        let inside = matches!(choice.advice, Advice::Control | Advice::Keep | Advice::Add);
        if inside && n_groups == most {
            choice.advice = if choice.treatment.is_some() { Advice::Drop } else { Advice::LeaveOut };
        } else if inside {
            n_groups += 1;
        }
    }
    let mut left = wish.at_hand;
    let mut groups_left = n_groups;
    for choice in choices.iter_mut() {
        if matches!(choice.advice, Advice::Control | Advice::Keep | Advice::Add) {
            choice.n = left.div_ceil(groups_left.max(1));
            left -= choice.n;
            groups_left -= 1;
        }
    }
}
