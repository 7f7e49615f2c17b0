//! The fit of a vented box: against the lumped circuit, and on sweeps of complete loudspeakers.

use physics::PhysicsError;
use physics::air::AIR20;
use physics::driver::DriverParams;
use physics::fit::Fixed;
use physics::fit::vented::{Terminals, VentedFit, VentedOptions, fit_vented};
use physics::lumped::{Coil, Enclosure, MountedDriver};
use physics::sweep::SweepRow;

use num_complex::Complex64;

use crate::tolerance::{near, within};

const DRIVER: VentedOptions = VentedOptions {
    fixed: Fixed { re_ohm: None, n: None },
    terminals: Terminals::Driver,
    f_max_hz: None,
};

/// A woofer of 6.5 inch in 24 L tuned to 42 Hz, with a lossy coil.
fn boxed(ql: Option<f64>) -> MountedDriver {
    MountedDriver {
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
        enclosure: Enclosure::Vented { vb_m3: 0.024, fb_hz: 42.0, ql },
    }
}

/// Its values in the order of the fit's: Re, Res, fs, Qms, α, fB, QL, K, n. Those of the driver are
/// numpy's from the parameters above; α is Vas/Vb.
const TRUTH: [f64; 9] =
    [5.6, 43.7764706, 42.6641327, 4.47828995, 1.02432828, 42.0, 7.0, 0.02, 0.67];

/// 121 rows from 10 Hz to 20 kHz of the box behind `shunt_f`, with `noise` of sin k² on |Z|.
fn sweep(ql: Option<f64>, phase: bool, shunt_f: f64, noise: f64) -> Vec<SweepRow> {
    (0..121)
        .map(|k| {
            let k = f64::from(k);
            let f_hz = 10.0 * 2000f64.powf(k / 120.0);
            let bare = boxed(ql).impedance(f_hz, &AIR20);
            let across = Complex64::new(0.0, std::f64::consts::TAU * f_hz * shunt_f);
            let z = 1.0 / (1.0 / bare + across);
            SweepRow {
                f_hz,
                z_ohm: z.norm() * (1.0 + noise * (k * k).sin()),
                phase_deg: phase.then(|| z.arg().to_degrees()),
            }
        })
        .collect()
}

fn plain(fit: &VentedFit) -> [f64; 9] {
    [fit.re_ohm, fit.res_ohm, fit.fs_hz, fit.qms, fit.alpha, fit.fb_hz, fit.ql, fit.k, fit.n]
}

#[test]
fn a_clean_sweep_gives_the_lumped_circuit_back() {
    for phase in [false, true] {
        let got = fit_vented(&sweep(Some(7.0), phase, 0.0, 0.0), &DRIVER).unwrap();
        for (got, want) in plain(&got).into_iter().zip(TRUTH) {
            near(got, want, 1e-6);
        }
        near(got.qes, 0.5728745, 1e-6);
        assert!(!got.n_assumed && got.rss < 1e-10, "{got:?}");
        assert_eq!(got.degrees_of_freedom, if phase { 233 } else { 112 });
    }
}

#[test]
fn noise_moves_it_by_no_more_than_its_uncertainty_says() {
    for phase in [false, true] {
        let got = fit_vented(&sweep(Some(7.0), phase, 0.0, 0.005), &DRIVER).unwrap();
        for ((got, want), u) in plain(&got).into_iter().zip(TRUTH).zip(got.u) {
            within(got, want, 3.0 * u);
        }
        // What half a per cent allows for the values that are judged.
        near(got.fb_hz, 42.0, 2e-3);
        near(got.alpha, TRUTH[4], 1e-2);
        near(got.ql, 7.0, 3e-2);
    }
}

#[test]
fn a_capacitance_across_the_terminals_is_told_from_the_box() {
    let rows = sweep(Some(7.0), true, 22e-6, 0.0);
    // Up to 1 kHz the coil shows, so that nothing is assumed, and it does not resonate yet.
    let options = VentedOptions { f_max_hz: Some(1e3), ..VentedOptions::default() };
    let got = fit_vented(&rows, &options).unwrap();
    near(got.shunt_f, 22e-6, 1e-6);
    // The drawn curve goes through the rows, which the lumped circuit made.
    for row in rows.iter().filter(|it| it.f_hz <= 1e3) {
        let z = got.impedance(row.f_hz);
        near(z.norm(), row.z_ohm, 1e-6);
        within(z.arg().to_degrees(), row.phase_deg.unwrap(), 1e-4);
    }
    for (got, want) in plain(&got).into_iter().zip(TRUTH) {
        near(got, want, 1e-6);
    }
    // Up to twice the upper peak n is taken as 0.7, which hardly matters there.
    let low = fit_vented(&rows, &VentedOptions::default()).unwrap();
    assert!(low.n_assumed && low.f_max_hz < 2.0 * 69.6, "{low:?}");
    near(low.n, 0.7, 1e-15);
    within(low.u[8], 0.0, 0.0);
    near(low.fb_hz, 42.0, 1e-3);
    near(low.qms, TRUTH[3], 1e-2);
    near(low.ql, 7.0, 1e-2);
    // Taken for a driver alone, the same rows give a wrong Q or none.
    let wrong = fit_vented(&rows, &VentedOptions { f_max_hz: Some(139.0), ..DRIVER });
    assert!(wrong.is_err() || wrong.is_ok_and(|it| (it.qms / TRUTH[3] - 1.0).abs() > 0.05));
}

