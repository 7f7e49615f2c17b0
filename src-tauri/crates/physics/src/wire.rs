//! Wire: gauge, resistance and what a length of it costs in level.
//!
//! Resistance is ρ·l/A at direct current; lay and skin effect are left out (at 20 kHz the latter
//! adds 3 % to AWG 18, by [`skin_effect_ratio`]). IEC 60228:2004 gives limits for stranded
//! conductors, which include lay.

mod skin;

pub use skin::{Post, skin_depth_m, skin_effect_ratio};

use std::f64::consts::PI;

use crate::error::{
    PhysicsError, Result, finite, finite_result, non_negative, positive, positive_result,
};

/// Resistivity of annealed copper at 20 °C, ohm·m: the international standard, 1/58 rounded
/// (IEC 60028; NBS Handbook 100, number from memory).
const RHO_COPPER: f64 = 0.017241e-6;
/// Temperature coefficient at 20 °C, per kelvin, used for every material here.
const PER_KELVIN: f64 = 0.00393;
/// Thickest gauge, 4/0.
pub const AWG_MIN: i32 = -3;
/// Thinnest gauge.
pub const AWG_MAX: i32 = 56;

/// What the conductor is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Conductor {
    /// Annealed copper, 100 % IACS.
    Copper,
    /// Copper-clad aluminium of class 10A, 62.9 % IACS (ASTM B566).
    Cca10a,
    /// Copper-clad aluminium of class 15A, 64.4 % IACS (ASTM B566).
    Cca15a,
    /// Aluminium, 61 % IACS (from memory).
    Aluminium,
}

impl Conductor {
    /// Resistivity at 20 °C, ohm·m.
    ///
    /// ```
    /// let clad = physics::wire::Conductor::Cca10a.resistivity_ohm_m();
    /// assert!((clad - 0.02741e-6).abs() < 1e-11);
    /// ```
    #[must_use]
    pub fn resistivity_ohm_m(self) -> f64 {
        RHO_COPPER
            / match self {
                Self::Copper => 1.0,
                Self::Cca10a => 0.629,
                Self::Cca15a => 0.644,
                Self::Aluminium => 0.61,
            }
    }
}

/// Diameter of American wire gauge n, m: 0.127 mm·92^((36−n)/39), with 0, −1, −2, −3 for 1/0 to
/// 4/0.
///
/// Source: ASTM B258; NBS Handbook 100, 1966.
///
/// # Errors
/// `OutOfDomain` when n is not from [`AWG_MIN`] to [`AWG_MAX`].
///
/// ```
/// assert!((physics::wire::awg_diameter_m(18)? - 1.023687e-3).abs() < 1e-9);
/// # Ok::<(), physics::PhysicsError>(())
/// ```
pub fn awg_diameter_m(awg: i32) -> Result<f64> {
    i8::try_from(awg)
        .ok()
        .filter(|it| (AWG_MIN..=AWG_MAX).contains(&i32::from(*it)))
        .map(domain::unit::awg_diameter_m)
        .ok_or_else(|| {
            PhysicsError::out_of_domain(
                "awg",
                format!("{awg} is not a gauge from {AWG_MIN} (4/0) to {AWG_MAX}"),
            )
        })
}

/// Cross-section of American wire gauge n, m²: π·d²/4.
///
/// # Errors
/// As [`awg_diameter_m`].
///
/// ```
/// assert!((physics::wire::awg_area_m2(18)? - 0.8230468e-6).abs() < 1e-13);
/// # Ok::<(), physics::PhysicsError>(())
/// ```
pub fn awg_area_m2(awg: i32) -> Result<f64> {
    let d = awg_diameter_m(awg)?;
    Ok(PI * d * d / 4.0)
}

/// Diameter of the round wire with a cross-section, m.
///
/// # Errors
/// `OutOfDomain` when the area is not positive and finite.
///
/// ```
/// assert!((physics::wire::diameter_m(0.8230468e-6)? - 1.023687e-3).abs() < 1e-9);
/// # Ok::<(), physics::PhysicsError>(())
/// ```
pub fn diameter_m(area_m2: f64) -> Result<f64> {
    positive_result("diameter_m", (4.0 * positive("area_m2", area_m2)? / PI).sqrt())
}

/// Resistance of one conductor per metre, ohm/m: ρ/A·(1 + 0.00393(T − 20)).
///
/// # Errors
/// `OutOfDomain` when the area is not positive, or at a temperature (below −234 °C) where the
/// linear coefficient leaves nothing.
///
/// ```
/// use physics::wire::{Conductor, resistance_per_m};
/// // One square millimetre of copper at 20 °C.
/// assert!((resistance_per_m(1e-6, Conductor::Copper, 20.0)? - 0.017241).abs() < 1e-12);
/// # Ok::<(), physics::PhysicsError>(())
/// ```
pub fn resistance_per_m(area_m2: f64, conductor: Conductor, temperature_c: f64) -> Result<f64> {
    let area = positive("area_m2", area_m2)?;
    let rise_k = finite("temperature_c", temperature_c)? - 20.0;
    let warm = resistance_growth("temperature_c", rise_k)?;
    positive_result("r_per_m", conductor.resistivity_ohm_m() / area * warm)
}

/// Resistance over that at 20 °C, for a conductor `rise_k` warmer: 1 + 0.00393·ΔT.
///
/// # Errors
/// `OutOfDomain` naming `field` when the rise is not finite or nothing of the resistance is left.
pub(crate) fn resistance_growth(field: &str, rise_k: f64) -> Result<f64> {
    let growth = 1.0 + PER_KELVIN * finite(field, rise_k)?;
    if growth > 0.0 {
        Ok(growth)
    } else {
        Err(PhysicsError::out_of_domain(
            field,
            format!("{rise_k} K from 20 °C is below the reach of the linear coefficient"),
        ))
    }
}

/// Resistance there and back, ohm: 2·l·r.
///
/// # Errors
/// `OutOfDomain` when the length is negative or the resistance is not positive.
///
/// ```
/// // Three metres of AWG 18.
/// assert!((physics::wire::loop_resistance_ohm(3.0, 0.02094778)? - 0.1256867).abs() < 1e-7);
/// # Ok::<(), physics::PhysicsError>(())
/// ```
pub fn loop_resistance_ohm(length_m: f64, r_per_m: f64) -> Result<f64> {
    non_negative(
        "r_loop_ohm",
        2.0 * non_negative("length_m", length_m)? * positive("r_per_m", r_per_m)?,
    )
}

/// Level lost in a series resistance before a load, dB, positive: 20·log₁₀((Z + R)/Z), both
/// resistive.
///
/// # Errors
/// `OutOfDomain` when the load is not positive or the resistance is negative.
///
/// ```
/// let loss = physics::wire::insertion_loss_db(0.1256867, 4.0)?;
/// assert!((loss - 0.268725).abs() < 1e-6);
/// # Ok::<(), physics::PhysicsError>(())
/// ```
pub fn insertion_loss_db(r_loop_ohm: f64, load_ohm: f64) -> Result<f64> {
    let ratio = non_negative("r_loop_ohm", r_loop_ohm)? / positive("load_ohm", load_ohm)?;
    // ln_1p keeps the loss of a few milliohms exact.
    finite_result("loss_db", 20.0 * ratio.ln_1p() / std::f64::consts::LN_10)
}
