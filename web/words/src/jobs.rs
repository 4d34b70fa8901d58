//! Words of care plans, of one job, of the week on paper and the calendar file.

use bloomdue_core::calendar::Date;
use bloomdue_core::care::Job;
use bloomdue_core::care::calendar_events::Occasion;
use bloomdue_core::care::plan::{self, Clash, Contradiction};
use bloomdue_core::care::progress::{Progress, progress};
use bloomdue_core::ledger::body::{CareJob, Doing, During, JobFrom};
use bloomdue_core::nursery::State;
use bloomdue_core::nursery::state::Planned;

use crate::acts::{acted, stage};
use crate::common::{bulbs, grade, plural};
use crate::dates::date_short;
use crate::due::planned_title;

labels! {
    whole_nursery = "The whole nursery";
    plans_under = "For the nursery, a place, or a group of a running try";
    no_jobs = "No jobs yet. Take some of the usual ones, or add one of your own.";
    own_job = "Add a job of your own";
    usual_jobs = "Usual jobs";
    usual_under =
        "Ready to take and to change. What each rests on stands beside it; common practice is not proof. No \
         doses are given: follow the label and local rules.";
    take_word = "Take";
    rest_ends =
        "Common practice: pot up what is not in a pot, bring all into light and warmth, water sparingly. Tick it \
         as done when their rest has ended: days are counted from there.";
    woke_early =
        "Common practice: end its rest now. Pot it if it is not potted, give it light and a first watering. To \
         hold it back, move it to a cooler place instead and postpone this. In a try it counts as it is: do not \
         take it out.";
    put_it_right = "Put it right";
    not_due = "Not due any more";
    not_due_under = "It was done, skipped or postponed meanwhile, perhaps by somebody else.";
    done = "Done";
    in_detail = "Record it with more detail";
    how_to_inspect = "Take each bulb in hand. Leave out those that are not firm and inspect them on their own pages.";
    all_firm = "These were found firm";
    postpone = "Postpone";
    until = "Until";
    later_day = "Choose a day after today to postpone it to.";
    skip = "Skip";
    why = "Why";
    say_why = "Write in a word or two why it is skipped.";
    skipped = "Skipped";
    what_kind = "What kind of job";
    which_act = "What is to be done";
    own_words = "The job in your words";
    to_mind = "What to mind, if anything";
    counted_from = "Counted from";
    first_day = "First day";
    after_which = "After what";
    which_stage = "From which stage on";
    days_after = "Days after that";
    how_often = "How often";
    once = "once";
    again = "again and again";
    every_days = "Every how many days";
    tolerance = "Days it may be early or late";
    tolerance_hint = "Done so much earlier, it counts; so much later, it is not late yet.";
    when_at_all = "Falls due";
    who = "Who does it";
    anybody = "anybody";
    give_up = "Give this job up";
    week_under =
        "As the records stand now. What is late stands under the first day. Looks are recorded bulb by bulb: \
         take a walk sheet of the place along.";
    nothing_planned = "Nothing planned.";
    print = "Print";
    back_to_due = "Back to Due";
    calendar_under =
        "Jobs of the care plans, looks, ends of rests and last days that count, as whole days for the calendar \
         of your phone or computer. Nothing is sent anywhere: open the file with your calendar.";
    calendar_again =
        "A later file changes what an earlier one brought: days that moved move, jobs that are done go. \
         Repeating jobs are written for half a year ahead.";
    calendar_saved = "Calendar file saved. Open it with your calendar.";
    remind = "Remind";
    remind_morning = "at 7:00 on the day";
    remind_evening = "at 18:00 the day before";
    remind_never = "not at all";
}

pub fn jobs_in_short(titles: &[String]) -> String {
    match titles {
        [] => "no jobs yet".to_owned(),
        few if few.len() <= 3 => few.join(", "),
        many => format!("{}, {} and {} more", many[0], many[1], many.len() - 2),
    }
}

pub fn take(title: &str) -> String {
    format!("Take: {title}")
}

pub fn taken(title: &str) -> String {
    format!("Taken into the care plan: {title}")
}

