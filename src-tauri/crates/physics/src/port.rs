//! Port tuning: from the port's shape to fB, and back to its length or the box volume.
//!
//! fB = (c/2π)·√(N·Sp/(Vb·Leff)) with Leff = L + the end corrections. Valid where Leff is short
//! against a quarter wavelength of fB; mutual coupling of several ports is ignored (close ports
//! tune a few per cent lower), and a slot against a wall is effectively longer. A measured fB
//! always wins.
//!
//! Sources: H. Levine and J. Schwinger, "On the Radiation of Sound from an Unflanged Circular
//! Pipe", Phys. Rev. 73(4) 383-406, 1948, for the free end, 0.6133 radii; A. N. Norris and I. C.
//! Sheng, JSV 135, 1989, and Y. Nomura et al., 1960, for the flanged end, 0.8216 radii (both from
//! memory); L. Kinsler and A. Frey, Fundamentals of Acoustics, on the Helmholtz resonator (from
//! memory).

use std::f64::consts::{PI, TAU};

use crate::air::Air;
use crate::error::{PhysicsError, Result, at_least_one, non_negative, positive, positive_result};

/// Where a port's end opens.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum PortEnd {
    /// Into a wall wide against the port, such as the baffle.
    Flanged,
    /// A tube's end in free air, such as inside the box.
    Free,
}

impl PortEnd {
    /// End correction in radii of the mouth: 0.8216 flanged, 0.6133 free.
    #[must_use]
    pub const fn correction_radii(self) -> f64 {
        match self {
            Self::Flanged => 0.8216,
            Self::Free => 0.6133,
        }
    }
}

/// One or more equal round ports.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Port {
    /// How many equal ports the box has.
    pub count: u32,
    /// Radius of the straight part, m. For another shape use [`equivalent_radius_m`].
    pub radius_m: f64,
    /// How the two ends open.
    pub ends: [PortEnd; 2],
    /// Radius of the rounding at each end, m; 0 for a plain end.
    pub flares_m: [f64; 2],
}

/// What a port of known length does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PortTuning {
    /// Tuning frequency of the box, Hz.
    pub fb_hz: f64,
    /// Effective length with flares and end corrections, m.
    pub l_eff_m: f64,
    /// First resonance of the pipe itself, c/(2·Leff), Hz: a leak of midband sound.
    pub f_pipe_hz: f64,
    /// Whether Leff is under c/(8·fB), so that the port acts as a mass.
    pub acts_as_mass: bool,
}

impl Port {
    /// A plain tube with its outer end in the baffle and its inner end free.
    #[must_use]
    pub const fn plain(radius_m: f64) -> Self {
        Self { count: 1, radius_m, ends: [PortEnd::Flanged, PortEnd::Free], flares_m: [0.0, 0.0] }
    }

    /// What both ends add to the straight length, m: the mass of each flare and, referred to the
    /// throat, the end correction of its mouth, k·r₀²/(r₀+R).
    ///
    /// # Errors
    /// `OutOfDomain` when the radius is not positive or a flare is negative.
    pub fn added_length_m(&self) -> Result<f64> {
        let r0 = positive("radius_m", self.radius_m)?;
        let mut added = 0.0;
        for (end, flare) in self.ends.iter().zip(self.flares_m) {
            let fillet = non_negative("flares_m", flare)?;
            added += flare_length_m(r0, fillet)?;
            added += end.correction_radii() * r0 / (1.0 + fillet / r0);
        }
        positive_result("added_length_m", added)
    }

    /// Tuning of a box of `vb_m3` by ports whose straight part is `length_m`.
    ///
    /// # Errors
    /// `OutOfDomain` when the volume or radius is not positive, or the length is negative.
    ///
    /// ```
    /// use physics::{air::AIR20, port::Port};
    /// let tuning = Port::plain(0.025).tuning(0.024, 0.150, &AIR20)?;
    /// assert!((tuning.fb_hz - 36.2384126).abs() < 1e-5);
    /// # Ok::<(), physics::PhysicsError>(())
    /// ```
    pub fn tuning(&self, vb_m3: f64, length_m: f64, air: &Air) -> Result<PortTuning> {
        let vb = positive("vb_m3", vb_m3)?;
        let l_eff_m = non_negative("length_m", length_m)? + self.added_length_m()?;
        let ratio = self.total_area_m2()? / (vb * l_eff_m);
        let fb_hz = positive_result("fb_hz", air.c_m_s() / TAU * ratio.sqrt())?;
        let f_pipe_hz = positive_result("f_pipe_hz", air.c_m_s() / (2.0 * l_eff_m))?;
        Ok(PortTuning { fb_hz, l_eff_m, f_pipe_hz, acts_as_mass: fb_hz < f_pipe_hz / 4.0 })
    }

