//! Words of care plans, of one job, of the week on paper and the calendar file.

use bloomdue_core::calendar::Date;
use bloomdue_core::care::Job;
use bloomdue_core::care::occasions::Occasion;
use bloomdue_core::care::plan::{self, Clash, Contradiction};
use bloomdue_core::care::progress::{Progress, progress};
use bloomdue_core::ledger::body::{CareJob, Doing, During, JobFrom};
use bloomdue_core::nursery::State;
use bloomdue_core::nursery::state::Planned;

use super::due::planned_title;
use super::en::{acted, bulbs, date_short, grade, plural, stage};

pub(crate) fn whole_nursery() -> &'static str {
    "The whole nursery"
}

pub(crate) fn plans_under() -> &'static str {
    "For the nursery, a place, or a group of a running try"
}

pub(crate) fn jobs_in_short(titles: &[String]) -> String {
    match titles {
        [] => "no jobs yet".to_owned(),
        few if few.len() <= 3 => few.join(", "),
        many => format!("{}, {} and {} more", many[0], many[1], many.len() - 2),
    }
}

pub(crate) fn no_jobs() -> &'static str {
    "No jobs yet. Take some of the usual ones, or add one of your own."
}

pub(crate) fn own_job() -> &'static str {
    "Add a job of your own"
}

pub(crate) fn usual_jobs() -> &'static str {
    "Usual jobs"
}

pub(crate) fn usual_under() -> &'static str {
    "Ready to take and to change. What each rests on stands beside it; common practice is not proof. No doses are given: follow the label and local rules."
}

pub(crate) fn take_word() -> &'static str {
    "Take"
}

pub(crate) fn take(title: &str) -> String {
    format!("Take: {title}")
}

pub(crate) fn taken(title: &str) -> String {
    format!("Taken into the care plan: {title}")
}

/// The advice that goes with a usual job; for one that is no act, the job itself.
pub(crate) fn usual_words(key: &str) -> &'static str {
    match key {
        "cut-back" => "Once the leaves have died back: brown ones come off, green ones still feed the bulb.",
        "stop-water" => "After about half a year in leaf the bulb has what it needs: let the leaves die back.",
        "lay-to-rest" => "Dry and in the dark, once the leaves are off.",
        "inspect-rest" => "Feel each bulb: firm is well. Take soft, mouldy or shrivelled ones out.",
        "pot" => "Pot soon after the rest, so that roots grow before the stalk does.",
        "look" => "Look at every neck, also where nothing shows yet.",
        "water" => "Only when the top of the mix is dry; sparingly until leaves or a stalk grow.",
        "turn" => "Turn the pots by a quarter, so that stalks grow straight",
        "stake" => "Where stalks are heavy or lean to the light.",
        "cooler" => "Stand them cooler and out of the noon sun, so that flowers last longer",
        "cut-scape" => "Cut the spent stalk a few centimetres above the bulb; keep the leaves.",
        "feed" => "While leaves grow. Which feed and how much is on its label.",
        "measure" => "Measure around each bulb, clean and on the same day, so that sizes can be compared",
        _ => "",
    }
}

/// What a usual job is called in the list.
pub(crate) fn usual_title(key: &str, job: &CareJob) -> String {
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
pub(crate) fn job_in_short(job: &CareJob, state: &State, today: Date) -> String {
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
pub(crate) fn job_of_plan(planned: &Planned, job: &CareJob, state: &State, today: Date) -> String {
    let mut parts = vec![job_in_short(job, state, today)];
    if let Some(Progress { n_bulbs, done, next }) = progress(state, planned, job) {
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
    }
    parts.join(" · ")
}

/// What to mind with a job, and what that rests on.
pub(crate) fn about_job(job: &CareJob) -> Vec<String> {
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

pub(crate) fn rest_ends() -> &'static str {
    "Common practice: pot up what is not in a pot, bring all into light and warmth, water sparingly. Tick it as done when their rest has ended: days are counted from there."
}

pub(crate) fn woke_early() -> &'static str {
    "Common practice: end its rest now. Pot it if it is not potted, give it light and a first watering. To hold it back, move it to a cooler place instead and postpone this. In a try it counts as it is: do not take it out."
}

pub(crate) fn clash(found: &Contradiction, state: &State, one_of: &str, other_of: &str) -> String {
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

pub(crate) fn put_it_right() -> &'static str {
    "Put it right"
}

// One job.

pub(crate) fn not_due() -> &'static str {
    "Not due any more"
}

