//! One growth cycle of a bulb as a strip of days: rest and growth, every look, photos, the due window.

use super::{
    bulb::Bulb,
    cycle::{Cycle, Seen},
};
use crate::{
    calendar::Date,
    ledger::body::{ActKind, DueWindow, Neck, ShootKind, Stage},
};

/// What a stretch of days was.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Spent {
    /// At rest: laid down or dry.
    Rest,
    /// In growth.
    Growth,
}

/// A stretch of days.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Span {
    /// What it was.
    pub spent: Spent,
    /// First day, counted from the strip's first.
    pub from_day: i64,
    /// First day after it; today's for the one under way.
    pub to_day: i64,
}

/// What a look found at the neck.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Found {
    /// Not looked at the neck.
    Silent,
    /// Nothing but leaves.
    Nothing,
    /// A shoot that may be a stalk, or a stalk.
    Something,
}

/// One look on the strip.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LookMark {
    /// Day, counted from the strip's first.
    pub day: i64,
    /// What it found.
    pub found: Found,
    /// The furthest stage of a stalk that it showed.
    pub stage: Option<Stage>,
}

/// One row of the same strip told as a table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Row {
    /// The day.
    pub on: Date,
    /// What happened.
    pub what: What,
}

/// What a row tells.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum What {
    /// Something done, or that happened.
    Act(ActKind),
    /// A look.
    Look(Found, Option<Stage>),
    /// A photo.
    Photo,
    /// First day of the due window.
    DueFrom,
    /// Last day that counts.
    Deadline,
}

/// A strip of days. Days are counted from `from`, which is day 0.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SeasonView {
    /// First day.
    pub from: Date,
    /// How many days the strip is long, at least 1.
    pub n_days: i64,
    /// Rest and growth, in order, without gaps up to today or the cycle's end.
    pub spans: Vec<Span>,
    /// Looks, in order.
    pub looks: Vec<LookMark>,
    /// Days with photos, in order, each once.
    pub photo_days: Vec<i64>,
    /// What was done, in order.
    pub acts: Vec<(i64, ActKind)>,
    /// Marked as fit to sell.
    pub fit_day: Option<i64>,
    /// Today, when it lies on the strip.
    pub today: Option<i64>,
    /// The due window: first and last day that counts.
    pub due: Option<(i64, i64)>,
    /// The strip as rows, for those who read it.
    pub rows: Vec<Row>,
}

/// The strip of a bulb's present cycle as known on `today`, with the due window of its try if it is in one.
pub fn season(bulb: &Bulb, today: Date, due: Option<&DueWindow>) -> SeasonView {
    season_of(bulb, bulb.cycle(), today, due)
}

/// The strip of any of a bulb's cycles.
pub fn season_of(bulb: &Bulb, cycle: &Cycle, today: Date, due: Option<&DueWindow>) -> SeasonView {
    let until = cycle.ended.unwrap_or(today).min(today);
    let first_act = cycle.acts.iter().map(|(on, _)| *on).min();
    let first_look = cycle.looks.iter().map(|seen| seen.at.date()).min();
    let earliest = [first_act, first_look].into_iter().flatten().min();
    let from = cycle.began.or(earliest).unwrap_or(until).min(until);
    let within = |on: Date| on >= from && on <= until;
    let day = |on: Date| from.days_until(on);
    let mut photo_days: Vec<i64> =
        bulb.photos.iter().map(|photo| photo.at.date()).filter(|on| within(*on)).map(day).collect();
    photo_days.sort();
    photo_days.dedup();
    let last = due.map_or(until, |window| window.to.max(until));
    let looks: Vec<LookMark> = cycle.looks.iter().map(|seen| mark(cycle, seen, day(seen.at.date()))).collect();
    SeasonView {
        from,
        n_days: day(last) + 1,
        spans: spans(cycle, day(until), &day),
        looks,
        photo_days,
        acts: cycle.acts.iter().map(|(on, kind)| (day(*on), *kind)).collect(),
        fit_day: cycle.fit.map(day),
        today: (until == today).then(|| day(today)),
        due: due.map(|window| (day(window.from), day(window.to))),
        rows: rows(bulb, cycle, due, within),
    }
}

fn mark(cycle: &Cycle, seen: &Seen, day: i64) -> LookMark {
    let kind = |id| cycle.shoots.iter().find(|s| s.id == id).map(|s| s.kind);
    let mut found = match seen.look.neck {
        Neck::NotLookedAt => Found::Silent,
        Neck::Clear | Neck::Shoots => Found::Nothing,
    };
    let mut stage = None;
    for shoot in &seen.look.shoots {
        match kind(shoot.id).unwrap_or(shoot.kind) {
            ShootKind::Leaf => {}
            ShootKind::Unknown => found = Found::Something,
            ShootKind::Scape => {
                found = Found::Something;
                stage = stage.max(Some(shoot.stage.max(Stage::ScapeInSight)));
            }
        }
    }
    LookMark { day, found, stage }
}

