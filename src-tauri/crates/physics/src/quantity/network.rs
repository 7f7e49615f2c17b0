//! What the crossover does, from the parts list that was traced, with the drivers as loads.

use domain::{
    evidence::Evidence,
    network::ElementKind,
    part::Role::{self, Crossover, Midrange, Tweeter, Woofer},
};

use super::{
    circuit,
    driver::{coil, electrical_image, fs_hz, re_ohm},
    enclosure,
    ledger::{Ledger, Stop},
};
use crate::{
    PhysicsError,
    crossover::{
        Options, Order, Survey, attenuation_db, capacitor_loss_db, electrical_order, meeting,
        pairs, series_loss_db,
    },
    lumped::{Enclosure, MountedDriver},
    network::{Element, Load, Network, Part},
    piston,
};

/// Where the loss in series resistance is read, Hz: above the bass peak of the impedance, below the coil's rise.
const LOSS_HZ: f64 = 100.0;
/// Where the loss in the tweeter's capacitors is read, Hz.
const TREBLE_HZ: f64 = 10_000.0;
/// So low that coils conduct, Hz.
const NEAR_DC_HZ: f64 = 1.0;
/// The angle off axis at which the crossover is judged, degrees.
const OFF_AXIS_DEG: f64 = 30.0;

/// The name by which the solver knows a way.
fn way(role: Role) -> &'static str {
    match role {
        Midrange => "mid",
        other => other.word(),
    }
}

/// The parts list as a circuit, with the drivers as `load` makes them.
fn circuit_with(
    it: &mut Ledger<'_, '_>,
    load: fn(&mut Ledger<'_, '_>, Role, u32) -> Result<Load, Stop>,
) -> Result<Network, Stop> {
    let Some(parts) = it.dossier().network() else {
        return Err(match it.optional(&|it| it.choice(Crossover, "present")) {
            Some("none") => Stop::NotApplicable("there is no network".into()),
            _ => it.lacks(Crossover, "parts"),
        });
    };
    it.rests_on(format_args!("crossover.parts"), Evidence::Inspected);
    let mut seen = Vec::new();
    let mut elements = Vec::with_capacity(parts.len());
    for (place, of) in parts.iter().enumerate() {
        let (value, loss) = it.bench().inputs.parts().get(place).copied().unwrap_or_default();
        let mut moved = |nominal: Option<f64>, variable: Option<usize>| {
            nominal.map(|it_is| it_is + variable.map_or(0.0, |variable| it.moved(variable)))
        };
        let amount = moved(of.value_si, value);
        let resistance = moved(of.loss_ohm, loss).map(|it| it.max(0.0));
        let (name, part) = match (of.kind, amount, of.part) {
            (ElementKind::Resistor, Some(ohm), _) => (of.name.clone(), Part::Resistor { ohm }),
            (ElementKind::Capacitor, Some(farad), _) => {
                (of.name.clone(), Part::Capacitor { farad, esr_ohm: resistance })
            }
            (ElementKind::Inductor, Some(henry), _) => {
                (of.name.clone(), Part::Inductor { henry, dcr_ohm: resistance })
            }
            (ElementKind::Driver, _, Some(driver)) => {
                let role = driver.role;
                let elements_of_role =
                    parts.iter().filter(|it| it.part.is_some_and(|it| it.role == role));
                let count = u32::try_from(elements_of_role.count()).unwrap_or(u32::MAX);
                // The first of a way carries its name; the others only load the network.
                let name =
                    if seen.contains(&role) { of.name.clone() } else { way(role).to_owned() };
                seen.push(role);
                (name, Part::Driver(load(it, role, count)?))
            }
            _ => {
                return Err(Stop::Refused(PhysicsError::Missing {
                    field: format!("value of {}", of.name),
                }));
            }
        };
        if matches!(of.kind, ElementKind::Capacitor | ElementKind::Inductor)
            && of.loss_ohm.is_none()
            && it.bench().keeps_account
        {
            it.assume(format!("no loss in {}", of.name));
        }
        if of.tolerance.is_none() && of.kind != ElementKind::Driver {
            it.assume("part tolerances of 10 %, resistors 5 %");
        }
        elements.push(Element { name, part, nodes: [of.from.clone(), of.to.clone()] });
    }
    it.by("nodal analysis of the network (Ho, Ruehli, Brennan 1975)");
    Ok(Network::new(elements)?)
}

/// A way's driver as the network sees it; `elements` is how many elements of the list are drivers of that role.
fn driver_load(it: &mut Ledger<'_, '_>, role: Role, elements: u32) -> Result<Load, Stop> {
    if role == Woofer
        && let Some(load) = it.optional(&|it| woofer_in_its_box(it, elements))
    {
        return Ok(Load::Driver(load));
    }
    if let Some(params) = it.optional(&|it| electrical_image(it, role)) {
        let coil = coil(it, role);
        let mut driver = MountedDriver { params, coil, enclosure: Enclosure::Free };
        if role == Woofer && elements < 2 {
            it.assume("woofer in free air");
            let n = enclosure::units(it)?;
            let wiring = enclosure::wired(it, n)?;
            driver.params = crate::driver_group::group(&params, n, wiring)?;
        }
        return Ok(Load::Driver(driver));
    }
    let re = re_ohm(it, role)?;
    if it.bench().keeps_account {
        it.assume(format!("{} as a resistor", role.word()));
    }
    Ok(Load::Resistor(re))
}

