//! Values with uncertainties, and what a second measurement adds.

use serde_json::{Value, json};

use crate::{OPTIMISED, REL, all_near, answer, near, number, refused, with};

fn entries() -> Value {
    let rows = [
        ("fs", 43.5, 0.01),
        ("mms", 0.0142, 0.02),
        ("cms", 0.00098, 0.04),
        ("sd", 0.0133, 0.015),
        ("vas", 0.0262, 0.05),
        ("re", 5.6, 0.005),
        ("bl", 6.1, 0.02),
        ("qes", 0.57, 0.03),
        ("rms", 0.85, 0.05),
        ("qms", 4.4, 0.05),
    ];
    let entry = |(key, value, rel_u): (&str, f64, f64)| {
        (key.to_owned(), json!({"value": value, "rel_u": rel_u}))
    };
    Value::Object(rows.into_iter().map(entry).collect())
}

#[test]
fn chk_1_4_consistency() {
    let found = answer("consistency", &json!({"values": entries()}));
    let relations = [
        ("r1", 0.01940235, 0.79209779),
        ("r2", 0.06366852, 0.90040889),
        ("r3", -0.02443266, -0.44423025),
        ("r4", -0.03703908, -0.49943484),
    ];
    for (id, residual, z) in relations {
        near(&found, &format!("residuals/{id}"), residual, REL);
        near(&found, &format!("z/{id}"), z, REL);
    }
    all_near(&found, &[("chi2", 2.73567311), ("p_value", 0.602987)]);
    assert_eq!(found["dof"], json!(4));
    let adjusted = [
        ("fs", 43.220342),
        ("mms", 0.014004107),
        ("cms", 0.00096829671),
        ("sd", 0.013433893),
        ("vas", 0.024781824),
        ("bl", 6.1079129),
        ("qes", 0.5708319),
        ("qms", 4.4368895),
    ];
    for (key, value) in adjusted {
        near(&found, &format!("adjusted/{key}/value"), value, REL);
        let left = number(&found, &format!("adjusted/{key}/rel_u"));
        let given = entries()[key]["rel_u"].as_f64().unwrap();
        assert!(left < given, "{key}: {left} is not below {given}");
    }
}

/// A fifth relation: with three values that cannot all be right, 1/qts misses by 1/0.5 − 1/4 − 1/0.6.
#[test]
fn r5_is_the_residual_of_the_inverse_and_counts_in_dof() {
    let q = json!({"qts": {"value": 0.5, "rel_u": 0.02}, "qms": {"value": 4, "rel_u": 0.05},
        "qes": {"value": 0.6, "rel_u": 0.03}});
    let found = answer("consistency", &json!({"values": q}));
    let miss: f64 = 1.0 / 0.5 - 1.0 / 4.0 - 1.0 / 0.6;
    near(&found, "residuals/r5", miss, 1e-12);
    // d(1/Q) = −(1/Q)·d ln Q, three independent values.
    let u = [0.02 / 0.5, 0.05 / 4.0, 0.03 / 0.6].iter().map(|it: &f64| it * it).sum::<f64>().sqrt();
    near(&found, "z/r5", miss / u, 1e-12);
    assert_eq!(found["dof"], json!(1));
    assert!(found["residuals"].get("r1").is_none());
}

#[test]
fn consistency_needs_a_relation_and_positive_uncertainties() {
    let one = json!({"values": {"fs": {"value": 40, "rel_u": 0.01}}});
    refused("consistency", &one, "not_applicable", "values");
    let none = json!({"values": {}});
    refused("consistency", &none, "not_applicable", "values");
    let zero = with(&entries(), &json!({"fs": {"value": 40, "rel_u": 0}}));
    refused("consistency", &json!({"values": zero}), "out_of_domain", "values.fs.rel_u");
    let other = with(&entries(), &json!({"le": {"value": 40, "rel_u": 0.1}}));
    refused("consistency", &json!({"values": other}), "unknown_key", "values.le");
}

