//! Tests of the network's judgement, through the functions that the worker calls.

#![expect(clippy::float_cmp, reason = "measures are constants that pass through unchanged")]

use bw_sdk::abi::NOT_APPLICABLE;
use bw_sdk::testing::{self, Outcome};

use super::{Plugin, criterion, input, param, remark};

const PRESENT: &str = "crossover.present";
const CAP: &str = "crossover.tweeter_cap";
const COILS: &str = "crossover.coil_orient";

fn choice<'i>(id: &'i str, word: &str) -> (&'i str, f64) {
    testing::choice::<Plugin>(id, word)
}

fn one(row: &[(&str, f64)]) -> Outcome {
    testing::one::<Plugin>(row)
}

#[test]
fn places_are_those_of_the_manifest() {
    testing::places::<Plugin>(input::IDS, param::IDS, criterion::IDS, remark::IDS);
}

fn ways(n: f64) -> (&'static str, f64) {
    ("whole.ways", n)
}

#[test]
fn quantities_pass_through() {
    let outcome = one(&[
        ways(2.0),
        choice(PRESENT, "full"),
        ("load.z_min_ratio", 0.72),
        ("load.r_pd_min_ohm", 3.14989),
        ("crossover.tweeter_attenuation_db", -26.4),
        ("crossover.woofer_order", 2.0),
        ("crossover.tweeter_order", 3.0),
        ("crossover.ripple_db", 1.2),
        ("crossover.woofer_loss_db", 0.41),
        ("crossover.tweeter_cap_loss_db", 0.031),
    ]);
    assert_eq!(outcome.score(0, "tweeter_attenuation"), -26.4);
    assert_eq!(outcome.score(0, "woofer_order"), 2.0);
    assert_eq!(outcome.score(0, "tweeter_order"), 3.0);
    assert_eq!(outcome.score(0, "ripple"), 1.2);
    assert_eq!(outcome.score(0, "woofer_loss"), 0.41);
    assert_eq!(outcome.score(0, "tweeter_capacitor"), 0.031);
    assert_eq!(outcome.score(0, "z_min_ratio"), 0.72);
    assert_eq!(outcome.score(0, "peak_dissipation"), 3.14989);
    assert!(outcome.remarks.is_empty());
}

#[test]
fn nothing_known_leaves_all_unscored() {
    let outcome = one(&[]);
    assert!(outcome.scores[0].iter().all(|it| it.is_nan()), "{:?}", outcome.scores);
    assert!(outcome.remarks.is_empty());
}

#[test]
fn infinite_quantity_counts_as_missing_not_as_inapplicable() {
    let outcome = one(&[
        ("load.z_min_ratio", f64::NEG_INFINITY),
        ("load.z_min_ohm", f64::NEG_INFINITY),
        ("load.r_pd_min_ohm", f64::INFINITY),
        ("crossover.ripple_db", f64::NEG_INFINITY),
        ("crossover.woofer_loss_db", f64::INFINITY),
        ways(f64::NEG_INFINITY),
    ]);
    assert!(outcome.scores[0].iter().all(|it| it.is_nan()), "{:?}", outcome.scores);
    assert!(outcome.remarks.is_empty());
}

#[test]
fn kind_of_capacitor_stands_in_for_its_loss() {
    let loss = ("crossover.tweeter_cap_loss_db", 0.2);
    for (word, param) in [
        ("polypropylene", "capacitor.loss_polypropylene"),
        ("polyester", "capacitor.loss_polyester"),
        ("electrolytic", "capacitor.loss_electrolytic"),
    ] {
        let full = [ways(2.0), choice(PRESENT, "full"), choice(CAP, word)];
        let expected = testing::param::<Plugin>(param);
        assert_eq!(one(&full).score(0, "tweeter_capacitor"), expected, "{word}");
        let undescribed = one(&[ways(3.0), choice(CAP, word)]);
        assert_eq!(undescribed.score(0, "tweeter_capacitor"), expected, "{word}");
        let computed = one(&[full[0], full[1], full[2], loss]);
        assert_eq!(computed.score(0, "tweeter_capacitor"), 0.2, "{word}");
    }
}

