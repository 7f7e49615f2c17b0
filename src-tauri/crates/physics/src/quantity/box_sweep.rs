//! The box as its impedance sweep shows it: tuning and losses, read off the two peaks and the dip between them.

use domain::part::Role::Woofer;

use super::{
    bench::Shape,
    driver::{fs_hz, qes, qms},
    enclosure::{group_re_ohm, is_vented, series_ohm},
    ledger::{Ledger, Stop},
    load,
};
use crate::{
    driver::q_electrical_with_series,
    humps::{HumpReading, box_from_humps, humps},
};

/// What leaks, inductance and the rest of the network shift the dip by, as a share of the tuning (numbers of the humps'
/// check values: 0.2 to 0.3 %), with as much again for its flat bottom.
const DIP_U: f64 = 0.006;

/// The peaks of a vented box lie below this many times the woofer's resonance; those above belong to the crossover
/// (common practice, no source).
const SPAN: f64 = 4.0;

fn reading(it: &mut Ledger<'_, '_>) -> Result<HumpReading, Stop> {
    is_vented(it)?;
    let (points, fs) = (it.shared("system sweep", load::scaled), fs_hz(it, Woofer));
    let (points, fs) = (points?, fs?);
    it.by("two peaks and the dip between them (Thiele 1971, Small 1973)");
    let end = points.partition_point(|it| it.f_hz <= SPAN * fs);
    Ok(humps(points.get(..end).unwrap_or_default())?)
}

/// The dip, which lies at the tuning.
pub(super) fn fb_hz(it: &mut Ledger<'_, '_>) -> Result<f64, Stop> {
    let dip = it.shared("humps", reading)?.dip;
    Ok(dip.f_hz * it.uncertain("place of the dip in whole.sweep", 1.0, DIP_U, Shape::Normal))
}

/// Leakage Q from how high the dip stands above the resistance in the circuit.
pub(super) fn ql(it: &mut Ledger<'_, '_>) -> Result<f64, Stop> {
    let (reading, re) = (it.shared("humps", reading), group_re_ohm(it));
    let (qes, qms) = (qes(it, Woofer), qms(it, Woofer));
    let (reading, re, qes, qms) = (reading?, re?, qes?, qms?);
    let rg = series_ohm(it);
    it.by("QL = (hs/α)(1/(Qes(rM − 1)) − 1/Qms)");
    let qes = q_electrical_with_series(qes, re, rg)?;
    Ok(box_from_humps(&reading.of(re + rg, qes, qms)?)?.ql)
}
