//! What can be looked at on a shoot, and what can be answered.
//!
//! No published key to young stalks and leaves was found. The characters are those that growers name; how far each
//! is to be trusted, and where the statement comes from, stands with it. Nothing asks for cutting, bending or squeezing,
//! and colour is not asked: the tip of a young stalk may be as white as that of a leaf.

use crate::source::Source;

/// How far a character is to be trusted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Certainty {
    /// A hint that must not decide by itself.
    Weak,
    /// Helps, and can fool.
    Fair,
    /// The first thing to look at.
    Good,
}

/// Characters of one group look at the same thing from two sides, so that the second one adds less.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Group {
    /// Where it rises.
    Place,
    /// Its outline and thickness.
    Shape,
    /// Its surface.
    Surface,
    /// How fast it grows.
    Growth,
    /// What came before what.
    Order,
    /// How many scapes a bulb of its size may bear.
    Size,
}

/// Declares an enumeration with a fixed key for each member; the keys stand in records.
macro_rules! keyed {
    ($(#[$doc:meta])* $name:ident { $($(#[$member_doc:meta])* $member:ident = $key:literal,)+ }) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum $name { $($(#[$member_doc])* $member,)+ }
        impl $name {
            /// Every member, in order.
            pub const ALL: &'static [Self] = &[$(Self::$member,)+];
            /// The key that stands in records; it never changes.
            pub const fn key(self) -> &'static str {
                match self { $(Self::$member => $key,)+ }
            }
            /// The member with this key.
            pub fn from_key(key: &str) -> Option<Self> {
                Self::ALL.iter().copied().find(|member| member.key() == key)
            }
        }
    };
}

keyed! {
    /// One question of the key.
    Character {
        /// How thick the tip is beside a leaf.
        Thickness = "thickness",
        /// Where it rises, seen straight down into the neck.
        Rise = "rise",
        /// Outline of the tip.
        Outline = "outline",
        /// What it looks like from its end: thick both ways, or flat.
        Section = "section",
        /// Whether a fine line runs over the tip where two bracts meet.
        Split = "split",
        /// How its flat side stands to the leaves.
        Face = "face",
        /// How much it grew since the last look.
        Growth = "growth",
        /// Whether it came before the leaves or after them.
        Order = "order",
        /// Whether a bulb of its size may bear one more scape than it has shown.
        Scapes = "scapes",
    }
}

keyed! {
    /// One answer.
    Choice {
        /// Clearly thicker than a leaf.
        Thick = "thick",
        /// As thin as a leaf.
        Thin = "thin",
        /// Beside the leaves, from the side of the neck.
        Beside = "beside",
        /// From the middle, among the leaves.
        Middle = "middle",
        /// A plump, blunt spear.
        BluntSpear = "blunt spear",
        /// A flat, rounded tongue.
        RoundedTongue = "rounded tongue",
        /// Oval: thick both ways.
        Oval = "oval",
        /// Flat: thick one way only.
        Flat = "flat",
        /// A fine line over the tip.
        LineSeen = "line seen",
        /// No line.
        NoLine = "no line",
        /// Its flat side lies along the leaves' faces.
        AlongLeaves = "along leaves",
        /// Its flat side faces the leaf opposite.
        FacesLeaf = "faces leaf",
        /// Three centimetres a day or more.
        Fast = "fast",
        /// Between one and three centimetres a day.
        Middling = "middling",
        /// One centimetre a day or less.
        Slow = "slow",
        /// Before any new leaf.
        BeforeLeaves = "before leaves",
        /// Together with new leaves or after them.
        AfterLeaves = "after leaves",
        /// Its size may bear one more.
        Room = "room",
        /// It has shown as many as its size bears.
        Full = "full",
    }
}

/// Fewest days between two looks for growth to say anything: stretching scapes gain 3 to 9 cm a day and leaves about 1,
/// which 3 to 5 days tell apart (common practice).
pub const GROWTH_DAYS_MIN: i64 = 3;
/// Height from which growth says anything, in mm: the one plant that was measured daily was between 9 and 69 cm tall. How
/// fast a shorter stalk grows nobody has measured, and slow young stalks would be called leaves.
pub const GROWTH_FROM_MM: u32 = 90;
/// Growth from which a shoot counts as fast, in mm a day.
const FAST_MM_A_DAY: i64 = 30;
/// Growth up to which it counts as slow, in mm a day.
const SLOW_MM_A_DAY: i64 = 10;

/// How many scapes the trade expects of a bulb, at most: circumference in mm from which it holds, and the number.
/// Vendors' tables for large-flowered bulbs: 1 (sometimes 2) at 26 to 28 cm, 2 from 30, 2 (sometimes 3) at 32 to 34, 3
/// from 34. What they give as "sometimes" is counted, because here it only says that there is room.
const SCAPES_AT_MOST: [(i64, usize); 3] = [(320, 3), (260, 2), (0, 1)];

