//! Value points, rising step lines and frontiers.

use serde_json::{Value, json};

use crate::{all_near, answer, near, number, refused, within};

/// Twelve invented products: price per pair and index.
const TWELVE: [(f64, f64); 12] = [
    (129.0, 52.45),
    (149.0, 52.25),
    (159.0, 61.3),
    (179.0, 62.35),
    (199.0, 44.05),
    (199.0, 69.95),
    (229.0, 68.2),
    (249.0, 69.1),
    (279.0, 71.5),
    (299.0, 72.05),
    (299.0, 65.75),
    (349.0, 78.75),
];

fn points(list: &[(f64, f64)]) -> Value {
    json!({"points": list})
}

/// scipy 1.17.1, `theilslopes(index, ln price, method="joint")`, on all and without each.
#[test]
fn chk_3_3_value_points() {
    let found = answer("value-points", &points(&TWELVE));
    assert_eq!(found["fit"], "line");
    all_near(
        &found,
        &[
            ("slope", 21.646_767_302),
            ("intercept", -50.366_275_011),
            ("slope_interval_90/0", 15.664_854_776),
            ("slope_interval_90/1", 30.688_760_565),
            ("expected/5", 63.810_573_149),
        ],
    );
    let want = [
        -3.200_996_91,
        -6.348_591_091_1,
        3.153_698_608_6,
        0.701_286_289_2,
        -20.402_368_927_8,
        6.139_426_850_8,
        1.083_538_707,
        0.252_381_014_6,
        -0.252_381_014_6,
        -1.253_690_546_8,
        -7.770_182_998_3,
        3.771_684_753_2,
    ];
    for (at, want) in want.into_iter().enumerate() {
        within(&found, &format!("value/{at}"), want, 1e-8);
    }
    assert!(found.get("flags").is_none(), "{found}");
}

#[test]
fn few_products_have_the_median_and_fewer_nothing() {
    let flat = answer("value-points", &points(&TWELVE[..5]));
    assert_eq!(flat["fit"], "flat");
    assert_eq!((&flat["slope"], &flat["slope_interval_90"]), (&json!(0.0), &Value::Null));
    near(&flat, "intercept", 52.45, 1e-12);
    // The median of the other four is 56.775.
    within(&flat, "value/0", 52.45 - 56.775, 1e-9);
    assert_eq!(answer("value-points", &points(&TWELVE[..9]))["fit"], "flat");
    assert_eq!(answer("value-points", &points(&TWELVE[..10]))["fit"], "line");
    let none = answer("value-points", &points(&TWELVE[..4]));
    assert_eq!(
        none,
        json!({"value": [null, null, null, null], "expected": [null, null, null, null], "fit": "none",
            "slope": null, "intercept": null, "slope_interval_90": null})
    );
}

#[test]
fn one_price_has_a_line_without_interval() {
    let level: Vec<_> = TWELVE.iter().map(|it| (200.0, it.1)).collect();
    let found = answer("value-points", &points(&level));
    assert_eq!((&found["fit"], &found["slope"]), (&json!("line"), &json!(0.0)));
    assert_eq!(found["slope_interval_90"], Value::Null);
    near(&found, "intercept", 66.975, 1e-9);
    assert_eq!(found["flags"], json!(["among these products price says little about the index"]));
}

/// The line is held level, the interval is not.
#[test]
fn a_falling_index_has_a_level_line_and_a_negative_interval() {
    let falling: Vec<_> =
        (0..10_u32).map(|it| (100.0 + f64::from(it), 90.0 - f64::from(it))).collect();
    let found = answer("value-points", &points(&falling));
    assert_eq!(found["slope"], json!(0.0));
    near(&found, "intercept", 85.5, 1e-9);
    assert!(number(&found, "slope_interval_90/1") < 0.0);
}

