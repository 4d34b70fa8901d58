//! Which days a forecast is asked about: the due windows of running tries and saved plans, or days that were chosen.

use std::collections::BTreeSet;

use super::{Ask, MOST_DAYS, Outlook, Wanted, Window};
use crate::{
    calendar::Date,
    error::{Error, Field, Result},
    ledger::{
        body::{Forcing, GoalStage},
        id::Id,
    },
    nursery::State,
    refusal::ForecastRefusal,
};

/// Days that are counted by after a due window's last day, so that one sees what a later day would bring.
const DAYS_AFTER: i64 = 21;
/// The days asked about where no due window is set.
const WITHOUT_WINDOW_DAYS: i64 = 28;

/// A due window that can be asked about.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Offered {
    /// The running tries whose window it is.
    pub runs: Vec<Id>,
    /// The saved plans whose window it is.
    pub plans: Vec<Id>,
    /// What it is for; may be empty.
    pub name: String,
    /// Its days.
    pub window: Window,
    /// What they want by then.
    pub wanted: Wanted,
}

impl Offered {
    /// The tries and plans whose window it is.
    pub fn subjects(&self) -> impl Iterator<Item = &Id> {
        self.runs.iter().chain(&self.plans)
    }

    /// Its bulbs: those of its tries and of its plans.
    pub fn bulbs(&self, state: &State) -> BTreeSet<Id> {
        let units = self.runs.iter().filter_map(|run| state.runs.get(run)).flat_map(|run| {
            let start = run.start();
            let of = move |unit: &Id| start.map_or_else(Vec::new, |start| state.bulbs_of_unit_on(*unit, start));
            run.units().iter().flat_map(of)
        });
        let plans = self.plans.iter().filter_map(|plan| state.forcings.get(plan)?.shown());
        let planned = plans.flat_map(|plan| &plan.batches).flat_map(|batch| &batch.bulbs);
        let planned = planned.filter_map(|bulb| state.bulb(bulb));
        units.chain(planned).map(|bulb| bulb.id).collect()
    }

    /// What to ask for its days.
    ///
    /// # Errors
    /// As of [`ask`].
    pub fn ask(&self, state: &State, today: Date) -> Result<Ask> {
        Ok(Ask { bulbs: self.bulbs(state), ..ask(self.window, today)? })
    }

    /// How many bulbs of its saved plans a forecast says nothing of: they are over, or show a scape and nothing says since
    /// when they are under way.
    pub fn n_not_counted(&self, state: &State, outlook: &Outlook) -> usize {
        let is_planned = |bulb: Id| {
            let mut plans = state.forcings_of(bulb);
            plans.any(|(plan, _)| self.plans.contains(&plan))
        };
        let unforeseen = outlook.unforeseen.iter();
        unforeseen.filter(|(bulb, _)| is_planned(*bulb)).count()
    }
}

/// The due windows of running tries and of saved plans that are not over, the next one first. Equal ones of several are
/// one.
pub fn offered(state: &State, today: Date) -> Vec<Offered> {
    let mut all: Vec<Offered> = Vec::new();
    for (id, run) in state.runs.iter().filter(|(_, run)| run.is_running()) {
        let Some(due) = run.window.settled().filter(|due| due.to >= today) else {
            continue;
        };
        let window = Window { from: due.from, to: due.to };
        let goal = run.rule.settled().map(|rule| rule.stage);
        // Days without a name of their own are those of the trial.
        let trial = run.body.shown().filter(|_| due.name.is_empty()).map(|body| state.name_of(body.trial));
        of_days(&mut all, trial.unwrap_or(&due.name), window, goal).runs.push(*id);
    }
    for (id, plan) in &state.forcings {
        let meant = |plan: &&Forcing| !plan.given_up && plan.to >= today;
        let Some(plan) = plan.shown().filter(meant) else {
            continue;
        };
        let window = Window { from: plan.from, to: plan.to };
        let offered = of_days(&mut all, &plan.name, window, Some(plan.stage));
        offered.plans.push(*id);
    }
    all.sort_by_key(|one| (one.window.to, one.window.from, one.subjects().next().copied()));
    all
}

/// The next due window whose days are near enough to be forecast, with what to ask for it.
pub fn next_asked(state: &State, today: Date) -> Option<(Offered, Ask)> {
    offered(state, today).into_iter().find_map(|one| {
        let ask = one.ask(state, today).ok()?;
        Some((one, ask))
    })
}

/// What is offered of these days under this name: the one that is there, or a new one.
fn of_days<'a>(all: &'a mut Vec<Offered>, name: &str, window: Window, goal: Option<GoalStage>) -> &'a mut Offered {
    let known = all.iter().position(|known| known.window == window && known.name == name);
    let at = known.unwrap_or_else(|| {
        all.push(Offered {
            runs: Vec::new(),
            plans: Vec::new(),
            name: name.to_owned(),
            window,
            wanted: match goal {
                Some(GoalStage::FirstFlower) => Wanted::InFlower,
                _ => Wanted::FitToSell,
            },
        });
        all.len() - 1
    });
    &mut all[at]
}

