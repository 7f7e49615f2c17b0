//! What crossovers do: figures of a two-way against an independent solver, closed forms, and relations
//! that must hold.

use std::collections::BTreeMap;
use std::f64::consts::{PI, TAU};

use physics::PhysicsError;
use physics::air::AIR20;
use physics::crossover::landmarks::Landmarks;
use physics::crossover::tolerance::shifts;
use physics::crossover::{
    Crossover, HALF_POWER_DB, Options, Order, Survey, attenuation_db, capacitor_loss_db, crossover,
    electrical_order, series_loss_db, slope_db_per_octave,
};
use physics::driver::DriverParams;
use physics::ladder::{Family, Side, ladder};
use physics::network::{Element, Network, Part};
use proptest::prelude::*;

use crate::drivers::{T1, W1};
use crate::network::{c, c4, c4_parts, db, driver, l, load, part, r};
use crate::tolerance::{OPTIMISED, REL, near, within};

fn names<T: Clone>(rows: &[(&str, T)]) -> BTreeMap<String, T> {
    rows.iter().map(|(name, value)| ((*name).to_owned(), value.clone())).collect()
}

/// The sensitivities that W1 and T1 have by their parameters, 1.43629 dB apart.
fn with_sensitivities() -> Options {
    let level = |params: DriverParams| params.derive(&AIR20).expect("a sound driver").spl_2v83_db;
    Options {
        sensitivity_db: names(&[("woofer", level(W1)), ("tweeter", level(T1))]),
        rated_z_ohm: Some(8.0),
        ..Options::default()
    }
}

fn figures(network: &Network, options: &Options) -> Crossover {
    crossover(network, options, &AIR20).expect("a network that can be solved")
}

/// Frequencies by root finding and minimisation on the same circuit in numpy and scipy; ngspice agrees
/// with the levels.
#[test]
fn chk_5_6_impedance_and_rating() {
    let it = figures(&c4(), &with_sensitivities());
    near(it.z_min_ohm, 5.4681415, REL);
    near(it.f_z_min_hz, 12_142.73, OPTIMISED);
    assert_eq!(it.rated_pass, Some(false));
    assert_eq!(it.highest_rating_ohm, Some(6.0));
    let six = Options { rated_z_ohm: Some(6.0), ..Options::default() };
    assert_eq!(figures(&c4(), &six).rated_pass, Some(true));
    assert_eq!(figures(&c4(), &Options::default()).rated_pass, None);
    near(it.r_pd_min_ohm, 3.1498900, REL);
    near(it.f_r_pd_min_hz, 93.3182, OPTIMISED);
    let there = c4().solve(93.3182, &AIR20).unwrap().z;
    near(there.norm(), 7.707597, OPTIMISED);
    near(there.arg().to_degrees(), -37.07595, OPTIMISED);
    near(c4().solve(208.41, &AIR20).unwrap().z.norm(), 5.8605, 1e-5);
}

#[test]
fn chk_5_6_crossing_by_voltage_and_by_level() {
    let voltages = figures(&c4(), &Options::default());
    assert_eq!(voltages.points.len(), 1);
    near(voltages.points[0].f_hz, 3214.84945, 1e-8);
    within(voltages.points[0].level_db, -7.419, 5e-4);
    assert_eq!(voltages.points[0].between, ["woofer", "tweeter"].map(str::to_owned));
    let alone = "woofer to tweeter: crossing of voltages alone".to_owned();
    assert!(voltages.flags.contains(&alone));
    let levels = figures(&c4(), &with_sensitivities());
    near(levels.points[0].f_hz, 3086.49371, 1e-8);
    assert!(!levels.flags.contains(&alone));
}

#[test]
fn chk_5_6_tweeter_protection() {
    let it = figures(&c4(), &with_sensitivities());
    near(it.tweeter_margin_octaves.unwrap(), 1.776310, REL);
    near(it.tweeter_attenuation_at_fs_db.unwrap(), -27.39066, REL);
    let fs_hz = T1.derive(&AIR20).unwrap().fs_hz;
    near(attenuation_db(&c4(), "tweeter", fs_hz, 10_000.0, &AIR20).unwrap(), -27.39066, REL);
    near(db(c4().solve(fs_hz, &AIR20).unwrap().h[1]), -30.87785, REL);
}

