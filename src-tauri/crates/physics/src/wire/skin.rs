//! Skin effect in a round conductor, and what a steel binding post costs.
//!
//! Valid for a straight round conductor far from its return. Source: the internal impedance of a
//! round wire, (z/2)·J₀(z)/J₁(z) of its direct-current resistance with z = (1 − j)·a/δ; S. Ramo, J.
//! Whinnery and T. Van Duzer, Fields and Waves in Communication Electronics (from memory).

use std::f64::consts::PI;

use num_complex::Complex64;

use super::{Conductor, diameter_m};
use crate::error::{PhysicsError, Result, at_least_one, finite_result, positive, positive_result};

/// Permeability of free space, H/m, 4π·10⁻⁷ to nine digits also after 2019.
const MU_0: f64 = 4e-7 * PI;
/// The continued fraction is summed up to this many skin depths in a radius.
const DEPTHS_MAX: f64 = 1e4;

/// Skin depth, m, in a material of resistivity ρ (ohm·m) and relative permeability µr at a frequency
/// (Hz): δ = √(ρ/(π·f·µ₀·µr)).
///
/// # Errors
/// `OutOfDomain` when an input is not positive and finite.
///
/// ```
/// let depth = physics::wire::skin_depth_m(0.017241e-6, 1.0, 20e3)?;
/// assert!((depth - 0.46729e-3).abs() < 1e-8);
/// # Ok::<(), physics::PhysicsError>(())
/// ```
pub fn skin_depth_m(resistivity_ohm_m: f64, mu_r: f64, f_hz: f64) -> Result<f64> {
    let permeability = MU_0 * positive("mu_r", mu_r)?;
    let rho = positive("resistivity_ohm_m", resistivity_ohm_m)?;
    positive_result("skin_depth_m", (rho / (PI * positive("f_hz", f_hz)? * permeability)).sqrt())
}

/// Resistance of a solid round wire (area in m²) at a frequency (Hz) over that at direct current, at
/// least 1. A stranded wire of the same area stays below it.
///
/// # Errors
/// `OutOfDomain` when an input is not positive and finite, or the radius is above 10,000 skin depths.
///
/// ```
/// use physics::wire::{Conductor, awg_area_m2, skin_effect_ratio};
/// let ratio = skin_effect_ratio(awg_area_m2(18)?, Conductor::Copper, 20e3)?;
/// assert!((ratio - 1.0292881).abs() < 1e-7);
/// # Ok::<(), physics::PhysicsError>(())
/// ```
pub fn skin_effect_ratio(area_m2: f64, conductor: Conductor, f_hz: f64) -> Result<f64> {
    let depth = skin_depth_m(conductor.resistivity_ohm_m(), 1.0, f_hz)?;
    Ok(internal_impedance_ratio(diameter_m(area_m2)? / 2.0, depth)?.re)
}

/// A solid round binding post.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Post {
    /// Diameter, m.
    pub diameter_m: f64,
    /// Length that carries the current, m.
    pub length_m: f64,
    /// Resistivity, ohm·m: about 1.4e-7 for mild steel, 6.2e-8 for brass of 28 % IACS (from memory).
    pub resistivity_ohm_m: f64,
    /// Relative permeability: 1 for brass; 200 is a usual assumption for mild steel at small signals
    /// (common practice, no source).
    pub mu_r: f64,
}

impl Post {
    /// Resistance at direct current, ohm: ρ·l/(π·d²/4).
    ///
    /// # Errors
    /// `OutOfDomain` when a member is not positive and finite.
    ///
    /// ```
    /// use physics::wire::Post;
    /// let brass = Post { diameter_m: 4e-3, length_m: 25e-3, resistivity_ohm_m: 0.017241e-6 / 0.28,
    ///     mu_r: 1.0 };
    /// assert!((brass.resistance_ohm()? - 0.1225e-3).abs() < 1e-7);
    /// # Ok::<(), physics::PhysicsError>(())
    /// ```
    pub fn resistance_ohm(&self) -> Result<f64> {
        let d = positive("diameter_m", self.diameter_m)?;
        let rho = positive("resistivity_ohm_m", self.resistivity_ohm_m)?;
        let length = positive("length_m", self.length_m)?;
        positive_result("resistance_ohm", 4.0 * rho * length / (PI * d * d))
    }

