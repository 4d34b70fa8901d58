//! Words of Due.

use bloomdue_core::calendar::Date;
use bloomdue_core::care::{Job, JobAt, clock::Clock, plan};
use bloomdue_core::ledger::body::{ActKind, CareJob, Doing};
use bloomdue_core::ledger::id::Id;
use bloomdue_core::nursery::{State, place::PlaceRow};

use super::en::{act as act_word, bulbs, date_short, days_away, grade as grade_word, place_kind, plural};

/// After so many records without a copy in a file, Due asks for one.
pub(crate) const COPY_AFTER: u64 = 150;

pub(crate) fn nothing_due() -> &'static str {
    "Nothing needs hands today."
}

pub(crate) fn how_due_comes() -> &'static str {
    "Due fills from running tries (looks, shoots to see again, rests that end, last days that count), from plans and from care plans. Start a try under Trials, plan back from a date, or take the usual jobs into a care plan below."
}

pub(crate) fn torn(n: usize) -> String {
    format!(
        "{} of this device's storage could not be read. Nothing else is affected; take in a copy from a file or a colleague to mend it.",
        plural(n, "row", "rows")
    )
}

pub(crate) fn no_place() -> &'static str {
    "Not in any place"
}

pub(crate) fn who_records() -> &'static str {
    "Say who records on this device"
}

pub(crate) fn make_a_copy() -> &'static str {
    "Write the records to a file"
}

pub(crate) fn not_copied(n: u64) -> String {
    format!("{n} records stand on this device alone")
}

pub(crate) fn unfinished() -> &'static str {
    "Go on with what was begun"
}

/// What kind of form a draft is of, by its key, and what it is about where that has a name.
pub(crate) fn unfinished_form(key: &str, of: &str) -> String {
    let word = key.split(' ').next().unwrap_or_default();
    let form = match word {
        "trial" => "a new trial",
        "again" => "a further try",
        "plan" => "a plan back from a date",
        "photo" => "a photo",
        "sheet" => "a walk sheet typed in",
        "place" => "a place",
        "names" => "names and lot of a bulb",
        "add" => "bulbs to add",
        "lot" => "a lot",
        "several" => "several bulbs to another lot, or to take out",
        "planned" => "a job of a care plan",
        "job" => "a job that is due",
        "person" => "a person",
        "nursery" => "the nursery's name and latitude",
        "mend" => "a record to put right",
        "take-back" => "a record to take back",
        "look" => "a look",
        "care:note" => "a note",
        "care:inspection" => "an inspection",
        "care:measure" => "a measure",
        "care:count" => "a count",
        "care:light" => "light",
        "care:climate" => "temperature and humidity",
        _ => {
            let act = word.strip_prefix("care:").and_then(ActKind::from_word);
            act.map_or("a form not saved yet", super::en::act)
        }
    };
    if of.is_empty() { form.to_owned() } else { format!("{form}: {of}") }
}

pub(crate) fn clock(clock: Clock, today: Date) -> String {
    match clock {
        Clock::Behind { newest } => format!(
            "This device's clock says {today}, but records were written on {newest}. Set the device's date: until then the days here are wrong. If the date is right, another phone's clock was ahead."
        ),
        Clock::Ahead { newest } => format!(
            "This device's clock says {today}. Before this week, the last record was written on {newest}, more than a year ago. If today is another day, set the device's date: every day here counts from it."
        ),
    }
}

pub(crate) fn clash() -> &'static str {
    "Jobs of the care plans contradict each other"
}

pub(crate) fn clash_under() -> &'static str {
    "See which, and put one right"
}

pub(crate) fn whose() -> &'static str {
    "Whose jobs"
}

pub(crate) fn all_jobs() -> &'static str {
    "All"
}

pub(crate) fn yours_today(n: usize) -> String {
    format!("Yours today ({n})")
}

pub(crate) fn due_word() -> &'static str {
    "Due"
}

pub(crate) fn care_plans() -> &'static str {
    "Care plans"
}

pub(crate) fn coming() -> &'static str {
    "What is coming"
}

pub(crate) fn week_sheet() -> &'static str {
    "Week on paper"
}

pub(crate) fn calendar_file() -> &'static str {
    "Calendar file"
}

/// What the small link beside a job that looks is called.
pub(crate) fn put_off(title: &str) -> String {
    format!("Skip or postpone: {title}")
}

pub(crate) fn over(days: i64) -> String {
    format!("{} over", plural(days.unsigned_abs() as usize, "day", "days"))
}

pub(crate) fn place_under(row: &PlaceRow) -> String {
    let mut parts = vec![bulbs(row.n_bulbs), place_kind(row.kind).to_owned()];
    if row.blocks_percent > 0 {
        parts.push(format!("{} % shade", row.blocks_percent));
    }
    parts.join(", ")
}

