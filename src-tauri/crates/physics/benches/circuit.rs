//! The lumped circuit as the propagation of uncertainty calls it: both searches, and curves of 200
//! points.
//!
//! Run with `cargo bench -p physics --bench circuit`.

use std::hint::black_box;

use physics::air::AIR20;
use physics::driver::DriverParams;
use physics::lumped::{Coil, Drive, Enclosure, MountedDriver};

fn main() {
    divan::main();
}

const WOOFER: MountedDriver = MountedDriver {
    params: DriverParams {
        re_ohm: 5.6,
        mms_kg: 0.0142,
        cms_m_n: 0.00098,
        rms_kg_s: 0.85,
        bl_tm: 6.1,
        sd_m2: 0.0133,
        le_h: None,
        xmax_m: Some(0.004),
    },
    coil: Coil::Lossy { k: 0.020, n: 0.67 },
    enclosure: Enclosure::Vented { vb_m3: 0.024, fb_hz: 42.0, ql: Some(7.0) },
};
const DRIVE: Drive =
    Drive { volts: 2.83, rg_ohm: 0.3, distance_m: 1.0, port_area_m2: Some(1.963e-3) };

#[divan::bench]
fn excursion_limit() -> f64 {
    let limit = black_box(&WOOFER).excursion_limit(0.004, black_box(&DRIVE), &AIR20);
    limit.expect("a sound woofer").volts
}

#[divan::bench]
fn peak_port_velocity() -> f64 {
    black_box(&WOOFER).peak_port_velocity(black_box(&DRIVE), &AIR20).expect("a sound woofer").0
}

fn frequencies() -> Vec<f64> {
    (0..200).map(|k| 10.0 * 100f64.powf(f64::from(k) / 199.0)).collect()
}

#[divan::bench]
fn response_200_frequencies(bencher: divan::Bencher<'_, '_>) {
    let frequencies = frequencies();
    bencher.bench(|| {
        let level = |&f: &f64| {
            black_box(&WOOFER).response(f, &DRIVE, &AIR20).expect("a sound woofer").spl_db
        };
        frequencies.iter().map(level).sum::<f64>()
    });
}

#[divan::bench]
fn impedance_200_frequencies(bencher: divan::Bencher<'_, '_>) {
    let frequencies = frequencies();
    bencher.bench(|| {
        let circuit = black_box(&WOOFER).circuit(&AIR20);
        frequencies.iter().map(|&f| circuit.impedance(f).norm()).sum::<f64>()
    });
}
