//! A sweep fitted and a network solved, each beside general tools on the same numbers in the same
//! run.
//!
//! Run with `cargo xtask bench`, which says where the Python of `cargo xtask verify` is; without it
//! the peers are left out and named. Their own clocks start after Python has loaded, except that
//! ngspice is a whole process. All must come to the same result, or this ends with a fault. Lines
//! with tabs are for the table of `cargo xtask bench`.

#![expect(clippy::print_stdout, reason = "a program for the terminal")]

use std::hint::black_box;
use std::path::{Path, PathBuf};
use std::process::Stdio;
use std::time::Instant;

use num_complex::Complex64;
use physics::air::AIR20;
use physics::driver::DriverParams;
use physics::fit::{Fixed, fit};
use physics::lumped::{Coil, Enclosure, MountedDriver};
use physics::network::{Element, Load, Network, Part};
use physics::sweep::SweepRow;
use serde_json::Value;

const SWEEP: &str = include_str!("../../../../tests/verify/peer_sweep.json");
const NETWORK: &str = include_str!("../../../../tests/verify/peer_network.json");
/// Where the Python with scipy is.
const PYTHON: &str = "BOXWORTH_VERIFY_PYTHON";

fn main() {
    let python = std::env::var_os(PYTHON).map(PathBuf::from).filter(|it| it.is_file());
    if python.is_none() {
        println!("peers are not measured: scipy, scikit-rf and ngspice are not here.");
        println!("`cargo xtask verify` installs them.");
    }
    println!("figures\tpeers");
    println!("{:<44} {:>12} {:>12} {:>8}", "medians", "ours, µs", "peer, µs", "ratio");
    sweep(python.as_deref());
    network(python.as_deref());
}

fn ours(what: &str, microseconds: f64) {
    println!("{what:<44} {microseconds:>12.1}");
    println!("figure\t{what}\t{microseconds} µs");
}

fn peer(what: &str, microseconds: f64, ours: f64) {
    println!("  {what:<42} {ours:>12.1} {microseconds:>12.1} {:>8.1}", microseconds / ours);
    println!("peer\t{what}\t{microseconds} µs");
}

/// Median of `count` runs after one that is not counted, µs.
fn median_us<T>(count: usize, mut work: impl FnMut() -> T) -> f64 {
    black_box(work());
    let mut times: Vec<f64> = (0..count)
        .map(|_| {
            let start = Instant::now();
            black_box(work());
            start.elapsed().as_secs_f64() * 1e6
        })
        .collect();
    times.sort_unstable_by(f64::total_cmp);
    times[count / 2]
}

/// What a Python program of `tests/verify` prints.
fn told_by(python: &Path, program: &str) -> Value {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../tests/verify");
    #[expect(clippy::disallowed_methods, reason = "a bench that starts its peers")]
    let output = std::process::Command::new(python)
        // No compiled copies beside the sources.
        .arg("-B")
        .arg(folder.join(program))
        .stderr(Stdio::inherit())
        .output()
        .expect("Python starts");
    assert!(output.status.success(), "{program}: {}", output.status);
    serde_json::from_slice(&output.stdout).expect("JSON")
}

fn number(value: &Value, key: &str) -> f64 {
    value[key].as_f64().unwrap_or_else(|| panic!("no number `{key}` in {value}"))
}

fn numbers(value: &Value, key: &str) -> Vec<f64> {
    value[key].as_array().expect(key).iter().map(|it| it.as_f64().expect(key)).collect()
}

fn text<'a>(value: &'a Value, key: &str) -> &'a str {
    value[key].as_str().expect(key)
}

fn same(what: &str, ours: f64, theirs: f64, relative: f64) {
    assert!((ours - theirs).abs() <= relative * theirs.abs(), "{what}: {ours} against {theirs}");
}

