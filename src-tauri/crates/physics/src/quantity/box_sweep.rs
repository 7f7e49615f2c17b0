//! The box as its impedance sweep shows it: tuning and losses, fitted to the two peaks or read off them.

use domain::part::Role::{Whole, Woofer};

use super::{
    bench::Shape,
    driver::{fs_hz, qes, qms},
    enclosure::{group_re_ohm, is_vented, series_ohm},
    ledger::{Ledger, Stop},
    load,
};
use crate::{
    driver::q_electrical_with_series,
    fit::vented::VentedFit,
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

/// A parameter of the vented-box fit with its uncertainty.
fn fitted(
    it: &mut Ledger<'_, '_>,
    name: &'static str,
    of: fn(&VentedFit) -> (f64, f64),
) -> Result<f64, Stop> {
    is_vented(it)?;
    it.sweep(Whole)?;
    let Some(fit) = it.bench().inputs.vented() else {
        return Err(it.lacks(Whole, "sweep"));
    };
    it.by("least-squares fit of a driver in a vented box to the sweep");
    if fit.n_assumed {
        it.assume("coil exponent 0.7");
    }
    let (value, u) = of(fit);
    Ok(it.uncertain(name, value, u, Shape::Normal))
}

/// From the fit, else the dip, which lies at the tuning.
pub(super) fn fb_hz(it: &mut Ledger<'_, '_>) -> Result<f64, Stop> {
    it.first_of(&[
        &|it| fitted(it, "tuning fitted to whole.sweep", |fit| (fit.fb_hz, fit.u[5])),
        &|it| {
            let dip = it.shared("humps", reading)?.dip;
            let place = it.uncertain("place of the dip in whole.sweep", 1.0, DIP_U, Shape::Normal);
            Ok(dip.f_hz * place)
        },
    ])
}

/// Leakage Q as fitted.
pub(super) fn fitted_ql(it: &mut Ledger<'_, '_>) -> Result<f64, Stop> {
    fitted(it, "leakage Q fitted to whole.sweep", |fit| (fit.ql, fit.u[6]))
}

/// From the fit, else from how high the dip stands above the resistance in the circuit.
pub(super) fn ql(it: &mut Ledger<'_, '_>) -> Result<f64, Stop> {
    it.first_of(&[&|it| fitted_ql(it), &|it| {
        let (reading, re) = (it.shared("humps", reading), group_re_ohm(it));
        let (qes, qms) = (qes(it, Woofer), qms(it, Woofer));
        let (reading, re, qes, qms) = (reading?, re?, qes?, qms?);
        let rg = series_ohm(it);
        it.by("QL = (hs/α)(1/(Qes(rM − 1)) − 1/Qms)");
        let qes = q_electrical_with_series(qes, re, rg)?;
        Ok(box_from_humps(&reading.of(re + rg, qes, qms)?)?.ql)
    }])
}