pub(crate) fn question(run: Id, state: &State) -> String {
    let body = state.runs.get(&run).and_then(|run| run.body.shown());
    body.map(|body| format!("{} · {}", state.name_of(body.trial), super::en::ordinal_try(body.ordinal)))
        .unwrap_or_default()
}

pub(crate) fn plan_back() -> &'static str {
    "Plan back from the date"
}

/// What is to be done.
pub(crate) fn job(at: &JobAt, state: &State) -> String {
    match &at.job {
        Job::Walk { .. } => "Walk through".to_owned(),
        Job::DeadlineLook { .. } => "Last day that counts: look at each".to_owned(),
        Job::SeeAgain => match at.bulbs.as_slice() {
            [bulb] => format!("See the shoot on {} again", state.name_of(*bulb)),
            bulbs => format!("See {} unsure shoots again", bulbs.len()),
        },
        Job::RestEnds { on: _, .. } if at.over_days >= 0 => "End the rest".to_owned(),
        Job::RestEnds { .. } => "Rest ends soon".to_owned(),
        Job::WokeEarly => match at.bulbs.as_slice() {
            [bulb] => format!("{} woke early", state.name_of(*bulb)),
            bulbs => format!("{} woke early", super::en::bulbs(bulbs.len())),
        },
        Job::Planned { subject, slot } => plan::find(state, *subject, slot).map(planned_title).unwrap_or_default(),
        Job::Deadline { run, .. } => {
            let window = state.runs.get(run).and_then(|run| run.window.settled());
            match window.map(|window| window.name.as_str()) {
                Some(name) if !name.is_empty() => format!("Due window: {name}"),
                _ => "Due window closes".to_owned(),
            }
        }
        Job::StartRun { .. } => "Start the planned try".to_owned(),
        Job::CloseRun { .. } => "Close the try: everything is decided".to_owned(),
        Job::ApartEnds { lot, .. } => {
            format!("{} need not be kept apart any longer", state.name_of(*lot))
        }
    }
}

/// A job of a care plan in a few words.
pub(crate) fn planned_title(job: &CareJob) -> String {
    match (job.doing, job.act) {
        (Doing::Act, Some(act)) => act_word(act).to_owned(),
        (Doing::Inspect, _) => "Inspect".to_owned(),
        (Doing::Own, _) => job.words.clone(),
        (Doing::Look | Doing::Act, _) => "Look at each".to_owned(),
    }
}

/// Why a job of a care plan: how often, for whom, what it rests on.
fn planned_under(job: &CareJob, subject: Id, state: &State) -> String {
    let mut parts = Vec::new();
    if let Some(days) = job.every_days {
        parts.push(format!("every {}", plural(days as usize, "day", "days")));
    }
    if !state.places.contains_key(&subject) {
        parts.push(state.name_of(subject).to_owned());
    }
    parts.extend(job.person.map(|who| state.name_of(who).to_owned()));
    parts.extend(job.grade.map(|grade| grade_word(grade).to_owned()));
    parts.retain(|part| !part.is_empty());
    parts.join(" · ")
}

/// Why, and since when.
pub(crate) fn job_under(at: &JobAt, state: &State, today: Date) -> String {
    match &at.job {
        Job::Walk { last_look_days: None, interval_days } => {
            format!("some never looked at · looks every {}", plural(*interval_days as usize, "day", "days"))
        }
        Job::Walk { last_look_days: Some(days), interval_days } => format!(
            "last look {} ago · looks every {}",
            plural(*days as usize, "day", "days"),
            plural(*interval_days as usize, "day", "days")
        ),
        Job::DeadlineLook { run, deadline } => {
            format!("{} · {}", date_short(*deadline, today), question(*run, state))
        }
        Job::SeeAgain => "a few days show what it is".to_owned(),
        Job::RestEnds { run, on } => {
            format!("{} ({}) · {}", date_short(*on, today), days_away(*on, today), question(*run, state))
        }
        Job::WokeEarly => "a shoot or new leaves during the rest".to_owned(),
        Job::Planned { subject, slot } => {
            plan::find(state, *subject, slot).map(|job| planned_under(job, *subject, state)).unwrap_or_default()
        }
        Job::Deadline { run, on, n_open } => format!(
            "{} ({}) · {} not decided · {}",
            date_short(*on, today),
            days_away(*on, today),
            bulbs(*n_open),
            question(*run, state)
        ),
        Job::StartRun { run, on } => format!("planned for {} · {}", date_short(*on, today), question(*run, state)),
        Job::CloseRun { run } => question(*run, state),
        Job::ApartEnds { on, .. } => date_short(*on, today),
    }
}

pub(crate) fn disagreements(n: usize) -> String {
    if n == 1 { "Two records disagree".to_owned() } else { format!("{n} values disagree") }
}

pub(crate) use super::files::acts_twice;

pub(crate) fn acts_twice_under() -> &'static str {
    "Say whether each was one or two"
}

pub(crate) fn disagreements_under() -> &'static str {
    "Both are kept; say which one stands"
}
