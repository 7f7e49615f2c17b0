//! Thermal compression: a hot voice coil draws less current from the same voltage.

use crate::error::{Result, finite_result};
use crate::wire::resistance_growth;

/// Change of level, dB, at constant voltage when the coil is `rise_k` warmer than at 20 °C:
/// −20·log₁₀(1 + 0.00393·ΔT). Negative for a rise.
///
/// Valid where Re dominates the impedance; at the resonance peak the loss is smaller. Source: the
/// temperature coefficient of copper, IEC 60028 (number from memory).
///
/// # Errors
/// `OutOfDomain` naming `rise_k` when it is not finite, or so far below 0 that nothing of the
/// resistance is left.
///
/// ```
/// let level = physics::thermal::compression_db(100.0)?;
/// assert!((level + 2.879022).abs() < 1e-6);
/// # Ok::<(), physics::PhysicsError>(())
/// ```
pub fn compression_db(rise_k: f64) -> Result<f64> {
    finite_result("compression_db", -20.0 * resistance_growth("rise_k", rise_k)?.log10())
}
