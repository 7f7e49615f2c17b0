//! A wall with one rib of finite stiffness.
//!
//! An ideal brace holds its line ([`Panel::braced`]); a real one bends with the wall and adds mass.
//! A rib that connects opposite walls holds them only where they move apart together; treat it as
//! an ideal line on both (common practice, no source).

use std::f64::consts::{PI, TAU};

use crate::error::{PhysicsError, Result, finite, positive, positive_result};
use crate::panel::Panel;

/// A rib across a wall, parallel to its second side and as long as that.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rib {
    /// Its place along the first side of the wall, m.
    pub x0_m: f64,
    /// Bending stiffness E·I, N·m².
    pub ei_nm2: f64,
    /// Mass a length, kg/m.
    pub mass_per_m_kg: f64,
}

/// A strip of material that stands on its edge as a rib.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Strip {
    /// Thickness along the wall, m.
    pub t_m: f64,
    /// Height away from the wall, m.
    pub height_m: f64,
    /// Modulus of elasticity in bending, Pa.
    pub e_pa: f64,
    /// Density, kg/m³.
    pub rho_kg_m3: f64,
}

impl Strip {
    /// The rib of a strip that fits loosely and bends about its own axis: I = t·h³/12.
    ///
    /// # Errors
    /// `OutOfDomain` when a value is not positive and finite.
    pub fn loose(&self, x0_m: f64) -> Result<Rib> {
        self.rib(x0_m, 0.0)
    }

    /// The rib of a strip glued to a wall of thickness `wall_h_m`, which bends about the middle of the
    /// wall at most: I = t·h³/12 + t·h·((h + wall)/2)². The truth lies between this and
    /// [`Strip::loose`].
    ///
    /// # Errors
    /// `OutOfDomain` when a value is not positive and finite.
    pub fn glued(&self, x0_m: f64, wall_h_m: f64) -> Result<Rib> {
        let arm = (positive("height_m", self.height_m)? + positive("wall_h_m", wall_h_m)?) / 2.0;
        self.rib(x0_m, arm)
    }

    fn rib(&self, x0_m: f64, arm_m: f64) -> Result<Rib> {
        let area = positive("t_m", self.t_m)? * positive("height_m", self.height_m)?;
        let inertia = area * (self.height_m * self.height_m / 12.0 + arm_m * arm_m);
        Ok(Rib {
            x0_m: finite("x0_m", x0_m)?,
            ei_nm2: positive_result("ei_nm2", positive("e_pa", self.e_pa)? * inertia)?,
            mass_per_m_kg: positive_result(
                "mass_per_m_kg",
                positive("rho_kg_m3", self.rho_kg_m3)? * area,
            )?,
        })
    }
}

/// Lowest mode of a hinged wall with one rib, Hz: the lower of [`one_term_hz`] and the lowest hinged
/// mode of the parts that an ideal brace at the same place would leave. The second holds because a
/// rib can do no more than hold its line, however stiff it is.
///
/// # Errors
/// `OutOfDomain` when a value of wall or rib is not positive and finite, ν is not in 0 ≤ ν < 0.5, or
/// the rib does not stand inside the wall.
///
/// ```
/// use physics::{brace::{Strip, ribbed_f1_hz}, panel::Panel};
/// let side = Panel { a_m: 0.9, b_m: 0.25, h_m: 0.015, e_pa: 3.0e9, rho_kg_m3: 740.0, nu: 0.25 };
/// let strip = Strip { t_m: 0.015, height_m: 0.04, e_pa: 3.0e9, rho_kg_m3: 740.0 };
/// assert!((ribbed_f1_hz(&side, &strip.loose(0.45)?)? - 287.13251).abs() < 1e-4);
/// # Ok::<(), physics::PhysicsError>(())
/// ```
pub fn ribbed_f1_hz(panel: &Panel, rib: &Rib) -> Result<f64> {
    let one_term = one_term_hz(panel, rib)?;
    // Parts of one wall differ in their first span alone, and the longest has the lowest mode.
    let longest = rib.x0_m.max(panel.a_m - rib.x0_m);
    Ok(one_term.min(Panel { a_m: longest, ..*panel }.hinged_mode_hz(1, 1)?))
}

/// Rayleigh's quotient with one half wave along each side, Hz: ω² = (Kp + Kb)/(Mp + Mb), with
/// Kp = D·π⁴(1/a² + 1/b²)²·ab/4, Mp = ρh·ab/4, Kb = EI·(π/b)⁴·(b/2)·sin²(πx₀/a) and
/// Mb = μ·(b/2)·sin²(πx₀/a).
///
/// An upper bound of the lowest mode with hinged edges, far too high for a stiff rib: the wall then
/// bends on both sides of it. Source: J. W. S. Rayleigh, The Theory of Sound, vol. 1, §88 (from
/// memory for the section).
///
/// # Errors
/// As [`ribbed_f1_hz`].
pub fn one_term_hz(panel: &Panel, rib: &Rib) -> Result<f64> {
    let plain_w = TAU * panel.hinged_mode_hz(1, 1)?;
    let (a, b) = (panel.a_m, panel.b_m);
    let x0 = finite("x0_m", rib.x0_m)?;
    if !(x0 > 0.0 && x0 < a) {
        return Err(PhysicsError::out_of_domain(
            "x0_m",
            format!("{x0} m is not a place inside a side of {a} m"),
        ));
    }
    let share = b / 2.0 * (PI * x0 / a).sin().powi(2);
    let panel_mass = panel.rho_kg_m3 * panel.h_m * a * b / 4.0;
    // Kp = Mp·ω₀², ω₀ the mode without a rib.
    let panel_stiffness = panel_mass * plain_w * plain_w;
    let stiffness = panel_stiffness + positive("ei_nm2", rib.ei_nm2)? * (PI / b).powi(4) * share;
    let mass = panel_mass + positive("mass_per_m_kg", rib.mass_per_m_kg)? * share;
    positive_result("ribbed mode", (stiffness / mass).sqrt() / TAU)
}