    /// The straight length, m, that tunes `vb_m3` to `fb_hz`: N·Sp·c²/((2πfB)²·Vb) less what the
    /// ends add.
    ///
    /// # Errors
    /// `OutOfDomain` when an input is not positive, or when even a port without length tunes lower.
    pub fn length_for_m(&self, vb_m3: f64, fb_hz: f64, air: &Air) -> Result<f64> {
        let l_eff = self.mass_term(fb_hz, air)? / positive("vb_m3", vb_m3)?;
        let length = positive_result("l_eff_m", l_eff)? - self.added_length_m()?;
        if length > 0.0 {
            Ok(length)
        } else {
            Err(PhysicsError::out_of_domain(
                "length_m",
                "the box is too large or the port too small for this tuning",
            ))
        }
    }

    /// The net volume, m³, that a port of `length_m` tunes to `fb_hz`: N·Sp·c²/((2πfB)²·Leff).
    ///
    /// # Errors
    /// `OutOfDomain` when the frequency or radius is not positive, or the length is negative.
    pub fn volume_for_m3(&self, fb_hz: f64, length_m: f64, air: &Air) -> Result<f64> {
        let l_eff = non_negative("length_m", length_m)? + self.added_length_m()?;
        positive_result("vb_m3", self.mass_term(fb_hz, air)? / l_eff)
    }

    /// Area of all ports together, m².
    ///
    /// # Errors
    /// `OutOfDomain` when the count is 0 or the radius is not positive.
    pub fn total_area_m2(&self) -> Result<f64> {
        let count = at_least_one("count", self.count)?;
        positive_result("radius_m", count * PI * positive("radius_m", self.radius_m)?.powi(2))
    }

    /// N·Sp·c²/(2πfB)², the product of volume and effective length.
    fn mass_term(&self, fb_hz: f64, air: &Air) -> Result<f64> {
        let wavenumber = TAU * positive("fb_hz", fb_hz)? / air.c_m_s();
        positive_result("l_eff_m", self.total_area_m2()? / (wavenumber * wavenumber))
    }
}

/// Length of straight throat, m, that has the same acoustic mass as a flare of fillet radius R on a
/// throat of radius r₀: ∫₀ᴿ (r₀/r(x))² dx with r(x) = r₀ + R − √(R²−x²).
///
/// With x = R·sin θ and A = r₀ + R the integral is R·r₀²·∫ cos θ/(A − R·cos θ)² dθ from 0 to π/2.
/// That is R·r₀²·dJ/dR of J = ∫ dθ/(A − R·cos θ) = 2/√(A²−R²)·atan √((A+R)/(A−R)), taken at
/// constant A, so L = R·r₀²·(1/s + 2R·atan √((r₀+2R)/r₀)/s^(3/2)) with s = A² − R² = r₀(r₀+2R).
/// One-dimensional, good to a few per cent.
///
/// # Errors
/// `OutOfDomain` when the throat is not positive or the fillet is negative.
///
/// ```
/// let length = physics::port::flare_length_m(0.025, 0.0125)?;
/// assert!((length - 0.0104719429).abs() < 1e-9);
/// # Ok::<(), physics::PhysicsError>(())
/// ```
pub fn flare_length_m(throat_radius_m: f64, fillet_radius_m: f64) -> Result<f64> {
    let r0 = positive("radius_m", throat_radius_m)?;
    // In units of the throat the powers stay in range.
    let fillet = non_negative("flares_m", fillet_radius_m)? / r0;
    let s = 1.0 + 2.0 * fillet;
    let length = fillet * (1.0 / s + 2.0 * fillet * s.sqrt().atan() / (s * s.sqrt()));
    non_negative("flare_length_m", length * r0)
}

/// Radius, m, of the round port with the area of another shape: √(S/π).
///
/// # Errors
/// `OutOfDomain` when the area is not positive and finite.
pub fn equivalent_radius_m(area_m2: f64) -> Result<f64> {
    positive_result("radius_m", (positive("area_m2", area_m2)? / PI).sqrt())
}
