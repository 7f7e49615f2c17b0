//! The woofer in its box: resonance, Q, sensitivity, bass limit.

use std::f64::consts::TAU;

use domain::part::Role::{Cabinet, Woofer};

use super::{
    ledger::{Ledger, Stop},
    wiring,
};
use crate::{
    box_closed::{BoxDriver, ClosedBox},
    box_vented::{Leak, QL_ASSUMED, VentedBox},
    driver,
    port::{Port, PortEnd},
};

pub(super) fn fs_hz(it: &mut Ledger<'_>) -> Result<f64, Stop> {
    it.first_of(&[
        |it| it.number(Woofer, "fs"),
        |it| {
            let (mms, cms) = (it.number(Woofer, "mms")?, it.number(Woofer, "cms")?);
            Ok(driver::resonance_hz(mms, cms)?)
        },
    ])
}

fn qms(it: &mut Ledger<'_>) -> Result<f64, Stop> {
    it.first_of(&[
        |it| it.number(Woofer, "qms"),
        |it| {
            let (qts, qes) = (it.number(Woofer, "qts")?, it.number(Woofer, "qes")?);
            Ok(driver::other_q(qts, qes)?)
        },
        |it| {
            let (fs, mms, rms) = (fs_hz(it)?, it.number(Woofer, "mms")?, it.number(Woofer, "rms")?);
            Ok(driver::q_mechanical(fs, mms, rms)?)
        },
    ])
}

fn qes(it: &mut Ledger<'_>) -> Result<f64, Stop> {
    it.first_of(&[
        |it| it.number(Woofer, "qes"),
        |it| {
            let (qts, qms) = (it.number(Woofer, "qts")?, it.number(Woofer, "qms")?);
            Ok(driver::other_q(qts, qms)?)
        },
        |it| {
            let (fs, mms) = (fs_hz(it)?, it.number(Woofer, "mms")?);
            let (re, bl) = (it.number(Woofer, "re")?, it.number(Woofer, "bl")?);
            Ok(driver::q_electrical(fs, mms, re, bl)?)
        },
    ])
}

/// Of one woofer.
fn vas_of_one(it: &mut Ledger<'_>) -> Result<f64, Stop> {
    it.first_of(&[
        |it| it.number(Woofer, "vas"),
        |it| {
            let (sd, cms) = (it.number(Woofer, "sd")?, it.number(Woofer, "cms")?);
            Ok(driver::equivalent_volume_m3(sd, cms, &it.air)?)
        },
        |it| {
            let (sd, mms, fs) =
                (it.number(Woofer, "sd")?, it.number(Woofer, "mms")?, it.number(Woofer, "fs")?);
            let cms = 1.0 / ((TAU * fs).powi(2) * mms);
            Ok(driver::equivalent_volume_m3(sd, cms, &it.air)?)
        },
    ])
}

/// How many identical woofers there are; one where nobody said.
fn units(it: &mut Ledger<'_>) -> Result<f64, Stop> {
    match it.first_of(&[|it| it.count(Woofer, "qty")]) {
        Ok(0) => Err(Stop::NotApplicable("there is no woofer".into())),
        Ok(n) => Ok(f64::from(n)),
        Err(_) => {
            it.assume("one woofer");
            Ok(1.0)
        }
    }
}

/// Vas of all woofers together; the box sees their sum (identical units: Vas·N).
pub(super) fn vas_m3(it: &mut Ledger<'_>) -> Result<f64, Stop> {
    Ok(vas_of_one(it)? * units_known(it)?)
}

fn units_known(it: &mut Ledger<'_>) -> Result<f64, Stop> {
    // A missing count must not enter the list of missing findings of a value that was computed without it.
    let mut attempt = it.clone();
    let n = units(&mut attempt)?;
    *it = attempt;
    Ok(n)
}

/// The woofers' resistance as one load, ohm, with the part of the wiring that each sees taken as in series with it.
fn series_ohm(it: &mut Ledger<'_>) -> f64 {
    let mut attempt = it.clone();
    if let Ok(ohm) = wiring::loop_ohm(&mut attempt) {
        *it = attempt;
        ohm
    } else {
        it.assume("no resistance in the wiring");
        0.0
    }
}

fn box_driver(it: &mut Ledger<'_>) -> Result<BoxDriver, Stop> {
    Ok(BoxDriver {
        fs_hz: fs_hz(it)?,
        qms: qms(it)?,
        qes: qes(it)?,
        re_ohm: group_re_ohm(it)?,
        vas_m3: vas_m3(it)?,
    })
}

