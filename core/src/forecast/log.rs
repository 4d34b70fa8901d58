//! What a forecast said, kept as a record, so that it can be scored once the days are over (entries of kind `shown`).
//!
//! One forecast of a due window is one entry a hundred and fifty bulbs, about the window's tries and saved plans and
//! these bulbs. `what` is `forecast` and what they want. The numbers, chances in permille and days counted from the day
//! it was said:
//!
//! | name | number |
//! |---|---|
//! | `from`, `to` | first and last day of the window |
//! | `bulbs`, `p10`, `p50`, `p90` | how many are under way, and how many of them the window will show: only in the first part |
//! | `3` | the chance of the fourth bulb of the entry to show it |
//! | `3.rest-ends` | said of the next growth cycle, which had not begun: the day on which a rest still to come was to end |
//! | `3.brought-on` | the same where it was to be brought on without a rest: that day |
//! | `3.scape.p10`, `3.scape.p90` | the days before which its scape comes in sight in 1 and 9 of 10 cases; so for `fit` and `flower` |
//!
//! Nothing that is computed for a grower reads these entries but [`super::score`].

use std::collections::BTreeMap;

use super::{Begins, Coming, Offered, Outlook, Wanted, Window};
use crate::{
    calendar::{Date, Happened},
    error::{Error, Result},
    ledger::{
        Ledger,
        body::{ActKind, Body, Shown},
        entry::{Draft, Entry},
        id::{Id, Noun},
    },
    nursery::Bulb,
    refusal::NumberRefusal,
};

/// Bulbs in one entry; their numbers stay far below the length of a record.
const BULBS_AN_ENTRY: usize = 150;
/// Tries and plans that an entry names at most, so that it has room for its bulbs.
const MOST_SUBJECTS: usize = 200;

/// How the day is named that a cycle was to count from which had not begun.
const REST_ENDS: &str = "rest-ends";
const BROUGHT_ON: &str = "brought-on";

/// Stages whose dates are kept, with their names.
pub(super) const DATED: [(Coming, &str); 3] =
    [(Coming::ScapeInSight, "scape"), (Coming::FitToSell, "fit"), (Coming::FirstFlower, "flower")];

fn what(wanted: Wanted) -> &'static str {
    match wanted {
        Wanted::FitToSell => "forecast fit-to-sell",
        Wanted::InFlower => "forecast in-flower",
    }
}

/// What an entry's forecast was of; nothing when it is of no forecast, or of one that a newer version made.
pub fn forecast_of(shown: &Shown) -> Option<Wanted> {
    [Wanted::FitToSell, Wanted::InFlower].into_iter().find(|wanted| what(*wanted) == shown.what)
}

/// The window that an entry of this day spoke of.
pub fn window_of(shown: &Shown, said_on: Date) -> Option<Window> {
    let day = |name| said_on.add_days(*shown.numbers.get(name)?).ok();
    Some(Window { from: day("from")?, to: day("to")? })
}

/// The forecasts kept with these tries and plans, in order of the day.
pub(super) fn kept<'a>(
    ledger: &'a Ledger,
    subjects: impl IntoIterator<Item = &'a Id>,
) -> impl Iterator<Item = (&'a Entry, &'a Shown)> {
    let of_one = |subject: &Id| {
        let shown = |entry: &Entry| matches!(entry.body, Body::Shown(_));
        ledger.in_force_of(*subject, shown)
    };
    let all = subjects.into_iter().flat_map(of_one);
    all.filter_map(|entry| match &entry.body {
        Body::Shown(shown) => Some((&**entry, shown)),
        _ => None,
    })
}

