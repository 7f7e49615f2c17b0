//! Parameters of one driver: as recorded, else from others, else from its sweep.

use std::f64::consts::{FRAC_PI_2, TAU};

use domain::part::Role::{self, Woofer};

use super::{
    bench::Shape,
    ledger::{Ledger, Stop},
};
use crate::{
    driver::{self, DriverEntry, DriverParams},
    lumped::Coil,
};

/// The coil exponent assumed where only one inductance is known, with its spread (common practice, no source).
const COIL_N_ASSUMED: (f64, f64) = (0.7, 0.08);

/// Places of the parameters in a fit.
const FIT_RE: usize = 0;
const FIT_RES: usize = 1;
const FIT_FS: usize = 2;
const FIT_QMS: usize = 3;
const FIT_K: usize = 4;
const FIT_N: usize = 5;

/// One parameter from the fit to the driver's sweep, moved with its correlations.
fn fitted(it: &mut Ledger<'_, '_>, role: Role, of: usize) -> Result<f64, Stop> {
    it.sweep(role)?;
    let fitted = it.bench().inputs.fitted(role).ok_or_else(|| it.lacks(role, "sweep"))?;
    it.by("least-squares fit of the free-air impedance");
    let model = &fitted.fit.model;
    let nominal = [model.re_ohm, model.res_ohm, model.fs_hz, model.qms, model.k, model.n]
        .get(of)
        .copied()
        .unwrap_or_default();
    let row = fitted.factor.get(of).copied().unwrap_or_default();
    let moved: f64 = row
        .into_iter()
        .zip(fitted.variables)
        .filter(|(sensitivity, _)| *sensitivity != 0.0)
        .map(|(sensitivity, variable)| sensitivity * it.moved(variable))
        .sum();
    Ok(nominal + moved)
}

pub(super) fn re_ohm(it: &mut Ledger<'_, '_>, role: Role) -> Result<f64, Stop> {
    it.first_of(&[&|it| it.number(role, "re"), &|it| fitted(it, role, FIT_RE)])
}

pub(super) fn fs_hz(it: &mut Ledger<'_, '_>, role: Role) -> Result<f64, Stop> {
    it.first_of(&[
        &|it| it.number(role, "fs"),
        &|it| {
            let (mms, cms) = (it.number(role, "mms")?, it.number(role, "cms")?);
            it.by("fs = 1/(2π√(Mms·Cms))");
            Ok(driver::resonance_hz(mms, cms)?)
        },
        &|it| fitted(it, role, FIT_FS),
    ])
}

pub(super) fn qms(it: &mut Ledger<'_, '_>, role: Role) -> Result<f64, Stop> {
    it.first_of(&[
        &|it| it.number(role, "qms"),
        &|it| {
            let (qts, qes) = (it.number(role, "qts")?, it.number(role, "qes")?);
            it.by("1/Qts = 1/Qms + 1/Qes");
            Ok(driver::other_q(qts, qes)?)
        },
        &|it| {
            let fs = fs_hz(it, role)?;
            let (mms, rms) = (it.number(role, "mms")?, it.number(role, "rms")?);
            it.by("Qms = 2πfs·Mms/Rms");
            Ok(driver::q_mechanical(fs, mms, rms)?)
        },
        &|it| fitted(it, role, FIT_QMS),
    ])
}

pub(super) fn qes(it: &mut Ledger<'_, '_>, role: Role) -> Result<f64, Stop> {
    it.first_of(&[
        &|it| it.number(role, "qes"),
        &|it| {
            let (qts, qms) = (it.number(role, "qts")?, it.number(role, "qms")?);
            it.by("1/Qts = 1/Qms + 1/Qes");
            Ok(driver::other_q(qts, qms)?)
        },
        &|it| {
            let fs = fs_hz(it, role)?;
            let (mms, re) = (it.number(role, "mms")?, re_ohm(it, role)?);
            let bl = it.number(role, "bl")?;
            it.by("Qes = 2πfs·Mms·Re/BL²");
            Ok(driver::q_electrical(fs, mms, re, bl)?)
        },
        &|it| {
            let (re, res) = (fitted(it, role, FIT_RE)?, fitted(it, role, FIT_RES)?);
            it.by("Qes = Qms·Re/Res");
            Ok(fitted(it, role, FIT_QMS)? * re / crate::error::positive("res_ohm", res)?)
        },
    ])
}

/// Of one unit.
pub(super) fn vas_m3(it: &mut Ledger<'_, '_>, role: Role) -> Result<f64, Stop> {
    it.first_of(&[
        &|it| it.number(role, "vas"),
        &|it| {
            let (sd, cms) = (it.number(role, "sd")?, it.number(role, "cms")?);
            it.by("Vas = ρ₀c²·Sd²·Cms");
            Ok(driver::equivalent_volume_m3(sd, cms, &it.air())?)
        },
        &|it| {
            let (sd, mms) = (it.number(role, "sd")?, it.number(role, "mms")?);
            let fs = fs_hz(it, role)?;
            it.by("Vas = ρ₀c²·Sd²/((2πfs)²·Mms)");
            let cms = 1.0 / ((TAU * crate::error::positive("fs_hz", fs)?).powi(2) * mms);
            Ok(driver::equivalent_volume_m3(sd, cms, &it.air())?)
        },
    ])
}

