//! The load that the finished speaker is to an amplifier: from its impedance sweep, else from the solved network.

use domain::{part::Role::Whole, sweep::Point};

use super::{
    bench::Shape,
    ledger::{Ledger, Stop},
    network,
};
use crate::load;

/// The audio range, Hz.
const RANGE_HZ: (f64, f64) = (20.0, 20_000.0);
/// Calibration of an impedance bench: a scale error common to all points (common practice, no source).
const SCALE_U: f64 = 0.01;

/// The system sweep with the error of scale that this pass gives it.
pub(super) fn scaled(it: &mut Ledger<'_, '_>) -> Result<Vec<Point>, Stop> {
    let sweep = it.sweep(Whole)?;
    it.assume("impedance bench calibrated to 1 %");
    let scale = it.uncertain("scale of the impedance bench", 1.0, SCALE_U, Shape::Normal);
    Ok(sweep.points.iter().map(|at| Point { z_ohm: at.z_ohm * scale, ..*at }).collect())
}

pub(super) fn z_min_ohm(it: &mut Ledger<'_, '_>) -> Result<f64, Stop> {
    it.first_of(&[
        &|it| {
            let points = it.shared("system sweep", scaled)?;
            Ok(load::minimum_impedance(&points, RANGE_HZ.0, RANGE_HZ.1)?.z_ohm)
        },
        &|it| {
            let z_min = network::z_min_ohm(it)?;
            it.assume("the network as traced stands for a sweep");
            Ok(z_min)
        },
    ])
}

pub(super) fn z_min_ratio(it: &mut Ledger<'_, '_>) -> Result<f64, Stop> {
    let (z_min, rated) = (z_min_ohm(it), it.number(Whole, "rated_z"));
    let rated = crate::error::positive("rated_z", rated?)?;
    Ok(crate::error::positive("z_min_ratio", z_min? / rated)?)
}

pub(super) fn r_pd_min_ohm(it: &mut Ledger<'_, '_>) -> Result<f64, Stop> {
    it.first_of(&[
        &|it| {
            let points = it.shared("system sweep", scaled)?;
            if points.iter().any(|it| it.phase_deg.is_none()) {
                return Err(it.lacks(Whole, "sweep phase"));
            }
            it.by("equivalent peak-dissipation resistance (Benjamin 1994)");
            Ok(load::worst_peak_dissipation(&points)?.r_pd_ohm)
        },
        &|it| {
            let r_pd = network::r_pd_min_ohm(it)?;
            it.assume("the network as traced stands for a sweep");
            Ok(r_pd)
        },
    ])
}
