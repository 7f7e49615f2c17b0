//! Verdicts on the twelve, with all findings hard and weights around the user's.

use super::*;
use crate::dominance::beaten;
use crate::fixture::place;
use crate::offered::made::{around, twelve};
use crate::value::drawn_value;

fn settled() -> (Beaten, Vec<DrawnValue>) {
    let (offers, weights) = (twelve(), around(20_000, "verdicts"));
    (
        beaten(&offers, &weights, 20_000, 2).unwrap(),
        drawn_value(&offers, &weights, 20_000, 1, 2).unwrap().unwrap(),
    )
}

fn case<'a>(name: &str, beaten: &'a Beaten, values: &'a [DrawnValue]) -> Case<'a> {
    let product = place(name);
    let value = Some(&values[product]);
    Case { product, n_band: 12, coverage: 1.0, price_is_stale: false, value, beaten }
}

/// From the probabilities that numpy 2.4.6 gave (200,000 draws for dominance, 20,000 for value).
#[test]
fn check_3_7_and_9_5_verdicts_of_the_twelve() {
    let (beaten, values) = settled();
    let judged = |name: &str| unbeaten(&case(name, &beaten, &values));
    let f = judged("F");
    assert_eq!((f.verdict, f.borderline, f.lean), (Verdict::Supported, false, Lean::Neither));
    assert_eq!(
        f.tests.iter().map(|it| it.what).collect::<Vec<_>>(),
        [What::NotBeaten, What::ValuePositive, What::BeatenByStrongest]
    );
    let l = judged("L");
    assert_eq!(l.verdict, Verdict::NotSupported { nearest: None });
    assert_eq!((l.borderline, l.lean), (false, Lean::For));
    assert!(l.tests[0].met && !l.tests[1].met, "{l:?}");
    for name in ["K", "E"] {
        assert_eq!(judged(name).verdict, Verdict::Contradicted { by: place("F") }, "{name}");
    }
    let h = judged("H");
    assert_eq!(h.verdict, Verdict::NotSupported { nearest: Some(place("F")) });
    assert_eq!((h.borderline, h.lean), (false, Lean::Against));
    assert_eq!(judged("I").verdict, Verdict::NotSupported { nearest: Some(place("F")) });
    let j = judged("J");
    assert!(matches!(j.verdict, Verdict::NotSupported { nearest: Some(_) }), "{j:?}");
    assert_eq!(j.lean, Lean::Neither);
}

#[test]
fn good_and_bad_value_among_the_twelve() {
    let (beaten, values) = settled();
    let good = |name: &str| good_value(&case(name, &beaten, &values));
    let over = |name: &str| overpriced(&case(name, &beaten, &values));
    assert_eq!(good("F").verdict, Verdict::Supported);
    assert_eq!(good("L").verdict, Verdict::NotSupported { nearest: None });
    assert_eq!(over("E").verdict, Verdict::Supported);
    assert_eq!(over("K").verdict, Verdict::Supported);
    // Below expectation more often than not, but nobody clearly beats it.
    assert_eq!(over("A").verdict, Verdict::NotSupported { nearest: None });
    assert_eq!(over("F").verdict, Verdict::NotSupported { nearest: None });
}

#[test]
fn best_value_says_among_how_many() {
    let (beaten, values) = settled();
    let (f, among) = best_value(&case("F", &beaten, &values));
    let p = values[place("F")].p_largest;
    assert!((0.5..0.9).contains(&p), "{p}");
    assert_eq!(f.verdict, Verdict::NotSupported { nearest: None });
    let among = among.unwrap();
    assert!(values[place("F")].p_rank_at_most(among) >= 0.9);
    assert!(values[place("F")].p_rank_at_most(among - 1) < 0.9);
    assert_eq!(best_value(&case("E", &beaten, &values)).1, Some(12));
}

#[test]
fn limits_come_before_probabilities() {
    let (beaten, values) = settled();
    let plain = case("F", &beaten, &values);
    let few = Case { n_band: 7, coverage: 0.1, ..plain };
    let unseen = Case { coverage: 0.649, price_is_stale: true, ..plain };
    let stale = Case { price_is_stale: true, ..plain };
    let unfitted = Case { value: None, ..plain };
    for (case, want) in [
        (few, Verdict::TooFew { found: 7, needed: 8 }),
        (unseen, Verdict::Ineligible { why: Ineligible::Coverage }),
        (stale, Verdict::Ineligible { why: Ineligible::StalePrice }),
        (unfitted, Verdict::TooFew { found: 12, needed: 8 }),
    ] {
        for it in [unbeaten(&case), good_value(&case), overpriced(&case), best_value(&case).0] {
            assert_eq!((it.verdict, it.tests.len(), it.borderline), (want, 0, false));
        }
        assert_eq!(best_value(&case).1, None);
    }
    assert_eq!(unbeaten(&Case { n_band: 8, coverage: 0.65, ..plain }).verdict, Verdict::Supported);
}

/// Thresholds of 0.9 with 900 draws: one standard error is 0.01.
#[test]
fn what_other_draws_could_have_turned_is_borderline() {
    let judged = |not_beaten: f64, positive: f64, by: Option<f64>| {
        let value = DrawnValue {
            product: 0,
            draws: 900,
            median: 0.0,
            low: 0.0,
            high: 0.0,
            p_positive: positive,
            p_large: 0.0,
            p_negative: 0.0,
            p_largest: 0.0,
            ranks: Vec::new(),
        };
        let beaten = Beaten::for_tests(900, vec![not_beaten], vec![by.map(|p| (1, p))]);
        let case = Case {
            product: 0,
            n_band: 8,
            coverage: 1.0,
            price_is_stale: false,
            value: Some(&value),
            beaten: &beaten,
        };
        let it = unbeaten(&case);
        (it.verdict, it.borderline)
    };
    assert_eq!(judged(0.9, 0.99, None), (Verdict::Supported, true));
    assert_eq!(judged(0.921, 0.921, None), (Verdict::Supported, false));
    assert_eq!(judged(0.885, 0.99, None), (Verdict::NotSupported { nearest: None }, true));
    // Near one threshold, but far from the other: nothing could have turned it.
    assert_eq!(judged(0.89, 0.3, None), (Verdict::NotSupported { nearest: None }, false));
    assert_eq!(judged(0.05, 0.3, Some(0.91)), (Verdict::Contradicted { by: 1 }, true));
    assert_eq!(judged(0.05, 0.3, Some(0.93)), (Verdict::Contradicted { by: 1 }, false));
    assert_eq!(judged(0.05, 0.3, Some(0.89)), (Verdict::NotSupported { nearest: Some(1) }, true));
    // Two that are close: both would have to come out otherwise.
    assert_eq!(judged(0.89, 0.89, None), (Verdict::NotSupported { nearest: None }, true));
}