pub(crate) fn not_due_under() -> &'static str {
    "It was done, skipped or postponed meanwhile, perhaps by somebody else."
}

pub(crate) fn done() -> &'static str {
    "Done"
}

pub(crate) fn take_all(n: usize) -> String {
    format!("Take all {n}")
}

pub(crate) fn taken_all(n: usize) -> String {
    format!("Taken into the care plan: {n} jobs")
}

pub(crate) fn in_detail() -> &'static str {
    "Record it with more detail"
}

pub(crate) fn how_to_inspect() -> &'static str {
    "Take each bulb in hand. Leave out those that are not firm and inspect them on their own pages."
}

pub(crate) fn all_firm() -> &'static str {
    "These were found firm"
}

pub(crate) fn found_firm(n: usize) -> String {
    format!("Found firm: {}", bulbs(n))
}

pub(crate) fn postpone() -> &'static str {
    "Postpone"
}

pub(crate) fn until() -> &'static str {
    "Until"
}

pub(crate) fn postponed(until: Date, today: Date) -> String {
    format!("Postponed until {}", date_short(until, today))
}

pub(crate) fn later_day() -> &'static str {
    "Choose a day after today to postpone it to."
}

pub(crate) fn skip() -> &'static str {
    "Skip"
}

pub(crate) fn why() -> &'static str {
    "Why"
}

pub(crate) fn say_why() -> &'static str {
    "Write in a word or two why it is skipped."
}

pub(crate) fn skipped() -> &'static str {
    "Skipped"
}

// The form of a job.

pub(crate) fn what_kind() -> &'static str {
    "What kind of job"
}

pub(crate) fn doing(doing: Doing) -> &'static str {
    match doing {
        Doing::Act => "do something",
        Doing::Look => "look at each",
        Doing::Inspect => "inspect each",
        Doing::Own => "in own words",
    }
}

pub(crate) fn which_act() -> &'static str {
    "What is to be done"
}

pub(crate) fn own_words() -> &'static str {
    "The job in your words"
}

pub(crate) fn to_mind() -> &'static str {
    "What to mind, if anything"
}

pub(crate) fn counted_from() -> &'static str {
    "Counted from"
}

pub(crate) fn from(from: JobFrom) -> &'static str {
    match from {
        JobFrom::Date => "a day",
        JobFrom::RunStart => "the try's start",
        JobFrom::RestEnd => "the end of the rest",
        JobFrom::Act => "something done",
        JobFrom::Stage => "a stage seen",
    }
}

pub(crate) fn first_day() -> &'static str {
    "First day"
}

pub(crate) fn after_which() -> &'static str {
    "After what"
}

pub(crate) fn which_stage() -> &'static str {
    "From which stage on"
}

pub(crate) fn days_after() -> &'static str {
    "Days after that"
}

pub(crate) fn how_often() -> &'static str {
    "How often"
}

pub(crate) fn once() -> &'static str {
    "once"
}

pub(crate) fn again() -> &'static str {
    "again and again"
}

pub(crate) fn every_days() -> &'static str {
    "Every how many days"
}

pub(crate) fn tolerance() -> &'static str {
    "Days it may be early or late"
}

pub(crate) fn tolerance_hint() -> &'static str {
    "Done so much earlier, it counts; so much later, it is not late yet."
}

pub(crate) fn when_at_all() -> &'static str {
    "Falls due"
}

