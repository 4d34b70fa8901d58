//! Words of longer work.

/// While it runs: how far it is, 0 to 1000.
pub(crate) fn working(permille: u32) -> String {
    format!("Working it out … {} %", permille / 10)
}

/// The button beside it.
pub(crate) fn stop() -> &'static str {
    "Stop"
}

/// After the button.
pub(crate) fn stopped() -> &'static str {
    "Stopped; nothing was worked out."
}

/// The program failed on the way; `why` is what it says.
pub(crate) fn failed(why: &str) -> String {
    format!("This could not be worked out; your records are not touched. The program says: {why}")
}

/// Work that was given up.
pub(crate) fn too_long() -> &'static str {
    "This took too long and was given up."
}

/// Work that needs more memory than it may have.
pub(crate) fn too_large() -> &'static str {
    "it needs more memory than a phone lets it have"
}
