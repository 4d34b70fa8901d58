//! A mix by parts: whole numbers in, whole millilitres out that add up.

/// One part of a mix, in the order of the recipe.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Part {
    /// How many parts by volume.
    pub parts: u32,
    /// Litres in a bag of it, where that is known.
    pub bag_l: Option<u32>,
    /// Weight of a litre as it is used, g, where it was weighed.
    pub g_per_l: Option<u32>,
}

impl Part {
    /// So many parts of something in unknown bags and of unknown weight.
    pub const fn of(parts: u32) -> Self {
        Self { parts, bag_l: None, g_per_l: None }
    }
}

/// What is needed of one part.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Needed {
    /// How much, ml.
    pub ml: u64,
    /// How many bags are to be opened, where their size is known.
    pub bags: Option<u64>,
    /// What is left in the last one, ml.
    pub left_ml: Option<u64>,
}

/// What a filled container weighs, g.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Weight {
    /// Mix and bulbs.
    pub g: u64,
    /// Whether the weight of a litre is not known for every part: those count as [`LITRE_G`].
    pub assumed: bool,
}

/// What a litre of damp mix is taken to weigh where nobody weighed it, g: as much as water. Common practice, no source;
/// with much sand it is more.
pub const LITRE_G: u64 = 1000;

/// Loose mix that settles to so much, ml, rounded up.
pub fn loose_ml(settled_ml: u64, settles_permille: u32) -> u64 {
    let stays = 1000 - u64::from(settles_permille.min(999));
    u64::try_from((u128::from(settled_ml) * 1000).div_ceil(u128::from(stays))).unwrap_or(u64::MAX)
}

/// So much mix shared out by parts. The whole millilitres that division leaves over go to the largest remainders, the first
/// of equal ones first, so that the parts add up to all of it.
pub fn shared_out(all_ml: u64, parts: &[Part]) -> Vec<Needed> {
    let n_parts: u128 = parts.iter().map(|part| u128::from(part.parts)).sum();
    if n_parts == 0 {
        return parts.iter().map(|_| Needed { ml: 0, bags: None, left_ml: None }).collect();
    }
    let exact = |part: &Part| u128::from(all_ml) * u128::from(part.parts);
    let mut shares: Vec<u64> =
        parts.iter().map(|part| u64::try_from(exact(part) / n_parts).unwrap_or(u64::MAX)).collect();
    let over = all_ml.saturating_sub(shares.iter().sum());
    let mut by_remainder: Vec<usize> = (0..parts.len()).collect();
    by_remainder.sort_by_key(|at| std::cmp::Reverse(exact(&parts[*at]) % n_parts));
    for at in by_remainder.into_iter().take(over as usize) {
        shares[at] += 1;
    }
    let needed = parts.iter().zip(shares).map(|(part, ml)| {
        let bag_ml = part.bag_l.map(|litres| u64::from(litres) * 1000).filter(|ml| *ml > 0);
        let bags = bag_ml.map(|bag_ml| ml.div_ceil(bag_ml));
        let left_ml = bag_ml.zip(bags).map(|(bag_ml, bags)| bags.saturating_mul(bag_ml).saturating_sub(ml));
        Needed { ml, bags, left_ml }
    });
    needed.collect()
}

/// What so much mix weighs with bulbs of this volume, which count as much as water.
pub fn weight(mix_ml: u64, bulbs_ml: f64, parts: &[Part]) -> Weight {
    let each = shared_out(mix_ml, parts);
    let of_mix: u64 = parts
        .iter()
        .zip(each)
        .map(|(part, needed)| part.g_per_l.map_or(LITRE_G, u64::from).saturating_mul(needed.ml) / 1000)
        .sum();
    let bulbs_g = if bulbs_ml.is_finite() { bulbs_ml.max(0.0).round() as u64 } else { 0 };
    Weight { g: of_mix.saturating_add(bulbs_g), assumed: parts.iter().any(|part| part.g_per_l.is_none()) }
}

/// A mix that is published, by what it is made of and the claim that it comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct OfTheTrade {
    /// Names it.
    pub key: &'static str,
    /// Who says so.
    pub claim: crate::published::Claim,
    /// What it is made of, by parts.
    pub parts: &'static [(Thing, u32)],
}

/// What mixes are made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, strum::VariantArray)]
pub enum Thing {
    /// Potting soil.
    PottingSoil,
    /// Sand.
    Sand,
    /// Loam.
    Loam,
    /// Perlite.
    Perlite,
    /// Garden compost.
    Compost,
    /// Screened soil.
    ScreenedSoil,
    /// Humus.
    Humus,
    /// Rotted manure.
    RottedManure,
}

/// Mixes that are published.
pub const TRADE: [OfTheTrade; 3] = [
    OfTheTrade {
        key: "soil-and-sand",
        claim: crate::published::Claim::MixSoilAndSand,
        parts: &[(Thing::PottingSoil, 2), (Thing::Sand, 1)],
    },
    OfTheTrade {
        key: "loam-perlite-compost",
        claim: crate::published::Claim::MixLoamPerlite,
        parts: &[(Thing::Loam, 2), (Thing::Perlite, 1), (Thing::Compost, 1)],
    },
    OfTheTrade {
        key: "soil-humus-manure",
        claim: crate::published::Claim::MixSoilHumus,
        parts: &[(Thing::ScreenedSoil, 3), (Thing::Humus, 2), (Thing::RottedManure, 1)],
    },
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parts_add_up_to_the_millilitre() {
        for all in [0, 1, 7, 1000, 36_001, 123_456_789] {
            for parts in [&[1, 1, 1][..], &[2, 1], &[3, 2, 1], &[1000, 1], &[7]] {
                let parts: Vec<Part> = parts.iter().map(|n| Part::of(*n)).collect();
                let needed = shared_out(all, &parts);
                assert_eq!(needed.iter().map(|needed| needed.ml).sum::<u64>(), all);
                let n: u64 = parts.iter().map(|part| u64::from(part.parts)).sum();
                for (part, needed) in parts.iter().zip(needed) {
                    // None is off by a whole millilitre.
                    assert!((needed.ml * n).abs_diff(all * u64::from(part.parts)) < n);
                }
            }
        }
        // 2 : 1 of 36 litres is 24 and 12, exactly.
        let litres: Vec<u64> = shared_out(36_000, &[Part::of(2), Part::of(1)]).iter().map(|n| n.ml).collect();
        assert_eq!(litres, [24_000, 12_000]);
    }

    #[test]
    fn bags_are_opened_whole_and_what_settles_takes_more() {
        let part = Part { bag_l: Some(50), ..Part::of(1) };
        let needed = |ml| shared_out(ml, &[part])[0];
        assert_eq!(needed(50_000), Needed { ml: 50_000, bags: Some(1), left_ml: Some(0) });
        assert_eq!(needed(50_001), Needed { ml: 50_001, bags: Some(2), left_ml: Some(49_999) });
        assert_eq!((loose_ml(800, 200), loose_ml(801, 200), loose_ml(801, 0)), (1000, 1002, 801));
    }

    #[test]
    fn a_litre_that_nobody_weighed_counts_as_water() {
        let dry = Part { g_per_l: Some(100), ..Part::of(1) };
        assert_eq!(weight(2000, 400.0, &[dry, dry]), Weight { g: 600, assumed: false });
        assert_eq!(weight(2000, 0.0, &[dry, Part::of(1)]), Weight { g: 1100, assumed: true });
    }
}
