//! An impedance sweep: rows of frequency, magnitude and, where it was measured, phase.

use crate::error::{PhysicsError, Result};

/// One row of a sweep.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SweepRow {
    /// Frequency, Hz.
    pub f_hz: f64,
    /// Magnitude of the impedance, ohm.
    pub z_ohm: f64,
    /// Phase, degrees, where it was measured.
    pub phase_deg: Option<f64>,
}

/// Refuses rows that cannot be a sweep: none, frequencies that do not rise, magnitudes that are not
/// positive, phases beyond ±180°.
///
/// # Errors
/// `OutOfDomain` naming the first row at fault, counted from 1.
pub fn check_rows(rows: &[SweepRow]) -> Result<()> {
    if rows.is_empty() {
        return Err(PhysicsError::out_of_domain("sweep", "it has no rows"));
    }
    let mut last = 0.0;
    for (index, row) in rows.iter().enumerate() {
        let fault =
            |why: String| Err(PhysicsError::out_of_domain(format!("sweep row {}", index + 1), why));
        if !row.f_hz.is_finite() || row.f_hz <= last {
            return fault(format!(
                "{} Hz is not above the frequency before it ({last} Hz)",
                row.f_hz
            ));
        }
        if !row.z_ohm.is_finite() || row.z_ohm <= 0.0 {
            return fault(format!("{} ohm is not a magnitude greater than 0", row.z_ohm));
        }
        if row.phase_deg.is_some_and(|phase| !(-180.0..=180.0).contains(&phase)) {
            return fault("the phase is not from -180 to 180 degrees".to_owned());
        }
        last = row.f_hz;
    }
    Ok(())
}
