//! The colours of the app against WCAG 2.2: text at 7:1 (success criterion 1.4.6), edges of controls at 3:1 (1.4.11).

use std::collections::BTreeMap;

const TOKENS: &str = include_str!("../../web/static/style/tokens.css");
const BASE: &str = include_str!("../../web/static/style/base.css");

/// Colours that text is set in, on any paper.
const TEXT: &[&str] = &["ink", "ink-2", "leaf", "scape", "rest", "late"];
/// Colours that surround something to tap or carry meaning as a shape.
const EDGES: &[&str] = &["ink", "ink-2", "edge", "leaf", "scape", "rest", "late"];
const PAPERS: &[&str] = &["paper", "paper-2", "press"];
/// Text on a filled ground: what is ticked, the main button.
const FILLED: &[(&str, &str)] = &[("paper", "ink"), ("on-main", "main")];

type Colours = BTreeMap<String, String>;

/// The tokens with six-digit colours in the block that follows a selector.
fn colours(selector: &str) -> Colours {
    let (_, rest) =
        TOKENS.split_once(&format!("{selector} {{")).unwrap_or_else(|| panic!("tokens.css lacks {selector}"));
    let (block, _) = rest.split_once('}').expect("the block ends");
    block
        .split(';')
        .filter_map(|line| line.trim().strip_prefix("--")?.split_once(": #"))
        .map(|(name, value)| (name.to_owned(), value.to_owned()))
        .collect()
}

/// Relative luminance, WCAG 2.2, "relative luminance" in the glossary.
fn luminance(colour: &str) -> f64 {
    let channel = |at: usize| {
        let value = u8::from_str_radix(&colour[at..at + 2], 16).expect("a hexadecimal colour");
        let share = f64::from(value) / 255.0;
        if share <= 0.04045 { share / 12.92 } else { ((share + 0.055) / 1.055).powf(2.4) }
    };
    0.2126 * channel(0) + 0.7152 * channel(2) + 0.0722 * channel(4)
}

/// Contrast ratio, WCAG 2.2, "contrast ratio" in the glossary.
fn contrast(one: &str, other: &str) -> f64 {
    let (one, other) = (luminance(one), luminance(other));
    (one.max(other) + 0.05) / (one.min(other) + 0.05)
}

fn check(mode: &str, colours: &Colours) {
    let pairs = TEXT
        .iter()
        .flat_map(|text| PAPERS.iter().map(move |paper| (text, paper, 7.0)))
        .chain(FILLED.iter().map(|(text, ground)| (text, ground, 7.0)))
        .chain(EDGES.iter().flat_map(|edge| PAPERS.iter().map(move |paper| (edge, paper, 3.0))));
    for (one, other, least) in pairs {
        let found = contrast(&colours[*one], &colours[*other]);
        assert!(found >= least, "{mode}: --{one} on --{other} has {found:.2}:1, less than {least}:1");
    }
}

#[test]
fn the_measure_agrees_with_known_pairs() {
    // Black on white is 21:1 by definition; #767676 on white is the well-known last grey above 4.5:1 (4.54:1).
    assert!((contrast("000000", "ffffff") - 21.0).abs() < 1e-9);
    assert!((contrast("767676", "ffffff") - 4.54).abs() < 0.005);
}

#[test]
fn text_and_edges_hold_their_contrast_in_the_light() {
    check("light", &colours(":root"));
}

#[test]
fn text_and_edges_hold_their_contrast_in_the_dark() {
    check("dark", &colours("[data-light=\"dark\"]"));
}

#[test]
fn the_devices_dark_is_the_chosen_dark() {
    assert_eq!(colours("[data-light=\"dark\"]"), colours(":root:not([data-light])"));
}

#[test]
fn parts_take_their_colours_from_tokens_only() {
    let plain = BASE.split("*/").map(|part| part.split("/*").next().unwrap_or_default()).collect::<String>();
    for (number, line) in plain.lines().enumerate() {
        let after_brace = line.split_once('{').map_or(line, |(_, rest)| rest);
        assert!(
            !after_brace.contains('#') && !after_brace.contains("rgb("),
            "a colour outside the tokens near line {number}: {line}"
        );
    }
    for line in plain.lines().filter(|line| line.contains(" color: ")) {
        assert!(!line.contains(" color: var(--rule)"), "a rule's colour is too faint for text: {line}");
        assert!(!line.contains(" color: var(--edge)"), "an edge's colour is too faint for text: {line}");
    }
}