    /// Impedance at a frequency (Hz), ohm, with the inductance inside the metal. The non-linearity
    /// of iron is left out.
    ///
    /// # Errors
    /// `OutOfDomain` when a value is not positive and finite, or the radius is above 10,000 skin
    /// depths.
    ///
    /// ```
    /// use physics::wire::Post;
    /// let steel = Post { diameter_m: 4e-3, length_m: 25e-3, resistivity_ohm_m: 1.4e-7, mu_r: 200.0 };
    /// let z = steel.impedance(20e3)?;
    /// assert!((z.re - 3.029e-3).abs() < 1e-6 && (z.im - 2.957e-3).abs() < 1e-6);
    /// # Ok::<(), physics::PhysicsError>(())
    /// ```
    pub fn impedance(&self, f_hz: f64) -> Result<Complex64> {
        let direct = self.resistance_ohm()?;
        let depth = skin_depth_m(self.resistivity_ohm_m, self.mu_r, f_hz)?;
        let impedance = direct * internal_impedance_ratio(self.diameter_m / 2.0, depth)?;
        finite_result("impedance", impedance.norm())?;
        Ok(impedance)
    }

    /// Level lost in `count` such posts in series with a resistive load (ohm) at a frequency (Hz),
    /// dB, positive: 20·log₁₀ |1 + N·Z/R|.
    ///
    /// # Errors
    /// As [`Post::impedance`]; `OutOfDomain` also when the load is not positive or the count is 0.
    ///
    /// ```
    /// use physics::wire::Post;
    /// let steel = Post { diameter_m: 4e-3, length_m: 25e-3, resistivity_ohm_m: 1.4e-7, mu_r: 200.0 };
    /// assert!((steel.loss_db(2, 8.0, 20e3)? - 0.0065770).abs() < 1e-7);
    /// # Ok::<(), physics::PhysicsError>(())
    /// ```
    pub fn loss_db(&self, count: u32, load_ohm: f64, f_hz: f64) -> Result<f64> {
        let series = at_least_one("count", count)? * self.impedance(f_hz)?;
        let share = series / positive("load_ohm", load_ohm)?;
        // |1 + s|² = 1 + 2·Re s + |s|², and ln_1p keeps the loss of a few milliohms exact.
        let growth = 2.0 * share.re + share.norm_sqr();
        finite_result("loss_db", 10.0 * growth.ln_1p() / std::f64::consts::LN_10)
    }
}

/// (z/2)·J₀(z)/J₁(z) with z = (1 − j)·a/δ, as the continued fraction 1 + t/(2 + t/(3 + …)) with
/// t = −z²/4 = j·(a/δ)²/2. Every partial sum has a positive real part, so nothing cancels.
fn internal_impedance_ratio(radius_m: f64, depth_m: f64) -> Result<Complex64> {
    let depths = radius_m / depth_m;
    if depths > DEPTHS_MAX {
        return Err(PhysicsError::out_of_domain(
            "f_hz",
            format!("the radius is {depths} skin depths; at most {DEPTHS_MAX} are computed"),
        ));
    }
    let t = Complex64::new(0.0, depths * depths / 2.0);
    // Beyond |z| terms the fraction converges as fast as the series of a Bessel function.
    let mut k = (40.0 + 3.0 * depths).floor();
    let mut ratio = Complex64::from(k);
    while k > 1.0 {
        k -= 1.0;
        ratio = k + t / ratio;
    }
    Ok(ratio)
}
