//! Ways of resting a bulb that are published and conflict: the choice is the grower's, so each stands with what it rests
//! on. No temperature enters the numbers of a plan; the forecast learns it from tries.

use crate::{ledger::body::RestWay, published::Claim};

/// A published way of resting.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Way {
    /// Which.
    pub way: RestWay,
    /// Weeks it is proposed with.
    pub weeks: u32,
    /// Who says so.
    pub basis: &'static [Claim],
    /// Who says otherwise.
    pub against: &'static [Claim],
}

/// All of them.
pub const WAYS: [Way; 3] = [
    Way {
        way: RestWay::Cool,
        weeks: 10,
        basis: &[Claim::RestCoolEightToTenWeeks, Claim::StorageAtFiveTemperatures, Claim::WarmStorageGivesLeaves],
        against: &[Claim::ColdIsNotNeeded],
    },
    Way {
        way: RestWay::Warm,
        weeks: 13,
        basis: &[Claim::RestWarmThreeMonths, Claim::StoredAgainstUnstored],
        against: &[Claim::WarmStorageGivesLeaves, Claim::HotStorageCostsWeight],
    },
    Way {
        way: RestWay::None,
        weeks: 0,
        basis: &[Claim::RestIsForTiming],
        against: &[Claim::DryWeeksInRedLion, Claim::StoredAgainstUnstored],
    },
];

/// Weeks of rest that published lead times are meant for.
const PUBLISHED_WEEKS: std::ops::RangeInclusive<u32> = 6..=15;

/// Whether lead times after so long a rest are hardly published, so that numbers for it are stretched from others.
pub fn beyond_published(rest_weeks: u32) -> bool {
    !PUBLISHED_WEEKS.contains(&rest_weeks)
}
