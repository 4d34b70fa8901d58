//! Several tries of one comparison.

use bloomdue_core::evidence::random_effects::{self, Between, Estimate, Limits, Pooled};
use bloomdue_core::evidence::strata::{self, Stratum};
use bloomdue_core::evidence::{Interval, Level, breslow_day, cmh, exact_conditional, mantel_haenszel};
use serde_json::{Map, Value, json};

use super::{list, number, object, refused, said_number, share};

/// Everything said over strata, or of estimates that are given as such.
pub(super) fn stratified(input: &Value, _: &Value) -> Value {
    let Ok(level) = Level::new(input["conf_level"].as_f64().unwrap_or(0.95)) else {
        return refused("no such level");
    };
    if input.get("yi").is_some() {
        let both = list(&input["yi"]).into_iter().zip(list(&input["vi"]));
        let tries: Vec<Estimate> = both.map(|(y, v)| Estimate { y, v }).collect();
        return Value::Object(pooled(&tries, level));
    }
    let strata: Result<Vec<Stratum>, String> = input["strata"]
        .as_array()
        .map(Vec::as_slice)
        .unwrap_or_default()
        .iter()
        .map(|stratum| {
            Ok(Stratum {
                a: share(&stratum["events_a"], &stratum["n_a"])?,
                b: share(&stratum["events_b"], &stratum["n_b"])?,
            })
        })
        .collect();
    match strata {
        Ok(strata) => Value::Object(all(&strata, level)),
        Err(reason) => refused(reason),
    }
}

fn all(strata: &[Stratum], level: Level) -> Map<String, Value> {
    let cmh = cmh::test(strata);
    let effects = |tries: bloomdue_core::evidence::Result<Vec<Estimate>>| match tries {
        Ok(tries) => {
            let mut all = pooled(&tries, level);
            all.insert("yi".to_owned(), tries.iter().map(|one| number(one.y)).collect());
            all.insert("vi".to_owned(), tries.iter().map(|one| number(one.v)).collect());
            Value::Object(all)
        }
        Err(reason) => refused(reason),
    };
    object(json!({
        "strata_used": strata::used(strata).len(),
        "cmh_chi2": said_number(cmh.and_then(|cmh| cmh.statistic)),
        "cmh_p": said_number(cmh.map(|cmh| cmh.p)),
        "cmh_chi2_continuity": said_number(cmh.and_then(|cmh| cmh.corrected)),
        "cmh_p_continuity": said_number(cmh.map(|cmh| cmh.p_corrected)),
        "exact_conditional": exact(strata, level),
        "mh_odds_ratio": ratio(mantel_haenszel::odds_ratio(strata, level)),
        "mh_risk_ratio": ratio(mantel_haenszel::risk_ratio(strata, level)),
        "mh_risk_difference": mantel_haenszel::risk_difference(strata, level).map_or_else(refused, difference),
        "breslow_day": breslow_day::test(strata).map_or_else(refused, |test| {
            json!({ "chi2": number(test.statistic), "df": test.df, "p": number(test.p) })
        }),
        "breslow_day_tarone": breslow_day::test(strata).map_or_else(refused, |test| {
            json!({ "chi2": number(test.tarone), "df": test.df, "p": number(test.p_tarone) })
        }),
        "random_effects_log_or": effects(random_effects::log_odds_ratios(strata)),
        "random_effects_rd": effects(random_effects::differences(strata)),
    }))
}

fn exact(strata: &[Stratum], level: Level) -> Value {
    let exact = match exact_conditional::test(strata) {
        Ok(exact) => exact,
        Err(reason) => return refused(reason),
    };
    let ratio = exact_conditional::odds_ratio(strata, level);
    json!({
        "p_two_sided": number(exact.two_sided),
        "p_a_greater": number(exact.a_greater),
        "p_a_less": number(exact.a_less),
        "midp_two_sided": number(exact.mid_p),
        "odds_ratio_cmle": said_number(ratio.map(|ratio| ratio.estimate)),
        "odds_ratio_lower": said_number(ratio.map(|ratio| ratio.interval.lower)),
        "odds_ratio_upper": said_number(ratio.map(|ratio| ratio.interval.upper)),
    })
}

fn ratio(ratio: bloomdue_core::evidence::Result<mantel_haenszel::Ratio>) -> Value {
    let ratio = match ratio {
        Ok(ratio) => ratio,
        Err(reason) => return refused(reason),
    };
    let end = |end: fn(Interval) -> f64| said_number(ratio.interval.map(end));
    json!({
        "estimate": number(ratio.estimate),
        "log_se": said_number(ratio.log_se),
        "lower": end(|interval| interval.lower),
        "upper": end(|interval| interval.upper),
    })
}

fn difference(difference: mantel_haenszel::Difference) -> Value {
    json!({
        "estimate": number(difference.estimate),
        "se_sato": number(difference.se_sato),
        "lower_sato": number(difference.sato.lower),
        "upper_sato": number(difference.sato.upper),
        "se_greenland_robins": number(difference.se_greenland_robins),
        "lower_greenland_robins": number(difference.greenland_robins.lower),
        "upper_greenland_robins": number(difference.greenland_robins.upper),
    })
}

/// The five ways of pooling estimates.
fn pooled(tries: &[Estimate], level: Level) -> Map<String, Value> {
    let pool = |between, limits| match random_effects::pool(tries, between, limits, level) {
        Ok(pooled) => of_pooled(pooled),
        Err(reason) => refused(reason),
    };
    object(json!({
        "fixed": pool(Between::Fixed, Limits::Normal),
        "dersimonian_laird": pool(Between::DerSimonianLaird, Limits::Normal),
        "dersimonian_laird_hartung_knapp": pool(Between::DerSimonianLaird, Limits::HartungKnapp),
        "reml": pool(Between::Reml, Limits::Normal),
        "reml_hartung_knapp": pool(Between::Reml, Limits::HartungKnapp),
    }))
}

fn of_pooled(pooled: Pooled) -> Value {
    json!({
        "estimate": number(pooled.estimate),
        "se": number(pooled.se),
        "lower": number(pooled.interval.lower),
        "upper": number(pooled.interval.upper),
        "tau2": number(pooled.tau2),
        "i2": number(pooled.i2),
        "q": number(pooled.q),
        "q_p": number(pooled.q_p),
        "p": number(pooled.p),
    })
}
