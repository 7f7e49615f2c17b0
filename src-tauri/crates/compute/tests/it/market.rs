//! Prices, weighted means, and what a few products say about a market.

use serde_json::{Value, json};

use crate::{answer, number, refused, with, within};

/// Absolute tolerance of values with ten printed decimals.
const ABS: f64 = 1e-9;

fn flags(answer: &Value) -> Vec<&str> {
    answer["flags"].as_array().unwrap().iter().map(|it| it.as_str().unwrap()).collect()
}

fn price(from: &str, to: &str) -> Value {
    json!({"amount": 100, "basis": "pair", "from": from, "to": to})
}

/// The Python package cpi 2.1.0 on the published series.
#[test]
fn check_2_3_real_prices() {
    for (amount, from, to, want, flagged) in [
        (199.0, "2019", "2024", 244.171_335_030_9, vec!["from_year_only", "to_year_only"]),
        (149.5, "2016", "2025", 200.537_811_397_2, vec!["from_year_only", "to_year_only"]),
        (100.0, "2015", "2024", 132.348_734_479_0, vec!["from_year_only", "to_year_only"]),
        (249.0, "2021-03", "2024-06", 295.343_027_140_9, vec![]),
    ] {
        let got = answer("real-price", &with(&price(from, to), &json!({"amount": amount})));
        within(&got, "real", want, ABS);
        within(&got, "pair", amount, 0.0);
        assert_eq!(flags(&got), flagged);
    }
}

/// By hand: the mean of 324.800 and 324.122 over the average of 2024, 313.689; a pair of one, of two and of five.
#[test]
fn check_2_2_and_2_3_basis_and_a_month_that_was_never_published() {
    let got = answer("real-price", &price("2024", "2025-10"));
    within(&got, "real", 100.0 * 324.461 / 313.689, ABS);
    assert_eq!(flags(&got), ["from_year_only", "to_interpolated"]);
    let got = answer("real-price", &price("2025-10", "2030-01"));
    assert_eq!(flags(&got), ["from_interpolated", "to_after_table"]);
    let got = answer("real-price", &price("2027-01", "2024"));
    assert_eq!(flags(&got), ["to_year_only", "from_after_table"]);
    for (basis, pair) in [
        (json!({"basis": "each"}), 200.0),
        (json!({"basis": "set", "count": 5}), 40.0),
        (json!({"basis": "set", "count": 1}), 200.0),
    ] {
        let got = answer("real-price", &with(&price("2020-02", "2020-02"), &basis));
        within(&got, "pair", pair, 1e-12);
        within(&got, "real", pair, 1e-12);
    }
}

#[test]
fn prices_that_cannot_be_converted_are_refused() {
    for (from, to, field) in [
        ("2009-12", "2024", "from"),
        ("2024", "2009", "to"),
        ("2026", "2024", "from"),
        ("2024", "2026", "to"),
        ("2024-13", "2024", "from"),
        ("2024-06-01", "2024", "from"),
        ("2024", "24", "to"),
        ("", "2024", "from"),
        ("2024-1", "2024", "from"),
    ] {
        refused("real-price", &price(from, to), "out_of_domain", field);
    }
    let of = |more: Value| with(&price("2020", "2021"), &more);
    refused("real-price", &of(json!({"basis": "set"})), "missing", "count");
    refused("real-price", &of(json!({"count": 2})), "unknown_key", "count");
    refused("real-price", &of(json!({"basis": "each", "count": 1})), "unknown_key", "count");
    for count in [json!(0), json!(2.5), json!(-1)] {
        let input = of(json!({"basis": "set", "count": count}));
        refused("real-price", &input, "out_of_domain", "count");
    }
    for amount in [json!(0), json!(-5), json!(1e12), json!("100")] {
        refused("real-price", &of(json!({"amount": amount})), "out_of_domain", "amount");
    }
    refused("real-price", &of(json!({"basis": "three"})), "out_of_domain", "basis");
}

fn scores(scores: Value) -> Value {
    json!({"scores": scores, "weights": [0.30, 0.35, 0.25, 0.10]})
}

