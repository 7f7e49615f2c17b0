//! Networks: check circuits against two independent solvers, relations that must hold, refusals.

use std::f64::consts::{FRAC_1_PI, TAU};

use num_complex::Complex64;
use physics::air::AIR20;
use physics::driver::DriverParams;
use physics::lumped::{Coil, Enclosure, MountedDriver};
use physics::network::{Element, Load, Network, Part};
use physics::{PhysicsError, Result};
use proptest::prelude::*;

use crate::drivers::{T1, W1};
use crate::tolerance::{near, within};

/// Half a unit of the last of nine digits printed, for the inputs are printed to nine as well.
const NINE_DIGITS: f64 = 5e-9;
/// The same of seven digits.
const SEVEN_DIGITS: f64 = 5e-7;
/// The same of six digits.
const SIX_DIGITS: f64 = 5e-6;

pub(crate) fn part(name: &str, part: Part, from: &str, to: &str) -> Element {
    Element { name: name.to_owned(), part, nodes: [from.to_owned(), to.to_owned()] }
}

pub(crate) fn r(name: &str, ohm: f64, from: &str, to: &str) -> Element {
    part(name, Part::Resistor { ohm }, from, to)
}

pub(crate) fn c(name: &str, microfarad: f64, esr: f64, from: &str, to: &str) -> Element {
    part(name, Part::Capacitor { farad: microfarad * 1e-6, esr_ohm: Some(esr) }, from, to)
}

pub(crate) fn l(name: &str, millihenry: f64, dcr: f64, from: &str, to: &str) -> Element {
    part(name, Part::Inductor { henry: millihenry * 1e-3, dcr_ohm: Some(dcr) }, from, to)
}

pub(crate) fn free(params: DriverParams) -> MountedDriver {
    let coil = params.le_h.map_or(Coil::Ideal, |le_h| Coil::Inductance { le_h });
    MountedDriver { params, coil, enclosure: Enclosure::Free }
}

pub(crate) fn driver(name: &str, params: DriverParams, from: &str, to: &str) -> Element {
    part(name, Part::Driver(Load::Driver(free(params))), from, to)
}

pub(crate) fn load(name: &str, ohm: f64, from: &str, to: &str) -> Element {
    part(name, Part::Driver(Load::Resistor(ohm)), from, to)
}

pub(crate) fn db(h: Complex64) -> f64 {
    20.0 * h.norm().log10()
}

/// A first-order high-pass: 10 µF into 8 ohm.
fn c1() -> Network {
    Network::new(vec![c("C1", 10.0, 0.0, "in", "a"), load("tweeter", 8.0, "a", "0")])
        .expect("a sound network")
}

/// A second-order Linkwitz-Riley high-pass for 2500 Hz, then a pad of 6 dB.
fn c2() -> Network {
    Network::new(vec![
        c("C1", 3.97887358, 0.0, "in", "a"),
        l("L1", 1.01859164, 0.0, "a", "0"),
        r("R1", 3.99050213, "a", "b"),
        r("R2", 8.0380819, "b", "0"),
        load("tweeter", 8.0, "b", "0"),
    ])
    .expect("a sound network")
}

/// A third-order Butterworth high-pass meant for 3000 Hz and 8 ohm, into what `tweeter` is.
fn c3(dcr: f64, tweeter: Element) -> Network {
    Network::new(vec![
        c("C1", 4.42097064, 0.0, "in", "a"),
        l("L1", FRAC_1_PI, dcr, "a", "0"),
        c("C2", 13.2629119, 0.0, "a", "b"),
        tweeter,
    ])
    .expect("a sound network")
}

/// Parts of a two-way with losses and two real drivers.
pub(crate) fn c4_parts() -> Vec<Element> {
    vec![
        l("L1", 1.2, 0.4, "in", "w"),
        c("C1", 10.0, 0.05, "w", "0"),
        driver("woofer", W1, "w", "0"),
        c("C2", 5.6, 0.03, "in", "a"),
        l("L2", 0.3, 0.35, "a", "0"),
        c("C3", 15.0, 0.03, "a", "b"),
        r("R1", 2.2, "b", "t"),
        r("R2", 10.0, "t", "0"),
        driver("tweeter", T1, "t", "0"),
    ]
}

pub(crate) fn c4() -> Network {
    Network::new(c4_parts()).expect("a sound network")
}

