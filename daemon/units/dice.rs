//! Numbers from a seed, for what the unit tests of every room try by chance.

/// By the multiplier of Steele, Lea and Flood's SplitMix64 (2014).
pub(crate) struct Dice(u64);

impl Dice {
    pub(crate) fn of(seed: u64) -> Dice {
        Dice(seed)
    }

    /// A number below `most`.
    pub(crate) fn below(&mut self, most: u64) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut word = self.0;
        word = (word ^ (word >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        word = (word ^ (word >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        (word ^ (word >> 31)) % most
    }

    /// Once in so many times.
    pub(crate) fn once_in(&mut self, times: u64) -> bool {
        self.below(times) == 0
    }
}
