//! Times that looks bound, and the scores of chances that were said.

use bloomdue_core::evidence::forecast_scores::{Level, Scored};
use bloomdue_core::evidence::interval_times::{Bounds, Shape, Times};
use serde_json::{Map, Value, json};

use super::{counts, list, number, refused, said_number};

/// Ends of intervals, which may be infinite.
fn ends(value: &Value) -> Vec<f64> {
    let items = value.as_array().map(Vec::as_slice).unwrap_or_default();
    let end = |item: &Value| match item.as_str() {
        Some("Infinity") => Some(f64::INFINITY),
        _ => item.as_f64(),
    };
    items.iter().map_while(end).collect()
}

/// Both distributions.
pub(super) fn interval_times(input: &Value, _: &Value) -> Value {
    let (left, right) = (ends(&input["left"]), ends(&input["right"]));
    let bulbs: Vec<Bounds> = left.into_iter().zip(right).map(|(left, right)| Bounds { left, right }).collect();
    let mut groups = counts(&input["group"]);
    if input.get("group").is_none() {
        groups = vec![0; bulbs.len()];
    }
    json!({
        "lognormal": one_shape(Shape::Lognormal, &bulbs, &groups),
        "weibull": one_shape(Shape::Weibull, &bulbs, &groups),
    })
}

fn one_shape(shape: Shape, bulbs: &[Bounds], groups: &[usize]) -> Value {
    let times = match Times::new(shape, bulbs, groups) {
        Ok(times) => times,
        Err(reason) => {
            let mut all = Map::new();
            all.insert("estimable".to_owned(), json!(false));
            for field in ["coefficients", "log_scale", "scale", "covariance", "loglik", "groups"] {
                all.insert(field.to_owned(), refused(reason));
            }
            return Value::Object(all);
        }
    };
    let row = |row: &Vec<f64>| -> Value { row.iter().copied().map(number).collect() };
    let of_group = |group: usize| {
        let quantile = |p: f64, of: fn((f64, f64)) -> f64| said_number(times.quantile(group, p).map(of));
        // The days that the files ask from: half and all of exp(μ), to three digits.
        let scale = times.location(group).exp();
        let conditional: Vec<Value> =
            [scale / 2.0, scale].into_iter().map(|day| after(&times, group, three_digits(day))).collect();
        json!({
            "group": group,
            "q10": quantile(0.1, |q| q.0), "q50": quantile(0.5, |q| q.0), "q90": quantile(0.9, |q| q.0),
            "se_q10": quantile(0.1, |q| q.1), "se_q50": quantile(0.5, |q| q.1), "se_q90": quantile(0.9, |q| q.1),
            "conditional": conditional,
        })
    };
    json!({
        "estimable": true,
        "coefficients": row(&times.coefficients),
        "log_scale": number(times.ln_spread),
        "scale": number(times.spread()),
        "covariance": times.covariance.iter().map(row).collect::<Value>(),
        "loglik": number(times.ln_likelihood),
        "groups": (0..times.coefficients.len()).map(of_group).collect::<Value>(),
    })
}

fn after(times: &Times, group: usize, day: f64) -> Value {
    let quantile = |p: f64| said_number(times.quantile_after(group, day, p));
    json!({
        "not_yet_by": day,
        "q10": quantile(0.1), "q50": quantile(0.5), "q90": quantile(0.9),
        "p_within_next_7": said_number(times.chance_within(group, day, 7.0)),
    })
}

fn three_digits(value: f64) -> f64 {
    format!("{value:.2e}").parse().unwrap_or(value)
}

/// Scores of chances.
pub(super) fn scores(input: &Value, _: &Value) -> Value {
    let outcomes = list(&input["outcome"]).into_iter().map(|came| came == 1.0);
    let scored = match Scored::new(list(&input["forecast"]).into_iter().zip(outcomes).collect()) {
        Ok(scored) => scored,
        Err(reason) => return refused(reason),
    };
    let n_bins = input["bins"].as_u64().unwrap_or(10) as usize;
    let part =
        |of: fn(bloomdue_core::evidence::forecast_scores::Parts) -> f64| said_number(scored.parts(n_bins).map(of));
    let bins = scored.bins(n_bins).map_or_else(refused, |bins| {
        let or_none = |value: Option<f64>| value.map_or(Value::Null, number);
        let bin = |bin: &bloomdue_core::evidence::forecast_scores::Bin| {
            json!({
                "from": bin.from, "to": bin.to, "n": bin.n,
                "mean_forecast": or_none(bin.mean_said), "observed": or_none(bin.came),
            })
        };
        bins.iter().map(bin).collect()
    });
    let level = |level: Level| json!({ "x_from": level.from, "x_to": level.to, "value": number(level.value), "weight": level.n });
    json!({
        "brier": number(scored.brier()),
        "log_score": number(scored.log_score()),
        "log_score_clipped_1e15": number(scored.log_score_clipped(1e-15)),
        "brier_reference_base_rate": number(scored.brier_of_base_rate()),
        "brier_skill": said_number(scored.skill()),
        "bins": bins,
        "reliability": part(|parts| parts.reliability),
        "resolution": part(|parts| parts.resolution),
        "uncertainty": part(|parts| parts.uncertainty),
        "expected_calibration_error": part(|parts| parts.calibration_error),
        "isotonic_blocks": scored.isotonic().into_iter().map(level).collect::<Value>(),
    })
}
