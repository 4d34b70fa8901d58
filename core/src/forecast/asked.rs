//! Which days a forecast is asked about: the due windows of running tries and saved plans, or days that were chosen.

use super::{Ask, MOST_DAYS, Outlook, Wanted, Window};
use crate::{
    calendar::Date,
    error::{Error, Result},
    ledger::{
        body::{Forcing, GoalStage},
        id::Id,
    },
    nursery::State,
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
        of_days(&mut all, &due.name, window, goal).runs.push(*id);
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
        return Err(Error::new("the last day is before the first; swap them").at("to"));
    }
    if window.to < today {
        return Err(Error::new("these days are over; choose days from today on, or look at the result").at("to"));
    }
    if today.days_until(window.to) >= MOST_DAYS as i64 {
        return Err(Error::new("a forecast does not reach further than a year; choose a nearer day").at("to"));
    }
    let furthest = today.add_days(MOST_DAYS as i64 - 1)?;
    let days = Window { from: today, to: window.to.add_days(DAYS_AFTER)?.min(furthest) };
    Ok(Ask { window: Some(window), days: Some(days) })
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
    fn days_that_cannot_be_asked_about_are_refused_with_a_sentence() {
        let today = day(0);
        let window = |from, to| Window { from: day(from), to: day(to) };
        let said = |window| ask(window, today).unwrap_err().to_string();
        assert!(said(window(9, 3)).contains("swap"));
        assert!(said(window(-9, -1)).contains("over"));
        assert!(said(window(0, 400)).contains("year"));
        let good = ask(window(-3, 10), today).unwrap();
        assert_eq!(good.days, Some(window(0, 31)));
        let long = ask(window(300, 365), today).unwrap();
        assert_eq!(long.days, Some(window(0, 365)));
        assert_eq!(next_weeks(today), window(0, 27));
    }
}
