//! A driver and groups of them.

use serde_json::{Value, json};

use crate::{REL, all_near, answer, near, number, t1, w1, with};

#[test]
fn chk_1_1_driver_w1() {
    let set = answer("driver", &with(&w1(), &json!({"le": 0.55e-3, "xmax": 0.004})));
    all_near(
        &set,
        &[
            ("fs", 42.6641327),
            ("qms", 4.47828995),
            ("qes", 0.5728745),
            ("qts", 0.507902315),
            ("vas", 24.5838786e-3),
            ("eta0", 0.00325459967),
            ("spl_1w", 87.2843148),
            ("spl_2v83", 88.8381633),
            ("ebp", 74.4737856),
            ("motor_strength", 6.64464286),
            ("f_le", 1620.48669),
            ("res", 43.7764706),
        ],
    );
    all_near(&set, &[("mms", 0.0142), ("cms", 0.00098), ("rms", 0.85), ("bl", 6.1)]);
}

#[test]
fn chk_1_2_driver_t1() {
    let set = answer("driver", &t1());
    all_near(
        &set,
        &[
            ("fs", 901.037435),
            ("qms", 3.77425678),
            ("qes", 1.35672248),
            ("qts", 0.997980846),
            ("vas", 0.00829615603e-3),
            ("eta0", 0.00436849953),
            ("spl_1w", 88.562662),
            ("spl_2v83", 90.2744531),
            ("res", 15.0222222),
        ],
    );
}

#[test]
fn the_other_set_of_parameters_leads_to_the_same_driver() {
    let mechanics = answer("driver", &w1());
    let sheet: Value = ["fs", "qms", "qes", "vas"]
        .iter()
        .map(|key| ((*key).to_owned(), mechanics[key].clone()))
        .chain([("re".to_owned(), json!(5.6)), ("sd".to_owned(), json!(0.0133))])
        .collect::<serde_json::Map<_, _>>()
        .into();
    let again = answer("driver", &sheet);
    for (key, value) in mechanics.as_object().unwrap() {
        if let Some(want) = value.as_f64() {
            near(&again, key, want, 1e-12);
        }
    }
}

#[test]
fn chk_1_3_two_w1() {
    let pair = |wiring: &str| {
        answer("driver-group", &json!({"driver": w1(), "count": 2, "wiring": wiring}))
    };
    let parallel = pair("parallel");
    all_near(
        &parallel,
        &[
            ("re", 2.8),
            ("bl", 6.1),
            ("vas", 49.1677572e-3),
            ("eta0", 0.00650919933),
            ("spl_2v83", 94.8587632),
            ("fs", 42.6641327),
            ("qts", 0.507902315),
            ("mms", 0.0284),
            ("cms", 0.00049),
            ("rms", 1.7),
            ("sd", 0.0266),
        ],
    );
    let series = pair("series");
    all_near(
        &series,
        &[("re", 11.2), ("bl", 12.2), ("vas", 49.1677572e-3), ("spl_2v83", 88.8381633)],
    );
}

#[test]
fn a_group_has_the_coil_of_its_drivers() {
    let lossy = with(&w1(), &json!({"k": 0.02, "n": 0.67}));
    let input =
        |driver: &Value, wiring: &str| json!({"driver": driver, "count": 3, "wiring": wiring});
    let series = answer("driver-group", &input(&lossy, "series"));
    all_near(&series, &[("k", 0.06), ("n", 0.67)]);
    assert!(series["le"].is_null());
    let parallel = answer("driver-group", &input(&lossy, "parallel"));
    near(&parallel, "k", 0.02 / 3.0, REL);
    let ideal = with(&w1(), &json!({"le": 0.55e-3}));
    let plain = answer("driver-group", &input(&ideal, "parallel"));
    near(&plain, "le", 0.55e-3 / 3.0, REL);
    assert!(plain.get("k").is_none() && plain.get("n").is_none());
}

#[test]
fn other_air_changes_the_volume_by_its_bulk_modulus() {
    let other = with(&w1(), &json!({"air": {"rho": 1.18, "c": 345}}));
    let ratio = number(&answer("driver", &other), "vas") / number(&answer("driver", &w1()), "vas");
    let want = 1.18 * 345.0_f64.powi(2) / (1.204 * 343.2_f64.powi(2));
    assert!((ratio / want - 1.0).abs() < 1e-12, "{ratio} is not {want}");
}
