//! Ways of resting a bulb that are published and conflict: the choice is the grower's, so each stands with what it rests
//! on. No temperature enters the numbers of a plan; the forecast learns it from tries.

use crate::{forecast::priors::Basis, ledger::body::RestWay, source::Source};

/// A published way of resting.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Way {
    /// Which.
    pub way: RestWay,
    /// Weeks it is proposed with.
    pub weeks: u32,
    /// Who says so.
    pub basis: &'static [Basis],
    /// Who says otherwise.
    pub against: &'static [Basis],
}

/// All of them.
pub const WAYS: [Way; 3] = [
    Way {
        way: RestWay::Cool,
        weeks: 10,
        basis: &[
            Basis {
                says: "8 to 10 weeks at least at 10 to 13 °C (R. Jauron, Iowa State Extension, 2020)",
                source: Source::ExtensionService,
            },
            Basis {
                says: "good plants after 6 to 15 weeks at 5, 9 or 13 °C; the longer, the sooner the buds (Kuehny & Miller 2008)",
                source: Source::Trial,
            },
            Basis {
                says: "storage at 21 or 29 °C gave leaves only, no flower buds (abstract on premature emergence)",
                source: Source::Trial,
            },
        ],
        against: &[Basis {
            says: "cold is not truly needed (K. Spencer, Daily Press, 2022)",
            source: Source::SingleReport,
        }],
    },
    Way {
        way: RestWay::Warm,
        weeks: 13,
        basis: &[
            Basis { says: "at least 3 months, dry and warm (Purdue University)", source: Source::ExtensionService },
            Basis {
                says: "dry storage at 25 °C for 4 to 8 weeks hastened the flower as well (Pham et al. 2018)",
                source: Source::Trial,
            },
        ],
        against: &[Basis {
            says: "12 weeks at 30 °C cost weight and firmness (Inkham et al. 2019); 21 and 29 °C gave leaves only",
            source: Source::Trial,
        }],
    },
    Way {
        way: RestWay::None,
        weeks: 0,
        basis: &[Basis {
            says: "they do not naturally need a rest; it is for timing (amaryllisbulb.net)",
            source: Source::TradePage,
        }],
        against: &[
            Basis {
                says: "8 weeks without water brought all first stalks of 'Red Lion' to flower by day 60, without it 83 % by day 160 (1987)",
                source: Source::Trial,
            },
            Basis {
                says: "without storage the first flower took 132 days, with it 80 to 103 (Pham et al. 2018)",
                source: Source::Trial,
            },
        ],
    },
];

/// Weeks of rest that published lead times are meant for.
const PUBLISHED_WEEKS: std::ops::RangeInclusive<u32> = 6..=15;

/// Whether lead times after so long a rest are hardly published, so that numbers for it are stretched from others.
pub fn beyond_published(rest_weeks: u32) -> bool {
    !PUBLISHED_WEEKS.contains(&rest_weeks)
}