/// Stretches of rest and growth up to `until`. What began and ended on one day is no stretch.
fn spans(cycle: &Cycle, until: i64, day: &impl Fn(Date) -> i64) -> Vec<Span> {
    let mut spans: Vec<Span> = Vec::new();
    let mut spent = Spent::Growth;
    let mut from_day = 0;
    let mut close = |spent: Spent, from_day: i64, to_day: i64| {
        if to_day <= from_day {
            return;
        }
        match spans.last_mut() {
            Some(last) if last.spent == spent => last.to_day = to_day,
            _ => spans.push(Span { spent, from_day, to_day }),
        }
    };
    for (on, kind) in &cycle.acts {
        let Some(next) = turns(*kind).filter(|next| *next != spent) else {
            continue;
        };
        let at = day(*on).clamp(0, until);
        close(spent, from_day, at);
        (spent, from_day) = (next, at);
    }
    close(spent, from_day, until.max(from_day + 1));
    spans
}

/// What an act turns the days after it into, if it does.
const fn turns(kind: ActKind) -> Option<Spent> {
    match kind {
        kind if kind.begins_rest() => Some(Spent::Rest),
        kind if kind.ends_rest() => Some(Spent::Growth),
        _ => None,
    }
}

fn rows(bulb: &Bulb, cycle: &Cycle, due: Option<&DueWindow>, within: impl Fn(Date) -> bool) -> Vec<Row> {
    let mut rows: Vec<Row> = Vec::new();
    for (on, kind) in &cycle.acts {
        rows.push(Row { on: *on, what: What::Act(*kind) });
    }
    for seen in &cycle.looks {
        let mark = mark(cycle, seen, 0);
        rows.push(Row { on: seen.at.date(), what: What::Look(mark.found, mark.stage) });
    }
    for photo in bulb.photos.iter().filter(|photo| within(photo.at.date())) {
        rows.push(Row { on: photo.at.date(), what: What::Photo });
    }
    if let Some(window) = due {
        rows.push(Row { on: window.from, what: What::DueFrom });
        rows.push(Row { on: window.to, what: What::Deadline });
    }
    rows.sort_by_key(|row| row.on);
    rows
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ledger::id::{Ids, Noun};

    fn date(text: &str) -> Date {
        text.parse().unwrap()
    }

    fn bulb(acts: &[(&str, ActKind)]) -> Bulb {
        Bulb {
            also: Vec::new(),
            id: Ids::new([1; 32]).draw(Noun::Bulb),
            lot: crate::ledger::Register::Unset,
            tag: crate::ledger::Register::Unset,
            own_name: crate::ledger::Register::Unset,
            added: None,
            place: None,
            container: None,
            places: Vec::new(),
            pots: Vec::new(),
            circumference_mm: None,
            cycles: vec![Cycle {
                began: Some(date("2027-09-01")),
                ended: None,
                looks: Vec::new(),
                shoots: Vec::new(),
                acts: acts.iter().map(|(on, kind)| (date(on), *kind)).collect(),
                inspected: Vec::new(),
                fit: None,
                left_at: None,
            }],
            fate: crate::nursery::Fate::Here,
            ends: Vec::new(),
            put_aside: None,
            inspect_again: None,
            watch: None,
            mother: None,
            n_leaves: None,
            photos: Vec::new(),
            last_acts: std::collections::BTreeMap::new(),
            jobs: Vec::new(),
            inspected: None,
            sprouted: None,
        }
    }

    fn span(spent: Spent, from_day: i64, to_day: i64) -> Span {
        Span { spent, from_day, to_day }
    }

    #[test]
    fn rest_and_growth_follow_each_other_without_gaps_up_to_today() {
        let bulb = bulb(&[
            ("2027-09-01", ActKind::CycleBegan),
            ("2027-09-01", ActKind::LaidToRest),
            ("2027-10-27", ActKind::RestEnded),
            ("2027-10-27", ActKind::Potted),
            ("2027-11-03", ActKind::Watered),
        ]);
        let window = DueWindow { name: String::new(), from: date("2027-12-11"), to: date("2027-12-18") };
        let season = season(&bulb, date("2027-11-22"), Some(&window));
        assert_eq!(season.spans, [span(Spent::Rest, 0, 56), span(Spent::Growth, 56, 82)]);
        assert_eq!((season.today, season.due), (Some(82), Some((101, 108))));
        assert_eq!(season.n_days, 109);
        assert_eq!(season.rows.last().unwrap().what, What::Deadline);
        assert!(season.rows.windows(2).all(|pair| pair[0].on <= pair[1].on));
    }

    #[test]
    fn a_bulb_on_its_first_day_has_a_strip_of_one_day() {
        let season = season(&bulb(&[]), date("2027-09-01"), None);
        assert_eq!(season.n_days, 1);
        assert_eq!(season.spans, [span(Spent::Growth, 0, 1)]);
    }
}