/// One element stands for all woofers; several stand for one each, which share the box.
fn woofer_in_its_box(it: &mut Ledger<'_, '_>, elements: u32) -> Result<MountedDriver, Stop> {
    let group = *it.shared("mounted", circuit::mounted)?;
    if elements < 2 {
        return Ok(group);
    }
    let share = f64::from(elements);
    let enclosure = match group.enclosure {
        Enclosure::Free => Enclosure::Free,
        Enclosure::Closed { vb_m3, ql } => Enclosure::Closed { vb_m3: vb_m3 / share, ql },
        Enclosure::Vented { vb_m3, fb_hz, ql } => {
            Enclosure::Vented { vb_m3: vb_m3 / share, fb_hz, ql }
        }
    };
    let params = super::driver::params(it, Woofer)?;
    Ok(MountedDriver { params, coil: coil(it, Woofer), enclosure })
}

/// A way's driver as the resistance that it has for direct current.
fn resistor_load(it: &mut Ledger<'_, '_>, role: Role, elements: u32) -> Result<Load, Stop> {
    let re = if role == Woofer && elements < 2 {
        enclosure::group_re_ohm(it)?
    } else {
        re_ohm(it, role)?
    };
    Ok(Load::Resistor(re))
}

fn traced(it: &mut Ledger<'_, '_>) -> Result<Network, Stop> {
    circuit_with(it, driver_load)
}

/// Resistance of the network in series with the woofers, ohm, for low frequencies.
pub(super) fn woofer_series_ohm(it: &mut Ledger<'_, '_>) -> Result<f64, Stop> {
    it.shared("woofer series resistance", |it| {
        let network = circuit_with(it, resistor_load)?;
        let place = network.driver_index(way(Woofer))?;
        let re = enclosure::group_re_ohm(it)?;
        let solution = network.solve(NEAR_DC_HZ, &it.bench().inputs.air)?;
        let share = solution.h.get(place).map_or(0.0, |h| h.norm());
        it.by("Rg = Re·(1/|H| − 1) near direct current");
        Ok(crate::error::finite("rg_ohm", re * (1.0 / share - 1.0))?.max(0.0))
    })
    .map(|it| *it)
}