#[test]
fn chk_5_6_points_below_the_passband() {
    let it = figures(&c4(), &Options::default());
    let woofer = &it.crossings["woofer"];
    assert_eq!(woofer.db3.len(), 3, "{woofer:?}");
    for (got, want) in woofer.db3.iter().zip([768.138, 1644.1417, 2776.9389]) {
        near(*got, want, REL);
    }
    assert_eq!(woofer.db6.len(), 1);
    near(woofer.db6[0], 3085.2326, 5e-8);
    let tweeter = &it.crossings["tweeter"];
    assert_eq!((tweeter.db3.len(), tweeter.db6.len()), (1, 1));
    near(tweeter.db3[0], 4084.0374, 5e-8);
    near(tweeter.db6[0], 2499.9022, 5e-8);
    let flag = "woofer passes its half-power level at 768.1, 1644.1, 2776.9 Hz".to_owned();
    assert!(it.flags.contains(&flag), "{:?}", it.flags);
}

#[test]
fn chk_5_6_orders_by_measurement() {
    let it = figures(&c4(), &Options::default());
    assert_eq!(it.orders, names(&[("woofer", Order::One(2)), ("tweeter", Order::One(3))]));
    let ideal: Vec<Element> = c4_parts()
        .into_iter()
        .map(|it| match it.name.as_str() {
            "woofer" => load("woofer", W1.re_ohm, "w", "0"),
            "tweeter" => load("tweeter", T1.re_ohm, "t", "0"),
            _ => Element { part: it.part.without_loss(), ..it },
        })
        .collect();
    let ideal = Network::new(ideal).unwrap();
    let slope = |driver, octave| slope_db_per_octave(&ideal, driver, octave, &AIR20).unwrap();
    // mpmath with 40 digits.
    near(slope("tweeter", [1.0, 2.0]), 18.061_802_328_644_974, 1e-12);
    near(slope("tweeter", [1.0, 2.0]), 18.061801, REL);
    // 1/H = 1 − ω²LC + jωL/Re, by hand. The printed slope belongs to a load other than Re and differs in
    // its eighth digit.
    let level = |f_hz: f64| {
        let w = TAU * f_hz;
        -20.0 * (1.0 - w * w * 1.2e-3 * 10e-6).hypot(w * 1.2e-3 / W1.re_ohm).log10()
    };
    near(slope("woofer", [1e6, 2e6]), level(2e6) - level(1e6), 1e-9);
    within(slope("woofer", [1e6, 2e6]), -12.041206, 2e-5);
}

#[test]
fn chk_5_6_slopes_with_real_parts_vary() {
    let fx = 3086.49371;
    for (octave, slope) in [
        ([10.0, 20.0], 12.08),
        ([100.0, 200.0], 14.49),
        ([fx / 8.0, fx / 4.0], 21.38),
        ([fx / 4.0, fx / 2.0], 14.28),
    ] {
        within(slope_db_per_octave(&c4(), "tweeter", octave, &AIR20).unwrap(), slope, 0.0051);
    }
    let point = &figures(&c4(), &with_sensitivities()).points[0];
    within(point.slopes_db_per_octave[1], 14.28, 0.0051);
    assert!(point.slopes_db_per_octave[0] < -10.0);
}

