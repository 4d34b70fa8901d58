//! The one way an entry is written: RFC 8785 with the ledger's narrower rules.
//!
//! RFC 8785 sorts keys by UTF-16 units and prints numbers as ECMAScript does. With ASCII keys and whole numbers within
//! ±(2⁵³−1) both become plain: keys sort as bytes, numbers are their decimal digits.

use std::fmt::Write as _;

use icu_normalizer::ComposingNormalizerBorrowed;
use serde::Serialize;
use serde_json::Value;

use crate::{error::Error, refusal::StoredRefusal};

/// Unicode normalisation form C (Unicode Standard Annex #15).
const NFC: ComposingNormalizerBorrowed<'static> = ComposingNormalizerBorrowed::new_nfc();

/// The largest whole number a record may hold, 2⁵³−1, so that every JSON reader reads it exactly.
pub const WHOLE_NUMBER_MAX: i64 = 9_007_199_254_740_991;

/// Writes a value in canonical form.
///
/// # Errors
///
/// When the value holds a fraction, a number beyond ±(2⁵³−1), null, a key that is not ASCII, or text that is not in
/// Unicode normalisation form C.
///
/// # Keys are sorted, and a fraction is refused
/// ```
/// use bloomdue_core::ledger::canonical::to_canonical;
/// use serde_json::json;
/// assert_eq!(to_canonical(&json!({"mm": 240, "at": "neck"})).as_deref(), Ok(r#"{"at":"neck","mm":240}"#));
/// assert!(to_canonical(&json!({ "mm": 240.5 })).is_err());
/// ```
pub fn to_canonical(value: &impl Serialize) -> Result<String, Error> {
    let value = serde_json::to_value(value)
        .map_err(|why| Error::new(StoredRefusal::Json { path: String::new(), detail: why.to_string() }))?;
    let mut out = String::new();
    write_value(&value, &mut out)?;
    Ok(out)
}

fn write_value(value: &Value, out: &mut String) -> Result<(), Error> {
    match value {
        Value::Null => {
            return Err(Error::new(StoredRefusal::EmptyValue));
        }
        Value::Bool(true) => out.push_str("true"),
        Value::Bool(false) => out.push_str("false"),
        Value::Number(number) => {
            let whole = number
                .as_i64()
                .filter(|n| (-WHOLE_NUMBER_MAX..=WHOLE_NUMBER_MAX).contains(n))
                .ok_or_else(|| Error::new(StoredRefusal::NoWholeNumber(number.to_string())))?;
            out.push_str(&whole.to_string());
        }
        Value::String(text) => {
            check_text(text)?;
            quote(text, out);
        }
        Value::Array(items) => {
            out.push('[');
            for (n, item) in items.iter().enumerate() {
                if n > 0 {
                    out.push(',');
                }
                write_value(item, out)?;
            }
            out.push(']');
        }
        Value::Object(map) => {
            let mut members: Vec<_> = map.iter().collect();
            members.sort_by(|a, b| a.0.cmp(b.0));
            out.push('{');
            for (n, (key, member)) in members.into_iter().enumerate() {
                if !key.is_ascii() {
                    return Err(Error::new(StoredRefusal::KeyNotAscii(key.clone())));
                }
                if n > 0 {
                    out.push(',');
                }
                quote(key, out);
                out.push(':');
                write_value(member, out)?;
            }
            out.push('}');
        }
    }
    Ok(())
}

/// Whether a record can hold a text.
///
/// # Errors
///
/// When it is not in Unicode normalisation form C.
pub(crate) fn check_text(text: &str) -> Result<(), Error> {
    // Most texts are plain ASCII, which is normalised as it stands.
    if text.is_ascii() || NFC.is_normalized(text) {
        return Ok(());
    }
    Err(Error::new(StoredRefusal::NotNormalised))
}

/// Writes text with its quotes.
pub(crate) fn quote(text: &str, out: &mut String) {
    out.push('"');
    for sign in text.chars() {
        // The escapes of RFC 8785: short forms, then \u00xx in lower case, nothing else.
        match sign {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\u{8}' => out.push_str("\\b"),
            '\t' => out.push_str("\\t"),
            '\n' => out.push_str("\\n"),
            '\u{c}' => out.push_str("\\f"),
            '\r' => out.push_str("\\r"),
            '\0'..' ' => {
                // Writing to a string cannot fail.
                let _ = write!(out, "\\u{:04x}", u32::from(sign));
            }
            _ => out.push(sign),
        }
    }
    out.push('"');
}

/// Text as a record may hold it: normalised, ends trimmed, control characters turned into spaces.
///
/// # Letters are composed, and no tab stays
/// ```
/// use bloomdue_core::ledger::canonical::tidy_text;
/// assert_eq!(tidy_text(" Cafe\u{301}\ttable "), "Caf\u{e9} table");
/// ```
pub fn tidy_text(text: &str) -> String {
    let plain: String =
        NFC.normalize(text).chars().map(|c| if c.is_control() && c != '\n' { ' ' } else { c }).collect();
    plain.trim().to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;
    use unicode_normalization::{UnicodeNormalization as _, is_nfc};

    fn check(json: &str, expect: &str) {
        let value: Value = serde_json::from_str(json).unwrap();
        let got = to_canonical(&value).unwrap_or_else(|why| format!("refused: {why}"));
        assert!(got.starts_with(expect), "{json} gave {got}");
    }

    #[test]
    fn normalisation_agrees_with_a_second_library() {
        let agree = |text: &str| {
            assert_eq!(NFC.is_normalized(text), is_nfc(text), "{text:?}");
            let other: String = text.nfc().collect();
            assert_eq!(NFC.normalize(text), other, "{text:?}");
        };
        for sign in '\0'..=char::MAX {
            agree(sign.encode_utf8(&mut [0; 4]));
        }
        // Marks after a letter that many combine with, and Korean letters that join to syllables.
        for sign in '\u{2b0}'..='\u{3100}' {
            for before in ["e", "e\u{301}", "\u{1100}", "\u{ac00}"] {
                agree(&format!("{before}{sign}"));
            }
        }
    }

    #[test]
    fn keys_sort_and_spaces_go() {
        check(r#"{ "b": [1, -2, true], "a": "x\u00e9\/" }"#, "{\"a\":\"x\u{e9}/\",\"b\":[1,-2,true]}");
    }

    #[test]
    fn what_a_record_cannot_hold_is_refused() {
        for json in ["1.5", "null", "9007199254740992", "[1e3]", "{\"\u{e9}\":1}", "\"e\u{301}\""] {
            check(json, "refused:");
        }
    }

    #[test]
    fn control_characters_are_escaped_as_the_standard_says() {
        // RFC 8785 §3.2.2.2: \b \t \n \f \r \" \\ short, other controls \u00xx in lower case, all else as it is.
        check(r#""\u0000\u001f\b\t\n\f\r\"\\\u007f""#, "\"\\u0000\\u001f\\b\\t\\n\\f\\r\\\"\\\\\u{7f}\"");
    }
}
