//! Days of common practice that care plans, plans back from a date and ready questions share.

/// Days in leaf after flowering before the next rest, six months: "feed and light at least 3 months; active about 6"
/// (a page of the trade); 9 months for two buds (Doorduin 1990, trial).
pub const LEAST_DAYS_IN_LEAF: i64 = 182;
/// Days from the last water to leaves dry enough to cut: 2 to 4 weeks.
pub const WITHER_DAYS: i64 = 21;
/// Days between inspections of resting bulbs.
pub const INSPECT_DAYS: i64 = 14;
/// Days between feeds in growth: every 2 to 4 weeks, as trade and extension pages say.
pub const FEED_DAYS: i64 = 14;
/// Days between looks once scapes may come: close enough to date a scape that stretches 3 to 9 cm a day.
pub const LOOK_DAYS: i64 = 4;
/// Days after which a bulb that is to be watched is inspected again, where the grower chose none: a week. Common practice,
/// no source.
pub const WATCH_AGAIN_DAYS: i64 = 7;