/// Against a scan of a thousand points a decade by the solver alone.
#[test]
fn chk_5_5_ripple_of_textbook_parts() {
    let network = Network::new(vec![
        c("C1", 4.42097064, 0.0, "in", "a"),
        l("L1", 1.0 / PI, 0.35, "a", "0"),
        c("C2", 13.2629119, 0.0, "a", "b"),
        driver("tweeter", T1, "b", "0"),
    ])
    .unwrap();
    let it = figures(&network, &Options::default());
    let level = |f_hz| db(network.solve(f_hz, &AIR20).unwrap().h[0]);
    let scan = (0..=3000).map(|k| level(20.0 * 10f64.powf(f64::from(k) / 1000.0)));
    let peak = scan.fold(f64::MIN, f64::max) - level(10_000.0);
    within(it.ripple_db["tweeter"], peak, 1e-5);
    assert!(it.ripple_db["tweeter"] >= peak - 1e-12);
    assert!(it.points.is_empty() && it.tweeter_margin_octaves.is_none());
    assert!(it.tweeter_attenuation_at_fs_db.is_some());
}

/// A divider and a first-order corner have closed forms.
#[test]
fn losses_are_those_of_a_divider() {
    let network = Network::new(vec![
        l("L1", 0.5, 0.4, "in", "a"),
        load("woofer", 8.0, "a", "0"),
        c("C1", 10.0, 0.8, "in", "t"),
        load("tweeter", 8.0, "t", "0"),
    ])
    .unwrap();
    let (xl, xc) = (TAU * 100.0 * 0.5e-3, 1.0 / (TAU * 1e4 * 10e-6));
    let loss = |resistance: f64, reactance: f64| {
        let (real, ideal) = ((8.0 + resistance).hypot(reactance), 8f64.hypot(reactance));
        20.0 * (real / ideal).log10()
    };
    near(series_loss_db(&network, "woofer", 100.0, &AIR20).unwrap(), loss(0.4, xl), 1e-9);
    near(capacitor_loss_db(&network, "tweeter", 1e4, &AIR20).unwrap(), loss(0.8, xc), 1e-9);
    near(series_loss_db(&network, "tweeter", 1e4, &AIR20).unwrap(), loss(0.8, xc), 1e-9);
    within(capacitor_loss_db(&network, "woofer", 100.0, &AIR20).unwrap(), 0.0, 1e-12);
}

/// A capacitor into 8 ohm: 1/(2πRC) moves with the tolerance of C alone. The woofer is direct, so both
/// are equal nowhere; against a woofer that is 10·log10 2 dB less sensitive they meet at the corner.
#[test]
fn a_tolerance_moves_a_first_order_corner() {
    let network = Network::new(vec![
        load("woofer", 8.0, "in", "0"),
        c("C1", 10.0, 0.0, "in", "a"),
        load("tweeter", 8.0, "a", "0"),
    ])
    .unwrap();
    let options = Options {
        sensitivity_db: names(&[("woofer", 90.0 - HALF_POWER_DB), ("tweeter", 90.0)]),
        ..Options::default()
    };
    let corner = 1e6 / (TAU * 8.0 * 10.0);
    let it = shifts(&network, &names(&[("C1", 0.1)]), &options, &AIR20).unwrap();
    let (pair, fx) = it.fx_hz[0];
    assert_eq!(pair, ["woofer", "tweeter"]);
    near(fx.nominal, corner, 1e-9);
    near(fx.shift, corner * (1.0 / 0.9 - 1.0), 1e-9);
    // At 20 kHz, where the least |Z| is, both loads and 10 µF: the larger capacitor lowers it.
    let z_at = |micro: f64| {
        let tweeter = num_complex::Complex64::new(8.0, -1e6 / (TAU * 20_000.0 * micro));
        (1.0 / (1.0 / tweeter + 0.125)).norm()
    };
    near(it.z_min_ohm.nominal, z_at(10.0), 1e-9);
    let larger = (z_at(9.0) - z_at(10.0)).max(z_at(10.0) - z_at(11.0));
    near(it.z_min_ohm.shift, larger, 1e-6);
}

