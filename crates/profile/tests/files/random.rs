//! Random numbers from a seed, the same on every machine.

/// SplitMix64 (Steele, Lea and Flood 2014, Fast splittable pseudorandom number generators).
pub struct Random(pub u64);

impl Random {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let z = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A number from 0 to `bound - 1`.
    pub fn below(&mut self, bound: usize) -> usize {
        (self.next() % bound as u64) as usize
    }

    /// True once in `odds` times.
    pub fn one_in(&mut self, odds: usize) -> bool {
        self.below(odds) == 0
    }
}