/// Weighted sums by scikit-criteria 0.10 and pymcdm 1.4.0 with identity, weighted products by pymcdm.
#[test]
fn check_1_3_index() {
    for (points, value, geometric) in [
        (json!([52, 61, 40, 55]), 52.45, 51.786_637_366_4),
        (json!([70, 58, 62, 45]), 61.3, 60.834_281_561_4),
        (json!([75, 69, 70, 58]), 69.95, 69.780_306_089_1),
        (json!([58, 82, 74, 69]), 71.5, 70.803_721_541_7),
        (json!([85, 73, 52, 80]), 72.05, 70.843_255_990_8),
        (json!([66, 60, 81, 47]), 65.75, 64.945_214_992_0),
        (json!([78, 88, 69, 73]), 78.75, 78.386_608_540_8),
    ] {
        let got = answer("index", &scores(points));
        within(&got, "value", value, ABS);
        within(&got, "low", value, ABS);
        within(&got, "high", value, ABS);
        within(&got, "coverage", 1.0, 1e-12);
        within(&got, "geometric", geometric, ABS);
        within(&got, "unevenness", value - geometric, 2e-9);
    }
    let f = answer("index", &scores(json!([75, 69, 70, 58])));
    for (at, want) in [22.5, 24.15, 17.5, 5.8].into_iter().enumerate() {
        within(&f, &format!("contributions/{at}"), want, ABS);
    }
    within(&f, "unevenness", 0.169_693_910_9, ABS);
}

/// Bounds by numpy 2.4.6: one of four scores missing.
#[test]
fn check_4_3_a_missing_score_leaves_bounds() {
    let got = answer("index", &scores(json!([68, null, 55, 71])));
    within(&got, "low", 41.25, ABS);
    within(&got, "high", 76.25, ABS);
    within(&got, "coverage", 0.65, ABS);
    for key in ["value", "geometric", "unevenness"] {
        assert!(got[key].is_null(), "{key}");
    }
    assert!(got["contributions"][1].is_null());
    within(&got, "contributions/0", 20.4, ABS);
    // Even at weight 0.
    let got = answer("index", &json!({"scores": [50, null], "weights": [1, 0]}));
    assert!(got["value"].is_null() && got["contributions"][1].is_null());
    within(&got, "low", 50.0, 0.0);
    within(&got, "high", 50.0, 0.0);
}

#[test]
fn lists_that_make_no_index_are_refused() {
    let of = |scores: Value, weights: Value| json!({"scores": scores, "weights": weights});
    let half = json!([0.5, 0.5]);
    refused("index", &of(json!([]), json!([])), "out_of_domain", "scores");
    refused("index", &of(json!([1, 2, 3]), half.clone()), "inconsistent", "weights");
    refused("index", &of(json!([1, 101]), half.clone()), "out_of_domain", "scores[1]");
    refused("index", &of(json!([-1e-9, null]), half.clone()), "out_of_domain", "scores[0]");
    refused("index", &of(json!([1, "2"]), half), "out_of_domain", "scores[1]");
    refused("index", &of(json!([1, 2]), json!([1.5, -0.5])), "inconsistent", "weights[1]");
    refused("index", &of(json!([1, 2]), json!([0.5, 0.500_001])), "inconsistent", "weights");
    refused("index", &of(json!([1, 2]), json!([0.5, null])), "out_of_domain", "weights[1]");
    let _ = answer("index", &of(json!([1, 2]), json!([0.5, 0.500_000_000_5])));
}

fn share(yes: u32, unknown: u32, opened: u32, level: f64) -> Value {
    json!({"yes": yes, "unknown": unknown, "opened": opened, "level": level})
}

/// statsmodels 0.15.0 `proportion_confint`; R 4.2.2 `binom.test` and `prop.test` agree.
#[test]
fn check_7_1_limits_of_a_share() {
    for (k, n, level, wilson, jeffreys, exact) in [
        (0, 10, 0.95, (0.0, 0.277_532_799_9), (0.0, 0.217_196_267_5), (0.0, 0.308_497_107_8)),
        (
            7,
            9,
            0.90,
            (0.503_642_782_4, 0.923_505_262_5),
            (0.508_363_034_9, 0.932_688_386_4),
            (0.450_358_350_5, 0.958_976_832_5),
        ),
        (12, 12, 0.90, (0.816_018_805_3, 1.0), (0.854_943_481_8, 1.0), (0.779_077_808_1, 1.0)),
    ] {
        let got = answer("prevalence", &share(k, 0, n, level));
        for (key, want) in [("wilson", wilson), ("jeffreys", jeffreys), ("exact", exact)] {
            within(&got, &format!("{key}/0"), want.0, ABS);
            within(&got, &format!("{key}/1"), want.1, ABS);
        }
    }
}

