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
    /// Leaf scorch, PNW Plant Disease Management Handbook 2023; Connecticut Agricultural Experiment Station.
    RedBlotch,
    /// The same handbook.
    AnyInjuryReddens,
    /// D. Williams, Agriculture Victoria note AG0187, 2000.
    ScaleMite,
    /// The same note.
    BulbMite,
    /// *Which? Gardening* on narcissus flies.
    LargeFly,
    /// The same page.
    SmallFlies,
    /// Texas A&M Plant Disease Handbook.
    RotFromOutside,
    /// K. Robbirt, RHS Hippeastrum trial 2014 to 2016.
    Suckers,
    /// Virus diseases, PNW Handbook 2024; Connecticut Agricultural Experiment Station.
    MosaicHasNoCure,
    /// Hadeco, commercial growing instructions: store humidity and mould on roots.
    MouldOnRoots,
    /// amaryllidaceaebulbs.store, *Inspect the Bulbs*; Chisago County Press 2005.
    FirmAndHeavy,
    /// *Growing Amaryllis*, Iowa State Extension 2005.
    PotIowa,
    /// T. Clem, UF/IFAS Extension Alachua ACFFL1311, 2019.
    PotAlachua,
    /// Sellers' pages: the third above is the most common figure.
    PotTradeThird,
    /// *Peruvian Amaryllis Forcing Instructions*, ADR Bulbs.
    PotPeruvian,
    /// flowerpeek.com.
    PotHalfToTwoThirds,
    /// blueirislandscapes.co.uk.
    PotTwoThirds,
    /// Chisago County Press 2005.
    PotWide,
    /// Kenyon College greenhouse.
    PotQuarter,
    /// "estación seca", orchidboard.com 2017.
    PotNearlyAll,
    /// Hadeco, commercial growing instructions.
    MixSoilAndSand,
    /// 98905.com.
    MixLoamPerlite,
    /// gardenbarber.co.za.
    MixSoilHumus,
    /// Hadeco consumer pages; NC Master Gardeners 2020.
    MixNoBark,
    /// *Planting medium effects on forced Hippeastrum hybrids*, abstract, HortScience.
    MixPeatDidBest,
    /// Loose mix that settles.
    MixSettles,
    /// Brown & Black, UF/IFAS EP060.
    LightShadeInBeds,
    /// D. J. Yates, Acta Hortic. 257:201–217, 1989.
    ShadeClothDiffers,
    /// *Lycoris radiata* under shade, abstract; Meng et al., HortScience 43:134–137, 2008.
    LycorisUnderShade,
    /// *Ask the ISU experts*, Iowa State Extension 2006.
    HardenSlowly,
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
            | Self::MixPeatDidBest
            | Self::ShadeClothDiffers
            | Self::LycorisUnderShade
            | Self::FourLeavesToABud => Source::Trial,
            Self::RestCoolEightToTenWeeks
            | Self::RestWarmThreeMonths
            | Self::WeeksFromPottingToFlower
            | Self::PotInFlowerAMonth
            | Self::HeightInFlower
            | Self::RedBlotch
            | Self::AnyInjuryReddens
            | Self::ScaleMite
            | Self::BulbMite
            | Self::RotFromOutside
            | Self::MosaicHasNoCure
            | Self::PotIowa
            | Self::PotAlachua
            | Self::LightShadeInBeds
            | Self::HardenSlowly
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
            | Self::LargeFly
            | Self::SmallFlies
            | Self::MouldOnRoots
            | Self::FirmAndHeavy
            | Self::PotTradeThird
            | Self::PotPeruvian
            | Self::PotHalfToTwoThirds
            | Self::PotTwoThirds
            | Self::MixSoilAndSand
            | Self::MixLoamPerlite
            | Self::MixSoilHumus
            | Self::MixNoBark
            | Self::MarketableFrom22Cm => Source::TradePage,
            Self::ColdIsNotNeeded
            | Self::ScapeAfterRest
            | Self::GrowthADay
            | Self::OnePlantToFlower
            | Self::PotWide
            | Self::PotQuarter
            | Self::PotNearlyAll
            | Self::Suckers => Source::SingleReport,
            Self::SoldWithClosedSheath | Self::MixSettles => Source::CommonPractice,
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
    /// Signs of diseases and pests.
    Sickness,
    /// How deep, how wide, how full.
    Pot,
    /// What to pot in.
    Mix,
    /// Light and shade.
    Light,
}

/// What each number of the forecast, each limit of readiness and each sign of illness rests on, beside the ways of resting
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
    (
        Topic::Sickness,
        &[
            Claim::FirmAndHeavy,
            Claim::RedBlotch,
            Claim::AnyInjuryReddens,
            Claim::ScaleMite,
            Claim::BulbMite,
            Claim::LargeFly,
            Claim::SmallFlies,
            Claim::RotFromOutside,
            Claim::MouldOnRoots,
            Claim::Suckers,
            Claim::MosaicHasNoCure,
        ],
    ),
    (
        Topic::Pot,
        &[
            Claim::PotIowa,
            Claim::PotAlachua,
            Claim::PotTradeThird,
            Claim::PotPeruvian,
            Claim::PotHalfToTwoThirds,
            Claim::PotTwoThirds,
            Claim::PotWide,
            Claim::PotQuarter,
            Claim::PotNearlyAll,
        ],
    ),
    (
        Topic::Mix,
        &[
            Claim::MixPeatDidBest,
            Claim::MixSoilAndSand,
            Claim::MixLoamPerlite,
            Claim::MixSoilHumus,
            Claim::MixNoBark,
            Claim::MixSettles,
        ],
    ),
    (Topic::Light, &[Claim::LightShadeInBeds, Claim::LycorisUnderShade, Claim::ShadeClothDiffers, Claim::HardenSlowly]),
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
