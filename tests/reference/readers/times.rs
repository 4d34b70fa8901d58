//! Times to a stage.

use bloomdue_core::evidence::kaplan_meier::{Curve, Followed, Scale, Step};
use bloomdue_core::evidence::logrank::{self, Member};
use bloomdue_core::evidence::permutation::Permuted;
use bloomdue_core::evidence::turnbull::{self, Bounds};
use bloomdue_core::evidence::{Interval, Level};
use serde_json::{Map, Value, json};

use super::{list, number, object, refused, said_number};

/// Kaplan–Meier, or log-rank where the input names groups.
pub(super) fn right_censored(input: &Value, file: &Value) -> Value {
    if input.get("group").is_some() { logrank(input, file) } else { kaplan_meier(input, file) }
}

fn followed(input: &Value) -> Vec<Followed> {
    let both = list(&input["time"]).into_iter().zip(list(&input["status"]));
    both.map(|(time, status)| Followed { time, event: status == 1.0 }).collect()
}

/// The curve, its limits, quantiles and restricted mean.
pub(super) fn kaplan_meier(input: &Value, _: &Value) -> Value {
    let curve = match Curve::new(&followed(input)) {
        Ok(curve) => curve,
        Err(reason) => return refused(reason),
    };
    let level = Level::new(input["conf_level"].as_f64().unwrap_or(0.95)).unwrap_or(Level::PCT_95);
    let column = |of: &dyn Fn(&Step) -> Value| -> Value { curve.steps().iter().map(of).collect() };
    let mut all = object(json!({
        "time": column(&|step| number(step.time)),
        "n_risk": column(&|step| json!(step.at_risk)),
        "n_event": column(&|step| json!(step.events)),
        "survival": column(&|step| number(step.survival)),
        "std_err_greenwood": column(&|step| said_number(step.standard_error())),
    }));
    for (name, scale) in [("plain", Scale::Plain), ("log", Scale::Log), ("log_log", Scale::LogLog)] {
        let end = |of: fn(Interval) -> f64| column(&|step| said_number(step.limits(scale, level).map(of)));
        all.insert(name.to_owned(), json!({ "lower": end(|band| band.lower), "upper": end(|band| band.upper) }));
        all.insert(format!("quantiles_{name}"), quantiles(&curve, scale, level));
    }
    if let Some(tau) = input["tau"].as_f64() {
        let mean = curve.restricted_mean(tau);
        all.insert("restricted_mean".to_owned(), said_number(mean.map(|mean| mean.0)));
        all.insert("restricted_mean_se".to_owned(), said_number(mean.map(|mean| mean.1)));
    }
    Value::Object(all)
}

fn quantiles(curve: &Curve, scale: Scale, level: Level) -> Value {
    let of = |p: f64| {
        let (lower, upper) = curve.quantile_limits(p, scale, level);
        json!({ "estimate": said_number(curve.quantile(p)), "lower": said_number(lower), "upper": said_number(upper) })
    };
    json!({ "q25": of(0.25), "median": of(0.5), "q75": of(0.75) })
}

/// Log-rank, its permutation, and both within blocks where there are some.
pub(super) fn logrank(input: &Value, _: &Value) -> Value {
    let groups: Vec<usize> = super::counts(&input["group"]);
    let blocks: Vec<usize> = super::counts(&input["block"]);
    let count = groups.iter().max().map_or(0, |most| most + 1);
    let members: Vec<Member> =
        followed(input).into_iter().zip(groups).map(|(followed, group)| Member { followed, group, block: 0 }).collect();
    let mut all = of_logrank(logrank::test(&members, count));
    if count == 2 {
        all.insert("permutation".to_owned(), permutation("scores", &members));
    }
    if blocks.len() == members.len() {
        let blocked: Vec<Member> =
            members.iter().zip(blocks).map(|(&member, block)| Member { block, ..member }).collect();
        all.insert("stratified".to_owned(), Value::Object(of_logrank(logrank::test(&blocked, count))));
        if count == 2 {
            all.insert("permutation_within_blocks".to_owned(), permutation("scores_within_block", &blocked));
        }
    }
    Value::Object(all)
}

fn of_logrank(test: bloomdue_core::evidence::Result<logrank::Logrank>) -> Map<String, Value> {
    let test = match test {
        Ok(test) => test,
        Err(reason) => return object(json!({ "chi2": refused(reason), "p": refused(reason) })),
    };
    object(json!({
        "observed": test.observed.iter().copied().map(number).collect::<Value>(),
        "expected": test.expected.iter().copied().map(number).collect::<Value>(),
        "variance": number(test.variance),
        "chi2": said_number(test.statistic),
        "df": test.df,
        "p": number(test.p),
    }))
}

fn permutation(scores_name: &str, members: &[Member]) -> Value {
    let both = logrank::permuted(members).and_then(|permuted| Ok((permuted, logrank::scores(members)?)));
    let (permuted, scores): (Permuted, Vec<f64>) = match both {
        Ok(both) => both,
        Err(reason) => return refused(reason),
    };
    json!({
        scores_name: scores.into_iter().map(number).collect::<Value>(),
        "n_allocations": number(permuted.draws),
        "u": number(permuted.sum),
        "mean_u": number(permuted.mean),
        "var_u": number(permuted.variance),
        "p_two_sided": number(permuted.two_sided),
        "p_upper": number(permuted.upper),
        "p_lower": number(permuted.lower),
    })
}

/// Turnbull's curve.
pub(super) fn turnbull(input: &Value, _: &Value) -> Value {
    let (left, right) = (days(&input["left"]), days(&input["right"]));
    let bulbs: Vec<Bounds> = left.into_iter().zip(right).map(|(left, right)| Bounds { left, right }).collect();
    let curve = match turnbull::Curve::new(&bulbs) {
        Ok(curve) => curve,
        Err(reason) => return refused(reason),
    };
    let interval = |stretch: &turnbull::Stretch| json!({ "left": number(stretch.left), "right": number(stretch.right), "mass": number(stretch.mass) });
    let mut rest = 1.0;
    let after = curve.stretches.iter().map(|stretch| {
        rest = f64::max(0.0, rest - stretch.mass);
        number(rest)
    });
    let after: Vec<Value> = after.collect();
    json!({
        "intervals": curve.stretches.iter().map(interval).collect::<Value>(),
        "loglik": number(curve.ln_likelihood),
        "survival_after_right_first_seven": after.iter().take(7).cloned().collect::<Value>(),
        "survival_after_right": after,
    })
}

/// Days, of which some may be infinite.
fn days(value: &Value) -> Vec<f64> {
    let items = value.as_array().map(Vec::as_slice).unwrap_or_default();
    let day = |item: &Value| {
        if item == "Infinity" { Some(f64::INFINITY) } else { item.as_f64() }
    };
    items.iter().map_while(day).collect()
}
