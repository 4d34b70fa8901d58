//! Views that several screens use.

pub(crate) mod drawings;
pub(crate) mod field;
pub(crate) mod heading;
pub(crate) mod icon;
pub(crate) mod photos;
pub(crate) mod records;
pub(crate) mod season;
pub(crate) mod share_plot;
#[allow(dead_code, reason = "the results over all tries are the first to ask")]
pub(crate) mod working;