/// ngspice and scikit-rf agree to nine digits.
#[test]
fn chk_5_3_capacitor_into_a_resistor() {
    let rows = [
        (500.0, -12.2612114, 75.8922, 32.8209055),
        (1989.43679, -3.01029996, 45.0, 11.3137085),
        (8000.0, -0.260597124, 13.96502, 8.24365567),
    ];
    for (f_hz, h_db, phase_deg, z_ohm) in rows {
        let it = c1().solve(f_hz, &AIR20).unwrap();
        near(db(it.h[0]), h_db, NINE_DIGITS);
        near(it.h[0].arg().to_degrees(), phase_deg, SIX_DIGITS);
        near(it.z.norm(), z_ohm, NINE_DIGITS);
    }
}

/// ngspice and scikit-rf agree to nine digits; the node before the pad is the identity of the
/// alignment, −20·log10 2 dB at its frequency.
#[test]
fn chk_5_4_linkwitz_riley_and_pad() {
    let rows = [
        (250.0, -46.0864275, 168.5788, 158.461837),
        (2500.0, -12.0205999, 90.0, 14.3108351),
        (20_000.0, -6.13466765, 14.25003, 8.1091772),
    ];
    for (f_hz, h_db, phase_deg, z_ohm) in rows {
        let it = c2().solve(f_hz, &AIR20).unwrap();
        near(db(it.h[0]), h_db, NINE_DIGITS);
        near(it.h[0].arg().to_degrees(), phase_deg, SIX_DIGITS);
        near(it.z.norm(), z_ohm, NINE_DIGITS);
    }
    let probe = [
        c("C1", 3.97887358, 0.0, "in", "a"),
        l("L1", 1.01859164, 0.0, "a", "0"),
        load("before", 8.0, "a", "0"),
    ];
    let it = Network::new(probe.to_vec()).unwrap().solve(2500.0, &AIR20).unwrap();
    near(db(it.h[0]), -6.02059991, NINE_DIGITS);
}

/// ngspice and scikit-rf agree to nine digits.
#[test]
fn chk_5_5_textbook_parts_into_a_tweeter() {
    let network = c3(0.35, driver("tweeter", T1, "b", "0"));
    let rows = [
        (300.0, -61.1507024, 119.396108),
        (901.037435, -27.6119548, 38.1390831),
        (3000.0, -5.35756615, 10.1075941),
        (12_000.0, 2.51187515, 4.26247224),
    ];
    for (f_hz, h_db, z_ohm) in rows {
        let it = network.solve(f_hz, &AIR20).unwrap();
        near(db(it.h[0]), h_db, NINE_DIGITS);
        near(it.z.norm(), z_ohm, NINE_DIGITS);
    }
    for (f_hz, phase_deg) in [(3000.0, 122.0081), (12_000.0, 42.85701)] {
        let it = network.solve(f_hz, &AIR20).unwrap();
        near(it.h[0].arg().to_degrees(), phase_deg, SIX_DIGITS);
    }
}

#[test]
fn chk_5_5_the_same_parts_into_8_ohm() {
    let network = c3(0.0, load("tweeter", 8.0, "b", "0"));
    for (f_hz, h_db) in [(300.0, -60.0000043), (3000.0, -3.01029996)] {
        near(db(network.solve(f_hz, &AIR20).unwrap().h[0]), h_db, NINE_DIGITS);
    }
    within(db(network.solve(12_000.0, &AIR20).unwrap().h[0]), -0.00106015985, NINE_DIGITS);
}

/// ngspice agrees to nine digits.
#[test]
fn chk_5_6_two_way() {
    let rows = [
        (20.0, -0.389570812, -115.714461, 9.14510068, 40.76783),
        (42.6641327, -0.0630613472, -102.370406, 48.7559642, -11.10817),
        (200.0, -0.159107826, -72.1467095, 5.8637906, -5.661764),
        (1000.0, -3.77667595, -29.1454989, 14.7084406, 24.21337),
        (2000.0, -1.75251101, -13.7573492, 11.2533572, -33.02639),
        (3000.0, -5.34102529, -7.79404078, 9.62103298, -20.48038),
        (5000.0, -18.9868202, -5.78359534, 7.34031696, -23.77821),
        (20_000.0, -45.3890301, -2.29043342, 5.98306895, 13.53676),
    ];
    let frequencies: Vec<f64> = rows.iter().map(|it| it.0).collect();
    let solutions = c4().solve_many(&frequencies, &AIR20).unwrap();
    for ((_, woofer_db, tweeter_db, z_ohm, phase_deg), it) in rows.into_iter().zip(solutions) {
        near(db(it.h[0]), woofer_db, NINE_DIGITS);
        near(db(it.h[1]), tweeter_db, NINE_DIGITS);
        near(it.z.norm(), z_ohm, NINE_DIGITS);
        near(it.z.arg().to_degrees(), phase_deg, SEVEN_DIGITS);
    }
}

