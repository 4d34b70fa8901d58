//! How well calls tell stalks from leaves, and how far two observers agree.

use bloomdue_core::call::{
    Accuracy,
    past::{OfKind, Told},
};
use bloomdue_core::evidence::kappa::{Kappa, Weights, kappa};
use serde_json::{Value, json};

use super::{counts, number, refused};

fn told(told: Told) -> Value {
    let interval = told.interval();
    let estimate = if told.n == 0 { Value::Null } else { number(told.right as f64 / told.n as f64) };
    json!({ "estimate": estimate, "lower": number(interval.lower), "upper": number(interval.upper) })
}

/// Counts of calls to the shares that a screen shows, at 95 %.
pub(super) fn accuracy(input: &Value, _: &Value) -> Value {
    let n = |field: &str| input[field].as_u64().unwrap_or_default() as usize;
    let (stalk_right, leaf_wrong) = (n("true_positive"), n("false_positive"));
    let (stalk_wrong, leaf_right) = (n("false_negative"), n("true_negative"));
    let accuracy = Accuracy {
        n_called: stalk_right + leaf_wrong + stalk_wrong + leaf_right,
        stalks: OfKind { called_stalk: stalk_right, called_leaf: stalk_wrong, left_even: 0 },
        leaves: OfKind { called_stalk: leaf_wrong, called_leaf: leaf_right, left_even: 0 },
    };
    json!({
        "sensitivity": told(accuracy.sensitivity()),
        "specificity": told(accuracy.specificity()),
        "positive_predictive_value": told(accuracy.predictive_of_stalk()),
        "negative_predictive_value": told(accuracy.predictive_of_leaf()),
        "accuracy": told(accuracy.overall()),
    })
}

/// All three weightings of one table.
pub(super) fn cohen_kappa(input: &Value, _: &Value) -> Value {
    let rows = input["table"].as_array().map(Vec::as_slice).unwrap_or_default();
    let table: Vec<Vec<usize>> = rows.iter().map(counts).collect();
    let of = |weights| match kappa(&table, weights) {
        Ok(found) => one(&found),
        Err(reason) => json!({ "kappa": refused(reason) }),
    };
    let plain = kappa(&table, Weights::None);
    let shares = |of: fn(&Kappa) -> f64| plain.as_ref().map_or(Value::Null, |found| number(of(found)));
    json!({
        "observed_agreement": shares(|found| found.observed),
        "expected_agreement": shares(|found| found.expected),
        "unweighted": of(Weights::None),
        "linear_weighted": of(Weights::Linear),
        "quadratic_weighted": of(Weights::Quadratic),
    })
}

fn one(found: &Kappa) -> Value {
    let (lower, upper) = found.interval();
    json!({
        "kappa": number(found.kappa),
        "se": number(found.se),
        "lower": number(lower),
        "upper": number(upper),
        "se0": number(found.se_under_none),
    })
}
