//! The bulb from the side.

use super::{Pen, Sketch};
use crate::{
    calendar::Date,
    ledger::body::{Leaves, Neck, ShootKind, Stage},
    nursery::{Bulb, Cycle},
};

/// How many leaves show.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum LeafShow {
    /// None.
    #[default]
    None,
    /// One or two.
    Few,
    /// Three and more.
    Many,
}

impl LeafShow {
    /// Every member.
    pub const ALL: &'static [Self] = &[Self::None, Self::Few, Self::Many];
}

/// What shows beside the leaves; of several shoots the one that comes last here is drawn.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ShootShow {
    /// Nothing.
    #[default]
    None,
    /// The stalk was cut or is over.
    Over,
    /// A shoot that may be either.
    Unsure,
    /// A flower stalk in sight.
    InSight,
    /// The stalk stretches.
    Stretching,
    /// The bud sheath has split.
    SheathSplit,
    /// Flowers are open.
    InFlower,
    /// Flowers fade.
    Fading,
}

impl ShootShow {
    /// Every member.
    pub const ALL: &'static [Self] = &[
        Self::None,
        Self::Over,
        Self::Unsure,
        Self::InSight,
        Self::Stretching,
        Self::SheathSplit,
        Self::InFlower,
        Self::Fading,
    ];
}

/// How the bulb is drawn.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Pose {
    /// Leaves.
    pub leaves: LeafShow,
    /// Shoot or stalk.
    pub shoot: ShootShow,
    /// At rest: in its tray, leaves cut, roots trimmed; nothing else is drawn then.
    pub resting: bool,
}

impl Pose {
    /// As its records tell it today.
    pub fn of(bulb: &Bulb) -> Self {
        Self::of_cycle(bulb.cycle(), bulb.n_leaves)
    }

    fn of_cycle(cycle: &Cycle, n_leaves: Option<(Date, i64)>) -> Self {
        let last = cycle.looks.iter().rev();
        let shoot = last
            .clone()
            .map(|seen| &seen.look)
            .find(|look| look.neck != Neck::NotLookedAt)
            .and_then(|look| {
                let kind = |id| cycle.shoots.iter().find(|s| s.id == id).map(|s| s.kind);
                look.shoots.iter().filter_map(|seen| show(kind(seen.id).unwrap_or(seen.kind), seen.stage)).max()
            })
            .unwrap_or_default();
        let grown = last.clone().filter(|seen| seen.look.leaves == Leaves::More);
        let leaves = match last.map(|seen| &seen.look).find_map(|look| look.n_leaves) {
            Some(n) => of_count(i64::from(n)),
            None => match n_leaves {
                Some((_, n)) => of_count(n),
                None => of_count(grown.count() as i64),
            },
        };
        Self { leaves, shoot, resting: cycle.resting() && shoot == ShootShow::None }
    }
}

fn show(kind: ShootKind, stage: Stage) -> Option<ShootShow> {
    Some(match (kind, stage) {
        (ShootKind::Leaf, _) => return None,
        (ShootKind::Unknown, _) => ShootShow::Unsure,
        (ShootKind::Scape, Stage::Shoot | Stage::ScapeInSight) => ShootShow::InSight,
        (ShootKind::Scape, Stage::ScapeStretching) => ShootShow::Stretching,
        (ShootKind::Scape, Stage::SpatheSplit) => ShootShow::SheathSplit,
        (ShootKind::Scape, Stage::FirstFlower | Stage::FullBloom) => ShootShow::InFlower,
        (ShootKind::Scape, Stage::Fading) => ShootShow::Fading,
        (ShootKind::Scape, Stage::Over) => ShootShow::Over,
    })
}

const fn of_count(n_leaves: i64) -> LeafShow {
    match n_leaves {
        ..=0 => LeafShow::None,
        1 | 2 => LeafShow::Few,
        _ => LeafShow::Many,
    }
}

/// The bulb from the side, 120 by 200; its neck ends at (60, 112).
pub fn bulb_side(pose: Pose) -> Sketch {
    let mut sketch = Sketch::new([0, 0, 120, 200]);
    if pose.resting {
        body(&mut sketch);
        cut_leaves(&mut sketch);
        tray(&mut sketch);
        return sketch;
    }
    leaves_behind(&mut sketch, pose.leaves);
    // The stalk stands beside the fan, behind the neck's near edge.
    shoot(&mut sketch, pose.shoot);
    leaves_before(&mut sketch, pose.leaves);
    body(&mut sketch);
    roots(&mut sketch);
    sketch
}