/// ESR from the loss factor, tan δ/(2πfC), and what it costs into 8 ohm at 10 kHz.
#[test]
fn chk_5_1_loss_of_a_lossy_capacitor() {
    for (tan_delta, esr_ohm, loss_db) in [(0.05, 0.7957747, 0.7950), (0.001, 0.0159155, 0.0166)] {
        let esr = tan_delta / (TAU * 1000.0 * 10e-6);
        near(esr, esr_ohm, SEVEN_DIGITS);
        let level = |esr| {
            let parts = vec![c("C1", 10.0, esr, "in", "a"), load("tweeter", 8.0, "a", "0")];
            db(Network::new(parts).unwrap().solve(10_000.0, &AIR20).unwrap().h[0])
        };
        within(level(0.0) - level(esr), loss_db, 6e-5);
    }
}

/// In its box a driver shows the box's impedance: fixed by the lumped circuit, not by the network.
#[test]
fn a_driver_in_its_box_loads_the_network_with_the_box() {
    let enclosure = Enclosure::Vented { vb_m3: 0.024, fb_hz: 42.0, ql: Some(7.0) };
    let params = DriverParams { le_h: None, ..W1 };
    let boxed = MountedDriver { params, coil: Coil::Ideal, enclosure };
    let parts =
        vec![r("R1", 1.0, "in", "a"), part("woofer", Part::Driver(Load::Driver(boxed)), "a", "0")];
    let it = Network::new(parts).unwrap().solve(42.0, &AIR20).unwrap();
    let zd = boxed.impedance(42.0, &AIR20);
    near(zd.norm(), 6.90213633, NINE_DIGITS);
    near((it.z - (zd + 1.0)).norm() + 1.0, 1.0, 1e-12);
    near((it.h[0] - zd / (zd + 1.0)).norm() + 1.0, 1.0, 1e-12);
}

#[test]
fn a_driver_between_two_live_nodes_keeps_its_polarity() {
    let bridge = |from: &str, to: &str| {
        Network::new(vec![
            r("R1", 1.0, "in", "a"),
            r("R2", 3.0, "a", "0"),
            r("R3", 3.0, "in", "b"),
            r("R4", 1.0, "b", "0"),
            load("mid", 1e9, from, to),
        ])
        .unwrap()
        .solve(1000.0, &AIR20)
        .unwrap()
        .h[0]
    };
    within(bridge("a", "b").re, 0.5, 1e-8);
    within(bridge("b", "a").re, -0.5, 1e-8);
}

#[test]
fn flags_name_ideal_and_unusual_parts() {
    let parts = vec![
        part("C1", Part::Capacitor { farad: 10e-9, esr_ohm: None }, "in", "a"),
        l("L1", 25.0, 0.0, "a", "0"),
        r("R1", 0.05, "a", "b"),
        load("tweeter", 8.0, "b", "0"),
    ];
    let flags = Network::new(parts).unwrap().flags();
    assert_eq!(flags.len(), 4, "{flags:?}");
    assert_eq!(flags[0], "ideal part: C1");
    assert_eq!(flags[1], "unusual value: C1 of 0.010 µF (usual: 0.1 to 500 µF)");
    assert!(flags[2].starts_with("unusual value: L1 of 25.000 mH"), "{flags:?}");
    assert!(flags[3].starts_with("unusual value: R1 of 0.050 ohm"), "{flags:?}");
    assert!(c4().flags().is_empty());
}

fn inconsistent(parts: Vec<Element>, name: &str) {
    let error = Network::new(parts).expect_err("a refusal");
    let named = matches!(&error, PhysicsError::Inconsistent { field, .. } if field == name);
    assert!(named, "{error} does not name {name}");
}

fn out_of_domain<T: std::fmt::Debug>(result: Result<T>, name: &str) {
    let error = result.expect_err("a refusal");
    let named = matches!(&error, PhysicsError::OutOfDomain { field, .. } if field == name);
    assert!(named, "{error} does not name {name}");
}

