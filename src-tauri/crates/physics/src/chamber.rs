//! A midrange that shares the woofer's air: how far the woofer pushes it.

use std::f64::consts::SQRT_2;

use crate::air::Air;
use crate::error::{Result, finite_result, positive, positive_result};

/// What the woofer does to a midrange in the same box.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SharedChamber {
    /// Peak pressure in the box, Pa.
    pub pressure_peak_pa: f64,
    /// The rms level of the sinusoid with that peak, dB.
    pub spl_peak_db: f64,
    /// Peak excursion forced on the midrange, m.
    pub mid_excursion_m: f64,
}

/// Pressure and forced excursion, below the midrange's resonance: p = ρ₀c²·Sd·x/Vb for the woofer's
/// area (m²) and peak excursion (m), and x_mid = p·Sdm/(1/Cms + ρ₀c²·Sdm²/Vb). Derived from the
/// stiffness of the enclosed air.
///
/// # Errors
/// `OutOfDomain` when an input is not positive and finite.
///
/// ```
/// use physics::{air::AIR20, chamber::shared_chamber};
/// let shared = shared_chamber(0.0133, 0.004, 0.024, 0.0055, 0.0007, &AIR20)?;
/// assert!((shared.mid_excursion_m - 1.0756788e-3).abs() < 1e-9);
/// # Ok::<(), physics::PhysicsError>(())
/// ```
pub fn shared_chamber(
    woofer_sd_m2: f64,
    excursion_m: f64,
    vb_m3: f64,
    mid_sd_m2: f64,
    mid_cms_m_n: f64,
    air: &Air,
) -> Result<SharedChamber> {
    let swept = positive("woofer_sd_m2", woofer_sd_m2)? * positive("excursion_m", excursion_m)?;
    let stiffness = air.bulk_modulus_pa() / positive("vb_m3", vb_m3)?;
    let mid_sd = positive("mid_sd_m2", mid_sd_m2)?;
    let mid_cms = positive("mid_cms_m_n", mid_cms_m_n)?;
    let pressure_peak_pa = positive_result("pressure_peak_pa", stiffness * swept)?;
    let restoring = 1.0 / mid_cms + stiffness * mid_sd * mid_sd;
    Ok(SharedChamber {
        pressure_peak_pa,
        spl_peak_db: finite_result(
            "spl_peak_db",
            20.0 * (pressure_peak_pa / SQRT_2 / 20e-6).log10(),
        )?,
        mid_excursion_m: positive_result("mid_excursion_m", pressure_peak_pa * mid_sd / restoring)?,
    })
}
