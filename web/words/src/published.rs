//! What published claims say, and where the program's numbers start from.

use bloomdue_core::published::{Claim, Topic};

use crate::common::grade;

labels! {
    title = "Where the numbers start from";
    under =
        "Until you have tries of your own, times start from published figures: mostly trade pages and single reports, few \
         trials. With every try yours count for more. Signs, pots and mixes are told as their sources tell them.";
    ways = "Ways of resting";
    see = "Where the numbers start from";
}

pub fn topic(topic: Topic) -> &'static str {
    match topic {
        Topic::ToScape => "End of rest to a stalk in sight",
        Topic::ToFit => "From there to fit to sell",
        Topic::ToFlower => "From there to the first flower",
        Topic::ToOver => "How long it flowers",
        Topic::Height => "How tall stalks grow",
        Topic::Blind => "Bulbs that stay blind",
        Topic::Weather => "Warmth",
        Topic::Readiness => "Which bulbs are fit to force",
        Topic::Sickness => "Signs of diseases and pests",
        Topic::Pot => "How deep, how wide, how full",
        Topic::Mix => "What to pot in",
        Topic::Light => "Light and shade",
    }
}

/// What a claim says and who says it, as one sentence without its full stop.
pub fn says(claim: Claim) -> &'static str {
    match claim {
        Claim::RestCoolEightToTenWeeks => {
            "8 to 10 weeks at least, at 10 to 13 °C (R. Jauron, Iowa State Extension, 2020)"
        }
        Claim::StorageAtFiveTemperatures => {
            "Good plants after 6 to 15 weeks at 5, 9 or 13 °C, of 'Apple Blossom' only at 5 or 9; the longer the rest, the sooner the buds; bulbs stored colder more often spoiled on a shelf at 21 °C (Kuehny & Miller 2008)"
        }
        Claim::WarmStorageGivesLeaves => {
            "Storage at 21 or 29 °C gave leaves only, no flower buds (abstract on dormancy and premature emergence)"
        }
        Claim::ColdIsNotNeeded => "Cold is not truly needed (K. Spencer, Daily Press, 2022)",
        Claim::RestWarmThreeMonths => "At least 3 months, dry and warm (Purdue University)",
        Claim::StoredAgainstUnstored => {
            "Stored dry for 4 to 8 weeks at 4 or at 25 °C the first flower took 80 to 103 days, unstored 132; from when they counted is not shown (Pham et al. 2018)"
        }
        Claim::HotStorageCostsWeight => "12 weeks at 30 °C cost weight and firmness (Inkham et al. 2019)",
        Claim::RestIsForTiming => "They do not naturally need a rest; it is for timing (amaryllisbulb.net)",
        Claim::DryWeeksInRedLion => {
            "After 8 dry weeks in growth all first stalks of 'Red Lion' had flowered within 60 days of watering again; never dry, 83 % by day 160; as many flowers either way (abstract, 1987)"
        }
        Claim::ScapeAfterRest => {
            "3 to 8 weeks to a stalk in sight after 2 to 3 months of rest (D. Kerr, Pacific Bulb Society list, 2012)"
        }
        Claim::WeeksToFirstShoot => "2 to 8 weeks to the first shoot (cafeplanta.com)",
        Claim::WeeksFromPottingToFlower => {
            "6 to 8 weeks from potting to flower at 21 to 24 °C (Iowa State Extension, 2005), less the weeks from sight to flower"
        }
        Claim::WeeksToFlowerOfTrade => {
            "5 to 8, 6 to 12, 7 to 10, 8 to 10 weeks to flower (trade pages and newspapers), less the weeks from sight to flower"
        }
        Claim::SoldWithClosedSheath => "Pots are sold with a stalk of 10 to 20 cm, its sheath still closed",
        Claim::GrowthADay => "An inch a day; 3 to 9.5 cm a day on one plant between 9 and 69 cm, measured daily (2017)",
        Claim::FourWeeksFromSight => "In flower within four weeks of visible growth (Horticulture magazine)",
        Claim::OnePlantToFlower => "From 9 cm to the first flower at 75 cm in about two weeks, on one plant (2017)",
        Claim::WeeksInFlower => {
            "One stalk flowers about two weeks, cut stems 7 to 24 days, a pot with three stalks 3 to 4 weeks (trade pages)"
        }
        Claim::PotInFlowerAMonth => "A pot flowers about a month (W. Upham, K-State Extension)",
        Claim::HeightInFlower => "46 to 76 cm tall in flower (Iowa State Extension, 2005)",
        Claim::ScapesBySize => {
            "One stalk from 22/24 cm, sometimes none; two from 30/32; three from 34/36 (tables of bulb sellers, large-flowered kinds)"
        }
        Claim::LiftedTooEarly => {
            "Lifted too early or not prepared, they make leaves first and may not flower in that cycle (Floralia)"
        }
        Claim::BudsInMarketableBulbs => {
            "'Red Lion' bulbs of 22 to 30 cm held 1.5 to 1.8 buds each (Sandler-Ziv et al., Volcani Center)"
        }
        Claim::WarmthSpeeds => {
            "Between 17 and 24 °C the warmer the faster (leaflet of unclear origin); no rate is published"
        }
        Claim::CoolRoomsHoldFlowers => "Cooler evenings keep flowers longer (M. Garber, University of Georgia)",
        Claim::ActiveForSixMonths => "Feed and light at least 3 months after flowering; active about 6 months (Hadeco)",
        Claim::FourLeavesToABud => {
            "Inside the bulb four leaves are made, then a bud (Blaauw 1931; Doorduin 1990); that four standing leaves make it ready is not shown"
        }
        Claim::RedBlotch => {
            "Small red raised or long spots; leaves and stalks bend there and may dry with no flower; avoid wounds and wet leaves (PNW Plant Disease Handbook, 2023; Connecticut Agricultural Experiment Station)"
        }
        Claim::AnyInjuryReddens => {
            "Any injury reddens the tissue, and mites do so too (PNW Plant Disease Handbook, 2023; D. Williams, Agriculture Victoria, 2000)"
        }
        Claim::ScaleMite => {
            "Mites of 0.2 mm leave red streaks and saw-like scars at the base of leaves and stalks, worse when forced warm; destroy what is infested (D. Williams, Agriculture Victoria, 2000)"
        }
        Claim::BulbMite => {
            "White globular mites live in rotting scales and come after other damage (D. Williams, Agriculture Victoria, 2000)"
        }
        Claim::LargeFly => {
            "One maggot in a soft bulb with weak yellow leaves; the fly lays at the neck on bright warm days (Which? Gardening)"
        }
        Claim::SmallFlies => "Many maggots in bulbs that were damaged before (Which? Gardening)",
        Claim::RotFromOutside => {
            "Several fungi rot bulbs from the outer scales inward; discard them and use a clean mix (Texas A&M Plant Disease Handbook)"
        }
        Claim::Suckers => "Mealybugs ended a trial of Hippeastrum after two years (K. Robbirt, RHS, 2014 to 2016)",
        Claim::MosaicHasNoCure => {
            "Mottle of light and dark green, or rings: viruses, spread by aphids and knives; there is no cure (PNW Handbook, 2024; Connecticut Agricultural Experiment Station)"
        }
        Claim::MouldOnRoots => {
            "Above 80 % humidity stored bulbs mould: brush off mould on roots, ventilate, dry the air (Hadeco)"
        }
        Claim::FirmAndHeavy => {
            "Look for firm bulbs with fleshy roots; dry papery skin is normal, and shrivelled ones plump up again (sellers' and newspaper pages)"
        }
        Claim::PotIowa => {
            "Half of the bulb above the mix, a pot 2.5 to 5 cm wider than the bulb, 2.5 cm free below the rim (Iowa State Extension, 2005)"
        }
        Claim::PotAlachua => {
            "Half to two thirds above the mix, a heavy pot at least 1.5 times as wide as the bulb (T. Clem, UF/IFAS Extension Alachua, 2019)"
        }
        Claim::PotTradeThird => {
            "A third above the mix, the most common figure; a pot at least 5 cm wider than the bulb; 2.5 to 5 cm of mix under it (sellers' pages)"
        }
        Claim::PotPeruvian => "A pot about 2.5 cm wider than the bulb, at least 1 cm free below the rim (ADR Bulbs)",
        Claim::PotHalfToTwoThirds => {
            "Half to two thirds above the mix, about 2.5 cm between bulb and pot, 1.3 cm free below the rim (flowerpeek.com)"
        }
        Claim::PotTwoThirds => "Two thirds above the mix (blueirislandscapes.co.uk)",
        Claim::PotWide => "A third above the mix, a pot about 10 cm wider than the bulb (Chisago County Press, 2005)",
        Claim::PotQuarter => "A quarter above the mix (Kenyon College greenhouse)",
        Claim::PotNearlyAll => {
            "Nearly all of it above, only the basal plate in the mix, in roomy pots (a specialist grower on orchidboard.com, 2017)"
        }
        Claim::MixSoilAndSand => {
            "Two thirds potting soil to one third sand, peat not over 30 %, never fresh manure (Hadeco)"
        }
        Claim::MixLoamPerlite => "2 loam : 1 perlite : 1 manure or compost (98905.com)",
        Claim::MixSoilHumus => "3 screened soil : 2 humus : 1 rotted manure (gardenbarber.co.za)",
        Claim::MixNoBark => "Avoid tree bark (Hadeco) and pine bark (NC Master Gardeners, 2020)",
        Claim::MixPeatDidBest => {
            "Commercial peat mixes did best in a trial of forced bulbs (abstract, HortScience); what they held is not shown"
        }
        Claim::MixSettles => {
            "Loose mix loses a tenth to a fifth of its volume; measure yours: fill a litre, tap, water, measure again"
        }
        Claim::LightShadeInBeds => {
            "In beds best in light shade; heavy shade flowers poorly, full sun may yellow leaves (Brown & Black, UF/IFAS EP060)"
        }
        Claim::ShadeClothDiffers => {
            "What 13 shade cloths kept out differed from their labels, by the sun's height, weave and colour (Yates 1989)"
        }
        Claim::LycorisUnderShade => {
            "A relative, Lycoris radiata, grew best in 60 to 70 % of the light, two others in full sun (abstract; Meng et al. 2008); nothing of the kind is published for these bulbs"
        }
        Claim::HardenSlowly => "Two or three days of shade, then more sun day by day (Iowa State Extension, 2006)",
        Claim::MarketableFrom22Cm => {
            "Sold as fit from 22 cm around (Sandler-Ziv et al. use it so); no least size is published, and small-flowered kinds flower smaller"
        }
    }
}

/// The same with its grade: `A pot flowers about a month (W. Upham, K-State Extension): extension service.`
pub fn line(claim: Claim) -> String {
    format!("{}: {}.", says(claim), grade(claim.source()))
}