/// One part at a time, root sum square, by hand from single figures.
#[test]
fn tolerances_of_several_parts_add_as_root_sum_square() {
    let all = names(&[("C1", 0.1), ("L1", 0.05), ("R1", 0.2)]);
    let (network, options) = (c4(), with_sensitivities());
    let together = shifts(&network, &all, &options, &AIR20).unwrap();
    let mut fx = 0.0;
    let mut z_min = 0.0;
    let mut ripple = 0.0;
    for (name, tolerance) in &all {
        let one = shifts(&network, &names(&[(name, *tolerance)]), &options, &AIR20).unwrap();
        fx += one.fx_hz[0].1.shift.powi(2);
        z_min += one.z_min_ohm.shift.powi(2);
        ripple += one.ripple_db.unwrap().shift.powi(2);
    }
    near(together.fx_hz[0].1.shift, fx.sqrt(), 1e-9);
    near(together.z_min_ohm.shift, z_min.sqrt(), 1e-9);
    near(together.ripple_db.unwrap().shift, ripple.sqrt(), 1e-9);
    near(together.fx_hz[0].1.nominal, 3086.49371, 1e-8);
    assert!(together.fx_hz[0].1.shift > 50.0);
    let none = shifts(&network, &BTreeMap::new(), &options, &AIR20).unwrap();
    within(none.z_min_ohm.shift, 0.0, 0.0);
}

/// Read again near its landmarks, a network with other values gives what a whole survey of it gives.
#[test]
fn landmarks_read_what_a_survey_finds() {
    for nominal in [c4(), three_way()] {
        let (landmarks, readings) = Landmarks::of(&nominal, &Options::default(), &AIR20).unwrap();
        let same = figures(&nominal, &Options::default());
        near(readings.z_min_ohm, same.z_min_ohm, REL);
        for factor in [0.93, 0.98, 1.03, 1.07] {
            let other = nominal
                .with_parts(|it| match it.part {
                    Part::Capacitor { farad, esr_ohm } => {
                        Part::Capacitor { farad: farad * factor, esr_ohm }
                    }
                    part => part,
                })
                .unwrap();
            let whole = figures(&other, &Options::default());
            near(landmarks.z_min_ohm(&other, &AIR20).unwrap(), whole.z_min_ohm, 2e-3);
            near(landmarks.r_pd_min_ohm(&other, &AIR20).unwrap(), whole.r_pd_min_ohm, 2e-3);
            let ripple = whole.ripple_db.values().copied().fold(0.0, f64::max);
            within(landmarks.ripple_db(&other, &AIR20).unwrap(), ripple, 0.02);
            let crossings = landmarks.crossings(&other, &AIR20).unwrap();
            assert_eq!(crossings.len(), whole.points.len());
            for ((_, f_hz), point) in crossings.iter().zip(&whole.points) {
                near(*f_hz, point.f_hz, 1e-4);
            }
        }
    }
}

/// A three-way of ideal ladders into 8 ohm.
fn three_way() -> Network {
    let side = |order, side, f_hz| {
        ladder(Family::LinkwitzRiley, order, side, f_hz, 8.0).expect("a sound order")
    };
    let h = |name: &str, henry: f64, from: &str, to: &str| {
        part(name, Part::Inductor { henry, dcr_ohm: Some(0.0) }, from, to)
    };
    let f = |name: &str, farad: f64, from: &str, to: &str| {
        part(name, Part::Capacitor { farad, esr_ohm: Some(0.0) }, from, to)
    };
    let low = side(2, Side::Low, 300.0);
    let high = side(4, Side::High, 3000.0);
    Network::new(vec![
        h("L1", low[0].value, "in", "w"),
        f("C1", low[1].value, "w", "0"),
        load("woofer", 8.0, "w", "0"),
        f("C2", high[0].value, "in", "t1"),
        h("L2", high[1].value, "t1", "0"),
        f("C3", high[2].value, "t1", "t2"),
        h("L3", high[3].value, "t2", "0"),
        load("tweeter", 8.0, "t2", "0"),
        f("C4", 1.0 / (TAU * 300.0 * 8.0), "in", "m1"),
        h("L4", 8.0 * 1.5 / (TAU * 3000.0), "m1", "m2"),
        f("C5", 4.0 / 3.0 / (8.0 * TAU * 3000.0), "m2", "0"),
        h("L5", 8.0 * 0.5 / (TAU * 3000.0), "m2", "m3"),
        load("mid", 8.0, "m3", "0"),
    ])
    .expect("a sound network")
}