#[test]
fn parts_lists_that_cannot_be_solved_are_refused_by_part() {
    let sound = || vec![c("C1", 10.0, 0.0, "in", "a"), load("tweeter", 8.0, "a", "0")];
    let with = |extra: Vec<Element>| sound().into_iter().chain(extra).collect::<Vec<_>>();
    inconsistent(with(vec![r("C1", 1.0, "a", "0")]), "C1");
    inconsistent(with(vec![r("R1", 1.0, "a", "aa")]), "R1");
    inconsistent(with(vec![r("R1", 1.0, "x", "y"), r("R2", 1.0, "x", "y")]), "R1");
    inconsistent(with(vec![r("R1", 1.0, "a", "a")]), "R1");
    inconsistent(vec![load("tweeter", 8.0, "a", "0"), r("R1", 1.0, "a", "0")], "in");
    inconsistent(vec![load("tweeter", 8.0, "in", "a"), r("R1", 1.0, "in", "a")], "0");
    let halves = vec![
        r("R1", 1.0, "in", "a"),
        r("R2", 1.0, "in", "a"),
        r("R3", 1.0, "b", "0"),
        r("R4", 1.0, "b", "0"),
    ];
    inconsistent(halves, "0");
    inconsistent(Vec::new(), "in");
}

#[test]
fn values_out_of_domain_are_refused_by_part() {
    let network = |element: Element| {
        Network::new(vec![element, r("R9", 1.0, "a", "0"), load("tweeter", 8.0, "a", "0")])
    };
    for bad in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        out_of_domain(network(c("C1", bad, 0.0, "in", "a")), "C1.value");
        out_of_domain(network(l("L1", bad, 0.0, "in", "a")), "L1.value");
        out_of_domain(network(r("R1", bad, "in", "a")), "R1.value");
        out_of_domain(network(load("mid", bad, "in", "a")), "mid.load");
        out_of_domain(
            network(driver("mid", DriverParams { re_ohm: bad, ..W1 }, "in", "a")),
            "mid.re_ohm",
        );
    }
    for bad in [-0.1, f64::NAN, f64::INFINITY] {
        out_of_domain(network(c("C1", 1.0, bad, "in", "a")), "C1.esr");
        out_of_domain(network(l("L1", 1.0, bad, "in", "a")), "L1.dcr");
    }
    for bad in [0.0, -20.0, f64::NAN, f64::INFINITY] {
        out_of_domain(c1().solve(bad, &AIR20), "f_hz");
    }
    let many: Vec<Element> = (0..300)
        .map(|k| {
            let from = if k == 0 { "in".to_owned() } else { format!("n{k}") };
            let to = if k == 299 { "0".to_owned() } else { format!("n{}", k + 1) };
            r(&format!("R{k}"), 1.0, &from, &to)
        })
        .collect();
    out_of_domain(Network::new(many), "elements");
}

/// 1/(2π√LC) is exactly 1 Hz here, where the ideal branch shorts the source.
#[test]
fn a_resonance_without_loss_is_refused_not_returned() {
    let parts = vec![
        part("L1", Part::Inductor { henry: 1.0 / TAU, dcr_ohm: Some(0.0) }, "in", "a"),
        part("C1", Part::Capacitor { farad: 1.0 / TAU, esr_ohm: Some(0.0) }, "a", "0"),
    ];
    let network = Network::new(parts).unwrap();
    out_of_domain(network.solve(1.0, &AIR20), "f_hz");
    assert!(network.solve(2.0, &AIR20).is_ok());
}

/// A trap of L and C bridges `p` and `q`; at its resonance the admittances at the node between them
/// cancel, and the trap is a short: a plain divider remains.
#[test]
fn a_node_that_resonates_is_solved() {
    let network = Network::new(vec![
        r("R1", 2.0, "in", "p"),
        l("L1", 1.0, 0.0, "p", "middle"),
        c("C1", 10.0, 0.0, "middle", "q"),
        r("R2", 5.0, "p", "q"),
        load("mid", 8.0, "q", "0"),
    ])
    .unwrap();
    let f0 = 1.0 / (TAU * 1e-4);
    for off in [0.0, 1e-12, 1e-6, 1e-3, 0.1] {
        let f_hz = f0 * (1.0 + off);
        let trap = Complex64::new(0.0, TAU * f_hz * 1e-3 - 1.0 / (TAU * f_hz * 10e-6));
        let bridge = trap * 5.0 / (trap + 5.0);
        let it = network.solve(f_hz, &AIR20).unwrap();
        same(it.z, bridge + 10.0);
        same(it.h[0], 8.0 / (bridge + 10.0));
    }
}

