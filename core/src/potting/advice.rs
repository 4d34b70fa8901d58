//! What is published about how deep, how wide and how full, which differs: each source beside the numbers of a pot.

use super::{Answer, Wish, shape};
use crate::published::Claim;

/// Most of a bulb above the mix that still stands firmly, permille; our own reading of the ranges, no source.
pub const ABOVE_MOST_PERMILLE: u32 = 670;
/// Least of a bulb above the mix, permille: deeper, the neck stays wet. Our own reading of the ranges, no source.
pub const ABOVE_LEAST_PERMILLE: u32 = 250;

/// What one source asks for; lengths in mm, the upper end open where only the least is said.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Asked {
    /// Who says so.
    pub claim: Claim,
    /// Share of the bulb above the mix, permille.
    pub above_permille: Option<(u32, u32)>,
    /// Room from the bulb to the wall.
    pub wall: Option<Wall>,
    /// From the rim to the mix.
    pub rim_mm: Option<(f64, Option<f64>)>,
    /// Mix under the bulb.
    pub below_mm: Option<(f64, Option<f64>)>,
}

/// Room to the wall, as a source puts it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Wall {
    /// In mm.
    Mm(f64, Option<f64>),
    /// At least so much of the bulb's diameter, permille.
    OfDiameter(u32),
}

const NOTHING: Asked = Asked { claim: Claim::PotIowa, above_permille: None, wall: None, rim_mm: None, below_mm: None };

/// Every source, the stronger first. Inches are as printed: half an inch 13 mm, an inch 25 mm.
pub const SOURCES: [Asked; 9] = [
    Asked {
        claim: Claim::PotIowa,
        above_permille: Some((500, 500)),
        wall: Some(Wall::Mm(13.0, Some(25.0))),
        rim_mm: Some((25.0, Some(25.0))),
        ..NOTHING
    },
    Asked { claim: Claim::PotAlachua, above_permille: Some((500, 667)), wall: Some(Wall::OfDiameter(250)), ..NOTHING },
    Asked {
        claim: Claim::PotTradeThird,
        above_permille: Some((333, 333)),
        wall: Some(Wall::Mm(25.0, None)),
        below_mm: Some((25.0, Some(50.0))),
        ..NOTHING
    },
    Asked { claim: Claim::PotPeruvian, wall: Some(Wall::Mm(13.0, Some(13.0))), rim_mm: Some((10.0, None)), ..NOTHING },
    Asked {
        claim: Claim::PotHalfToTwoThirds,
        above_permille: Some((500, 667)),
        wall: Some(Wall::Mm(25.0, Some(25.0))),
        rim_mm: Some((13.0, Some(13.0))),
        ..NOTHING
    },
    Asked { claim: Claim::PotTwoThirds, above_permille: Some((667, 667)), ..NOTHING },
    Asked {
        claim: Claim::PotWide,
        above_permille: Some((333, 333)),
        wall: Some(Wall::Mm(50.0, Some(50.0))),
        ..NOTHING
    },
    Asked { claim: Claim::PotQuarter, above_permille: Some((250, 250)), ..NOTHING },
    Asked { claim: Claim::PotNearlyAll, above_permille: Some((900, 1000)), ..NOTHING },
];

/// How a number of a pot stands to what a source asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stands {
    /// Less.
    Less,
    /// As asked, within a tenth or 3 mm.
    AsAsked,
    /// More.
    More,
}

/// One source beside a pot: what it says nothing of is nothing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Beside {
    /// Who says so.
    pub claim: Claim,
    /// Share of the bulb above the mix.
    pub above: Option<Stands>,
    /// Room to the wall.
    pub wall: Option<Stands>,
    /// From the rim to the mix.
    pub rim: Option<Stands>,
    /// Mix under the bulb.
    pub below: Option<Stands>,
}

fn stands(value: f64, (low, high): (f64, Option<f64>)) -> Stands {
    // Nobody lays a bulb to the millimetre.
    let slack = (low / 10.0).max(3.0);
    if value < low - slack {
        Stands::Less
    } else if high.is_some_and(|high| value > high + slack) {
        Stands::More
    } else {
        Stands::AsAsked
    }
}

/// Every source beside a pot, in order.
pub fn beside(wish: &Wish, answer: &Answer) -> Vec<Beside> {
    let diameter_mm = wish.circumference_mm.filter(|_| wish.n_bulbs > 0).map(shape::diameter_mm);
    let of = |asked: &Asked| {
        let above = asked.above_permille.filter(|_| diameter_mm.is_some()).map(|(low, high)| {
            // A tenth of the bulb's height either way.
            match wish.above_permille {
                above if above + 100 < low => Stands::Less,
                above if above > high + 100 => Stands::More,
                _ => Stands::AsAsked,
            }
        });
        let wall = asked.wall.zip(answer.room).zip(diameter_mm).map(|((wall, room), diameter_mm)| {
            let range = match wall {
                Wall::Mm(low, high) => (low, high),
                Wall::OfDiameter(permille) => (diameter_mm * f64::from(permille) / 1000.0, None),
            };
            stands(room.wall_mm, range)
        });
        Beside {
            claim: asked.claim,
            above,
            wall,
            rim: asked.rim_mm.map(|range| stands(wish.rim_gap_mm, range)),
            below: asked.below_mm.zip(answer.below_mm).map(|(range, below_mm)| stands(below_mm, range)),
        }
    };
    SOURCES.iter().map(of).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::potting::{mix::Part, potted, shape::Inside};

    #[test]
    fn sources_that_differ_stand_side_by_side() {
        let wish = Wish {
            inside: Inside::Round { rim_mm: 150.0, base_mm: 150.0, height_mm: 140.0 },
            rim_gap_mm: 25.0,
            n_bulbs: 1,
            circumference_mm: Some(314.0),
            above_permille: 500,
            n_pots: 1,
            settles_permille: None,
            parts: vec![Part::of(1)],
        };
        // Iowa State: half above, 13 to 25 mm around a bulb of 100 mm in 150 mm, an inch to the rim.
        let all = beside(&wish, &potted(&wish).unwrap());
        let of = |claim: Claim| all.iter().find(|one| one.claim == claim).copied().unwrap();
        let iowa = of(Claim::PotIowa);
        assert_eq!(
            (iowa.above, iowa.wall, iowa.rim),
            (Some(Stands::AsAsked), Some(Stands::AsAsked), Some(Stands::AsAsked))
        );
        assert_eq!((of(Claim::PotWide).above, of(Claim::PotWide).wall), (Some(Stands::More), Some(Stands::Less)));
        assert_eq!(of(Claim::PotAlachua).wall, Some(Stands::AsAsked));
        assert_eq!(of(Claim::PotNearlyAll).above, Some(Stands::Less));
        assert_eq!(of(Claim::PotPeruvian).wall, Some(Stands::More));
    }
}
