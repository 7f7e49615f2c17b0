//! The load a loudspeaker puts on an amplifier: minimum impedance, its rating, and peak
//! dissipation.

use std::f64::consts::PI;

use crate::error::{PhysicsError, Result, positive, positive_result};
use crate::sweep::{SweepRow, check_rows};

/// The rated impedances in common use, ohm, rising.
pub const PREFERRED_RATINGS_OHM: [f64; 3] = [4.0, 6.0, 8.0];

/// The lowest impedance of a sweep.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MinimumImpedance {
    /// Magnitude, ohm.
    pub z_ohm: f64,
    /// Where it was read, Hz.
    pub f_hz: f64,
}

/// Whether a printed rating stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RatingVerdict {
    /// The least impedance that the rating allows, ohm: 0.8 of it.
    pub limit_ohm: f64,
    /// The minimum reaches that limit.
    pub passes: bool,
}

/// The load that is hardest on an ideal class-B output stage.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PeakDissipation {
    /// Smallest equivalent peak-dissipation resistance, ohm.
    pub r_pd_ohm: f64,
    /// Where it was read, Hz.
    pub f_hz: f64,
    /// Rows with a phase beyond ±90°, which no passive load has: a reversed lead or a bad reading.
    pub rows_not_passive: usize,
}

/// The lowest |Z| among the rows from `f_low_hz` to `f_high_hz`; nothing is interpolated between
/// rows.
///
/// # Errors
/// `OutOfDomain` for rows that cannot be a sweep or a range without rows.
pub fn minimum_impedance(
    rows: &[SweepRow],
    f_low_hz: f64,
    f_high_hz: f64,
) -> Result<MinimumImpedance> {
    check_rows(rows)?;
    rows.iter()
        .filter(|row| (f_low_hz..=f_high_hz).contains(&row.f_hz))
        .min_by(|a, b| a.z_ohm.total_cmp(&b.z_ohm))
        .map(|row| MinimumImpedance { z_ohm: row.z_ohm, f_hz: row.f_hz })
        .ok_or_else(|| {
            PhysicsError::out_of_domain(
                "sweep",
                format!("no row lies from {f_low_hz} to {f_high_hz} Hz"),
            )
        })
}

/// Whether a minimum of `z_min_ohm` allows the rating `rated_ohm`: the minimum over the rated range
/// shall be at least 0.8 of the rated impedance.
///
/// Source: IEC 60268-5:2003, clause 16.1 (from memory).
///
/// # Errors
/// `OutOfDomain` when a value is not positive and finite.
///
/// ```
/// let verdict = physics::load::rating_verdict(5.4681415, 8.0)?;
/// assert!(!verdict.passes && (verdict.limit_ohm - 6.4).abs() < 1e-12);
/// # Ok::<(), physics::PhysicsError>(())
/// ```
pub fn rating_verdict(z_min_ohm: f64, rated_ohm: f64) -> Result<RatingVerdict> {
    let z_min = positive("z_min_ohm", z_min_ohm)?;
    // 4/5 in this order makes 4.8 ohm pass as 6 ohm; 0.8 · 6 rounds up and would refuse it.
    let limit_ohm = positive("rated_ohm", rated_ohm)? * 4.0 / 5.0;
    Ok(RatingVerdict { limit_ohm, passes: z_min >= limit_ohm })
}

/// The highest of the preferred ratings that a minimum of `z_min_ohm` allows, ohm; none when even 4
/// ohm would be too much to claim.
///
/// # Errors
/// `OutOfDomain` when the minimum is not positive and finite.
pub fn highest_rating_ohm(z_min_ohm: f64) -> Result<Option<f64>> {
    let mut highest = None;
    for rated in PREFERRED_RATINGS_OHM {
        if rating_verdict(z_min_ohm, rated)?.passes {
            highest = Some(rated);
        }
    }
    Ok(highest)
}

/// Equivalent peak-dissipation resistance of |Z| ohm at a phase in degrees: the resistor that makes
/// an ideal class-B output stage, driven to its rails, dissipate the same peak power.
///
/// Rpd = |Z|·0.25/max over t of (1 − sin t)·sin(t − φ), φ = |phase|. In closed form
/// Rpd = |Z|/(8·sin³(30° + φ/3)):
/// the derivative is cos(t − φ) − sin(2t − φ), zero at t = π/2 (value 0) and at t = π/6 + 2φ/3 +
/// 2πk/3. k = 1 gives (1 − cos 2a)·sin a = 2·sin³ a with a = π/6 + φ/3; k = 0 gives 2·sin³ b with b
/// = π/6 − φ/3, which is not larger because sin a ≥ |sin b| for 0 ≤ φ ≤ π; and k = 2 gives −(1 +
/// cos(2φ/3))·cos(φ/3), which is negative there. So the maximum is 2·sin³ a.
///
/// Source of the measure: E. Benjamin, "Audio Power Amplifiers for Loudspeaker Loads", JAES 42(9),
/// 1994 (pages from memory).
///
/// # Errors
/// `OutOfDomain` when |Z| is not positive and finite or the phase is beyond ±180°.
///
/// ```
/// let r_pd = physics::load::peak_dissipation_ohm(1.0, -45.0)?;
/// assert!((r_pd - 0.35355339).abs() < 1e-8);
/// # Ok::<(), physics::PhysicsError>(())
/// ```
pub fn peak_dissipation_ohm(z_ohm: f64, phase_deg: f64) -> Result<f64> {
    let z = positive("z_ohm", z_ohm)?;
    if !(-180.0..=180.0).contains(&phase_deg) {
        return Err(PhysicsError::out_of_domain(
            "phase_deg",
            format!("{phase_deg} is not from -180 to 180"),
        ));
    }
    let a = PI / 6.0 + phase_deg.abs().to_radians() / 3.0;
    positive_result("r_pd_ohm", z / (8.0 * a.sin().powi(3)))
}

/// The smallest equivalent peak-dissipation resistance over the rows of a sweep with phase.
///
/// # Errors
/// `Missing` when a row has no phase; `OutOfDomain` for rows that cannot be a sweep.
pub fn worst_peak_dissipation(rows: &[SweepRow]) -> Result<PeakDissipation> {
    check_rows(rows)?;
    let mut worst: Option<PeakDissipation> = None;
    let mut rows_not_passive = 0;
    for row in rows {
        let phase =
            row.phase_deg.ok_or_else(|| PhysicsError::Missing { field: "phase_deg".to_owned() })?;
        if phase.abs() > 90.0 {
            rows_not_passive += 1;
        }
        let r_pd_ohm = peak_dissipation_ohm(row.z_ohm, phase)?;
        if worst.is_none_or(|least| r_pd_ohm < least.r_pd_ohm) {
            worst = Some(PeakDissipation { r_pd_ohm, f_hz: row.f_hz, rows_not_passive: 0 });
        }
    }
    worst
        .map(|least| PeakDissipation { rows_not_passive, ..least })
        .ok_or_else(|| PhysicsError::out_of_domain("sweep", "it has no rows"))
}
