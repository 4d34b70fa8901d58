//! Knowledge at hand: short pages, found by any word in them, and reached from where they are needed. Numbers stand with their
//! grade and source; what is published in numbers is told by [`crate::published`].

use bloomdue_core::published::Claim;
use strum::{IntoStaticStr, VariantArray};

use crate::glossary::{self, Term};
use crate::{care, published};
use bloomdue_core::record::act_fields::Caution;

labels! {
    title = "Knowledge at hand";
    under = "Short pages, kept on this device. They don't replace local rules, labels or an adviser.";
    search = "Find in all of it";
    nothing = "Nothing here has that word. Try a shorter one.";
    pages = "Pages";
    words = "Words";
    rests_on = "What it rests on";
    see = "Knowledge at hand";
    emergencies =
        "In an emergency call your local emergency number or poison centre, for animals a vet. They come first; nothing here stands in their way.";
}

/// A page.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, IntoStaticStr, VariantArray)]
#[strum(serialize_all = "kebab-case")]
pub enum Page {
    /// The job from start to finish.
    Job,
    /// What may be done differently, one by one.
    Factors,
    /// Stalk or leaf.
    StalkOrLeaf,
    /// Why lots are drawn.
    Lots,
    /// How an interval is read.
    Interval,
    /// A bulb rots.
    Rot,
    /// How deep, how wide, which mix.
    Potting,
    /// Light and shade.
    Light,
    /// Cautions.
    Cautions,
}

impl Page {
    /// Every page, in order.
    pub const ALL: &'static [Self] = <Self as VariantArray>::VARIANTS;

    /// Its key in addresses.
    pub fn key(self) -> &'static str {
        self.into()
    }

    /// The page of a key.
    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|page| page.key() == key)
    }
}

/// What a page is called.
pub fn heading(page: Page) -> &'static str {
    match page {
        Page::Job => "The job from start to finish",
        Page::Factors => "What may be done differently",
        Page::StalkOrLeaf => "Stalk or leaf",
        Page::Lots => "Why draw lots",
        Page::Interval => "How to read an interval",
        Page::Rot => "A bulb rots: what to do",
        Page::Potting => "Pot and mix",
        Page::Light => "Light and shade",
        Page::Cautions => "Cautions",
    }
}

