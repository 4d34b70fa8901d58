//! Volumes of containers and bulbs, and the room around bulbs.
//!
//! - A round container with straight sides is a frustum of a cone: V = πh/12 (D² + Dd + d²).
//! - A rectangular one whose sides lean evenly is a prismatoid: V = h (2ab + 2cd + ad + bc)/6, a × b at the top, c × d at
//!   the base.
//! - A bulb is a sphere of its circumference C: diameter C/π, volume C³/(6π²). Of a sphere the lower part f of its height
//!   holds the share 3f² − 2f³ of its volume (spherical cap, Archimedes).
//! - A bag of the flat width w, filled, is a cylinder of the diameter 2w/π.
//!
//! Bulbs stand so that the room to the wall and between them is the same: in a ring in round containers, in rows in
//! others. Checked by reference 21.

use std::f64::consts::PI;

use super::NoPotting;
use crate::ledger::body::{ContainerBody, ContainerKind};

/// A container by its inner sizes, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Inside {
    /// A round pot, or a bag that is filled.
    Round {
        /// Diameter at the rim.
        rim_mm: f64,
        /// Diameter at the base.
        base_mm: f64,
        /// Height.
        height_mm: f64,
    },
    /// A square pot, a trough or a tray.
    Rectangular {
        /// Length and width at the rim.
        rim_mm: (f64, f64),
        /// Length and width at the base.
        base_mm: (f64, f64),
        /// Height.
        height_mm: f64,
    },
}

/// A container up to the surface of the mix.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct UpTo {
    /// It, cut off at the surface.
    inside: Inside,
    /// Height of the mix, mm.
    pub height_mm: f64,
}

/// Room around bulbs, mm; below nothing where they do not fit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Room {
    /// From a bulb to the wall.
    pub wall_mm: f64,
    /// From a bulb to the next; nothing for a single one.
    pub between_mm: Option<f64>,
    /// What is missing for all of them to touch only, where they do not fit.
    pub short_mm: f64,
}

impl Inside {
    /// A container of these sizes. What is not said of its base is as at the rim; a square pot is as long as it is wide, a
    /// trough or tray of which no length is said, too. Nothing without a width and a height.
    pub fn of(body: &ContainerBody) -> Option<Self> {
        let mm = |value: i64| value as f64;
        let (width, height_mm) = (mm(body.inner_width_mm?), mm(body.inner_height_mm?));
        let base = body.base_width_mm.map_or(width, mm);
        Some(match body.kind {
            ContainerKind::Pot => Self::Round { rim_mm: width, base_mm: base, height_mm },
            ContainerKind::Bag => {
                let filled = 2.0 * width / PI;
                Self::Round { rim_mm: filled, base_mm: filled, height_mm }
            }
            ContainerKind::SquarePot => Self::Rectangular { rim_mm: (width, width), base_mm: (base, base), height_mm },
            ContainerKind::Trough | ContainerKind::Tray => {
                let length = body.inner_length_mm.map_or(width, mm);
                let base_length = body.base_length_mm.map_or(length, mm);
                Self::Rectangular { rim_mm: (length, width), base_mm: (base_length, base), height_mm }
            }
        })
    }

    fn height_mm(&self) -> f64 {
        match self {
            Self::Round { height_mm, .. } | Self::Rectangular { height_mm, .. } => *height_mm,
        }
    }

    /// Up to so far below the rim.
    ///
    /// # Errors
    /// When a size is no positive number, or nothing is left.
    pub fn up_to(&self, rim_gap_mm: f64) -> Result<UpTo, NoPotting> {
        let sizes = match *self {
            Self::Round { rim_mm, base_mm, height_mm } => vec![rim_mm, base_mm, height_mm],
            Self::Rectangular { rim_mm, base_mm, height_mm } => {
                vec![rim_mm.0, rim_mm.1, base_mm.0, base_mm.1, height_mm]
            }
        };
        if sizes.iter().any(|mm| !(mm.is_finite() && *mm > 0.0)) || !(rim_gap_mm.is_finite() && rim_gap_mm >= 0.0) {
            return Err(NoPotting::NoSize);
        }
        let full = self.height_mm();
        let height_mm = full - rim_gap_mm;
        if height_mm <= 0.0 {
            return Err(NoPotting::RimGapTooDeep);
        }
        let at_surface = |rim: f64, base: f64| base + (rim - base) * height_mm / full;
        let inside = match *self {
            Self::Round { rim_mm, base_mm, .. } => {
                Self::Round { rim_mm: at_surface(rim_mm, base_mm), base_mm, height_mm }
            }
            Self::Rectangular { rim_mm, base_mm, .. } => Self::Rectangular {
                rim_mm: (at_surface(rim_mm.0, base_mm.0), at_surface(rim_mm.1, base_mm.1)),
                base_mm,
                height_mm,
            },
        };
        Ok(UpTo { inside, height_mm })
    }
}

impl UpTo {
    /// Volume, ml.
    pub fn volume_ml(&self) -> f64 {
        match self.inside {
            Inside::Round { rim_mm: top, base_mm: base, height_mm } => {
                PI * height_mm / 12.0 * (top * top + top * base + base * base) / 1000.0
            }
            Inside::Rectangular { rim_mm: (a, b), base_mm: (c, d), height_mm } => {
                height_mm * (2.0 * a * b + 2.0 * c * d + a * d + b * c) / 6.0 / 1000.0
            }
        }
    }

