//! Kaplan–Meier: the curve of bulbs that have not reached the stage yet, where the days are exact.
//!
//! S(t) = Π(1 − d/n) over the days with an event; events come before censorings of the same day. Greenwood's variance:
//! S² Σ d/(n(n−d)). Limits plain (S ± z·se), on log S, or on log(−log S): the last stays within 0 to 1 and behaves with
//! few bulbs, so it is the one shown. There is none where S is 0. Quantiles: the first day with S ≤ 1 − p, or the
//! middle of the flat part where S is exactly 1 − p; limits by inverting the band. Restricted mean: the area under S up
//! to a common day τ, with its Greenwood error. Kaplan & Meier 1958, Journal of the American Statistical Association
//! 53:457; Greenwood 1926; conventions as in Klein & Moeschberger 2003, *Survival Analysis*, ch. 4.
//! Only for looks much closer than the differences of interest; otherwise use [`super::turnbull`].

use super::{Interval, Level, NoAnswer, Reason, Result};

/// One bulb: its last day, and whether it reached the stage then (or was still without it).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Followed {
    /// Days, not negative.
    pub time: f64,
    /// Whether the stage was reached at `time`.
    pub event: bool,
}

/// The curve at one day with an event.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// The day.
    pub time: f64,
    /// Bulbs still without the stage just before.
    pub at_risk: u32,
    /// Bulbs that reached it on this day.
    pub events: u32,
    /// The share still without it after.
    pub survival: f64,
    /// Σ d/(n(n−d)) up to this day.
    hazard_variance: f64,
}

/// The scale on which limits are made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scale {
    /// S itself.
    Plain,
    /// log S.
    Log,
    /// log(−log S).
    LogLog,
}

/// A whole curve.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    steps: Vec<Step>,
    last: f64,
}

/// Shares this close are the same; a quantile at exactly S = 1 − p lies on a flat part.
const SAME: f64 = 1.5e-8;

impl Curve {
    /// The curve of some bulbs.
    ///
    /// # Errors
    /// When there is no bulb, or a day is negative or no number.
    pub fn new(bulbs: &[Followed]) -> Result<Self> {
        if bulbs.is_empty() {
            return Err(NoAnswer(Reason::NoBulbs));
        }
        if bulbs.iter().any(|bulb| !bulb.time.is_finite() || bulb.time < 0.0) {
            return Err(NoAnswer(Reason::NotADay));
        }
        let mut sorted = bulbs.to_vec();
        sorted.sort_by(|a, b| a.time.total_cmp(&b.time));
        let (mut steps, mut survival, mut hazard_variance) = (Vec::new(), 1.0, 0.0);
        let mut start = 0;
        while start < sorted.len() {
            let time = sorted[start].time;
            let same = sorted[start..].iter().take_while(|bulb| bulb.time == time).count();
            let events = sorted[start..start + same].iter().filter(|bulb| bulb.event).count();
            let at_risk = sorted.len() - start;
            if events > 0 {
                let (d, n) = (events as f64, at_risk as f64);
                survival *= (n - d) / n;
                hazard_variance += d / (n * (n - d));
                steps.push(Step { time, at_risk: at_risk as u32, events: events as u32, survival, hazard_variance });
            }
            start += same;
        }
        let last = sorted[sorted.len() - 1].time;
        Ok(Self { steps, last })
    }

    /// The days with an event, in order.
    pub fn steps(&self) -> &[Step] {
        &self.steps
    }

    /// The first day by which a share `p` has reached the stage.
    ///
    /// # Errors
    /// When so many have not by the last day.
    pub fn quantile(&self, p: f64) -> Result<f64> {
        let reached = self.steps.iter().map(|step| Some(1.0 - step.survival));
        self.crossing(reached, p)
    }

    /// The limits of that day from the curve's band; each is refused where the band does not come down that far.
    pub fn quantile_limits(&self, p: f64, scale: Scale, level: Level) -> (Result<f64>, Result<f64>) {
        let bands: Vec<Option<Interval>> = self.steps.iter().map(|step| step.limits(scale, level).ok()).collect();
        let end = |of: fn(Interval) -> f64| self.crossing(bands.iter().map(|band| band.map(|band| 1.0 - of(band))), p);
        (end(|band| band.lower), end(|band| band.upper))
    }

    /// Where a rising step function first reaches p; where it stays at exactly p, the middle of that flat part.
    fn crossing(&self, reached: impl Iterator<Item = Option<f64>>, p: f64) -> Result<f64> {
        let mut flat = None;
        let mut ends_undefined = false;
        for (step, reached) in self.steps.iter().zip(reached) {
            ends_undefined = reached.is_none();
            let Some(reached) = reached else { continue };
            if reached > p + SAME {
                return Ok(flat.map_or(step.time, |start| (start + step.time) / 2.0));
            }
            if reached > p - SAME && flat.is_none() {
                flat = Some(step.time);
            }
        }
        match flat {
            Some(start) if !ends_undefined => Ok((start + self.last) / 2.0),
            _ => Err(NoAnswer(Reason::NotReachedYet)),
        }
    }

    /// The mean number of days without the stage up to day `tau`, and its standard error.
    ///
    /// # Errors
    /// When `tau` is negative or no number.
    pub fn restricted_mean(&self, tau: f64) -> Result<(f64, f64)> {
        if !tau.is_finite() || tau < 0.0 {
            return Err(NoAnswer(Reason::NotADay));
        }
        let (mut after, mut variance, mut right) = (0.0, 0.0, tau);
        for (index, step) in self.steps.iter().enumerate().rev() {
            if step.time >= tau {
                continue;
            }
            after += step.survival * (right - step.time);
            right = step.time;
            let before = index.checked_sub(1).map_or(0.0, |index| self.steps[index].hazard_variance);
            if step.survival > 0.0 {
                variance += after * after * (step.hazard_variance - before);
            }
        }
        Ok((after + right, variance.sqrt()))
    }
}

impl Step {
    /// Greenwood's standard error.
    ///
    /// # Errors
    /// When no bulb is left.
    pub fn standard_error(&self) -> Result<f64> {
        if self.survival <= 0.0 {
            return Err(NoAnswer(Reason::NoneLeft));
        }
        Ok(self.survival * self.hazard_variance.sqrt())
    }

    /// The limits of the share at this day.
    ///
    /// # Errors
    /// When no bulb is left.
    pub fn limits(&self, scale: Scale, level: Level) -> Result<Interval> {
        let spread = level.z() * self.standard_error()? / self.survival;
        let log = self.survival.ln();
        Ok(match scale {
            Scale::Plain => Interval::new(self.survival * (1.0 - spread), self.survival * (1.0 + spread)),
            Scale::Log => Interval::new((log - spread).exp(), (log + spread).exp()),
            Scale::LogLog => {
                let factor = (spread / log).abs().exp();
                Interval::new((log * factor).exp(), (log / factor).exp())
            }
        }
        .within(0.0, 1.0))
    }
}
