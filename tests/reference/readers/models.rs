//! Models over tries and factors, and what a design can tell.

use bloomdue_core::evidence::beta_binomial_runs;
use bloomdue_core::evidence::firth::{self, Coefficient, Row};
use bloomdue_core::evidence::hierarchical::{self, Priors, Spread};
use bloomdue_core::evidence::strata::Stratum;
use bloomdue_core::evidence::{Interval, Level, Share};
use bloomdue_core::trial::aliasing::{self, Factor};
use serde_json::{Value, json};

use super::{list, number, refused, said_number, share};

fn runs(input: &Value) -> &[Value] {
    input["runs"].as_array().map(Vec::as_slice).unwrap_or_default()
}

/// One treatment over tries.
pub(super) fn beta_binomial(input: &Value, _: &Value) -> Value {
    let tries: Result<Vec<Share>, String> = runs(input).iter().map(|run| share(&run["events"], &run["n"])).collect();
    let small = |name: &str| input[name].as_u64().and_then(|count| u32::try_from(count).ok()).unwrap_or(0);
    let posterior = tries.and_then(|tries| {
        beta_binomial_runs::posterior(&tries, small("new_run_n"), small("at_least"))
            .map_err(|reason| reason.to_string())
    });
    posterior.map_or_else(refused, |posterior| {
        json!({
            "m_mean": number(posterior.mean),
            "m_sd": number(posterior.sd),
            "rho_mean": number(posterior.rho),
            "p_new_run_at_least": number(posterior.at_least),
        })
    })
}

/// Two treatments over tries, without treatment-by-try variation unless the case names some.
pub(super) fn hierarchical(input: &Value, _: &Value) -> Value {
    let tries: Result<Vec<Stratum>, String> = runs(input)
        .iter()
        .map(|run| Ok(Stratum { a: share(&run["events_a"], &run["n_a"])?, b: share(&run["events_b"], &run["n_b"])? }))
        .collect();
    let priors = &input["priors"];
    let real = |value: &Value| value.as_f64().unwrap_or(f64::NAN);
    let spread = |value: &Value| match value["family"].as_str() {
        Some("half_normal") => Spread::HalfNormal(real(&value["scale"])),
        Some("half_t") => Spread::HalfT { scale: real(&value["scale"]), df: real(&value["df"]) },
        _ => Spread::Zero,
    };
    let priors = Priors {
        mu_sd: real(&priors["mu_sd"]),
        delta_sd: real(&priors["delta_sd"]),
        tau: spread(&priors["tau"]),
        omega: spread(&priors["omega"]),
    };
    let posterior =
        tries.and_then(|tries| hierarchical::posterior(&tries, priors).map_err(|reason| reason.to_string()));
    posterior.map_or_else(refused, |posterior| {
        json!({
            "delta_mean": number(posterior.delta.mean),
            "delta_sd": number(posterior.delta.sd),
            "delta_q025": number(posterior.delta.lower),
            "delta_median": number(posterior.delta.median),
            "delta_q975": number(posterior.delta.upper),
            "p_delta_positive": number(posterior.delta.positive),
            "mu_mean": number(posterior.mu_mean),
            "tau_mean": number(posterior.tau_mean),
            "risk_difference_typical_run_mean": number(posterior.typical_difference),
        })
    })
}

/// Firth's regression.
pub(super) fn firth(input: &Value, _: &Value) -> Value {
    let rows = input["x"].as_array().map(Vec::as_slice).unwrap_or_default().iter().map(list);
    let counts = input["count"].as_array().map_or_else(|| vec![1.0; rows.len()], |_| list(&input["count"]));
    let row = |((x, y), count): ((Vec<f64>, f64), f64)| Row { x, reached: count * y, missed: count * (1.0 - y) };
    let rows: Vec<Row> = rows.zip(list(&input["y"])).zip(counts).map(row).collect();
    let level = Level::new(input["conf_level"].as_f64().unwrap_or(0.95)).unwrap_or(Level::PCT_95);
    let fit = match firth::fit(&rows, level) {
        Ok(fit) => fit,
        Err(reason) => return refused(reason),
    };
    let column = |of: &dyn Fn(&Coefficient) -> Value| -> Value { fit.coefficients.iter().map(of).collect() };
    let end = |of: fn(Interval) -> f64| column(&|one| said_number(one.profile.map(of)));
    json!({
        "coefficients": column(&|one| number(one.estimate)),
        "std_err": column(&|one| number(one.se)),
        "wald_lower": column(&|one| number(one.wald.lower)),
        "wald_upper": column(&|one| number(one.wald.upper)),
        "profile_lower": end(|limits| limits.lower),
        "profile_upper": end(|limits| limits.upper),
        "penalized_loglik": number(fit.ln_likelihood),
        "penalized_lr_p": column(&|one| said_number(one.p)),
    })
}

/// Which factors can be told apart.
pub(super) fn aliasing(input: &Value, _: &Value) -> Value {
    let Some(declared) = input["factors"].as_object() else {
        return refused("no factors");
    };
    let words = |value: &'_ Value| -> Vec<String> {
        let items = value.as_array().map(Vec::as_slice).unwrap_or_default();
        items.iter().map(word).collect()
    };
    let levels: Vec<(&String, Vec<String>)> = declared.iter().map(|(name, levels)| (name, words(levels))).collect();
    let factors: Vec<Factor> = levels
        .iter()
        .map(|(name, levels)| Factor { name, levels: levels.iter().map(String::as_str).collect() })
        .collect();
    let none = Vec::new();
    let used: Vec<Vec<String>> = input["groups"]
        .as_array()
        .unwrap_or(&none)
        .iter()
        .map(|group| levels.iter().map(|(name, _)| word(&group[name.as_str()])).collect())
        .collect();
    let groups: Vec<Vec<&str>> = used.iter().map(|group| group.iter().map(String::as_str).collect()).collect();
    match aliasing::check(&factors, &groups) {
        Ok(found) => json!({
            "rank": found.rank,
            "columns": found.columns,
            "estimable": factors.iter().zip(&found.estimable).map(|(factor, ok)| (factor.name.to_owned(), json!(ok))).collect::<Value>(),
            "aliased_pairs": found.aliased.iter().map(|&(a, b)| json!([factors[a].name, factors[b].name])).collect::<Value>(),
        }),
        Err(error) => refused(error),
    }
}

/// A level as a word, also where it is written as a number.
fn word(value: &Value) -> String {
    value.as_str().map_or_else(|| value.to_string(), str::to_owned)
}