/// Re of the woofer group: Re·N in series, Re/N in parallel.
fn group_re_ohm(it: &mut Ledger<'_>) -> Result<f64, Stop> {
    let re = it.number(Woofer, "re")?;
    let n = units_known(it)?;
    if n < 1.5 {
        return Ok(re);
    }
    match it.choice(Woofer, "wired")? {
        "series" => Ok(re * n),
        "parallel" => Ok(re / n),
        _ => Err(it.lacks("woofer.wired".into())),
    }
}

pub(super) fn qts_system(it: &mut Ledger<'_>) -> Result<f64, Stop> {
    let (qms, qes, re) = (qms(it)?, qes(it)?, group_re_ohm(it)?);
    let rg = series_ohm(it);
    Ok(driver::q_total(qms, driver::q_electrical_with_series(qes, re, rg)?)?)
}

/// BL²/Re of one woofer, where both were found.
pub(super) fn motor_strength(it: &mut Ledger<'_>) -> Result<f64, Stop> {
    let (bl, re) = (it.number(Woofer, "bl")?, it.number(Woofer, "re")?);
    crate::error::positive("re_ohm", re)?;
    Ok(crate::error::positive("motor_n_s_m", bl * bl / re)?)
}

pub(super) fn sens_2v83_db(it: &mut Ledger<'_>) -> Result<f64, Stop> {
    let (fs, vas, qes) = (fs_hz(it)?, vas_of_one(it)?, qes(it)?);
    let eta0 = driver::efficiency_from_set(fs, vas, qes, &it.air)?;
    let re = it.number(Woofer, "re")?;
    let one = driver::spl_2v83_db(driver::spl_1w_db(eta0, &it.air)?, re)?;
    let n = units_known(it)?;
    if n < 1.5 {
        return Ok(one);
    }
    // Identical units close together at a fixed voltage: +20·log10 N in parallel, unchanged in series.
    match it.choice(Woofer, "wired")? {
        "parallel" => Ok(one + 20.0 * n.log10()),
        "series" => Ok(one),
        _ => Err(it.lacks("woofer.wired".into())),
    }
}

/// The measured tuning, else the one that follows from the port.
pub(super) fn fb_hz(it: &mut Ledger<'_>) -> Result<f64, Stop> {
    match it.choice(Cabinet, "box_type")? {
        "vented" => it.first_of(&[
            |it| it.number(Cabinet, "fb_measured"),
            |it| {
                let volume = it.number(Cabinet, "net_volume")?;
                let count = it.count(Cabinet, "port_n")?;
                let radius_m = it.number(Cabinet, "port_d")? / 2.0;
                let length = it.number(Cabinet, "port_l")?;
                let mut flare = |key| {
                    let mut attempt = it.clone();
                    if let Ok(r) = attempt.number(Cabinet, key) {
                        *it = attempt;
                        r
                    } else {
                        it.assume("sharp port edges");
                        0.0
                    }
                };
                let flares_m = [flare("port_flare.out"), flare("port_flare.in")];
                it.assume("port flanged outside, free inside");
                let port =
                    Port { count, radius_m, ends: [PortEnd::Flanged, PortEnd::Free], flares_m };
                Ok(port.tuning(volume, length, &it.air)?.fb_hz)
            },
        ]),
        other => Err(Stop::NotApplicable(format!("the box is {other}, not vented"))),
    }
}

enum Alignment {
    Closed(ClosedBox),
    Vented(VentedBox),
}

fn alignment(it: &mut Ledger<'_>) -> Result<Alignment, Stop> {
    let kind = it.choice(Cabinet, "box_type")?;
    if !matches!(kind, "closed" | "vented") {
        return Err(Stop::NotApplicable(format!("a box of type {kind} is not modelled")));
    }
    let volume = it.number(Cabinet, "net_volume")?;
    let driver = box_driver(it)?;
    let rg = series_ohm(it);
    if kind == "closed" {
        return Ok(Alignment::Closed(ClosedBox::with_series_resistance(&driver, volume, rg)?));
    }
    let fb = fb_hz(it)?;
    it.assume("box losses QL = 7");
    let qts = driver.qts_with_series(rg)?;
    Ok(Alignment::Vented(VentedBox::new(
        driver.fs_hz,
        qts,
        driver.vas_m3,
        volume,
        fb,
        Leak::Ql(QL_ASSUMED),
    )?))
}

pub(super) fn f3_hz(it: &mut Ledger<'_>) -> Result<f64, Stop> {
    Ok(match alignment(it)? {
        Alignment::Closed(it) => it.f3_hz,
        Alignment::Vented(it) => it.f3_hz,
    })
}

pub(super) fn ripple_db(it: &mut Ledger<'_>) -> Result<f64, Stop> {
    Ok(match alignment(it)? {
        Alignment::Closed(it) => it.peak.map_or(0.0, |it| it.level_db),
        Alignment::Vented(it) => it.ripple_db,
    })
}
