//! Baffle step: a cabinet carries a driver from full space in the bass to half space in the treble.
//!
//! The cabinet is a rigid sphere with a point source on it, the one shape with an exact answer.
//! Sources: P. M. Morse, Vibration and Sound, on the sphere; H. F. Olson, "Direct Radiator
//! Loudspeaker Enclosures", JAES 17(1) 1969 (both from memory).

use std::f64::consts::{PI, TAU};

use num_complex::Complex64;

use crate::air::Air;
use crate::error::{PhysicsError, Result, finite_result, positive, positive_result};

/// Below this ka the step is smaller than the last digit of 1.
const KA_POINT: f64 = 1e-8;
/// The highest ka that is summed; the step has long reached 6.02 dB, and the series has as many terms.
pub const KA_MAX: f64 = 1e4;
/// Half of the step's 20·log₁₀ 2, dB.
const HALF_DB: f64 = 3.010_299_956_639_812;

/// Level on the axis against the same source in free space, dB, for a sphere of `diameter_m` (m) at
/// a frequency (Hz): 20·log₁₀ |Σ (2n + 1)(−j)ⁿ/hₙ'(ka)|/(ka)², with hₙ = jₙ + j·yₙ and
/// ka = π·f·D/c.
///
/// Rises from 0 to 6.02 dB, from ka = 2.3 up in waves of less than 0.05 dB, which the sound around the
/// far side of the sphere makes. Read the baffle's width as the diameter; a box with edges ripples more
/// about this curve. Valid for ka up to 10,000.
///
/// # Errors
/// `OutOfDomain` when an input is not positive and finite, or ka is above 10,000.
///
/// ```
/// use physics::{air::AIR20, baffle::step_gain_db};
/// // ka = 1 at c/(π·D).
/// let gain = step_gain_db(0.2, 343.2 / (std::f64::consts::PI * 0.2), &AIR20)?;
/// assert!((gain - 3.0359477).abs() < 1e-7);
/// # Ok::<(), physics::PhysicsError>(())
/// ```
pub fn step_gain_db(diameter_m: f64, f_hz: f64, air: &Air) -> Result<f64> {
    let radius = positive("diameter_m", diameter_m)? / 2.0;
    let ka = positive_result("ka", TAU * positive("f_hz", f_hz)? * radius / air.c_m_s())?;
    if ka > KA_MAX {
        return Err(PhysicsError::out_of_domain(
            "f_hz",
            format!("{f_hz} makes ka {ka}; the series is summed up to {KA_MAX}"),
        ));
    }
    finite_result("step_gain_db", gain_db(ka))
}

/// Frequency, Hz, at which half of the step (3.01 dB) is done, for a sphere of `diameter_m` (m):
/// about 108.4/D at 20 °C. The rule 115/W for a baffle of width W is common practice, no source.
///
/// # Errors
/// `OutOfDomain` when the diameter is not positive and finite.
///
/// ```
/// let half = physics::baffle::half_rise_hz(0.2, &physics::air::AIR20)?;
/// assert!((half - 541.879).abs() < 1e-3);
/// # Ok::<(), physics::PhysicsError>(())
/// ```
pub fn half_rise_hz(diameter_m: f64, air: &Air) -> Result<f64> {
    let diameter = positive("diameter_m", diameter_m)?;
    // The gain rises all the way from 0.7 dB to 4.4 dB between these two.
    let (mut low, mut high) = (0.5, 2.0);
    loop {
        let ka = 0.5 * (low + high);
        if ka <= low || ka >= high {
            return positive_result("half_rise_hz", ka * air.c_m_s() / (PI * diameter));
        }
        if gain_db(ka) < HALF_DB {
            low = ka;
        } else {
            high = ka;
        }
    }
}

/// The series. Upward recurrence of hₙ is safe: where its real part jₙ loses digits, its imaginary
/// part yₙ has outgrown it, and the error stays in the last digits of |hₙ|.
fn gain_db(ka: f64) -> f64 {
    if ka < KA_POINT {
        return 0.0;
    }
    let (sin, cos) = ka.sin_cos();
    let mut h = Complex64::new(sin, -cos) / ka;
    let mut next = (Complex64::new(sin / ka - cos, -cos / ka - sin)) / ka;
    let mut sum = Complex64::ZERO;
    let mut turn = Complex64::ONE;
    let per_ka = 1.0 / ka;
    let mut n = 0.0;
    loop {
        // hₙ' = n·hₙ/ka − hₙ₊₁.
        let term = (2.0 * n + 1.0) * turn / (n * per_ka * h - next);
        sum += term;
        if n > ka && term.norm() <= 1e-17 * sum.norm() {
            return 20.0 * (sum.norm() / (ka * ka)).log10();
        }
        let after = (2.0 * n + 3.0) * per_ka * next - h;
        (h, next) = (next, after);
        // By −j.
        turn = Complex64::new(turn.im, -turn.re);
        n += 1.0;
    }
}
