//! Files of records changed at random: in what they say, hashed again so that they verify, or in their bytes.

use bloomdue_core::ledger::{canonical::to_canonical, entry::Entry, id::EntryId};
use serde_json::{Map, Value};

use crate::{
    bodies,
    make::{Dice, entry, id},
};

/// Texts that stand where others stood.
const TEXTS: &[&str] = &[
    "",
    " ",
    "b_1",
    "b_2",
    "sh_1",
    "gr_1",
    "gr_2",
    "tr_1",
    "ru_1",
    "pl_1",
    "co_1",
    "lo_1",
    "l_1",
    "p_1",
    "2027-03-14",
    "2027-02-30",
    "1990-01-01",
    "2199-12-31",
    "0000-00-00",
    "2027-03-14T23:59+14:00",
    "first flower open",
    "fit to sell",
    "shoot",
    "over",
    "scape",
    "leaf",
    "blocks/1",
    "blocks/2",
    "all pairs",
    "by hand",
    "container",
    "boschloo",
    "exact conditional",
    "unit permutation",
    "none",
    "not in time",
    "left out",
    "window",
    "by",
    "\u{202e}\u{0}\u{feff}",
    "e\u{301}",
    "<b>",
    "🌷",
];

/// Numbers at the ends of what a record can hold, and beyond.
const NUMBERS: &[i64] = &[
    0,
    1,
    2,
    3,
    7,
    40,
    400,
    1000,
    65_535,
    65_536,
    1_000_000,
    -1,
    -400,
    2_147_483_647,
    -2_147_483_648,
    4_294_967_295,
    4_294_967_296,
    9_007_199_254_740_991,
    -9_007_199_254_740_991,
    9_007_199_254_740_992,
    i64::MAX,
    i64::MIN,
];

/// Where mutated files come from.
pub(crate) struct Mutator {
    records: Vec<Value>,
}

impl Mutator {
    pub(crate) fn new() -> Self {
        let mut records = Vec::new();
        let mut lines = [0; 2];
        for (n, mut draft) in bodies::drafts().into_iter().enumerate() {
            // Two bulbs in a try, so that what is said of one may be said of the other.
            if n % 2 == 1 && draft.about == [id("b_1")] {
                draft.about.push(id("b_2"));
            }
            lines[n % 2] += 1;
            let made = entry(["d_1", "d_2"][n % 2], lines[n % 2], draft);
            records.push(value(&made));
        }
        for (bulb, name) in [("b_1", "19GRYN"), ("b_2", "Snow")] {
            lines[0] += 1;
            let draft = crate::make::name(bulb, name, &[]);
            records.push(value(&entry("d_1", lines[0], draft)));
        }
        Self { records }
    }

    /// A file, the same for a seed for ever.
    pub(crate) fn file(&self, seed: u64) -> Vec<u8> {
        let mut dice = Dice::new(seed);
        let mut ids: Vec<String> = Vec::new();
        let mut elements: Vec<String> = Vec::new();
        // Most of the records, in any order, some of them again and again with other changes.
        let share = 20 + dice.below(80);
        let n_times = if dice.often(20) { 1 + dice.below(6) } else { 1 };
        let mut chosen: Vec<&Value> = Vec::new();
        for _ in 0..n_times {
            chosen.extend(self.records.iter().filter(|_| dice.often(share)));
        }
        dice.shuffle(&mut chosen);
        let n_changes = dice.below(4);
        for record in chosen {
            let mut record = record.clone();
            if dice.often(50) {
                supersede(&mut dice, &mut record, &ids);
            }
            for _ in 0..n_changes {
                change(&mut dice, &mut record, 0);
            }
            let mut bytes = to_canonical(&record).unwrap_or_else(|_| record.to_string());
            if dice.often(3) {
                bytes = twisted(&mut dice, &bytes);
            }
            let id = EntryId::of(bytes.as_bytes()).to_string();
            elements.push(format!("{{\"id\":\"{id}\",\"entry\":{bytes}}}"));
            ids.push(id);
        }
        let head = head(&mut dice);
        let mut file = format!("{{{head}\"entries\":[\n{}\n],\"photos\":[\n]}}\n", elements.join(",\n")).into_bytes();
        if dice.often(20) {
            for _ in 0..1 + dice.below(8) {
                hit(&mut dice, &mut file);
            }
        }
        file
    }
}

