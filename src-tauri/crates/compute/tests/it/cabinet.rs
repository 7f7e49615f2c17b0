//! Walls, cavities, lining, the midrange's chamber.

use serde_json::{Value, json};

use crate::{REL, all_near, answer, near, number, with, within};

fn mdf(a: f64, b: f64, h: f64) -> Value {
    json!({"a": a, "b": b, "h": h, "e": 3.0e9, "rho": 740, "nu": 0.25})
}

#[test]
fn chk_4_2_panels() {
    // The last column is a converged Ritz solution; the closed form lies within 0.5 % above it.
    let rows = [
        (0.3, 0.2, 0.012, 460.8, 408.6114, 774.0214),
        (0.3, 0.2, 0.015, 900.0, 510.76425, 967.52681),
        (0.3, 0.2, 0.018, 1555.2, 612.9171, 1161.0322),
        (0.9, 0.25, 0.015, 900.0, 243.76988, 525.39561),
    ];
    for (a, b, h, d, hinged, ritz) in rows {
        let panel = answer("panel", &mdf(a, b, h));
        all_near(&panel, &[("d", d), ("f_hinged", hinged)]);
        near(&panel, "f_clamped", ritz, 5e-3);
        let product = number(&panel, "f_hinged") * number(&panel, "f_clamped");
        near(&panel, "f_est", product.sqrt(), 1e-12);
    }
}

#[test]
fn chk_4_3_braced_panels() {
    let wall = mdf(0.9, 0.25, 0.015);
    let braced = |braces: &[f64]| answer("panel-braced", &with(&wall, &json!({"braces": braces})));
    near(&braced(&[0.45]), "f_hinged", 296.15596, REL);
    near(&braced(&[0.35]), "f_hinged", 273.06567, REL);
    near(&braced(&[0.6, 0.3]), "f_hinged", 383.46608, REL);
    within(&braced(&[0.35]), "governing/0", 0.55, 1e-12);
    within(&braced(&[0.35]), "governing/1", 0.25, 1e-12);
    near(&braced(&[]), "f_hinged", 243.76988, REL);
}

#[test]
fn chk_4_4_coincidence() {
    near(&answer("panel", &mdf(0.3, 0.2, 0.012)), "f_coincidence", 2602.35, 1e-5);
    near(&answer("panel", &mdf(0.3, 0.2, 0.018)), "f_coincidence", 1734.9, 1e-5);
}

#[test]
fn chk_4_6_cavity() {
    let cavity = answer("cavity", &json!({"lx": 0.32, "ly": 0.19, "lz": 0.24, "count": 6}));
    let wanted = [
        (1, 0, 0, 536.25),
        (0, 0, 1, 715.0),
        (1, 0, 1, 893.75),
        (0, 1, 0, 903.157895),
        (1, 1, 0, 1050.361),
        (2, 0, 0, 1072.5),
    ];
    assert_eq!(cavity["modes"].as_array().unwrap().len(), wanted.len());
    for (at, (i, j, k, f)) in wanted.into_iter().enumerate() {
        let mode = &cavity["modes"][at];
        assert_eq!((&mode["i"], &mode["j"], &mode["k"]), (&json!(i), &json!(j), &json!(k)));
        near(mode, "f", f, REL);
    }
}

#[test]
fn chk_4_7_lining() {
    let rows: [(f64, f64, [f64; 4]); 3] = [
        (5000.0, 0.025, [0.055928727, 0.11881506, 0.25361602, 0.53880171]),
        (5000.0, 0.050, [0.14895804, 0.35388345, 0.72230716, 0.93657604]),
        (10000.0, 0.025, [0.059311077, 0.14895804, 0.35388345, 0.72230716]),
    ];
    for (sigma, thickness, wanted) in rows {
        let input = json!({"sigma": sigma, "thickness": thickness,
            "freqs": [250, 500, 1000, 2000]});
        let layer = answer("lining", &input);
        for (at, want) in wanted.into_iter().enumerate() {
            near(&layer, &format!("absorption/{at}"), want, REL);
        }
        assert_eq!(layer["in_range"], json!([true, true, true, true]));
    }
    let beyond = answer("lining", &json!({"sigma": 5000, "thickness": 0.05, "freqs": [20, 9000]}));
    assert_eq!(beyond["in_range"], json!([false, false]));
}

#[test]
fn chk_4_8_cavity_q() {
    let rows = [
        (0.02, 0.02, 155.50355),
        (0.5, 0.02, 8.8079993),
        (0.8, 0.02, 3.855565),
        (0.8, 0.8, 1.9519813),
    ];
    for (one, two, want) in rows {
        let input = json!({"order": 1, "alpha_1": one, "alpha_2": two});
        near(&answer("cavity-q", &input), "q", want, REL);
    }
}

#[test]
fn chk_4_9_chamber() {
    let input = json!({"woofer_sd": 0.0133, "excursion": 0.004, "vb": 0.024, "mid_sd": 0.0055,
        "mid_cms": 0.0007});
    let shared = answer("chamber", &input);
    all_near(&shared, &[("pressure_peak", 314.35577), ("mid_excursion", 1.0756788e-3)]);
    // The sinusoid with that peak has 1/√2 of it as its rms value.
    within(&shared, "spl_peak", 20.0 * (314.35577 / 2f64.sqrt() / 20e-6).log10(), 1e-6);
    within(&shared, "spl_peak", 140.9, 0.05);
}
