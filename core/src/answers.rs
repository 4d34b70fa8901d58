//! What the screens say of a whole nursery, as one value that can be written as JSON: `cargo xtask answers FILE`.
//!
//! The shape is documented field by field in `tests/answers.md`. Numbers are those of the screens, computed by the same
//! functions; a number that cannot be said is `{"cannot_be_said": "reason"}`, an endless bound is `null`.

use std::collections::BTreeMap;

use serde::{Serialize, Serializer};

use crate::{
    calendar::Date,
    care::{self, Due, plan::planned},
    error::Error,
    evidence::serialize_said,
    forecast::{
        self, Futures, Outlook, Wanted, Window,
        score::{Scores, scores},
    },
    ledger::{Ledger, Register, body::Forcing, id::Id},
    nursery::State,
    plan::{self, Plan, Refusal, Wish},
    trial::result::{
        RunResult,
        design_power::{Settles, least_share, settles},
        run_result,
        tries::{NextTry, TrialResult, next_try, trial_result},
    },
};

/// Everything that is said of a nursery on a day.
#[derive(Clone, Debug, Serialize)]
pub struct Answers {
    /// The day.
    pub on: Date,
    /// The ledger.
    pub ledger: Id,
    /// Its digest, in hexadecimal digits.
    pub digest: String,
    /// How many entries it holds.
    pub n_entries: usize,
    /// Entries of later days, which are not heeded ([`known_on`]).
    pub n_later: usize,
    /// Of those heeded, the entries whose kind or body this version cannot read: they say nothing here.
    pub n_unknown: usize,
    /// What needs hands.
    pub due: Due,
    /// What to expect, when it was asked for.
    #[serde(serialize_with = "asked_for")]
    pub forecast: Option<crate::evidence::Result<ForecastAnswer>>,
    /// Plans back from dates, when they were asked for.
    pub plans: Option<Vec<PlanAnswer>>,
    /// How the forecasts that were kept did.
    pub earlier_forecasts: Scores,
    /// Trial by trial.
    pub trials: Vec<TrialAnswer>,
}

/// What to expect.
#[derive(Clone, Debug, Serialize)]
pub struct ForecastAnswer {
    /// The seed of the fit.
    pub seed: u64,
    /// Treatments by the index that groups name them with.
    pub treatments: Vec<String>,
    /// The due windows of running tries, then the coming four weeks.
    pub windows: Vec<WindowAnswer>,
}

/// What to expect in a window.
#[derive(Clone, Debug, Serialize)]
pub struct WindowAnswer {
    /// What it is for; empty when it has no name.
    pub name: String,
    /// The tries whose due window it is.
    pub runs: Vec<Id>,
    /// The saved plans whose due window it is.
    pub plans: Vec<Id>,
    /// Its days.
    pub window: Window,
    /// What they want; what the screen shows first.
    pub wanted: Wanted,
    /// What is said, or why the days cannot be asked about.
    #[serde(serialize_with = "or_why")]
    pub outlook: Result<Outlook, Error>,
}

fn asked_for<S: Serializer>(
    forecast: &Option<crate::evidence::Result<ForecastAnswer>>,
    to: S,
) -> Result<S::Ok, S::Error> {
    match forecast {
        Some(said) => serialize_said(said, to),
        None => to.serialize_none(),
    }
}

fn or_why<S: Serializer>(outlook: &Result<Outlook, Error>, to: S) -> Result<S::Ok, S::Error> {
    match outlook {
        Ok(outlook) => outlook.serialize(to),
        Err(why) => to.collect_map([("cannot_be_said", why.to_string())]),
    }
}

/// A plan for one wish.
#[derive(Clone, Debug, Serialize)]
pub struct PlanAnswer {
    /// The forcing that was saved; nothing for a wish made of a due window.
    pub forcing: Option<Id>,
    /// What it is for; empty when it has no name.
    pub name: String,
    /// What is wanted.
    pub wish: Wish,
    /// The plan, or why there is none.
    pub plan: Result<Plan, Refusal>,
    /// What to try next, for the same wish.
    pub next_try: Result<plan::NextTry, Refusal>,
}

/// What is said of one trial.
#[derive(Clone, Debug, Serialize)]
pub struct TrialAnswer {
    /// The trial.
    pub trial: Id,
    /// Its question.
    pub question: String,
    /// Its groups with their names.
    pub groups: Vec<GroupName>,
    /// All tries together.
    pub result: TrialResult,
    /// The next try, pair by pair in the order of `result.pairs`.
    pub next: Vec<Next>,
    /// Try by try.
    pub tries: Vec<RunResult>,
}