#[test]
fn tweeter_capacitor_without_a_network() {
    let capacitor = |row: &[(&str, f64)]| one(row).score(0, "tweeter_capacitor");
    let none = choice(PRESENT, "none");
    assert_eq!(capacitor(&[ways(2.0), none]), NOT_APPLICABLE);
    assert_eq!(capacitor(&[ways(1.0), none]), NOT_APPLICABLE);
    assert_eq!(capacitor(&[ways(1.0)]), NOT_APPLICABLE);
    // It may be a one-way, for which the criterion has no meaning.
    assert!(capacitor(&[none]).is_nan());
    assert!(capacitor(&[choice(CAP, "polyester")]).is_nan());
    // The network is there, its capacitor was not looked at.
    assert!(capacitor(&[ways(2.0), choice(PRESENT, "full")]).is_nan());
    assert!(capacitor(&[ways(2.0), choice(PRESENT, "capacitor only")]).is_nan());
    assert!(capacitor(&[ways(2.0)]).is_nan());
}

/// `None` stands for not scored.
#[test]
fn what_the_kind_of_network_fixes_needs_no_parts_list() {
    let na = Some(NOT_APPLICABLE);
    // Attenuation, woofer's order, tweeter's order, ripple, woofer's loss.
    for (n, word, expected) in [
        (2.0, "none", [Some(0.0), Some(0.0), Some(0.0), na, na]),
        (3.0, "none", [Some(0.0), Some(0.0), Some(0.0), na, na]),
        (2.0, "capacitor only", [None, Some(0.0), Some(1.0), None, na]),
        (2.0, "full", [None; 5]),
        (1.0, "none", [na; 5]),
        (1.0, "capacitor only", [na, na, na, None, na]),
        (1.0, "full", [na, na, na, None, None]),
    ] {
        let outcome = one(&[ways(n), choice(PRESENT, word)]);
        let criteria =
            ["tweeter_attenuation", "woofer_order", "tweeter_order", "ripple", "woofer_loss"];
        for (criterion, expected) in criteria.into_iter().zip(expected) {
            let found = outcome.score(0, criterion);
            let is_same = expected.map_or(found.is_nan(), |it| found == it);
            assert!(is_same, "{n}-way, {word}: {criterion} is {found}");
        }
    }
    // A capacitor only, with more in the parts list than one would think.
    let solved = one(&[
        ways(2.0),
        choice(PRESENT, "capacitor only"),
        ("crossover.tweeter_order", 1.0),
        ("crossover.tweeter_attenuation_db", -7.5),
        ("crossover.ripple_db", 0.4),
    ]);
    assert_eq!(solved.score(0, "tweeter_attenuation"), -7.5);
    assert_eq!(solved.score(0, "ripple"), 0.4);
}

#[test]
fn an_unknown_number_of_ways_leaves_filters_unscored() {
    let outcome = one(&[
        choice(PRESENT, "none"),
        ("crossover.woofer_order", 0.0),
        ("crossover.tweeter_attenuation_db", -20.0),
    ]);
    assert!(outcome.score(0, "woofer_order").is_nan());
    assert!(outcome.score(0, "tweeter_attenuation").is_nan());
}

#[test]
fn coils_matter_in_a_full_network_only() {
    let coils = |row: &[(&str, f64)]| one(row).score(0, "coil_orientation");
    assert_eq!(coils(&[choice(PRESENT, "full"), choice(COILS, "good")]), 0.0);
    assert_eq!(coils(&[choice(PRESENT, "full"), choice(COILS, "poor")]), 1.0);
    assert!(coils(&[choice(PRESENT, "full")]).is_nan());
    assert!(coils(&[choice(COILS, "good")]).is_nan());
    assert_eq!(coils(&[choice(PRESENT, "capacitor only")]), NOT_APPLICABLE);
    assert_eq!(coils(&[choice(PRESENT, "none")]), NOT_APPLICABLE);
}

