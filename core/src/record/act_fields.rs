//! What each kind of act asks for, which family it stands in, and which caution goes with it.

use std::collections::BTreeSet;

use crate::ledger::{body::ActKind, id::Id};

/// Something a form asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Ask {
    /// Where to.
    Place,
    /// Into which container.
    Container,
    /// With or in what.
    With,
    /// Damp or dry.
    Condition,
    /// Sold, given or withdrawn.
    How,
    /// The stage when it left, and whether it was fit to sell.
    StageWhenLeft,
    /// For whom.
    Whom,
    /// Of what, or why.
    Cause,
    /// To which day.
    Until,
    /// How many new bulbs, and where they stand.
    Offsets,
    /// In the grower's words.
    Note,
}

/// Acts that stand together.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Family {
    /// Before and during rest.
    Rest,
    /// Water and feed.
    Water,
    /// Pot and place.
    Place,
    /// In growth.
    Growth,
    /// What ends it.
    End,
    /// Of jobs and cycles.
    Order,
}

/// A short caution that stands beside an act.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Caution {
    /// Sap irritates; all parts are poisonous to eat.
    Sap,
    /// Stored bulbs look like onions.
    Kitchen,
    /// Whoever gets a bulb is told that it is poisonous.
    Buyer,
    /// Clean and disinfect knives between bulbs.
    Knife,
    /// Damp perlite, sand and compost first; don't breathe the dust.
    Dust,
    /// Only as the label and local law allow.
    Label,
    /// The same, where there is anything in the water.
    LabelOfWhatIsAdded,
    /// Heavy pots.
    Heavy,
    /// Not too cold, neither too dry nor too damp.
    Store,
    /// Stakes at the height of eyes.
    Stakes,
    /// What may be catching.
    Sick,
}

/// What a kind of act asks for, in order.
pub const fn asks(kind: ActKind) -> &'static [Ask] {
    match kind {
        ActKind::Moved | ActKind::LaidToRest | ActKind::BroughtToLight => &[Ask::Place, Ask::Note],
        ActKind::Packed => &[Ask::With, Ask::Condition, Ask::Note],
        ActKind::Soaked | ActKind::Fed | ActKind::SprayedOrDipped => &[Ask::With, Ask::Note],
        ActKind::Potted => &[Ask::Container, Ask::With, Ask::Place, Ask::Note],
        ActKind::Left => &[Ask::How, Ask::StageWhenLeft, Ask::Whom, Ask::Note],
        ActKind::Died | ActKind::PutAside | ActKind::Skipped => &[Ask::Cause, Ask::Note],
        ActKind::Postponed => &[Ask::Until, Ask::Cause, Ask::Note],
        ActKind::OffsetSplit => &[Ask::Offsets, Ask::Note],
        ActKind::CycleBegan
        | ActKind::CycleEnded
        | ActKind::Lifted
        | ActKind::CutBack
        | ActKind::Cleaned
        | ActKind::WaterStopped
        | ActKind::RestEnded
        | ActKind::BaseDamped
        | ActKind::Watered
        | ActKind::Unpotted
        | ActKind::Staked
        | ActKind::ScapeCut
        | ActKind::ScapeBroken
        | ActKind::BudDried
        | ActKind::RunStarted
        | ActKind::RunClosed
        | ActKind::FitToSell
        | ActKind::Missing
        | ActKind::JobDone => &[Ask::Note],
    }
}

/// The family of an act; none for acts that have a screen of their own.
pub const fn family(kind: ActKind) -> Option<Family> {
    Some(match kind {
        ActKind::Lifted
        | ActKind::CutBack
        | ActKind::Cleaned
        | ActKind::Packed
        | ActKind::LaidToRest
        | ActKind::WaterStopped
        | ActKind::RestEnded => Family::Rest,
        ActKind::Soaked | ActKind::BaseDamped | ActKind::Watered | ActKind::Fed | ActKind::SprayedOrDipped => {
            Family::Water
        }
        ActKind::Potted | ActKind::Unpotted | ActKind::Moved | ActKind::BroughtToLight => Family::Place,
        ActKind::Staked
        | ActKind::ScapeCut
        | ActKind::ScapeBroken
        | ActKind::BudDried
        | ActKind::OffsetSplit
        | ActKind::FitToSell => Family::Growth,
        ActKind::Left | ActKind::Died | ActKind::Missing | ActKind::PutAside => Family::End,
        ActKind::CycleBegan | ActKind::CycleEnded | ActKind::Skipped | ActKind::Postponed => Family::Order,
        ActKind::RunStarted | ActKind::RunClosed | ActKind::JobDone => return None,
    })
}

