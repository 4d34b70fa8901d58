//! One reader a method: takes a case's input through core and gives back what core said, under the file's field names.

use bloomdue_core::error::Error;
use bloomdue_core::evidence::{Interval, NoAnswer, Share};
use serde_json::{Map, Value, json};

use super::Keys;

mod anytime;
mod calendar;
mod calls;
mod forecasts;
mod groups;
mod ledgers;
mod light;
mod lots;
mod models;
mod planning;
mod potting;
mod proportions;
mod sight;
mod tags;
mod times;
mod tries;

/// The key under which a refusal carries its reason.
pub(super) const REFUSED: &str = "cannot_say";

/// How one method is read.
pub(super) struct Reader {
    method: &'static str,
    /// From a case's input, and the whole file for what all cases share, to what core says.
    pub(super) run: fn(&Value, &Value) -> Value,
    /// Which fields have a tolerance of their own.
    pub(super) keys: Keys,
}

/// Every method that core has a counterpart for.
const READERS: &[Reader] = &[
    Reader { method: "solar", run: light::solar, keys: &[("_deg", "deg", ""), ("_local", "seconds", "")] },
    Reader { method: "fao56_extraterrestrial_radiation", run: light::fao56, keys: &[] },
    Reader {
        method: "sun_times_and_elevation",
        run: light::sun_times,
        keys: &[
            ("elevation_deg", "elevation_deg", ""),
            ("azimuth_deg", "azimuth_deg", ""),
            ("day_length_hours", "day_length_hours", ""),
            ("sunrise_utc", "seconds", ""),
            ("sunset_utc", "seconds", ""),
            ("solar_noon_utc", "seconds", ""),
            ("fao56_rso", "", "dli_fao_rel"),
        ],
    },
    Reader { method: "pot_and_bulb_volumes", run: potting::volumes, keys: &[] },
    Reader { method: "early_call_accuracy", run: calls::accuracy, keys: &[] },
    Reader { method: "cohen_kappa", run: calls::cohen_kappa, keys: &[] },
    Reader { method: "photo_length_on_card_plane", run: sight::length, keys: &[] },
    Reader {
        method: "photo_lengths_coverage",
        run: sight::lengths,
        keys: &[("covered", "covered_abs", "covered_rel")],
    },
    Reader { method: "neck_rise_index", run: sight::rise, keys: &[] },
    Reader { method: "neck_rise_coverage", run: sight::rises, keys: &[] },
    Reader { method: "shade_from_two_exposures", run: sight::shade, keys: &[] },
    Reader { method: "tag_check_character", run: tags::tag, keys: &[] },
    Reader { method: "iso_week", run: calendar::iso_week, keys: &[] },
    Reader { method: "easter_sunday", run: calendar::easter, keys: &[] },
    Reader { method: "blocked_permuted_allocation", run: lots::invariants, keys: &[] },
    Reader { method: "lots_blocks_1", run: lots::blocks_1, keys: &[] },
    Reader { method: "lots_blocks_2", run: lots::blocks_2, keys: &[] },
    Reader { method: "one_proportion_intervals", run: proportions::one, keys: &[] },
    Reader {
        method: "two_proportions",
        run: proportions::two,
        keys: &[
            ("barnard", "barnard_boschloo_abs", "barnard_boschloo_rel"),
            ("boschloo", "barnard_boschloo_abs", "barnard_boschloo_rel"),
        ],
    },
    Reader { method: "coverage_two_proportions", run: proportions::coverage, keys: &[] },
    Reader { method: "holm_adjustment", run: groups::holm, keys: &[] },
    Reader { method: "k_groups_exact", run: groups::several, keys: &[] },
    Reader { method: "stratified_over_runs", run: tries::stratified, keys: &[("reml", "reml_abs", "reml_rel")] },
    Reader { method: "kaplan_meier", run: times::kaplan_meier, keys: &[] },
    Reader { method: "logrank", run: times::logrank, keys: &[] },
    Reader { method: "kaplan_meier_and_logrank", run: times::right_censored, keys: &[] },
    Reader {
        method: "turnbull_npmle",
        run: times::turnbull,
        keys: &[
            ("mass", "mass_abs", "mass_rel"),
            ("survival", "mass_abs", "mass_rel"),
            ("loglik", "loglik_abs", "loglik_rel"),
        ],
    },
    Reader { method: "interval_censored_aft", run: forecasts::interval_times, keys: &[] },
    Reader { method: "forecast_scores", run: forecasts::scores, keys: &[] },
    Reader { method: "exact_power_two_proportions", run: planning::power, keys: &[] },
    Reader { method: "exact_sample_size_two_proportions", run: planning::needed, keys: &[] },
    Reader { method: "sample_size_two_proportions", run: planning::needed, keys: &[] },
    Reader { method: "beta_binomial_confidence_sequence", run: anytime::beta_binomial, keys: &[] },
    Reader { method: "difference_confidence_sequence_union_bound", run: anytime::union, keys: &[] },
    Reader { method: "normal_mixture_and_empirical_bernstein_confidence_sequences", run: anytime::bounded, keys: &[] },
    Reader { method: "e_process_two_proportions", run: anytime::e_process, keys: &[] },
    Reader {
        method: "e_process_two_proportions_type_one_error",
        run: anytime::type_one,
        keys: &[("simulated_rate", "rate_abs", "rate_rel")],
    },
    Reader { method: "beta_binomial_over_runs", run: models::beta_binomial, keys: &[] },
    Reader { method: "hierarchical_logit_two_arms", run: models::hierarchical, keys: &[("p_delta", "p_abs", "p_rel")] },
    Reader { method: "firth_logistic", run: models::firth, keys: &[("profile", "profile_abs", "profile_rel")] },
    Reader { method: "design_aliasing", run: models::aliasing, keys: &[] },
    Reader { method: "poisson_binomial", run: planning::counts, keys: &[] },
    Reader { method: "poisson_binomial_and_number_to_start", run: planning::counts, keys: &[] },
    Reader { method: "number_to_start", run: planning::to_start, keys: &[] },
    Reader {
        method: "germination_through_ledger",
        run: ledgers::germination,
        keys: &[("mass", "mass_abs", "mass_rel")],
    },
    Reader {
        method: "plates_through_ledger",
        run: ledgers::drawn,
        keys: &[("interval", "interval_abs", "interval_rel")],
    },
    Reader { method: "pending_and_lost_bounds", run: proportions::undecided, keys: &[("fisher_p", "p_abs", "p_rel")] },
];

