//! Piston: how a flat round cone narrows its beam.

use std::f64::consts::{PI, TAU};

use crate::air::Air;
use crate::error::{PhysicsError, Result, finite_result, positive, positive_result};

/// Off-axis response of a piston.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Directivity {
    /// Wavenumber times radius.
    pub ka: f64,
    /// Pressure against the axis; negative beyond the first null.
    pub ratio: f64,
}

impl Directivity {
    /// Level against the axis, dB.
    ///
    /// # Errors
    /// `NotApplicable` exactly on a null, where there is no level.
    ///
    /// ```
    /// use physics::{air::AIR20, piston::directivity};
    /// let level = directivity(0.0133, 3000.0, 30.0, &AIR20)?.level_db()?;
    /// assert!((level + 3.7335215).abs() < 1e-6);
    /// # Ok::<(), physics::PhysicsError>(())
    /// ```
    pub fn level_db(&self) -> Result<f64> {
        let level = 20.0 * self.ratio.abs().log10();
        if level.is_finite() {
            Ok(level)
        } else {
            Err(PhysicsError::not_applicable("the angle lies on a null"))
        }
    }
}

/// Directivity of a piston of area `sd_m2` in an infinite baffle at `angle_deg` off its axis:
/// D = 2·J₁(x)/x, x = ka·sin θ, a = √(Sd/π).
///
/// Source: L. Kinsler and A. Frey, Fundamentals of Acoustics (from memory).
///
/// # Errors
/// `OutOfDomain` when the area or frequency is not positive, or the angle is beyond ±90°.
///
/// ```
/// use physics::{air::AIR20, piston::directivity};
/// let off_axis = directivity(0.0133, 3000.0, 30.0, &AIR20)?;
/// assert!((off_axis.ratio - 0.65061478).abs() < 1e-8);
/// # Ok::<(), physics::PhysicsError>(())
/// ```
pub fn directivity(sd_m2: f64, f_hz: f64, angle_deg: f64, air: &Air) -> Result<Directivity> {
    let radius = (positive("sd_m2", sd_m2)? / PI).sqrt();
    let ka = positive_result("ka", TAU * positive("f_hz", f_hz)? * radius / air.c_m_s())?;
    if !(-90.0..=90.0).contains(&angle_deg) {
        return Err(PhysicsError::out_of_domain(
            "angle_deg",
            format!("{angle_deg} is not from -90 to 90"),
        ));
    }
    let x = ka * angle_deg.to_radians().sin().abs();
    // Below this J₁(x) = x/2 to the last digit, and 0/0 is avoided.
    let ratio = if x < 1e-8 { 1.0 } else { 2.0 * libm::j1(x) / x };
    Ok(Directivity { ka, ratio: finite_result("directivity", ratio)? })
}