fn sweep(python: Option<&Path>) {
    let case: Value = serde_json::from_str(SWEEP).expect("JSON");
    let rows: Vec<SweepRow> = case["sweep"]
        .as_array()
        .expect("rows")
        .iter()
        .map(|it| SweepRow {
            f_hz: it[0].as_f64().expect("f"),
            z_ohm: it[1].as_f64().expect("z"),
            phase_deg: None,
        })
        .collect();
    let free = Fixed::default();
    let found = fit(&rows, &free).expect("fitted").model;
    let time = median_us(201, || fit(black_box(&rows), &free));
    ours(&format!("fit of {} rows of |Z|, six parameters", rows.len()), time);
    let Some(python) = python else { return };
    let told = told_by(python, "peer_fit.py");
    for method in ["lm", "trf"] {
        let it = &told[method];
        let values = [
            ("re", found.re_ohm),
            ("res", found.res_ohm),
            ("fs", found.fs_hz),
            ("qms", found.qms),
            ("k", found.k),
            ("n", found.n),
        ];
        for (key, value) in values {
            // scipy's own tolerances stop it at about the eighth digit.
            same(key, value, number(it, key), 1e-6);
        }
        let name = format!("scipy least_squares `{method}`, no Jacobian");
        peer(&name, number(it, "microseconds"), time);
    }
}

fn network(python: Option<&Path>) {
    let case: Value = serde_json::from_str(NETWORK).expect("JSON");
    let elements: Vec<Element> =
        case["elements"].as_array().expect("elements").iter().map(element).collect();
    let network = Network::new(elements).expect("a sound network");
    let grid = &case["grid"];
    let count = u32::try_from(grid["count"].as_u64().expect("count")).expect("a small count");
    let (low, high) = (number(grid, "low"), number(grid, "high"));
    let step = (high - low) / f64::from(count - 1);
    // Evenly spaced, as ngspice does it with one command.
    let frequencies: Vec<f64> = (0..count).map(|it| low + f64::from(it) * step).collect();
    let solved = network.solve_many(&frequencies, &AIR20).expect("solved");
    let time = median_us(201, || network.solve_many(black_box(&frequencies), &AIR20));
    ours(&format!("network of 15 nodes at {count} frequencies"), time);
    let Some(python) = python else { return };
    let told = told_by(python, "peer_network.py");
    for (key, name) in [
        ("ngspice", "ngspice, the whole process"),
        ("scikit_rf", "scikit-rf, a circuit of two-ports"),
        ("numpy", "numpy, nodal analysis of all at once"),
    ] {
        let it = &told[key];
        let theirs = numbers(it, "z_re").into_iter().zip(numbers(it, "z_im"));
        assert_eq!(theirs.len(), solved.len(), "{key}");
        for ((re, im), ours) in theirs.zip(&solved) {
            let off = (ours.z - Complex64::new(re, im)).norm() / ours.z.norm();
            assert!(off < 1e-8, "{key} is off by {off:e}");
        }
        peer(name, number(it, "microseconds"), time);
    }
}

/// An element of the JSON that `boxworth compute network` takes, as far as this case needs it.
fn element(it: &Value) -> Element {
    let nodes = [0, 1].map(|at| it["nodes"][at].as_str().expect("a node").to_owned());
    let part = match text(it, "kind") {
        "R" => Part::Resistor { ohm: number(it, "value") },
        "L" => Part::Inductor { henry: number(it, "value"), dcr_ohm: it["dcr"].as_f64() },
        "C" => Part::Capacitor { farad: number(it, "value"), esr_ohm: it["esr"].as_f64() },
        _ => Part::Driver(Load::Driver(driver(&it["driver"]))),
    };
    Element { name: text(it, "name").to_owned(), part, nodes }
}

fn driver(it: &Value) -> MountedDriver {
    let coil = match it["le"].as_f64() {
        Some(le_h) => Coil::Inductance { le_h },
        None => Coil::Lossy { k: number(it, "k"), n: number(it, "n") },
    };
    let params = DriverParams {
        re_ohm: number(it, "re"),
        mms_kg: number(it, "mms"),
        cms_m_n: number(it, "cms"),
        rms_kg_s: number(it, "rms"),
        bl_tm: number(it, "bl"),
        sd_m2: number(it, "sd"),
        le_h: None,
        xmax_m: None,
    };
    MountedDriver { params, coil, enclosure: Enclosure::Free }
}
