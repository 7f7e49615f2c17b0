//! The impedance fit: check values, round trips, and refusals.

use std::f64::consts::TAU;

use physics::PhysicsError;
use physics::fit::vented::{VentedOptions, fit_vented};
use physics::fit::{Fixed, ImpedanceFit, ImpedanceModel, fit};
use physics::sweep::SweepRow;
use proptest::prelude::*;

use crate::tolerance::{REL, near, within};

const FREE: Fixed = Fixed { re_ohm: None, n: None };
const TRUTH: ImpedanceModel =
    ImpedanceModel { re_ohm: 5.6, res_ohm: 40.0, fs_hz: 42.5, qms: 4.2, k: 0.020, n: 0.67 };

/// `count` rows from `from_hz` to `to_hz`, even in log f; `noise(k)` is the share by which |Z| of
/// row k is too large.
fn sweep(
    model: &ImpedanceModel,
    (from_hz, to_hz, count): (f64, f64, u32),
    phase: bool,
    noise: impl Fn(f64) -> f64,
) -> Vec<SweepRow> {
    (0..count)
        .map(|k| {
            let k = f64::from(k);
            let f_hz = from_hz * (to_hz / from_hz).powf(k / f64::from(count - 1));
            let z = model.impedance(f_hz);
            SweepRow {
                f_hz,
                z_ohm: z.norm() * (1.0 + noise(k)),
                phase_deg: phase.then(|| z.arg().to_degrees()),
            }
        })
        .collect()
}

/// 61 rows from 10 Hz to 20 kHz with 0.5 % of sin k² on |Z|.
fn noisy(phase: bool) -> Vec<SweepRow> {
    sweep(&TRUTH, (10.0, 20e3, 61), phase, |k| 0.005 * (k * k).sin())
}

fn plain(model: &ImpedanceModel) -> [f64; 6] {
    [model.re_ohm, model.res_ohm, model.fs_hz, model.qms, model.k, model.n]
}

fn all_near(got: &ImpedanceFit, want: [f64; 6], tolerance: f64) {
    for (got, want) in plain(&got.model).into_iter().zip(want) {
        near(got, want, tolerance);
    }
}

#[test]
fn chk_2_1_lossy_coil() {
    let coil = |f_hz: f64| TRUTH.coil().impedance(TAU * f_hz);
    near(coil(1e3).re, 3.473905007, REL);
    near(coil(1e3).im, 6.090403821, REL);
    near(TRUTH.le_h(1e3), 0.969317873e-3, REL);
    near(coil(1e4).re, 16.24867449, REL);
    near(coil(1e4).im, 28.48695892, REL);
    near(TRUTH.le_h(1e4), 0.453384033e-3, REL);
    near(TRUTH.r_loss_ohm(1e4), 16.24867449, REL);
}

#[test]
fn chk_2_3_the_sweep_is_the_one_meant() {
    let rows = noisy(false);
    for (k, f_hz, z_ohm) in
        [(10, 35.4953666, 26.1440408), (30, 447.213595, 8.12996981), (60, 20e3, 55.0801253)]
    {
        near(rows[k].f_hz, f_hz, 1e-8);
        near(rows[k].z_ohm, z_ohm, 1e-8);
    }
}

#[test]
fn chk_2_3_magnitude_alone() {
    // scipy least_squares, methods lm and trf.
    let got = fit(&noisy(false), &FREE).unwrap();
    let want = [5.609949667, 40.11766938, 42.48955199, 4.225068745, 0.01974959976, 0.6712605536];
    all_near(&got, want, REL);
    let deviations = [0.0104949, 0.146038, 0.0168515, 0.0180689, 0.000181297, 0.000877347];
    for (got, want) in got.u.into_iter().zip(deviations) {
        // Six digits are printed.
        near(got, want, 5e-6);
    }
    near(got.rss, 6.551545823e-4, REL);
    assert_eq!(got.degrees_of_freedom, 55);
    within(got.correlation(4, 5).unwrap(), -0.994872, 1e-6);
    within(got.correlation(1, 3).unwrap(), 0.909792, 1e-6);
    near(got.model.qes(), 0.59082253, REL);
    near(got.u_qes, 0.00193641, 5e-6);
    near(got.model.qts(), 0.51833932, REL);
    near(got.u_qts, 0.00164497, 5e-6);
}

#[test]
fn chk_2_3_with_phase() {
    let got = fit(&noisy(true), &FREE).unwrap();
    let want = [5.60067003, 40.04211277, 42.49495865, 4.210438847, 0.01993621442, 0.6703433819];
    all_near(&got, want, REL);
    assert_eq!(got.degrees_of_freedom, 2 * 61 - 6);
}

