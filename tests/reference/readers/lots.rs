//! Drawing lots.

use bloomdue_core::trial::lots::{self, Draw, RatioPlan, Unit, classes};
use serde_json::{Map, Value, json};

use super::{count, counts, refused};

/// How many seeds the invariants are looked at with.
const SEEDS: u8 = 50;

/// A draw by `blocks/1`, unit by unit.
pub(super) fn blocks_1(input: &Value, _: &Value) -> Value {
    let units: Vec<Unit<&str>> = input["units"]
        .as_array()
        .map(Vec::as_slice)
        .unwrap_or_default()
        .iter()
        .filter_map(|unit| Some(Unit { id: unit["id"].as_str()?, size: unit["size"].as_i64()? }))
        .collect();
    let Some(seed) = input["seed"].as_str().and_then(bytes) else {
        return refused("a seed has 64 hexadecimal digits");
    };
    let length = count(&input["block_length"]).unwrap_or(0);
    match lots::draw(&seed, &units, &counts(&input["group_sizes"]), length) {
        Ok(draw) => json!({
            "block": draw.lots().iter().map(|lot| lot.block).collect::<Vec<_>>(),
            "group": draw.lots().iter().map(|lot| lot.group).collect::<Vec<_>>(),
        }),
        Err(error) => refused(error),
    }
}

/// A draw by `blocks/2`, unit by unit, with the cultivar of each class.
pub(super) fn blocks_2(input: &Value, _: &Value) -> Value {
    let of = |unit: &Value| {
        let text = |key: &str| Some(unit[key].as_str()?.to_owned());
        Some(classes::Unit { id: text("id")?, cultivar: text("cultivar")?, size: unit["size"].as_i64()? })
    };
    let units: Option<Vec<classes::Unit<String>>> =
        input["units"].as_array().map_or(&[][..], Vec::as_slice).iter().map(of).collect();
    let (Some(units), Some(seed)) = (units, input["seed"].as_str().and_then(bytes)) else {
        return refused("a unit has an id, a cultivar and a size, and a seed has 64 hexadecimal digits");
    };
    let length = count(&input["class_length"]).unwrap_or(0);
    match classes::draw(&seed, &units, &counts(&input["group_sizes"]), length) {
        Ok(drawn) => json!({
            "block": drawn.draw.lots().iter().map(|lot| lot.block).collect::<Vec<_>>(),
            "group": drawn.draw.lots().iter().map(|lot| lot.group).collect::<Vec<_>>(),
            "cultivars": drawn.classes.iter().map(|class| class.cultivar.as_str()).collect::<Vec<_>>(),
        }),
        Err(error) => refused(error),
    }
}

/// Thirty-two bytes from hexadecimal digits.
fn bytes(text: &str) -> Option<[u8; 32]> {
    let mut seed = [0; 32];
    if text.len() != 64 {
        return None;
    }
    for (index, byte) in seed.iter_mut().enumerate() {
        *byte = u8::from_str_radix(text.get(2 * index..2 * index + 2)?, 16).ok()?;
    }
    Some(seed)
}

/// The plan for a ratio, with what fifty draws of its full blocks were seen to hold.
pub(super) fn invariants(input: &Value, _: &Value) -> Value {
    let (Some(plants), Some(length)) = (count(&input["plants"]), count(&input["block_size"])) else {
        return refused("no plants or no block size");
    };
    let plan = match lots::ratio_plan(plants, length, &counts(&input["ratio"])) {
        Ok(plan) => plan,
        Err(error) => return refused(error),
    };
    let mut said = Map::new();
    said.insert("last_block_partial_size".to_owned(), json!(plan.left_over));
    said.insert("max_count_of_an_arm".to_owned(), json!(plan.most));
    said.insert("min_count_of_an_arm".to_owned(), json!(plan.least));
    let draws: Result<Vec<Draw>, _> = (0..SEEDS).map(|seed| full_blocks(&plan, length, seed)).collect();
    match draws {
        Ok(draws) => said.extend(seen(&plan, &draws)),
        // Fewer plants than one block: nothing was drawn, and the plan is all there is to compare.
        Err(_) => said.extend(seen(&plan, &[])),
    }
    Value::Object(said)
}

/// One draw of as many units as fill whole blocks.
fn full_blocks(plan: &RatioPlan, length: usize, seed: u8) -> Result<Draw, bloomdue_core::error::Error> {
    let units: Vec<Unit<String>> =
        (0..plan.full_blocks * length).map(|unit| Unit { id: format!("{unit:06}"), size: 0 }).collect();
    lots::draw(&[seed; 32], &units, &plan.in_full_blocks, length)
}

/// What the draws hold, or a refusal where they do not agree with the plan.
fn seen(plan: &RatioPlan, draws: &[Draw]) -> Map<String, Value> {
    let arms = plan.per_block.len();
    let counted = |draw: &Draw| -> Vec<usize> {
        let of = |arm| draw.lots().iter().filter(|lot| lot.group == arm).count();
        (0..arms).map(of).collect()
    };
    let blocks_hold = |draw: &Draw| {
        draw.quotas().len() == plan.full_blocks && draw.quotas().iter().all(|quotas| *quotas == plan.per_block)
    };
    let agree = draws.iter().all(|draw| blocks_hold(draw) && counted(draw) == plan.in_full_blocks);
    if !agree {
        return Map::from_iter([("full_blocks".to_owned(), refused("draws differ from the plan"))]);
    }
    let orders = u64::try_from(plan.orders_per_block).map_or_else(|_| refused("too many to write"), Value::from);
    let apart = match plan.most_apart {
        Some(bound) if draws.iter().all(|draw| apart(draw) <= bound) => json!(bound),
        Some(_) => refused("draws are further apart than the plan says"),
        None => refused("only two equal groups have this bound"),
    };
    Map::from_iter([
        ("counts_after_each_full_block".to_owned(), json!(plan.per_block)),
        ("full_blocks".to_owned(), json!(plan.full_blocks)),
        ("counts_after_full_blocks".to_owned(), json!(plan.in_full_blocks)),
        ("distinct_orders_per_block".to_owned(), orders),
        ("max_imbalance_within_run_of_two_equal_arms".to_owned(), apart),
    ])
}

/// How far groups 0 and 1 are apart in any prefix of the units.
fn apart(draw: &Draw) -> usize {
    let mut ahead = 0_i64;
    let mut most = 0;
    for lot in draw.lots() {
        ahead += if lot.group == 0 { 1 } else { -1 };
        most = most.max(ahead.unsigned_abs());
    }
    most as usize
}
