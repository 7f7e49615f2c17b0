//! Doppler distortion: a cone that moves for the bass shifts the pitch of the treble it radiates.

use std::f64::consts::{SQRT_2, TAU};

use crate::air::Air;
use crate::error::{Result, positive, positive_result};

/// First zero of J₀ (Abramowitz and Stegun, table 9.5, from memory): from here the carrier is gone
/// and a fraction of it means nothing.
const FIRST_ZERO: f64 = 2.4048;
/// Sidebands beyond this order are below the last digit for every index under [`FIRST_ZERO`].
const ORDERS: i32 = 24;

/// How much of a high tone a low one moves into sidebands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Doppler {
    /// Modulation index m, radians.
    pub index: f64,
    /// m/√2, a fraction of the carrier; holds for a small index.
    pub distortion: f64,
    /// All sidebands together against the carrier that is left; none from the index 2.4048 up, where
    /// the carrier vanishes.
    pub distortion_exact: Option<f64>,
}

/// Frequency modulation of a tone (Hz) by a cone that moves `x_peak_m` (m, peak) at a low frequency:
/// m = 2π·f·x/c; distortion m/√2 to first order and √(2·Σ Jₙ(m)²)/J₀(m) exactly, n from 1.
///
/// Information only: whether it is heard is disputed. Valid for one low and one high tone on the
/// axis of a flat piston. Source: G. L. Beers and H. Belar, "Frequency-Modulation Distortion in
/// Loudspeakers", Proc. IRE 31(4) 132-138, 1943; the sidebands are the Jacobi-Anger expansion.
///
/// # Errors
/// `OutOfDomain` when the excursion or the frequency is not positive and finite.
///
/// ```
/// use physics::{air::AIR20, doppler::doppler};
/// let it = doppler(0.004, 1000.0, &AIR20)?;
/// assert!((it.index - 0.073230598).abs() < 1e-9);
/// assert!((it.distortion - 0.051781852).abs() < 1e-9);
/// # Ok::<(), physics::PhysicsError>(())
/// ```
pub fn doppler(x_peak_m: f64, f_high_hz: f64, air: &Air) -> Result<Doppler> {
    let x = positive("x_peak_m", x_peak_m)?;
    let index =
        positive_result("index", TAU * positive("f_high_hz", f_high_hz)? * x / air.c_m_s())?;
    let distortion_exact = if index < FIRST_ZERO {
        Some(positive_result("distortion_exact", sidebands(index) / libm::j0(index))?)
    } else {
        None
    };
    Ok(Doppler { index, distortion: index / SQRT_2, distortion_exact })
}

/// √(2·Σ Jₙ²). Summed rather than taken from 1 − J₀², which has no digits left for a small index.
fn sidebands(index: f64) -> f64 {
    SQRT_2 * (1..=ORDERS).map(|n| libm::jn(n, index)).fold(0.0, f64::hypot)
}
