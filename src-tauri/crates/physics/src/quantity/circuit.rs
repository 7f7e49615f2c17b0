//! How loud and how cleanly the bass plays: excursion, level, air speed in the port.

use domain::part::Role::{Cabinet, Whole, Woofer};

use super::{
    driver::{coil, xmax_m},
    enclosure,
    ledger::{Ledger, Stop},
};
use crate::{
    driver_group::Wiring,
    lumped::{Coil, Drive, Enclosure, MountedDriver},
};

/// The voltage at which the circuit is solved; it is linear, so any does.
const VOLTS: f64 = 2.83;
/// Power into the rated impedance up to which port noise counts, W (editorial).
const PORT_POWER_W: f64 = 20.0;
/// Where the output of the bass is compared, Hz (editorial).
const BASS_HZ: f64 = 50.0;

/// The woofers in their box with what drives them.
#[derive(Debug, Clone, Copy)]
pub(super) struct Circuit {
    pub(super) driver: MountedDriver,
    drive: Drive,
}

/// The woofer group in its box.
pub(super) fn mounted(it: &mut Ledger<'_, '_>) -> Result<MountedDriver, Stop> {
    let kind = it.choice(Cabinet, "box_type");
    let volume = it.number(Cabinet, "net_volume");
    let group = enclosure::group(it);
    let (kind, vb_m3, params) = (kind?, volume?, group?);
    let enclosure = match kind {
        "closed" => Enclosure::Closed { vb_m3, ql: None },
        "vented" => {
            Enclosure::Vented { vb_m3, fb_hz: enclosure::fb_hz(it)?, ql: Some(enclosure::ql(it)) }
        }
        other => {
            return Err(Stop::NotApplicable(format!("a box of type {other} is not modelled")));
        }
    };
    let coil = group_coil(it)?;
    let mounted = MountedDriver { params, coil, enclosure };
    mounted.check()?;
    Ok(mounted)
}

fn group_coil(it: &mut Ledger<'_, '_>) -> Result<Coil, Stop> {
    let n = enclosure::units(it)?;
    let times = match enclosure::wired(it, n)? {
        Wiring::Series => f64::from(n),
        Wiring::Parallel => 1.0 / f64::from(n),
    };
    Ok(match coil(it, Woofer) {
        Coil::Ideal => Coil::Ideal,
        Coil::Inductance { le_h } => Coil::Inductance { le_h: le_h * times },
        Coil::Lossy { k, n } => Coil::Lossy { k: k * times, n },
    })
}

fn circuit(it: &mut Ledger<'_, '_>) -> Result<Circuit, Stop> {
    let driver = *it.shared("mounted", mounted)?;
    let rg_ohm = enclosure::series_ohm(it);
    let port_area_m2 = match driver.enclosure {
        Enclosure::Vented { .. } => it.optional(&|it| Ok(enclosure::port(it)?.total_area_m2()?)),
        _ => None,
    };
    it.by("lumped circuit of driver and box (Small 1973)");
    Ok(Circuit { driver, drive: Drive { volts: VOLTS, rg_ohm, distance_m: 1.0, port_area_m2 } })
}

/// The voltage at which the cone reaches its linear travel somewhere above the tuning.
pub(super) fn v_limit_v(it: &mut Ledger<'_, '_>) -> Result<f64, Stop> {
    let (circuit, xmax) = (it.shared("circuit", circuit), xmax_m(it, Woofer));
    let (circuit, xmax) = (circuit?, xmax?);
    let air = it.air();
    it.by("V = 2.83 V·Xmax/x above the tuning");
    Ok(circuit.driver.excursion_limit(xmax, &circuit.drive, &air)?.volts)
}

pub(super) fn spl_50hz_db(it: &mut Ledger<'_, '_>) -> Result<f64, Stop> {
    let (circuit, limit) = (it.shared("circuit", circuit), it.shared("excursion limit", v_limit_v));
    let (circuit, limit) = (circuit?, limit?);
    let air = it.air();
    let level = circuit.driver.response(BASS_HZ, &circuit.drive, &air)?.spl_db;
    Ok(crate::error::finite("spl_50hz_db", level + 20.0 * (*limit / VOLTS).log10())?)
}

/// At the excursion limit, or at 20 W into the rated impedance where that comes first.
pub(super) fn port_velocity_m_s(it: &mut Ledger<'_, '_>) -> Result<f64, Stop> {
    enclosure::is_vented(it)?;
    let (circuit, limit) = (it.shared("circuit", circuit), it.shared("excursion limit", v_limit_v));
    let rated = it.number(Whole, "rated_z");
    // Named before the first gap stops, so that the list of what is missing is whole.
    let port = enclosure::port(it);
    let (circuit, limit, rated) = (circuit?, limit?, crate::error::positive("rated_z", rated?)?);
    port?;
    let air = it.air();
    let volts = limit.min((PORT_POWER_W * rated).sqrt());
    let (velocity, _) = circuit.driver.peak_port_velocity(&circuit.drive, &air)?;
    Ok(velocity * volts / VOLTS)
}