    /// Room around so many bulbs of this diameter, at the surface.
    pub fn room(&self, diameter_mm: f64, n: u32) -> Room {
        let n = n.max(1);
        match self.inside {
            Inside::Round { rim_mm, .. } if n == 1 => {
                let wall_mm = (rim_mm - diameter_mm) / 2.0;
                Room { wall_mm, between_mm: None, short_mm: (-2.0 * wall_mm).max(0.0) }
            }
            Inside::Round { rim_mm, .. } => {
                // On a ring of the radius r the wall is R − r − D/2 away and the next bulb 2r sin(π/n) − D.
                let (radius, chord) = (rim_mm / 2.0, 2.0 * (PI / f64::from(n)).sin());
                let ring = (radius + diameter_mm / 2.0) / (1.0 + chord);
                let gap = radius - ring - diameter_mm / 2.0;
                // Touching each other on the ring, they need this wide a container.
                let needed = 2.0 * diameter_mm / chord + diameter_mm;
                Room { wall_mm: gap, between_mm: Some(gap), short_mm: (needed - rim_mm).max(0.0) }
            }
            Inside::Rectangular { rim_mm, .. } => rows(rim_mm, diameter_mm, n),
        }
    }
}

/// Bulbs in rows, as many rows as leave most room.
fn rows((length, width): (f64, f64), diameter_mm: f64, n: u32) -> Room {
    let along = |side: f64, n: u32| (side - f64::from(n) * diameter_mm) / f64::from(n + 1);
    let of = |n_rows: u32| {
        let n_each = n.div_ceil(n_rows);
        let (gap_along, gap_across) = (along(length, n_each), along(width, n_rows));
        let short = |gap: f64, n: u32| (-gap * f64::from(n + 1)).max(0.0);
        let between = match (n_each > 1, n_rows > 1) {
            (true, true) => Some(gap_along.min(gap_across)),
            (true, false) => Some(gap_along),
            (false, true) => Some(gap_across),
            (false, false) => None,
        };
        let short_mm = short(gap_along, n_each).max(short(gap_across, n_rows));
        Room { wall_mm: gap_along.min(gap_across), between_mm: between, short_mm }
    };
    let all = (1..=n).map(of);
    all.reduce(|best, next| if next.wall_mm > best.wall_mm { next } else { best }).unwrap_or(Room {
        wall_mm: along(length, 1).min(along(width, 1)),
        between_mm: None,
        short_mm: 0.0,
    })
}

/// Diameter of a sphere of this circumference, mm.
pub fn diameter_mm(circumference_mm: f64) -> f64 {
    circumference_mm / PI
}

/// Volume of a sphere of this circumference, ml.
pub fn sphere_ml(circumference_mm: f64) -> f64 {
    circumference_mm.powi(3) / (6.0 * PI * PI) / 1000.0
}

/// Volume of the lower part of a bulb, by its share of the height, ml.
pub fn buried_ml(circumference_mm: f64, share: f64) -> f64 {
    let share = share.clamp(0.0, 1.0);
    sphere_ml(circumference_mm) * (3.0 * share.powi(2) - 2.0 * share.powi(3))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn round_and_square_containers_of_straight_sides_are_cylinder_and_box() {
        let round = Inside::Round { rim_mm: 200.0, base_mm: 200.0, height_mm: 100.0 }.up_to(0.0).unwrap();
        assert!((round.volume_ml() - PI * 1000.0).abs() < 1e-9);
        let boxed = Inside::Rectangular { rim_mm: (600.0, 150.0), base_mm: (600.0, 150.0), height_mm: 120.0 };
        assert!((boxed.up_to(20.0).unwrap().volume_ml() - 9000.0).abs() < 1e-9);
        // A bag 314 mm flat is 200 mm through when filled.
        let bag = ContainerBody {
            inner_width_mm: Some(314),
            inner_height_mm: Some(100),
            ..ContainerBody::of(ContainerKind::Bag)
        };
        let bag = Inside::of(&bag).unwrap().up_to(0.0).unwrap();
        assert!((bag.volume_ml() / (PI * 1000.0) - 1.0).abs() < 2e-3);
        assert_eq!(Inside::of(&ContainerBody::of(ContainerKind::Pot)), None);
    }

    #[test]
    fn room_is_the_same_to_the_wall_and_between() {
        let round = Inside::Round { rim_mm: 300.0, base_mm: 300.0, height_mm: 100.0 }.up_to(0.0).unwrap();
        for n in 2..=6 {
            let room = round.room(80.0, n);
            let ring = 150.0 - 40.0 - room.wall_mm;
            let between = 2.0 * ring * (PI / f64::from(n)).sin() - 80.0;
            assert!((between - room.wall_mm).abs() < 1e-9, "{n}: {room:?}");
        }
        // Four of 80 mm touch in a ring of (1 + √2) · 80 mm.
        let tight = Inside::Round { rim_mm: 80.0 * (1.0 + 2f64.sqrt()), base_mm: 100.0, height_mm: 99.0 };
        let tight = tight.up_to(0.0).unwrap().room(80.0, 4);
        assert!(tight.wall_mm.abs() < 1e-9 && tight.short_mm < 1e-9, "{tight:?}");
        let trough = Inside::Rectangular { rim_mm: (600.0, 150.0), base_mm: (600.0, 150.0), height_mm: 120.0 };
        let room = trough.up_to(0.0).unwrap().room(90.0, 4);
        assert_eq!((room.wall_mm, room.between_mm), (30.0, Some(48.0)));
    }
}
