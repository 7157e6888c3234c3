//! Numbers from a seed, so that a run which went wrong can be made again.

/// By the multiplier of Steele, Lea and Flood's SplitMix64 (2014).
#[derive(Debug, Clone)]
pub(crate) struct Dice(u64);

impl Dice {
    pub(crate) fn of(seed: u64) -> Dice {
        Dice(seed.wrapping_mul(0xD6E8_FEB8_6659_FD93))
    }

    /// A number below `most`.
    pub(crate) fn below(&mut self, most: u64) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut word = self.0;
        word = (word ^ (word >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        word = (word ^ (word >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        (word ^ (word >> 31)) % most
    }

    /// A whole number from `least` up to `most`, for minutes and the like.
    pub(crate) fn between(&mut self, least: i64, most: i64) -> i64 {
        least + i64::try_from(self.below(u64::try_from(most - least + 1).unwrap())).unwrap()
    }

    /// So many times in a hundred.
    pub(crate) fn percent(&mut self, percent: u64) -> bool {
        self.below(100) < percent
    }

    /// One of some things.
    pub(crate) fn one_of<T: Clone>(&mut self, things: &[T]) -> T {
        things[usize::try_from(self.below(things.len() as u64)).unwrap()].clone()
    }
}
