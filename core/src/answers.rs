//! What the screens say of a whole nursery, as one value that can be written as JSON: `cargo xtask answers FILE`.
//!
//! The shape is documented field by field in `tests/answers.md`. Numbers are those of the screens, computed by the same
//! functions; a number that cannot be said is `{"cannot_be_said": "reason"}`, an endless bound is `null`.

use serde::Serialize;

use crate::{
    calendar::Date,
    evidence::{Said, serialize_said},
    ledger::{Field, Ledger, id::Id},
    nursery::State,
    trial::result::{
        RunResult,
        foresight::{Settles, least_share, settles},
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
    /// Trial by trial.
    pub trials: Vec<TrialAnswer>,
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
    pub prediction: Said<NextTry>,
    /// Bulbs a group that would tell each gap apart 8 times in 10.
    pub settles: Vec<Settles>,
}

/// Everything that is said of a nursery on `today`.
pub fn answers(ledger: &Ledger, state: &State, today: Date) -> Answers {
    Answers {
        on: today,
        ledger: ledger.id(),
        digest: ledger.digest().iter().map(|b| format!("{b:02x}")).collect(),
        n_entries: ledger.len(),
        trials: state
            .trials
            .keys()
            .filter_map(|trial| of_trial(ledger, state, *trial, today))
            .collect(),
    }
}

fn of_trial(ledger: &Ledger, state: &State, trial: Id, today: Date) -> Option<TrialAnswer> {
    let result = trial_result(ledger, state, trial, today)?;
    let question = state.trials.get(&trial)?.question.shown();
    let group = |group: &Id| GroupName {
        group: *group,
        name: state.name_of(*group).to_owned(),
        control: state
            .groups
            .get(group)
            .and_then(Field::shown)
            .is_some_and(|treatment| treatment.control),
    };
    let next = result.pairs.iter().map(|pair| {
        let rows = pair.forest.iter();
        let base = least_share(rows.flat_map(|row| [(pair.a, row.a), (pair.b, row.b)]));
        Next {
            a: pair.a,
            b: pair.b,
            prediction: next_try(&pair.forest),
            settles: settles(base),
        }
    });
    let next = next.collect();
    Some(TrialAnswer {
        trial,
        question: question.map_or_else(String::new, |question| question.text.clone()),
        groups: question.map_or_else(Vec::new, |question| {
            question.groups.iter().map(group).collect()
        }),
        tries: result
            .tries
            .iter()
            .filter_map(|one| run_result(ledger, state, one.run, today))
            .collect(),
        next,
        result,
    })
}
