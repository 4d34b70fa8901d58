//! What a small nursery writes down, drawn at random: most kinds of entries, late ones, and ones put right.

use bloomdue_core::{
    calendar::{Date, Happened},
    ledger::{Ledger, body::Body, entry::Draft, id::EntryId},
};

use crate::make::{Dice, id, takes_back};

const BULBS: [&str; 6] = ["b_1", "b_2", "b_3", "b_4", "b_5", "b_6"];

fn body(kind: &str, json: &str) -> Body {
    let body = Body::read(kind, 1, json);
    assert_ne!(body, Body::Unknown, "{kind} {json}");
    body
}

/// One thing that a nursery writes down on this day, or late.
pub(crate) fn any_of_life(dice: &mut Dice, ledger: &Ledger, day: i64) -> Draft {
    let bulb = BULBS[dice.below(BULBS.len())];
    let day = if dice.often(4) { day - dice.below(20) as i64 } else { day };
    let date = Date::new(2027, 1, 1).unwrap().add_days(day).unwrap();
    let minute = dice.below(1440) as u16;
    let when = if dice.often(70) { Happened::at(date, minute, 60).unwrap() } else { Happened::on(date) };
    let draft = |about: &str, kind: &str, json: &str| Draft::new(vec![id(about)], when.clone(), body(kind, json));
    let heads = |slot: &str| -> Vec<EntryId> {
        let heads = ledger.heads(id(bulb), "bulb-name", slot);
        heads.iter().map(|entry| entry.id).collect()
    };
    let shoot = format!("sh_{}{}", &bulb[2..], dice.below(3));
    match dice.below(38) {
        0 => draft(bulb, "bulb", r#"{"lot":"lo_1"}"#),
        1 => {
            let name = format!(r#"{{"name":"{}"}}"#, dice.below(50));
            let mut named = draft(bulb, "bulb-name", &name);
            named.slot = ["own", "tag"][dice.below(2)].into();
            if dice.often(70) {
                named.supersedes = heads(&named.slot);
            }
            named
        }
        2 => {
            let standing = ledger.in_force(id(bulb));
            let picked = standing.len().saturating_sub(1 + dice.below(3));
            match standing.get(picked) {
                Some(entry) => {
                    let mut back = draft(bulb, "take-back", "{}");
                    back.about = entry.envelope.about.clone();
                    back.supersedes = vec![entry.id];
                    back
                }
                None => draft(bulb, "note", r#"{"text":"nothing yet"}"#),
            }
        }
        3 => draft("pl_1", "place", r#"{"name":"Bench 2","kind":"bench"}"#),
        4 => draft("pl_2", "place", r#"{"name":"Cellar","kind":"cellar"}"#),
        5 => draft("lo_1", "lot", r#"{"name":"Crate 1","cultivar":"Red"}"#),
        6 => draft("pl_1", "bench-order", r#"{"bulbs":["b_2","b_1"]}"#),
        7 => draft(bulb, "moved", r#"{"place":"pl_1"}"#),
        8 => draft(bulb, "potted", r#"{"container":"co_1","position":2}"#),
        9 => draft(bulb, "cycle-began", "{}"),
        10 => draft(bulb, "proof", &format!(r#"{{"shoot":"{shoot}","kind":"scape","by":"seen"}}"#)),
        11 => draft(bulb, "died", r#"{"cause":"rot"}"#),
        12 | 13 => {
            let mut care = draft(bulb, "watered", "{}");
            care.about = BULBS[..1 + dice.below(6)].iter().map(|b| id(b)).collect();
            care
        }
        14 => {
            let mut sweep = draft(bulb, "sweep", r#"{"place":"pl_1"}"#);
            sweep.about = BULBS[2..].iter().map(|b| id(b)).collect();
            sweep
        }
        15 => draft(bulb, "look", r#"{"neck":"clear","leaves":"none","way":"each"}"#),
        16 => {
            let mut of_two = draft(bulb, "note", r#"{"text":"by the door"}"#);
            of_two.about.push(id("pl_1"));
            of_two
        }
        17 => draft(bulb, "postponed", r#"{"job":"walk","until":"2027-05-01"}"#),
        18 => draft(bulb, "inspection", r#"{"findings":["firm"],"watch":true}"#),
        19 => draft("ru_1", "run", r#"{"trial":"tr_1","ordinal":1,"start":"2027-01-03","look_interval_days":4}"#),
        20 if dice.often(4) => same_bulb(dice, when.clone()),
        21 => {
            // What was taken back stands again, and so on.
            let history = ledger.history(id(bulb));
            let backs: Vec<_> = history.iter().filter(|entry| takes_back(entry)).collect();
            match backs.get(dice.below(backs.len())) {
                Some(entry) => {
                    let mut back = draft(bulb, "take-back", "{}");
                    back.about = entry.envelope.about.clone();
                    back.supersedes = vec![entry.id];
                    back
                }
                None => draft(bulb, "missing", "{}"),
            }
        }
        22 => draft(bulb, "laid-to-rest", r#"{"place":"pl_2"}"#),
        23 => draft(bulb, "rest-ended", "{}"),
        24 => draft(bulb, "water-stopped", "{}"),
        25 => draft(bulb, "fit-to-sell", "{}"),
        26 => draft(bulb, "left", r#"{"how":"sold"}"#),
        27 => draft(bulb, "measure", r#"{"what":"circumference","mm":270}"#),
        28 => draft(bulb, "count", r#"{"what":"florets","n":4}"#),
        29 => draft(bulb, "cycle-ended", "{}"),
        30 if dice.often(40) => draft(
            "tm_1",
            "treatment",
            r#"{"trial":"tr_1","name":"8 weeks","levels":[{"factor":"rest","text":"8 weeks"}]}"#,
        ),
        31 if dice.often(40) => draft(
            "ru_1",
            "success-rule",
            r#"{"goal":"by","stage":"first flower open","unit":"bulb","died":"not in time","test":"boschloo"}"#,
        ),
        32 if dice.often(40) => draft("ru_1", "due-window", r#"{"from":"2027-04-01","to":"2027-04-10"}"#),
        33 if dice.often(40) => draft("ru_1", "run-started", "{}"),
        _ => {
            let stage = ["shoot", "scape in sight", "spathe split"][dice.below(3)];
            let kind = ["unknown", "leaf", "scape"][dice.below(3)];
            let look = format!(
                r#"{{"neck":"shoots","leaves":"count","n_leaves":3,"way":"each","walk":"pl_1","shoots":[{{"id":"{shoot}","ordinal":1,"side":"left","kind":"{kind}","stage":"{stage}","height_mm":40}}]}}"#
            );
            draft(bulb, "look", &look)
        }
    }
}

/// That two bulbs are one, said about one of them or about both.
pub(crate) fn same_bulb(dice: &mut Dice, when: Happened) -> Draft {
    let (bulb, to) = (BULBS[dice.below(BULBS.len())], BULBS[dice.below(BULBS.len())]);
    let mut about = vec![id(bulb)];
    if dice.often(50) {
        about.push(id(to));
    }
    about.dedup();
    Draft::new(about, when, body("same-as", &format!(r#"{{"to":"{to}"}}"#)))
}
