//! Bounds and bad input, through ledger entries: whatever a nursery holds, everything that is said of it is an answer or
//! a reason, never a number that is none, a panic or a long wait.

use std::collections::BTreeSet;

use serde_json::Value;

use crate::testing::{World, day};

/// What became of one bulb of a try from day 0 to day 30.
#[derive(Clone, Copy)]
enum Bulb {
    /// Seen without on day 20 and with a scape on day 28.
    InTime,
    /// Seen without on day 30.
    Not,
    /// Never looked at.
    Unseen,
    Sold,
    Died,
    /// Seen once alone, on day 30 and with a scape.
    OneLook,
}
use Bulb::{Died, InTime, Not, OneLook, Sold, Unseen};

/// One try of two groups, or of one when `n_groups` is 1.
fn nursery(n_groups: usize, groups: [&[Bulb]; 2]) -> World {
    let names = ["gr_a", "gr_b"];
    let mut text = format!(
        "-9 mia lot lo_1 Red
         -2 mia question tr_1 {}
         -2 mia group gr_a tr_1 Long control
         -2 mia group gr_b tr_1 Short
         -2 mia run ru_1 tr_1 0 every=40
         -2 mia rule ru_1 by scape-in-sight
         -2 mia due ru_1 30\n",
        names[..n_groups].join(",")
    );
    let (mut lots, mut looks, mut n_bulbs) = (String::new(), String::new(), 0);
    for (name, bulbs) in names.iter().zip(groups).take(n_groups) {
        let first = n_bulbs + 1;
        for bulb in bulbs {
            n_bulbs += 1;
            let b = format!("b_{n_bulbs}");
            let shoot = format!("sh_{n_bulbs}/scape/scape-in-sight");
            looks += &match bulb {
                InTime => format!("20 mia look {b} clear\n28 mia look {b} {shoot}\n"),
                Not => format!("30 mia look {b} clear\n"),
                Unseen => String::new(),
                Sold => format!("9 mia left {b} how=sold\n"),
                Died => format!("9 mia died {b} cause=rot\n"),
                OneLook => format!("30 mia look {b} {shoot}\n"),
            };
        }
        let ids: Vec<String> = (first..=n_bulbs).map(|at| format!("b_{at}")).collect();
        // One entry names at most 400.
        for some in ids.chunks(400) {
            let some = some.join(",");
            text += &format!("-9 mia bulb {some} lo_1\n0 mia cycle-began {some}\n");
        }
        lots += &format!(" {name}={}", ids.join(","));
    }
    text += &format!("-2 mia allot ru_1 drawn{lots}\n0 mia run-started ru_1\n{looks}");
    World::of(&text)
}

/// Everything that is said on a day.
fn said(world: &World, today: i64) -> Value {
    let answers = crate::answers::answers(&world.ledger, &world.state(), day(today));
    serde_json::to_value(&answers).expect("JSON")
}

/// The names of all fields that are null: a number that is none would be.
fn nulls(value: &Value, name: &str, found: &mut BTreeSet<String>) {
    match value {
        Value::Null => {
            found.insert(name.to_owned());
        }
        Value::Array(all) => all.iter().for_each(|one| nulls(one, name, found)),
        Value::Object(all) => all.iter().for_each(|(name, one)| nulls(one, name, found)),
        _ => {}
    }
}

/// Fields that may be null: what there may be none of, and the ends of what is endless.
const MAY_BE_NULL: [&str; 25] = [
    "clearest",
    "closed",
    "after",
    "at",
    "cycle",
    "end",
    "how",
    "interval",
    "last_look",
    "mean",
    "died_otherwise",
    "missing_counted",
    "name",
    "not_counted",
    "overall",
    "plans",
    "reason",
    "right",
    "rule",
    "soundness",
    "times",
    "upper",
    "window",
    "with",
    "decided",
];

/// What the sentence is, and every number that is none.
fn sentence(world: &World, today: i64) -> (String, BTreeSet<String>) {
    let all = said(world, today);
    let mut found = BTreeSet::new();
    nulls(&all["trials"], "", &mut found);
    found.retain(|name| !MAY_BE_NULL.contains(&name.as_str()));
    let sentence = &all["trials"][0]["tries"][0]["standing"]["sentence"];
    (sentence.to_string(), found)
}

/// What it is, how many groups, their bulbs, the day, and the sentence that may be said.
type Case = (&'static str, usize, [&'static [Bulb]; 2], i64, &'static str);

#[test]
fn every_bound_has_an_answer_or_a_reason() {
    let cases: [Case; 14] = [
        ("no bulb", 2, [&[], &[]], 60, "no-test|counts-only"),
        ("one bulb", 2, [&[InTime], &[]], 60, "no-test|counts-only"),
        ("one a group", 2, [&[InTime], &[Not]], 60, "no-test|counts-only"),
        ("all", 2, [&[InTime; 6], &[InTime; 6]], 60, "decided"),
        ("none", 2, [&[Not; 6], &[Not; 6]], 60, "decided"),
        ("all and none", 2, [&[InTime; 6], &[Not; 6]], 60, "decided"),
        ("one group", 1, [&[InTime, Not, Not], &[]], 60, "no-test|counts-only"),
        ("an empty group", 2, [&[InTime, Not, Not], &[]], 60, "no-test|counts-only"),
        ("all waiting", 2, [&[Unseen; 5], &[Unseen; 5]], 10, "still-running"),
        ("nobody looked", 2, [&[Unseen; 5], &[Unseen; 5]], 60, "undecided"),
        ("all sold", 2, [&[Sold; 5], &[Sold; 5]], 60, "no-test|counts-only"),
        ("all died", 2, [&[Died; 5], &[Died; 5]], 60, "decided"),
        ("ties", 2, [&[InTime; 9], &[InTime, InTime, Not]], 60, "decided"),
        ("a single look", 2, [&[OneLook; 5], &[Not; 5]], 60, "decided"),
    ];
    let mut wrong = Vec::new();
    for (what, n_groups, groups, today, expected) in cases {
        let (found, nulls) = sentence(&nursery(n_groups, groups), today);
        // A p-value stands nowhere without a verdict.
        let begins = |word: &str| found.starts_with(&format!("{{\"{word}\""));
        let right = expected.split('|').any(begins) && (found.contains("decided\":[") || !found.contains("\"p\""));
        if !right || !nulls.is_empty() {
            wrong.push(format!("{what}: {found} null in {nulls:?}"));
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

/// A hundred thousand as counts from a notebook, and bulb by bulb as many as one record of drawn lots holds.
#[test]
fn very_many_bulbs_have_an_answer_in_a_moment() {
    let typed = World::of(
        "-9 mia lot lo_1 Red
         -2 mia question tr_1 gr_a,gr_b
         -2 mia group gr_a tr_1 Long control
         -2 mia group gr_b tr_1 Short
         -2 mia run ru_1 tr_1 0 typed
         -2 mia rule ru_1 by scape-in-sight
         -2 mia due ru_1 30
         31 mia tallies ru_1 gr_a=30000,20000,0,0 gr_b=25000,24000,1000,0",
    );
    let (found, nulls) = sentence(&typed, 60);
    assert!(found.contains("typed-in") && nulls.is_empty(), "{found} {nulls:?}");
    let (mut a, mut b) = (vec![InTime; 600], vec![InTime; 500]);
    a.resize(1_000, Not);
    b.resize(1_000, Not);
    let (found, nulls) = sentence(&nursery(2, [&a, &b]), 60);
    assert!(found.contains("told-apart") && nulls.is_empty(), "{found} {nulls:?}");
}
