//! Boxes: the alignments and the whole circuit.

use std::f64::consts::PI;

use serde_json::{Value, json};

use crate::{DB, OPTIMISED, REL, all_near, answer, near, number, w1, with, within};

fn closed(rg: f64) -> Value {
    json!({"fs": 42.6641327, "qms": 4.47828995, "qes": 0.5728745, "re": 5.6,
        "vas": 0.0245838786, "vb": 0.012, "rg": rg})
}

#[test]
fn chk_3_1_closed_w1() {
    let plain = answer("closed-box", &closed(0.0));
    all_near(
        &plain,
        &[
            ("alpha", 2.04865655),
            ("fc", 74.4932929),
            ("qtc", 0.886817884),
            ("f3", 62.3272384),
            ("f_peak", 123.432710),
        ],
    );
    within(&plain, "peak_db", 0.618117925, DB);
    let coil = answer("closed-box", &closed(0.4));
    all_near(&coil, &[("qtc", 0.94252659), ("f3", 60.252948)]);
    near(&answer("closed-box", &closed(0.8)), "qtc", 0.99734709, REL);
    let by_qts = json!({"fs": 42.6641327, "qts": 0.507902315, "vas": 0.0245838786, "vb": 0.012});
    near(&answer("closed-box", &by_qts), "f3", 62.3272384, REL);
}

/// The standard table of f3/fc over Qtc (Small 1972); with vas = 3·vb, fc is twice fs and qtc twice
/// qts.
#[test]
fn chk_3_2_closed_f3_table() {
    let rows = [
        (0.5, 1.553773974),
        (0.57735027, 1.272019650),
        (std::f64::consts::FRAC_1_SQRT_2, 1.0),
        (1.0, 0.786151378),
    ];
    for (qtc, ratio) in rows {
        let boxed = answer("closed-box", &json!({"fs": 0.5, "qts": qtc / 2.0, "vas": 3, "vb": 1}));
        near(&boxed, "f3", ratio, REL);
    }
}

#[test]
fn a_box_without_a_peak_says_null() {
    let boxed = answer("closed-box", &json!({"fs": 40, "qts": 0.3, "vas": 0.03, "vb": 0.03}));
    assert!(boxed["peak_db"].is_null() && boxed["f_peak"].is_null(), "{boxed}");
}

/// The fourth-order Butterworth alignment at QL = 7, as published by Small 1973.
#[test]
fn chk_3_3_butterworth() {
    let b4 = answer(
        "vented-box",
        &json!({"fs": 1, "qts": 0.404814247, "vas": 1.061318021, "vb": 1, "fb": 1, "ql": 7}),
    );
    all_near(&b4, &[("a1", 2.613125930), ("a2", 3.414213562), ("a3", 2.613125930), ("h", 1.0)]);
    near(&b4, "f3", 1.0, 1e-5);
}

/// Thiele 1971, rows 7 to 9 (from memory): f3/fs, f3/fB, Cas/Cab, Qt; f3/fs and ripple computed again
/// without loss.
#[test]
fn chk_3_4_thiele_rows() {
    let rows = [
        (0.729, 0.879, 0.729, 0.466, 0.7283, 0.087),
        (0.641, 0.847, 0.559, 0.518, 0.6425, 0.298),
        (0.600, 0.838, 0.485, 0.557, 0.5988, 0.499),
    ];
    for (f3_fs, f3_fb, alpha, qts, f3, ripple) in rows {
        let boxed = answer(
            "vented-box",
            &json!({"fs": 1, "qts": qts, "vas": alpha, "vb": 1, "fb": f3_fs / f3_fb, "ql": 1e9}),
        );
        within(&boxed, "f3", f3, 1e-4);
        within(&boxed, "ripple_db", ripple, 1e-3);
    }
}

#[test]
fn chk_3_5_vented_w1() {
    let set = answer("driver", &w1());
    let input = json!({"fs": set["fs"], "qts": set["qts"], "vas": set["vas"], "vb": 0.024,
        "fb": 42, "ql": 7, "freqs": [20, 30, 40, 50, 80, 200]});
    let boxed = answer("vented-box", &input);
    all_near(
        &boxed,
        &[
            ("alpha", 1.02432828),
            ("h", 0.984433465),
            ("a1", 2.126129030),
            ("a2", 3.322040738),
            ("a3", 2.097480286),
        ],
    );
    near(&boxed, "f3", 40.9333119, OPTIMISED);
    let gain = [-24.3939124, -10.4491212, -3.43493352, -0.129522708, 1.64297187, 0.395625618];
    for (at, want) in gain.into_iter().enumerate() {
        within(&boxed, &format!("gain_db/{at}"), want, DB);
    }
}

#[test]
fn a_response_without_a_peak_has_ripple_0() {
    let boxed =
        answer("vented-box", &json!({"fs": 40, "qts": 0.25, "vas": 0.02, "vb": 0.02, "fb": 40}));
    assert!(number(&boxed, "ripple_db").abs() < f64::MIN_POSITIVE, "{boxed}");
}

/// The circuit against ngspice (a controlled-source circuit).
#[test]
fn chk_3_10_circuit_against_ngspice() {
    let rows = [
        (20.0, 11.9330348, 4.01299065e-3, 0.00610976695, 64.4442508),
        (30.0, 14.7879722, 2.54444938e-3, 0.00901551263, 78.389042),
        (42.0, 6.90213633, 0.469049245e-3, 0.00814858655, 86.2785613),
        (60.0, 15.5986316, 1.2985142e-3, 0.00434058489, 90.1019983),
        (100.0, 9.66938599, 0.746642631e-3, 0.00094245827, 90.1472008),
    ];
    let area = PI * 0.025 * 0.025;
    let freqs: Vec<f64> = rows.iter().map(|it| it.0).collect();
    let circuit = answer(
        "box-circuit",
        &json!({"driver": w1(), "vb": 0.024, "fb": 42, "ql": 7, "port_area": area, "freqs": freqs}),
    );
    for (at, (_, z, x, flow, spl)) in rows.into_iter().enumerate() {
        near(&circuit, &format!("z_mag/{at}"), z, REL);
        near(&circuit, &format!("x_peak/{at}"), x, REL);
        near(&circuit, &format!("port_velocity_peak/{at}"), flow * 2f64.sqrt() / area, REL);
        within(&circuit, &format!("spl/{at}"), spl, DB);
    }
}

/// Peak port velocity of a 50 mm port, found by optimisation.
#[test]
fn chk_3_12_port_velocity() {
    let circuit = answer(
        "box-circuit",
        &json!({"driver": w1(), "vb": 0.024, "fb": 42, "port_area": PI * 0.025 * 0.025,
            "freqs": [33.21147]}),
    );
    near(&circuit, "port_velocity_peak/0", 6.6427013, OPTIMISED);
}

#[test]
fn a_series_resistance_is_part_of_the_impedance() {
    let base = json!({"driver": w1(), "vb": 0.012, "freqs": [74.4932929]});
    let alone = number(&answer("box-circuit", &base), "z_mag/0");
    let behind = answer("box-circuit", &with(&base, &json!({"rg": 0.5})));
    // At the resonance of an airtight box without inductance the impedance is real: Re + Res.
    assert!((alone - (5.6 + 6.1 * 6.1 / 0.85)).abs() < 1e-6, "{alone}");
    assert!((number(&behind, "z_mag/0") - alone - 0.5).abs() < 1e-6);
}