/// Mechanics and motor of one unit, from fs, Q, Vas and Sd.
pub(super) fn params(it: &mut Ledger<'_, '_>, role: Role) -> Result<DriverParams, Stop> {
    // All are asked for before the first missing one stops, so that the list of what is missing is whole.
    let read = [
        re_ohm(it, role),
        fs_hz(it, role),
        qms(it, role),
        qes(it, role),
        vas_m3(it, role),
        it.number(role, "sd"),
    ];
    let [re, fs, qms, qes, vas, sd] = read;
    let entry = DriverEntry {
        re_ohm: re?,
        fs_hz: fs?,
        qms: qms?,
        qes: qes?,
        vas_m3: vas?,
        sd_m2: sd?,
        le_h: None,
        xmax_m: None,
    };
    Ok(entry.params(&it.air())?)
}

/// A driver as its terminals show it in free air: the mechanics have the right Q and resonance and an arbitrary scale.
pub(super) fn electrical_image(it: &mut Ledger<'_, '_>, role: Role) -> Result<DriverParams, Stop> {
    /// Any moving mass gives the same impedance, since BL follows from it.
    const MMS_KG: f64 = 1e-3;
    const SD_M2: f64 = 1e-3;
    let (re, fs) = (re_ohm(it, role)?, fs_hz(it, role)?);
    let (qms, qes) = (qms(it, role)?, qes(it, role)?);
    for (field, value) in [("re_ohm", re), ("fs_hz", fs), ("qms", qms), ("qes", qes)] {
        crate::error::positive(field, value)?;
    }
    let ws = TAU * fs;
    Ok(DriverParams {
        re_ohm: re,
        mms_kg: MMS_KG,
        cms_m_n: 1.0 / (ws * ws * MMS_KG),
        rms_kg_s: ws * MMS_KG / qms,
        bl_tm: (ws * MMS_KG * re / qes).sqrt(),
        sd_m2: SD_M2,
        le_h: None,
        xmax_m: None,
    })
}

/// Exponent n of the lossy coil: from the sweep, else from how far the inductance falls over the decade to 10 kHz.
pub(super) fn coil_n(it: &mut Ledger<'_, '_>, role: Role) -> Result<f64, Stop> {
    it.first_of(&[&|it| fitted(it, role, FIT_N), &|it| {
        let (le_1k, le_10k) = (it.number(role, "le_1k")?, it.number(role, "le_10k")?);
        it.by("n = 1 + log₁₀(Le(10 kHz)/Le(1 kHz))");
        let n = 1.0 + (le_10k / crate::error::positive("le_1k", le_1k)?).log10();
        Ok(crate::error::positive("n", n)?)
    }])
}

pub(super) fn woofer_coil_n(it: &mut Ledger<'_, '_>) -> Result<f64, Stop> {
    coil_n(it, Woofer)
}

/// The coil of one unit.
pub(super) fn coil(it: &mut Ledger<'_, '_>, role: Role) -> Coil {
    it.optional(&|it| {
        let (k, n) = (fitted(it, role, FIT_K)?, fitted(it, role, FIT_N)?);
        Ok(Coil::Lossy { k, n: n.clamp(0.5, 1.0) })
    })
    .or_else(|| {
        it.optional(&|it| {
            let le = crate::error::positive("le_1k", it.number(role, "le_1k")?)?;
            let n = match it.optional(&|it| coil_n(it, role)) {
                Some(n) => n,
                None => {
                    let (n, u) = COIL_N_ASSUMED;
                    it.assume("coil exponent 0.7");
                    it.uncertain("coil exponent", n, u, Shape::Normal)
                }
            }
            .clamp(0.5, 1.0);
            it.by("K = Le(1 kHz)·ω^(1−n)/sin(nπ/2)");
            let w = TAU * 1000.0;
            Ok(Coil::Lossy { k: le * w.powf(1.0 - n) / (n * FRAC_PI_2).sin(), n })
        })
    })
    .unwrap_or_else(|| {
        if it.bench().keeps_account {
            it.assume(format!("no inductance of the {}", role.word()));
        }
        Coil::Ideal
    })
}

pub(super) fn woofer_fs_hz(it: &mut Ledger<'_, '_>) -> Result<f64, Stop> {
    fs_hz(it, Woofer)
}

/// BL²/Re of one woofer, where both were found.
pub(super) fn motor_strength(it: &mut Ledger<'_, '_>) -> Result<f64, Stop> {
    let (bl, re) = (it.number(Woofer, "bl"), re_ohm(it, Woofer));
    it.by("BL²/Re");
    let bl = bl?;
    Ok(crate::error::positive("motor_n_s_m", bl * bl / crate::error::positive("re_ohm", re?)?)?)
}

/// Linear excursion one way, m: as recorded, else the overhang of the winding.
pub(super) fn xmax_m(it: &mut Ledger<'_, '_>, role: Role) -> Result<f64, Stop> {
    it.first_of(&[&|it| it.number(role, "xmax"), &|it| {
        let (winding, gap) = (it.number(role, "vc_h")?, it.number(role, "gap_h")?);
        it.by("Xmax = |winding height − gap height|/2");
        Ok((winding - gap).abs() / 2.0)
    }])
}