/// statsmodels 0.15.0 for the limits; the verdicts follow from them by hand.
#[test]
fn check_4_5_and_7_2_verdicts_about_a_market() {
    let got = answer("prevalence", &share(9, 2, 14, 0.9));
    within(&got, "exact/0", 0.390_414_867_5, ABS);
    within(&got, "exact/1", 0.938_897_071_1, ABS);
    for ((yes, unknown, opened), most, few, nearly_all) in [
        ((9, 0, 12), "not_supported", "contradicted", "not_supported"),
        ((10, 0, 12), "supported", "contradicted", "not_supported"),
        ((13, 1, 15), "supported", "contradicted", "not_supported"),
        ((11, 0, 11), "supported", "contradicted", "supported"),
        ((0, 0, 11), "contradicted", "supported", "contradicted"),
        ((0, 1, 11), "contradicted", "not_supported", "contradicted"),
        ((5, 0, 5), "supported", "too_few", "too_few"),
        ((4, 0, 4), "too_few", "too_few", "too_few"),
        ((0, 4, 4), "too_few", "too_few", "too_few"),
    ] {
        // Whatever the level is.
        for level in [0.5, 0.9, 0.999] {
            let got = answer("prevalence", &share(yes, unknown, opened, level));
            let words = [&got["most"], &got["few"], &got["nearly_all"]];
            assert_eq!(words, [most, few, nearly_all], "{yes} + {unknown} of {opened}");
        }
    }
}

#[test]
fn check_7_3_the_bound_of_none() {
    within(&answer("prevalence", &share(0, 0, 12, 0.95)), "zero_bound", 0.220_922_191_9, ABS);
    for (yes, unknown) in [(1, 0), (0, 1)] {
        assert!(answer("prevalence", &share(yes, unknown, 12, 0.95))["zero_bound"].is_null());
    }
}

#[test]
fn counts_that_are_no_share_are_refused() {
    refused("prevalence", &share(9, 4, 12, 0.9), "inconsistent", "opened");
    refused("prevalence", &share(0, 0, 0, 0.9), "out_of_domain", "opened");
    let of = |more: Value| with(&share(1, 1, 9, 0.9), &more);
    for level in [json!(0), json!(1), json!(90), json!("0.9")] {
        refused("prevalence", &of(json!({"level": level})), "out_of_domain", "level");
    }
    refused("prevalence", &of(json!({"yes": 1.5})), "out_of_domain", "yes");
    refused("prevalence", &of(json!({"unknown": -1})), "out_of_domain", "unknown");
}

const TWELVE: [f64; 12] =
    [52.45, 52.25, 61.3, 62.35, 44.05, 69.95, 68.2, 69.1, 71.5, 72.05, 65.75, 78.75];

/// numpy 2.4.6 `quantile(method="median_unbiased")`, type 8 of R 4.2.2; scipy 1.17.1 `quantile_test` for the limits.
#[test]
fn check_7_6_and_7_7_quantiles() {
    let got = answer("quantiles", &json!({"values": TWELVE, "at": [0.1, 0.25, 0.5, 0.75, 0.9]}));
    let want = [48.696_666_666_7, 56.137_5, 66.975, 70.854_166_666_7, 74.953_333_333_3];
    for (at, want) in want.into_iter().enumerate() {
        within(&got, &format!("quantiles/{at}"), want, ABS);
    }
    within(&got, "median_interval_95/0", 52.45, 0.0);
    within(&got, "median_interval_95/1", 71.5, 0.0);
    for (n, ninety, ninety_five) in [(4, false, false), (5, true, false), (6, true, true)] {
        let got = answer("quantiles", &json!({"values": TWELVE[..n], "at": []}));
        assert_eq!(got["quantiles"], json!([]));
        assert_eq!(!got["median_interval_90"].is_null(), ninety, "{n}");
        assert_eq!(!got["median_interval_95"].is_null(), ninety_five, "{n}");
    }
    refused("quantiles", &json!({"values": [], "at": [0.5]}), "out_of_domain", "values");
    refused("quantiles", &json!({"values": [1], "at": [1.1]}), "out_of_domain", "at[0]");
}

