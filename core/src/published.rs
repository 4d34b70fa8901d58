//! What is published about resting, growing and flowering: the one list of outside claims that times, ways of resting
//! and readiness start from, each with how far it carries. What each says stands in the app's words.

use strum::{IntoStaticStr, VariantArray};

use crate::source::Source;

/// A published claim, or what is common practice where nothing is published.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, IntoStaticStr, VariantArray)]
#[strum(serialize_all = "kebab-case")]
pub enum Claim {
    /// R. Jauron, *Yard and Garden: Growing Amaryllis*, Iowa State Extension 2020.
    RestCoolEightToTenWeeks,
    /// Kuehny & Miller, *Storage duration and temperature affect dormancy of Hippeastrum*, Acta Hortic. 766:169–174, 2008.
    StorageAtFiveTemperatures,
    /// *Dormancy and premature emergence*, abstract of a storage trial.
    WarmStorageGivesLeaves,
    /// K. Spencer, Daily Press 2022.
    ColdIsNotNeeded,
    /// *Amaryllis*, Purdue University.
    RestWarmThreeMonths,
    /// Pham et al., Vietnam J. Agric. Sci. 1(2):127–133, 2018.
    StoredAgainstUnstored,
    /// Inkham et al., Hort. Environ. Biotechnol. 60:357–362, 2019.
    HotStorageCostsWeight,
    /// amaryllisbulb.net.
    RestIsForTiming,
    /// *Influence of irrigation interruptions on flowering of Hippeastrum × hybridum 'Red Lion'*, abstract, 1987.
    DryWeeksInRedLion,
    /// D. Kerr, Pacific Bulb Society list, 2012.
    ScapeAfterRest,
    /// cafeplanta.com.
    WeeksToFirstShoot,
    /// *Growing Amaryllis*, Iowa State Extension 2005.
    WeeksFromPottingToFlower,
    /// Charts and cards of sellers, newspapers.
    WeeksToFlowerOfTrade,
    /// The stage at which pots are sold.
    SoldWithClosedSheath,
    /// One plant measured daily, 2017; an inch a day, theskilledgardener.com.
    GrowthADay,
    /// Horticulture magazine.
    FourWeeksFromSight,
    /// The plant of [`Self::GrowthADay`].
    OnePlantToFlower,
    /// Sellers' pages.
    WeeksInFlower,
    /// W. Upham, K-State Extension.
    PotInFlowerAMonth,
    /// *Growing Amaryllis*, Iowa State Extension 2005.
    HeightInFlower,
    /// Sellers' tables of bulb sizes.
    ScapesBySize,
    /// Floralia.
    LiftedTooEarly,
    /// Sandler-Ziv et al., Volcani Center.
    BudsInMarketableBulbs,
    /// Leaflet on Amaryllidaceae, origin unclear.
    WarmthSpeeds,
    /// M. Garber, University of Georgia CAES.
    CoolRoomsHoldFlowers,
    /// Hadeco.
    ActiveForSixMonths,
    /// J. C. Doorduin, Acta Hortic. 266:123–132, 1990; Blaauw 1931.
    FourLeavesToABud,
    /// Sandler-Ziv et al., Volcani Center: what is marketable.
    MarketableFrom22Cm,
}

impl Claim {
    /// Every claim, in order.
    pub const ALL: &'static [Self] = <Self as VariantArray>::VARIANTS;

    /// Names it, for tests and pages.
    pub fn key(self) -> &'static str {
        self.into()
    }

    /// How far it carries: as the source found it, no stronger.
    pub const fn source(self) -> Source {
        match self {
            Self::StorageAtFiveTemperatures
            | Self::WarmStorageGivesLeaves
            | Self::StoredAgainstUnstored
            | Self::HotStorageCostsWeight
            | Self::DryWeeksInRedLion
            | Self::BudsInMarketableBulbs
            | Self::FourLeavesToABud => Source::Trial,
            Self::RestCoolEightToTenWeeks
            | Self::RestWarmThreeMonths
            | Self::WeeksFromPottingToFlower
            | Self::PotInFlowerAMonth
            | Self::HeightInFlower
            | Self::CoolRoomsHoldFlowers => Source::ExtensionService,
            Self::RestIsForTiming
            | Self::WeeksToFirstShoot
            | Self::WeeksToFlowerOfTrade
            | Self::FourWeeksFromSight
            | Self::WeeksInFlower
            | Self::ScapesBySize
            | Self::LiftedTooEarly
            | Self::WarmthSpeeds
            | Self::ActiveForSixMonths
            | Self::MarketableFrom22Cm => Source::TradePage,
            Self::ColdIsNotNeeded | Self::ScapeAfterRest | Self::GrowthADay | Self::OnePlantToFlower => {
                Source::SingleReport
            }
            Self::SoldWithClosedSheath => Source::CommonPractice,
        }
    }
}

/// What claims are about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Topic {
    /// The end of rest to a scape in sight.
    ToScape,
    /// From there to fit to sell.
    ToFit,
    /// From there to the first open flower.
    ToFlower,
    /// From there to the end of the flowers.
    ToOver,
    /// How tall scapes grow.
    Height,
    /// Staying blind.
    Blind,
    /// What warmth does to all of it.
    Weather,
    /// Which bulbs are fit to force.
    Readiness,
}

/// What each number of the forecast and each limit of readiness starts from, beside the ways of resting
/// ([`crate::plan::WAYS`]).
pub const STARTS: &[(Topic, &[Claim])] = &[
    (
        Topic::ToScape,
        &[
            Claim::ScapeAfterRest,
            Claim::WeeksToFirstShoot,
            Claim::WeeksFromPottingToFlower,
            Claim::WeeksToFlowerOfTrade,
            Claim::StorageAtFiveTemperatures,
        ],
    ),
    (Topic::ToFit, &[Claim::SoldWithClosedSheath, Claim::GrowthADay]),
    (Topic::ToFlower, &[Claim::FourWeeksFromSight, Claim::OnePlantToFlower]),
    (Topic::ToOver, &[Claim::WeeksInFlower, Claim::PotInFlowerAMonth]),
    (Topic::Height, &[Claim::HeightInFlower, Claim::GrowthADay]),
    (Topic::Blind, &[Claim::ScapesBySize, Claim::LiftedTooEarly, Claim::BudsInMarketableBulbs]),
    (Topic::Weather, &[Claim::WarmthSpeeds, Claim::CoolRoomsHoldFlowers]),
    (Topic::Readiness, &[Claim::ActiveForSixMonths, Claim::FourLeavesToABud, Claim::MarketableFrom22Cm]),
];

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::WAYS;

    #[test]
    fn every_claim_is_shown_somewhere_and_no_list_says_one_twice() {
        let ways = WAYS.iter().flat_map(|way| [way.basis, way.against]);
        let lists: Vec<&[Claim]> = STARTS.iter().map(|(_, all)| *all).chain(ways).collect();
        for claim in Claim::ALL {
            assert!(lists.iter().any(|list| list.contains(claim)), "{} is shown nowhere", claim.key());
        }
        for list in lists {
            let different: std::collections::HashSet<_> = list.iter().collect();
            assert_eq!(different.len(), list.len(), "{list:?}");
        }
    }
}
