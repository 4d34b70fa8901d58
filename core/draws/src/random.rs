//! Numbers for Monte Carlo, the same for one seed on every device.
//!
//! xoshiro256++ seeded by SplitMix64 (Blackman & Vigna 2021, ACM Transactions on Mathematical Software 47:36). Lots are
//! never drawn with it; see core's `trial::lots` for those.

/// A stream of numbers from one seed.
#[derive(Debug, Clone)]
pub struct Random([u64; 4]);

impl Random {
    /// The stream of a seed.
    pub fn new(seed: u64) -> Self {
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

    /// A number from 0 to `n` − 1, each equally likely; `n` is at least 1.
    pub fn below(&mut self, n: usize) -> usize {
        let n = n as u64;
        let reject = n.wrapping_neg() % n;
        loop {
            let wide = u128::from(self.next()) * u128::from(n);
            if wide as u64 >= reject {
                return (wide >> 64) as usize;
            }
        }
    }

    /// A number from 0 up to but not including 1.
    pub fn unit(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// `count` entries of a row, every choice equally likely; the row changes its order.
    pub fn some<'a, T>(&mut self, row: &'a mut [T], count: usize) -> &'a [T] {
        for i in 0..count.min(row.len()) {
            row.swap(i, i + self.below(row.len() - i));
        }
        &row[..count.min(row.len())]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_seed_gives_one_stream_and_no_value_is_favoured() {
        let mut random = Random::new(7);
        let mut again = Random::new(7);
        let mut counts = [0_u32; 6];
        for _ in 0..60_000 {
            let value = random.below(6);
            assert_eq!(value, again.below(6));
            counts[value] += 1;
        }
        // Six standard deviations of a count are 548.
        assert!(counts.iter().all(|count| count.abs_diff(10_000) < 548), "{counts:?}");
        let mean = (0..10_000).map(|_| random.unit()).sum::<f64>() / 10_000.0;
        assert!((mean - 0.5).abs() < 0.02, "{mean}");
    }
}
