//! Stability of the first place, and sums of uncertainties.

use serde_json::{Value, json};

use crate::{answer, near, number, refused, with};

/// Six invented products; points for cabinet, driver, crossover and wiring.
fn six() -> Value {
    json!({"scores": [[75, 69, 70, 58], [68, 77, 55, 71], [80, 64, 66, 62], [58, 82, 74, 69],
        [85, 73, 52, 80], [66, 60, 81, 47]], "weights": [0.3, 0.35, 0.25, 0.1]})
}

/// Intervals by exact arithmetic in numpy 2.4.6, shifts by `scipy.optimize.linprog` (scipy 1.17.1).
#[test]
fn check_6_6_stability() {
    let found = answer("stability", &six());
    assert_eq!(found["winner"], json!(4));
    let want = [
        (0.285444234405, 1.0, json!(3), json!(null)),
        (0.033057851240, 0.387434554974, json!(2), json!(3)),
        (0.0, 0.268292682927, json!(null), json!(3)),
        (0.052631578947, 1.0, json!(3), json!(null)),
    ];
    for (k, (low, high, rival_low, rival_high)) in want.into_iter().enumerate() {
        assert!((number(&found, &format!("intervals/{k}/low")) - low).abs() < 1e-11);
        near(&found, &format!("intervals/{k}/high"), high, 1e-10);
        assert_eq!(found["intervals"][k]["rival_low"], rival_low);
        assert_eq!(found["intervals"][k]["rival_high"], rival_high);
    }
    let shifts = [0.0525, 0.1833333333, 0.0921875, 0.011224489796, f64::NAN, 0.1020833333];
    for (j, want) in shifts.into_iter().enumerate() {
        if j == 4 {
            assert!(found["smallest_shift"][j].is_null());
        } else {
            near(&found, &format!("smallest_shift/{j}"), want, 1e-9);
        }
    }
}

#[test]
fn ties_a_weight_of_one_and_rivals_never_level_are_told_as_such() {
    let twins = json!({"scores": [[50, 40], [60, 40], [60, 40], [40, 60]], "weights": [0.5, 0.5]});
    let found = answer("stability", &twins);
    assert_eq!(found["winner"], json!(1));
    assert_eq!(found["smallest_shift"][2], json!(0.0));
    // Equal in one criterion, behind in the other: level where all weight lies on the one.
    near(&found, "smallest_shift/0", 0.5, 1e-12);
    let one = json!({"scores": [[60, 40], [40, 30]], "weights": [1, 0]});
    let found = answer("stability", &one);
    let none = json!({"low": null, "high": null, "rival_low": null, "rival_high": null});
    assert_eq!(found["intervals"][0], none);
    assert_eq!(found["smallest_shift"], json!([null, null]));
}

#[test]
fn weights_are_shares_and_lists_agree() {
    let of = |more: Value| with(&six(), &more);
    let refused = |more: Value, field: &str| {
        refused("stability", &of(more), "inconsistent", field);
    };
    refused(json!({"weights": [0.3, 0.35, 0.25, 0.2]}), "weights");
    refused(json!({"weights": [0.3, 0.35, 0.35]}), "weights");
    refused(json!({"weights": [0.3, 0.8, -0.2, 0.1]}), "weights[2]");
    refused(json!({"weights": [0.3, 0.35, 0.25, 0.1 + 2e-9]}), "weights");
    refused(json!({"scores": [[1, 2, 3, 4], [1, 2, 3]]}), "scores[1]");
    answer("stability", &of(json!({"weights": [0.3, 0.35, 0.25, 0.1 + 0.5e-9]})));
}

#[test]
fn scores_are_points_and_lists_are_not_empty() {
    let of = |more: Value| with(&six(), &more);
    let refused = |more: Value, field: &str| {
        refused("stability", &of(more), "out_of_domain", field);
    };
    refused(json!({"scores": [[1, 2, 3, 100.5]]}), "scores[0][3]");
    refused(json!({"scores": [[1, 2, -1, 4]]}), "scores[0][2]");
    refused(json!({"scores": []}), "scores");
    refused(json!({"scores": [[]]}), "scores[0]");
    refused(json!({"weights": []}), "weights");
    refused(json!({"weights": [0.5, "0.5"]}), "weights[1]");
}

/// numpy 2.4.6.
#[test]
fn check_1_5_normal_sum() {
    let terms = json!({"terms": [{"weight": 0.3, "u": 2}, {"weight": 0.35, "u": 4},
        {"weight": 0.25, "u": 6}, {"weight": 0.1, "u": 10}]});
    let found = answer("normal-sum", &terms);
    near(&found, "u", 2.360084744241, 1e-12);
    let shares = [0.06463196, 0.3518851, 0.40394973, 0.17953321];
    for (k, share) in shares.into_iter().enumerate() {
        near(&found, &format!("shares/{k}"), share, 1e-7);
    }
}

#[test]
fn a_sum_without_uncertainty_has_no_shares_and_weights_are_any_numbers() {
    let none = json!({"terms": [{"weight": 2, "u": 0}, {"weight": -1, "u": 0}]});
    assert_eq!(answer("normal-sum", &none), json!({"u": 0.0, "shares": [null, null]}));
    let signs = json!({"terms": [{"weight": -3, "u": 1}, {"weight": 4, "u": 1}]});
    near(&answer("normal-sum", &signs), "u", 5.0, 1e-15);
    let below = json!({"terms": [{"weight": 1, "u": 1}, {"weight": 1, "u": -1}]});
    refused("normal-sum", &below, "out_of_domain", "terms[1].u");
    refused("normal-sum", &json!({"terms": []}), "out_of_domain", "terms");
    let large = json!({"terms": [{"weight": 1e200, "u": 1e200}]});
    refused("normal-sum", &large, "out_of_domain", "terms");
}
