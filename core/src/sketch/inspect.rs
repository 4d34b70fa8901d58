//! One drawing for each answer of an inspection: the bulb from the side, or the piece of it that is asked about.

use super::{Pen, Sketch, ellipse};
use crate::{
    inspect::Told,
    ledger::body::{Check, Finding},
};

/// The bulb's outline, 96 by 112.
const BULB: &str = "M40 8c-2 12-6 18-16 26-16 13-20 36-6 54 12 10 48 10 60 0 14-18 10-41-6-54-10-8-14-14-16-26z";
/// The same, slack: pressed in at both sides.
const SLACK: &str = "M40 8c-2 12-6 18-16 26-12 10-4 18-4 28 0 10-8 16 0 26 12 10 44 10 56 0 8-10 0-16 0-26 0-10 8-18-4-28-10-8-14-14-16-26z";
/// Two fingers that press it.
const FINGERS: &str = "M2 54c6-4 12-3 16 2 3 4 2 9-2 12-5 4-10 3-14 1M94 54c-6-4-12-3-16 2-3 4-2 9 2 12 5 4 10 3 14 1";
/// Folds of a dry tunic.
const FOLDS: &str = "M36 36c-8 14-9 32-4 50M48 34c-1 18-1 36 0 54M60 36c8 14 9 32 4 50";
/// The basal plate from below.
const PLATE: &str = "M18 46c0-18 60-18 60 0 0 20-60 20-60 0z";