/// What one survey of the audio band gives.
#[derive(Debug)]
struct Metrics {
    z_min_ohm: f64,
    r_pd_min_ohm: f64,
    /// Crossings of neighbouring ways, from the lowest, with the upper way of each.
    crossings: Vec<(&'static str, f64)>,
    ripple_db: f64,
}

fn metrics(it: &mut Ledger<'_, '_>) -> Result<Metrics, Stop> {
    let network = it.shared("network", traced)?;
    let options = Options::default();
    let mut survey = Survey::new(&network, &it.bench().inputs.air)?;
    let z_min_ohm = survey.minimum_impedance()?.z_ohm;
    let r_pd_min_ohm = survey.worst_peak_dissipation()?.r_pd_ohm;
    let mut crossings = Vec::new();
    for pair in pairs(&network) {
        if let Some(it) = meeting(&mut survey, pair, &options)? {
            crossings.push((pair[1], it.f_hz));
        }
    }
    let mut ripple_db = 0.0;
    for (place, name) in network.drivers().enumerate() {
        if let Some(passband_hz) = options.passband_of(name) {
            ripple_db = survey.ripple_db(place, passband_hz)?.max(ripple_db);
        }
    }
    Ok(Metrics { z_min_ohm, r_pd_min_ohm, crossings, ripple_db })
}

/// A metric that does not exist for this product.
fn absent(what: &str) -> Stop {
    Stop::NotApplicable(what.to_owned())
}

fn crossing(
    it: &mut Ledger<'_, '_>,
    of: fn(&[(&'static str, f64)]) -> Option<f64>,
) -> Result<f64, Stop> {
    let metrics = it.shared("metrics", metrics)?;
    it.assume("crossing of the voltages, without the drivers' levels");
    of(&metrics.crossings).ok_or_else(|| absent("no two ways cross"))
}

/// Between the woofer and the way above it.
pub(super) fn fx_low_hz(it: &mut Ledger<'_, '_>) -> Result<f64, Stop> {
    crossing(it, |all| all.first().map(|(_, f_hz)| *f_hz))
}

/// Between the tweeter and the way below it.
pub(super) fn fx_high_hz(it: &mut Ledger<'_, '_>) -> Result<f64, Stop> {
    crossing(it, |all| all.iter().find(|(upper, _)| *upper == way(Tweeter)).map(|(_, f_hz)| *f_hz))
}

/// Electrical order of a way. It follows from how the parts are joined, so no tolerance moves it.
fn order(it: &mut Ledger<'_, '_>, role: Role) -> Result<f64, Stop> {
    let network = it.shared("network", traced)?;
    it.settled();
    it.by("slope of the idealised network, far from every corner");
    match electrical_order(&network, way(role), &it.bench().inputs.air) {
        Ok(Order::One(n)) => Ok(f64::from(n)),
        Ok(_) => Err(absent("its slope is no whole order")),
        Err(PhysicsError::Missing { .. }) => Err(absent("there is no such driver in the network")),
        Err(why) => Err(why.into()),
    }
}

pub(super) fn woofer_order(it: &mut Ledger<'_, '_>) -> Result<f64, Stop> {
    order(it, Woofer)
}

pub(super) fn tweeter_order(it: &mut Ledger<'_, '_>) -> Result<f64, Stop> {
    order(it, Tweeter)
}

/// The greatest peak above the passband of any way.
pub(super) fn ripple_db(it: &mut Ledger<'_, '_>) -> Result<f64, Stop> {
    Ok(it.shared("metrics", metrics)?.ripple_db)
}

pub(super) fn z_min_ohm(it: &mut Ledger<'_, '_>) -> Result<f64, Stop> {
    Ok(it.shared("metrics", metrics)?.z_min_ohm)
}

pub(super) fn r_pd_min_ohm(it: &mut Ledger<'_, '_>) -> Result<f64, Stop> {
    it.by("equivalent peak-dissipation resistance (Benjamin 1994)");
    Ok(it.shared("metrics", metrics)?.r_pd_min_ohm)
}

pub(super) fn tweeter_margin_oct(it: &mut Ledger<'_, '_>) -> Result<f64, Stop> {
    let (fx, fs) = (fx_high_hz(it), fs_hz(it, Tweeter));
    it.by("log₂(fx/fs)");
    let ratio = fx? / crate::error::positive("fs_hz", fs?)?;
    Ok(crate::error::positive("fx_hz", ratio)?.log2())
}

pub(super) fn tweeter_attenuation_db(it: &mut Ledger<'_, '_>) -> Result<f64, Stop> {
    let (network, fs) = (it.shared("network", traced), fs_hz(it, Tweeter));
    let (network, fs) = (network?, fs?);
    of_way(attenuation_db(&network, way(Tweeter), fs, TREBLE_HZ, &it.bench().inputs.air))
}

/// Level at the woofer lost to the resistance of coils and capacitors.
pub(super) fn woofer_loss_db(it: &mut Ledger<'_, '_>) -> Result<f64, Stop> {
    let network = it.shared("network", traced)?;
    of_way(series_loss_db(&network, way(Woofer), LOSS_HZ, &it.bench().inputs.air))
}

/// Level at the tweeter lost to the resistance of capacitors.
pub(super) fn tweeter_cap_loss_db(it: &mut Ledger<'_, '_>) -> Result<f64, Stop> {
    let network = it.shared("network", traced)?;
    of_way(capacitor_loss_db(&network, way(Tweeter), TREBLE_HZ, &it.bench().inputs.air))
}

/// A way that is not there is no question.
fn of_way(outcome: crate::Result<f64>) -> Result<f64, Stop> {
    outcome.map_err(|why| match why {
        PhysicsError::Missing { .. } => absent("there is no such driver in the network"),
        other => other.into(),
    })
}

/// How far the coil's own corner lies above (over 1) or below the crossover.
pub(super) fn f_le_ratio(it: &mut Ledger<'_, '_>) -> Result<f64, Stop> {
    let (re, le, fx) = (re_ohm(it, Woofer), it.number(Woofer, "le_1k"), fx_low_hz(it));
    it.by("f = Re/(2π·Le(1 kHz))");
    let corner = crate::error::positive("re_ohm", re?)?
        / (std::f64::consts::TAU * crate::error::positive("le_1k", le?)?);
    Ok(corner / crate::error::positive("fx_hz", fx?)?)
}

/// Level 30° off axis against the axis at the crossover, the worst way that has a crossover above it.
pub(super) fn off_axis_db(it: &mut Ledger<'_, '_>) -> Result<f64, Stop> {
    let (fx, sd) = (fx_low_hz(it), it.number(Woofer, "sd"));
    it.by("piston in an infinite baffle, 2·J₁(x)/x");
    let woofer = directivity_db(it, sd?, fx?)?;
    let three_way = it.dossier().product.ways >= 3;
    if !three_way {
        return Ok(woofer);
    }
    let (fx, sd) = (fx_high_hz(it), it.number(Midrange, "sd"));
    Ok(woofer.min(directivity_db(it, sd?, fx?)?))
}

fn directivity_db(it: &mut Ledger<'_, '_>, sd_m2: f64, f_hz: f64) -> Result<f64, Stop> {
    let air = it.air();
    Ok(piston::directivity(sd_m2, f_hz, OFF_AXIS_DEG, &air)?.level_db()?)
}
