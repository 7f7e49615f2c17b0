//! Panel bending modes of a cabinet wall, plain or held by ideal braces.
//!
//! Kirchhoff's thin plate, uniform and isotropic, on its clear inside span; driver cut-outs, mitres
//! and veneer are left out. A glued wall lies between hinged and clamped edges, so both are given,
//! with their geometric mean as the estimate (an editorial choice). An assumed modulus (±15 %) and
//! density (±5 %) leave about 8 % in a frequency. A tap test overrides all of it.
//!
//! Sources: A. W. Leissa, Vibration of Plates, NASA SP-160, 1969, and "The Free Vibration of
//! Rectangular Plates", JSV 31(3) 257-293, 1973; G. B. Warburton, Proc. IMechE 168, 371-384, 1954
//! (from memory), whose closed form for clamped edges is 0.2 to 0.5 % high.

use std::f64::consts::{PI, TAU};

use crate::air::Air;
use crate::error::{PhysicsError, Result, at_least_one, positive, positive_result};

/// A rectangular wall.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Panel {
    /// Clear span along the first side, m.
    pub a_m: f64,
    /// Clear span along the second side, m.
    pub b_m: f64,
    /// Thickness, m.
    pub h_m: f64,
    /// Modulus of elasticity in bending, Pa.
    pub e_pa: f64,
    /// Density, kg/m³.
    pub rho_kg_m3: f64,
    /// Poisson's ratio, 0 up to but not including 0.5.
    pub nu: f64,
}

/// The lowest modes of a wall.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PanelModes {
    /// Bending stiffness D = E·h³/(12(1−ν²)), N·m.
    pub d_nm: f64,
    /// Lowest mode with hinged edges, Hz.
    pub f_hinged_hz: f64,
    /// Lowest mode with clamped edges, Hz.
    pub f_clamped_hz: f64,
    /// The estimate √(hinged·clamped), Hz.
    pub f_est_hz: f64,
    /// Coincidence frequency c²/(2π)·√(ρh/D), Hz, above which the wall radiates well.
    pub f_coincidence_hz: f64,
    /// The wall is thicker than a tenth of its shorter span: the thin-plate figures are too high.
    pub thick: bool,
}

/// The lowest modes of a wall held along lines.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BracedPanel {
    /// Modes of the sub-panel that governs: the one with the lowest estimate.
    pub modes: PanelModes,
    /// Span of that sub-panel along the first side, m.
    pub span_m: f64,
    /// Its other span, m: the second side of the wall.
    pub b_m: f64,
}

impl Panel {
    /// The lowest hinged and clamped modes, their estimate, and coincidence.
    ///
    /// # Errors
    /// `OutOfDomain` when a value is not positive and finite or ν is not in 0 ≤ ν < 0.5.
    ///
    /// ```
    /// use physics::{air::AIR20, panel::Panel};
    /// let mdf = Panel { a_m: 0.3, b_m: 0.2, h_m: 0.012, e_pa: 3.0e9, rho_kg_m3: 740.0, nu: 0.25 };
    /// assert!((mdf.modes(&AIR20)?.f_hinged_hz - 408.6114).abs() < 1e-4);
    /// # Ok::<(), physics::PhysicsError>(())
    /// ```
    pub fn modes(&self, air: &Air) -> Result<PanelModes> {
        let f_hinged_hz = self.hinged_mode_hz(1, 1)?;
        let f_clamped_hz = self.clamped_mode_hz(1, 1)?;
        let c = air.c_m_s();
        Ok(PanelModes {
            d_nm: self.stiffness_nm()?,
            f_hinged_hz,
            f_clamped_hz,
            f_est_hz: positive_result("f_est_hz", f_hinged_hz.sqrt() * f_clamped_hz.sqrt())?,
            f_coincidence_hz: positive_result(
                "f_coincidence_hz",
                c * c / (TAU * self.wave_speed_m2_s()?),
            )?,
            thick: self.h_m * 10.0 >= self.a_m.min(self.b_m),
        })
    }

    /// Mode (m, n) with hinged edges, Hz: λ = π²(m² + n²(a/b)²), exact for a thin plate.
    ///
    /// # Errors
    /// As [`Panel::modes`]; also when m or n is 0.
    pub fn hinged_mode_hz(&self, m: u32, n: u32) -> Result<f64> {
        let (m, n) = (at_least_one("m", m)?, at_least_one("n", n)?);
        self.frequency_hz("f_hinged_hz", m * m, n * n, 2.0 * m * m * n * n)
    }