#[test]
fn a_held_parameter_stays_and_has_no_uncertainty() {
    for phase in [false, true] {
        let got = fit(&noisy(phase), &Fixed { re_ohm: Some(5.6), n: Some(0.67) }).unwrap();
        near(got.model.re_ohm, 5.6, 1e-15);
        near(got.model.n, 0.67, 1e-15);
        near(got.u[0] + got.u[5] + 1.0, 1.0, 0.0);
        assert!(got.covariance[5].iter().all(|it| it.to_bits() == 0), "{got:?}");
        assert_eq!(got.correlation(4, 5), None);
        assert_eq!(got.correlation(6, 0), None);
        assert!(got.correlation(1, 3).unwrap() > 0.5);
        near(got.model.fs_hz, 42.5, 1e-3);
        near(got.model.k, 0.02, 5e-3);
        assert_eq!(got.degrees_of_freedom, if phase { 118 } else { 57 });
    }
    // Either bound of n may be given.
    for n in [0.5, 1.0] {
        let truth = ImpedanceModel { n, k: 20.0 / (TAU * 2e4).powf(n), ..TRUTH };
        let rows = sweep(&truth, (10.0, 20e3, 61), false, |_| 0.0);
        all_near(&fit(&rows, &Fixed { re_ohm: None, n: Some(n) }).unwrap(), plain(&truth), 1e-8);
    }
}

#[test]
fn uncertainties_cover_the_truth() {
    // 5 % of noise instead of 0.5: ten times the uncertainty, and the truth within three of them.
    let rows = sweep(&TRUTH, (10.0, 20e3, 61), false, |k| 0.05 * (k * k).sin());
    let got = fit(&rows, &FREE).unwrap();
    for ((got, u), want) in plain(&got.model).into_iter().zip(got.u).zip(plain(&TRUTH)) {
        within(got, want, 3.0 * u);
    }
    near(got.u[2], 0.168515, 0.1);
}

#[test]
fn sweeps_that_cannot_be_fitted_are_refused() {
    let out_at = |rows: &[SweepRow], place: &str, says: &str| {
        let error = fit(rows, &FREE).unwrap_err();
        assert!(matches!(&error, PhysicsError::OutOfDomain { field, .. } if field == place));
        assert!(error.to_string().contains(says), "{error}");
    };
    let out = |rows: &[SweepRow], says: &str| out_at(rows, "sweep", says);
    let sound = noisy(true);
    out(&[], "no rows");
    out(&sound[..19], "19 rows");
    let mut swapped = sound.clone();
    swapped.swap(30, 31);
    out_at(&swapped, "sweep[31]", "point 32");
    for z in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        let mut bad = sound.clone();
        bad[7].z_ohm = z;
        out_at(&bad, "sweep[7]", "point 8");
    }
    // fs/3 = 14.2 Hz, 3·fs = 127.5 Hz.
    out(&sweep(&TRUTH, (15.0, 20e3, 61), true, |_| 0.0), "must cover 14");
    out(&sweep(&TRUTH, (10.0, 120.0, 61), true, |_| 0.0), "must cover 14");
    out(&sweep(&TRUTH, (60.0, 20e3, 61), true, |_| 0.0), "no resonance peak");
    let mut mixed = sound.clone();
    mixed[12].phase_deg = None;
    let error = fit(&mixed, &FREE).unwrap_err();
    assert!(matches!(error, PhysicsError::Inconsistent { .. }), "{error}");
    for (fixed, field) in [
        (Fixed { re_ohm: Some(0.0), n: None }, "re_ohm"),
        (Fixed { re_ohm: Some(f64::NAN), n: None }, "re_ohm"),
        (Fixed { re_ohm: None, n: Some(0.49) }, "n"),
        (Fixed { re_ohm: None, n: Some(f64::NAN) }, "n"),
    ] {
        let error = fit(&sound, &fixed).unwrap_err();
        assert!(matches!(&error, PhysicsError::OutOfDomain { field: at, .. } if at == field));
    }
}

#[test]
fn two_peaks_are_another_model() {
    let second = ImpedanceModel { re_ohm: 0.1, fs_hz: 1200.0, qms: 3.0, res_ohm: 20.0, ..TRUTH };
    let rows: Vec<SweepRow> = noisy(false)
        .into_iter()
        .map(|row| SweepRow { z_ohm: row.z_ohm + second.impedance(row.f_hz).norm(), ..row })
        .collect();
    let error = fit(&rows, &FREE).unwrap_err();
    assert!(matches!(error, PhysicsError::NotApplicable { .. }), "{error}");
}

