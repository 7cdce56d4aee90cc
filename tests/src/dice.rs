//! Seeded random numbers for properties: the same seed gives the same layout everywhere.
//!
//! SplitMix64 (Steele, Lea & Flood, OOPSLA 2014): ten lines, no dependency, good enough for dice.

/// A stream of random numbers.
#[derive(Debug, Clone)]
pub struct Dice(u64);

impl Dice {
    /// The stream of `seed`.
    pub fn new(seed: u64) -> Self {
        let mut dice = Self(seed.wrapping_mul(0x2545_f491_4f6c_dd1d));
        dice.word();
        dice
    }

    fn word(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let z = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Uniform in `low..high`.
    pub fn within(&mut self, low: f64, high: f64) -> f64 {
        let unit = (self.word() >> 11) as f64 / (1u64 << 53) as f64;
        low + unit * (high - low)
    }

    /// Uniform in the logarithm, `low..high`.
    pub fn decades(&mut self, low: f64, high: f64) -> f64 {
        low * (high / low).powf(self.within(0.0, 1.0))
    }

    /// One of `0..n`.
    pub fn pick(&mut self, n: usize) -> usize {
        (self.word() % n as u64) as usize
    }

    /// True with probability `p`.
    pub fn chance(&mut self, p: f64) -> bool {
        self.within(0.0, 1.0) < p
    }
}