#[test]
fn a_three_way_has_two_points_and_a_band() {
    let options = Options { passband_hz: names(&[("mid", 1000.0)]), ..Options::default() };
    let it = figures(&three_way(), &options);
    assert_eq!(
        it.orders,
        names(&[
            ("woofer", Order::One(2)),
            ("mid", Order::Band { high: 1, low: 3 }),
            ("tweeter", Order::One(4)),
        ])
    );
    let between: Vec<_> = it.points.iter().map(|it| it.between.join(" ")).collect();
    assert_eq!(between, ["woofer mid", "mid tweeter"]);
    assert!((150.0..600.0).contains(&it.points[0].f_hz), "{:?}", it.points);
    assert!((2000.0..4500.0).contains(&it.points[1].f_hz), "{:?}", it.points);
    let network = three_way();
    for (point, pair) in it.points.iter().zip([[0, 2], [2, 1]]) {
        let h = network.solve(point.f_hz, &AIR20).unwrap().h;
        within(db(h[pair[0]]), db(h[pair[1]]), 1e-9);
        within(db(h[pair[0]]), point.level_db, 1e-9);
    }
    assert_eq!(it.crossings["mid"].db3.len(), 2);
    // Without a stated passband a midrange has no points of its own.
    assert!(!figures(&network, &Options::default()).crossings.contains_key("mid"));
}

#[test]
fn orders_of_resistors_and_of_drivers_without_a_crossover() {
    let direct = Network::new(vec![load("woofer", 8.0, "in", "0")]).unwrap();
    assert_eq!(electrical_order(&direct, "woofer", &AIR20).unwrap(), Order::One(0));
    // A resistor in series with the shunt capacitor lowers the far order from 2 to 1.
    let damped = Network::new(vec![
        l("L1", 1.0, 0.3, "in", "a"),
        c("C1", 10.0, 0.0, "a", "b"),
        r("R1", 3.0, "b", "0"),
        driver("woofer", W1, "a", "0"),
    ])
    .unwrap();
    assert_eq!(electrical_order(&damped, "woofer", &AIR20).unwrap(), Order::One(1));
    // The corner lies at 1.6 Hz, so the octave from 1 Hz has no far slope.
    let slow =
        Network::new(vec![c("C1", 12_500.0, 0.0, "in", "a"), load("tweeter", 8.0, "a", "0")]);
    assert_eq!(electrical_order(&slow.unwrap(), "tweeter", &AIR20).unwrap(), Order::Unclear);
    let full =
        Network::new(vec![c("C1", 5.0, 0.0, "in", "a"), load("full", 8.0, "a", "0")]).unwrap();
    assert_eq!(electrical_order(&full, "full", &AIR20).unwrap(), Order::One(1));
    let missing = electrical_order(&full, "tweeter", &AIR20).unwrap_err();
    assert!(matches!(missing, PhysicsError::Missing { .. }), "{missing}");
}

#[test]
fn figures_that_do_not_apply_are_absent() {
    let single = Network::new(vec![load("full", 8.0, "in", "0")]).unwrap();
    let it = figures(&single, &Options::default());
    near(it.z_min_ohm, 8.0, 1e-12);
    near(it.r_pd_min_ohm, 8.0, 1e-12);
    assert!(it.points.is_empty() && it.crossings.is_empty() && it.ripple_db.is_empty());
    assert!(it.tweeter_margin_octaves.is_none() && it.tweeter_attenuation_at_fs_db.is_none());
    // Two ways alike are equally loud everywhere, which is no crossing.
    let alike = Network::new(vec![load("woofer", 8.0, "in", "0"), load("tweeter", 6.0, "in", "0")])
        .unwrap();
    let it = figures(&alike, &Options { tweeter_fs_hz: Some(900.0), ..Options::default() });
    assert!(it.points.is_empty());
    assert!(it.flags.contains(&"woofer and tweeter are nowhere equally loud".to_owned()));
    within(it.tweeter_attenuation_at_fs_db.unwrap(), 0.0, 1e-9);
    let low = Network::new(vec![load("woofer", 2.0, "in", "0")]).unwrap();
    assert_eq!(figures(&low, &Options::default()).highest_rating_ohm, None);
}

