//! What the crossover does, from the parts list that was traced, with the drivers as loads.

use std::cell::OnceCell;

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
    Air, PhysicsError,
    crossover::{
        Options, Order, attenuation_db, capacitor_loss_db, electrical_order,
        landmarks::{Landmarks, Readings},
        series_loss_db,
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

/// The parts list, if it was traced; the question does not apply where there is no network.
fn parts_list<'d>(it: &mut Ledger<'d, '_>) -> Result<&'d [domain::network::Element], Stop> {
    let Some(list) = it.dossier().network() else {
        return Err(match it.optional(&|it| it.choice(Crossover, "present")) {
            Some("none") => Stop::NotApplicable("there is no network".into()),
            _ => it.lacks(Crossover, "parts"),
        });
    };
    it.rests_on(format_args!("crossover.parts"), Evidence::Inspected);
    Ok(list)
}

/// The parts list as a circuit, with the drivers as loads.
fn traced(it: &mut Ledger<'_, '_>) -> Result<Network, Stop> {
    let list = parts_list(it)?;
    it.by("nodal analysis of the network (Ho, Ruehli, Brennan 1975)");
    let mut parts = Vec::with_capacity(list.len());
    for (place, of) in list.iter().enumerate() {
        parts.push(part(it, list, place, of)?);
    }
    joined(list, parts, &it.bench().inputs.network)
}

/// The parts between their nodes. How they are joined is the same in every pass, so it is worked out once and `kept`.
fn joined(
    list: &[domain::network::Element],
    parts: Vec<Part>,
    kept: &OnceCell<Network>,
) -> Result<Network, Stop> {
    if let Some(network) = kept.get() {
        let mut parts = parts.into_iter();
        return Ok(network.with_parts(|same| parts.next().unwrap_or(same.part))?);
    }
    let mut elements = Vec::with_capacity(list.len());
    for (of, part) in list.iter().zip(parts) {
        // The first of a way carries its name; the others only load the network.
        let name = of.part.map_or(of.name.as_str(), |it| way(it.role));
        let taken = elements.iter().any(|it: &Element| it.name == name);
        let name = if taken { of.name.clone() } else { name.to_owned() };
        elements.push(Element { name, part, nodes: [of.from.clone(), of.to.clone()] });
    }
    let network = Network::new(elements)?;
    // The nominal pass comes first; a second one would set the same.
    let _ = kept.set(network.clone());
    Ok(network)
}

/// One part with the values that this pass gives it.
fn part(
    it: &mut Ledger<'_, '_>,
    list: &[domain::network::Element],
    place: usize,
    of: &domain::network::Element,
) -> Result<Part, Stop> {
    let (value, loss) = it.bench().inputs.parts().get(place).copied().unwrap_or_default();
    let mut moved = |nominal: Option<f64>, variable: Option<usize>| {
        nominal.map(|nominal| nominal + variable.map_or(0.0, |variable| it.moved(variable)))
    };
    let amount = moved(of.value_si, value);
    // The rounding of a small resistance has no side below 0.
    let resistance = moved(of.loss_ohm, loss).map(|it| it.max(0.0));
    if of.kind != ElementKind::Driver && it.bench().keeps_account {
        if of.tolerance.is_none() {
            it.assume("part tolerances of 10 %, resistors 5 %");
        }
        if of.kind != ElementKind::Resistor && of.loss_ohm.is_none() {
            it.assume(format!("no loss in {}", of.name));
        }
    }
    match (of.kind, amount, of.part) {
        (ElementKind::Resistor, Some(ohm), _) => Ok(Part::Resistor { ohm }),
        (ElementKind::Capacitor, Some(farad), _) => {
            Ok(Part::Capacitor { farad, esr_ohm: resistance })
        }
        (ElementKind::Inductor, Some(henry), _) => {
            Ok(Part::Inductor { henry, dcr_ohm: resistance })
        }
        (ElementKind::Driver, _, Some(driver)) => {
            let role = driver.role;
            let of_role = list.iter().filter(|it| it.part.is_some_and(|it| it.role == role));
            let count = u32::try_from(of_role.count()).unwrap_or(u32::MAX);
            Ok(Part::Driver(driver_load(it, role, count)?))
        }
        _ => Err(Stop::Refused(PhysicsError::Missing { field: format!("value of {}", of.name) })),
    }
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

/// The resistance that another way than the woofer has for direct current, ohm; behind its capacitor it does not count.
const OTHER_WAYS_OHM: f64 = 6.0;

/// The network with each driver as a resistor: what is left of it near direct current, and far from every corner.
fn conducting(it: &mut Ledger<'_, '_>) -> Result<Network, Stop> {
    let list = parts_list(it)?;
    let re = enclosure::group_re_ohm(it)?;
    let mut parts = Vec::with_capacity(list.len());
    for (place, of) in list.iter().enumerate() {
        parts.push(conducting_part(it, place, of, re)?);
    }
    joined(list, parts, &it.bench().inputs.conducting)
}

/// Resistance of the network in series with the woofers, ohm, for low frequencies: coils conduct, capacitors do not.
pub(super) fn woofer_series_ohm(it: &mut Ledger<'_, '_>) -> Result<f64, Stop> {
    it.shared("woofer series resistance", |it| {
        let network = it.shared("conducting network", conducting)?;
        let re = enclosure::group_re_ohm(it)?;
        it.by("Rg = Re·(1/|H| − 1) near direct current");
        let place = network.driver_index(way(Woofer))?;
        let solution = network.solve(NEAR_DC_HZ, &it.bench().inputs.air)?;
        let share = solution.h.get(place).map_or(0.0, |h| h.norm());
        Ok(crate::error::finite("rg_ohm", re * (1.0 / share - 1.0))?.max(0.0))
    })
    .map(|it| *it)
}

/// A part near direct current: only resistances matter, so only they are moved.
fn conducting_part(
    it: &mut Ledger<'_, '_>,
    place: usize,
    of: &domain::network::Element,
    woofer_ohm: f64,
) -> Result<Part, Stop> {
    let (value, loss) = it.bench().inputs.parts().get(place).copied().unwrap_or_default();
    let moved = |it: &mut Ledger<'_, '_>, variable: Option<usize>| {
        variable.map_or(0.0, |variable| it.moved(variable))
    };
    match (of.kind, of.value_si, of.part) {
        (ElementKind::Resistor, Some(ohm), _) => Ok(Part::Resistor { ohm: ohm + moved(it, value) }),
        (ElementKind::Capacitor, Some(farad), _) => Ok(Part::Capacitor { farad, esr_ohm: None }),
        (ElementKind::Inductor, Some(henry), _) => {
            let loss_ohm = of.loss_ohm.map(|ohm| (ohm + moved(it, loss)).max(0.0));
            Ok(Part::Inductor { henry, dcr_ohm: loss_ohm })
        }
        (ElementKind::Driver, _, Some(driver)) => {
            let ohm = if driver.role == Woofer { woofer_ohm } else { OTHER_WAYS_OHM };
            Ok(Part::Driver(Load::Resistor(ohm)))
        }
        _ => Err(Stop::Refused(PhysicsError::Missing { field: format!("value of {}", of.name) })),
    }
}

/// Figures of the audio band by a whole survey, in the nominal pass.
fn survey(it: &mut Ledger<'_, '_>) -> Result<Readings, Stop> {
    let network = it.shared("network", traced)?;
    let inputs = it.bench().inputs;
    let (landmarks, readings) = Landmarks::of(&network, &Options::default(), &inputs.air)?;
    // The nominal pass comes first; a second one would set the same.
    let _ = inputs.landmarks.set(landmarks);
    Ok(readings)
}

/// One figure: of the survey in the nominal pass, read again where it lay in the others.
fn figure<T: Clone + 'static>(
    it: &mut Ledger<'_, '_>,
    surveyed: fn(&Readings) -> T,
    again: fn(&Landmarks, &Network, &Air) -> crate::Result<T>,
) -> Result<T, Stop> {
    let inputs = it.bench().inputs;
    match inputs.landmarks.get().filter(|_| !it.bench().keeps_account) {
        Some(landmarks) => {
            let network = it.shared("network", traced)?;
            Ok(again(landmarks, &network, &inputs.air)?)
        }
        None => Ok(surveyed(&*it.shared("survey", survey)?)),
    }
}

fn crossings(it: &mut Ledger<'_, '_>) -> Result<Vec<(&'static str, f64)>, Stop> {
    figure(it, |it| it.crossings.clone(), Landmarks::crossings)
}

/// A metric that does not exist for this product.
fn absent(what: &str) -> Stop {
    Stop::NotApplicable(what.to_owned())
}

fn crossing(
    it: &mut Ledger<'_, '_>,
    of: fn(&[(&'static str, f64)]) -> Option<f64>,
) -> Result<f64, Stop> {
    let crossings = it.shared("crossings", crossings)?;
    it.assume("crossing of the voltages, without the drivers' levels");
    of(&crossings).ok_or_else(|| absent("no two ways cross"))
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
    let network = it.shared("conducting network", conducting)?;
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
    figure(it, |it| it.ripple_db, Landmarks::ripple_db)
}

pub(super) fn z_min_ohm(it: &mut Ledger<'_, '_>) -> Result<f64, Stop> {
    figure(it, |it| it.z_min_ohm, Landmarks::z_min_ohm)
}

pub(super) fn r_pd_min_ohm(it: &mut Ledger<'_, '_>) -> Result<f64, Stop> {
    it.by("equivalent peak-dissipation resistance (Benjamin 1994)");
    figure(it, |it| it.r_pd_min_ohm, Landmarks::r_pd_min_ohm)
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
