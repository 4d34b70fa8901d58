//! Views that several screens use.

#![allow(
    dead_code,
    reason = "a part stands here before the last of its screens takes it up"
)]

pub(crate) mod drawings;
pub(crate) mod field;
pub(crate) mod heading;
pub(crate) mod icon;
pub(crate) mod photos;
pub(crate) mod records;
pub(crate) mod season;
pub(crate) mod share_plot;
