//! `acceptability`: the same counts from outside.

use serde_json::{Value, json};

use crate::{answer, number, refused, with, within};

/// Six of twelve invented products: points for cabinet, driver, crossover and wiring.
fn six() -> Value {
    json!([
        [75, 69, 70, 58],
        [68, 77, 55, 71],
        [80, 64, 66, 62],
        [58, 82, 74, 69],
        [85, 73, 52, 80],
        [66, 60, 81, 47]
    ])
}

/// All weights in tenths.
fn tenths() -> Value {
    let mut rows = Vec::new();
    for a in 0..=10 {
        for b in 0..=10 - a {
            for c in 0..=10 - a - b {
                let row = [a, b, c, 10 - a - b - c].map(|it| f64::from(it) / 10.0);
                rows.push(json!(row));
            }
        }
    }
    json!(rows)
}

/// Counts by R smaa 0.3-2 and by numpy 2.4.6, which agree.
#[test]
fn check_6_5_tenths() {
    let it = answer("acceptability", &json!({"scores": six(), "weight_draws": tenths()}));
    assert_eq!(
        it["shared"],
        json!([
            [2, 27, 114, 84, 59, 0],
            [0, 61, 79, 48, 41, 57],
            [7, 69, 33, 94, 75, 8],
            [100, 62, 34, 23, 47, 20],
            [151, 45, 20, 13, 34, 23],
            [28, 26, 11, 17, 27, 177]
        ])
    );
    for (r, want) in (0..).zip([2.0, 26.0, 110.833_333, 87.333_333, 59.833_333, 0.0]) {
        within(&it, &format!("split/0/{r}"), want, 5e-7);
    }
    assert_eq!(it["central_weights"][1], Value::Null);
    for (k, want) in
        (0..).zip([0.358_278_145_695, 0.194_701_986_755, 0.111_920_529_801, 0.335_099_337_748])
    {
        within(&it, &format!("central_weights/4/{k}"), want, 1e-12);
    }
    assert_eq!(
        it["pairwise"][4],
        json!([209, it["pairwise"][4][1], it["pairwise"][4][2], 160, 0, it["pairwise"][4][5]])
    );
    assert_eq!((&it["pairwise"][0][4], &it["pairwise"][3][4]), (&json!(75), &json!(125)));
}

#[test]
fn a_single_product_is_always_first() {
    let it = answer("acceptability", &json!({"scores": [[50, 60]], "weights": null, "draws": 7}));
    assert_eq!(it["shared"], json!([[7]]));
    assert_eq!(it["holistic"], json!([1.0]));
    assert_eq!(it["pairwise"], json!([[0]]));
}

/// Over all weights, 0.5713 of the draws put the second of these before the first (exactly 6719/11760, H. Weisberg, Annals of
/// Mathematical Statistics 42 (1971) 704-709, from memory); 10,000 draws are good to four standard errors of 0.005.
#[test]
fn weights_are_drawn_by_default_and_by_seed() {
    let input = json!({"scores": [[58, 82, 74, 69], [85, 73, 52, 80]], "weights": null});
    let it = answer("acceptability", &input);
    within(&it, "pairwise/1/0", 10_000.0 * 6719.0 / 11760.0, 200.0);
    within(&it, "split/0/0", 10_000.0 - number(&it, "split/0/1"), 1e-9);
    assert_eq!(answer("acceptability", &with(&input, &json!({"seed": 0, "kappa": 3}))), it);
    assert_ne!(answer("acceptability", &with(&input, &json!({"seed": 1}))), it);
    // Draws around a corner keep to it, the more so with a greater kappa.
    let around = with(&input, &json!({"weights": [0, 1, 0, 0]}));
    assert_eq!(answer("acceptability", &around)["shared"], json!([[10_000, 0], [0, 10_000]]));
    let around = |kappa: f64| {
        let it = with(&input, &json!({"weights": [0.25, 0.25, 0.25, 0.25], "kappa": kappa}));
        number(&answer("acceptability", &it), "pairwise/1/0")
    };
    assert!(around(1e6) > around(40.0) && around(40.0) > around(1.0));
}

#[test]
fn lists_that_do_not_agree_are_inconsistent() {
    let name = "acceptability";
    let input = json!({"scores": [[50, 60], [60, 50]], "weights": [0.5, 0.5], "draws": 10});
    let other = |more: Value| with(&input, &more);
    refused(name, &other(json!({"scores": [[50, 60], [60]]})), "inconsistent", "scores[1]");
    refused(name, &other(json!({"weights": [0.5, 0.2, 0.3]})), "inconsistent", "weights");
    refused(name, &other(json!({"weights": [0.5, 0.4]})), "inconsistent", "weights");
    refused(name, &other(json!({"weights": [1.5, -0.5]})), "inconsistent", "weights[1]");
    let draws = |rows: Value| json!({"scores": [[50, 60]], "weight_draws": rows});
    refused(name, &draws(json!([[0.5, 0.5], [1]])), "inconsistent", "weight_draws[1]");
    refused(name, &draws(json!([[0.5, 0.5], [0.5, 0.6]])), "inconsistent", "weight_draws[1]");
    let both = with(&draws(json!([[0.5, 0.5]])), &json!({"weights": null}));
    refused(name, &both, "inconsistent", "weight_draws");
    for key in ["kappa", "draws", "seed"] {
        let both = with(&draws(json!([[0.5, 0.5]])), &json!({key: 1}));
        refused(name, &both, "inconsistent", key);
    }
}

#[test]
fn what_is_outside_its_range_is_out_of_domain() {
    let name = "acceptability";
    let input = json!({"scores": [[50, 60], [60, 50]], "weights": [0.5, 0.5], "draws": 10});
    let other = |more: Value| with(&input, &more);
    refused(name, &other(json!({"scores": [[50, 100.1]]})), "out_of_domain", "scores[0][1]");
    refused(name, &other(json!({"scores": []})), "out_of_domain", "scores");
    refused(name, &other(json!({"scores": [[]]})), "out_of_domain", "scores[0]");
    refused(name, &other(json!({"weights": []})), "out_of_domain", "weights");
    refused(name, &other(json!({"weights": 1})), "out_of_domain", "weights");
    refused(name, &other(json!({"kappa": 0})), "out_of_domain", "kappa");
    refused(name, &other(json!({"draws": 0})), "out_of_domain", "draws");
    refused(name, &other(json!({"draws": 2.5})), "out_of_domain", "draws");
    refused(name, &other(json!({"seed": 9_007_199_254_740_992_u64})), "out_of_domain", "seed");
    refused(name, &json!({"scores": [[50, 60]]}), "missing", "weights");
    let many = vec![json!([50, 60]); 1000];
    refused(name, &other(json!({"scores": many, "draws": 60_000})), "out_of_domain", "draws");
}
