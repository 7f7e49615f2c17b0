//! Solving passive networks: 500 frequencies of 15 nodes, and the figures of a usual two-way, together
//! and each alone.

use divan::{Bencher, black_box};
use physics::air::AIR20;
use physics::crossover::tolerance::shifts;
use physics::crossover::{
    Options, Survey, attenuation_db, capacitor_loss_db, crossings, crossover, electrical_order,
    meeting, series_loss_db,
};
use physics::driver::DriverParams;
use physics::lumped::{Coil, Enclosure, MountedDriver};
use physics::network::{Element, Load, Network, Part};

fn main() {
    divan::main();
}

const WOOFER: DriverParams = DriverParams {
    re_ohm: 5.6,
    mms_kg: 0.0142,
    cms_m_n: 0.00098,
    rms_kg_s: 0.85,
    bl_tm: 6.1,
    sd_m2: 0.0133,
    le_h: None,
    xmax_m: None,
};

const TWEETER: DriverParams = DriverParams {
    re_ohm: 5.4,
    mms_kg: 0.00030,
    cms_m_n: 0.000104,
    rms_kg_s: 0.45,
    bl_tm: 2.6,
    sd_m2: 0.00075,
    le_h: None,
    xmax_m: None,
};

fn element(name: &str, part: Part, from: &str, to: &str) -> Element {
    Element { name: name.to_owned(), part, nodes: [from.to_owned(), to.to_owned()] }
}

fn c(name: &str, microfarad: f64, from: &str, to: &str) -> Element {
    element(name, Part::Capacitor { farad: microfarad * 1e-6, esr_ohm: Some(0.05) }, from, to)
}

fn l(name: &str, millihenry: f64, from: &str, to: &str) -> Element {
    element(name, Part::Inductor { henry: millihenry * 1e-3, dcr_ohm: Some(0.35) }, from, to)
}

fn r(name: &str, ohm: f64, from: &str, to: &str) -> Element {
    element(name, Part::Resistor { ohm }, from, to)
}

fn driver(name: &str, params: DriverParams, coil: Coil, box_l: Option<f64>, from: &str) -> Element {
    let enclosure = box_l.map_or(Enclosure::Free, |litre| Enclosure::Vented {
        vb_m3: litre * 1e-3,
        fb_hz: 42.0,
        ql: Some(7.0),
    });
    element(name, Part::Driver(Load::Driver(MountedDriver { params, coil, enclosure })), from, "0")
}

fn woofer(from: &str) -> Element {
    driver("woofer", WOOFER, Coil::Lossy { k: 0.03, n: 0.65 }, Some(24.0), from)
}

fn tweeter(from: &str) -> Element {
    driver("tweeter", TWEETER, Coil::Inductance { le_h: 0.05e-3 }, None, from)
}

/// A three-way of 15 nodes, `in` and `0` counted, with 22 parts and three drivers.
fn three_way() -> Network {
    Network::new(vec![
        l("L1", 3.0, "in", "w1"),
        c("C1", 100.0, "w1", "w2"),
        r("R1", 0.5, "w2", "0"),
        l("L2", 1.5, "w1", "w3"),
        c("C2", 40.0, "w3", "0"),
        woofer("w3"),
        c("C3", 80.0, "in", "m1"),
        l("L3", 4.0, "m1", "0"),
        l("L4", 0.4, "m1", "m2"),
        c("C4", 6.0, "m2", "0"),
        r("R2", 1.5, "m2", "m3"),
        r("R3", 20.0, "m3", "0"),
        c("C5", 10.0, "m3", "m4"),
        r("R4", 6.0, "m4", "0"),
        driver("mid", TWEETER, Coil::Inductance { le_h: 0.2e-3 }, None, "m3"),
        c("C6", 4.0, "in", "t1"),
        l("L5", 0.3, "t1", "t2"),
        r("R5", 0.3, "t2", "0"),
        c("C7", 12.0, "t1", "t3"),
        r("R6", 2.0, "t3", "t4"),
        r("R7", 15.0, "t4", "0"),
        l("L6", 0.02, "t4", "t5"),
        tweeter("t5"),
        c("C8", 2.0, "t5", "t6"),
        r("R8", 6.0, "t6", "0"),
    ])
    .expect("a sound network")
}

/// A two-way of eight parts and two drivers.
fn two_way() -> Network {
    Network::new(vec![
        l("L1", 1.2, "in", "w"),
        c("C1", 10.0, "w", "0"),
        woofer("w"),
        c("C2", 5.6, "in", "a"),
        l("L2", 0.3, "a", "0"),
        c("C3", 15.0, "a", "b"),
        r("R1", 2.2, "b", "t"),
        r("R2", 10.0, "t", "0"),
        tweeter("t"),
    ])
    .expect("a sound network")
}

