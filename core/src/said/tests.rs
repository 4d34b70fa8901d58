use std::collections::BTreeMap;

use proptest::{collection::vec, prelude::*, sample::select};
use serde::de::DeserializeOwned;
use serde_json::{Map, Value, value::RawValue};

use super::{Outline, Part, Said, Writer, read, to_text, write};
use crate::{
    ledger::{body::Neck, id::Id},
    said,
};

/// What stands here, as the library would have read it; of members that stand there twice the last.
fn value(part: Part<'_>) -> Value {
    match part.raw().as_bytes()[0] {
        b'{' => {
            let member = |(name, part): (std::borrow::Cow<'_, str>, _)| (name.into(), value(part));
            Value::Object(part.members().map(member).collect::<Map<_, _>>())
        }
        b'[' => part.items().map(value).collect(),
        b'"' => Value::from(part.text()),
        _ => serde_json::from_str(part.raw()).unwrap(),
    }
}

/// The outline takes a text for JSON when the library does, and says the same of it.
fn agrees(text: &str) {
    let library = serde_json::from_str::<&RawValue>(text);
    match Outline::of(text) {
        Err(why) => assert!(library.is_err(), "{text}: {why}"),
        Ok(outline) => {
            assert_eq!(outline.whole().raw(), library.expect(text).get());
            if let Ok(library) = serde_json::from_str::<Value>(text) {
                assert_eq!(value(outline.whole()), library, "{text}");
                assert!(outline.settle().is_ok());
            }
        }
    }
}

/// Pieces of JSON and what is almost JSON.
const PIECES: &[&str] = &[
    "{",
    "}",
    "[",
    "]",
    ",",
    ":",
    "\"",
    "\"a\"",
    "\"a\":",
    "\"b\":1",
    "\\",
    "\\u",
    "\\u00e9",
    "\\ud83c\\udf3a",
    "\\ud800",
    "\"\\n\"",
    "\\x",
    "0",
    "-",
    "-0",
    "12",
    "01",
    ".5",
    "1.5",
    "1e3",
    "e",
    "E+",
    "true",
    "tru",
    "null",
    "false",
    " ",
    "\n",
    "\t",
    "\u{c}",
    "\u{0}",
    "\u{1f}",
    "é",
    "🌺",
    "abcdefgh",
    "\"abcdefghi\\\"jklmnop\"",
];

proptest! {
    #![proptest_config(ProptestConfig::with_cases(4000))]

    #[test]
    fn any_pieces_are_json_when_the_library_says_so(pieces in vec(select(PIECES), 0..14)) {
        agrees(&pieces.concat());
    }

    #[test]
    fn json_that_was_bitten_into_is_seen_as_the_library_sees_it(
        at in 0..WHOLE.len(), cut in 0..4_usize, put in select(PIECES),
    ) {
        let mut text = WHOLE.to_owned();
        if let Some(range) = (text.is_char_boundary(at) && text.is_char_boundary(at + cut)).then_some(at..at + cut) {
            text.replace_range(range, put);
        }
        agrees(&text);
    }

    #[test]
    fn text_of_any_length_ends_where_it_ends(before in "[ -~]{0,20}", sign in any::<char>(), after in "[ -~]{0,20}") {
        agrees(&format!("[\"{before}{sign}{after}\",1]"));
        let text = format!("{before}{sign}{after}");
        let quoted = to_text(&text);
        prop_assert_eq!(&quoted, &serde_json::to_string(&text).unwrap());
        prop_assert_eq!(read::<String>(&quoted).unwrap(), text);
    }
}

const WHOLE: &str = r#" {"about":["b_1","b_2"],"body":{"a":{},"b":[],"c":[[1,-2.5e-7],{"d":null}],"é":"\u00e9\\\"x"},"v":true , "w" : false}    "#;

#[test]
fn what_is_nested_very_deep_is_read_all_the_same() {
    let text = "[".repeat(100_000) + &"]".repeat(100_000);
    assert_eq!(Outline::of(&text).unwrap().whole().raw(), text);
    assert!(Outline::of(&"[".repeat(100_000)).is_err());
}

fn same<T: Said + DeserializeOwned + PartialEq + std::fmt::Debug>(texts: &[&str]) {
    for text in texts {
        assert_eq!(
            read::<T>(text).ok(),
            serde_json::from_str(text).ok(),
            "{text}"
        );
    }
}

#[test]
fn values_are_those_that_the_library_would_read() {
    let numbers = [
        "0",
        "-0",
        "1",
        "-1",
        "65535",
        "65536",
        "4294967295",
        "4294967296",
        "9223372036854775807",
        "9223372036854775808",
        "-9223372036854775808",
        "-9223372036854775809",
        "18446744073709551615",
        "18446744073709551616",
        "1.0",
        "1e2",
        "1E0",
        "\"1\"",
        "null",
        "true",
        "[]",
        "{}",
        "01",
        "+1",
        "",
        " 7 ",
    ];
    same::<u16>(&numbers);
    same::<u32>(&numbers);
    same::<u64>(&numbers);
    same::<i64>(&numbers);
    same::<Option<i64>>(&numbers);
    let others = [
        "true",
        "false",
        "\"true\"",
        "\"\"",
        "\"\\u0041\\n\\ud83c\\udf3a\"",
        "\"\\ud800\"",
        "null",
        "[1,2]",
        "[1,-2]",
        "[]",
        "[null]",
        "[1,\"2\"]",
        "{\"a\":1,\"b\":-2}",
        "{\"a\":1,\"a\":2}",
        "{\"a\":null}",
        "{\"\\u0061\":1}",
        "{}",
        "[1,2,3]",
    ];
    same::<bool>(&others);
    same::<String>(&others);
    same::<Vec<u32>>(&others);
    same::<(u64, i64)>(&others);
    same::<[i64; 2]>(&others);
    same::<BTreeMap<String, i64>>(&others);
}

said! {
    /// One of every sort of field.
    #[derive(Clone, Debug, PartialEq, Eq)]
    struct Sample {
        zone: Neck,
        id: Id,
        note: Option<String> = unsaid,
        watch: bool = unsaid,
        days: u32 = or_zero,
        colours: Vec<Neck> = unsaid,
        within: Vec<Within>,
    }

    /// What stands within.
    #[derive(Clone, Debug, PartialEq, Eq)]
    struct Within {
        n: i64 = or_zero,
    }
}

const FULL: &str = r#"{"colours":["shoots","not looked at"],"days":3,"id":"b_1","note":"x","watch":true,"within":[{"n":-1}],"zone":"not looked at"}"#;

#[test]
fn a_structure_is_written_in_order_and_read_in_any() {
    let full: Sample = read(FULL).unwrap();
    assert_eq!(
        (full.zone, full.days, full.within[0].n),
        (Neck::NotLookedAt, 3, -1)
    );
    assert_eq!(write(&full).unwrap(), FULL);
    let bare: Sample =
        read(r#" { "zone" : "\u0063lear" , "new": {"a":[1.5]}, "within":[], "id":"b_1" } "#)
            .unwrap();
    let expected = r#"{"days":0,"id":"b_1","within":[],"zone":"clear"}"#;
    assert_eq!(write(&bare).unwrap(), expected);
}

#[test]
fn what_is_wrong_is_named() {
    for (from, to, why) in [
        (
            "b_1",
            "B_1",
            "id: 'B_1' is not the name of anything in a ledger",
        ),
        (r#""id":"b_1","#, "", "id: expected text"),
        (
            "\"shoots\"",
            "\"blue\"",
            "colours: expected a word that is known here",
        ),
        ("true", "null", "watch: expected true or false"),
        ("3", "4294967296", "days: expected a smaller number"),
        ("-1", "1.5", "n: expected a whole number"),
        ("[{\"n\":-1}]", "[-1]", "n: expected an object"),
        ("[{\"n\":-1}]", "7", "within: expected a list"),
        (
            "{\"colours\"",
            "{\"id\":\"b_2\",\"colours\"",
            "id: expected a name only once",
        ),
        ("}]", "}", "no JSON from byte 107 on"),
    ] {
        assert!(FULL.contains(from), "{from}");
        let found = read::<Sample>(&FULL.replacen(from, to, 1)).unwrap_err();
        assert_eq!(found.to_string(), why);
    }
}

#[test]
fn what_no_record_can_hold_is_refused_in_one_and_kept_elsewhere() {
    for (said, text) in [("e\u{301}", "\"e\u{301}\""), ("\u{e9}", "\"\u{e9}\"")] {
        assert_eq!(write(&said.to_owned()).is_ok(), said == "\u{e9}");
        assert_eq!(to_text(&said.to_owned()), text);
    }
    assert!(write(&9_007_199_254_740_991_u64).is_ok());
    assert!(write(&-9_007_199_254_740_992_i64).is_err());
    assert_eq!(to_text(&u64::MAX), u64::MAX.to_string());
    assert!(write(&BTreeMap::from([("\u{e9}".to_owned(), 1)])).is_err());
    let mut to = Writer::default();
    Option::<u32>::None.write(&mut to);
    assert_eq!(to.into_text(), "null");
}
