//! The woofers in their box: Q, sensitivity, tuning, bass limit.

use domain::part::Role::{Cabinet, Woofer};

use super::{
    bench::Shape,
    box_sweep,
    driver::{fs_hz, params, qes, qms, re_ohm, vas_m3 as vas_of_one},
    ledger::{Ledger, Stop},
    network, wiring,
};
use crate::{
    box_closed::{BoxDriver, ClosedBox},
    box_vented::{Leak, QL_ASSUMED, VentedBox},
    driver::{self, DriverParams},
    driver_group::{self, Wiring},
    port::{Port, PortEnd},
};

/// Spread of the leakage Q where it is assumed: anything from 4.5 to 9.5 alike (Small 1973, Part III: usual boxes 5 to
/// 10, from memory).
const QL_U: f64 = 1.44;

/// How many identical woofers there are; one where nobody said.
pub(super) fn units(it: &mut Ledger<'_, '_>) -> Result<u32, Stop> {
    match it.optional(&|it| it.count(Woofer, "qty")) {
        Some(0) => Err(Stop::NotApplicable("there is no woofer".into())),
        Some(n) => Ok(n),
        None => {
            it.assume("one woofer");
            Ok(1)
        }
    }
}

/// How the woofers are wired; a single one as either.
pub(super) fn wired(it: &mut Ledger<'_, '_>, units: u32) -> Result<Wiring, Stop> {
    if units < 2 {
        return Ok(Wiring::Parallel);
    }
    match it.choice(Woofer, "wired")? {
        "series" => Ok(Wiring::Series),
        "parallel" => Ok(Wiring::Parallel),
        _ => Err(it.lacks(Woofer, "wired")),
    }
}

/// Vas of all woofers together; the box sees their sum (identical units: Vas·N).
pub(super) fn vas_m3(it: &mut Ledger<'_, '_>) -> Result<f64, Stop> {
    Ok(vas_of_one(it, Woofer)? * f64::from(units(it)?))
}

/// All woofers as the one driver that they amount to.
pub(super) fn group(it: &mut Ledger<'_, '_>) -> Result<DriverParams, Stop> {
    let one = params(it, Woofer)?;
    let n = units(it)?;
    let wiring = wired(it, n)?;
    Ok(driver_group::group(&one, n, wiring)?)
}

/// Re of the woofer group: Re·N in series, Re/N in parallel.
pub(super) fn group_re_ohm(it: &mut Ledger<'_, '_>) -> Result<f64, Stop> {
    let re = re_ohm(it, Woofer)?;
    let n = units(it)?;
    Ok(match wired(it, n)? {
        Wiring::Series => re * f64::from(n),
        Wiring::Parallel => re / f64::from(n),
    })
}

/// Resistance in series with the woofers, ohm: conductors, and the coils of the network where it was traced.
pub(super) fn series_ohm(it: &mut Ledger<'_, '_>) -> f64 {
    let sum = it.shared("series resistance", |it| {
        let wires = it.optional(&|it| wiring::loop_ohm(it)).unwrap_or_else(|| {
            it.assume("no resistance in the wiring");
            0.0
        });
        let coils = it.optional(&|it| network::woofer_series_ohm(it)).unwrap_or_else(|| {
            it.assume("no resistance in the network");
            0.0
        });
        Ok(wires + coils)
    });
    sum.map_or(0.0, |it| *it)
}

fn box_driver(it: &mut Ledger<'_, '_>) -> Result<BoxDriver, Stop> {
    let read = [fs_hz(it, Woofer), qms(it, Woofer), qes(it, Woofer), group_re_ohm(it), vas_m3(it)];
    let [fs, qms, qes, re, vas] = read;
    Ok(BoxDriver { fs_hz: fs?, qms: qms?, qes: qes?, re_ohm: re?, vas_m3: vas? })
}

pub(super) fn qts_system(it: &mut Ledger<'_, '_>) -> Result<f64, Stop> {
    let (qms, qes, re) = (qms(it, Woofer), qes(it, Woofer), group_re_ohm(it));
    let (qms, qes, re) = (qms?, qes?, re?);
    let rg = series_ohm(it);
    it.by("Qes' = Qes·(Re + Rg)/Re");
    Ok(driver::q_total(qms, driver::q_electrical_with_series(qes, re, rg)?)?)
}

