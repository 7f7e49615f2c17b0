//! Closed box: the second-order response of a driver in an airtight enclosure.
//!
//! Assumes small signals, no leak, and a coil inductance that does not matter at resonance. Fibre
//! filling raises the effective volume by roughly 5 to 20 % (common practice, no source); the
//! isothermal limit is 40 %. Source: R. H. Small, "Closed-Box Loudspeaker Systems Part I", JAES
//! 20(10), December 1972 (pages from memory).

use std::f64::consts::FRAC_1_SQRT_2;

use crate::driver::{q_electrical_with_series, q_total};
use crate::error::{Result, finite_result, non_negative, positive, positive_result};

/// The response peak of a box whose Qtc is above 1/√2.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Peak {
    /// Height above the passband, dB.
    pub level_db: f64,
    /// Where it stands, Hz.
    pub f_hz: f64,
}

/// A driver in a closed box.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ClosedBox {
    /// Compliance ratio Vas/Vb.
    pub alpha: f64,
    /// Resonance in the box, Hz.
    pub fc_hz: f64,
    /// Total Q in the box.
    pub qtc: f64,
    /// Frequency at half power (10·log₁₀ 2 dB down), Hz.
    pub f3_hz: f64,
    /// The peak, when Qtc is above 1/√2.
    pub peak: Option<Peak>,
}

impl ClosedBox {
    /// α = Vas/Vb; fc = fs·√(1+α); Qtc = Qts·√(1+α); f₃ = fc·√((k+√(k²+4))/2) with k = 1/Qtc² − 2;
    /// for Qtc > 1/√2 a peak of 20·log₁₀(Qtc²/√(Qtc²−¼)) dB at fc/√(1−1/(2Qtc²)).
    ///
    /// Frequencies in Hz, volumes in m³; `vb_m3` is the net volume.
    ///
    /// # Errors
    /// `OutOfDomain` when an input is not positive and finite.
    ///
    /// ```
    /// use physics::box_closed::ClosedBox;
    /// let boxed = ClosedBox::new(42.6641327, 0.507902315, 0.0245838786, 0.012)?;
    /// assert!((boxed.fc_hz - 74.4932929).abs() < 1e-5);
    /// # Ok::<(), physics::PhysicsError>(())
    /// ```
    pub fn new(fs_hz: f64, qts: f64, vas_m3: f64, vb_m3: f64) -> Result<Self> {
        let fs = positive("fs_hz", fs_hz)?;
        let qts = positive("qts", qts)?;
        let alpha =
            positive_result("alpha", positive("vas_m3", vas_m3)? / positive("vb_m3", vb_m3)?)?;
        let raise = (1.0 + alpha).sqrt();
        let fc_hz = positive_result("fc_hz", fs * raise)?;
        let qtc = positive_result("qtc", qts * raise)?;
        let k = 1.0 / (qtc * qtc) - 2.0;
        // hypot keeps k² from overflowing; for k < 0 the conjugate form avoids cancellation.
        let root = k.hypot(2.0);
        let squared = if k < 0.0 { 2.0 / (root - k) } else { (k + root) / 2.0 };
        let peak = if qtc > FRAC_1_SQRT_2 {
            let q2 = qtc * qtc;
            Some(Peak {
                level_db: finite_result("peak_db", 20.0 * (q2 / (q2 - 0.25).sqrt()).log10())?,
                f_hz: positive_result("f_peak_hz", fc_hz / (1.0 - 0.5 / q2).sqrt())?,
            })
        } else {
            None
        };
        Ok(Self {
            alpha,
            fc_hz,
            qtc,
            f3_hz: positive_result("f3_hz", fc_hz * squared.sqrt())?,
            peak,
        })
    }

    /// The same with a resistance `rg_ohm` in series with the driver (crossover coil, wire,
    /// amplifier), which raises Qes to Qes·(Re+Rg)/Re. The level falls by [`series_loss_db`].
    ///
    /// # Errors
    /// `OutOfDomain` when an input is not positive and finite (`rg_ohm` may be 0).
    pub fn with_series_resistance(driver: &BoxDriver, vb_m3: f64, rg_ohm: f64) -> Result<Self> {
        Self::new(driver.fs_hz, driver.qts_with_series(rg_ohm)?, driver.vas_m3, vb_m3)
    }

    /// Gain at `f_hz` against the passband, dB: |G|² = x⁴/((x²−1)² + x²/Qtc²), x = f/fc.
    ///
    /// # Errors
    /// `OutOfDomain` when `f_hz` is not positive and finite.
    pub fn gain_db(&self, f_hz: f64) -> Result<f64> {
        // In y = 1/x² nothing overflows at high frequencies.
        let y = (self.fc_hz / positive("f_hz", f_hz)?).powi(2);
        let denominator = (1.0 - y).powi(2) + y / (self.qtc * self.qtc);
        finite_result("gain_db", -10.0 * denominator.log10())
    }
}

/// What a box calculation needs of a driver when a series resistance is in play.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BoxDriver {
    /// Resonance in free air, Hz.
    pub fs_hz: f64,
    /// Mechanical Q.
    pub qms: f64,
    /// Electrical Q of the driver alone.
    pub qes: f64,
    /// Voice-coil resistance, ohm.
    pub re_ohm: f64,
    /// Equivalent volume, m³.
    pub vas_m3: f64,
}

impl BoxDriver {
    /// Total Q with `rg_ohm` in series.
    ///
    /// # Errors
    /// `OutOfDomain` when an input is not positive and finite (`rg_ohm` may be 0).
    pub fn qts_with_series(&self, rg_ohm: f64) -> Result<f64> {
        q_total(self.qms, q_electrical_with_series(self.qes, self.re_ohm, rg_ohm)?)
    }
}

/// Level lost in a series resistance at high frequencies: 20·log₁₀((Re+Rg)/Re) dB, positive.
///
/// # Errors
/// `OutOfDomain` when Re is not positive or Rg is negative.
///
/// ```
/// assert!((physics::box_closed::series_loss_db(5.6, 0.4)? - 0.5993).abs() < 1e-4);
/// # Ok::<(), physics::PhysicsError>(())
/// ```
pub fn series_loss_db(re_ohm: f64, rg_ohm: f64) -> Result<f64> {
    let ratio = non_negative("rg_ohm", rg_ohm)? / positive("re_ohm", re_ohm)?;
    finite_result("series_loss_db", 20.0 * (1.0 + ratio).log10())
}
