//! Driver parameters (Thiele/Small): from the mechanics to fs, Q, Vas and level, and back.
//!
//! Valid for small signals, below cone breakup, with a cone small against the wavelength (ka < 1).
//! Sources: R. H. Small, "Direct-Radiator Loudspeaker System Analysis", JAES 20(5) 1972; A. N.
//! Thiele, "Loudspeakers in Vented Boxes", JAES 19(5, 6) 1971; L. Beranek and T. Mellow, Acoustics:
//! Sound Fields and Transducers, 2012, chapter 6 (all three from memory for page and equation).

use std::f64::consts::{PI, TAU};

use crate::air::Air;
use crate::error::{PhysicsError, Result, finite_result, non_negative, positive, positive_result};

/// Square of the reference pressure 20 µPa, in Pa².
const P_REF_SQUARED: f64 = 4e-10;
/// The voltage of the common sensitivity rating.
const RATING_VOLTS: f64 = 2.83;

/// A driver as its mechanics and motor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DriverParams {
    /// Voice-coil resistance at direct current, ohm.
    pub re_ohm: f64,
    /// Moving mass with its air load, kg.
    pub mms_kg: f64,
    /// Compliance of the suspension, m/N.
    pub cms_m_n: f64,
    /// Mechanical resistance, kg/s.
    pub rms_kg_s: f64,
    /// Force factor, T·m.
    pub bl_tm: f64,
    /// Effective cone area, m².
    pub sd_m2: f64,
    /// Voice-coil inductance, H, where it is known.
    pub le_h: Option<f64>,
    /// Linear excursion one way (peak), m, where it is known.
    pub xmax_m: Option<f64>,
}

/// The small-signal set that follows from [`DriverParams`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DriverSet {
    /// Resonance in free air, Hz.
    pub fs_hz: f64,
    /// Mechanical Q at fs.
    pub qms: f64,
    /// Electrical Q at fs.
    pub qes: f64,
    /// Total Q at fs.
    pub qts: f64,
    /// Volume of air as compliant as the suspension, m³. Of no use for a tweeter with a sealed
    /// back.
    pub vas_m3: f64,
    /// Reference efficiency into half space, a fraction.
    pub eta0: f64,
    /// Level at 1 m for 1 W into Re, half space, dB.
    pub spl_1w_db: f64,
    /// Level at 1 m for 2.83 V, half space, dB.
    pub spl_2v83_db: f64,
    /// Efficiency bandwidth product fs/Qes, Hz.
    pub ebp_hz: f64,
    /// Motor strength BL²/Re, kg/s.
    pub motor_strength_kg_s: f64,
    /// Frequency where the coil's reactance equals Re, Hz, where Le is known.
    pub f_le_hz: Option<f64>,
    /// Height of the impedance peak above Re, ohm.
    pub res_ohm: f64,
    /// Moving mass seen as an electrical capacitance, F.
    pub cmes_f: f64,
    /// Compliance seen as an electrical inductance, H.
    pub lces_h: f64,
}

/// A driver as a data sheet gives it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DriverEntry {
    /// Voice-coil resistance at direct current, ohm.
    pub re_ohm: f64,
    /// Resonance in free air, Hz.
    pub fs_hz: f64,
    /// Mechanical Q at fs.
    pub qms: f64,
    /// Electrical Q at fs.
    pub qes: f64,
    /// Equivalent volume, m³.
    pub vas_m3: f64,
    /// Effective cone area, m².
    pub sd_m2: f64,
    /// Voice-coil inductance, H, where it is known.
    pub le_h: Option<f64>,
    /// Linear excursion one way (peak), m, where it is known.
    pub xmax_m: Option<f64>,
}

impl DriverParams {
    /// Refuses a value that is not a positive finite number; Xmax may be 0.
    ///
    /// # Errors
    /// `OutOfDomain` naming the first field at fault.
    pub fn check(&self) -> Result<()> {
        positive("re_ohm", self.re_ohm)?;
        positive("mms_kg", self.mms_kg)?;
        positive("cms_m_n", self.cms_m_n)?;
        positive("rms_kg_s", self.rms_kg_s)?;
        positive("bl_tm", self.bl_tm)?;
        positive("sd_m2", self.sd_m2)?;
        check_options(self.le_h, self.xmax_m)
    }