pub(super) fn sens_2v83_db(it: &mut Ledger<'_, '_>) -> Result<f64, Stop> {
    let read = [fs_hz(it, Woofer), vas_of_one(it, Woofer), qes(it, Woofer), re_ohm(it, Woofer)];
    let [fs, vas, qes, re] = read;
    let air = it.air();
    it.by("η₀ = 4π²/c³·fs³·Vas/Qes");
    let eta0 = driver::efficiency_from_set(fs?, vas?, qes?, &air)?;
    let one = driver::spl_2v83_db(driver::spl_1w_db(eta0, &air)?, re?)?;
    let n = units(it)?;
    // Identical units close together at a fixed voltage: +20·log10 N in parallel, unchanged in series.
    Ok(match wired(it, n)? {
        Wiring::Parallel => one + 20.0 * f64::from(n).log10(),
        Wiring::Series => one,
    })
}

pub(super) fn is_vented(it: &mut Ledger<'_, '_>) -> Result<(), Stop> {
    match it.choice(Cabinet, "box_type")? {
        "vented" => Ok(()),
        other => Err(Stop::NotApplicable(format!("the box is {other}, not vented"))),
    }
}

/// The ports as recorded.
pub(super) fn port(it: &mut Ledger<'_, '_>) -> Result<Port, Stop> {
    let (count, diameter) = (it.count(Cabinet, "port_n"), it.number(Cabinet, "port_d"));
    let mut flare = |key: &'static str| {
        it.optional(&|it| it.number(Cabinet, key)).unwrap_or_else(|| {
            it.assume("sharp port edges");
            0.0
        })
    };
    // A rounding of 0 has no other side.
    let flares_m = [flare("port_flare.out").max(0.0), flare("port_flare.in").max(0.0)];
    Ok(Port {
        count: count?,
        radius_m: diameter? / 2.0,
        ends: [PortEnd::Flanged, PortEnd::Free],
        flares_m,
    })
}

/// The tuning that follows from the port's shape.
pub(super) fn port_fb_hz(it: &mut Ledger<'_, '_>) -> Result<f64, Stop> {
    is_vented(it)?;
    let (volume, length) = (it.number(Cabinet, "net_volume"), it.number(Cabinet, "port_l"));
    let port = port(it);
    let (volume, length, port) = (volume?, length?, port?);
    it.assume("port flanged outside, free inside");
    it.by("fB = (c/2π)√(N·Sp/(Vb·Leff))");
    let air = it.air();
    Ok(port.tuning(volume, length, &air)?.fb_hz)
}

/// The measured tuning, else the one that follows from the port.
pub(super) fn fb_hz(it: &mut Ledger<'_, '_>) -> Result<f64, Stop> {
    is_vented(it)?;
    it.first_of(&[&|it| it.number(Cabinet, "fb_measured"), &|it| port_fb_hz(it)])
}

/// Leakage Q of the box: as the sweep shows it, else assumed.
pub(super) fn ql(it: &mut Ledger<'_, '_>) -> f64 {
    it.optional(&|it| box_sweep::fitted_ql(it)).unwrap_or_else(|| {
        it.assume("box losses QL = 7");
        it.uncertain("leakage Q", QL_ASSUMED, QL_U, Shape::Rectangular)
    })
}

enum Alignment {
    Closed(ClosedBox),
    Vented(VentedBox),
}

fn alignment(it: &mut Ledger<'_, '_>) -> Result<Alignment, Stop> {
    let kind = it.choice(Cabinet, "box_type")?;
    if !matches!(kind, "closed" | "vented") {
        return Err(Stop::NotApplicable(format!("a box of type {kind} is not modelled")));
    }
    let volume = it.number(Cabinet, "net_volume");
    let driver = box_driver(it);
    let (volume, driver) = (volume?, driver?);
    let rg = series_ohm(it);
    if kind == "closed" {
        it.by("second-order response of a closed box (Small 1972)");
        return Ok(Alignment::Closed(ClosedBox::with_series_resistance(&driver, volume, rg)?));
    }
    let fb = fb_hz(it)?;
    let ql = ql(it);
    it.by("fourth-order response of a vented box (Small 1973)");
    let qts = driver.qts_with_series(rg)?;
    let leak = Leak::Ql(ql);
    Ok(Alignment::Vented(VentedBox::new(driver.fs_hz, qts, driver.vas_m3, volume, fb, leak)?))
}

pub(super) fn f3_hz(it: &mut Ledger<'_, '_>) -> Result<f64, Stop> {
    Ok(match &*it.shared("alignment", alignment)? {
        Alignment::Closed(it) => it.f3_hz,
        Alignment::Vented(it) => it.f3_hz,
    })
}

pub(super) fn ripple_db(it: &mut Ledger<'_, '_>) -> Result<f64, Stop> {
    Ok(match &*it.shared("alignment", alignment)? {
        Alignment::Closed(it) => it.peak.map_or(0.0, |it| it.level_db),
        Alignment::Vented(it) => it.ripple_db,
    })
}
