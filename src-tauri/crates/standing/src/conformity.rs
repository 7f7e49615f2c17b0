//! Whether a measured value is above a limit, given how well it was measured.

use crate::{
    confidence::{Level, Limits},
    normal,
};

/// Numbers that are no measured value.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum BadMeasurement {
    /// A value or limit that is no finite number.
    #[error("{what} is {found}; give a finite number")]
    NotFinite {
        /// Which of the two.
        what: &'static str,
        /// The number found.
        found: f64,
    },
    /// A standard uncertainty that is none.
    #[error(
        "the standard uncertainty is {u}; give a finite number from 0 up, in the unit of the value"
    )]
    Uncertainty {
        /// The number found.
        u: f64,
    },
}

/// The probability that a quantity measured as `value`, with the standard uncertainty `u`, is at least `threshold`:
/// `Phi((value - threshold)/u)`.
///
/// At u = 0 it is 1 if value >= threshold, else 0. Small probabilities keep their relative accuracy. JCGM 106:2012, *The role of
/// measurement uncertainty in conformity assessment* (from memory), with a normal distribution. All three in the same unit.
///
/// # Errors
/// [`BadMeasurement`] for numbers that are not finite, and for u below 0.
pub fn at_least(value: f64, u: f64, threshold: f64) -> Result<f64, BadMeasurement> {
    for (what, found) in [("the value", value), ("the threshold", threshold)] {
        if !found.is_finite() {
            return Err(BadMeasurement::NotFinite { what, found });
        }
    }
    check(u)?;
    if u <= 0.0 {
        return Ok(if value >= threshold { 1.0 } else { 0.0 });
    }
    Ok(normal::cdf((value - threshold) / u))
}

/// How far a measured value must lie beyond a limit for being beyond it at the one-sided confidence that `level` leaves at each
/// end: `z u`, 1.645 u for 90 % two-sided, in the unit of `u`.
///
/// The guard band of JCGM 106:2012 (from memory).
///
/// # Errors
/// [`BadMeasurement::Uncertainty`] for u below 0 or not finite.
pub fn guard_band(u: f64, level: Level) -> Result<f64, BadMeasurement> {
    check(u).map(|()| level.z() * u)
}

/// The values of which neither direction of a limit can be told: the limit with its guard band on both sides.
///
/// # Errors
/// [`BadMeasurement`] for a threshold that is not finite, and for u below 0 or not finite.
pub fn undecided(u: f64, threshold: f64, level: Level) -> Result<Limits, BadMeasurement> {
    if !threshold.is_finite() {
        return Err(BadMeasurement::NotFinite { what: "the threshold", found: threshold });
    }
    let guard = guard_band(u, level)?;
    Ok(Limits { low: threshold - guard, high: threshold + guard })
}

fn check(u: f64) -> Result<(), BadMeasurement> {
    if u >= 0.0 && u.is_finite() { Ok(()) } else { Err(BadMeasurement::Uncertainty { u }) }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::fixture::near;

    /// scipy 1.17.1, `norm.cdf`.
    #[test]
    fn check_5_3_probabilities_agree_with_scipy() {
        near(at_least(42.0, 1.0, 40.0).unwrap(), 0.977_249_868_1, 1e-10);
        near(at_least(42.0, 1.5, 40.0).unwrap(), 0.908_788_780_3, 1e-10);
        near(guard_band(1.0, Level::NINETY).unwrap(), 1.644_853_627_0, 1e-9);
        near(guard_band(2.0, Level::NINETY).unwrap(), 3.289_707_254, 1e-8);
        let span = undecided(1.0, 40.0, Level::NINETY).unwrap();
        near(span.low, 38.355_146_373, 1e-9);
        near(span.high, 41.644_853_627, 1e-9);
    }

    #[test]
    fn a_value_without_uncertainty_is_above_or_below() {
        near(at_least(40.0, 0.0, 40.0).unwrap(), 1.0, 0.0);
        near(at_least(39.999, 0.0, 40.0).unwrap(), 0.0, 0.0);
        near(at_least(1e308, 1e-300, -1e308).unwrap(), 1.0, 0.0);
    }

    #[test]
    fn what_is_no_measured_value_is_refused() {
        for (value, u, threshold, says) in [
            (f64::NAN, 1.0, 0.0, "the value is NaN"),
            (0.0, 1.0, f64::INFINITY, "the threshold is inf"),
            (0.0, -1.0, 0.0, "uncertainty is -1"),
            (0.0, f64::INFINITY, 0.0, "uncertainty is inf"),
        ] {
            let error = at_least(value, u, threshold).unwrap_err().to_string();
            assert!(error.contains(says), "{error}");
        }
        assert!(guard_band(f64::NAN, Level::NINETY).is_err());
        assert!(undecided(1.0, f64::NAN, Level::NINETY).is_err());
    }

    proptest! {
        #[test]
        fn at_the_guard_band_the_probability_is_the_one_asked_for(
            u in 1e-3..1e3_f64,
            threshold in -1e3..1e3_f64,
            level in 0.1..0.999_f64,
        ) {
            let level = Level::new(level).unwrap();
            let p = at_least(threshold + guard_band(u, level).unwrap(), u, threshold).unwrap();
            prop_assert!((p - (1.0 - level.tail())).abs() < 1e-8, "{}", p);
        }
    }
}
