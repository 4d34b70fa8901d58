//! Words of Due.

use bloomdue_core::calendar::Date;
use bloomdue_core::care::{Job, JobAt, clock::Clock, day::What, plan};
use bloomdue_core::ledger::body::{ActKind, CareJob, Doing};
use bloomdue_core::ledger::id::{Id, Noun};
use bloomdue_core::nursery::{State, place::PlaceRow};

use crate::acts::act as act_word;
use crate::common::{bulbs, grade as grade_word, plural};
use crate::dates::{date_short, days_away};
use crate::formats;
use crate::places::place_kind;

labels! {
    nothing_due = "Nothing needs hands today.";
    how_due_comes =
        "Due fills from running tries (looks, shoots to see again, rests that end, last days that count), from \
         plans and from care plans. Start a try under Trials, plan back from a date, or take the usual jobs into \
         a care plan below.";
    no_place = "Not in any place";
    who_records = "Say who records on this device";
    make_a_copy = "Write the records to a file";
    unfinished = "Go on with what was begun";
    clash = "Jobs of the care plans contradict each other";
    clash_under = "See which, and put one right";
    whose = "Whose jobs";
    all_jobs = "All";
    due_word = "Due";
    care_plans = "Care plans";
    coming = "What is coming";
    week_sheet = "Week on paper";
    calendar_file = "Calendar file";
    plan_back = "Plan back from the date";
    acts_twice_under = "Say whether each was one or two";
    disagreements_under = "Both are kept; say which one stands";
}

/// After so many records without a copy in a file, Due asks for one.
pub const COPY_AFTER: u64 = 150;

pub fn torn(n: usize) -> String {
    format!(
        "{} of this device's storage could not be read. Nothing else is affected; take in a copy from a file or a colleague to mend it.",
        plural(n, "row", "rows")
    )
}

pub fn not_copied(n: u64) -> String {
    format!("{n} records stand on this device alone")
}

/// What kind of form a draft is of, by its key, and what it is about where that has a name.
pub fn unfinished_form(key: &str, of: &str) -> String {
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
        "potting" => "pots and mix",
        "light" => "light",
        "measure" => "marks on a photo",
        "care:note" => "a note",
        "care:inspection" => "an inspection",
        "care:measure" => "a measure",
        "care:count" => "a count",
        "care:light" => "light",
        "care:climate" => "temperature and humidity",
        _ => {
            let act = word.strip_prefix("care:").and_then(ActKind::from_word);
            act.map_or("a form not saved yet", crate::acts::act)
        }
    };
    if of.is_empty() { form.to_owned() } else { format!("{form}: {of}") }
}

pub fn clock(clock: Clock, today: Date) -> String {
    match clock {
        Clock::Behind { newest } => format!(
            "This device's clock says {today}, but records were written on {newest}. Set the device's date: until then the days here are wrong. If the date is right, another phone's clock was ahead."
        ),
        Clock::Ahead { newest } => format!(
            "This device's clock says {today}. Before this week, the last record was written on {newest}, more than a year ago. If today is another day, set the device's date: every day here counts from it."
        ),
    }
}

pub fn yours_today(n: usize) -> String {
    format!("Yours today ({n})")
}

/// What the small link beside a job that looks is called.
pub fn put_off(title: &str) -> String {
    format!("Skip or postpone: {title}")
}

pub fn late(days: i64) -> String {
    format!("{} late", plural(days.unsigned_abs() as usize, "day", "days"))
}

/// What a row says of a job that is not late: when it was last looked, or when it is due.
pub fn soon(at: &JobAt, today: Date) -> Option<String> {
    match &at.job {
        Job::Walk { last_look_days: Some(days), .. } if *days > 0 => {
            Some(format!("{} ago", plural(*days as usize, "day", "days")))
        }
        Job::RestEnds { on, .. } | Job::StartRun { on, .. } | Job::ApartEnds { on, .. } => Some(date_short(*on, today)),
        _ => None,
    }
}

/// `2 of 10 done`.
pub fn tally(n_done: usize, of: usize) -> String {
    format!("{n_done} of {of} done")
}

pub fn n_jobs(n: usize) -> String {
    plural(n, "job", "jobs")
}

/// What a box to tick is called for a screen reader.
pub fn tick(name: &str, n: usize) -> String {
    format!("{name}, {}: done", bulbs(n))
}

pub fn untick(name: &str, n: usize) -> String {
    format!("{name}, {}: done today; untick to take it back", bulbs(n))
}

/// What was done today, as its row reads.
pub fn what_was_done(what: &What, state: &State) -> String {
    match what {
        What::Act(kind) => act_word(*kind).to_owned(),
        What::Own(subject, slot) => plan::find(state, *subject, slot)
            .map_or_else(|| act_word(ActKind::JobDone).to_owned(), |job| job.words.clone()),
        What::Inspected => "Inspect".to_owned(),
        What::Looked => "Looked at".to_owned(),
    }
}

