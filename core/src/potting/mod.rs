//! Pots and mix: from measured sizes to litres of each part, bags to open, room around the bulbs, and the weight to lift.
//!
//! Lengths are in millimetres, volumes in millilitres (cm³) unless named otherwise. A bulb counts as a sphere of its
//! circumference ([`shape`]). Advice differs from source to source and stands beside the numbers with its grade
//! ([`advice`]). Parts of a mix are whole numbers, and shared out without a remainder ([`mix`]).

pub mod advice;
pub mod mix;
pub mod shape;

use crate::{
    error::{Error, Field, Result},
    ledger::{body::Recipe, canonical::tidy_text},
    limits,
    refusal::Missing,
};
use shape::{Inside, Room};

/// What is asked.
#[derive(Clone, Debug, PartialEq)]
pub struct Wish {
    /// The container, by its inner sizes.
    pub inside: Inside,
    /// From the rim down to the mix, mm.
    pub rim_gap_mm: f64,
    /// Bulbs in each container.
    pub n_bulbs: u32,
    /// Their circumference, mm; nothing for a container without bulbs.
    pub circumference_mm: Option<f64>,
    /// How much of a bulb's height stands above the mix, permille.
    pub above_permille: u32,
    /// Containers to fill.
    pub n_pots: u32,
    /// By how much the mix loses volume on mixing, filling and watering, permille; nothing where nobody measured it.
    pub settles_permille: Option<u32>,
    /// What the mix is made of.
    pub parts: Vec<mix::Part>,
}

/// What comes of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Answer {
    /// What one container holds up to the mix's surface, ml.
    pub to_surface_ml: u64,
    /// What the buried parts of its bulbs take up, ml.
    pub displaced_ml: u64,
    /// Settled mix in one container, ml.
    pub mix_ml: u64,
    /// Loose mix for all containers, ml, with what it loses where that was measured.
    pub loose_ml: u64,
    /// Of each part, ml, in the order of the parts; together exactly the loose mix.
    pub parts: Vec<mix::Needed>,
    /// Room around the bulbs; nothing without bulbs.
    pub room: Option<Room>,
    /// Mix under a bulb, mm; nothing without bulbs.
    pub below_mm: Option<f64>,
    /// What one filled container weighs, g, without the container itself.
    pub weight: mix::Weight,
}

/// Why there is no answer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum NoPotting {
    /// A size is not a positive number.
    NoSize,
    /// The mix would begin at the base or below it.
    RimGapTooDeep,
    /// The bulbs do not fit beside each other: so many mm are missing.
    TooNarrow {
        /// What is missing, mm.
        short_mm: f64,
    },
    /// The buried part of a bulb is higher than the mix: so many mm are missing.
    TooShallow {
        /// What is missing, mm.
        short_mm: f64,
    },
    /// No containers to fill, or no parts.
    Nothing,
}

/// Works it out.
///
/// # Errors
/// Why it cannot be.
pub fn potted(wish: &Wish) -> std::result::Result<Answer, NoPotting> {
    let Wish { inside, rim_gap_mm, n_bulbs, circumference_mm, above_permille, n_pots, settles_permille, parts } = wish;
    let up_to = inside.up_to(*rim_gap_mm)?;
    if *n_pots == 0 || parts.is_empty() {
        return Err(NoPotting::Nothing);
    }
    let bulb = circumference_mm.filter(|_| *n_bulbs > 0);
    let (mut displaced, mut room, mut below_mm) = (0.0, None, None);
    if let Some(circumference_mm) = bulb {
        if !(circumference_mm.is_finite() && circumference_mm > 0.0) {
            return Err(NoPotting::NoSize);
        }
        let buried = 1.0 - f64::from((*above_permille).min(1000)) / 1000.0;
        let diameter_mm = shape::diameter_mm(circumference_mm);
        displaced = f64::from(*n_bulbs) * shape::buried_ml(circumference_mm, buried);
        let found = up_to.room(diameter_mm, *n_bulbs);
        let least = found.wall_mm.min(found.between_mm.unwrap_or(found.wall_mm));
        if least < 0.0 {
            return Err(NoPotting::TooNarrow { short_mm: found.short_mm });
        }
        let below = up_to.height_mm - buried * diameter_mm;
        if below < 0.0 {
            return Err(NoPotting::TooShallow { short_mm: -below });
        }
        (room, below_mm) = (Some(found), Some(below));
    }
    let to_surface = up_to.volume_ml();
    let mix_ml = (to_surface - displaced).max(0.0).round() as u64;
    let settled_ml = mix_ml.saturating_mul(u64::from(*n_pots));
    let loose_ml = mix::loose_ml(settled_ml, settles_permille.unwrap_or(0));
    Ok(Answer {
        to_surface_ml: to_surface.round() as u64,
        displaced_ml: displaced.round() as u64,
        mix_ml,
        loose_ml,
        parts: mix::shared_out(loose_ml, parts),
        room,
        below_mm,
        weight: mix::weight(mix_ml, bulb.map_or(0.0, |mm| f64::from(*n_bulbs) * shape::sphere_ml(mm)), parts),
    })
}

