//! The time axis that pictures of days share: months under it, the due window shaded through it.

use bloomdue_core::calendar::Date;
use bloomdue_core::ledger::body::DueWindow;
use bloomdue_core::trial::result::times::Times;

use super::{Scale, WIDTH, u};
use crate::results as say;

/// Days of a try as places in a picture; a day stands in its middle.
#[derive(Clone, Debug)]
pub struct DayAxis {
    start: Date,
    scale: Scale,
    /// The due window's first and last day; one day twice where only a last day counts.
    due: Option<(f64, f64)>,
    due_words: String,
    ticks: Vec<(f64, String)>,
}

/// Words of about this many units fit between two marks.
const APART: f64 = 34.0;

impl DayAxis {
    /// The axis of a try; what stands at the right of `right` has room there.
    pub fn new(times: &Times, window: Option<&DueWindow>, today: Date, right: Option<f64>) -> Self {
        let n_days = times.start.days_until(times.until).max(1);
        let scale = Scale::new(0.0, n_days as f64 + 1.0);
        let scale = right.map_or(scale, |right| scale.until(right));
        let day = |date: Date| times.start.days_until(date) as f64;
        Self {
            start: times.start,
            due: window.map(|window| (scale.x(day(window.from)), scale.x(day(window.to) + 1.0))),
            due_words: window.map_or_else(String::new, |window| say::due(window, today)),
            ticks: ticks(times.start, n_days, scale),
            scale,
        }
    }

    /// The axis of days to come.
    pub fn between(start: Date, until: Date, window: &DueWindow, today: Date, right: f64) -> Self {
        let n_days = start.days_until(until).max(1);
        let scale = Scale::new(0.0, n_days as f64 + 1.0).until(right);
        let place = |date: Date, more: f64| {
            let days = start.days_until(date) as f64 + more;
            scale.x(days.clamp(0.0, n_days as f64 + 1.0))
        };
        Self {
            start,
            due: Some((place(window.from, 0.0), place(window.to, 1.0))),
            due_words: say::due(window, today),
            ticks: ticks(start, n_days, scale),
            scale,
        }
    }

    /// Where a number of days from the start stands.
    pub fn x(&self, days: f64) -> f64 {
        self.scale.x(days + 0.5)
    }

    /// Where a day stands.
    pub fn at(&self, date: Date) -> f64 {
        self.x(self.start.days_until(date) as f64)
    }

    /// The first and the last place.
    pub fn ends(&self) -> (f64, f64) {
        (self.scale.left, self.scale.right)
    }

    /// The due window behind a picture of this height: its shade, and its last day.
    pub fn due_paths(&self, height: f64) -> Option<(String, String)> {
        self.due.map(|(from, to)| {
            let shade = format!("M{} 0H{}V{}H{}z", u(from), u(to), u(height), u(from));
            (shade, format!("M{} 0V{}", u(to), u(height)))
        })
    }

    /// The foot: a line with its marks, months, and the due day.
    pub fn foot(&self) -> Foot {
        let (left, right) = self.ends();
        let mut marks = String::new();
        let mut words = Vec::new();
        let mut free = 0.0;
        for (x, text) in &self.ticks {
            marks.push_str(&format!("M{} 1v4", u(*x)));
            if *x >= free && *x + APART * 0.6 <= WIDTH {
                words.push((*x, text.clone()));
                free = *x + APART.max(7.0 * text.chars().count() as f64 + 6.0);
            }
        }
        let due = self.due.map(|(_, to)| {
            // The words stand beside their line, on the side that has room.
            let anchor = if to > WIDTH / 2.0 { "end" } else { "start" };
            (to, anchor, self.due_words.clone())
        });
        Foot { line: format!("M{} 1H{}", u(left), u(right)), marks, words, due }
    }
}

/// What stands under pictures of days.
#[derive(Clone, Debug, PartialEq)]
pub struct Foot {
    /// The line along it.
    pub line: String,
    /// Its marks.
    pub marks: String,
    /// Words that have room, and where.
    pub words: Vec<(f64, String)>,
    /// Where the due window ends, how its words are set, and they.
    pub due: Option<(f64, &'static str, String)>,
}

/// The first of every month, or every week of a short try.
fn ticks(start: Date, n_days: i64, scale: Scale) -> Vec<(f64, String)> {
    let days = (0..=n_days).filter_map(|day| Some((day, start.add_days(day).ok()?)));
    let short = n_days <= 62;
    let is_tick = |(day, date): &(i64, Date)| {
        if short { day % 7 == 0 } else { date.day() == 1 }
    };
    days.filter(is_tick)
        .map(|(day, date)| {
            let words = if short { say::day_and_month(date) } else { say::month(date) };
            (scale.x(day as f64), words)
        })
        .collect()
}
