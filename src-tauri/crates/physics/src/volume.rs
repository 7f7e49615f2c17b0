//! Volume: what is inside the cabinet, less what fills it.

use std::f64::consts::PI;

use crate::error::{PhysicsError, Result, non_negative, positive, positive_result};

/// Volume of a straight cylinder such as a magnet or a port tube, m³: π·r²·h.
///
/// # Errors
/// `OutOfDomain` when the radius or height is negative or not finite.
pub fn cylinder_m3(radius_m: f64, height_m: f64) -> Result<f64> {
    let r = non_negative("radius_m", radius_m)?;
    non_negative("volume_m3", PI * r * r * non_negative("height_m", height_m)?)
}

/// Volume of a cone frustum, such as a driver's basket seen from inside, m³: π·h/3·(r₁² + r₁r₂ +
/// r₂²).
///
/// A frustum and a magnet cylinder stand for a driver (common practice, no source).
///
/// # Errors
/// `OutOfDomain` when a dimension is negative or not finite.
///
/// ```
/// let basket = physics::volume::frustum_m3(0.066, 0.020, 0.045)?;
/// assert!((basket - 0.286324754e-3).abs() < 1e-12);
/// # Ok::<(), physics::PhysicsError>(())
/// ```
pub fn frustum_m3(r1_m: f64, r2_m: f64, height_m: f64) -> Result<f64> {
    let r1 = non_negative("r1_m", r1_m)?;
    let r2 = non_negative("r2_m", r2_m)?;
    let h = non_negative("height_m", height_m)?;
    non_negative("volume_m3", PI * h / 3.0 * (r1 * r1 + r1 * r2 + r2 * r2))
}

/// Gross inside volume of a rectangular cabinet, m³.
///
/// # Errors
/// `OutOfDomain` when a dimension is not positive and finite.
pub fn rectangular_m3(lx_m: f64, ly_m: f64, lz_m: f64) -> Result<f64> {
    let area = positive("lx_m", lx_m)? * positive("ly_m", ly_m)?;
    positive_result("volume_m3", area * positive("lz_m", lz_m)?)
}

/// Net volume, m³: the gross inside volume less drivers, braces, port tube, crossover board and
/// chambers.
///
/// # Errors
/// `OutOfDomain` when the gross volume is not positive, a part is negative, or the parts fill the
/// cabinet.
pub fn net_m3(gross_m3: f64, parts_m3: &[f64]) -> Result<f64> {
    let gross = positive("gross_m3", gross_m3)?;
    let mut filled = 0.0;
    for &part in parts_m3 {
        filled += non_negative("parts_m3", part)?;
    }
    if filled >= gross {
        return Err(PhysicsError::out_of_domain(
            "parts_m3",
            format!("{filled} m³ of parts leave nothing of {gross} m³"),
        ));
    }
    Ok(gross - filled)
}
