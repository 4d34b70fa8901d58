//! The canonical form against an independent implementation of RFC 8785.

use bloomdue_core::ledger::canonical::{WHOLE_NUMBER_MAX, to_canonical};
use proptest::{collection::vec, prelude::*, strategy::Union};
use serde_json::{Map, Value};

use crate::{bodies, make};

/// Text in normalisation form C, with everything that a writer of JSON may get wrong.
fn text() -> impl Strategy<Value = String> {
    let pieces = [
        "a",
        "Z",
        "0",
        " ",
        "\"",
        "\\",
        "/",
        "\u{0}",
        "\u{1f}",
        "\u{8}",
        "\t",
        "\n",
        "\u{c}",
        "\r",
        "\u{7f}",
        "\u{e9}",
        "\u{df}",
        "\u{20ac}",
        "\u{2028}",
        "\u{2029}",
        "\u{ffff}",
        "\u{1f33a}",
        "\u{10ffff}",
        "\u{feff}",
    ];
    vec(proptest::sample::select(pieces.to_vec()), 0..12).prop_map(|pieces| pieces.concat())
}

fn value() -> impl Strategy<Value = Value> {
    let leaf = Union::new([
        any::<bool>().prop_map(Value::from).boxed(),
        (-WHOLE_NUMBER_MAX..=WHOLE_NUMBER_MAX).prop_map(Value::from).boxed(),
        proptest::sample::select(vec![0, -1, WHOLE_NUMBER_MAX, -WHOLE_NUMBER_MAX]).prop_map(Value::from).boxed(),
        text().prop_map(Value::from).boxed(),
    ]);
    leaf.prop_recursive(4, 40, 6, |inner| {
        prop_oneof![
            vec(inner.clone(), 0..6).prop_map(Value::from),
            vec(("[ -~]{0,6}", inner), 0..6)
                .prop_map(|members| Value::from(members.into_iter().collect::<Map<_, _>>())),
        ]
    })
}

fn independent(value: &Value) -> String {
    serde_json_canonicalizer::to_string(value).unwrap()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    #[test]
    fn any_value_a_record_may_hold_is_written_as_the_standard_says(value in value()) {
        let ours = to_canonical(&value).map_err(|why| TestCaseError::fail(why.to_string()))?;
        prop_assert_eq!(&ours, &independent(&value));
        let again: Value = serde_json::from_str(&ours).unwrap();
        prop_assert_eq!(again, value);
    }
}

#[test]
fn every_kind_is_sealed_in_canonical_form() {
    for (n, draft) in bodies::drafts().into_iter().enumerate() {
        let entry = make::entry("d_1", n as u64 + 1, draft);
        let value: Value = serde_json::from_str(entry.bytes()).unwrap();
        assert_eq!(independent(&value), entry.bytes());
    }
}
