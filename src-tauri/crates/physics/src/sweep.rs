//! An impedance sweep: rows of frequency, magnitude and, where it was measured, phase.

pub use domain::sweep::Point as SweepRow;

use crate::error::{PhysicsError, Result};

/// Refuses rows that cannot be a sweep: none, frequencies that do not rise, magnitudes that are not
/// positive, phases beyond ±180° or in some rows only.
///
/// # Errors
/// `OutOfDomain` naming the first row at fault, counted from 1.
pub fn check_rows(rows: &[SweepRow]) -> Result<()> {
    if rows.is_empty() {
        return Err(PhysicsError::out_of_domain("sweep", "it has no rows"));
    }
    domain::sweep::check_points(rows)
        .map_err(|why| PhysicsError::out_of_domain("sweep", why.to_string()))
}