#[test]
fn options_that_do_not_fit_are_refused() {
    let refused = |options: &Options, name: &str| {
        let error = crossover(&c4(), options, &AIR20).unwrap_err();
        let named = matches!(
            &error,
            PhysicsError::OutOfDomain { field, .. } | PhysicsError::Inconsistent { field, .. }
                if field == name
        );
        assert!(named, "{error} does not name {name}");
    };
    let passband =
        |name, f_hz| Options { passband_hz: names(&[(name, f_hz)]), ..Options::default() };
    refused(&passband("mid", 1000.0), "passband_hz.mid");
    refused(&passband("woofer", 0.0), "passband_hz.woofer");
    let sensitivity_db = names(&[("woofer", f64::NAN)]);
    refused(&Options { sensitivity_db, ..Options::default() }, "sensitivity_db.woofer");
    refused(&Options { rated_z_ohm: Some(-8.0), ..Options::default() }, "rated_z_ohm");
    refused(&Options { tweeter_fs_hz: Some(0.0), ..Options::default() }, "tweeter_fs_hz");
    for (name, tolerance) in [("woofer", 0.1), ("C9", 0.1), ("C1", -0.1), ("C1", 1.0)] {
        let all = names(&[(name, tolerance)]);
        let error = shifts(&c4(), &all, &Options::default(), &AIR20).unwrap_err();
        assert!(error.to_string().contains(&format!("{name}.tolerance")), "{error}");
    }
}

proptest! {
    /// No point of a fine scan lies below the least |Z|, above the ripple, or on the other side of a
    /// level without a crossing between.
    #[test]
    fn a_fine_scan_finds_nothing_that_the_survey_missed(
        v in [0.05..10.0f64, 0.5..60.0, 0.5..60.0, 0.05..3.0],
        loss in [0.0..1.0f64, 0.0..1.0, 0.0..1.0],
    ) {
        let network = Network::new(vec![
            l("L1", v[0], loss[0], "in", "w"),
            c("C1", v[1], loss[1], "w", "0"),
            driver("woofer", W1, "w", "0"),
            c("C2", v[2], loss[2], "in", "a"),
            l("L2", v[3], 0.2, "a", "0"),
            driver("tweeter", T1, "a", "0"),
        ])
        .unwrap();
        let mut survey = Survey::new(&network, &AIR20).unwrap();
        let least = survey.minimum_impedance().unwrap();
        let hardest = survey.worst_peak_dissipation().unwrap();
        let half_power = survey.level_db(0, 200.0).unwrap() - HALF_POWER_DB;
        let passes = survey.passes(0, half_power).unwrap();
        let ripple = survey.ripple_db(0, 200.0).unwrap();
        let mut sides = Vec::new();
        for k in 0..=1500 {
            let f_hz = 20.0 * 1000f64.powf(f64::from(k) / 1500.0);
            let it = network.solve(f_hz.min(20_000.0), &AIR20).unwrap();
            prop_assert!(it.z.norm() >= least.z_ohm * (1.0 - 1e-9), "{f_hz} Hz");
            let r_pd = physics::load::peak_dissipation_ohm(it.z.norm(), it.z.arg().to_degrees());
            prop_assert!(r_pd.unwrap() >= hardest.r_pd_ohm * (1.0 - 1e-9), "{f_hz} Hz");
            prop_assert!(db(it.h[0]) - half_power - HALF_POWER_DB <= ripple + 1e-9, "{f_hz} Hz");
            sides.push(db(it.h[0]) > half_power);
        }
        let changes = sides.windows(2).filter(|it| it[0] != it[1]).count();
        prop_assert_eq!(changes, passes.len());
    }
}
