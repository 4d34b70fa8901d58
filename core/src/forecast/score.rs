//! How earlier forecasts did: what was said of a due window against what the looks since then show.
//!
//! Every due window whose days are over is scored once, by one forecast: the last one said at least
//! [`WEEKS_BEFORE`] weeks before its first day, or else the first one said before it. So a pot counts once a window, and
//! nobody chooses the forecast that did best. Measures: the Brier score with two references, calibration by tenths of
//! the chance, and coverage of the 80 % bands (formulas in [`crate::evidence::forecast_scores`]).
//!
//! **Not yet is not no.** A pot that was sold or went missing before it was decided, or was not looked at in time, is
//! left out of chances and stands beside them ([`Chances::n_undecided`]); a pot that died did not come. A count is within
//! its band when it is so whatever the undecided did. A date is known only between two looks: it is in its band when
//! all of that stretch is, outside when none of it is, and otherwise can't be said ([`DatesHeld::n_straddle`]), so that
//! the share lies between two bounds. What was said of a cycle still ahead, as a plan had it, is judged in the cycle
//! that then began; where none did by the window's end though it was to, nothing was tried and it is left out. Bands
//! are of dates *if the stage comes*; those that did not come are left out and counted apart.

use std::collections::{BTreeMap, BTreeSet};

use serde::Serialize;

use super::{
    Coming, Wanted, Window,
    log::{DATED, SaidOf, bulbs_of, forecast_of, kept, said_of, window_of},
};
use crate::{
    calendar::Date,
    evidence::forecast_scores::Scored,
    ledger::{
        Ledger,
        body::{DiedAs, DueWindow, Goal, GoalStage, Rule, Shown, Test, Unit},
        entry::Entry,
        id::{Id, Noun},
    },
    nursery::{Bulb, State, bulb::Fate},
    trial::outcome::{Outcome, judge},
};

/// A forecast this many weeks before a window still leaves time to act on it, and is not yet looking at open flowers.
pub const WEEKS_BEFORE: i64 = 2;

/// A due window that is over, and the forecast of it that is scored.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct WindowScore {
    /// The tries whose window it was; none where it was only that of a saved plan.
    pub runs: Vec<Id>,
    /// Its days.
    pub window: Window,
    /// What was counted.
    pub wanted: Wanted,
    /// The day the forecast was said.
    pub said_on: Date,
    /// Bulbs it spoke of.
    pub n_bulbs: usize,
    /// The band: in 8 of 10 cases from this …
    pub p10: i64,
    /// … to this many.
    pub p90: i64,
    /// How many showed it for certain.
    pub n_came: i64,
    /// Of how many it can't be said.
    pub n_undecided: i64,
    /// Whether the number lay in the band; nothing while the undecided could make it either.
    pub held: Option<bool>,
}

/// The pots that were given about the same chance.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Tenth {
    /// The chance in tenths, as the screen words it: 0 is less than 1 in 20, 10 is more than 19 in 20.
    pub tenths: u8,
    /// Pots that were given it and are decided.
    pub n: usize,
    /// How many of them came.
    pub came: usize,
}

/// How the chances of pots turned out.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Chances {
    /// Pots that are decided.
    pub n: usize,
    /// Of these, how many came.
    pub n_came: usize,
    /// Pots left out because it can't be said.
    pub n_undecided: usize,
    /// Brier score; 0 is best.
    pub brier: f64,
    /// That of always saying the share that came in the end, which nobody knew before.
    pub brier_of_share: f64,
    /// By tenths of the chance, the smallest first; only those that were said.
    pub tenths: Vec<Tenth>,
}

/// That of always saying 5 in 10.
pub const BRIER_OF_EVEN: f64 = 0.25;

/// How the 80 % bands of dates turned out.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
pub struct DatesHeld {
    /// Dates that came within their band.
    pub n_within: usize,
    /// Dates that came before or after it.
    pub n_outside: usize,
    /// Dates that came between two looks of which the band holds only a part, or contradict each other.
    pub n_straddle: usize,
    /// Stages that did not come, or not yet, though their band is over: left out.
    pub n_not_come: usize,
}

/// How earlier forecasts did.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Scores {
    /// Window by window, the last one first.
    pub windows: Vec<WindowScore>,
    /// The chances; nothing while no pot is decided.
    pub chances: Option<Chances>,
    /// The dates.
    pub dates: DatesHeld,
}

impl Scores {
    /// Windows whose number lay in its band, of those where that can be said.
    pub fn counts_held(&self) -> (usize, usize) {
        let said = self.windows.iter().filter_map(|one| one.held);
        said.fold((0, 0), |(held, n), one| (held + usize::from(one), n + 1))
    }
}

/// The chance in tenths as a screen words it.
pub fn tenths(permille: i64) -> u8 {
    match permille {
        ..50 => 0,
        951.. => 10,
        // Half a tenth goes up, as in the words for chances.
        _ => ((permille + 50) / 100).clamp(1, 9) as u8,
    }
}

