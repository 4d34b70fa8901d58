//! Tags.

use bloomdue_core::tag::{self, Tag};
use serde_json::{Value, json};

use super::{refused, said};

/// The check character of a body and its whole tag, or whether a tag holds.
pub(super) fn tag(input: &Value, file: &Value) -> Value {
    let alphabet = file["alphabet"].as_str().unwrap_or_default();
    if !alphabet.is_empty() && alphabet.as_bytes() != tag::ALPHABET {
        return refused("another alphabet");
    }
    if let Some(body) = input["body"].as_str() {
        return json!({
            "check": said(tag::check_character(body).map(String::from)),
            "tag": said(Tag::of_body(body).map(|tag| tag.to_string())),
        });
    }
    match input["tag"].as_str() {
        Some(text) => json!({ "valid": text.parse::<Tag>().is_ok() }),
        None => refused("neither a body nor a tag"),
    }
}
