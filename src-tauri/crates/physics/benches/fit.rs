//! Fits of impedance sweeps: a driver with 61 and 200 rows, with and without phase, and a vented
//! box.

use physics::air::AIR20;
use physics::driver::DriverParams;
use physics::fit::vented::{VentedOptions, fit_vented};
use physics::fit::{Fixed, ImpedanceModel, fit};
use physics::lumped::{Coil, Enclosure, MountedDriver};
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

/// A vented box with lossy coil, 121 rows with phase, ten parameters.
#[divan::bench]
fn vented(bencher: divan::Bencher<'_, '_>) {
    let driver = MountedDriver {
        params: DriverParams {
            re_ohm: 5.6,
            mms_kg: 0.0142,
            cms_m_n: 0.00098,
            rms_kg_s: 0.85,
            bl_tm: 6.1,
            sd_m2: 0.0133,
            le_h: None,
            xmax_m: None,
        },
        coil: Coil::Lossy { k: 0.02, n: 0.67 },
        enclosure: Enclosure::Vented { vb_m3: 0.024, fb_hz: 42.0, ql: Some(7.0) },
    };
    let rows: Vec<SweepRow> = (0..121)
        .map(|k| {
            let k = f64::from(k);
            let f_hz = 10.0 * 2000f64.powf(k / 120.0);
            let z = driver.impedance(f_hz, &AIR20);
            SweepRow {
                f_hz,
                z_ohm: z.norm() * (1.0 + 0.005 * (k * k).sin()),
                phase_deg: Some(z.arg().to_degrees()),
            }
        })
        .collect();
    let options = VentedOptions { f_max_hz: Some(20e3), ..VentedOptions::default() };
    bencher.bench_local(|| fit_vented(divan::black_box(&rows), &options).expect("a fit"));
}
