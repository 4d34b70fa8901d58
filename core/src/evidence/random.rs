//! Numbers for Monte Carlo, the same for one seed on every device.
//!
//! xoshiro256++ seeded by SplitMix64 (Blackman & Vigna 2021, ACM Transactions on Mathematical Software 47:36). Lots are
//! never drawn with it; see [`crate::trial::lots`] for those.

/// A stream of numbers from one seed.
#[derive(Debug, Clone)]
pub(crate) struct Random([u64; 4]);

impl Random {
    pub(crate) fn new(seed: u64) -> Self {
        let mut state = seed;
        Self(std::array::from_fn(|_| {
            state = state.wrapping_add(0x9e37_79b9_7f4a_7c15);
            let mut z = state;
            z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
            z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
            z ^ (z >> 31)
        }))
    }

    fn next(&mut self) -> u64 {
        let s = &mut self.0;
        let result = s[0].wrapping_add(s[3]).rotate_left(23).wrapping_add(s[0]);
        let shifted = s[1] << 17;
        s[2] ^= s[0];
        s[3] ^= s[1];
        s[1] ^= s[2];
        s[0] ^= s[3];
        s[2] ^= shifted;
        s[3] = s[3].rotate_left(45);
        result
    }

    /// A number from 0 up to but not including 1.
    pub(crate) fn unit(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_seed_gives_one_stream_of_numbers_below_one() {
        let mut random = Random::new(7);
        let mut again = Random::new(7);
        assert!((0..100).all(|_| random.unit() == again.unit()));
        let mean = (0..10_000).map(|_| random.unit()).sum::<f64>() / 10_000.0;
        assert!((mean - 0.5).abs() < 0.02, "{mean}");
    }
}
