//! Repeatable random inputs.

/// A small generator of our own for test inputs: repeatable, no quality claimed.
pub struct Dice(pub u64);

impl Dice {
    /// Nought to one less than so many.
    pub fn roll(&mut self, sides: u64) -> u64 {
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % sides
    }
}