/// The entries that keep what is on the screen; none when it says nothing of any bulb, or when a forecast of this window
/// was kept on this day already.
///
/// # Errors
/// When a chance or a day is no number that a record can hold.
pub fn to_keep(ledger: &Ledger, offered: &Offered, outlook: &Outlook, now: &Happened) -> Result<Vec<Draft>> {
    let today = now.date();
    let again = kept(ledger, offered.subjects()).any(|(entry, shown)| {
        let said_on = entry.envelope.happened.date();
        said_on == today && window_of(shown, said_on) == Some(offered.window)
    });
    let all = outlook
        .all()
        .and_then(|all| all.in_window(offered.wanted))
        .filter(|_| !again && offered.subjects().next().is_some() && outlook.today == today);
    let Some(all) = all else {
        return Ok(Vec::new());
    };
    let digest: String = ledger.digest().iter().map(|b| format!("{b:02x}")).collect();
    let mut drafts = Vec::new();
    for bulbs in outlook.bulbs.chunks(BULBS_AN_ENTRY) {
        let mut numbers = BTreeMap::new();
        let mut say = |name: String, number: i64| numbers.insert(name, number);
        say("from".to_owned(), today.days_until(offered.window.from));
        say("to".to_owned(), today.days_until(offered.window.to));
        if drafts.is_empty() {
            say("bulbs".to_owned(), outlook.bulbs.len() as i64);
            say("p10".to_owned(), i64::from(all.counted.p10));
            say("p50".to_owned(), i64::from(all.counted.p50));
            say("p90".to_owned(), i64::from(all.counted.p90));
        }
        for (n, bulb) in bulbs.iter().enumerate() {
            let chance = bulb.in_window(offered.wanted).unwrap_or(f64::NAN);
            say(n.to_string(), permille(chance)?);
            let planned = today.days_until(bulb.origin);
            match bulb.begins {
                Begins::RestAhead => say(format!("{n}.{REST_ENDS}"), planned),
                Begins::BroughtOn => say(format!("{n}.{BROUGHT_ON}"), planned),
                Begins::Recorded | Begins::RestEnds => None,
            };
            for coming in &bulb.coming {
                let name = DATED.iter().find(|(stage, _)| *stage == coming.stage);
                let days = |date| today.days_until(date);
                // A stage that has come unseen by now, as good as surely, is no forecast.
                if let Some((_, name)) = name.filter(|_| coming.dates.p90 >= today) {
                    say(format!("{n}.{name}.p10"), days(coming.dates.p10));
                    say(format!("{n}.{name}.p90"), days(coming.dates.p90));
                }
            }
        }
        let subjects = offered.subjects().take(MOST_SUBJECTS).copied();
        let about = subjects.chain(bulbs.iter().map(|bulb| bulb.bulb)).collect();
        let body = Shown {
            what: what(offered.wanted).to_owned(),
            method: outlook.method.clone(),
            digest: digest.clone(),
            numbers,
        };
        drafts.push(Draft::new(about, now.clone(), Body::Shown(body)));
    }
    Ok(drafts)
}

fn permille(chance: f64) -> Result<i64> {
    if (0.0..=1.0).contains(&chance) {
        Ok((chance * 1000.0).round() as i64)
    } else {
        Err(Error::new(NumberRefusal::NoChance))
    }
}

/// Which cycle a forecast of a bulb was of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum SaidOf {
    /// That of this day.
    Cycle(Date),
    /// One that was planned to count from this day, and that had not begun.
    NeverBegun(Date),
}

/// Which cycle the forecast of the n-th bulb of an entry was of: that of the day it was said, or, where all was still
/// ahead, the one that was begun by `until`.
pub(super) fn said_of(shown: &Shown, n: usize, bulb: &Bulb, said_on: Date, until: Date) -> SaidOf {
    let first = |is: fn(ActKind) -> bool| {
        let acts = bulb.cycles.iter().flat_map(|cycle| &cycle.acts);
        let mut acts = acts.filter(|(on, _)| (said_on..=until).contains(on));
        let found = acts.find(|(_, act)| is(*act));
        found.map(|(on, _)| *on)
    };
    let planned = |name: &str| {
        let days = shown.numbers.get(&format!("{n}.{name}"))?;
        said_on.add_days(*days).ok()
    };
    let (begun, planned) = if let Some(planned) = planned(REST_ENDS) {
        // A bulb may be potted in leaf before its rest.
        let begun = first(ActKind::begins_rest).or_else(|| first(ActKind::brings_on));
        (begun, planned)
    } else if let Some(planned) = planned(BROUGHT_ON) {
        (first(|act| act.begins_rest() || act.brings_on()), planned)
    } else {
        return SaidOf::Cycle(said_on);
    };
    begun.map_or(SaidOf::NeverBegun(planned), SaidOf::Cycle)
}

/// The bulbs an entry is about, in the order that its numbers name them in.
pub(super) fn bulbs_of(entry: &Entry) -> impl Iterator<Item = Id> {
    let about = entry.envelope.about.iter();
    about.copied().filter(|id| id.is(Noun::Bulb))
}