/// A group's name.
#[derive(Clone, Debug, Serialize)]
pub struct GroupName {
    /// The group.
    pub group: Id,
    /// Its name.
    pub name: String,
    /// Whether it is what the nursery would have done anyway.
    pub control: bool,
}

/// What is expected of the next try, and what would settle the question.
#[derive(Clone, Debug, Serialize)]
pub struct Next {
    /// First group.
    pub a: Id,
    /// Second group.
    pub b: Id,
    /// The prediction.
    #[serde(serialize_with = "serialize_said")]
    pub prediction: crate::evidence::Result<NextTry>,
    /// Bulbs a group that would tell each gap apart 8 times in 10.
    pub settles: Vec<Settles>,
}

/// What had happened by a day, and how many entries of later days are left out: so that a past day is answered without
/// the records that came after it. What was written down late for an earlier day stays in.
pub fn known_on(ledger: &Ledger, on: Date) -> (Ledger, usize) {
    let mut known = Ledger::new(ledger.id());
    for entry in ledger.arrived() {
        if entry.envelope.happened.date() <= on {
            known.insert(entry.clone());
        }
    }
    let n_later = ledger.len() - known.len();
    (known, n_later)
}

/// Everything that is said of a nursery on `today` but for the forecast, which takes seconds: see [`forecast_of`].
pub fn answers(ledger: &Ledger, state: &State, today: Date) -> Answers {
    let mut due = care::due(state, today);
    due.add(state, planned(state, today));
    Answers {
        on: today,
        ledger: ledger.id(),
        digest: ledger.digest().iter().map(|b| format!("{b:02x}")).collect(),
        n_entries: ledger.len(),
        n_later: 0,
        n_unknown: ledger.unknown().count(),
        due,
        forecast: None,
        plans: None,
        earlier_forecasts: scores(ledger, state, today),
        trials: state.trials.keys().filter_map(|trial| of_trial(ledger, state, *trial, today)).collect(),
    }
}

/// What to expect in the windows that the screen offers, all from one fit.
///
/// # Errors
/// As [`forecast::fit`].
pub fn forecast_of(state: &State, today: Date) -> crate::evidence::Result<ForecastAnswer> {
    let data = forecast::gather(state, today);
    let seed = data.seed();
    let fit = forecast::fit(&data, seed, |_| true)?;
    let futures = Futures::of(&data, &fit);
    let mut offered = forecast::offered(state, today);
    offered.push(forecast::Offered {
        runs: Vec::new(),
        plans: Vec::new(),
        name: String::new(),
        window: forecast::next_weeks(today),
        wanted: Wanted::FitToSell,
    });
    let windows = offered.into_iter().map(|one| WindowAnswer {
        outlook: one.ask(state, today).map(|ask| forecast::outlook_of(&data, &fit, &futures, &ask)),
        name: one.name,
        runs: one.runs,
        plans: one.plans,
        window: one.window,
        wanted: one.wanted,
    });
    Ok(ForecastAnswer { seed, windows: windows.collect(), treatments: data.treatments })
}

/// Plans from one fit: those that were saved, as their bulbs stand now, then one for the due window of each running try
/// with what the form would start with: half the bulbs that are at hand.
///
/// # Errors
/// As [`forecast::fit`].
pub fn plans_of(state: &State, today: Date) -> crate::evidence::Result<Vec<PlanAnswer>> {
    let data = forecast::gather(state, today);
    let fit = forecast::fit(&data, data.seed(), |_| true)?;
    let answer = |saved: Option<(Id, &Forcing)>, name: &str, wish: Wish, bulbs: &[Id]| {
        let mut plan = plan::plan(&data, &fit, &wish);
        if let Ok(plan) = &mut plan {
            let forcing = saved.map(|(_, forcing)| forcing);
            // A saved plan keeps its days, as its page shows them.
            let kept = forcing.and_then(|forcing| plan::as_saved(plan, &wish, forcing, bulbs, &data, state));
            let as_saved = forcing.filter(|_| kept.is_some());
            if let Some(kept) = kept {
                *plan = kept;
            }
            plan::with_inspections(plan, state, as_saved, bulbs, today);
        }
        PlanAnswer {
            forcing: saved.map(|(id, _)| id),
            name: name.to_owned(),
            plan,
            next_try: plan::next_try(&data, &fit, &wish, wish.treatment, plan::spend::SEASONS),
            wish,
        }
    };
    let forcings = state.forcings.iter();
    let meant = forcings.filter_map(|(id, field)| Some((*id, field.shown()?)));
    let saved = meant.filter(|(_, forcing)| !forcing.given_up);
    let mut all: Vec<PlanAnswer> = saved
        .map(|(id, forcing)| {
            let (wish, bulbs, _) = plan::wish_now(state, forcing, &data);
            answer(Some((id, forcing)), &forcing.name, wish, &bulbs)
        })
        .collect();
    let at_hand = plan::AtHand::of(state, None, today);
    let (wish, bulbs) = plan::first_wish(state, &data, &at_hand);
    let mut due = forecast::offered(state, today);
    due.retain(|one| !one.runs.is_empty());
    all.extend(due.into_iter().map(|one| {
        let wish = Wish { window: one.window, stage: one.wanted, ..wish.clone() };
        answer(None, &one.name, wish, &bulbs)
    }));
    Ok(all)
}