/// `07:40 MB`.
pub fn when_done(minute: Option<u16>, who: &str) -> String {
    match minute {
        Some(minute) => format!("{} {who}", formats::time(u32::from(minute / 60), u32::from(minute % 60))),
        None => who.to_owned(),
    }
}

/// What a due window is for, else its trial.
pub fn window_name(run: Id, state: &State) -> String {
    let known = state.runs.get(&run);
    let name = known.and_then(|run| run.window.settled()).map(|window| window.name.clone()).unwrap_or_default();
    let trial = || known.and_then(|run| run.body.shown()).map(|body| state.name_of(body.trial).to_owned());
    if name.is_empty() { trial().unwrap_or_default() } else { name }
}

/// `5 days left`, `last day`, `4 days late`.
pub fn window_left(over_days: i64) -> String {
    match over_days {
        0 => "last day".to_owned(),
        days if days > 0 => late(days),
        days => format!("{} left", plural(days.unsigned_abs() as usize, "day", "days")),
    }
}

pub fn place_under(row: &PlaceRow) -> String {
    let mut parts = vec![bulbs(row.n_bulbs), place_kind(row.kind).to_owned()];
    if row.blocks_percent > 0 {
        parts.push(format!("{} % shade", row.blocks_percent));
    }
    parts.join(", ")
}

pub fn question(run: Id, state: &State) -> String {
    let body = state.runs.get(&run).and_then(|run| run.body.shown());
    body.map(|body| format!("{} · {}", state.name_of(body.trial), crate::common::ordinal_try(body.ordinal)))
        .unwrap_or_default()
}

/// What is to be done, in as few words as a row of the day sheet has room for.
pub fn row_name(at: &JobAt, state: &State) -> String {
    match &at.job {
        Job::Walk { .. } => "Walk".to_owned(),
        Job::DeadlineLook { .. } => "Last look".to_owned(),
        Job::SeeAgain => match at.bulbs.as_slice() {
            [bulb] => format!("See again: {}", state.name_of(*bulb)),
            bulbs => format!("See {} shoots again", bulbs.len()),
        },
        Job::CloseRun { .. } => "Close the try".to_owned(),
        Job::ApartEnds { lot, .. } => format!("Kept apart long enough: {}", state.name_of(*lot)),
        // An act that is for one group of a try says for which: beside it the same may be for another.
        Job::Planned { subject, slot } if subject.is(Noun::Group) => {
            let found = plan::find(state, *subject, slot);
            let acts = found.is_some_and(|job| job.doing == Doing::Act);
            let of = Some(state.name_of(*subject)).filter(|of| acts && !of.is_empty());
            [Some(&*job(at, state)), of].into_iter().flatten().collect::<Vec<_>>().join(": ")
        }
        _ => job(at, state),
    }
}

/// What is to be done.
pub fn job(at: &JobAt, state: &State) -> String {
    match &at.job {
        Job::Walk { .. } => "Walk through".to_owned(),
        Job::DeadlineLook { .. } => "Last day that counts: look at each".to_owned(),
        Job::SeeAgain => match at.bulbs.as_slice() {
            [bulb] => format!("See the shoot on {} again", state.name_of(*bulb)),
            bulbs => format!("See {} unsure shoots again", bulbs.len()),
        },
        Job::RestEnds { on: _, .. } if at.over_days >= 0 => "End the rest".to_owned(),
        Job::RestEnds { .. } => "Rest ends soon".to_owned(),
        Job::InspectAgain => match at.bulbs.as_slice() {
            [bulb] => format!("Inspect {} again", state.name_of(*bulb)),
            bulbs => crate::inspect::again_title(bulbs.len()),
        },
        Job::WokeEarly => match at.bulbs.as_slice() {
            [bulb] => format!("{} woke early", state.name_of(*bulb)),
            bulbs => format!("{} woke early", crate::common::bulbs(bulbs.len())),
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
pub fn planned_title(job: &CareJob) -> String {
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
pub fn job_under(at: &JobAt, state: &State, today: Date) -> String {
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
        Job::InspectAgain => match at.bulbs.as_slice() {
            [bulb] => {
                let watched = state.bulb(bulb).and_then(|bulb| bulb.watch.as_ref());
                watched.map_or_else(String::new, |(on, findings)| crate::inspect::watched(findings, *on))
            }
            _ => "to be watched since they were inspected".to_owned(),
        },
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

pub fn disagreements(n: usize) -> String {
    if n == 1 { "Two records disagree".to_owned() } else { format!("{n} values disagree") }
}

pub use crate::files::acts_twice;
