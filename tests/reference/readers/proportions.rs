//! One share, two shares, and shares while something is undecided.

use bloomdue_core::evidence::better::{self, Prior};
use bloomdue_core::evidence::bounds::{self, Undecided};
use bloomdue_core::evidence::{
    Interval, Level, Share, agresti_caffo, barnard, boschloo, clopper_pearson, difference, fisher, jeffreys, newcombe,
    ratio, score_difference, wilson,
};
use serde_json::{Map, Value, json};

use super::{interval, number, object, refused, said_number, share};

/// The level of a case, 95 % when it names none.
fn level(input: &Value) -> Option<Level> {
    Level::new(input["conf_level"].as_f64().unwrap_or(0.95)).ok()
}

/// The intervals of one share.
pub(super) fn one(input: &Value, _: &Value) -> Value {
    let share = match share(&input["events"], &input["n"]) {
        Ok(share) => share,
        Err(reason) => return refused(reason),
    };
    let Some(level) = level(input) else {
        return refused("no such level");
    };
    json!({
        "estimate": said_number(share.rate()),
        "wilson": interval(wilson::interval(share, level)),
        "clopper_pearson": interval(clopper_pearson::interval(share, level)),
        "jeffreys": interval(jeffreys::interval(share, level)),
        "jeffreys_equal_tailed_raw": interval(jeffreys::equal_tailed(share, level)),
    })
}

/// Everything said of two shares.
pub(super) fn two(input: &Value, _: &Value) -> Value {
    let shares =
        share(&input["events_a"], &input["n_a"]).and_then(|a| Ok((a, share(&input["events_b"], &input["n_b"])?)));
    let (a, b) = match shares {
        Ok(shares) => shares,
        Err(reason) => return refused(reason),
    };
    let mut all = tests(a, b);
    if let Some(level) = level(input) {
        all.extend(intervals(a, b, level));
    }
    all.extend(posterior(a, b, input));
    Value::Object(all)
}

fn intervals(a: Share, b: Share, level: Level) -> Map<String, Value> {
    let katz = ratio::katz(a, b, level).map_or_else(refused, interval);
    object(json!({
        "difference": said_number(difference(a, b)),
        "newcombe": interval(newcombe::interval(a, b, level)),
        "agresti_caffo": interval(agresti_caffo::interval(a, b, level)),
        "agresti_caffo_unclipped": interval(agresti_caffo::unclipped(a, b, level)),
        "miettinen_nurminen": interval(score_difference::miettinen_nurminen(a, b, level)),
        "mee_score": interval(score_difference::mee(a, b, level)),
        "risk_ratio": said_number(ratio::estimate(a, b)),
        "risk_ratio_katz": katz,
        "risk_ratio_miettinen_nurminen": interval(ratio::miettinen_nurminen(a, b, level)),
        "risk_ratio_koopman": interval(ratio::koopman(a, b, level)),
    }))
}

fn tests(a: Share, b: Share) -> Map<String, Value> {
    let fisher = fisher::test(a, b);
    let mut all = object(json!({
        "fisher_p_two_sided": number(fisher.two_sided),
        "fisher_p_a_greater": number(fisher.a_greater),
        "fisher_p_a_less": number(fisher.a_less),
        "fisher_midp_irwin": number(fisher.mid_p),
        "fisher_midp_doubled": number(fisher.mid_p_doubled),
    }));
    if let Some(barnard) = barnard::all(a, b) {
        all.extend(object(json!({
            "barnard_p_two_sided": number(barnard.two_sided),
            "barnard_p_a_greater": number(barnard.a_greater),
            "barnard_p_a_less": number(barnard.a_less),
        })));
    }
    if let Some(boschloo) = boschloo::all(a, b) {
        all.extend(object(json!({
            "boschloo_p_two_sided_doubled": number(boschloo.doubled),
            "boschloo_p_two_sided_fisher_ordering": number(boschloo.fisher_ordering),
            "boschloo_p_a_greater": number(boschloo.a_greater),
            "boschloo_p_a_less": number(boschloo.a_less),
        })));
    }
    all
}

fn posterior(a: Share, b: Share, input: &Value) -> Map<String, Value> {
    let under = |prior_a, prior_b| said_number(better::probability(a, b, prior_a, prior_b));
    let mut all = object(json!({ "posterior_p_a_greater_b": {
        "jeffreys": under(Prior::JEFFREYS, Prior::JEFFREYS),
        "uniform": under(Prior::UNIFORM, Prior::UNIFORM),
    }}));
    let prior = |value: &Value| Some(Prior { reached: value[0].as_f64()?, missed: value[1].as_f64()? });
    if let (Some(prior_a), Some(prior_b)) = (prior(&input["prior_a"]), prior(&input["prior_b"])) {
        let not_greater = better::probability(a, b, prior_a, prior_b).map(|p| 1.0 - p);
        all.insert("posterior_p_a_not_greater_b".to_owned(), said_number(not_greater));
        all["posterior_p_a_greater_b"]["given"] = under(prior_a, prior_b);
    }
    all
}