    /// The whole small-signal set.
    ///
    /// # Errors
    /// `OutOfDomain` when a parameter is not positive and finite.
    pub fn derive(&self, air: &Air) -> Result<DriverSet> {
        self.check()?;
        let bl2 = self.bl_tm * self.bl_tm;
        let fs_hz = resonance_hz(self.mms_kg, self.cms_m_n)?;
        let qms = q_mechanical(fs_hz, self.mms_kg, self.rms_kg_s)?;
        let qes = q_electrical(fs_hz, self.mms_kg, self.re_ohm, self.bl_tm)?;
        let vas_m3 = equivalent_volume_m3(self.sd_m2, self.cms_m_n, air)?;
        let eta0 = efficiency(self.re_ohm, self.mms_kg, self.bl_tm, self.sd_m2, air)?;
        let spl_1w_db = spl_1w_db(eta0, air)?;
        let f_le_hz = match self.le_h {
            Some(le) => Some(positive_result("f_le_hz", self.re_ohm / (TAU * le))?),
            None => None,
        };
        Ok(DriverSet {
            fs_hz,
            qms,
            qes,
            qts: q_total(qms, qes)?,
            vas_m3,
            eta0,
            spl_1w_db,
            spl_2v83_db: spl_2v83_db(spl_1w_db, self.re_ohm)?,
            ebp_hz: positive_result("ebp_hz", fs_hz / qes)?,
            motor_strength_kg_s: positive_result("motor_strength_kg_s", bl2 / self.re_ohm)?,
            f_le_hz,
            res_ohm: positive_result("res_ohm", bl2 / self.rms_kg_s)?,
            cmes_f: positive_result("cmes_f", self.mms_kg / bl2)?,
            lces_h: positive_result("lces_h", self.cms_m_n * bl2)?,
        })
    }
}

impl DriverEntry {
    /// The mechanics behind a data sheet's set: Cms = Vas/(ρ₀c²·Sd²), Mms = 1/((2πfs)²·Cms),
    /// Rms = 2πfs·Mms/Qms, BL = √(2πfs·Mms·Re/Qes).
    ///
    /// Where the sheet gives Qts in place of Qms or Qes, [`other_q`] finds the missing one first.
    ///
    /// # Errors
    /// `OutOfDomain` when a value is not positive and finite.
    pub fn params(&self, air: &Air) -> Result<DriverParams> {
        let re_ohm = positive("re_ohm", self.re_ohm)?;
        let ws = TAU * positive("fs_hz", self.fs_hz)?;
        let qms = positive("qms", self.qms)?;
        let qes = positive("qes", self.qes)?;
        let vas_m3 = positive("vas_m3", self.vas_m3)?;
        let sd_m2 = positive("sd_m2", self.sd_m2)?;
        check_options(self.le_h, self.xmax_m)?;
        let cms_m_n = positive_result("cms_m_n", vas_m3 / (air.bulk_modulus_pa() * sd_m2 * sd_m2))?;
        let mms_kg = positive_result("mms_kg", 1.0 / (ws * ws * cms_m_n))?;
        Ok(DriverParams {
            re_ohm,
            mms_kg,
            cms_m_n,
            rms_kg_s: positive_result("rms_kg_s", ws * mms_kg / qms)?,
            bl_tm: positive_result("bl_tm", (ws * mms_kg * re_ohm / qes).sqrt())?,
            sd_m2,
            le_h: self.le_h,
            xmax_m: self.xmax_m,
        })
    }
}

fn check_options(le_h: Option<f64>, xmax_m: Option<f64>) -> Result<()> {
    if let Some(le) = le_h {
        positive("le_h", le)?;
    }
    if let Some(xmax) = xmax_m {
        non_negative("xmax_m", xmax)?;
    }
    Ok(())
}

/// Resonance fs = 1/(2π√(Mms·Cms)) in Hz from kg and m/N.
///
/// # Errors
/// `OutOfDomain` when an input is not positive and finite.
///
/// ```
/// let fs = physics::driver::resonance_hz(0.0142, 0.00098)?;
/// assert!((fs - 42.6641327).abs() < 1e-6);
/// # Ok::<(), physics::PhysicsError>(())
/// ```
pub fn resonance_hz(mms_kg: f64, cms_m_n: f64) -> Result<f64> {
    let mms = positive("mms_kg", mms_kg)?;
    let cms = positive("cms_m_n", cms_m_n)?;
    positive_result("fs_hz", 1.0 / (TAU * (mms * cms).sqrt()))
}

/// Mechanical Q: Qms = 2πfs·Mms/Rms.
///
/// # Errors
/// `OutOfDomain` when an input is not positive and finite.
pub fn q_mechanical(fs_hz: f64, mms_kg: f64, rms_kg_s: f64) -> Result<f64> {
    let momentum_rate = TAU * positive("fs_hz", fs_hz)? * positive("mms_kg", mms_kg)?;
    positive_result("qms", momentum_rate / positive("rms_kg_s", rms_kg_s)?)
}