/// The drawing of an answer.
pub fn told((check, finding): Told) -> Sketch {
    let mut sketch = Sketch::new([0, 0, 96, 112]);
    match (check, finding) {
        (Check::Firmness, Some(Finding::Slack)) => {
            sketch.draw(Pen::Body, SLACK).draw(Pen::Faint, FOLDS).draw(Pen::Line, FINGERS);
        }
        (Check::Firmness, Some(Finding::Shrivelled)) => {
            sketch
                .draw(Pen::Body, "M42 8c-1 14-4 20-10 28-8 12-12 30-4 48 8 8 32 8 40 0 8-18 4-36-4-48-6-8-9-14-10-28z")
                .draw(Pen::Line, "M40 34c-7 8 3 14-4 24 5 8-3 14 0 24M48 32c5 10-5 16 1 26-5 10 3 16-1 26M57 34c6 8-3 14 3 24-5 8 3 14-2 24");
        }
        (Check::Firmness, _) => {
            sketch.draw(Pen::Body, BULB).draw(Pen::Faint, FOLDS).draw(Pen::Line, FINGERS);
        }
        (Check::Base, found) => {
            sketch.draw(Pen::Body, "M10 4c-6 16-4 30 8 42h60c12-12 14-26 8-42").draw(Pen::Body, PLATE).draw(
                Pen::Line,
                "M26 58c-3 12-8 20-9 34M40 61c-1 14-4 22-4 36M56 61c1 14 4 22 4 36M70 58c3 12 8 20 9 34",
            );
            if found.is_some() {
                sketch
                    .draw(Pen::Dot, "M34 40c8-6 24-6 30 2 2 8-10 12-18 10-10 1-16-6-12-12z")
                    .draw(Pen::Line, "M28 44c-3 3-3 6 0 8M70 42c3 3 3 6 0 9");
            }
        }
        (Check::Spots, found) => {
            sketch.draw(Pen::Body, BULB).draw(Pen::Faint, FOLDS);
            match found {
                Some(_) => {
                    sketch
                        .draw(Pen::Unsure, ellipse(34, 64, 11, 9))
                        .draw(Pen::Line, "M27 62c4 5 10 5 14 0M29 68c3 3 7 3 10 0")
                        .draw(Pen::Unsure, ellipse(62, 78, 8, 6))
                        .draw(Pen::Line, "M57 77c3 3 7 3 10 0");
                }
                None => {
                    sketch.draw(Pen::Line, "M66 112c-2-12-10-22-18-28-4-3-8 1-5 6 4 6 6 14 4 22");
                }
            }
        }
        (Check::Red, found) => {
            sketch.draw(Pen::Body, BULB).draw(Pen::Faint, FOLDS);
            match found {
                Some(_) => {
                    sketch.draw(Pen::Dot, "M30 50c4 4 4 10 1 18-5-4-5-12-1-18zM46 62c5 6 5 14 1 22-5-6-5-16-1-22zM64 46c4 6 3 14-1 20-4-6-3-14 1-20zM58 78c3 2 3 6 0 9-3-2-3-6 0-9z");
                }
                None => {
                    sketch.draw(Pen::Line, ellipse(48, 60, 20, 20)).draw(Pen::Line, "M62 74l22 24");
                }
            }
        }
        (Check::Mould, found) => {
            sketch
                .draw(Pen::Body, BULB)
                .draw(Pen::Line, "M30 94c-2 6-6 9-6 15M44 96c0 5-2 8-2 14M56 96c0 5 2 8 2 14M68 94c2 6 6 9 6 15");
            match found {
                Some(_) => {
                    sketch
                        .draw(Pen::Unsure, "M20 78c-6-8 4-16 10-10 2-10 16-10 18-1 8-6 18 2 12 10 8 2 6 14-2 13-4 8-16 8-20 1-8 5-18-1-18-13z")
                        .draw(Pen::Dot, "M28 74h2v2h-2zM38 70h2v2h-2zM36 80h2v2h-2zM48 76h2v2h-2zM52 84h2v2h-2zM30 84h2v2h-2z");
                }
                None => {
                    sketch.draw(Pen::Faint, FOLDS);
                }
            }
        }
        (Check::Pests, Some(Finding::Maggots)) => {
            sketch
                .draw(Pen::Body, BULB)
                .draw(Pen::Dot, ellipse(36, 70, 7, 6))
                .draw(
                    Pen::Body,
                    "M44 70c2-8 10-8 13-3 5-6 13-4 13 3 8-2 12 6 7 11-6 5-14 2-15-3-4 6-13 5-14-1-5 2-6-3-4-7z",
                )
                .draw(Pen::Line, "M57 67c2 4 2 8 0 11M70 70c-1 4-1 7 1 10");
        }
        (Check::Pests, Some(_)) => {
            sketch.draw(Pen::Body, BULB);
            for (x, y) in [(34, 44), (56, 52), (40, 66), (62, 76), (34, 84)] {
                sketch.draw(Pen::Dot, ellipse(x, y, 4, 3)).draw(
                    Pen::Line,
                    format!("M{} {}l-4-3M{} {}l-4 3M{} {}l4-3M{} {}l4 3", x - 2, y, x - 2, y, x + 2, y, x + 2, y),
                );
            }
        }
        (Check::Pests, None) => {
            sketch
                .draw(Pen::Body, BULB)
                .draw(Pen::Faint, FOLDS)
                .draw(Pen::Line, ellipse(48, 42, 18, 18))
                .draw(Pen::Line, "M36 56L14 78");
        }
        (Check::Tunic, Some(_)) => {
            sketch
                .draw(Pen::Body, BULB)
                .draw(
                    Pen::Unsure,
                    "M22 40c8 6 20 4 26 10 8-6 18-2 26-10 10 12 12 32 2 44-14 8-44 8-58 0-8-14-6-32 4-44z",
                )
                .draw(
                    Pen::Line,
                    "M34 60c-4 6-4 10 0 10s4-4 0-10zM58 66c-4 6-4 10 0 10s4-4 0-10zM46 76c-4 6-4 10 0 10s4-4 0-10z",
                );
        }
        (Check::Tunic, None) => {
            sketch
                .draw(Pen::Body, BULB)
                .draw(
                    Pen::Line,
                    "M24 34c-6 18-6 36 2 54M36 30c-5 20-4 40 0 60M48 30v62M60 30c5 20 4 40 0 60M72 34c6 18 6 36-2 54",
                )
                .draw(Pen::Body, "M72 34c8-6 14-4 16 2-5 0-8 3-10 8z");
        }
        (Check::Nose, Some(Finding::NoseHurt)) => {
            sketch
                .draw(
                    Pen::Body,
                    "M22 44c8-8 14-12 14-22l6 6 4-8 6 9 5-10 5 11c0 6 6 8 12 14 14 12 18 30 10 52H12c-8-22-4-40 10-52z",
                )
                .draw(Pen::Line, "M36 22l-6-8M52 29l2-14M66 30l8-10");
        }
        (Check::Nose, found) => {
            sketch.draw(Pen::Body, "M22 44c8-8 14-14 15-28h22c1 14 7 20 15 28 14 12 18 30 10 52H12c-8-22-4-40 10-52z");
            if found.is_some() {
                sketch.draw(Pen::Unsure, "M42 20c0-8 1-13 5-19 5 6 6 11 6 19z");
            }
            sketch.draw(Pen::Faint, "M42 18c-2 12-6 20-14 28M54 18c2 12 6 20 14 28");
        }
        (Check::Leaves, found) => {
            sketch
                .draw(Pen::Leaf, "M40 110C36 70 30 40 40 6c14 20 22 62 18 104z")
                .draw(Pen::LeafFold, "M48 108c0-32-1-62-7-94");
            if found.is_some() {
                sketch.draw(
                    Pen::Dot,
                    "M42 34c4 2 4 6 1 9-4-2-4-6-1-9zM50 52c3 3 2 8-1 10-3-3-2-8 1-10zM42 66c4 3 4 9 0 12-4-3-4-9 0-12zM52 80c3 3 2 8-1 10-3-3-2-8 1-10zM46 94c3 2 3 6 0 8-3-2-3-6 0-8z",
                );
            }
        }
        (Check::Roots, found) => {
            sketch.draw(Pen::Body, "M10 4c-6 12-4 22 8 32h60c12-10 14-20 8-32").draw(Pen::Body, "M24 36h48l-4 8H28z");
            match found {
                Some(_) => {
                    sketch.draw(Pen::Faint, "M30 44c-1 6-4 9-5 14M40 44c0 6-1 8-3 12M50 44c1 5 1 8 0 12M60 44c1 6 3 8 4 14M66 44c2 4 4 6 5 9");
                }
                None => {
                    sketch
                        .draw(Pen::Body, "M29 44c-3 18-13 30-15 52l6 1c3-20 11-32 15-53z")
                        .draw(Pen::Body, "M43 44c-1 18-5 32-4 60h7c-1-26 2-40 4-60z")
                        .draw(Pen::Body, "M59 44c3 20 11 32 15 53l6-1c-3-22-12-34-15-52z");
                }
            }
        }
        (Check::Offsets, found) => {
            sketch.draw(Pen::Body, BULB).draw(Pen::Faint, "M36 36c-8 14-9 32-4 50M60 36c8 14 9 32 4 50");
            if found.is_some() {
                sketch
                    .draw(Pen::Body, "M14 60c-1 6-3 8-7 12-8 8-8 18-2 26 6 5 20 5 26 0 5-8 4-18-4-26-4-4-6-6-6-12z")
                    .draw(Pen::Faint, "M14 74c-3 8-3 14 0 22");
            }
        }
    }
    sketch
}