pub(super) fn body(sketch: &mut Sketch) {
    sketch
        .draw(
            Pen::Body,
            "M60 186c-27 0-46-13-46-33 0-16 13-26 26-31 8-3 11-6 12-12 5 2 11 2 16 0 1 6 4 9 12 12 13 5 26 15 26 31 0 20-19 33-46 33z",
        )
        .draw(Pen::Faint, "M38 182c-13-9-18-22-12-36 4-9 12-15 21-20")
        .draw(Pen::Faint, "M52 185c-12-14-14-37 1-60")
        .draw(Pen::Faint, "M68 185c12-14 14-37-1-60")
        .draw(Pen::Faint, "M82 182c13-9 18-22 12-36-4-9-12-15-21-20");
}

fn roots(sketch: &mut Sketch) {
    sketch
        .draw(Pen::Line, "M44 185c7 5 25 5 32 0")
        .draw(Pen::Line, "M49 188c-1 4-4 6-5 10M56 189c0 3-2 6-2 9M64 189c0 3 2 6 2 9M71 188c1 4 4 6 5 10");
}

fn cut_leaves(sketch: &mut Sketch) {
    sketch
        .draw(Pen::Leaf, "M54 111c0-5-1-8-2-11l6-2c1 4 2 8 2 13z")
        .draw(Pen::Leaf, "M61 111c0-6 1-9 2-13l5 2c-1 4-2 7-2 11z")
        // The torn tunic stands away from the neck.
        .draw(Pen::Line, "M42 122c-3-2-6-2-9-1 2 2 3 4 4 5M78 122c4-3 7-3 9-2-2 2-3 4-3 6");
}

fn tray(sketch: &mut Sketch) {
    sketch.draw(Pen::Body, "M6 176h108l-5 21H11z").draw(Pen::Faint, "M9 183h102M10 190h100");
}

fn leaves_behind(sketch: &mut Sketch, leaves: LeafShow) {
    if leaves == LeafShow::Many {
        sketch
            .draw(Pen::Leaf, "M50 114C44 92 30 76 6 70c20-3 42 10 50 42z")
            .draw(Pen::LeafFold, "M52 111C46 92 33 78 15 72")
            .draw(Pen::Leaf, "M64 112c5-32 22-48 48-48-20 8-33 25-40 50z")
            .draw(Pen::LeafFold, "M68 111c6-24 18-38 34-44");
    }
}

fn leaves_before(sketch: &mut Sketch, leaves: LeafShow) {
    if leaves == LeafShow::None {
        return;
    }
    sketch
        .draw(Pen::Leaf, "M50 114C49 84 40 54 20 34c22 12 37 42 39 80z")
        .draw(Pen::LeafFold, "M54 112C52 84 44 60 29 42")
        .draw(Pen::Leaf, "M58 114c0-30 0-58-8-84 13 22 17 52 16 84z")
        .draw(Pen::LeafFold, "M62 112c0-24-1-46-6-68");
}

pub(super) fn shoot(sketch: &mut Sketch, shoot: ShootShow) {
    match shoot {
        ShootShow::None => {}
        ShootShow::Unsure => {
            sketch.draw(Pen::Unsure, "M63 114c0-9 1-15 5-21 5 5 6 12 5 21z");
        }
        ShootShow::InSight => {
            sketch
                .draw(Pen::Scape, "M62 114c0-12 0-20 2-27 1-5 3-8 6-11 4 4 5 8 5 13 0 8-1 15-2 25z")
                .draw(Pen::ScapeFold, "M70 76c-2 7-2 12-1 17");
        }
        ShootShow::Stretching => {
            stalk(sketch, "M63 114c1-22 3-40 5-58h7c-1 20-2 36-4 58z");
            sketch
                .draw(Pen::Scape, "M67 58c-1-9 0-17 6-27 6 8 7 18 4 27-3 2-7 2-10 0z")
                .draw(Pen::ScapeFold, "M73 31c-2 9-2 16 0 24");
        }
        ShootShow::SheathSplit => {
            stalk(sketch, TALL);
            sketch
                // Two buds between the parted sheaths.
                .draw(Pen::Scape, "M72 46c-6-6-8-18-2-30 6 8 8 18 6 30z")
                .draw(Pen::Scape, "M75 46c0-9 4-20 12-26 2 10-1 20-8 27z")
                .draw(Pen::Scape, "M70 47c-6-4-12-11-14-22 9 4 15 12 17 22z")
                .draw(Pen::Scape, "M78 47c6-3 13-8 18-18-10 2-18 9-21 18z");
        }
        ShootShow::InFlower => {
            stalk(sketch, TALL);
            sheaths_down(sketch);
            sketch
                .draw(Pen::Scape, "M73 46c-8-2-15-8-20-18 8-1 17 6 22 16z")
                .draw(Pen::ScapeFold, "M55 30c6 4 11 9 15 13");
            flower(sketch);
        }
        ShootShow::Fading => {
            stalk(sketch, TALL);
            sheaths_down(sketch);
            sketch
                .draw(Pen::Scape, "M76 44c6-8 15-10 23-5 5 4 7 11 5 19-3-3-5-4-8-4 0 4-1 7-4 9-1-4-3-6-6-7-1 2-3 4-6 5 0-6-1-12-4-17z")
                .draw(Pen::ScapeFold, "M80 44c7-3 14 1 17 9M82 47c4 2 6 5 8 10")
                .draw(Pen::Scape, "M72 44c-4-7-11-10-18-7-5 3-8 8-8 14 3-1 5-1 7 0 1 3 2 5 4 7 2-3 4-5 7-5 1 2 2 3 4 4 0-5 1-9 4-13z")
                .draw(Pen::ScapeFold, "M70 43c-6-4-12-2-16 5");
        }
        ShootShow::Over => {
            sketch
                .draw(Pen::Scape, "M63 114c1-12 2-20 3-28l8 1c-1 8-2 17-3 27z")
                .draw(Pen::ScapeFold, "M66 86c2 2 6 3 8 1");
        }
    }
}

