//! Power and the number of bulbs, before the start.

use bloomdue_core::evidence::number_to_start::{self, Known};
use bloomdue_core::evidence::poisson_binomial::Count;
use bloomdue_core::evidence::power::{self, Region, Test};
use serde_json::{Map, Value, json};

use super::{count, list, number, object, refused, said_number};

/// The tests by the names of their fields.
const TESTS: [(&str, Test); 6] = [
    ("fisher_two_sided", Test::Fisher),
    ("fisher_midp_irwin", Test::FisherMidP),
    ("fisher_one_sided_a_greater", Test::FisherAGreater),
    ("barnard_two_sided", Test::Barnard),
    ("boschloo_two_sided_fisher_ordering", Test::Boschloo),
    ("boschloo_two_sided_doubled", Test::BoschlooDoubled),
];

fn probability(input: &Value, name: &str) -> f64 {
    input[name].as_f64().unwrap_or(f64::NAN)
}

/// Power and size of every test.
pub(super) fn power(input: &Value, _: &Value) -> Value {
    let size = |name: &str| count(&input[name]).and_then(|n| u32::try_from(n).ok()).unwrap_or(0);
    let (mut powers, mut sizes) = (Map::new(), Map::new());
    for (name, test) in TESTS {
        let region = Region::new(test, size("n_a"), size("n_b"), probability(input, "alpha"));
        let power = region
            .as_ref()
            .map_err(|reason| *reason)
            .and_then(|region| region.power(probability(input, "p_a"), probability(input, "p_b")));
        powers.insert(name.to_owned(), said_number(power));
        sizes.insert(name.to_owned(), region.map_or_else(refused, |region| number(region.size())));
    }
    json!({ "power": powers, "size_sup": sizes })
}

/// The bulbs a group that a target needs.
pub(super) fn needed(input: &Value, _: &Value) -> Value {
    let [share_a, share_b, alpha, target] = ["p_a", "p_b", "alpha", "power"].map(|name| probability(input, name));
    let one_sided = input["one_sided"].as_bool().unwrap_or(false);
    let mut all = match power::normal_approximation(share_a, share_b, alpha, target, one_sided) {
        Ok((plain, corrected)) => object(json!({
            "normal_approx_n_uncorrected": number(plain),
            "normal_approx_n_casagrande_pike_smith": number(corrected),
            "normal_approx_n_rounded_up": [plain.ceil(), corrected.ceil()],
        })),
        Err(reason) => object(json!({
            "normal_approx_n_uncorrected": refused(reason),
            "normal_approx_n_casagrande_pike_smith": refused(reason),
            "normal_approx_n_rounded_up": refused(reason),
        })),
    };
    if let Some(most) = input["n_max_searched"].as_u64().and_then(|most| u32::try_from(most).ok()) {
        // The one-sided test is for more in the first group.
        let (test, high, low) = if one_sided {
            (Test::FisherAGreater, share_a.max(share_b), share_a.min(share_b))
        } else {
            (Test::Fisher, share_a, share_b)
        };
        all.extend(match power::needed(test, high, low, alpha, target, most) {
            Ok(needed) => object(json!({
                "first_n_per_arm_fisher": needed.first.map_or_else(refused, Value::from),
                "power_at_first": said_number(needed.power_at_first),
                "smallest_n_from_which_power_stays": needed.stays.map_or_else(refused, Value::from),
            })),
            Err(reason) => object(json!({ "first_n_per_arm_fisher": refused(reason) })),
        });
    }
    Value::Object(all)
}

/// The Poisson-binomial, or a number to start where the input asks for one.
pub(super) fn counts(input: &Value, file: &Value) -> Value {
    if input.get("at_least").is_some() {
        return to_start(input, file);
    }
    let bulbs = match Count::new(&list(&input["probabilities"])) {
        Ok(bulbs) => bulbs,
        Err(reason) => return refused(reason),
    };
    // Which numbers a case asks for stands only in what it expects.
    let asked = file["cases"].as_array().and_then(|cases| cases.iter().find(|case| case["input"] == *input));
    let asked = asked.and_then(|case| case["expected"]["p_at_least"].as_array()).map(Vec::as_slice).unwrap_or_default();
    let at_least =
        asked.iter().filter_map(|entry| count(&entry["k"])).map(|k| json!({ "k": k, "p": number(bulbs.at_least(k)) }));
    let below = (0..bulbs.exactly().len()).map(|k| number(bulbs.at_most(k)));
    json!({
        "mean": number(bulbs.mean),
        "variance": number(bulbs.variance),
        "pmf": bulbs.exactly().iter().copied().map(number).collect::<Value>(),
        "cdf": below.collect::<Value>(),
        "p_at_least": at_least.collect::<Value>(),
    })
}

/// The bulbs to start, or the assurance of a number that is given.
pub(super) fn to_start(input: &Value, _: &Value) -> Value {
    let known = match input["model"].as_str() {
        Some("beta_binomial") => Known::Beta(probability(input, "a"), probability(input, "b")),
        _ => Known::Share(probability(input, "p")),
    };
    let small = |name: &str| input[name].as_u64().and_then(|n| u32::try_from(n).ok());
    let wanted = small("at_least").unwrap_or(0);
    if let Some(bulbs) = small("n") {
        return json!({ "p_at_least": said_number(number_to_start::assurance(known, bulbs, wanted)) });
    }
    let most = small("n_max").unwrap_or(100_000);
    let start = number_to_start::number_to_start(known, wanted, probability(input, "probability"), most);
    json!({
        "n": start.map_or_else(refused, |start| Value::from(start.bulbs)),
        "p_at_n": said_number(start.map(|start| start.assurance)),
        "p_at_n_minus_1": said_number(start.map(|start| start.with_one_fewer)),
    })
}
