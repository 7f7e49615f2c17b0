//! The driver as a lumped circuit: coil, motor, moving mass, and the air of its box as their load.
//!
//! Time runs as e^{+jωt}. Valid for small signals, below cone breakup and, with a box, below about
//! 300 Hz, where all dimensions are short against the wavelength. Sources: R. H. Small,
//! "Vented-Box Loudspeaker Systems Part I", JAES 21(5), 1973 (from memory for equation numbers); the
//! lossy coil after W. M. Leach Jr., "Loudspeaker Voice-Coil Inductance Losses", JAES 50(6) 442-450,
//! 2002.

mod circuit;
mod response;
pub(crate) mod search;

pub use circuit::Circuit;
pub use response::{Drive, ExcursionLimit, Response};

use std::f64::consts::FRAC_PI_2;

use num_complex::Complex64;

use crate::air::Air;
use crate::driver::DriverParams;
use crate::error::{PhysicsError, Result, positive};

/// What the voice coil adds to its resistance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Coil {
    /// Nothing: a coil without inductance.
    Ideal,
    /// An ideal inductance, H.
    Inductance {
        /// Its value, H.
        le_h: f64,
    },
    /// The lossy coil K·(jω)ⁿ of a motor with eddy currents.
    Lossy {
        /// K, ohm·sⁿ.
        k: f64,
        /// Exponent, 0.5 (eddy currents alone) to 1 (an ideal inductance).
        n: f64,
    },
}

impl Coil {
    /// Refuses values out of their domain.
    ///
    /// # Errors
    /// `OutOfDomain` naming `le_h`, `k` or `n`.
    pub fn check(&self) -> Result<()> {
        match *self {
            Coil::Ideal => Ok(()),
            Coil::Inductance { le_h } => positive("le_h", le_h).map(drop),
            Coil::Lossy { k, n } => {
                positive("k", k)?;
                if (0.5..=1.0).contains(&n) {
                    Ok(())
                } else {
                    Err(PhysicsError::out_of_domain("n", format!("{n} is not from 0.5 to 1")))
                }
            }
        }
    }

    /// Impedance at angular frequency `w_rad_s`, ohm.
    #[must_use]
    pub fn impedance(&self, w_rad_s: f64) -> Complex64 {
        match *self {
            Coil::Ideal => Complex64::ZERO,
            Coil::Inductance { le_h } => Complex64::new(0.0, w_rad_s * le_h),
            Coil::Lossy { k, n } => {
                let (sin, cos) = (n * FRAC_PI_2).sin_cos();
                k * w_rad_s.powf(n) * Complex64::new(cos, sin)
            }
        }
    }
}

/// The air behind the cone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Enclosure {
    /// None: the driver in free air or on an open baffle.
    Free,
    /// A closed box.
    Closed {
        /// Net volume, m³.
        vb_m3: f64,
        /// Leakage Q at the closed-box resonance; airtight when absent.
        ql: Option<f64>,
    },
    /// A vented box.
    Vented {
        /// Net volume, m³.
        vb_m3: f64,
        /// Tuning frequency, Hz.
        fb_hz: f64,
        /// Leakage Q at the tuning frequency; without leak when absent.
        ql: Option<f64>,
    },
}

impl Enclosure {
    /// Refuses values out of their domain.
    ///
    /// # Errors
    /// `OutOfDomain` naming `vb_m3`, `fb_hz` or `ql`.
    pub fn check(&self) -> Result<()> {
        let (vb, fb, ql) = match *self {
            Enclosure::Free => return Ok(()),
            Enclosure::Closed { vb_m3, ql } => (vb_m3, None, ql),
            Enclosure::Vented { vb_m3, fb_hz, ql } => (vb_m3, Some(fb_hz), ql),
        };
        positive("vb_m3", vb)?;
        if let Some(fb) = fb {
            positive("fb_hz", fb)?;
        }
        if let Some(ql) = ql {
            positive("ql", ql)?;
        }
        Ok(())
    }
}

/// A driver with its coil, in its box or in free air.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MountedDriver {
    /// Mechanics and motor; `le_h` in it is not read, [`MountedDriver::coil`] is.
    pub params: DriverParams,
    /// The coil beyond its resistance.
    pub coil: Coil,
    /// The air behind the cone.
    pub enclosure: Enclosure,
}

impl MountedDriver {
    /// Refuses values out of their domain.
    ///
    /// # Errors
    /// `OutOfDomain` naming the first field at fault.
    pub fn check(&self) -> Result<()> {
        self.params.check()?;
        self.coil.check()?;
        self.enclosure.check()
    }

    /// The circuit with all that does not depend on frequency worked out, for many frequencies. Call
    /// [`MountedDriver::check`] first; values out of their domain give no meaningful number.
    #[must_use]
    pub fn circuit(&self, air: &Air) -> Circuit {
        Circuit::new(self, air)
    }

    /// Resonance in the closed box, Hz; the free-air one without a box.
    #[must_use]
    pub fn fc_hz(&self, air: &Air) -> f64 {
        self.circuit(air).fc_hz()
    }

    /// Impedance at the terminals, ohm: Re + coil + BL²/(Zm + Sd²·Zab). Call [`MountedDriver::check`]
    /// first; values out of their domain give no meaningful number.
    #[must_use]
    pub fn impedance(&self, f_hz: f64, air: &Air) -> Complex64 {
        self.circuit(air).impedance(f_hz)
    }
}