/// Whether a recipe may be recorded.
///
/// # Errors
/// What is missing or out of bounds, beside its field.
pub fn check(recipe: &Recipe) -> Result<()> {
    if tidy_text(&recipe.name).is_empty() {
        return Err(Error::new(Missing::RecipeName).at(Field::Name));
    }
    limits::NAME_CHARS.check(recipe.name.chars().count() as i64).map_err(|why| why.at(Field::Name))?;
    if recipe.parts.is_empty() {
        return Err(Error::new(Missing::MixParts).at(Field::Parts));
    }
    limits::MIX_THINGS.check(recipe.parts.len() as i64).map_err(|why| why.at(Field::Parts))?;
    for part in &recipe.parts {
        if part.what.is_empty() {
            return Err(Error::new(Missing::MixParts).at(Field::Parts));
        }
        limits::MIX_PARTS.check(i64::from(part.parts)).map_err(|why| why.at(Field::Parts))?;
        part.bag_l.map(|n| limits::BAG_L.check(i64::from(n))).transpose().map_err(|why| why.at(Field::Parts))?;
        part.g_per_l.map(|n| limits::LITRE_G.check(i64::from(n))).transpose().map_err(|why| why.at(Field::Parts))?;
    }
    if let Some(permille) = recipe.settles_permille {
        limits::SETTLES_PERMILLE.check(i64::from(permille)).map_err(|why| why.at(Field::Settles))?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wish() -> Wish {
        Wish {
            inside: Inside::Round { rim_mm: 150.0, base_mm: 110.0, height_mm: 140.0 },
            rim_gap_mm: 20.0,
            n_bulbs: 1,
            circumference_mm: Some(280.0),
            above_permille: 333,
            n_pots: 24,
            settles_permille: None,
            parts: vec![mix::Part::of(2), mix::Part::of(1), mix::Part::of(1)],
        }
    }

    #[test]
    fn a_pot_with_its_bulb_comes_to_litres_of_each_part() {
        let found = potted(&wish()).unwrap();
        // Surface 144.3 mm wide: a frustum of 120 mm, π·120/12·(144.29² + 144.29·110 + 110²) mm³ (by hand).
        assert!((i64::try_from(found.to_surface_ml).unwrap() - 1533).abs() <= 1, "{found:?}");
        assert_eq!(found.mix_ml, found.to_surface_ml - found.displaced_ml);
        assert_eq!(found.loose_ml, 24 * found.mix_ml);
        assert_eq!(found.parts.iter().map(|part| part.ml).sum::<u64>(), found.loose_ml);
        // A bulb 89.1 mm wide leaves 27.6 mm on each side.
        assert!((found.room.unwrap().wall_mm - 27.6).abs() < 0.1);
        // What settles by a fifth takes a quarter more.
        let settled = potted(&Wish { settles_permille: Some(200), ..wish() }).unwrap();
        assert_eq!(settled.loose_ml, (24 * found.mix_ml * 5).div_ceil(4));
    }

    #[test]
    fn what_does_not_fit_says_by_how_much() {
        let narrow = Inside::Round { rim_mm: 80.0, base_mm: 80.0, height_mm: 140.0 };
        let Err(NoPotting::TooNarrow { short_mm }) = potted(&Wish { inside: narrow, ..wish() }) else { panic!() };
        assert!((short_mm - 9.1).abs() < 0.1, "{short_mm}");
        let shallow = Inside::Round { rim_mm: 150.0, base_mm: 140.0, height_mm: 60.0 };
        let Err(NoPotting::TooShallow { short_mm }) = potted(&Wish { inside: shallow, ..wish() }) else { panic!() };
        assert!((short_mm - 19.4).abs() < 0.1, "{short_mm}");
        assert_eq!(potted(&Wish { rim_gap_mm: 140.0, ..wish() }), Err(NoPotting::RimGapTooDeep));
        assert_eq!(potted(&Wish { n_pots: 0, ..wish() }), Err(NoPotting::Nothing));
        assert_eq!(potted(&Wish { parts: Vec::new(), ..wish() }), Err(NoPotting::Nothing));
        assert_eq!(potted(&Wish { circumference_mm: Some(f64::NAN), ..wish() }), Err(NoPotting::NoSize));
        let nothing = Inside::Round { rim_mm: 0.0, base_mm: 0.0, height_mm: 100.0 };
        assert_eq!(potted(&Wish { inside: nothing, ..wish() }), Err(NoPotting::NoSize));
        // Without a bulb there is nothing that could not fit.
        let bare = potted(&Wish { circumference_mm: None, ..wish() }).unwrap();
        assert_eq!((bare.displaced_ml, bare.room, bare.below_mm), (0, None, None));
    }
}
