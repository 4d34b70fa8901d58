//! The walk: what stands on a station beside the answers.

pub(crate) fn photo() -> &'static str {
    "Photo"
}

pub(crate) fn closer() -> &'static str {
    "Look closer"
}

pub(crate) fn not_here() -> &'static str {
    "Not here …"
}

pub(crate) fn not_here_title(label: &str) -> String {
    format!("{label} does not stand here")
}

pub(crate) fn at_the_end() -> &'static str {
    "It comes later: put it at the end"
}

pub(crate) fn put_at_end(label: &str) -> String {
    format!("{label}: put at the end")
}

pub(crate) fn nowhere() -> &'static str {
    "Not found: missing"
}

pub(crate) fn missed(label: &str) -> String {
    format!("{label}: missing")
}

pub(crate) fn another_here() -> &'static str {
    "Another one stands here"
}

pub(crate) fn another_hint() -> &'static str {
    "Tap the bulb that stands here; the order is mended. Any other: type part of its tag, name or lot."
}

pub(crate) fn another_typed() -> &'static str {
    "A bulb from elsewhere"
}

pub(crate) fn put_here(label: &str) -> String {
    format!("{label}: put here")
}

pub(crate) fn it_is_here() -> &'static str {
    "It is here after all"
}

pub(crate) fn fit_to_sell() -> &'static str {
    "Fit to sell"
}

pub(crate) fn marked_fit(label: &str) -> String {
    format!("{label}: fit to sell")
}

/// The heading at a walk's end.
pub(crate) fn new_today() -> &'static str {
    "New today"
}

pub(crate) fn nothing_new() -> &'static str {
    "Nothing: all as at the look before."
}

/// The heading of what may be wrong with a bulb.
pub(crate) fn what_is_wrong() -> &'static str {
    "What is wrong?"
}

/// What an inspection may find, as a choice.
pub(crate) fn soft_or_marked() -> &'static str {
    "Soft, mould, marks"
}

pub(crate) fn not_found_yet() -> &'static str {
    "No other bulb has that."
}