/// scikit-learn 1.9.1 for the twelve, `isoreg` of R 4.2.2 for the six, `scipy.optimize.isotonic_regression` 1.17.1 with weights.
#[test]
fn chk_3_5_isotonic() {
    let (x, y): (Vec<_>, Vec<_>) = TWELVE.iter().copied().unzip();
    let ijk = 69.766_666_666_7;
    let want =
        [52.35, 52.35, 59.412_5, 59.412_5, 59.412_5, 59.412_5, 68.2, 69.1, ijk, ijk, ijk, 78.75];
    let found = answer("isotonic", &json!({"x": x, "y": y}));
    for (at, want) in want.into_iter().enumerate() {
        near(&found, &format!("fit/{at}"), want, 1e-9);
    }
    let six = json!({"x": [6, 1, 2, 3, 4, 5], "y": [5, 1, 3, 2, 4, 3.5]});
    assert_eq!(answer("isotonic", &six), json!({"fit": [5.0, 1.0, 2.5, 2.5, 3.75, 3.75]}));
    let weighted =
        json!({"x": [1, 2, 3, 4, 5, 6], "y": [1, 3, 2, 4, 3.5, 5], "weights": [1, 2, 1, 1, 3, 1]});
    let found = answer("isotonic", &weighted);
    for (at, want) in [1.0, 8.0 / 3.0, 8.0 / 3.0, 3.625, 3.625, 5.0].into_iter().enumerate() {
        near(&found, &format!("fit/{at}"), want, 1e-12);
    }
}

/// scikit-criteria 0.10 (dominance), numpy 2.4.6 (efficiencies).
#[test]
fn chk_3_6_frontier() {
    let found = answer("frontier", &points(&TWELVE));
    assert_eq!(found["members"], json!([0, 2, 3, 5, 8, 9, 11]));
    assert_eq!(
        found["beaten_by"],
        json!([[], [0], [], [], [0, 1, 2, 3, 5], [], [5], [5], [], [], [5, 6, 7, 8, 9], []])
    );
    let below_one = [
        (1, 0.865_771_812_1),
        (4, 0.648_241_206),
        (6, 0.868_995_633_2),
        (7, 0.799_196_787_1),
        (10, 0.665_551_839_5),
    ];
    for (at, _) in TWELVE.iter().enumerate() {
        let want = below_one.iter().find(|it| it.0 == at).map_or(1.0, |it| it.1);
        near(&found, &format!("efficiency/{at}"), want, 1e-9);
    }
    let twins = answer("frontier", &points(&[(200.0, 60.0), (200.0, 60.0)]));
    assert_eq!(twins, json!({"members": [0, 1], "beaten_by": [[], []], "efficiency": [1.0, 1.0]}));
}

#[test]
fn what_is_refused_names_its_place() {
    for name in ["value-points", "frontier"] {
        refused(name, &json!({}), "missing", "points");
        refused(name, &json!({"points": []}), "out_of_domain", "points");
        refused(name, &json!({"points": [[100, 50], [0, 50]]}), "out_of_domain", "points[1][0]");
        refused(name, &json!({"points": [[100, 50], [-5, 50]]}), "out_of_domain", "points[1][0]");
        refused(name, &json!({"points": [[100, 100.5]]}), "out_of_domain", "points[0][1]");
        refused(name, &json!({"points": [[100, -1]]}), "out_of_domain", "points[0][1]");
        refused(name, &json!({"points": [[100]]}), "out_of_domain", "points[0]");
        refused(name, &json!({"points": [[100, "good"]]}), "out_of_domain", "points[0][1]");
        refused(name, &json!({"points": [[100, 50]], "x": 1}), "unknown_key", "x");
    }
    refused("isotonic", &json!({"x": [], "y": []}), "out_of_domain", "x");
    refused("isotonic", &json!({"x": [1, 2], "y": [1]}), "inconsistent", "y");
    let short = json!({"x": [1, 2], "y": [1, 2], "weights": [1]});
    refused("isotonic", &short, "inconsistent", "weights");
    let nothing = json!({"x": [1, 2], "y": [1, 2], "weights": [1, 0]});
    refused("isotonic", &nothing, "out_of_domain", "weights[1]");
    refused("isotonic", &json!({"x": [1, 2], "y": [1, 1e200]}), "out_of_domain", "y[1]");
}
