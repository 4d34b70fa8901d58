//! Words of how earlier forecasts did.

use bloomdue_core::calendar::Date;
use bloomdue_core::forecast::score::{BRIER_OF_EVEN, Chances, DatesHeld, Tenth, WEEKS_BEFORE, WindowScore};

use crate::coming::{days, wanted};
use crate::common::{bulbs, plural};
use crate::dates::date_short;
use crate::formats::decimal;

labels! {
    title = "How earlier forecasts did";
    none =
        "Nothing to compare yet. What the page “What is coming” says of due days is kept, once a day when it is \
         looked at, and compared with what came when the last of these days is over.";
}

pub fn hint() -> String {
    format!(
        "Each due window counts once: by the last forecast at least {WEEKS_BEFORE} weeks before its first day, or else the first one before it. A pot that died did not come."
    )
}

/// `In 3 of 4 due windows the number lay within what was said; 8 in 10 is what was promised.`
pub fn counts((held, n): (usize, usize), n_windows: usize) -> String {
    let open = n_windows - n;
    let mut said = if n == 0 {
        String::new()
    } else {
        format!(
            "In {held} of {} the number lay within what was said; 8 of 10 is what was promised.",
            plural(n, "due window", "due windows")
        )
    };
    if open > 0 {
        let space = if said.is_empty() { "" } else { " " };
        said.push_str(space);
        said.push_str(&format!(
            "Of {} it can't be said: too many pots were sold before or not looked at.",
            plural(open, "due window", "due windows")
        ));
    }
    said
}

pub fn by_window() -> String {
    "What was said of each due window, and what came".to_owned()
}

pub fn window_heads() -> Vec<String> {
    ["Due window", "Said on", "Said", "Came"].map(str::to_owned).to_vec()
}

/// `3 Dec to 9 Dec, in flower | 12 Nov | 6 to 9 of 12 | 7`.
pub fn window_row(one: &WindowScore, today: Date) -> Vec<String> {
    let came = match (one.n_undecided, one.n_came) {
        (0, came) => came.to_string(),
        (undecided, came) => format!("{came} to {}", came + undecided),
    };
    let verdict = match one.held {
        Some(true) => "within",
        Some(false) if one.n_came > one.p90 => "more",
        Some(false) => "fewer",
        None => "can't say",
    };
    vec![
        format!("{}, {}", days(one.window, today), wanted(one.wanted)),
        date_short(one.said_on, today),
        format!("{} to {} of {}", one.p10, one.p90, one.n_bulbs),
        format!("{came}: {verdict}"),
    ]
}

/// `Of the pots given 8 times in 10, 7 of 9 came.`, for the chance that was given most often.
pub fn calibration(chances: &Chances) -> String {
    let most = chances.tenths.iter().max_by_key(|tenth| tenth.n);
    let mut said = most.map_or_else(String::new, |most| {
        format!("Of the pots given {}, {} of {} came.", given(most.tenths), most.came, most.n)
    });
    if chances.n_undecided > 0 {
        said.push_str(&format!(
            " {} left out: sold or missing before it was decided, or not looked at in time.",
            bulbs(chances.n_undecided)
        ));
    }
    said
}

pub fn by_chance() -> String {
    "Pots by the chance they were given".to_owned()
}

pub fn chance_heads() -> Vec<String> {
    ["Chance given", "Pots", "Came"].map(str::to_owned).to_vec()
}

pub fn chance_row(tenth: &Tenth) -> Vec<String> {
    vec![given(tenth.tenths), tenth.n.to_string(), tenth.came.to_string()]
}

fn given(tenths: u8) -> String {
    match tenths {
        0 => "less than 1 time in 20".to_owned(),
        1 => "1 time in 10".to_owned(),
        10 => "more than 19 times in 20".to_owned(),
        n => format!("{n} times in 10"),
    }
}

pub fn brier(chances: &Chances) -> String {
    format!(
        "Brier score of {} decided: {}; 0 is best. Always saying 5 in 10 scores {}; always saying the {} of {} that came in the end, which nobody knew before, {} (Brier 1950).",
        bulbs(chances.n),
        decimal(chances.brier, 2),
        decimal(BRIER_OF_EVEN, 2),
        chances.n_came,
        chances.n,
        decimal(chances.brier_of_share, 2)
    )
}

/// `Dates said with 8 in 10: 21 of 28 within, 4 outside; 3 came between two looks and can't be said.`
pub fn dates(held: &DatesHeld) -> String {
    let n = held.n_within + held.n_outside + held.n_straddle;
    if n == 0 {
        return "No date that was said can be compared yet.".to_owned();
    }
    let mut said = format!(
        "Of {} that were to be right 8 times in 10, {} came within what was said and {} outside",
        plural(n, "date", "dates"),
        held.n_within,
        held.n_outside
    );
    if held.n_straddle > 0 {
        said.push_str(&format!("; {} lie between two looks and can't be said", held.n_straddle));
    }
    said.push('.');
    if held.n_not_come > 0 {
        said.push_str(&format!(
            " {} did not come, or not yet, and {} left out.",
            plural(held.n_not_come, "stage", "stages"),
            if held.n_not_come == 1 { "is" } else { "are" }
        ));
    }
    said
}