    /// Mode (m, n) with clamped edges, Hz, by Warburton's closed form:
    /// λ = π²·√(Gx⁴ + Gy⁴r⁴ + 2r²(ν·Hx·Hy + (1−ν)·Jx·Jy)), r = a/b, H = J for clamped edges.
    ///
    /// # Errors
    /// As [`Panel::modes`]; also when m or n is 0.
    pub fn clamped_mode_hz(&self, m: u32, n: u32) -> Result<f64> {
        let (gx, hx) = clamped_beam(m, "m")?;
        let (gy, hy) = clamped_beam(n, "n")?;
        self.frequency_hz("f_clamped_hz", gx * gx, gy * gy, 2.0 * hx * hy)
    }

    /// Bending stiffness D = E·h³/(12(1−ν²)), N·m.
    ///
    /// # Errors
    /// As [`Panel::modes`].
    pub fn stiffness_nm(&self) -> Result<f64> {
        let h = positive("h_m", self.h_m)?;
        let e = positive("e_pa", self.e_pa)?;
        if !(0.0..0.5).contains(&self.nu) {
            return Err(PhysicsError::out_of_domain(
                "nu",
                format!("{} is not from 0 up to but not including 0.5", self.nu),
            ));
        }
        positive_result("d_nm", e * h.powi(3) / (12.0 * (1.0 - self.nu * self.nu)))
    }

    /// The lowest modes when the wall is held along lines parallel to side b, at the places
    /// `braces_m` along side a. Each part between lines is a wall of its own with all four edges
    /// hinged or clamped; the part with the lowest estimate governs. The order of the places does
    /// not matter, and without any the whole wall is the part.
    ///
    /// # Errors
    /// As [`Panel::modes`]; also when a place is not inside the wall or is given twice.
    pub fn braced(&self, braces_m: &[f64], air: &Air) -> Result<BracedPanel> {
        let a = positive("a_m", self.a_m)?;
        let mut lines: Vec<(usize, f64)> = braces_m.iter().copied().enumerate().collect();
        lines.sort_by(|one, other| one.1.total_cmp(&other.1));
        let mut start = 0.0;
        for &(place, line) in &lines {
            if !line.is_finite() || line <= start || line >= a {
                return Err(PhysicsError::out_of_domain(
                    format!("braces_m[{place}]"),
                    format!("{line} m is not a place of its own inside a side of {a} m"),
                ));
            }
            start = line;
        }
        let mut governing: Option<BracedPanel> = None;
        let mut start = 0.0;
        for line in lines.into_iter().map(|it| it.1).chain([a]) {
            let span_m = line - start;
            let modes = Self { a_m: span_m, ..*self }.modes(air)?;
            if governing.is_none_or(|lowest| modes.f_est_hz < lowest.modes.f_est_hz) {
                governing = Some(BracedPanel { modes, span_m, b_m: self.b_m });
            }
            start = line;
        }
        governing.ok_or_else(|| PhysicsError::not_applicable("a wall has at least one part"))
    }

    /// √(D/(ρh)) in m²/s.
    fn wave_speed_m2_s(&self) -> Result<f64> {
        let surface_density = positive("rho_kg_m3", self.rho_kg_m3)? * positive("h_m", self.h_m)?;
        positive_result("d_nm", (self.stiffness_nm()? / surface_density).sqrt())
    }

    /// f = λ/(2πa²)·√(D/(ρh)) with λ = π²√(gx² + gy²·r⁴ + cross·r²), written in 1/a² and 1/b² so
    /// that both sides stand alike. `name` is what a refusal calls it.
    fn frequency_hz(&self, name: &str, gx2: f64, gy2: f64, cross: f64) -> Result<f64> {
        let inv_a2 = positive("a_m", self.a_m)?.powi(-2);
        let inv_b2 = positive("b_m", self.b_m)?.powi(-2);
        let shape = (gx2 * inv_a2).powi(2) + (gy2 * inv_b2).powi(2) + cross * inv_a2 * inv_b2;
        positive_result(name, PI / 2.0 * shape.sqrt() * self.wave_speed_m2_s()?)
    }
}

/// Warburton's G and H of a clamped beam in mode m.
fn clamped_beam(m: u32, name: &str) -> Result<(f64, f64)> {
    let m_real = at_least_one(name, m)?;
    if m == 1 {
        return Ok((1.506, 1.248));
    }
    let g = m_real + 0.5;
    Ok((g, g * g * (1.0 - 2.0 / (g * PI))))
}
