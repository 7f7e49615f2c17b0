//! The fit of a sweep, against scipy.

use serde_json::{Value, json};

use crate::{OPTIMISED, all_near, answer, near, number, refusal, refused, with, within};

/// Impedance of re + res/(1 + j·qms·(f/fs − fs/f)) + k·(jω)ⁿ as magnitude and phase in degrees.
fn clean(f: f64) -> (f64, f64) {
    let (re, res, fs, qms, k, n) = (5.6, 40.0, 42.5, 4.2, 0.020, 0.67);
    let x: f64 = qms * (f / fs - fs / f);
    let motion = res / (1.0 + x * x);
    let coil = k * (std::f64::consts::TAU * f).powf(n);
    let turn = n * std::f64::consts::FRAC_PI_2;
    let real = re + motion + coil * turn.cos();
    let imaginary = -motion * x + coil * turn.sin();
    (real.hypot(imaginary), imaginary.atan2(real).to_degrees())
}

/// The noisy sweep of the check: f = 10·2000^(k/60), magnitude off by 0.5 % times sin k².
fn sweep(phase: bool) -> Vec<Value> {
    (0..=60)
        .map(|k| {
            let k = f64::from(k);
            let f = 10.0 * 2000f64.powf(k / 60.0);
            let (z, angle) = clean(f);
            let noisy = z * (1.0 + 0.005 * (k * k).sin());
            if phase { json!([f, noisy, angle]) } else { json!([f, noisy]) }
        })
        .collect()
}

#[test]
fn chk_2_3_fit_of_magnitudes() {
    let rows = sweep(false);
    within(&json!({"z": rows[10][1]}), "z", 26.1440408, 1e-7);
    within(&json!({"z": rows[60][1]}), "z", 55.0801253, 1e-7);
    let it = answer("impedance-fit", &json!({"sweep": rows}));
    let wanted = [
        ("re", 5.609949667, 0.0104949),
        ("res", 40.11766938, 0.146038),
        ("fs", 42.48955199, 0.0168515),
        ("qms", 4.225068745, 0.0180689),
        ("k", 0.01974959976, 0.000181297),
        ("n", 0.6712605536, 0.000877347),
        ("qes", 0.59082253, 0.00193641),
        ("qts", 0.51833932, 0.00164497),
    ];
    for (key, value, u) in wanted {
        near(&it, key, value, 1e-6);
        near(&it, &format!("u/{key}"), u, OPTIMISED);
    }
    near(&it, "rss", 6.551545823e-4, 1e-6);
    near(&it, "corr/k,n", -0.994872, 1e-5);
    near(&it, "corr/res,qms", 0.909792, 1e-5);
}

#[test]
fn chk_2_3_fit_with_phase() {
    let it = answer("impedance-fit", &json!({"sweep": sweep(true)}));
    all_near(
        &it,
        &[
            ("re", 5.60067003),
            ("res", 40.04211277),
            ("fs", 42.49495865),
            ("qms", 4.210438847),
            ("k", 0.01993621442),
            ("n", 0.6703433819),
        ],
    );
}

/// Inductance of the coil at two frequencies (K = 0.020, n = 0.67), from a sweep without noise.
#[test]
fn chk_2_1_inductance_depends_on_frequency() {
    let rows: Vec<Value> = (0..=60)
        .map(|k| {
            let f = 10.0 * 2000f64.powf(f64::from(k) / 60.0);
            let (z, angle) = clean(f);
            json!([f, z, angle])
        })
        .collect();
    let it = answer("impedance-fit", &json!({"sweep": rows}));
    all_near(&it, &[("le_1k", 0.969317873e-3), ("le_10k", 0.453384033e-3)]);
}