/// Acts of a family, in the order in which they are usually done.
pub fn acts_of(wanted: Family) -> impl Iterator<Item = ActKind> {
    ActKind::ALL.iter().copied().filter(move |kind| family(*kind) == Some(wanted))
}

/// Whether an act is the end of a bulb here. One of a whole bench is hardly ever meant for all of it, so that its bulbs are
/// ticked one by one.
pub const fn ends_bulb(kind: ActKind) -> bool {
    matches!(kind, ActKind::Left | ActKind::Died | ActKind::Missing)
}

/// Those of several bulbs that a form for an act leaves out until they are ticked.
pub fn left_out_at_first(kind: ActKind, bulbs: &[Id]) -> BTreeSet<Id> {
    let bulbs = bulbs.iter().copied().filter(|_| ends_bulb(kind) && bulbs.len() > 1);
    bulbs.collect()
}

/// The cautions that stand beside an act.
pub const fn cautions(kind: ActKind) -> &'static [Caution] {
    match kind {
        ActKind::CutBack | ActKind::ScapeCut | ActKind::OffsetSplit => &[Caution::Knife, Caution::Sap],
        ActKind::Lifted => &[Caution::Sap],
        ActKind::Cleaned => &[Caution::Knife, Caution::Sap, Caution::Dust],
        ActKind::Unpotted => &[Caution::Sap, Caution::Dust],
        ActKind::Packed => &[Caution::Dust, Caution::Sap],
        ActKind::LaidToRest => &[Caution::Store, Caution::Kitchen],
        ActKind::Potted => &[Caution::Dust, Caution::Sap, Caution::Heavy],
        ActKind::Moved | ActKind::BroughtToLight => &[Caution::Heavy],
        ActKind::SprayedOrDipped => &[Caution::Label],
        ActKind::Soaked => &[Caution::LabelOfWhatIsAdded],
        ActKind::Staked => &[Caution::Stakes],
        ActKind::PutAside | ActKind::Died => &[Caution::Sick],
        ActKind::Left => &[Caution::Buyer],
        _ => &[],
    }
}

/// Those beside an inspection: each bulb is taken in hand.
pub const INSPECTION_CAUTIONS: &[Caution] = &[Caution::Sap, Caution::Sick];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_act_stands_in_one_family_or_has_a_screen_of_its_own() {
        let families = [Family::Rest, Family::Water, Family::Place, Family::Growth, Family::End, Family::Order];
        let mut listed: Vec<ActKind> = families.into_iter().flat_map(acts_of).collect();
        listed.extend([ActKind::RunStarted, ActKind::RunClosed, ActKind::JobDone]);
        listed.sort_unstable();
        assert_eq!(listed, ActKind::ALL);
    }

    #[test]
    fn no_form_asks_the_same_twice_and_every_one_takes_a_note() {
        for kind in ActKind::ALL {
            let mut asked = asks(*kind).to_vec();
            assert_eq!(asked.last(), Some(&Ask::Note), "{kind:?}");
            asked.sort_unstable();
            asked.dedup();
            assert_eq!(asked.len(), asks(*kind).len(), "{kind:?}");
        }
    }

    #[test]
    fn what_ends_a_bulb_is_ticked_bulb_by_bulb() {
        use crate::testing::id;
        let bench = [id("b_1"), id("b_2")];
        for kind in [ActKind::Died, ActKind::Missing, ActKind::Left] {
            assert_eq!(left_out_at_first(kind, &bench), bench.into(), "{kind:?}");
            // Of a single bulb there is nothing to choose.
            assert!(left_out_at_first(kind, &bench[..1]).is_empty());
        }
        assert!(left_out_at_first(ActKind::Watered, &bench).is_empty());
    }

    #[test]
    fn cutting_and_spraying_carry_their_cautions() {
        for kind in [ActKind::CutBack, ActKind::ScapeCut, ActKind::OffsetSplit] {
            assert!(cautions(kind).contains(&Caution::Knife), "{kind:?}");
        }
        assert_eq!(cautions(ActKind::SprayedOrDipped), [Caution::Label]);
    }

    #[test]
    fn whatever_is_opened_cut_or_given_away_carries_its_caution() {
        for kind in [ActKind::Packed, ActKind::Potted, ActKind::Unpotted, ActKind::Cleaned] {
            assert!(cautions(kind).contains(&Caution::Dust), "{kind:?}");
            assert!(cautions(kind).contains(&Caution::Sap), "{kind:?}");
        }
        assert!(cautions(ActKind::LaidToRest).contains(&Caution::Kitchen));
        assert!(cautions(ActKind::Left).contains(&Caution::Buyer));
    }
}