/// The reader of a method.
pub(super) fn find(method: &str) -> Option<&'static Reader> {
    READERS.iter().find(|reader| reader.method == method)
}

/// What core does not compute and why, by the end of a value's path.
const WITHOUT: &[(&str, &str)] = &[
    (
        "dli_estimates_mol_m2_day.haurwitz",
        "another model of clear-sky light beside FAO-56, which is the one that core has",
    ),
    (
        "dli_estimates_mol_m2_day.ineichen_linke_turbidity_3",
        "a model of clear-sky light that asks for the haze of the place, which no grower knows; core has FAO-56",
    ),
    (
        "_rxc.fisher_freeman_halton_p",
        "a table of more than two columns; a bulb was in time or it was not, so core counts tables of two",
    ),
];

/// Why core has no counterpart to the value at a path, where that is known.
pub(super) fn without(path: &str) -> Option<&'static str> {
    let known = WITHOUT.iter().find(|(end, _)| path.ends_with(end))?;
    Some(known.1)
}

/// A refusal, for comparison with `null`.
fn refused(reason: impl ToString) -> Value {
    json!({ REFUSED: reason.to_string() })
}

/// What core said, or its refusal.
fn said<T: Into<Value>>(answer: Result<T, Error>) -> Value {
    answer.map_or_else(refused, Into::into)
}

/// A list of counts in an input; empty when it is no such list.
fn counts(value: &Value) -> Vec<usize> {
    let items = value.as_array().map(Vec::as_slice).unwrap_or_default();
    items.iter().map_while(count).collect()
}

/// A list of numbers in an input; empty when it is no such list.
fn list(value: &Value) -> Vec<f64> {
    let items = value.as_array().map(Vec::as_slice).unwrap_or_default();
    items.iter().map_while(Value::as_f64).collect()
}

/// A count in an input.
fn count(value: &Value) -> Option<usize> {
    value.as_u64().and_then(|count| usize::try_from(count).ok())
}

/// A number core gave; one that is no number at all can agree with nothing.
fn number(value: f64) -> Value {
    if value.is_nan() {
        return json!("not a number");
    }
    if value.is_infinite() {
        return json!(if value > 0.0 { "Infinity" } else { "-Infinity" });
    }
    json!(value)
}

/// A number core gave, or its refusal.
fn said_number(value: bloomdue_core::evidence::Result<f64>) -> Value {
    value.map_or_else(refused, number)
}

/// Both ends of an interval.
fn interval(interval: Interval) -> Value {
    json!({ "lower": number(interval.lower), "upper": number(interval.upper) })
}

/// The fields of an object.
fn object(value: Value) -> Map<String, Value> {
    match value {
        Value::Object(fields) => fields,
        _ => Map::new(),
    }
}

/// Counts of an input as a share.
fn share(reached: &Value, of: &Value) -> Result<Share, String> {
    let count = |value: &Value| value.as_u64().and_then(|count| u32::try_from(count).ok());
    let (Some(reached), Some(of)) = (count(reached), count(of)) else {
        return Err("counts are whole numbers".to_owned());
    };
    Share::new(reached, of).map_err(|reason: NoAnswer| reason.to_string())
}