/// The stalk when it has its full height.
const TALL: &str = "M63 114c1-26 4-46 7-68h7c-2 24-4 44-6 68z";

fn stalk(sketch: &mut Sketch, d: &'static str) {
    sketch.draw(Pen::Scape, d);
}

fn sheaths_down(sketch: &mut Sketch) {
    sketch
        .draw(Pen::Scape, "M71 48c-5 3-10 9-11 17 6-2 11-8 13-16z")
        .draw(Pen::Scape, "M76 48c5 3 9 8 11 16-6-2-11-8-12-15z");
}

/// An open flower facing the grower: three broad tepals behind, three narrow ones before, stamens.
fn flower(sketch: &mut Sketch) {
    for d in BROAD {
        sketch.draw(Pen::Scape, d);
    }
    for d in NARROW {
        sketch.draw(Pen::Scape, d);
    }
    for d in STAMENS {
        sketch.draw(Pen::ScapeFold, d);
    }
}

const BROAD: [&str; 3] = [
    "M86 28C75.2 19.2 76.3 8 86 3C95.7 8 96.8 19.2 86 28z",
    "M86 28C98.2 22 106.4 28.6 105.5 40.5C96.7 47.4 87.4 42.8 86 28z",
    "M86 28C84.6 42.8 75.3 47.4 66.5 40.5C65.6 28.6 73.8 22 86 28z",
];
const NARROW: [&str; 3] = [
    "M86 28C88.9 16.9 97.7 12.2 104.7 16C104.2 24.6 96.1 30.7 86 28z",
    "M86 28C93.2 36.4 92.5 47.2 86 52C79.5 47.2 78.8 36.4 86 28z",
    "M86 28C75.9 30.7 67.8 24.6 67.3 16C74.3 12.2 83.1 16.9 86 28z",
];
const STAMENS: [&str; 1] = ["M86 28L90 35.8M86 28L86 37M86 28L82 35.8"];

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{World, id};

    fn pose(records: &str) -> Pose {
        let world = World::of("0 mia lot lo_1 Red\n0 mia bulb b_1 lo_1\n0 mia cycle-began b_1");
        Pose::of(&world.and(records).state().bulbs[&id("b_1")])
    }

    #[test]
    fn a_bulb_is_drawn_as_its_last_look_at_the_neck_showed_it() {
        assert_eq!(pose(""), Pose::default());
        let grown = "1 mia look b_1 clear leaves=more\n2 mia look b_1 sh_1/unknown/shoot leaves=same";
        let unsure = pose(grown);
        assert_eq!((unsure.leaves, unsure.shoot), (LeafShow::Few, ShootShow::Unsure));
        let stalk = pose("1 mia look b_1 sh_1/scape/scape-stretching\n2 mia look b_1 unseen");
        assert_eq!(stalk.shoot, ShootShow::Stretching);
        let leaf = pose("1 mia look b_1 sh_1/unknown/shoot\n2 mia proof b_1 sh_1 leaf");
        assert_eq!(leaf.shoot, ShootShow::None);
        // Of two stalks the further one that is not over is drawn.
        let second = "1 mia look b_1 sh_1/scape/over sh_2/scape/first-flower-open";
        assert_eq!(pose(second).shoot, ShootShow::InFlower);
    }

    #[test]
    fn a_resting_bulb_lies_in_its_tray_until_a_shoot_shows() {
        assert!(pose("1 mia laid-to-rest b_1").resting);
        assert!(!pose("1 mia laid-to-rest b_1\n9 mia rest-ended b_1").resting);
        assert!(!pose("1 mia laid-to-rest b_1\n5 mia look b_1 sh_1/unknown/shoot").resting);
    }
}