/// Two real ways, joined as crossovers are, with every value free.
fn two_ways() -> impl Strategy<Value = Vec<Element>> {
    let value = || 0.05..20.0f64;
    let loss = || prop_oneof![Just(0.0), 0.01..2.0f64];
    (
        [value(), value(), value(), value(), value(), value()],
        [loss(), loss(), loss(), loss(), loss()],
        [0.1..50.0f64, 0.1..50.0],
    )
        .prop_map(|(v, loss, ohm)| {
            vec![
                l("L1", v[0], loss[0], "in", "w"),
                c("C1", 5.0 * v[1], loss[1], "w", "0"),
                driver("woofer", W1, "w", "0"),
                c("C2", v[2], loss[2], "in", "a"),
                l("L2", v[3], loss[3], "a", "0"),
                c("C3", 5.0 * v[4], loss[4], "a", "b"),
                l("L3", v[5], 0.1, "b", "t"),
                r("R1", ohm[0], "b", "t"),
                r("R2", ohm[1], "t", "0"),
                driver("tweeter", T1, "t", "0"),
            ]
        })
}

fn same(one: Complex64, other: Complex64) {
    let miss = (one - other).norm() / other.norm();
    assert!(miss <= 1e-9, "{one} is not {other}: relative difference {miss:e}");
}

proptest! {
    /// A passive circuit takes power and returns none.
    #[test]
    fn the_source_sees_no_negative_resistance(parts in two_ways(), decade in 1.0..4.5f64) {
        let z = Network::new(parts).unwrap().solve(10f64.powf(decade), &AIR20).unwrap().z;
        prop_assert!(z.re >= -1e-9 * z.norm(), "{z}");
    }

    #[test]
    fn the_order_of_the_parts_does_not_matter(
        (parts, mixed) in two_ways().prop_flat_map(|it| (Just(it.clone()), Just(it).prop_shuffle())),
        decade in 1.0..4.5f64,
    ) {
        let (one, other) = (Network::new(parts).unwrap(), Network::new(mixed).unwrap());
        let f_hz = 10f64.powf(decade);
        let (a, b) = (one.solve(f_hz, &AIR20).unwrap(), other.solve(f_hz, &AIR20).unwrap());
        same(a.z, b.z);
        for name in ["woofer", "tweeter"] {
            same(a.h[one.driver_index(name).unwrap()], b.h[other.driver_index(name).unwrap()]);
        }
    }

    #[test]
    fn the_names_of_the_nodes_do_not_matter(parts in two_ways(), decade in 1.0..4.5f64) {
        let mut renamed = parts.clone();
        for node in renamed.iter_mut().flat_map(|it| &mut it.nodes) {
            *node = match node.as_str() {
                "w" => "t".into(),
                "a" => "w".into(),
                "b" => "a node with spaces".into(),
                "t" => "1".into(),
                other => other.to_owned(),
            };
        }
        let f_hz = 10f64.powf(decade);
        let one = Network::new(parts).unwrap().solve(f_hz, &AIR20).unwrap();
        let other = Network::new(renamed).unwrap().solve(f_hz, &AIR20).unwrap();
        same(one.z, other.z);
        same(one.h[0], other.h[0]);
        same(one.h[1], other.h[1]);
    }

    /// Reciprocity: between two ports that end in 1 ohm each, the transfer is the same both ways.
    #[test]
    fn a_passive_two_port_is_reciprocal(
        v in [0.05..20.0f64, 0.05..20.0, 0.05..20.0],
        dcr in 0.0..2.0f64,
        decade in 1.0..4.5f64,
    ) {
        let transfer = |driven: &str, read: &str| {
            Network::new(vec![
                r("R1", 1.0, "in", driven),
                l("L1", v[0], dcr, "p", "m"),
                c("C1", v[1], 0.1, "m", "0"),
                driver("woofer", W1, "m", "q"),
                l("L2", v[2], 0.2, "q", "0"),
                r("R2", 3.0, "p", "0"),
                load("meter", 1.0, read, "0"),
            ])
            .unwrap()
            .solve(10f64.powf(decade), &AIR20)
            .unwrap()
            .h[1]
        };
        same(transfer("p", "q"), transfer("q", "p"));
    }
}