/// The advice that goes with a usual job; for one that is no act, the job itself.
pub fn usual_words(key: &str) -> &'static str {
    match key {
        "cut-back" => "Once the leaves have died back: brown ones come off, green ones still feed the bulb.",
        "stop-water" => "After about half a year in leaf the bulb has what it needs: let the leaves die back.",
        "lay-to-rest" => "Dry and in the dark, once the leaves are off.",
        "inspect-rest" => {
            "Feel each bulb: firm is well. Set soft ones apart. Wrinkled ones fill up again. Brush mould off the roots of firm ones and give them air. In a try, record it and leave the bulb in."
        }
        "pot" => "Pot soon after the rest, so that roots can start.",
        "look" => "Look at every neck, also where nothing shows yet.",
        "water" => "Only when the top of the mix is dry; sparingly until leaves or a stalk grow.",
        "turn" => "Turn the pots by a quarter",
        "stake" => "Where stalks are heavy or lean to the light.",
        "cooler" => "Stand them cooler",
        "cut-scape" => "Cut the spent stalk a few centimetres above the bulb; keep the leaves.",
        "feed" => "While leaves grow. Which feed and how much is on its label.",
        "measure" => "Measure around each bulb, all on one day",
        _ => "",
    }
}

/// What a usual job is called in the list.
pub fn usual_title(key: &str, job: &CareJob) -> String {
    match key {
        "turn" => "Turn the pots".to_owned(),
        "cooler" => "Stand them cooler in flower".to_owned(),
        "measure" => "Measure around the bulbs".to_owned(),
        _ => planned_title(job),
    }
}

fn counted(job: &CareJob, today: Date) -> String {
    let anchor = match job.from {
        JobFrom::Date => {
            return job.date.map(|day| date_short(day, today)).unwrap_or_default();
        }
        JobFrom::RunStart => "the try's start".to_owned(),
        JobFrom::RestEnd => "the end of the rest".to_owned(),
        JobFrom::Act => format!("“{}”", job.after.map(acted).unwrap_or_default()),
        JobFrom::Stage => format!("seeing “{}”", job.stage.map(stage).unwrap_or_default()),
    };
    match job.after_days {
        0 => format!("from {anchor}"),
        n => format!("{} after {anchor}", plural(n as usize, "day", "days")),
    }
}

/// When, how often, by whom, and what it rests on.
pub fn job_in_short(job: &CareJob, state: &State, today: Date) -> String {
    let mut parts = vec![counted(job, today)];
    if let Some(days) = job.every_days {
        parts.push(format!("every {}", plural(days as usize, "day", "days")));
    }
    if job.tolerance_days > 0 {
        parts.push(format!("± {}", plural(job.tolerance_days as usize, "day", "days")));
    }
    match job.during {
        During::Always => {}
        During::Rest => parts.push("only at rest".to_owned()),
        During::Growth => parts.push("not at rest".to_owned()),
    }
    parts.extend(job.person.map(|who| state.name_of(who).to_owned()));
    parts.extend(job.grade.map(|of| grade(of).to_owned()));
    parts.join(" · ")
}

/// The same of a job of a saved plan, with the days on which it was done and its next.
pub fn job_of_plan(planned: &Planned, job: &CareJob, state: &State, today: Date) -> String {
    let mut parts = vec![job_in_short(job, state, today)];
    if let Some(Progress { n_bulbs, n_in_try, done, next }) = progress(state, planned, job) {
        let day = |(on, n): &(Date, usize)| {
            let on = date_short(*on, today);
            if *n == n_bulbs { on } else { format!("{on} ({n} of {})", bulbs(n_bulbs)) }
        };
        let days: Vec<String> = done.iter().map(day).collect();
        if !days.is_empty() {
            parts.push(format!("done {}", days.join(", ")));
            let next = next.filter(|_| job.every_days.is_some());
            parts.extend(next.map(|next| format!("next {}", date_short(next, today))));
        }
        if n_in_try > 0 {
            parts.push(format!("{} by the days of the try", bulbs(n_in_try)));
        }
    }
    parts.join(" · ")
}

/// What to mind with a job, and what that rests on.
pub fn about_job(job: &CareJob) -> Vec<String> {
    let mut lines = Vec::new();
    if job.doing != Doing::Own && !job.words.is_empty() {
        lines.push(job.words.clone());
    }
    if let Some(of) = job.grade {
        let source = if job.source.is_empty() { String::new() } else { format!(": {}", job.source) };
        lines.push(format!("Based on: {}{source}.", grade(of)));
    }
    lines
}