/// Electrical Q: Qes = 2πfs·Mms·Re/BL².
///
/// # Errors
/// `OutOfDomain` when an input is not positive and finite.
pub fn q_electrical(fs_hz: f64, mms_kg: f64, re_ohm: f64, bl_tm: f64) -> Result<f64> {
    let momentum_rate = TAU * positive("fs_hz", fs_hz)? * positive("mms_kg", mms_kg)?;
    let bl = positive("bl_tm", bl_tm)?;
    positive_result("qes", momentum_rate * positive("re_ohm", re_ohm)? / (bl * bl))
}

/// Total Q: Qts = Qms·Qes/(Qms + Qes).
///
/// # Errors
/// `OutOfDomain` when an input is not positive and finite.
pub fn q_total(qms: f64, qes: f64) -> Result<f64> {
    let sum = 1.0 / positive("qms", qms)? + 1.0 / positive("qes", qes)?;
    positive_result("qts", 1.0 / sum)
}

/// The Q that is missing when Qts and one of Qms and Qes are known: 1/(1/Qts − 1/Q).
///
/// # Errors
/// `Inconsistent` when Qts is not smaller than the known Q; `OutOfDomain` when an input is not
/// positive.
pub fn other_q(qts: f64, known_q: f64) -> Result<f64> {
    let total = positive("qts", qts)?;
    let known = positive("qms or qes", known_q)?;
    if total >= known {
        return Err(PhysicsError::inconsistent(
            "qts",
            format!("Qts ({total}) must be smaller than Qms and Qes ({known})"),
        ));
    }
    positive_result("qms or qes", total * known / (known - total))
}

/// Electrical Q with a resistance in series (coil of the crossover, wire, amplifier):
/// Qes' = Qes·(Re + Rg)/Re.
///
/// # Errors
/// `OutOfDomain` when Qes or Re is not positive, or Rg is negative.
pub fn q_electrical_with_series(qes: f64, re_ohm: f64, rg_ohm: f64) -> Result<f64> {
    let re = positive("re_ohm", re_ohm)?;
    let rg = non_negative("rg_ohm", rg_ohm)?;
    positive_result("qes", positive("qes", qes)? * (1.0 + rg / re))
}

/// Equivalent volume Vas = ρ₀c²·Sd²·Cms in m³.
///
/// # Errors
/// `OutOfDomain` when an input is not positive and finite.
pub fn equivalent_volume_m3(sd_m2: f64, cms_m_n: f64, air: &Air) -> Result<f64> {
    let sd = positive("sd_m2", sd_m2)?;
    positive_result("vas_m3", air.bulk_modulus_pa() * sd * sd * positive("cms_m_n", cms_m_n)?)
}

/// Reference efficiency η₀ = ρ₀/(2πc)·BL²·Sd²/(Re·Mms²), a fraction: half space, piston band.
///
/// # Errors
/// `OutOfDomain` when an input is not positive and finite.
pub fn efficiency(re_ohm: f64, mms_kg: f64, bl_tm: f64, sd_m2: f64, air: &Air) -> Result<f64> {
    let re = positive("re_ohm", re_ohm)?;
    let drive = positive("bl_tm", bl_tm)? * positive("sd_m2", sd_m2)? / positive("mms_kg", mms_kg)?;
    positive_result("eta0", air.rho_kg_m3() / (TAU * air.c_m_s()) * drive * drive / re)
}

/// Reference efficiency from a data sheet's set: η₀ = (4π²/c³)·fs³·Vas/Qes.
///
/// # Errors
/// `OutOfDomain` when an input is not positive and finite.
pub fn efficiency_from_set(fs_hz: f64, vas_m3: f64, qes: f64, air: &Air) -> Result<f64> {
    let ratio = positive("fs_hz", fs_hz)? / air.c_m_s();
    let vas = positive("vas_m3", vas_m3)?;
    positive_result("eta0", 4.0 * PI * PI * ratio.powi(3) * vas / positive("qes", qes)?)
}

/// Level at 1 m for 1 W into half space: 10·log₁₀(ρ₀c·η₀/(2π)/(20 µPa)²) dB.
///
/// In free space below the baffle step the level is up to 6 dB lower.
///
/// # Errors
/// `OutOfDomain` when η₀ is not positive and finite.
pub fn spl_1w_db(eta0: f64, air: &Air) -> Result<f64> {
    let p2 = air.impedance_pa_s_m() * positive("eta0", eta0)? / TAU;
    finite_result("spl_1w_db", 10.0 * (p2 / P_REF_SQUARED).log10())
}

/// Level at 1 m for 2.83 V: the level for 1 W plus 10·log₁₀(2.83²/Re) dB.
///
/// # Errors
/// `OutOfDomain` when the level is not finite or Re is not positive.
pub fn spl_2v83_db(spl_1w_db: f64, re_ohm: f64) -> Result<f64> {
    let watts = RATING_VOLTS * RATING_VOLTS / positive("re_ohm", re_ohm)?;
    finite_result("spl_2v83_db", spl_1w_db + 10.0 * watts.log10())
}
