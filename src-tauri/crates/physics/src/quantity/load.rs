//! The load that the finished speaker is to an amplifier, from its impedance sweep.

use domain::part::Role::Whole;

use super::ledger::{Ledger, Stop};
use crate::load;

/// The audio range, Hz.
const RANGE_HZ: (f64, f64) = (20.0, 20_000.0);

pub(super) fn z_min_ohm(it: &mut Ledger<'_>) -> Result<f64, Stop> {
    let sweep = it.sweep(Whole)?;
    Ok(load::minimum_impedance(&sweep.points, RANGE_HZ.0, RANGE_HZ.1)?.z_ohm)
}

pub(super) fn z_min_ratio(it: &mut Ledger<'_>) -> Result<f64, Stop> {
    let (z_min, rated) = (z_min_ohm(it), it.number(Whole, "rated_z"));
    let rated = crate::error::positive("rated_z", rated?)?;
    Ok(crate::error::positive("z_min_ratio", z_min? / rated)?)
}

pub(super) fn r_pd_min_ohm(it: &mut Ledger<'_>) -> Result<f64, Stop> {
    let sweep = it.sweep(Whole)?;
    if sweep.points.iter().any(|it| it.phase_deg.is_none()) {
        return Err(it.lacks("whole.sweep phase".into()));
    }
    Ok(load::worst_peak_dissipation(&sweep.points)?.r_pd_ohm)
}
