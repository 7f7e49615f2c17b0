//! Lining: how much sound a porous layer takes, and what that does to a standing wave.
//!
//! Sources: M. E. Delany and E. N. Bazley, Appl. Acoust. 3, 105-116, 1970; Y. Miki, J. Acoust. Soc.
//! Jpn (E) 11(1) 19-24, 1990, whose coefficients stand here.

use std::f64::consts::{PI, TAU};

use num_complex::Complex64;

use crate::air::Air;
use crate::error::{PhysicsError, Result, at_least_one, finite_result, positive, positive_result};

/// Absorption taken for a bare wall.
pub const BARE_WALL_ABSORPTION: f64 = 0.02;

/// A porous layer on a hard wall.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lining {
    /// Flow resistivity σ, Pa·s/m². Polyester wadding 3000 to 6000, mineral wool 5000 to 20000,
    /// open foam 5000 to 15000 (common practice, no source).
    pub sigma_pa_s_m2: f64,
    /// Thickness, m.
    pub thickness_m: f64,
}

/// Absorption at one frequency.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Absorption {
    /// Fraction of the incident energy that does not come back, 0 to 1, at normal incidence.
    pub alpha: f64,
    /// Whether f/σ lies in the range 0.01 to 1 that the model was fitted to.
    pub in_range: bool,
}

impl Lining {
    /// Absorption at normal incidence, with X = f/σ:
    /// Zc = ρ₀c(1 + 0.0699·X^−0.632 − j·0.107·X^−0.632),
    /// k = (ω/c)(1 + 0.109·X^−0.618 − j·0.160·X^−0.618),
    /// Zs = −j·Zc·cot(kd), R = (Zs − ρ₀c)/(Zs + ρ₀c), α = 1 − |R|².
    ///
    /// Outside 0.01 < X < 1 the value is computed and flagged.
    ///
    /// # Errors
    /// `OutOfDomain` when an input is not positive and finite.
    ///
    /// ```
    /// use physics::{air::AIR20, lining::Lining};
    /// let felt = Lining { sigma_pa_s_m2: 5000.0, thickness_m: 0.05 };
    /// assert!((felt.absorption(1000.0, &AIR20)?.alpha - 0.72230716).abs() < 1e-7);
    /// # Ok::<(), physics::PhysicsError>(())
    /// ```
    pub fn absorption(&self, f_hz: f64, air: &Air) -> Result<Absorption> {
        let f = positive("f_hz", f_hz)?;
        let d = positive("thickness_m", self.thickness_m)?;
        let x = positive_result("f/sigma", f / positive("sigma_pa_s_m2", self.sigma_pa_s_m2)?)?;
        let (zx, kx) = (x.powf(-0.632), x.powf(-0.618));
        let zc = Complex64::new(1.0 + 0.0699 * zx, -0.107 * zx);
        let kd = TAU * f / air.c_m_s() * d * Complex64::new(1.0 + 0.109 * kx, -0.160 * kx);
        // −j·cot(kd) = (1+q)/(1−q) with q = e^(−2j·kd), |q| < 1 because the wave decays: no
        // overflow, and multiplying R through by (1−q) leaves nothing to divide by zero.
        let q = (Complex64::new(0.0, -2.0) * kd).exp();
        let (surface, air_side) = (zc * (1.0 + q), 1.0 - q);
        let reflection = (surface - air_side) / (surface + air_side);
        let alpha = finite_result("alpha", 1.0 - reflection.norm_sqr())?;
        Ok(Absorption {
            // Far outside the fitted range the model can leave 0 to 1 by a little; energy cannot.
            alpha: alpha.clamp(0.0, 1.0),
            in_range: x > 0.01 && x < 1.0,
        })
    }
}

/// Mean absorption of a wall covered over a fraction: coverage·α + (1 − coverage)·0.02, a simple
/// average over area (an editorial choice).
///
/// # Errors
/// `OutOfDomain` when a fraction is not from 0 to 1.
///
/// ```
/// let mean = physics::lining::mean_absorption(0.6, 0.35388345)?;
/// assert!((mean - 0.22033007).abs() < 1e-8);
/// # Ok::<(), physics::PhysicsError>(())
/// ```
pub fn mean_absorption(coverage: f64, alpha: f64) -> Result<f64> {
    let coverage = fraction("coverage", coverage)?;
    let alpha = fraction("alpha", alpha)?;
    Ok(coverage * alpha + (1.0 - coverage) * BARE_WALL_ABSORPTION)
}

/// Q of an axial standing wave of order n between end walls that absorb α₁ and α₂:
/// Q = π·n/(−ln √((1−α₁)(1−α₂))).
///
/// # Errors
/// `OutOfDomain` when the order is 0, an absorption is not in 0 ≤ α < 1, or both are 0.
pub fn axial_mode_q(order: u32, alpha_1: f64, alpha_2: f64) -> Result<f64> {
    let n = at_least_one("order", order)?;
    let mut decay = 0.0;
    for (field, alpha) in [("alpha_1", alpha_1), ("alpha_2", alpha_2)] {
        if !(0.0..1.0).contains(&alpha) {
            return Err(PhysicsError::out_of_domain(
                field,
                format!("{alpha} is not from 0 up to but not including 1"),
            ));
        }
        // ln_1p keeps a small absorption from vanishing in 1 − α.
        decay -= 0.5 * (-alpha).ln_1p();
    }
    if decay > 0.0 {
        positive_result("q", PI * n / decay)
    } else {
        Err(PhysicsError::out_of_domain("alpha_1", "both walls absorb nothing, so Q has no limit"))
    }
}

fn fraction(field: &str, value: f64) -> Result<f64> {
    if (0.0..=1.0).contains(&value) {
        Ok(value)
    } else {
        Err(PhysicsError::out_of_domain(field, format!("{value} is not from 0 to 1")))
    }
}
