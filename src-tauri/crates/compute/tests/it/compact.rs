//! The compact results.

use std::f64::consts::PI;

use serde_json::json;

use crate::{REL, all_near, answer, near, number, refused, within};

#[test]
fn chk_3_14_displacement_limit() {
    let limit = answer("displacement-limit", &json!({"sd": 0.0133, "xmax": 0.004, "freq": 50}));
    all_near(&limit, &[("spl_1m", 91.0222601), ("power_acoustic", 0.00769647918)]);
}

#[test]
fn chk_7_1_doppler() {
    let it = answer("doppler", &json!({"x_peak": 0.004, "f_high": 1000}));
    all_near(
        &it,
        &[("index", 0.073230598), ("distortion", 0.051781852), ("distortion_exact", 0.051825283)],
    );
}

#[test]
fn no_exact_distortion_where_the_carrier_vanishes() {
    // The first zero of J0 is 2.4048 (Abramowitz and Stegun, table 9.5, from memory).
    let at = |index: f64| {
        let x = index * 343.2 / (2.0 * PI * 1000.0);
        answer("doppler", &json!({"x_peak": x, "f_high": 1000}))
    };
    assert!(number(&at(2.404), "distortion_exact") > 100.0);
    assert!(at(2.4049)["distortion_exact"].is_null());
    assert!(at(10.0)["distortion_exact"].is_null());
}

#[test]
fn chk_7_2_baffle_step() {
    let wanted = [
        (0.1, 0.0073594763),
        (0.5, 0.70835554),
        (1.0, 3.0359477),
        (2.0, 4.4072),
        (5.0, 5.4557464),
        (10.0, 5.8320563),
    ];
    let freqs: Vec<f64> = wanted.iter().map(|(ka, _)| ka * 343.2 / (PI * 0.2)).collect();
    let step = answer("baffle-step", &json!({"diameter": 0.2, "freqs": freqs}));
    for (at, (_, gain)) in wanted.into_iter().enumerate() {
        // The reference is printed to the digits that stand here.
        within(&step, &format!("gain_db/{at}"), gain, 1e-6);
    }
    near(&step, "f_half", 541.879, REL);
}

#[test]
fn a_baffle_step_takes_a_long_list_and_bounds_its_work() {
    let long: Vec<f64> = (1..=20_000).map(f64::from).collect();
    let step = answer("baffle-step", &json!({"diameter": 0.02, "freqs": long}));
    assert_eq!(step["gain_db"].as_array().unwrap().len(), long.len());
    // ka is 9,700 for each.
    let heavy = json!({"diameter": 53.0, "freqs": vec![20_000; 11_000]});
    refused("baffle-step", &heavy, "out_of_domain", "freqs");
    let beyond = json!({"diameter": 53.0, "freqs": [100, 30_000]});
    refused("baffle-step", &beyond, "out_of_domain", "freqs[1]");
}

#[test]
fn chk_7_3_piston() {
    let at =
        |sd: f64, freq: f64| answer("piston", &json!({"sd": sd, "freq": freq, "angle_deg": 30}));
    let w1 = at(0.0133, 3000.0);
    near(&w1, "ka", 3.57359, REL);
    within(&w1, "directivity_db", -3.7335215, 1e-6);
    within(&at(0.0133, 2000.0), "directivity_db", -1.589047, 1e-6);
    within(&at(0.0055, 3000.0), "directivity_db", -1.4752087, 1e-6);
}

#[test]
fn an_angle_is_at_most_90_degrees() {
    let at = |angle: f64| json!({"sd": 0.0133, "freq": 3000, "angle_deg": angle});
    refused("piston", &at(90.1), "out_of_domain", "angle_deg");
    refused("piston", &at(-91.0), "out_of_domain", "angle_deg");
    let (left, right) = (answer("piston", &at(-90.0)), answer("piston", &at(90.0)));
    assert_eq!(left, right);
    within(&answer("piston", &at(0.0)), "directivity_db", 0.0, 1e-12);
}