fn value(entry: &Entry) -> Value {
    serde_json::from_str(entry.bytes()).expect("a record")
}

fn head(dice: &mut Dice) -> String {
    let name = if dice.often(2) { "W".repeat(300_000) } else { "Vale of Leaves".to_owned() };
    let to = NUMBERS[dice.below(NUMBERS.len())];
    let hex = "0".repeat(64);
    let have = format!("{{\"d_1\":[[1,{to},\"{hex}\"]]}}");
    let ledger = crate::make::ledger_id();
    format!(
        "\"bloomdue\":\"records\",\"format\":1,\"ledger\":\"{ledger}\",\"name\":\"{name}\",\"made\":\"2027-03-14\",\"digest\":\"{hex}\",\"have\":{have},"
    )
}

/// Makes a record name some that were written before it, now and then as a take-back of them.
fn supersede(dice: &mut Dice, record: &mut Value, ids: &[String]) {
    if ids.is_empty() {
        return;
    }
    let named = (0..1 + dice.below(4)).map(|_| Value::from(ids[dice.below(ids.len())].clone()));
    record["supersedes"] = named.collect();
    if dice.often(40) {
        record["kind"] = "take-back".into();
        record["body"] = Value::Object(Map::new());
    }
}

/// Changes something somewhere in a value.
fn change(dice: &mut Dice, value: &mut Value, depth: usize) {
    let deeper = depth < 6 && dice.often(85);
    match value {
        Value::Object(members) if deeper && !members.is_empty() => {
            let at = dice.below(members.len());
            let key = members.keys().nth(at).cloned().unwrap_or_default();
            // The body says most and is changed most.
            let key = if depth == 0 && dice.often(60) { "body".to_owned() } else { key };
            match dice.below(12) {
                0 if depth > 0 => drop(members.remove(&key)),
                _ => {
                    if let Some(member) = members.get_mut(&key) {
                        change(dice, member, depth + 1);
                    }
                }
            }
        }
        Value::Array(values) if deeper && !values.is_empty() => {
            let at = dice.below(values.len());
            match dice.below(6) {
                0 => drop(values.remove(at)),
                1 => {
                    let again = values[at].clone();
                    values.extend(std::iter::repeat_n(again, dice.below(300)));
                }
                2 => {
                    let letters = values[at].as_str().and_then(|text| text.split_once('_'));
                    if let Some((letters, _)) = letters {
                        let letters = letters.to_owned();
                        values.extend((0..dice.below(300)).map(|n| Value::from(format!("{letters}_{n}"))));
                    }
                }
                _ => change(dice, &mut values[at], depth + 1),
            }
        }
        Value::Number(_) => *value = NUMBERS[dice.below(NUMBERS.len())].into(),
        Value::String(_) if dice.often(95) => *value = TEXTS[dice.below(TEXTS.len())].into(),
        Value::String(text) => *text = "W".repeat(dice.below(20_000)),
        Value::Bool(known) => *known = !*known,
        other => {
            *other = match dice.below(4) {
                0 => Value::Null,
                1 => Value::Array(Vec::new()),
                2 => Value::Object(Map::new()),
                _ => 1.5.into(),
            };
        }
    }
}

/// A key twice, or values in values, which still verify by their hash.
fn twisted(dice: &mut Dice, bytes: &str) -> String {
    match dice.below(3) {
        0 => bytes.replacen("\"v\":1", "\"v\":1,\"v\":1", 1),
        1 => {
            let n = dice.below(8000);
            bytes.replacen("\"body\":", &format!("\"body\":{}", "[".repeat(n)), 1)
        }
        _ => {
            let n = dice.below(8000);
            let deep = format!("\"supersedes\":{}{}", "[".repeat(n), "]".repeat(n));
            bytes.replacen("\"supersedes\":[]", &deep, 1)
        }
    }
}

/// Changes bytes of a file.
fn hit(dice: &mut Dice, file: &mut Vec<u8>) {
    if file.is_empty() {
        return;
    }
    let at = dice.below(file.len());
    let end = (at + dice.below(300)).min(file.len());
    match dice.below(5) {
        0 => file[at] ^= 1 << dice.below(8),
        1 => file[at] = b"\"{}[]\\,\n\0"[dice.below(9)],
        2 => drop(file.drain(at..end)),
        3 => file.truncate(at + 1),
        _ => {
            let copy = file[at..end].to_vec();
            file.splice(at..at, copy);
        }
    }
}
