//! Views that several screens use.

pub(crate) mod chapters;
pub(crate) mod conditions;
pub(crate) mod contrary;
pub(crate) mod deferred;
pub(crate) mod doubt;
pub(crate) mod draft;
pub(crate) mod drawings;
pub(crate) mod field;
pub(crate) mod file_ready;
pub(crate) mod fold;
pub(crate) mod forecasts;
pub(crate) mod foreseen;
pub(crate) mod heading;
pub(crate) mod icon;
pub(crate) mod leaflet;
pub(crate) mod lot;
pub(crate) mod mark;
pub(crate) mod paper;
pub(crate) mod photos;
pub(crate) mod plots;
pub(crate) mod power;
pub(crate) mod records;
pub(crate) mod season;
pub(crate) mod sequential;
pub(crate) mod tries;
pub(crate) mod working;
