//! Impedance sweeps: points of frequency, magnitude and, where measured, phase.

use crate::part::Part;

/// One point of a sweep.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// Frequency, Hz.
    pub f_hz: f64,
    /// Magnitude, ohm.
    pub z_ohm: f64,
    /// Phase, degrees.
    pub phase_deg: Option<f64>,
}

/// A measured sweep of a part: of the whole system at its terminals, or of a driver in free air.
#[derive(Debug, Clone, PartialEq)]
pub struct Sweep {
    /// What was measured.
    pub part: Part,
    /// Points in rising frequency.
    pub points: Vec<Point>,
    /// A remark, empty where there is none.
    pub note: String,
}

/// What is wrong with a list of points.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum BadSweep {
    /// Too few points.
    #[error("{found} points; a sweep has at least {MIN_POINTS}")]
    TooFew {
        /// How many there are.
        found: usize,
    },
    /// A frequency that does not rise.
    #[error("point {number}: {f_hz} Hz does not rise above the point before")]
    NotRising {
        /// The point, from 1.
        number: usize,
        /// Its frequency.
        f_hz: f64,
    },
    /// A value outside its domain.
    #[error("point {number}: {what}")]
    OutOfDomain {
        /// The point, from 1.
        number: usize,
        /// What is wrong.
        what: &'static str,
    },
    /// Phase in some points only.
    #[error("point {number}: phase must stand in all points or in none")]
    MixedPhase {
        /// The point, from 1.
        number: usize,
    },
}

/// The fewest points of a sweep.
pub const MIN_POINTS: usize = 20;

impl Sweep {
    /// Checks what each use of a sweep relies on: enough points, and each of them sound.
    ///
    /// # Errors
    /// [`BadSweep`] with the first offending point.
    pub fn check(points: &[Point]) -> Result<(), BadSweep> {
        if points.len() < MIN_POINTS {
            return Err(BadSweep::TooFew { found: points.len() });
        }
        check_points(points)
    }
}

/// Checks points one by one: rising finite frequencies above 0, magnitudes above 0, phase in all or none, within −180..180.
///
/// # Errors
/// [`BadSweep`] with the first offending point.
pub fn check_points(points: &[Point]) -> Result<(), BadSweep> {
    let with_phase = points.first().is_some_and(|it| it.phase_deg.is_some());
    let mut last = 0.0;
    for (i, it) in points.iter().enumerate() {
        let number = i + 1;
        let domain = |what| Err(BadSweep::OutOfDomain { number, what });
        if !(it.f_hz.is_finite() && it.f_hz > 0.0) {
            return domain("the frequency must be a number of Hz above 0");
        }
        if !(it.z_ohm.is_finite() && it.z_ohm > 0.0) {
            return domain("the magnitude must be a number of ohm above 0");
        }
        if it.phase_deg.is_some_and(|p| !(-180.0..=180.0).contains(&p)) {
            return domain("the phase must be from -180 to 180 degrees");
        }
        if it.phase_deg.is_some() != with_phase {
            return Err(BadSweep::MixedPhase { number });
        }
        if it.f_hz <= last {
            return Err(BadSweep::NotRising { number, f_hz: it.f_hz });
        }
        last = it.f_hz;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn points() -> Vec<Point> {
        (1..=25)
            .map(|i| Point { f_hz: 10.0 * f64::from(i), z_ohm: 6.0, phase_deg: Some(0.0) })
            .collect()
    }

    #[test]
    fn a_sound_sweep_passes() {
        assert_eq!(Sweep::check(&points()), Ok(()));
    }

    #[test]
    fn the_first_bad_point_is_named() {
        let with = |change: fn(&mut Vec<Point>)| {
            let mut it = points();
            change(&mut it);
            Sweep::check(&it).unwrap_err().to_string()
        };
        assert_eq!(with(|it| it.truncate(19)), "19 points; a sweep has at least 20");
        assert_eq!(
            with(|it| it[4].f_hz = 30.0),
            "point 5: 30 Hz does not rise above the point before"
        );
        assert_eq!(
            with(|it| it[2].z_ohm = 0.0),
            "point 3: the magnitude must be a number of ohm above 0"
        );
        assert_eq!(
            with(|it| it[7].f_hz = f64::NAN),
            "point 8: the frequency must be a number of Hz above 0"
        );
        assert_eq!(
            with(|it| it[9].phase_deg = None),
            "point 10: phase must stand in all points or in none"
        );
    }
}
