//! The one experiment beyond the impedance sweep: a known mass on the cone, or a known volume behind
//! it. A sweep alone gives fs and the Q values; either of these gives the mass or Vas with them.

use std::f64::consts::TAU;

use crate::air::Air;
use crate::driver::equivalent_volume_m3;
use crate::error::{PhysicsError, Result, positive, positive_result};

/// What a second sweep with a mass on the dust cap shows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AddedMass {
    /// Moving mass with its air load, kg.
    pub mms_kg: f64,
    /// Compliance of the suspension, m/N.
    pub cms_m_n: f64,
    /// Force factor, T·m.
    pub bl_tm: f64,
    /// Equivalent volume, m³.
    pub vas_m3: f64,
    /// Relative change of the mass for a relative change of fs: ∂ln Mms/∂ln fs = −2r²/(r² − 1) with
    /// r = fs/fs'. At −5, 0.2 % of the frequency is 1 % of the mass.
    pub sensitivity: f64,
}

/// Driver mechanics from the resonance in free air (Hz), the resonance with `added_kg` on the dust
/// cap, Re (ohm), Qes in free air and the cone area (m²):
/// Mms = m/((fs/fs')² − 1), Cms = 1/((2πfs)²·Mms), BL = √(2πfs·Mms·Re/Qes), Vas = ρ₀c²·Sd²·Cms.
///
/// Choose a mass that lowers fs by 20 to 30 % (common practice, no source); below 10 % the reading
/// of the two frequencies dominates, above 40 % the suspension is no longer the same. Source: R. H.
/// Small, "Direct-Radiator Loudspeaker System Analysis", JAES 20(5) 1972 (from memory).
///
/// # Errors
/// `OutOfDomain` when an input is not positive and finite, or `fs_loaded_hz` is not below `fs_hz`.
///
/// ```
/// use physics::{added_mass::added_mass, air::AIR20};
/// let driver = added_mass(42.6641327, 32.6813066, 0.010, 5.6, 0.5728745, 0.0133, &AIR20)?;
/// assert!((driver.mms_kg - 0.0142).abs() < 1e-8);
/// assert!((driver.bl_tm - 6.1).abs() < 1e-5);
/// # Ok::<(), physics::PhysicsError>(())
/// ```
pub fn added_mass(
    fs_hz: f64,
    fs_loaded_hz: f64,
    added_kg: f64,
    re_ohm: f64,
    qes: f64,
    sd_m2: f64,
    air: &Air,
) -> Result<AddedMass> {
    let fs = positive("fs_hz", fs_hz)?;
    let loaded = positive("fs_loaded_hz", fs_loaded_hz)?;
    let added = positive("added_kg", added_kg)?;
    let re = positive("re_ohm", re_ohm)?;
    let qes = positive("qes", qes)?;
    if loaded >= fs {
        return Err(PhysicsError::out_of_domain(
            "fs_loaded_hz",
            format!("{loaded} is not below fs ({fs}); a mass on the cone lowers the resonance"),
        ));
    }
    let r = fs / loaded;
    // (r − 1)(r + 1) keeps the digits of r² − 1 when the two frequencies are close.
    let growth = (fs - loaded) / loaded * (r + 1.0);
    let ws = TAU * fs;
    let mms_kg = positive_result("mms_kg", added / growth)?;
    let cms_m_n = positive_result("cms_m_n", 1.0 / (ws * ws * mms_kg))?;
    Ok(AddedMass {
        mms_kg,
        cms_m_n,
        bl_tm: positive_result("bl_tm", (ws * mms_kg * re / qes).sqrt())?,
        vas_m3: equivalent_volume_m3(sd_m2, cms_m_n, air)?,
        sensitivity: -2.0 * (1.0 + 1.0 / positive_result("r", growth)?),
    })
}

/// Equivalent volume (m³) from the resonance (Hz) and Qes in free air, the same two in a closed test
/// box, and the box's net volume (m³): Vas = Vb·(fc·Qec/(fs·Qes) − 1).
///
/// The product of frequency and Q drops out of the air load, which grows when the driver is mounted;
/// the shorter form with (fc/fs)² does not, and reads 4 % low for 3 % more mass. The volume includes
/// the space inside the cone. Source: R. H. Small, "Closed-Box Loudspeaker Systems Part I", JAES
/// 20(10) 798-808, 1972 (pages from memory).
///
/// # Errors
/// `OutOfDomain` when an input is not positive and finite, `fc_hz` is not above `fs_hz`, or fc·Qec is
/// not above fs·Qes.
///
/// ```
/// use physics::added_mass::known_volume_vas_m3;
/// let vas = known_volume_vas_m3(42.6641327, 0.5728745, 79.3413838, 1.06535989, 0.010)?;
/// assert!((vas - 0.0245838786).abs() < 1e-9);
/// # Ok::<(), physics::PhysicsError>(())
/// ```
pub fn known_volume_vas_m3(fs_hz: f64, qes: f64, fc_hz: f64, qec: f64, vb_m3: f64) -> Result<f64> {
    let fs = positive("fs_hz", fs_hz)?;
    let qes = positive("qes", qes)?;
    let fc = positive("fc_hz", fc_hz)?;
    let qec = positive("qec", qec)?;
    let vb = positive("vb_m3", vb_m3)?;
    if fc <= fs {
        return Err(PhysicsError::out_of_domain(
            "fc_hz",
            format!("{fc} is not above fs ({fs}); a closed box raises the resonance"),
        ));
    }
    let stiffening = fc / fs * (qec / qes);
    if stiffening <= 1.0 {
        return Err(PhysicsError::out_of_domain(
            "qec",
            format!("{qec} at {fc} Hz leaves fc·Qec no larger than fs·Qes; a closed box raises it"),
        ));
    }
    positive_result("vas_m3", vb * (stiffening - 1.0))
}
