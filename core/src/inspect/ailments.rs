//! What may be behind signs: diseases and pests with what to do first, without any product.

use strum::{IntoStaticStr, VariantArray};

use crate::{ledger::body::Finding, published::Claim};

/// A disease or pest; its causal names stand in the words.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, IntoStaticStr, VariantArray)]
#[strum(serialize_all = "kebab-case")]
pub enum Ailment {
    /// Red blotch, also leaf scorch: a fungus.
    RedBlotch,
    /// Any wound that healed: it reddens.
    OldInjury,
    /// The bulb scale mite.
    ScaleMite,
    /// Rots of several fungi and bacteria.
    Rot,
    /// The large narcissus fly.
    LargeFly,
    /// Small flies in bulbs that were damaged before.
    SmallFlies,
    /// Bulb mites in rotting scales.
    BulbMite,
    /// Mealybugs, aphids, thrips.
    Suckers,
    /// Mosaic and other viruses.
    Mosaic,
}

/// Something to do first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, IntoStaticStr, VariantArray)]
#[strum(serialize_all = "kebab-case")]
pub enum Step {
    /// Set it apart from the others.
    SetApart,
    /// Throw it away in a closed bag, not on the compost.
    BagIt,
    /// Look at its neighbours and at those of its lot.
    Neighbours,
    /// Clean and disinfect the knife after every bulb.
    Knife,
    /// No wounds, no wet leaves.
    KeepDry,
    /// Brush it off, give air, dry the store.
    Air,
    /// Take no offsets of it.
    NoOffsets,
    /// Cover necks and stop holes in the mix while flies are about.
    CoverNecks,
    /// Compare the pattern over days before throwing anything away.
    Compare,
    /// Ask a plant adviser.
    Ask,
}

impl Ailment {
    /// Every one, in order.
    pub const ALL: &'static [Self] = <Self as VariantArray>::VARIANTS;

    /// Names it, for pages and tests.
    pub fn key(self) -> &'static str {
        self.into()
    }

    /// Findings that it is known by.
    pub const fn signs(self) -> &'static [Finding] {
        match self {
            Self::RedBlotch => &[Finding::RedMarks],
            Self::OldInjury => &[Finding::RedMarks, Finding::NoseHurt],
            Self::ScaleMite => &[Finding::RedMarks, Finding::Pests],
            Self::Rot => &[Finding::SoftSpots, Finding::Slack, Finding::Mould, Finding::TunicDamp, Finding::BaseSoft],
            Self::LargeFly => &[Finding::Slack, Finding::Maggots],
            Self::SmallFlies => &[Finding::SoftSpots, Finding::Maggots],
            Self::BulbMite => &[Finding::SoftSpots, Finding::Pests],
            Self::Suckers => &[Finding::Pests],
            Self::Mosaic => &[Finding::Mottled],
        }
    }

    /// What to do first, in order.
    pub const fn steps(self) -> &'static [Step] {
        match self {
            Self::RedBlotch => &[Step::SetApart, Step::Compare, Step::KeepDry, Step::Knife, Step::Ask],
            Self::OldInjury => &[Step::Compare, Step::SetApart],
            Self::ScaleMite => &[Step::SetApart, Step::Neighbours, Step::BagIt, Step::Ask],
            Self::Rot => &[Step::BagIt, Step::Neighbours, Step::Air, Step::Knife],
            Self::LargeFly | Self::SmallFlies => &[Step::BagIt, Step::Neighbours, Step::CoverNecks],
            Self::BulbMite => &[Step::BagIt, Step::Neighbours, Step::Air],
            Self::Suckers => &[Step::SetApart, Step::Neighbours, Step::Ask],
            Self::Mosaic => &[Step::SetApart, Step::NoOffsets, Step::Knife, Step::Ask, Step::BagIt],
        }
    }

    /// Who says so, and how far that carries.
    pub const fn claim(self) -> Claim {
        match self {
            Self::RedBlotch => Claim::RedBlotch,
            Self::OldInjury => Claim::AnyInjuryReddens,
            Self::ScaleMite => Claim::ScaleMite,
            Self::Rot => Claim::RotFromOutside,
            Self::LargeFly => Claim::LargeFly,
            Self::SmallFlies => Claim::SmallFlies,
            Self::BulbMite => Claim::BulbMite,
            Self::Suckers => Claim::Suckers,
            Self::Mosaic => Claim::MosaicHasNoCure,
        }
    }
}

/// What may be behind findings: those of which most signs were found first.
pub fn possible(findings: &[Finding]) -> Vec<Ailment> {
    let share = |ailment: &Ailment| {
        let signs = ailment.signs();
        let n = signs.iter().filter(|sign| findings.contains(sign)).count();
        (n, signs.len())
    };
    let mut found: Vec<Ailment> = Ailment::ALL.iter().copied().filter(|ailment| share(ailment).0 > 0).collect();
    // The most signs first, then the ailment that has fewest others.
    found.sort_by_key(|ailment| {
        let (n, of) = share(ailment);
        (std::cmp::Reverse(n), of)
    });
    found
}