pub fn clash(found: &Contradiction, state: &State, one_of: &str, other_of: &str) -> String {
    let title = |id: &(bloomdue_core::ledger::id::Id, String)| {
        plan::find(state, id.0, &id.1).map(planned_title).unwrap_or_default()
    };
    let one = format!("“{}” ({one_of})", title(&found.one));
    let other = format!("“{}” ({other_of})", title(&found.other));
    match found.clash {
        Clash::WaterInRest => format!(
            "{one} and {other} contradict each other: one goes on through the rest that the other begins. Let it come only outside the rest."
        ),
        Clash::TwoRhythms => format!(
            "{one} and {other} are the same work with different repeats. Give one of them up, or make them equal."
        ),
        Clash::Circle => {
            format!(
                "{one} and {other} wait for each other, so neither ever comes. Count one of them from something else."
            )
        }
        Clash::RestOfTreatment { days } => format!(
            "{one} does not agree with its treatment, which lets the bulbs rest for {}. Change the days, or give the job up: Due tells the end of the rest anyway.",
            plural(days.unsigned_abs() as usize, "day", "days")
        ),
    }
}

// One job.

pub fn take_all(n: usize) -> String {
    format!("Take all {n}")
}

pub fn taken_all(n: usize) -> String {
    format!("Taken into the care plan: {}", plural(n, "job", "jobs"))
}

pub fn found_firm(n: usize) -> String {
    format!("Found firm: {}", bulbs(n))
}

pub fn postponed(until: Date, today: Date) -> String {
    format!("Postponed until {}", date_short(until, today))
}

// The form of a job.

pub fn doing(doing: Doing) -> &'static str {
    match doing {
        Doing::Act => "do something",
        Doing::Look => "look at each",
        Doing::Inspect => "inspect each",
        Doing::Own => "in own words",
    }
}

pub fn from(from: JobFrom) -> &'static str {
    match from {
        JobFrom::Date => "a day",
        JobFrom::RunStart => "the try's start",
        JobFrom::RestEnd => "the end of the rest",
        JobFrom::Act => "something done",
        JobFrom::Stage => "a stage seen",
    }
}

pub fn during(during: During) -> &'static str {
    match during {
        During::Always => "always",
        During::Rest => "only at rest",
        During::Growth => "not at rest",
    }
}

pub fn saved_job(title: &str) -> String {
    format!("In the care plan: {title}")
}

pub fn given_up(title: &str) -> String {
    format!("Given up: {title}")
}

// The week and the calendar.

/// What an occasion is called.
pub fn occasion(occasion: &Occasion, state: &State) -> String {
    let name = |run| crate::due::question(run, state);
    match &occasion.job {
        Job::Planned { subject, slot } => plan::find(state, *subject, slot).map(planned_title).unwrap_or_default(),
        Job::RestEnds { run, .. } => format!("End the rest: {}", name(*run)),
        Job::Deadline { run, .. } => format!("Last day that counts: {}", name(*run)),
        Job::StartRun { run, .. } => format!("Start the planned try: {}", name(*run)),
        Job::SeeAgain => "See unsure shoots again".to_owned(),
        Job::InspectAgain => crate::inspect::inspect_again().to_owned(),
        _ => "Walk through".to_owned(),
    }
}

/// What comes next, where nothing is due today.
pub fn next(title: &str, day: Date, today: Date) -> String {
    format!("Next: {title}, {}", date_short(day, today))
}

pub fn occasion_bulbs(occasion: &Occasion) -> String {
    match (occasion.n_bulbs, occasion.n_later) {
        (0, _) => String::new(),
        (n, 0) => bulbs(n),
        (n, later) => format!("{}, {later} more later", bulbs(n)),
    }
}

pub fn occasion_person(occasion: &Occasion, state: &State) -> String {
    let who = plan::person_of(state, &occasion.job);
    who.map(|who| state.name_of(who).to_owned()).unwrap_or_default()
}

/// The saved plan that a job is of.
pub fn of_plan(occasion: &Occasion, state: &State) -> Option<String> {
    match &occasion.job {
        Job::Planned { subject, .. } if state.forcings.contains_key(subject) => {
            Some(state.name_of(*subject).to_owned())
        }
        _ => None,
    }
}

/// Everything else that a calendar shows of an occasion.
pub fn occasion_more(occasion: &Occasion, state: &State) -> String {
    let mut lines = vec![occasion_bulbs(occasion), occasion_person(occasion, state)];
    lines.extend(of_plan(occasion, state));
    if let Job::Planned { subject, slot } = &occasion.job
        && let Some(job) = plan::find(state, *subject, slot)
    {
        lines.extend(about_job(job));
    }
    lines.retain(|line| !line.is_empty());
    lines.join("\n")
}

pub fn week_title(today: Date) -> String {
    let week = today.iso_week();
    format!("Jobs from {} · week {}", date_short(today, today), week.week)
}