#[test]
fn held_values_stay() {
    let fixed = Fixed { re_ohm: Some(5.6), n: Some(0.67) };
    let got = fit_vented(&sweep(Some(7.0), true, 0.0, 0.005), &VentedOptions { fixed, ..DRIVER });
    let got = got.unwrap();
    near(got.re_ohm, 5.6, 1e-15);
    near(got.n, 0.67, 1e-15);
    within(got.u[0] + got.u[8], 0.0, 0.0);
    assert!(!got.n_assumed);
}

/// Rows of a file of the seed catalogue: `f_hz,z_ohm,phase_deg` below comments and a header.
fn read(text: &str) -> Vec<SweepRow> {
    text.lines()
        .filter(|line| line.starts_with(|it: char| it.is_ascii_digit()))
        .map(|line| {
            let cells: Vec<f64> = line.split(',').map(|it| it.parse().expect("a number")).collect();
            SweepRow { f_hz: cells[0], z_ohm: cells[1], phase_deg: Some(cells[2]) }
        })
        .collect()
}

#[test]
fn complete_loudspeakers_show_the_woofer_measured_in_free_air() {
    // fs, Qms with their uncertainty, and Vas and net volume in litres, as the teardowns of the same
    // two invented products give them.
    let voe = read(include_str!("../../../../../seed-catalog/sweeps/skerrymoor/voe-5-system.csv"));
    let limpet =
        read(include_str!("../../../../../seed-catalog/sweeps/quillcove/limpet-2-system.csv"));
    for (rows, fs, qms, u_qms, alpha, u_alpha) in
        [(voe, 54.6, 4.04, 0.12, 11.7 / 10.0, 0.07), (limpet, 52.1, 4.27, 0.13, 10.8 / 9.4, 0.08)]
    {
        let got = fit_vented(&rows, &VentedOptions::default()).unwrap();
        near(got.fs_hz, fs, 0.01);
        within(got.qms, qms, 2.0 * u_qms);
        within(got.alpha, alpha, 2.0 * u_alpha);
        assert!((5.0..12.0).contains(&got.ql), "{got:?}");
        assert!((5e-6..100e-6).contains(&got.shunt_f), "{got:?}");
        assert!(got.n_assumed);
    }
}

#[test]
fn what_is_no_vented_box_is_refused() {
    let rows = sweep(Some(7.0), true, 0.0, 0.0);
    let closed =
        MountedDriver { enclosure: Enclosure::Closed { vb_m3: 0.012, ql: None }, ..boxed(None) };
    let one_peak: Vec<SweepRow> = rows
        .iter()
        .map(|row| {
            let z = closed.impedance(row.f_hz, &AIR20);
            SweepRow { z_ohm: z.norm(), phase_deg: Some(z.arg().to_degrees()), ..*row }
        })
        .collect();
    let error = fit_vented(&one_peak, &DRIVER).unwrap_err();
    assert!(matches!(error, PhysicsError::NotApplicable { .. }), "{error}");
    // The closed box with a crossover's peak at 1 kHz: two peaks, and no box between them.
    let two_peaks: Vec<SweepRow> = one_peak
        .iter()
        .map(|row| {
            let detuning = 2.0 * (row.f_hz / 1000.0 - 1000.0 / row.f_hz);
            let z = Complex64::from_polar(row.z_ohm, row.phase_deg.unwrap_or(0.0).to_radians())
                + 30.0 / Complex64::new(1.0, detuning);
            SweepRow { z_ohm: z.norm(), phase_deg: Some(z.arg().to_degrees()), ..*row }
        })
        .collect();
    let error = fit_vented(&two_peaks, &VentedOptions::default()).unwrap_err();
    assert!(matches!(error, PhysicsError::NotConverged { .. }), "{error}");
    // A box without losses.
    let error = fit_vented(&sweep(None, true, 0.0, 0.0), &DRIVER).unwrap_err();
    assert!(matches!(error, PhysicsError::NotConverged { .. }), "{error}");
    // Too few rows up to the limit, and limits that are none.
    for limit in [12.0, 0.0, -1.0, f64::NAN] {
        let options = VentedOptions { f_max_hz: Some(limit), ..DRIVER };
        let error = fit_vented(&rows, &options).unwrap_err();
        assert!(matches!(error, PhysicsError::OutOfDomain { .. }), "{error}");
    }
    let error = fit_vented(&rows[..10], &DRIVER).unwrap_err();
    assert!(matches!(error, PhysicsError::OutOfDomain { .. }), "{error}");
    let mut mixed = rows.clone();
    mixed[5].phase_deg = None;
    let error = fit_vented(&mixed, &DRIVER).unwrap_err();
    assert!(matches!(error, PhysicsError::Inconsistent { .. }), "{error}");
}