/// What a page says, a paragraph each.
pub fn paragraphs(page: Page) -> Vec<String> {
    let fixed: &[&str] = match page {
        Page::Job => &[
            "Choose bulbs that are large enough, in leaf long enough, and sound. Measure them around the thickest part.",
            "Plan back from the date: when to stop water, when leaves are cut, how long they rest, when they are potted.",
            "If you want to know which way is better, begin a trial and draw lots before anything is done differently.",
            "Stop water and let the leaves die back; cut them; clean, weigh and inspect the bulbs; lay them to rest.",
            "Inspect at rest every two weeks (common practice). Throw out rot at once; watch what is doubtful, apart.",
            "Pot them at the end of the rest, water once well, then sparingly until growth shows; bring them into light and warmth.",
            "Walk through every few days. A look that found nothing counts as much as one that found something.",
            "Call a green tip stalk or leaf early, and say later what it was: the program learns from it.",
            "Sell in bud and say so: a sold pot is no failure. On the last day look at every bulb still waiting.",
            "Read the result with its interval. Too few to tell is an answer; try again the same way.",
            "Grow on: feed and light while leaves are green. They make next year's buds.",
        ],
        Page::Factors => &[
            "Change one thing at a time. Two things changed together can't be told apart afterwards.",
            "Rest, how long: longer rest shortens the wait to the flower in one trial; too long costs weight.",
            "Rest, how warm: sources conflict; cool, warm and no cold at all each have theirs.",
            "Dry weeks: water withheld in growth brought stalks earlier in one trial of one cultivar.",
            "Cutting leaves: before they are dry it takes food from the bulb; after that it is tidiness.",
            "Potting depth and pot size: what is published ranges widely; they hardly decide whether it flowers.",
            "Warmth after potting: warmer is faster and lankier; cooler keeps flowers longer.",
            "Light after potting: too little makes long weak stalks; no target is published.",
            "Feed: while the stalk stretches, sources say both yes and no.",
            "Size and cultivar are no treatments: lots are drawn within them.",
        ],
        Page::StalkOrLeaf => &[
            "A stalk is thicker than a leaf, with a blunt, plump tip of two bracts that meet in a faint line.",
            "It mostly rises beside the leaves, where a leaf comes from the middle in pairs.",
            "A stalk grows several centimetres a day in mid-growth; a leaf about one or less (single report; common practice).",
            "Never split, pinch or bend a tip to find out. Look again in three or four days.",
            "Colour tells nothing. After a rest in the dark both are pale.",
        ],
        Page::Lots => &[
            "If you choose who gets the new way, your eye chooses the better bulbs for it, without meaning to.",
            "Chance has no favourites. What differs between groups beforehand, it spreads evenly, known or not.",
            "Lots are drawn within cultivar and size, so that every group gets some of each.",
            "Draw once, before the start. Drawing again until it looks fair is choosing again; it is said beside the result.",
            "The number shown with the lots lets anyone draw them again and see that nothing was chosen.",
        ],
        Page::Interval => &[
            "7 of 9 is what these bulbs did. The interval says what all such bulbs may do: with nine, a wide range.",
            "Anything inside it fits what you saw. Its ends are not the worst and the best that can happen.",
            "19 such intervals of 20 hold the true share. You can't know whether yours is the twentieth.",
            "Of two groups look at the gap and its interval. If that holds zero, they may be alike.",
            "A narrower interval needs more bulbs or more tries: four times as many make it half as wide.",
            "It speaks of bulbs like these, in places and seasons like these.",
        ],
        Page::Rot => &[
            "Gloves on. Take it out with what touches it, and smell and press it: soft, brown or wet is rot.",
            "In a try, record it first: inspect it, then say that it was thrown away. A loss is a result.",
            "What is rotten goes into a closed bag, not on the compost. Mix that touched it goes with it.",
            "Clean hands, knife and tray; disinfect as the disinfectant's label says. Never mix products.",
            "Inspect every neighbour and every bulb of its lot today, and once more in a week.",
            "Ask why: too damp, no air, a wound, a fly, cold? Dry the air and space them out.",
            "Soft only in one outer scale: some growers cut it away and dry the bulb apart (common practice). If the plate is soft, nothing helps.",
            "Red spots alone are no rot, and no proof of disease.",
        ],
        Page::Potting => &[
            "Measure inside: width at the rim, width at the base, height. A bulb counts as a ball of its circumference.",
            "How much stands above the mix is published from a quarter to nearly all: choose one way and keep to it.",
            "Leave room for water below the rim, and for roots under the bulb.",
            "Mix by parts of volume, loose. Measure once how yours settles; then litres and bags come out right.",
            "A filled pot is heavier than it looks. Lift with the legs, or with help.",
        ],
        Page::Light => &[
            "Light of a day counts, not of a moment: mol of light a square metre and day.",
            "A cloth labelled 50 % rarely keeps out half. Read it: one meter, the same minute, here and in the open.",
            "Lux meters see as eyes do. In sunlight 54 lux are about 1 µmol; under lamps that is wrong (trade page).",
            "A phone's photo measures no lux. Two photos of one card give the share that comes through.",
            "Into more light step by step: leaves grown in shade burn.",
        ],
        Page::Cautions => &[],
    };
    let mut all: Vec<String> = fixed.iter().map(|text| (*text).to_owned()).collect();
    if page == Page::Cautions {
        all.push(emergencies().to_owned());
        all.extend(CAUTIONS.iter().map(|caution| care::caution(*caution)));
        all.push("Shade houses get hot: drink, rest, don't work there alone in the worst heat.".to_owned());
        all.push("Forecasts and results are aids, no guarantees.".to_owned());
    }
    all
}

/// The cautions that stand beside acts, once each.
const CAUTIONS: [Caution; 9] = [
    Caution::Sap,
    Caution::Kitchen,
    Caution::Buyer,
    Caution::Knife,
    Caution::Dust,
    Caution::Label,
    Caution::Heavy,
    Caution::Stakes,
    Caution::Sick,
];