#[test]
fn a_fixed_parameter_has_no_uncertainty_and_no_correlation() {
    let fixed = answer("impedance-fit", &json!({"sweep": sweep(false), "fix": {"n": 0.67}}));
    within(&fixed, "n", 0.67, 1e-12);
    within(&fixed, "u/n", 0.0, f64::MIN_POSITIVE);
    assert!(fixed["corr"]["k,n"].is_null());
    assert!(number(&fixed, "corr/res,qms") > 0.5);
    let re = answer("impedance-fit", &json!({"sweep": sweep(false), "fix": {"re": 5.6}}));
    within(&re, "re", 5.6, 1e-12);
    within(&re, "u/re", 0.0, f64::MIN_POSITIVE);
    assert!(number(&re, "u/n") > 0.0);
    // A fixed exponent may lie on the bound.
    let bound = answer("impedance-fit", &json!({"sweep": sweep(false), "fix": {"n": 0.5}}));
    within(&bound, "n", 0.5, 1e-12);
    let beyond = json!({"sweep": sweep(false), "fix": {"n": 0.4}});
    refused("impedance-fit", &beyond, "out_of_domain", "fix.n");
    let other = json!({"sweep": sweep(false), "fix": {"k": 0.4}});
    refused("impedance-fit", &other, "unknown_key", "fix.k");
}

#[test]
fn rows_that_are_no_sweep_are_refused() {
    let code = |rows: &[Value]| refusal("impedance-fit", &json!({"sweep": rows})).0;
    let rows = sweep(false);
    assert_eq!(code(&rows[..19]), "out_of_domain");
    let mut order = rows.clone();
    order.swap(3, 4);
    refused("impedance-fit", &json!({"sweep": order}), "out_of_domain", "sweep[4]");
    let mut zero = rows.clone();
    zero[5][1] = json!(0);
    refused("impedance-fit", &json!({"sweep": zero}), "out_of_domain", "sweep[5][1]");
    zero[4][0] = json!(-1);
    refused("impedance-fit", &json!({"sweep": zero}), "out_of_domain", "sweep[4][0]");
    let mut phase = sweep(true);
    phase[3][2] = json!(181);
    refused("impedance-fit", &json!({"sweep": phase}), "out_of_domain", "sweep[3]");
    // From above the resonance, and only around it.
    assert_eq!(code(&rows[20..]), "out_of_domain");
    assert_eq!(code(&rows[5..26]), "out_of_domain");
    let mut mixed = rows.clone();
    mixed[7] = json!([rows[7][0], rows[7][1], 10.0]);
    refused("impedance-fit", &json!({"sweep": mixed}), "inconsistent", "sweep[7]");
    let mut short = rows.clone();
    short[7] = json!([1.0]);
    refused("impedance-fit", &json!({"sweep": short}), "out_of_domain", "sweep[7]");
    let mut text = rows;
    text[7][1] = json!("8 ohm");
    refused("impedance-fit", &json!({"sweep": text}), "out_of_domain", "sweep[7][1]");
}

#[test]
fn two_peaks_are_not_applicable() {
    let freqs: Vec<f64> = (0..=80).map(|k| 10.0 * 100f64.powf(f64::from(k) / 80.0)).collect();
    let driver = json!({"re": 5.6, "mms": 0.0142, "cms": 0.00098, "rms": 0.85, "bl": 6.1,
        "sd": 0.0133});
    let boxed = json!({"driver": driver, "vb": 0.024, "fb": 42, "port_area": 0.002});
    let vented = answer("box-circuit", &with(&boxed, &json!({"freqs": freqs})));
    let rows: Vec<Value> =
        freqs.iter().zip(vented["z_mag"].as_array().unwrap()).map(|(f, z)| json!([f, z])).collect();
    refused("impedance-fit", &json!({"sweep": rows}), "not_applicable", "sweep");
}

#[test]
fn a_free_exponent_on_its_bound_is_not_converged() {
    // An ideal inductance ends at n = 1, which a fit with n fixed there finds.
    let rows: Vec<Value> = (0..=60)
        .map(|k| {
            let f = 10.0 * 2000f64.powf(f64::from(k) / 60.0);
            let x: f64 = 4.2 * (f / 42.5 - 42.5 / f);
            let motion = 40.0 / (1.0 + x * x);
            let coil = std::f64::consts::TAU * f * 0.55e-3;
            json!([f, (5.6 + motion).hypot(coil - motion * x)])
        })
        .collect();
    refused("impedance-fit", &json!({"sweep": rows}), "not_converged", "sweep");
    let fixed = answer("impedance-fit", &json!({"sweep": rows, "fix": {"n": 1.0}}));
    near(&fixed, "k", 0.55e-3, 1e-6);
}
