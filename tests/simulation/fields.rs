//! Every field of every kind, as `bodies.schema.json` describes it: read, written, left out and said wrongly.

use std::collections::BTreeSet;

use bloomdue_core::ledger::{
    body::{ActKind, Body},
    id::{AttachmentHash, EntryId},
};
use serde_json::{Map, Value, json};

/// Fields that are always written, though older entries may lack them.
const OR_ZERO: [&str; 2] = ["after_days", "tolerance_days"];

fn schema() -> Value {
    serde_json::from_str(include_str!("../../core/src/handover/bodies.schema.json")).unwrap()
}

/// What a schema stands for, where it only names it.
fn resolved<'a>(root: &'a Value, schema: &'a Value) -> &'a Value {
    let target = schema["$ref"].as_str();
    target.map_or(schema, |path| root.pointer(path.trim_start_matches('#')).unwrap())
}

fn is_required(schema: &Value, name: &str) -> bool {
    let required = schema["required"].as_array();
    required.is_some_and(|names| names.iter().any(|known| known == name))
}

/// A value as the schema describes it: with everything said, or with nothing that may be left out.
fn sample(root: &Value, schema: &Value, full: bool) -> Value {
    match schema["$ref"].as_str() {
        Some("#/$defs/id") => return json!("b_1"),
        Some("#/$defs/day") => return json!("2027-03-14"),
        Some("#/$defs/entryId") => return json!(EntryId::of(b"any").to_string()),
        Some("#/$defs/sha256") => return json!(AttachmentHash::of(b"any").to_string()),
        _ => {}
    }
    let schema = resolved(root, schema);
    if let Some(words) = schema["enum"].as_array() {
        return words[usize::from(full) * (words.len() - 1)].clone();
    }
    match schema["type"].as_str().unwrap() {
        "string" => json!("leaves \"yellow\" at 5 \u{b0}C"),
        "boolean" => json!(true),
        "integer" => json!(if full { 71 } else { 0 }),
        "array" => json!([sample(root, &schema["items"], full)]),
        "object" if schema["properties"].is_null() => json!({ "in_time_permille": -5 }),
        "object" => {
            let members = schema["properties"].as_object().unwrap().iter();
            let said = members.filter(|(name, _)| full || is_required(schema, name));
            said.map(|(name, of)| (name.clone(), sample(root, of, full))).collect::<Map<_, _>>().into()
        }
        other => panic!("the schema says {other}"),
    }
}

/// Calls `found` with the place of each member, and whether it has to be said.
fn members(root: &Value, schema: &Value, value: &Value, place: &str, found: &mut impl FnMut(&str, &str, bool, &Value)) {
    let schema = resolved(root, schema);
    for (n, item) in value.as_array().into_iter().flatten().enumerate() {
        members(root, &schema["items"], item, &format!("{place}/{n}"), found);
    }
    let Some(of) = schema["properties"].as_object() else {
        return;
    };
    for (name, of) in of {
        if let Some(member) = value.get(name) {
            found(place, name, is_required(schema, name), of);
            members(root, of, member, &format!("{place}/{name}"), found);
        }
    }
}

fn known(kind: &str, body: &Value) -> bool {
    Body::read(kind, 1, &body.to_string()) != Body::Unknown
}

/// Reads a body and writes it again; nothing when it is not understood.
fn written(kind: &str, body: &Value) -> Option<Value> {
    let read = Body::read(kind, 1, &body.to_string());
    if read == Body::Unknown {
        return None;
    }
    assert_eq!(read.kind(), kind);
    let line = read.to_canonical().unwrap();
    assert_eq!(Body::read(kind, 1, &line), read, "{kind} {line}");
    let value: Value = serde_json::from_str(&line).unwrap();
    assert_eq!(serde_json_canonicalizer::to_string(&value).unwrap(), line, "{kind}");
    Some(value)
}

/// The same with a member of an object in it changed.
fn with(body: &Value, place: &str, change: impl FnOnce(&mut Map<String, Value>)) -> Value {
    let mut changed = body.clone();
    change(changed.pointer_mut(place).unwrap().as_object_mut().unwrap());
    changed
}

#[test]
fn a_body_with_everything_said_and_one_with_nothing_are_written_as_they_were_read() {
    let root = schema();
    let mut kinds = BTreeSet::new();
    for (kind, of) in root["properties"].as_object().unwrap() {
        let full = sample(&root, of, true);
        assert_eq!(written(kind, &full), Some(full), "{kind}");
        let bare = sample(&root, of, false);
        let mut said = written(kind, &bare).expect(kind);
        for name in OR_ZERO {
            if said.get(name) == Some(&json!(0)) {
                said.as_object_mut().unwrap().remove(name);
            }
        }
        assert_eq!(said, bare, "{kind}");
        kinds.insert(kind.as_str());
    }
    let others = kinds.len() - ActKind::ALL.len();
    assert_eq!(others, 39, "kinds that are no act, as body.rs lists them");
}

#[test]
fn only_what_may_be_left_out_is() {
    let root = schema();
    let mut n_left_out = 0;
    for (kind, of) in root["properties"].as_object().unwrap() {
        let full = sample(&root, of, true);
        members(&root, of, &full, "", &mut |place, name, required, _| {
            let without = with(&full, place, |members| drop(members.remove(name)));
            assert_eq!(known(kind, &without), !required, "{kind}{place}/{name}");
            let mut said = written(kind, &without);
            if let Some(said) = &mut said {
                n_left_out += 1;
                if OR_ZERO.contains(&name) {
                    assert_eq!(said[name], 0);
                    said.as_object_mut().unwrap().remove(name);
                }
                assert_eq!(*said, without, "{kind}{place}/{name}");
            }
        });
    }
    assert!(n_left_out > 60, "{n_left_out}");
}

#[test]
fn a_member_said_wrongly_or_twice_makes_a_body_that_is_not_understood() {
    let root = schema();
    for (kind, of) in root["properties"].as_object().unwrap() {
        let full = sample(&root, of, true);
        members(&root, of, &full, "", &mut |place, name, _, of| {
            for wrong in [json!(1.5), json!(-0.0), json!(u64::MAX), json!([{}])] {
                // The size of a photo is the one number that may be as large as that.
                if name == "n_bytes" && wrong == json!(u64::MAX) {
                    continue;
                }
                let said = with(&full, place, |members| members[name] = wrong.clone());
                assert!(!known(kind, &said), "{kind}{place}/{name} {wrong}");
            }
            if of["minimum"] == 0 {
                let said = with(&full, place, |members| members[name] = json!(-1));
                assert!(!known(kind, &said), "{kind}{place}/{name}");
            }
            for word in of["enum"].as_array().into_iter().flatten() {
                let said = with(&full, place, |members| members[name] = word.clone());
                assert_eq!(written(kind, &said), Some(said), "{kind}{place}/{name}");
            }
            if place.is_empty() {
                let twice = format!("{{\"{name}\":{},{}", full[name], &full.to_string()[1..]);
                assert_eq!(Body::read(kind, 1, &twice), Body::Unknown, "{kind} {twice}");
            }
        });
        let more = with(&full, "", |members| {
            members.insert("said_later".to_owned(), json!({ "n": 1.5 }));
        });
        assert_eq!(written(kind, &more), Some(full), "{kind}");
    }
}