/// What is published about it, each with its grade.
pub const fn claims(page: Page) -> &'static [Claim] {
    match page {
        Page::Job => &[Claim::ActiveForSixMonths, Claim::WeeksFromPottingToFlower, Claim::MouldOnRoots],
        Page::Factors => &[
            Claim::StorageAtFiveTemperatures,
            Claim::RestCoolEightToTenWeeks,
            Claim::RestWarmThreeMonths,
            Claim::ColdIsNotNeeded,
            Claim::DryWeeksInRedLion,
            Claim::HotStorageCostsWeight,
            Claim::WarmthSpeeds,
            Claim::CoolRoomsHoldFlowers,
        ],
        Page::StalkOrLeaf => &[Claim::GrowthADay, Claim::FourLeavesToABud],
        Page::Rot => {
            &[Claim::RotFromOutside, Claim::AnyInjuryReddens, Claim::RedBlotch, Claim::LargeFly, Claim::MouldOnRoots]
        }
        Page::Potting => &[Claim::PotIowa, Claim::PotAlachua, Claim::PotTradeThird, Claim::MixSettles],
        Page::Light => {
            &[Claim::LightShadeInBeds, Claim::LycorisUnderShade, Claim::ShadeClothDiffers, Claim::HardenSlowly]
        }
        Page::Lots | Page::Interval | Page::Cautions => &[],
    }
}

/// Something found: a page, or a word with its meaning.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Found {
    /// A page, with the first paragraph that holds what was sought.
    Page(Page, String),
    /// A word of the glossary.
    Word(Term),
}

/// Everything that holds all the words sought, pages first; nothing for an empty search.
pub fn find(sought: &str) -> Vec<Found> {
    let sought = sought.to_lowercase();
    let words: Vec<&str> = sought.split_whitespace().collect();
    if words.is_empty() {
        return Vec::new();
    }
    let holds = |text: &str| {
        let text = text.to_lowercase();
        words.iter().all(|word| text.contains(word))
    };
    let page = |page: &Page| {
        let sources = claims(*page).iter().map(|claim| published::line(*claim));
        let all: Vec<String> = paragraphs(*page).into_iter().chain(sources).collect();
        if let Some(text) = all.iter().find(|text| holds(text)) {
            return Some(Found::Page(*page, text.clone()));
        }
        let whole = format!("{} {}", heading(*page), all.join(" "));
        holds(&whole).then(|| Found::Page(*page, all.first().cloned().unwrap_or_default()))
    };
    let terms = Term::ALL.iter().copied();
    let terms = terms.filter(|term| holds(&format!("{} {}", glossary::word(*term), glossary::meaning(*term))));
    Page::ALL.iter().filter_map(page).chain(terms.map(Found::Word)).collect()
}

/// `Read: Why draw lots`, as a way there.
pub fn ask(page: Page) -> String {
    format!("Read: {}", heading(page))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_page_is_found_by_its_key_and_by_its_words() {
        for page in Page::ALL {
            assert_eq!(Page::from_key(page.key()), Some(*page));
            assert!(paragraphs(*page).len() > 2, "{page:?}");
            let found = find(heading(*page));
            assert!(found.iter().any(|one| matches!(one, Found::Page(found, _) if found == page)), "{page:?}");
        }
        assert!(find("  ").is_empty() && find("xyzzy").is_empty());
    }

    #[test]
    fn several_words_have_to_stand_together_and_words_of_the_trade_are_found() {
        let pages = |sought: &str| -> Vec<Page> {
            let found = find(sought).into_iter();
            found.filter_map(|one| if let Found::Page(page, _) = one { Some(page) } else { None }).collect()
        };
        assert_eq!(pages("closed bag compost")[0], Page::Rot);
        assert!(pages("WATER rim").contains(&Page::Potting));
        assert!(find("basal plate").contains(&Found::Word(Term::BasalPlate)));
    }

    /// No product's strength, dose, time or temperature is told: cautions lead to labels and advisers.
    #[test]
    fn no_page_prints_what_labels_have_to_say() {
        let numbers = |text: &str| text.chars().any(|c| c.is_ascii_digit());
        for page in [Page::Cautions, Page::Rot] {
            for text in paragraphs(page) {
                // The store's climate is told by the trade and is no treatment.
                assert!(!numbers(&text), "{text}");
            }
        }
    }
}
