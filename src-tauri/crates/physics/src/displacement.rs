//! The level that a given excursion can make.

use std::f64::consts::{FRAC_1_SQRT_2, PI, TAU};

use crate::air::Air;
use crate::error::{Result, finite_result, positive, positive_result};

/// Reference pressure of a level, Pa.
const P_REF_PA: f64 = 20e-6;

/// What a cone at its full travel radiates into half space.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DisplacementLimit {
    /// Level at 1 m, dB.
    pub spl_1m_db: f64,
    /// Acoustic power, W.
    pub power_acoustic_w: f64,
}

/// The level and power of a cone of area `sd_m2` that moves by `xmax_m` (peak, one way) at `f_hz`:
/// p = ρ₀(2πf)²·V_D/(2π√2) Pa rms at 1 m and P_A = (4π³ρ₀/c)·f⁴·V_D² W, with V_D = Sd·Xmax.
///
/// Valid for half space and a cone small against the wavelength. Source: R. H. Small,
/// "Direct-Radiator Loudspeaker System Analysis", JAES 20(5) 383-395, 1972 (constant from memory,
/// derived again here).
///
/// # Errors
/// `OutOfDomain` when an input is not positive and finite.
///
/// ```
/// use physics::{air::AIR20, displacement::displacement_limit};
/// let limit = displacement_limit(0.0133, 0.004, 50.0, &AIR20)?;
/// assert!((limit.spl_1m_db - 91.02226).abs() < 1e-5);
/// # Ok::<(), physics::PhysicsError>(())
/// ```
pub fn displacement_limit(
    sd_m2: f64,
    xmax_m: f64,
    f_hz: f64,
    air: &Air,
) -> Result<DisplacementLimit> {
    let volume_m3 = positive("sd_m2", sd_m2)? * positive("xmax_m", xmax_m)?;
    let w = TAU * positive("f_hz", f_hz)?;
    let pressure_pa = air.rho_kg_m3() * w * w * volume_m3 * FRAC_1_SQRT_2 / TAU;
    let flow = f_hz * f_hz * volume_m3;
    let power = 4.0 * PI.powi(3) * air.rho_kg_m3() / air.c_m_s() * flow * flow;
    Ok(DisplacementLimit {
        spl_1m_db: finite_result("spl_1m_db", 20.0 * (pressure_pa / P_REF_PA).log10())?,
        power_acoustic_w: positive_result("power_acoustic_w", power)?,
    })
}
