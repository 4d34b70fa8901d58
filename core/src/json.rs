//! JSON read into what it says, and written where it is no record. Records are written by
//! [`canonical`](crate::ledger::canonical).

use std::{fmt, marker::PhantomData};

use serde::{
    Deserialize, Deserializer, Serialize,
    de::{self, MapAccess, Visitor, value::MapAccessDeserializer},
};

use crate::{
    error::{Error, Result},
    ledger::names::shown,
    refusal::StoredRefusal,
};

/// Reads a whole text.
///
/// # Errors
///
/// When it is no JSON (RFC 8259), or does not say what is wanted; the place of what is wrong is named.
pub fn read<'de, T: Deserialize<'de>>(text: &'de str) -> Result<T> {
    serde_json::from_str(text).map_err(|why| {
        // Only what is refused is read a second time, to find the place.
        let found = serde_path_to_error::deserialize::<_, T>(&mut serde_json::Deserializer::from_str(text)).err();
        let path = found.map(|found| found.path().to_string()).filter(|path| path != ".").unwrap_or_default();
        // What is wrong may quote what stands there, which may be long.
        Error::new(StoredRefusal::Json { path: shown(path), detail: shown(why.to_string()) })
    })
}

/// Reads a whole text from its bytes.
///
/// # Errors
///
/// As [`read`], and when the bytes are no text.
pub fn read_bytes<'de, T: Deserialize<'de>>(bytes: &'de [u8]) -> Result<T> {
    read(str::from_utf8(bytes).map_err(|_| Error::new(StoredRefusal::NotText))?)
}

/// Writes a value that is no record: any text and any number can stand in it.
pub fn to_text(value: &impl Serialize) -> String {
    // Only a map whose keys are no text cannot be written, and nothing that is written holds one.
    serde_json::to_string(value).unwrap_or_default()
}

/// The bytes of [`to_text`].
pub fn to_bytes(value: &impl Serialize) -> Vec<u8> {
    to_text(value).into_bytes()
}

/// A structure that stands as an object. What is derived alone would take a list of its values for it too.
pub(crate) struct Object<T>(pub(crate) T);

impl<'de, T: Deserialize<'de>> Deserialize<'de> for Object<T> {
    fn deserialize<D: Deserializer<'de>>(from: D) -> std::result::Result<Self, D::Error> {
        from.deserialize_map(Members(PhantomData))
    }
}

struct Members<T>(PhantomData<T>);

impl<'de, T: Deserialize<'de>> Visitor<'de> for Members<T> {
    type Value = Object<T>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("an object")
    }

    fn visit_map<A: MapAccess<'de>>(self, members: A) -> std::result::Result<Object<T>, A::Error> {
        T::deserialize(MapAccessDeserializer::new(members)).map(Object)
    }
}

/// Reads a list of such structures.
pub(crate) fn objects<'de, T: Deserialize<'de>, D: Deserializer<'de>>(
    from: D,
) -> std::result::Result<Vec<T>, D::Error> {
    let objects = Vec::<Object<T>>::deserialize(from)?;
    Ok(objects.into_iter().map(|Object(object)| object).collect())
}

/// Reads what stands as text, without a copy of it.
pub(crate) fn parsed<'de, T, D: Deserializer<'de>>(
    from: D,
    parse: fn(&str) -> Result<T>,
) -> std::result::Result<T, D::Error> {
    from.deserialize_str(Parsed(parse))
}

struct Parsed<T>(fn(&str) -> Result<T>);