impl Character {
    /// The answers, the one that speaks for a stalk first.
    pub const fn choices(self) -> &'static [Choice] {
        match self {
            Self::Thickness => &[Choice::Thick, Choice::Thin],
            Self::Rise => &[Choice::Beside, Choice::Middle],
            Self::Outline => &[Choice::BluntSpear, Choice::RoundedTongue],
            Self::Section => &[Choice::Oval, Choice::Flat],
            Self::Split => &[Choice::LineSeen, Choice::NoLine],
            Self::Face => &[Choice::AlongLeaves, Choice::FacesLeaf],
            Self::Growth => &[Choice::Fast, Choice::Middling, Choice::Slow],
            Self::Order => &[Choice::BeforeLeaves, Choice::AfterLeaves],
            Self::Scapes => &[Choice::Room, Choice::Full],
        }
    }

    /// The group it belongs to.
    pub const fn group(self) -> Group {
        match self {
            Self::Rise | Self::Face => Group::Place,
            Self::Thickness | Self::Outline | Self::Section => Group::Shape,
            Self::Split => Group::Surface,
            Self::Growth => Group::Growth,
            Self::Order => Group::Order,
            Self::Scapes => Group::Size,
        }
    }

    /// How far it is to be trusted.
    pub const fn certainty(self) -> Certainty {
        match self {
            Self::Thickness => Certainty::Good,
            Self::Rise | Self::Outline | Self::Section | Self::Split | Self::Growth => Certainty::Fair,
            Self::Face | Self::Order | Self::Scapes => Certainty::Weak,
        }
    }

    /// Where the statement that it tells the two apart comes from. How much it weighs has no source at all.
    pub const fn source(self) -> Source {
        match self {
            // "Easy to spot because they are thicker"; how many scapes a size brings is a vendors' table.
            Self::Thickness | Self::Scapes => Source::TradePage,
            // One plant, measured daily: 3 to 9.5 cm a day in mid-extension.
            Self::Growth => Source::SingleReport,
            // Storage at 5 to 13 °C brings buds before leaves, warmer storage leaves first.
            Self::Order => Source::Trial,
            Self::Rise | Self::Outline | Self::Section | Self::Split | Self::Face => Source::CommonPractice,
        }
    }

    /// Whether it can only be judged beside leaves: before any show, side and middle cannot be told.
    pub const fn needs_leaves(self) -> bool {
        matches!(self, Self::Rise | Self::Face)
    }

    /// Whether the tip must have some length before it tells anything sure: below 2 cm it can fool.
    pub const fn fools_when_short(self) -> bool {
        matches!(self, Self::Outline | Self::Section | Self::Split)
    }
}

impl Choice {
    /// The answer about growth that two heights give, in mm; nothing when the looks are too close.
    pub const fn of_growth(from_mm: i64, to_mm: i64, days: i64) -> Option<Self> {
        if days < GROWTH_DAYS_MIN {
            return None;
        }
        let grown_mm = to_mm - from_mm;
        Some(if grown_mm >= FAST_MM_A_DAY * days {
            Self::Fast
        } else if grown_mm > SLOW_MM_A_DAY * days {
            Self::Middling
        } else {
            Self::Slow
        })
    }

    /// Whether a bulb of this circumference, in mm, may bear one more scape than the `n_shown` that it has shown.
    pub fn of_scapes(circumference_mm: i64, n_shown: usize) -> Self {
        if n_shown < scapes_at_most(circumference_mm) { Self::Room } else { Self::Full }
    }
}

/// The most scapes that the trade expects of a bulb of this circumference in mm.
pub fn scapes_at_most(circumference_mm: i64) -> usize {
    let row = SCAPES_AT_MOST.iter().find(|(from_mm, _)| circumference_mm >= *from_mm);
    row.map_or(1, |(_, n)| *n)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Vendors' tables for large-flowered bulbs (trade pages): one scape up to 26 cm, up to two at 26 to 32, up to three
    /// beyond.
    #[test]
    fn a_bulb_has_room_for_as_many_scapes_as_the_trade_expects_of_its_size() {
        for (mm, n) in [(240, 1), (259, 1), (270, 2), (310, 2), (330, 3), (350, 3), (-5, 1)] {
            assert_eq!(scapes_at_most(mm), n, "{mm}");
        }
        assert_eq!(Choice::of_scapes(270, 1), Choice::Room);
        assert_eq!(Choice::of_scapes(250, 1), Choice::Full);
    }
}
