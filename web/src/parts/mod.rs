//! Views that several screens use.

pub(crate) mod can_tell;
pub(crate) mod conditions;
pub(crate) mod contrary;
pub(crate) mod doubt;
pub(crate) mod draft;
pub(crate) mod drawings;
pub(crate) mod field;
pub(crate) mod file_ready;
pub(crate) mod forecasts;
pub(crate) mod grown;
pub(crate) mod heading;
pub(crate) mod icon;
pub(crate) mod later;
pub(crate) mod leaflet;
pub(crate) mod lot;
pub(crate) mod paper;
pub(crate) mod photos;
pub(crate) mod plots;
pub(crate) mod records;
pub(crate) mod season;
pub(crate) mod working;