#[test]
fn contradictions_are_said_and_not_scored() {
    let capacitor = one(&[ways(2.0), choice(PRESENT, "none"), choice(CAP, "polyester")]);
    assert!(capacitor.score(0, "tweeter_capacitor").is_nan());
    assert_eq!(capacitor.codes(0), ["network_contradicted"]);
    let coils = one(&[choice(PRESENT, "capacitor only"), choice(COILS, "good")]);
    assert!(coils.score(0, "coil_orientation").is_nan());
    assert_eq!(coils.codes(0), ["network_contradicted"]);
    for (word, order) in [
        ("none", ("crossover.woofer_order", 1.0)),
        ("none", ("crossover.tweeter_order", 2.0)),
        ("capacitor only", ("crossover.woofer_order", 2.0)),
        ("capacitor only", ("crossover.tweeter_order", 3.0)),
    ] {
        let row = [
            ways(2.0),
            choice(PRESENT, word),
            order,
            ("crossover.tweeter_attenuation_db", -20.0),
            ("crossover.ripple_db", 4.0),
            ("crossover.woofer_loss_db", 1.0),
        ];
        let filter = one(&row);
        assert!(filter.scores[0].iter().all(|it| !it.is_finite()), "{word}: {:?}", filter.scores);
        assert!(filter.score(0, "tweeter_attenuation").is_nan(), "{word}");
        assert_eq!(filter.codes(0), ["network_contradicted"], "{word}");
    }
}

#[test]
fn the_computed_impedance_stands_in_where_none_was_measured() {
    let computed = [("crossover.z_min_ohm", 5.0), ("whole.rated_z", 8.0)];
    let outcome = one(&computed);
    assert_eq!(outcome.score(0, "z_min_ratio"), 0.625);
    let measured =
        one(&[computed[0], computed[1], ("load.z_min_ohm", 6.8), ("load.z_min_ratio", 0.85)]);
    assert_eq!(measured.score(0, "z_min_ratio"), 0.85);
    assert!(measured.remarks.is_empty());
    assert!(one(&computed[..1]).score(0, "z_min_ratio").is_nan());
    assert!(one(&[computed[0], ("whole.rated_z", 0.0)]).score(0, "z_min_ratio").is_nan());
}

/// 0.8 of the lowest usual rating: IEC 60268-5:2003, clause 16.1 (from memory).
#[test]
fn a_load_below_all_ratings_is_remarked_on() {
    let outcome = one(&[("load.z_min_ohm", 2.9)]);
    assert_eq!(outcome.codes(0), ["impedance_below_four_ohm_rating"]);
    assert_eq!(outcome.remarks[0].args, [2.9]);
    assert!(one(&[("load.z_min_ohm", 3.2)]).remarks.is_empty());
}

#[test]
fn remarks_come_past_their_limits_with_numbers() {
    assert!(one(&[("load.r_pd_min_ohm", 2.0)]).remarks.is_empty());
    let hard = one(&[("load.r_pd_min_ohm", 1.849)]);
    assert_eq!(hard.codes(0), ["peak_dissipation_low"]);
    assert_eq!(hard.remarks[0].args, [1.849]);
    assert!(hard.remarks[0].text.contains("a resistor of 1.85 ohm"));

    let none = one(&[ways(2.0), choice(PRESENT, "none")]);
    assert_eq!(none.codes(0), ["no_network"]);
    assert!(none.remarks[0].text.starts_with("This 2-way has no network"));
    assert!(one(&[ways(1.0), choice(PRESENT, "none")]).remarks.is_empty());

    let lone = one(&[ways(2.0), choice(PRESENT, "capacitor only"), choice(CAP, "electrolytic")]);
    assert_eq!(lone.codes(0), ["capacitor_only", "tweeter_capacitor_electrolytic"]);
    assert_eq!(lone.remarks[0].args, [2.0]);
}

#[test]
fn filters_are_remarked_on_past_their_limits() {
    let full = [ways(2.0), choice(PRESENT, "full")];
    for (id, limit, past, code, text) in [
        ("crossover.ripple_db", 3.0, 4.26, "network_ripple", "peaks 4.3 dB above its passband"),
        ("crossover.woofer_loss_db", 0.6, 0.83, "woofer_loss", "costs 0.83 dB at 100 Hz"),
    ] {
        assert!(one(&[full[0], full[1], (id, limit)]).remarks.is_empty(), "{id}");
        let outcome = one(&[full[0], full[1], (id, past)]);
        assert_eq!(outcome.codes(0), [code]);
        assert!(outcome.remarks[0].text.contains(text), "{}", outcome.remarks[0].text);
    }
    // The remark on a missing network says more.
    assert_eq!(one(&[ways(2.0), choice(PRESENT, "none")]).codes(0), ["no_network"]);
}