/// How often an interval for a difference holds the truth: mean, least, and mean width over pairs of shares 0.02, 0.04
/// … 0.98, both counts enumerated.
pub(super) fn coverage(input: &Value, _: &Value) -> Value {
    let method = match input["interval"].as_str() {
        Some("newcombe") => newcombe::interval,
        Some("agresti_caffo") => agresti_caffo::interval,
        Some("miettinen_nurminen") => score_difference::miettinen_nurminen,
        _ => return refused("no such interval"),
    };
    let n = match input["n"].as_u64() {
        Some(n @ 1..=60) => n as u32,
        _ => return refused("no such size"),
    };
    let grid: Vec<f64> = (1..50).map(|step| f64::from(step) / 50.0).collect();
    let terms: Vec<Vec<f64>> = grid.iter().map(|&p| terms(n, p)).collect();
    let mut held = vec![vec![0.0; grid.len()]; grid.len()];
    let mut width = 0.0;
    for x in 0..=n {
        for y in 0..=n {
            let (Ok(a), Ok(b)) = (Share::new(x, n), Share::new(y, n)) else {
                return refused("no such share");
            };
            let Interval { lower, upper } = method(a, b, Level::PCT_95);
            for (i, row) in held.iter_mut().enumerate() {
                for (j, held) in row.iter_mut().enumerate() {
                    let gap = grid[i] - grid[j];
                    let likely = terms[i][x as usize] * terms[j][y as usize];
                    let inside = lower <= gap + 1e-12 && gap - 1e-12 <= upper;
                    *held += if inside { likely } else { 0.0 };
                    width += likely * (upper - lower);
                }
            }
        }
    }
    let held = held.concat();
    let count = held.len() as f64;
    json!({
        "mean": number(held.iter().sum::<f64>() / count),
        "least": number(held.iter().copied().fold(1.0, f64::min)),
        "mean_width": number(width / count),
    })
}

/// The probabilities of 0 to n of n.
fn terms(n: u32, p: f64) -> Vec<f64> {
    let mut ways = 1.0;
    let term = |x: u32| {
        if x > 0 {
            ways *= f64::from(n - x + 1) / f64::from(x);
        }
        ways * p.powi(x as i32) * (1.0 - p).powi((n - x) as i32)
    };
    (0..=n).map(term).collect()
}

/// Shares while something is undecided.
pub(super) fn undecided(input: &Value, _: &Value) -> Value {
    let (a, b) = (group(&input["arm_a"]), group(&input["arm_b"]));
    let mut all = Map::new();
    for (name, group) in [("arm_a", a), ("arm_b", b)] {
        if let Some(group) = group {
            all.insert(name.to_owned(), of_group(group));
        }
    }
    if let (Some(a), Some(b)) = (a, b) {
        let of_resolved = a.resolved().and_then(|a| difference(a, b.resolved()?));
        let (smallest, largest) = match bounds::fisher_over_completions(a, b) {
            Ok(Interval { lower, upper }) => (number(lower), number(upper)),
            Err(reason) => (refused(reason), refused(reason)),
        };
        all.extend(object(json!({
            "difference_bounds": bounds::difference(a, b).map_or_else(refused, interval),
            "difference_of_resolved": said_number(of_resolved),
            "fisher_p_over_completions": { "smallest": smallest, "largest": largest },
            "fisher_p_resolved_only": said_number(bounds::fisher_of_resolved(a, b)),
        })));
    }
    Value::Object(all)
}

fn group(value: &Value) -> Option<Undecided> {
    let count = |name: &str| value[name].as_u64().and_then(|count| u32::try_from(count).ok());
    Some(Undecided {
        reached: count("reached")?,
        not_reached: count("not_reached")?,
        pending: count("pending")?,
        lost: count("lost")?,
    })
}

fn of_group(group: Undecided) -> Value {
    let bounds = group.bounds();
    json!({
        "n": group.all().map_or_else(refused, Value::from),
        "resolved": group.resolved().map_or_else(refused, |share| Value::from(share.of())),
        "proportion_of_resolved": said_number(group.resolved().and_then(Share::rate)),
        "lower_bound_all_unknown_fail": said_number(bounds.map(|bounds| bounds.lower)),
        "upper_bound_all_unknown_reach": said_number(bounds.map(|bounds| bounds.upper)),
        "share_if_lost_fail_pending_reach": said_number(group.highest_with_lost_failed()),
        "proportion_lost_counts_as_not_reached": said_number(group.lost_failed().and_then(Share::rate)),
    })
}