/// The coming four weeks.
pub fn next_weeks(today: Date) -> Window {
    Window { from: today, to: today.add_days(WITHOUT_WINDOW_DAYS - 1).unwrap_or(today) }
}

/// What to ask for a window: its days, and every day from today to some weeks after it.
///
/// # Errors
/// A sentence when the days are the wrong way round, over already, or too far off to be counted by day.
pub fn ask(window: Window, today: Date) -> Result<Ask> {
    if window.from > window.to {
        return Err(Error::new(ForecastRefusal::Backwards).at(Field::To));
    }
    if window.to < today {
        return Err(Error::new(ForecastRefusal::Over).at(Field::To));
    }
    if today.days_until(window.to) >= MOST_DAYS as i64 {
        return Err(Error::new(ForecastRefusal::TooFar).at(Field::To));
    }
    let furthest = today.add_days(MOST_DAYS as i64 - 1)?;
    let days = Window { from: today, to: window.to.add_days(DAYS_AFTER)?.min(furthest) };
    Ok(Ask { window: Some(window), days: Some(days), bulbs: BTreeSet::new() })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calendar::Happened;
    use crate::ledger::{body::Body, entry::Draft};
    use crate::testing::{day as world_day, forcing, id};

    fn day(n: i64) -> Date {
        Date::new(2026, 11, 25).unwrap().add_days(n).unwrap()
    }

    #[test]
    fn the_demo_offers_the_windows_of_its_running_tries_once_each() {
        let today = day(0);
        let demo = crate::demo::generate(crate::demo::SCRIPT, today).unwrap();
        let state = State::fold(&demo.to_ledger());
        let all = offered(&state, today);
        assert!(!all.is_empty());
        for pair in all.windows(2) {
            assert!(pair[0].window.to <= pair[1].window.to);
        }
        for one in &all {
            assert!(one.window.to >= today);
            assert!(one.runs.iter().all(|run| state.runs[run].is_running()));
        }
        // Long after everything there is nothing left to ask about.
        assert!(offered(&state, day(900)).is_empty());
    }

    #[test]
    fn a_saved_plan_offers_its_window_until_it_is_over_or_given_up() {
        let mut world = crate::testing::World::of(
            "-9 mia lot lo_1 Red
             -9 mia bulb b_1 lo_1",
        );
        let plan = |from: i64, name: &str, given_up: bool| {
            Body::Forcing(Forcing { given_up, ..forcing(name, from, from + 5) })
        };
        let plans =
            [plan(90, "Fair", false), plan(90, "Fair", false), plan(80, "Market", false), plan(70, "Given up", true)];
        for (at, body) in plans.into_iter().enumerate() {
            let on = Happened::on(world_day(0));
            let about = vec![id(&format!("fo_{at}"))];
            world.save("mia", vec![Draft::new(about, on, body)]);
        }
        let of = |n: i64| offered(&world.state(), world_day(n));
        let all = of(10);
        let said: Vec<_> = all.iter().map(|one| (one.name.as_str(), one.plans.len(), one.wanted)).collect();
        assert_eq!(said, [("Market", 1, Wanted::FitToSell), ("Fair", 2, Wanted::FitToSell)]);
        assert!(all.iter().all(|one| one.runs.is_empty()));
        assert_eq!(of(86).len(), 1);
        assert!(of(96).is_empty());
    }

    #[test]
    fn a_running_try_offers_its_own_bulbs_under_the_name_of_its_trial() {
        let world = crate::testing::World::of(
            "-9 mia lot lo_1 Red
             -9 mia bulb b_1,b_2,b_3 lo_1
             -2 mia question tr_1 gr_a,gr_b
             -2 mia run ru_1 tr_1 0 every=7
             -2 mia rule ru_1 by first-flower-open
             -2 mia due ru_1 60
             -2 mia allot ru_1 hand gr_a=b_1 gr_b=b_2
             0 mia cycle-began b_1,b_2,b_3
             0 mia run-started ru_1",
        );
        let state = world.state();
        let (offered, ask) = next_asked(&state, world_day(1)).unwrap();
        assert_eq!(offered.name, state.name_of(id("tr_1")));
        assert!(!offered.name.is_empty());
        assert_eq!(ask.bulbs, BTreeSet::from([id("b_1"), id("b_2")]));
    }

    #[test]
    fn days_that_cannot_be_asked_about_are_refused() {
        let today = day(0);
        let window = |from, to| Window { from: day(from), to: day(to) };
        let said = |window| ask(window, today).unwrap_err();
        assert_eq!(said(window(9, 3)), Error::new(ForecastRefusal::Backwards).at(Field::To));
        assert_eq!(said(window(-9, -1)), Error::new(ForecastRefusal::Over).at(Field::To));
        assert_eq!(said(window(0, 400)), Error::new(ForecastRefusal::TooFar).at(Field::To));
        let good = ask(window(-3, 10), today).unwrap();
        assert_eq!(good.days, Some(window(0, 31)));
        let long = ask(window(300, 365), today).unwrap();
        assert_eq!(long.days, Some(window(0, 365)));
        assert_eq!(next_weeks(today), window(0, 27));
    }
}