impl<T> Visitor<'_> for Parsed<T> {
    type Value = T;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("text")
    }

    fn visit_str<E: de::Error>(self, text: &str) -> std::result::Result<T, E> {
        (self.0)(text).map_err(E::custom)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::error::Refusal;
    use crate::ledger::{
        body::{Body, Neck},
        canonical::to_canonical,
        id::Id,
    };

    /// One of every sort of field.
    #[derive(Debug, PartialEq, Serialize, Deserialize)]
    struct Sample {
        zone: Neck,
        id: Id,
        #[serde(skip_serializing_if = "Option::is_none")]
        note: Option<String>,
        #[serde(default, skip_serializing_if = "std::ops::Not::not")]
        watch: bool,
        #[serde(default)]
        days: u32,
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        colours: Vec<Neck>,
        #[serde(deserialize_with = "objects")]
        within: Vec<Within>,
    }

    #[derive(Debug, PartialEq, Serialize, Deserialize)]
    struct Within {
        n: i64,
    }

    const FULL: &str = r#"{"colours":["shoots","not looked at"],"days":3,"id":"b_1","note":"x","watch":true,"within":[{"n":-1}],"zone":"not looked at"}"#;

    fn sample(text: &str) -> Result<Sample> {
        read(text).map(|Object(sample)| sample)
    }

    #[test]
    fn a_structure_is_written_in_order_and_read_in_any() {
        let full = sample(FULL).unwrap();
        assert_eq!((full.zone, full.days, full.within[0].n), (Neck::NotLookedAt, 3, -1));
        assert_eq!(to_canonical(&full).unwrap(), FULL);
        let bare = sample(r#" { "zone" : "\u0063lear" , "new": {"a":[1.5]}, "within":[], "id":"b_1", "note":null } "#);
        assert_eq!(to_canonical(&bare.unwrap()).unwrap(), r#"{"days":0,"id":"b_1","within":[],"zone":"clear"}"#);
    }

    #[test]
    fn what_is_wrong_is_named() {
        for (from, to, why) in [
            ("b_1", "B_1", "id: Stored(NoId(\"B_1\"))"),
            (r#""id":"b_1","#, "", "missing field `id`"),
            (
                "\"shoots\"",
                "\"blue\"",
                "colours[0]: Stored(NoWord { word: \"blue\", known: \"clear, shoots, not looked at\" })",
            ),
            ("\"shoots\"", "{\"shoots\":null}", "colours[0]: invalid type: map, expected text"),
            ("true", "null", "watch: invalid type: null, expected a boolean"),
            ("3", "4294967296", "days: invalid value: integer `4294967296`, expected u32"),
            ("3", "-0", "days: invalid type: floating point `-0.0`, expected u32"),
            ("3", "3.0", "days: invalid type: floating point `3.0`, expected u32"),
            ("-1", "1.5", "within[0].n: invalid type: floating point `1.5`, expected i64"),
            ("{\"n\":-1}", "[-1]", "within[0]: invalid type: sequence, expected an object"),
            ("[{\"n\":-1}]", "7", "within: invalid type: integer `7`, expected a sequence"),
            ("{\"colours\"", "{\"id\":\"b_2\",\"colours\"", "duplicate field `id`"),
            ("{\"colours\"", "[\"colours\"", "invalid type: sequence, expected an object"),
            ("}]", "}", "within[1]: invalid type: string \"zone\", expected an object"),
        ] {
            assert!(FULL.contains(from), "{from}");
            let found = match sample(&FULL.replacen(from, to, 1)).unwrap_err().refusal {
                Refusal::Stored(StoredRefusal::Json { path, detail }) if path.is_empty() => detail,
                Refusal::Stored(StoredRefusal::Json { path, detail }) => format!("{path}: {detail}"),
                other => format!("{other:?}"),
            };
            assert!(found.starts_with(why), "{found}");
        }
    }

    #[test]
    fn a_body_of_lists_or_of_words_that_are_objects_is_not_understood() {
        let shoot = r#"{"id":"sh_1","ordinal":1,"side":"left","kind":"unknown","stage":"shoot","height_mm":12}"#;
        let look = format!(r#"{{"neck":"shoots","leaves":"none","shoots":[{shoot}],"way":"each"}}"#);
        let listed = look.replace(shoot, r#"["sh_1",1,"left","unknown","shoot",12]"#);
        let mapped = look.replace("\"none\"", "{\"none\":null}");
        for (kind, body, known) in [
            ("look", look.as_str(), true),
            ("look", &listed, false),
            ("look", &mapped, false),
            ("watered", "{}", true),
            ("watered", "[]", false),
            ("note", r#"["text"]"#, false),
        ] {
            assert_eq!(Body::read(kind, 1, body) != Body::Unknown, known, "{kind} {body}");
        }
    }

    #[test]
    fn what_is_not_asked_for_may_be_nested_ever_so_deep() {
        let deep = "[".repeat(100_000) + &"]".repeat(100_000);
        let body = format!(r#"{{"later":{deep},"to":"b_1"}}"#);
        assert_ne!(Body::read("same-as", 1, &body), Body::Unknown);
        assert_eq!(Body::read("same-as", 1, &deep), Body::Unknown);
        assert!(read::<serde_json::Value>(&deep).unwrap_err().to_string().contains("recursion limit"));
    }
}