/// One forecast of a window: the entries that one device made of the same records.
#[derive(Default)]
struct Told<'a> {
    parts: Vec<(&'a Entry, &'a Shown)>,
    runs: BTreeSet<Id>,
}

/// Scores every forecast that was kept and whose window is over.
pub fn scores(ledger: &Ledger, state: &State, today: Date) -> Scores {
    let all = state.runs.keys().chain(state.forcings.keys());
    scores_of(ledger, state, all, today)
}

/// The same for the windows of some tries and saved plans only.
pub fn scores_of<'a>(
    ledger: &'a Ledger,
    state: &State,
    subjects: impl IntoIterator<Item = &'a Id>,
    today: Date,
) -> Scores {
    let mut scoring =
        Scoring { state, today, said: Vec::new(), n_undecided: 0, tenths: BTreeMap::new(), scores: Scores::default() };
    for ((window, wanted), told) in told_before(ledger, subjects, today) {
        scoring.window(window, wanted, &told);
    }
    scoring.finish()
}

type Chosen<'a> = ((Window, Wanted), (Date, Told<'a>));

/// The forecast of each window over that is scored, the last window first.
fn told_before<'a>(ledger: &'a Ledger, subjects: impl IntoIterator<Item = &'a Id>, today: Date) -> Vec<Chosen<'a>> {
    // By window, then by day, device and digest: the same entries are chosen in whatever order they arrived.
    type Said<'a> = BTreeMap<(Date, Id, &'a str), Told<'a>>;
    let mut all: BTreeMap<(Date, Date, Wanted), Said<'a>> = BTreeMap::new();
    for subject in subjects {
        for (entry, shown) in kept(ledger, [subject]) {
            let said_on = entry.envelope.happened.date();
            let (Some(wanted), Some(window)) = (forecast_of(shown), window_of(shown, said_on)) else {
                continue;
            };
            if window.to >= today || said_on >= window.from {
                continue;
            }
            let said = all.entry((window.to, window.from, wanted)).or_default();
            let told = said.entry((said_on, entry.envelope.device, shown.digest.as_str())).or_default();
            told.runs.extend(Some(*subject).filter(|id| id.is(Noun::Run)));
            if !told.parts.iter().any(|(known, _)| known.id == entry.id) {
                told.parts.push((entry, shown));
            }
        }
    }
    let mut chosen = Vec::new();
    for ((to, from, wanted), said) in all.into_iter().rev() {
        let in_time = |day: Date| day.days_until(from) >= 7 * WEEKS_BEFORE;
        // The last day that leaves time enough, and the first of what was said on it; else the first day of all.
        let day = said.keys().map(|(day, _, _)| *day);
        let day = day.clone().filter(|day| in_time(*day)).max().or(day.min());
        let told = said.into_iter().find(|((on, _, _), _)| Some(*on) == day);
        if let Some(((on, _, _), told)) = told {
            chosen.push(((Window { from, to }, wanted), (on, told)));
        }
    }
    chosen
}

struct Scoring<'a> {
    state: &'a State,
    today: Date,
    said: Vec<(f64, bool)>,
    n_undecided: usize,
    tenths: BTreeMap<u8, Tenth>,
    scores: Scores,
}

