//! Which days a forecast is asked about: the due windows of running tries, or days that were chosen.

use super::{Ask, MOST_DAYS, Wanted, Window};
use crate::order::Order as _;
use crate::{
    calendar::Date,
    error::{Error, Result},
    ledger::{body::GoalStage, id::Id},
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
    /// What it is for; may be empty.
    pub name: String,
    /// Its days.
    pub window: Window,
    /// What the tries want by then.
    pub wanted: Wanted,
}

/// The due windows of running tries that are not over, the next one first. Equal ones of several tries are one.
pub fn offered(state: &State, today: Date) -> Vec<Offered> {
    let mut all: Vec<Offered> = Vec::new();
    for (id, run) in state.runs.iter().filter(|(_, run)| run.is_running()) {
        let Some(due) = run.window.settled().filter(|due| due.to >= today) else {
            continue;
        };
        let window = Window {
            from: due.from,
            to: due.to,
        };
        let same = |known: &&mut Offered| known.window == window && known.name == due.name;
        match all.iter_mut().find(same) {
            Some(known) => known.runs.push(*id),
            None => {
                let goal = run.rule.settled().map(|rule| rule.stage);
                let wanted = match goal {
                    Some(GoalStage::FirstFlower) => Wanted::InFlower,
                    _ => Wanted::FitToSell,
                };
                all.push(Offered {
                    runs: vec![*id],
                    name: due.name.clone(),
                    window,
                    wanted,
                });
            }
        }
    }
    all.order_by_key(|offered| (offered.window.to, offered.window.from, offered.runs[0]));
    all
}

/// The coming four weeks.
pub fn next_weeks(today: Date) -> Window {
    Window {
        from: today,
        to: today.add_days(WITHOUT_WINDOW_DAYS - 1).unwrap_or(today),
    }
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
        return Err(Error::new(
            "these days are over; choose days from today on, or look at the result",
        )
        .at("to"));
    }
    if today.days_until(window.to) >= MOST_DAYS as i64 {
        return Err(Error::new(
            "a forecast does not reach further than a year; choose a nearer day",
        )
        .at("to"));
    }
    let furthest = today.add_days(MOST_DAYS as i64 - 1)?;
    let days = Window {
        from: today,
        to: window.to.add_days(DAYS_AFTER)?.min(furthest),
    };
    Ok(Ask {
        window: Some(window),
        days: Some(days),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

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
    fn days_that_cannot_be_asked_about_are_refused_with_a_sentence() {
        let today = day(0);
        let window = |from, to| Window {
            from: day(from),
            to: day(to),
        };
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
