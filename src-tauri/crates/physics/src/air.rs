//! Air: density and speed of sound, and what follows from them.

use crate::error::{Result, positive, positive_result};

/// Specific gas constant of dry air in J/(kg·K).
const R_DRY_AIR: f64 = 287.058;
/// 20 °C in K.
const T20_K: f64 = 293.15;
/// Speed of sound at 20 °C in m/s.
const C20_M_S: f64 = 343.2;

/// Density and speed of sound of the air the loudspeaker works in.
///
/// Results printed for other constants (1.18 kg/m³ and 345 m/s in the classic papers, from memory)
/// differ by about 1 % in Vas, so a report states the constants it used.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Air {
    rho_kg_m3: f64,
    c_m_s: f64,
}

/// Air at 20 °C and 101325 Pa: 1.204 kg/m³, 343.2 m/s.
pub const AIR20: Air = Air { rho_kg_m3: 1.204, c_m_s: C20_M_S };

impl Default for Air {
    fn default() -> Self {
        AIR20
    }
}

impl Air {
    /// Air of a stated density (kg/m³) and speed of sound (m/s).
    ///
    /// # Errors
    /// `OutOfDomain` when a value is not positive and finite, or so extreme that their products are
    /// not.
    pub fn new(rho_kg_m3: f64, c_m_s: f64) -> Result<Self> {
        let air =
            Self { rho_kg_m3: positive("rho_kg_m3", rho_kg_m3)?, c_m_s: positive("c_m_s", c_m_s)? };
        positive_result("bulk_modulus_pa", air.bulk_modulus_pa())?;
        Ok(air)
    }

    /// Dry air at a temperature in °C and a pressure in Pa:
    /// c = 343.2·√(T/293.15), ρ₀ = p/(287.058·T), T in kelvin.
    ///
    /// Source: ISO 9613-1:1993 for c (from memory); the ideal gas law for ρ₀.
    ///
    /// # Errors
    /// `OutOfDomain` at or below absolute zero, or when the pressure is not positive.
    ///
    /// ```
    /// let air = physics::Air::at(25.0, 101_325.0)?;
    /// assert!((air.c_m_s() - 346.11445).abs() < 1e-5);
    /// # Ok::<(), physics::PhysicsError>(())
    /// ```
    pub fn at(temperature_c: f64, pressure_pa: f64) -> Result<Self> {
        let kelvin = positive("temperature_c above absolute zero", temperature_c + 273.15)?;
        let pressure = positive("pressure_pa", pressure_pa)?;
        Self::new(pressure / (R_DRY_AIR * kelvin), C20_M_S * (kelvin / T20_K).sqrt())
    }

    /// Density ρ₀ in kg/m³.
    #[must_use]
    pub const fn rho_kg_m3(&self) -> f64 {
        self.rho_kg_m3
    }

    /// Speed of sound c in m/s.
    #[must_use]
    pub const fn c_m_s(&self) -> f64 {
        self.c_m_s
    }

    /// ρ₀c² in Pa: the stiffness of an enclosed volume is this over the volume.
    #[must_use]
    pub fn bulk_modulus_pa(&self) -> f64 {
        self.rho_kg_m3 * self.c_m_s * self.c_m_s
    }

    /// Characteristic impedance ρ₀c in Pa·s/m.
    #[must_use]
    pub fn impedance_pa_s_m(&self) -> f64 {
        self.rho_kg_m3 * self.c_m_s
    }
}
