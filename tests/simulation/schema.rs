//! A check of JSON against a schema, for the words of JSON Schema (draft 2020-12) that `records.schema.json` and `bodies.schema.json` use. A
//! word it does not know stops the test, so that no schema can say something that is not checked.

use serde_json::{Map, Value};

/// Everything in `value` that `schema` does not allow, each with its place.
pub(crate) fn errors(schema: &Value, value: &Value) -> Vec<String> {
    let mut errors = Vec::new();
    check(schema, schema, value, "", &mut errors);
    errors
}

fn check(root: &Value, schema: &Value, value: &Value, place: &str, errors: &mut Vec<String>) {
    for (word, says) in schema.as_object().unwrap() {
        let holds = match word.as_str() {
            "$schema" | "$defs" | "title" | "description" => true,
            "$ref" => {
                let target = root.pointer(says.as_str().unwrap().trim_start_matches('#'));
                check(root, target.unwrap(), value, place, errors);
                true
            }
            "type" => is_of_type(value, says.as_str().unwrap()),
            "const" => value == says,
            "enum" => says.as_array().unwrap().contains(value),
            "minimum" => value.as_i64().is_none_or(|n| n >= says.as_i64().unwrap()),
            "maximum" => value.as_i64().is_none_or(|n| n <= says.as_i64().unwrap()),
            "maxLength" => {
                let length = value.as_str().map(|text| text.chars().count() as u64);
                length.is_none_or(|length| length <= says.as_u64().unwrap())
            }
            "pattern" => {
                let pattern = regex_lite::Regex::new(says.as_str().unwrap()).unwrap();
                value.as_str().is_none_or(|text| pattern.is_match(text))
            }
            "minItems" => value.as_array().is_none_or(|items| items.len() as u64 >= says.as_u64().unwrap()),
            "maxItems" => value.as_array().is_none_or(|items| items.len() as u64 <= says.as_u64().unwrap()),
            "items" => {
                for (n, item) in value.as_array().into_iter().flatten().enumerate() {
                    check(root, says, item, &format!("{place}/{n}"), errors);
                }
                true
            }
            "prefixItems" => {
                let items = value.as_array().into_iter().flatten().enumerate();
                for ((n, item), schema) in items.zip(says.as_array().unwrap()) {
                    check(root, schema, item, &format!("{place}/{n}"), errors);
                }
                true
            }
            "required" => {
                let has = |name: &Value| value.get(name.as_str().unwrap()).is_some();
                !value.is_object() || says.as_array().unwrap().iter().all(has)
            }
            "propertyNames" => {
                for name in members(value).keys() {
                    check(root, says, &Value::from(name.as_str()), &format!("{place}/{name}"), errors);
                }
                true
            }
            "properties" => {
                for (name, schema) in says.as_object().unwrap() {
                    if let Some(member) = value.get(name) {
                        check(root, schema, member, &format!("{place}/{name}"), errors);
                    }
                }
                true
            }
            "additionalProperties" => additional(root, schema, says, value, place, errors),
            other => panic!("the schema says {other}, which is not checked"),
        };
        if !holds {
            errors.push(format!("{place}: not {word} {says}"));
        }
    }
}

/// Members that `properties` does not name: forbidden, or each by a schema.
fn additional(
    root: &Value,
    schema: &Value,
    says: &Value,
    value: &Value,
    place: &str,
    errors: &mut Vec<String>,
) -> bool {
    let named = schema.get("properties").map(members).unwrap_or_default();
    let others: Vec<_> = members(value).into_iter().filter(|(name, _)| !named.contains_key(name)).collect();
    if *says == Value::Bool(false) {
        return others.is_empty();
    }
    for (name, member) in &others {
        check(root, says, member, &format!("{place}/{name}"), errors);
    }
    true
}

fn members(value: &Value) -> Map<String, Value> {
    value.as_object().cloned().unwrap_or_default()
}

fn is_of_type(value: &Value, name: &str) -> bool {
    match name {
        "object" => value.is_object(),
        "array" => value.is_array(),
        "string" => value.is_string(),
        "boolean" => value.is_boolean(),
        "integer" => value.is_i64() || value.is_u64(),
        other => panic!("the schema says type {other}, which is not checked"),
    }
}
