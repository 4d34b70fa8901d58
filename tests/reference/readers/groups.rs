//! Several groups.

use bloomdue_core::evidence::{Share, holm, k_groups, trend};
use serde_json::{Map, Value, json};

use super::{counts, list, number, object, refused, said_number, share};

/// Holm's adjustment.
pub(super) fn holm(input: &Value, _: &Value) -> Value {
    json!({ "p_holm": holm::adjust(&list(&input["p_values"])).map_or_else(refused, Value::from) })
}

/// Everything said of several groups.
pub(super) fn several(input: &Value, file: &Value) -> Value {
    if input.get("p_values").is_some() {
        return holm(input, file);
    }
    let none = Vec::new();
    if let Some(table) = input["table"].as_array() {
        return of_table(table, file);
    }
    let (events, of) = (input["events"].as_array(), input["n"].as_array());
    let counts = events.unwrap_or(&none).iter().zip(of.unwrap_or(&none));
    let groups: Result<Vec<Share>, String> = counts.map(|(events, of)| share(events, of)).collect();
    let groups = match groups {
        Ok(groups) if groups.is_empty() => return json!({}),
        Ok(groups) => groups,
        Err(reason) => return refused(reason),
    };
    let mut all = Map::new();
    all.insert(
        "fisher_freeman_halton_p".to_owned(),
        said_number(k_groups::freeman_halton(&groups).map(|tested| tested.p)),
    );
    all.extend(match k_groups::pearson(&groups) {
        Ok((statistic, df)) => object(json!({ "pearson_chi2": said_number(statistic), "pearson_df": df })),
        Err(reason) => object(json!({ "pearson_chi2": refused(reason), "pearson_df": refused(reason) })),
    });
    let pair = |pair: k_groups::Pair| json!({ "a": pair.a, "b": pair.b, "p": number(pair.p), "p_holm": number(pair.holm), "p_bonferroni": number(pair.bonferroni) });
    let pairs = k_groups::pairs(&groups).map_or_else(refused, |pairs| pairs.into_iter().map(pair).collect());
    all.insert("pairwise_fisher".to_owned(), pairs);
    if input.get("scores").is_some() {
        all.insert("trend".to_owned(), of_trend(&groups, &list(&input["scores"])));
    }
    Value::Object(all)
}

/// A table of counts with two columns, a row a group; of more columns core says nothing.
fn of_table(table: &[Value], file: &Value) -> Value {
    let rows: Vec<Vec<usize>> = table.iter().map(counts).collect();
    if rows.iter().any(|row| row.len() != 2) {
        return json!({});
    }
    let events: Vec<usize> = rows.iter().map(|row| row[0]).collect();
    let of: Vec<usize> = rows.iter().map(|row| row[0].saturating_add(row[1])).collect();
    several(&json!({ "events": events, "n": of }), file)
}

fn of_trend(groups: &[Share], scores: &[f64]) -> Value {
    let trend = match trend::test(groups, scores) {
        Ok(trend) => trend,
        Err(reason) => return refused(reason),
    };
    let exact = |field: fn(trend::Exact) -> f64| said_number(trend.exact.map(field));
    json!({
        "z": said_number(trend.z),
        "z_squared": said_number(trend.z.map(|z| z * z)),
        "p_two_sided_asymptotic": number(trend.asymptotic),
        "exact_p_increasing": exact(|exact| exact.increasing),
        "exact_p_decreasing": exact(|exact| exact.decreasing),
        "exact_p_two_sided_doubled": exact(|exact| exact.doubled),
        "exact_p_two_sided_distance": exact(|exact| exact.distance),
        "exact_midp_two_sided_doubled": exact(|exact| exact.mid_p_doubled),
    })
}
