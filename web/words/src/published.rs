//! What published claims say, and where the program's numbers start from.

use bloomdue_core::published::{Claim, Topic};

use crate::common::grade;

labels! {
    title = "Where the numbers start from";
    under =
        "Until you have tries of your own, times start from published figures: mostly trade pages and single reports, few \
         trials. With every try yours count for more.";
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
        Claim::MarketableFrom22Cm => {
            "Sold as fit from 22 cm around (Sandler-Ziv et al. use it so); no least size is published, and small-flowered kinds flower smaller"
        }
    }
}

/// The same with its grade: `A pot flowers about a month (W. Upham, K-State Extension): extension service.`
pub fn line(claim: Claim) -> String {
    format!("{}: {}.", says(claim), grade(claim.source()))
}
