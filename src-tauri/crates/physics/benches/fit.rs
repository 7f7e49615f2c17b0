//! Fits of impedance sweeps: a driver with 61 and 200 rows, with and without phase, and a vented
//! box.

use physics::fit::{Fixed, ImpedanceModel, fit};
use physics::sweep::SweepRow;

fn main() {
    divan::main();
}

const FREE: Fixed = Fixed { re_ohm: None, n: None };

/// 10 Hz to 20 kHz, with 0.5 % of noise on |Z|.
fn sweep(count: u32, phase: bool) -> Vec<SweepRow> {
    let driver =
        ImpedanceModel { re_ohm: 5.6, res_ohm: 40.0, fs_hz: 42.5, qms: 4.2, k: 0.020, n: 0.67 };
    (0..count)
        .map(|k| {
            let k = f64::from(k);
            let f_hz = 10.0 * 2000f64.powf(k / f64::from(count - 1));
            let z = driver.impedance(f_hz);
            SweepRow {
                f_hz,
                z_ohm: z.norm() * (1.0 + 0.005 * (k * k).sin()),
                phase_deg: phase.then(|| z.arg().to_degrees()),
            }
        })
        .collect()
}

#[divan::bench(args = [61, 200])]
fn magnitude(bencher: divan::Bencher<'_, '_>, count: u32) {
    let rows = sweep(count, false);
    bencher.bench_local(|| fit(divan::black_box(&rows), &FREE).expect("a fit"));
}

#[divan::bench(args = [61, 200])]
fn with_phase(bencher: divan::Bencher<'_, '_>, count: u32) {
    let rows = sweep(count, true);
    bencher.bench_local(|| fit(divan::black_box(&rows), &FREE).expect("a fit"));
}
