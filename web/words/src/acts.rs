//! What is seen of bulbs and done to them.

use bloomdue_core::ledger::body::{ActKind, Leaves, Look, Neck, ShootKind, ShootSeen, Side, Stage};
use bloomdue_core::nursery::walk::Answer;

use crate::common::plural;
use crate::formats::length;

pub fn side(side: Side) -> &'static str {
    match side {
        Side::TowardLabel => "toward the label",
        Side::Away => "away from the label",
        Side::Left => "left of the label",
        Side::Right => "right of the label",
        Side::Middle => "in the middle",
        Side::NotSaid => "",
    }
}

pub fn stage(stage: Stage) -> &'static str {
    match stage {
        Stage::Shoot => "a shoot",
        Stage::ScapeInSight => "stalk in sight",
        Stage::ScapeStretching => "stalk stretching",
        Stage::SpatheSplit => "bud sheath split",
        Stage::FirstFlower => "first flower open",
        Stage::FullBloom => "full bloom",
        Stage::Fading => "fading",
        Stage::Over => "over",
    }
}

/// An answer of the walk, as it stands on the button.
pub fn answer(answer: Answer) -> &'static str {
    match answer {
        Answer::NothingYet => "Nothing yet",
        Answer::Same => "Same as before",
        Answer::MoreLeaves => "More leaves",
        Answer::Stalk => "A stalk",
        Answer::ShootNotSure => "A shoot, not sure",
        Answer::ItIsALeaf => "It was a leaf",
        Answer::Higher => "Higher",
        Answer::SheathSplit => "Bud sheath split",
        Answer::FirstFlower => "First flower open",
        Answer::Fading => "Fading",
        Answer::Over => "Flowers over",
        Answer::SecondStalk => "Second stalk",
        Answer::Firm => "Firm, nothing yet",
        Answer::SoftSpots => "Soft spots",
        Answer::Mould => "Mould",
    }
}

/// What a shoot was seen as.
pub fn shoot(seen: &ShootSeen) -> String {
    let what = match (seen.kind, seen.stage) {
        (ShootKind::Leaf, _) => "a leaf",
        (ShootKind::Unknown, _) => "a shoot, not sure",
        (ShootKind::Scape, at) => stage(at),
    };
    match seen.height_mm {
        Some(height) => format!("{what}, {}", length(i64::from(height))),
        None => what.to_owned(),
    }
}

/// What a look showed, in a few words.
pub fn look(look: &Look) -> String {
    let mut parts = Vec::new();
    match look.leaves {
        Leaves::None => parts.push("no leaves".to_owned()),
        Leaves::Same => parts.push("leaves as before".to_owned()),
        Leaves::More => parts.push("more leaves".to_owned()),
        Leaves::Count => parts.push(plural(look.n_leaves.unwrap_or(0) as usize, "leaf", "leaves")),
        Leaves::NotLookedAt => {}
    }
    match look.neck {
        Neck::Clear => parts.push("no shoot".to_owned()),
        Neck::Shoots => parts.extend(look.shoots.iter().map(shoot)),
        Neck::NotLookedAt => parts.push("neck not looked at".to_owned()),
    }
    parts.join(", ")
}

/// An act as it stands on a button: what one does.
pub fn act(kind: ActKind) -> &'static str {
    match kind {
        ActKind::CycleBegan => "Begin a growth cycle",
        ActKind::CycleEnded => "End the growth cycle",
        ActKind::Lifted => "Lift",
        ActKind::CutBack => "Cut back the leaves",
        ActKind::Cleaned => "Clean",
        ActKind::Soaked => "Soak",
        ActKind::Packed => "Pack for rest",
        ActKind::LaidToRest => "Lay to rest",
        ActKind::WaterStopped => "Stop water",
        ActKind::RestEnded => "End the rest",
        ActKind::BaseDamped => "Damp the base",
        ActKind::Watered => "Water",
        ActKind::Fed => "Feed",
        ActKind::Potted => "Pot up",
        ActKind::Unpotted => "Take out of the pot",
        ActKind::Moved => "Move",
        ActKind::BroughtToLight => "Bring to light or warmth",
        ActKind::Staked => "Stake",
        ActKind::ScapeCut => "Cut a stalk",
        ActKind::ScapeBroken => "Stalk broken",
        ActKind::BudDried => "Bud dried up",
        ActKind::SprayedOrDipped => "Spray or dip",
        ActKind::OffsetSplit => "Split off an offset",
        ActKind::RunStarted => "Start a try",
        ActKind::RunClosed => "Close a try",
        ActKind::FitToSell => "Fit to sell",
        ActKind::PutAside => "Put aside",
        ActKind::Left => "Sold, given or withdrawn",
        ActKind::Died => "Died",
        ActKind::Missing => "Missing",
        ActKind::Skipped => "Skip a job",
        ActKind::Postponed => "Postpone a job",
        ActKind::JobDone => "Do a job",
    }
}

/// An act as it stands in a list: what was done.
pub fn acted(kind: ActKind) -> &'static str {
    match kind {
        ActKind::CycleBegan => "growth cycle began",
        ActKind::CycleEnded => "growth cycle ended",
        ActKind::Lifted => "lifted",
        ActKind::CutBack => "leaves cut back",
        ActKind::Cleaned => "cleaned",
        ActKind::Soaked => "soaked",
        ActKind::Packed => "packed for rest",
        ActKind::LaidToRest => "laid to rest",
        ActKind::WaterStopped => "water stopped",
        ActKind::RestEnded => "rest ended",
        ActKind::BaseDamped => "base damped",
        ActKind::Watered => "watered",
        ActKind::Fed => "fed",
        ActKind::Potted => "potted up",
        ActKind::Unpotted => "taken out of the pot",
        ActKind::Moved => "moved",
        ActKind::BroughtToLight => "brought to light or warmth",
        ActKind::Staked => "staked",
        ActKind::ScapeCut => "stalk cut",
        ActKind::ScapeBroken => "stalk broken",
        ActKind::BudDried => "bud dried up",
        ActKind::SprayedOrDipped => "sprayed or dipped",
        ActKind::OffsetSplit => "offset split off",
        ActKind::RunStarted => "try started",
        ActKind::RunClosed => "try closed",
        ActKind::FitToSell => "fit to sell",
        ActKind::PutAside => "put aside",
        ActKind::Left => "left",
        ActKind::Died => "died",
        ActKind::Missing => "missing",
        ActKind::Skipped => "job skipped",
        ActKind::Postponed => "job postponed",
        ActKind::JobDone => "job done",
    }
}