#[test]
fn a_relation_that_misses_by_far_is_a_contradiction() {
    let wrong = with(&entries(), &json!({"fs": {"value": 60, "rel_u": 0.01}}));
    let found = answer("consistency", &json!({"values": wrong}));
    let flags = found["flags"].as_array().unwrap();
    assert!(flags.contains(&json!("contradiction: r1")), "{flags:?}");
}

#[test]
fn chk_2_5_added_mass() {
    let input = json!({"fs": 42.6641327, "fs_loaded": 32.6813066, "added_mass": 0.010, "re": 5.6,
        "qes": 0.5728745, "sd": 0.0133});
    let it = answer("added-mass", &input);
    all_near(&it, &[("mms", 0.0142), ("cms", 0.00098), ("bl", 6.1), ("vas", 24.5838786e-3)]);
    let risen = with(&input, &json!({"fs_loaded": 42.6641327}));
    refused("added-mass", &risen, "out_of_domain", "fs_loaded");
}

#[test]
fn chk_2_6_known_volume() {
    let base = json!({"fs": 42.6641327, "qes": 0.5728745, "vb": 0.010});
    for (fc, qec) in [(79.3413838, 1.06535989), (78.1773884, 1.0812222)] {
        let input = with(&base, &json!({"fc": fc, "qec": qec}));
        near(&answer("known-volume", &input), "vas", 24.5838786e-3, REL);
    }
    let low = with(&base, &json!({"fc": 42, "qec": 1}));
    refused("known-volume", &low, "out_of_domain", "fc");
}

#[test]
fn chk_3_13_box_from_humps() {
    let input = json!({"fl": 25.79404, "fm": 42.07171, "fh": 69.45731, "re": 5.6,
        "z_at_fm": 6.90202, "qes": 0.5728745, "qms": 4.47828995});
    let read = answer("box-from-humps", &input);
    near(&read, "fb", 42.07171, 1e-12);
    near(&read, "alpha", 1.05118, 1e-5);
    near(&read, "f_sb", 42.5841, 1e-5);
    near(&read, "ql", 6.8465, OPTIMISED);
    refused("box-from-humps", &with(&input, &json!({"fm": 20})), "out_of_domain", "fm");
    refused("box-from-humps", &with(&input, &json!({"z_at_fm": 5.6})), "out_of_domain", "z_at_fm");
}

#[test]
fn a_product_has_the_uncertainty_of_its_powers() {
    // 1 % of a diameter is 2 % of the area.
    let quarter = json!({"value": std::f64::consts::FRAC_PI_4, "u": 0, "power": 1});
    let area = answer(
        "uncertain-product",
        &json!({"terms": [quarter, {"value": 0.13, "u": 0.0013, "power": 2}]}),
    );
    near(&area, "value", std::f64::consts::FRAC_PI_4 * 0.0169, 1e-12);
    near(&area, "rel_u", 0.02, 1e-12);
    near(&area, "u", 0.02 * number(&area, "value"), 1e-12);
}

#[test]
fn a_factor_of_0_and_a_broken_power_of_a_negative_one_are_refused() {
    let terms = |value: f64, u: f64, power: f64| json!({"terms": [{"value": 2, "u": 0.1, "power": 1}, {"value": value, "u": u, "power": power}]});
    refused("uncertain-product", &terms(0.0, 0.1, 1.0), "out_of_domain", "terms[1].value");
    refused("uncertain-product", &terms(1.0, -0.1, 1.0), "out_of_domain", "terms[1].u");
    refused("uncertain-product", &terms(-2.0, 0.1, 0.5), "out_of_domain", "terms[1].power");
    let squared = answer("uncertain-product", &terms(-3.0, 0.1, 2.0));
    near(&squared, "value", 18.0, 1e-12);
    refused("uncertain-product", &json!({"terms": []}), "out_of_domain", "terms");
}