fn of_trial(ledger: &Ledger, state: &State, trial: Id, today: Date) -> Option<TrialAnswer> {
    let result = trial_result(ledger, state, trial, today)?;
    let question = state.trials.get(&trial)?.question.shown();
    let group = |group: &Id| GroupName {
        group: *group,
        name: state.name_of(*group).to_owned(),
        control: state.groups.get(group).and_then(Register::shown).is_some_and(|treatment| treatment.control),
    };
    // Pairs with the same share have the same numbers to settle them, which take seconds to find.
    let mut known: BTreeMap<u64, Vec<Settles>> = BTreeMap::new();
    let next = result.pairs.iter().map(|pair| {
        let rows = pair.forest.iter();
        let base = least_share(rows.flat_map(|row| [(pair.a, row.a), (pair.b, row.b)]));
        let settled = known.entry(base.to_bits()).or_insert_with(|| settles(base));
        Next { a: pair.a, b: pair.b, prediction: next_try(&pair.forest), settles: settled.clone() }
    });
    let next = next.collect();
    Some(TrialAnswer {
        trial,
        question: question.map_or_else(String::new, |question| question.text.clone()),
        groups: question.map_or_else(Vec::new, |question| question.groups.iter().map(group).collect()),
        tries: result.tries.iter().filter_map(|one| run_result(ledger, state, one.run, today)).collect(),
        next,
        result,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::demo::{SCRIPT, generate};

    /// On a past day nothing is known of what came after it; what came before is all there.
    #[test]
    fn a_past_day_is_answered_without_what_came_after_it() {
        let today = Date::new(2026, 11, 25).expect("a day");
        let past = today.add_days(-60).expect("a day");
        let ledger = generate(SCRIPT, today).expect("the demo").to_ledger();
        let (known, n_later) = known_on(&ledger, past);
        assert!(n_later > 0 && !known.is_empty());
        assert_eq!(known.len() + n_later, ledger.len());
        let last = |ledger: &Ledger| {
            let days = ledger.arrived().iter();
            days.map(|entry| entry.envelope.happened.date()).max()
        };
        assert!(last(&known) <= Some(past) && last(&ledger) > Some(past));
        assert_eq!(known_on(&ledger, today).1, 0);
    }

    /// The demo on a day: what Due and the forecast say stands in the answers as it does on the screens.
    #[test]
    fn due_work_and_the_forecast_are_those_of_the_screens() {
        let today = Date::new(2026, 11, 25).expect("a day");
        let ledger = generate(SCRIPT, today).expect("the demo").to_ledger();
        let state = State::fold(&ledger);
        let mut said = answers(&ledger, &state, today);
        said.forecast = Some(forecast_of(&state, today));
        let json = serde_json::to_value(&said).expect("JSON");
        let places = json["due"]["places"].as_array().expect("places");
        assert!(places.iter().any(|at| at["jobs"][0]["bulbs"][0].is_string()));
        let windows = json["forecast"]["windows"].as_array().expect("windows");
        assert_eq!(windows.len(), forecast::offered(&state, today).len() + 1);
        for window in windows {
            let all = &window["outlook"]["groups"][0];
            assert_eq!(all["of"], "all");
            assert!(all["fit_in_window"]["at_least"][0].as_f64() >= Some(1.0));
        }
        let plans = plans_of(&state, today).expect("plans");
        assert_eq!(plans.len(), windows.len() - 1);
        let json_of = serde_json::to_value(&plans).expect("JSON");
        for (plan, json) in plans.iter().zip(json_of.as_array().expect("plans")) {
            let to_start = plan.plan.as_ref().expect("a plan").to_start;
            assert_eq!(json["plan"]["Ok"]["to_start"], to_start);
            assert_eq!(json["next_try"]["Ok"]["choices"][0]["advice"], "control");
        }
        assert!(!json["trials"].as_array().expect("trials").is_empty());
    }
}
