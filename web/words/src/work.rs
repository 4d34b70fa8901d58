//! Words of longer work.

labels! {
    /// The button beside it.
    stop = "Stop";
    /// After the button.
    stopped = "Stopped; nothing was worked out.";
    /// Work that was given up.
    too_long = "This took too long and was given up.";
    /// Work that needs more memory than it may have.
    too_large = "it needs more memory than a phone lets it have";
}

/// While it runs: how far it is, 0 to 1000.
pub fn working(permille: u32) -> String {
    format!("Working it out … {} %", permille / 10)
}

/// The program failed on the way; `why` is what it says.
pub fn failed(why: &str) -> String {
    format!("This could not be worked out; your records are not touched. The program says: {why}")
}
