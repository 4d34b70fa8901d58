//! Every sentence a grower reads, by language.

pub(crate) mod bulb;
pub(crate) mod care;
pub(crate) mod coming;
pub(crate) mod doubts;
pub(crate) mod due;
pub(crate) mod en;
pub(crate) mod files;
pub(crate) mod jobs;
pub(crate) mod methods;
pub(crate) mod mistakes;
pub(crate) mod nursery;
pub(crate) mod over_tries;
pub(crate) mod plan;
pub(crate) mod records;
pub(crate) mod report;
pub(crate) mod results;
pub(crate) mod same;
pub(crate) mod scored;
pub(crate) mod sheet;
pub(crate) mod show;
pub(crate) mod trials;
pub(crate) mod walk;
#[allow(dead_code, reason = "the results over all tries are the first to ask")]
pub(crate) mod work;