fn grid(count: u32) -> Vec<f64> {
    (0..count).map(|k| 20.0 * 1000f64.powf(f64::from(k) / f64::from(count - 1))).collect()
}

#[divan::bench]
fn solve_500_frequencies_of_15_nodes(bencher: Bencher) {
    let (network, frequencies) = (three_way(), grid(500));
    bencher.bench(|| network.solve_many(black_box(&frequencies), &AIR20));
}

#[divan::bench]
fn solve_500_frequencies_of_a_two_way(bencher: Bencher) {
    let (network, frequencies) = (two_way(), grid(500));
    bencher.bench(|| network.solve_many(black_box(&frequencies), &AIR20));
}

#[divan::bench]
fn check_a_parts_list(bencher: Bencher) {
    let parts = three_way().elements().to_vec();
    bencher.with_inputs(|| parts.clone()).bench_values(Network::new);
}

#[divan::bench]
fn all_figures_of_a_two_way(bencher: Bencher) {
    let (network, options) = (two_way(), Options::default());
    bencher.bench(|| crossover(black_box(&network), &options, &AIR20));
}

#[divan::bench]
fn tolerances_of_a_two_way(bencher: Bencher) {
    let (network, options) = (two_way(), Options::default());
    let parts = ["L1", "C1", "C2", "L2", "C3", "R1", "R2"];
    let tolerances = parts.map(|it| (it.to_owned(), 0.1)).into_iter().collect();
    bencher.bench(|| shifts(black_box(&network), &tolerances, &options, &AIR20));
}

/// The figures of a two-way that share one survey, and the survey itself.
mod survey {
    use super::{AIR20, Bencher, Options, Survey, black_box, crossings, meeting, two_way};

    #[divan::bench]
    fn pass_over_the_band(bencher: Bencher) {
        let network = two_way();
        bencher.bench(|| Survey::new(black_box(&network), &AIR20));
    }

    #[divan::bench]
    fn minimum_impedance(bencher: Bencher) {
        let network = two_way();
        let mut survey = Survey::new(&network, &AIR20).expect("a sound network");
        bencher.bench_local(|| survey.minimum_impedance());
    }

    #[divan::bench]
    fn peak_dissipation(bencher: Bencher) {
        let network = two_way();
        let mut survey = Survey::new(&network, &AIR20).expect("a sound network");
        bencher.bench_local(|| survey.worst_peak_dissipation());
    }

    #[divan::bench]
    fn crossover_frequency(bencher: Bencher) {
        let (network, options) = (two_way(), Options::default());
        let mut survey = Survey::new(&network, &AIR20).expect("a sound network");
        bencher.bench_local(|| meeting(&mut survey, ["woofer", "tweeter"], &options));
    }

    #[divan::bench]
    fn points_below_the_passband(bencher: Bencher) {
        let network = two_way();
        let mut survey = Survey::new(&network, &AIR20).expect("a sound network");
        bencher.bench_local(|| crossings(&mut survey, "woofer", 200.0));
    }

    #[divan::bench]
    fn ripple(bencher: Bencher) {
        let network = two_way();
        let mut survey = Survey::new(&network, &AIR20).expect("a sound network");
        bencher.bench_local(|| survey.ripple_db(0, 200.0));
    }
}

/// The figures of a two-way that need a few frequencies only.
mod single {
    use super::{
        AIR20, Bencher, attenuation_db, black_box, capacitor_loss_db, electrical_order,
        series_loss_db, two_way,
    };

    #[divan::bench]
    fn order(bencher: Bencher) {
        let network = two_way();
        bencher.bench(|| electrical_order(black_box(&network), "tweeter", &AIR20));
    }

    #[divan::bench]
    fn attenuation(bencher: Bencher) {
        let network = two_way();
        bencher.bench(|| attenuation_db(black_box(&network), "tweeter", 900.0, 10_000.0, &AIR20));
    }

    #[divan::bench]
    fn series_loss(bencher: Bencher) {
        let network = two_way();
        bencher.bench(|| series_loss_db(black_box(&network), "woofer", 100.0, &AIR20));
    }

    #[divan::bench]
    fn capacitor_loss(bencher: Bencher) {
        let network = two_way();
        bencher.bench(|| capacitor_loss_db(black_box(&network), "tweeter", 10_000.0, &AIR20));
    }
}
