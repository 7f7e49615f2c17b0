//! How sure an interval is to cover, and its two ends.

use crate::normal;

/// A two-sided confidence level; what is left is split evenly between the two ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Level(f64);

/// A number that is no confidence level.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error(
    "the confidence level {level} is out of range; write a number above 0 and below 1, such as 0.9"
)]
pub struct BadLevel {
    /// The number found.
    pub level: f64,
}

/// The two ends of an interval, in the unit of what it is about.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// The low end.
    pub low: f64,
    /// The high end.
    pub high: f64,
}

impl Level {
    /// 90 %: each end is missed in 5 % of samples, which is what a claim with one direction needs.
    pub const NINETY: Level = Level(0.9);
    /// 95 %.
    pub const NINETY_FIVE: Level = Level(0.95);

    /// The level of a fraction such as 0.9.
    ///
    /// # Errors
    /// [`BadLevel`] unless 0 < level < 1.
    pub fn new(level: f64) -> Result<Self, BadLevel> {
        if level > 0.0 && level < 1.0 { Ok(Level(level)) } else { Err(BadLevel { level }) }
    }

    /// The level as a fraction.
    #[must_use]
    pub fn fraction(self) -> f64 {
        self.0
    }

    /// The probability left beyond each end, `(1 - level)/2`.
    #[must_use]
    pub fn tail(self) -> f64 {
        (1.0 - self.0) / 2.0
    }

    /// The standard normal deviate that leaves [`Level::tail`] above it.
    #[must_use]
    pub fn z(self) -> f64 {
        -normal::quantile(self.tail())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::near;

    /// scipy 1.17.1, `norm.ppf`.
    #[test]
    fn deviates_agree_with_scipy() {
        near(Level::NINETY.z(), 1.644_853_626_951_472_2, 1e-12);
        near(Level::NINETY_FIVE.z(), 1.959_963_984_540_054, 1e-12);
        near(Level::new(0.5).unwrap().z(), 0.674_489_750_196_081_7, 1e-12);
        near(Level::new(1.0 - 1e-12).unwrap().z(), 7.130_5, 1e-3);
    }

    #[test]
    fn what_is_no_level_is_refused() {
        for level in [0.0, 1.0, -0.1, 90.0, f64::NAN, f64::INFINITY] {
            let error = Level::new(level).unwrap_err().to_string();
            assert!(error.contains("above 0 and below 1"), "{error}");
        }
        near(Level::new(0.8).unwrap().fraction(), 0.8, 0.0);
    }
}
