//! Words of longer work.

use crate::told::NotWorkedOut;

labels! {
    /// The button beside it.
    stop = "Stop";
    /// After the button.
    stopped = "Stopped; nothing was worked out.";
    /// Work that needs more memory than it may have.
    too_large = "it needs more memory than a phone lets it have";
}

/// While it runs: how far it is, 0 to 1000.
pub fn working(permille: u32) -> String {
    format!("Working it out … {} %", permille / 10)
}

/// Why there is no answer.
pub fn not_worked_out(why: &NotWorkedOut) -> String {
    match why {
        NotWorkedOut::Stopped => stopped().to_owned(),
        NotWorkedOut::TooLong => "This took too long and was given up.".to_owned(),
        NotWorkedOut::Failed(why) => {
            format!("This could not be worked out; your records are not touched. The program says: {why}")
        }
        NotWorkedOut::NoAnswer => "This could not be worked out; your records are not touched.".to_owned(),
    }
}