impl Scoring<'_> {
    fn window(&mut self, window: Window, wanted: Wanted, (said_on, told): &(Date, Told<'_>)) {
        let mut score = WindowScore {
            runs: told.runs.iter().copied().collect(),
            window,
            wanted,
            said_on: *said_on,
            n_bulbs: 0,
            p10: 0,
            p90: 0,
            n_came: 0,
            n_undecided: 0,
            held: None,
        };
        let mut n_said = 0;
        for (entry, shown) in &told.parts {
            let number = |name: &str| shown.numbers.get(name).copied();
            if let (Some(n), Some(p10), Some(p90)) = (number("bulbs"), number("p10"), number("p90")) {
                (n_said, score.p10, score.p90) = (n, p10, p90);
            }
            for (n, id) in bulbs_of(entry).enumerate() {
                let (Some(chance), Some(bulb)) = (number(&n.to_string()), self.state.bulb(&id)) else {
                    continue;
                };
                score.n_bulbs += 1;
                let of = said_of(shown, n, bulb, *said_on, window.to);
                let came = match of {
                    SaidOf::Cycle(day) => came(self.state, bulb, day, wanted, window, self.today),
                    SaidOf::NeverBegun(planned) => never_begun(bulb, planned, window),
                };
                score.n_came += i64::from(came == Some(true));
                score.n_undecided += i64::from(came.is_none());
                self.chance(chance.clamp(0, 1000), came);
                for (stage, name) in DATED {
                    let day = |at: &str| {
                        let days = number(&format!("{n}.{name}.{at}"))?;
                        said_on.add_days(days).ok()
                    };
                    if let (Some(p10), Some(p90)) = (day("p10"), day("p90")) {
                        self.date(bulb, of, stage, (p10, p90));
                    }
                }
            }
        }
        // A part that has not arrived yet is of bulbs that nothing is known of.
        score.n_undecided += (n_said - score.n_bulbs as i64).max(0);
        score.held = held(&score);
        self.scores.windows.push(score);
    }

    fn chance(&mut self, permille: i64, came: Option<bool>) {
        let Some(came) = came else {
            self.n_undecided += 1;
            return;
        };
        self.said.push((permille as f64 / 1000.0, came));
        let tenths = tenths(permille);
        let tenth = self.tenths.entry(tenths).or_default();
        tenth.tenths = tenths;
        tenth.n += 1;
        tenth.came += usize::from(came);
    }

    fn date(&mut self, bulb: &Bulb, of: SaidOf, stage: Coming, (p10, p90): (Date, Date)) {
        if p90 >= self.today {
            return;
        }
        let dates = &mut self.scores.dates;
        let SaidOf::Cycle(of) = of else {
            dates.n_not_come += 1;
            return;
        };
        let cycle = bulb.cycle_on(of);
        let reach = cycle.reach(goal(stage));
        let seen_without = |day: Date| reach.without.is_some_and(|without| without >= day);
        match reach.with {
            _ if reach.contradicted => dates.n_straddle += 1,
            // The stage came on a day after the last look without it, up to the first look with it.
            Some(with) if with < p10 || seen_without(p90) => dates.n_outside += 1,
            Some(with) if with <= p90 && p10.add_days(-1).is_ok_and(seen_without) => {
                dates.n_within += 1;
            }
            Some(_) => dates.n_straddle += 1,
            // In flower and never marked as fit to sell: nobody wrote down when it was.
            None if stage == Coming::FitToSell && cycle.reach(GoalStage::FirstFlower).with.is_some() => {}
            None if reach.unproved.is_none() && seen_without(p90) => dates.n_not_come += 1,
            None => dates.n_straddle += 1,
        }
    }

    fn finish(mut self) -> Scores {
        let n = self.said.len();
        self.scores.chances = Scored::new(self.said).ok().map(|scored| Chances {
            n,
            n_came: (scored.came() * n as f64).round() as usize,
            n_undecided: self.n_undecided,
            brier: scored.brier(),
            brier_of_share: scored.brier_of_base_rate(),
            tenths: self.tenths.into_values().collect(),
        });
        self.scores
    }
}

fn held(score: &WindowScore) -> Option<bool> {
    let (least, most) = (score.n_came, score.n_came + score.n_undecided);
    if score.p10 <= least && most <= score.p90 {
        Some(true)
    } else if most < score.p10 || least > score.p90 {
        Some(false)
    } else {
        None
    }
}

fn goal(stage: Coming) -> GoalStage {
    match stage {
        Coming::ScapeInSight => GoalStage::ScapeInSight,
        Coming::FitToSell => GoalStage::FitToSell,
        Coming::FirstFlower | Coming::Over => GoalStage::FirstFlower,
    }
}

/// What a forecast of a cycle came to that had not begun by the window's end: one that was not to begin by then did not
/// come, nor did a bulb that died; of any other nothing was tried that could be compared.
fn never_begun(bulb: &Bulb, planned: Date, window: Window) -> Option<bool> {
    let died = !bulb.end_is_disputed() && matches!(bulb.fate, Fate::Died { on, .. } if on <= window.to);
    (died || planned > window.to).then_some(false)
}

/// Whether a bulb showed what was wanted on at least one day of the window, in the cycle of a day; nothing where that can't be said.
pub(crate) fn came(state: &State, bulb: &Bulb, of: Date, wanted: Wanted, window: Window, today: Date) -> Option<bool> {
    let due = DueWindow { name: String::new(), from: window.from, to: window.to };
    let outcome = |stage| {
        let rule = Rule {
            goal: Goal::InWindow,
            stage,
            unit: Unit::Bulb,
            died: DiedAs::NotInTime,
            test: Test::Boschloo,
            family: None,
        };
        judge(bulb, of, &rule, &due, today).outcome
    };
    let decided = |outcome| match outcome {
        Outcome::InTime => Some(true),
        Outcome::TooEarly | Outcome::Late | Outcome::NotReached | Outcome::Died(_) => Some(false),
        Outcome::Waiting | Outcome::CantSay(_) | Outcome::Missing | Outcome::Left(_) => None,
    };
    let in_flower = decided(outcome(GoalStage::FirstFlower));
    if wanted == Wanted::InFlower || in_flower == Some(true) {
        return in_flower;
    }
    // Where nobody marks pots as fit to sell, a missing mark says nothing.
    decided(outcome(GoalStage::FitToSell)).filter(|came| *came || super::gather::marks_fit(state))
}

#[cfg(test)]
mod tests;