#[test]
fn what_the_sweep_does_not_hold_is_not_invented() {
    // A second-order rise, which the coil can only follow with n beyond 1.
    let rows: Vec<SweepRow> =
        sweep(&ImpedanceModel { k: 1e-9, ..TRUTH }, (10.0, 20e3, 61), false, |_| 0.0)
            .into_iter()
            .map(|row| SweepRow { z_ohm: row.z_ohm + (row.f_hz / 3e3).powi(2), ..row })
            .collect();
    let error = fit(&rows, &FREE).unwrap_err();
    assert!(error.to_string().contains("ends on a bound"), "{error}");
    assert!(matches!(error, PhysicsError::NotConverged { .. }));
    // No coil at all.
    let bare = sweep(&ImpedanceModel { k: 0.0, ..TRUTH }, (10.0, 20e3, 61), false, |_| 0.0);
    let error = fit(&bare, &FREE).unwrap_err();
    assert!(matches!(error, PhysicsError::NotConverged { .. }), "{error}");
}

fn models() -> impl Strategy<Value = ImpedanceModel> {
    (2.0..16.0, 1.5..20.0, 25.0..120.0, 1.0..8.0, 0.3..4.0, 0.53..0.97).prop_map(
        |(re_ohm, times, fs_hz, qms, rise, n)| ImpedanceModel {
            re_ohm,
            res_ohm: re_ohm * times,
            fs_hz,
            qms,
            k: rise * re_ohm / (TAU * 10e3_f64).powf(n),
            n,
        },
    )
}

proptest! {
    // Each case is two or three fits of 90 rows.
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn a_clean_sweep_gives_its_model_back(model in models(), phase: bool) {
        let rows = sweep(&model, (8.0, 20e3, 90), phase, |_| 0.0);
        let got = fit(&rows, &FREE).unwrap();
        all_near(&got, plain(&model), 1e-6);
        prop_assert!(got.rss < 1e-12, "{}", got.rss);
    }

    #[test]
    fn any_rows_give_numbers_or_an_error(
        steps in prop::collection::vec((0.001f64..3.0, -40.0f64..40.0, -180.0f64..180.0), 20..60),
        wild in prop_oneof![Just(0.0), Just(0.1), Just(1.0), Just(17.0)],
        phase: bool,
        peak in 0usize..60,
    ) {
        let mut f_hz = 1.0;
        let rows: Vec<SweepRow> = steps
            .iter()
            .enumerate()
            .map(|(at, &(step, ln_z, phase_deg))| {
                f_hz *= 1.0 + step;
                // Ever wilder around one hill, and at last without any.
                let hill = 3.0 / (1.0 + (f64::from(u8::try_from(at).unwrap_or(0))
                    - f64::from(u8::try_from(peak).unwrap_or(0))).abs());
                SweepRow {
                    f_hz,
                    z_ohm: (hill + wild * ln_z).exp(),
                    phase_deg: phase.then_some(wild.min(1.0) * phase_deg),
                }
            })
            .collect();
        for fixed in [FREE, Fixed { re_ohm: Some(3.0), n: Some(0.7) }] {
            if let Ok(got) = fit(&rows, &fixed) {
                prop_assert!(plain(&got.model).iter().all(|it| it.is_finite() && *it > 0.0));
                prop_assert!(got.u.iter().all(|it| it.is_finite()), "{got:?}");
                prop_assert!(got.u_qes.is_finite() && got.u_qts.is_finite(), "{got:?}");
            }
            let options = VentedOptions { fixed, ..VentedOptions::default() };
            if let Ok(got) = fit_vented(&rows, &options) {
                prop_assert!(got.u.iter().all(|it| it.is_finite()), "{got:?}");
            }
        }
    }

    #[test]
    fn impedance_scales_resistances_and_the_coil_alone(model in models(), by in 0.1f64..10.0) {
        let noise = |k: f64| 0.004 * (k * k).sin();
        let rows = sweep(&model, (8.0, 20e3, 90), false, noise);
        let scaled: Vec<SweepRow> =
            rows.iter().map(|row| SweepRow { z_ohm: by * row.z_ohm, ..*row }).collect();
        let (one, other) = (fit(&rows, &FREE).unwrap(), fit(&scaled, &FREE).unwrap());
        let [re, res, fs, qms, k, n] = plain(&one.model);
        all_near(&other, [by * re, by * res, fs, qms, by * k, n], 1e-6);
        near(other.u[1], by * one.u[1], 1e-4);
        near(other.u_qts, one.u_qts, 1e-4);
    }
}