/// R 4.2.2 `wilcox.test(exact = TRUE, conf.int = TRUE)`.
#[test]
fn check_7_9_shift() {
    let a = json!([52.45, 61.3, 62.35, 69.95]);
    let got = answer("shift", &json!({"a": a, "b": [44.05, 52.25, 65.75, 68.2, 71.5]}));
    within(&got, "hodges_lehmann", -0.675, ABS);
    within(&got, "interval_90/0", -13.3, ABS);
    within(&got, "interval_90/1", 17.7, ABS);
    within(&got, "p_value", 1.0, 0.0);
    assert!(got.get("flags").is_none());
    // By hand: 2 of C(6, 3) = 20; too few for limits.
    let got = answer("shift", &json!({"a": [4, 5, 6], "b": [1, 2, 3]}));
    within(&got, "p_value", 0.1, 1e-12);
    assert!(got["interval_90"].is_null());
    // All 126 regroupings with Python's itertools: 11 are as uneven.
    let got = answer("shift", &json!({"a": [1, 2, 2, 3], "b": [2, 3, 4, 4, 5]}));
    within(&got, "p_value", 11.0 / 126.0, 1e-12);
    refused("shift", &json!({"a": [], "b": [1]}), "out_of_domain", "a");
    refused("shift", &json!({"a": [1e308], "b": [-1e308]}), "out_of_domain", "hodges_lehmann");
}

/// R 4.2.2 `cor.test(exact = TRUE)`; scipy 1.17.1 `kendalltau`; the interval by its formula in numpy 2.4.6.
#[test]
fn check_8_association() {
    let x = json!([129, 149, 159, 179, 209, 229, 249]);
    let got = answer("association", &json!({"x": x, "y": [52, 48, 70, 63, 75, 68, 80]}));
    within(&got, "tau_b", 0.619_047_619_0, ABS);
    within(&got, "p_value", 0.069_047_619_0, ABS);
    within(&got, "spearman", 0.785_714_285_7, ABS);
    assert!(got["interval_90"].is_null());
    let x = json!([129, 149, 149, 179, 199, 199]);
    let got = answer("association", &json!({"x": x, "y": [52, 48, 52, 63, 63, 80]}));
    within(&got, "tau_b", 0.692_307_692_3, ABS);
    within(&got, "p_value", 0.122_222_222_2, ABS);
    let x = json!([129, 149, 159, 179, 199, 199, 229, 249, 279, 299, 299, 349]);
    let crossover = json!([40, 35, 62, 48, 30, 70, 55, 66, 74, 52, 81, 69]);
    let input = json!({"x": x, "y": crossover});
    let got = answer("association", &input);
    within(&got, "tau_b", 0.461_593_091_2, ABS);
    // The same numbers at 95 % are 0.0412 and 0.7431.
    let half = 1.644_853_626_951 * (0.437_f64 / 8.0).sqrt();
    let middle = 0.461_593_091_2_f64.atanh();
    within(&got, "interval_90/0", (middle - half).tanh(), ABS);
    within(&got, "interval_90/1", (middle + half).tanh(), ABS);
    // Drawn with seed 0, so always the same.
    assert_eq!(
        number(&got, "p_value").to_bits(),
        number(&answer("association", &input), "p_value").to_bits()
    );
    let few = answer("association", &json!({"x": [1, 2, 3, 4], "y": [1, 3, 2, 4]}));
    assert!(few["p_value"].is_null());
}

#[test]
fn what_hangs_together_in_no_way_is_refused() {
    let of = |x: Value, y: Value| json!({"x": x, "y": y});
    refused("association", &of(json!([1, 2]), json!([1])), "inconsistent", "y");
    refused("association", &of(json!([1]), json!([1])), "not_applicable", "x");
    refused("association", &of(json!([1, 1, 1]), json!([1, 2, 3])), "not_applicable", "x");
    refused("association", &of(json!([1, 2, 3]), json!([5, 5, 5])), "not_applicable", "y");
    refused("association", &of(json!([]), json!([])), "out_of_domain", "x");
}

/// scipy 1.17.1 `norm.cdf`; the tail by mpmath 1.4.1.
#[test]
fn check_5_3_conformity() {
    let of = |value: f64, u: f64, threshold: f64| {
        let input = json!({"value": value, "u": u, "threshold": threshold});
        number(&answer("conformity", &input), "probability")
    };
    for (value, u, threshold, want) in [
        (42.0, 1.0, 40.0, 0.977_249_868_1),
        (42.0, 1.5, 40.0, 0.908_788_780_3),
        (40.0, 0.0, 40.0, 1.0),
        (39.9, 0.0, 40.0, 0.0),
        (41.644_853_627_0, 1.0, 40.0, 0.95),
    ] {
        let got = of(value, u, threshold);
        assert!((got - want).abs() < 1e-9, "{got} is not {want}");
    }
    let tail = of(-10.0, 1.0, 0.0);
    assert!((tail / 7.619_853_024_160_525e-24 - 1.0).abs() < 1e-12, "{tail:e}");
    let bad = json!({"value": 1, "u": -1, "threshold": 0});
    refused("conformity", &bad, "out_of_domain", "u");
}