pub(crate) fn during(during: During) -> &'static str {
    match during {
        During::Always => "always",
        During::Rest => "only at rest",
        During::Growth => "not at rest",
    }
}

pub(crate) fn who() -> &'static str {
    "Who does it"
}

pub(crate) fn anybody() -> &'static str {
    "anybody"
}

pub(crate) fn saved_job(title: &str) -> String {
    format!("In the care plan: {title}")
}

pub(crate) fn give_up() -> &'static str {
    "Give this job up"
}

pub(crate) fn given_up(title: &str) -> String {
    format!("Given up: {title}")
}

// The week and the calendar.

/// What an occasion is called.
pub(crate) fn occasion(occasion: &Occasion, state: &State) -> String {
    let name = |run| super::due::question(run, state);
    match &occasion.job {
        Job::Planned { subject, slot } => plan::find(state, *subject, slot).map(planned_title).unwrap_or_default(),
        Job::RestEnds { run, .. } => format!("End the rest: {}", name(*run)),
        Job::Deadline { run, .. } => format!("Last day that counts: {}", name(*run)),
        Job::StartRun { run, .. } => format!("Start the planned try: {}", name(*run)),
        _ => "Walk through".to_owned(),
    }
}

/// What comes next, where nothing is due today.
pub(crate) fn next(title: &str, day: Date, today: Date) -> String {
    format!("Next: {title}, {}", date_short(day, today))
}

pub(crate) fn occasion_bulbs(occasion: &Occasion) -> String {
    match (occasion.n_bulbs, occasion.n_later) {
        (0, _) => String::new(),
        (n, 0) => bulbs(n),
        (n, later) => format!("{}, {later} more later", bulbs(n)),
    }
}

pub(crate) fn occasion_person(occasion: &Occasion, state: &State) -> String {
    let who = plan::person_of(state, &occasion.job);
    who.map(|who| state.name_of(who).to_owned()).unwrap_or_default()
}

/// The saved plan that a job is of.
pub(crate) fn of_plan(occasion: &Occasion, state: &State) -> Option<String> {
    match &occasion.job {
        Job::Planned { subject, .. } if state.forcings.contains_key(subject) => {
            Some(state.name_of(*subject).to_owned())
        }
        _ => None,
    }
}

/// Everything else that a calendar shows of an occasion.
pub(crate) fn occasion_more(occasion: &Occasion, state: &State) -> String {
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

pub(crate) fn week_title(today: Date) -> String {
    let week = today.iso_week();
    format!("Jobs from {} · week {}", date_short(today, today), week.week)
}

pub(crate) fn week_under() -> &'static str {
    "As the records stand now. What is late stands under the first day. Looks are recorded bulb by bulb: take a walk sheet of the place along."
}

pub(crate) fn nothing_planned() -> &'static str {
    "Nothing planned."
}

pub(crate) fn print() -> &'static str {
    "Print"
}

pub(crate) fn back_to_due() -> &'static str {
    "Back to Due"
}

pub(crate) fn calendar_under() -> &'static str {
    "Jobs of the care plans, looks, ends of rests and last days that count, as whole days for the calendar of your phone or computer. Nothing is sent anywhere: open the file with your calendar."
}

pub(crate) fn calendar_again() -> &'static str {
    "A later file changes what an earlier one brought: days that moved move, jobs that are done go. Repeating jobs are written for half a year ahead."
}

pub(crate) fn calendar_saved() -> &'static str {
    "Calendar file saved. Open it with your calendar."
}

pub(crate) fn calendar_link() -> &'static str {
    "Jobs and days to come, for a calendar"
}

pub(crate) fn remind() -> &'static str {
    "Remind"
}

pub(crate) fn remind_morning() -> &'static str {
    "at 7:00 on the day"
}

pub(crate) fn remind_evening() -> &'static str {
    "at 18:00 the day before"
}

pub(crate) fn remind_never() -> &'static str {
    "not at all"
}
