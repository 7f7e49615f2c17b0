//! Tests of the network's judgement, through the functions that the worker calls.

#![expect(clippy::float_cmp, reason = "points are constants that pass through unchanged")]

use bw_sdk::abi::NOT_APPLICABLE;
use bw_sdk::manifest::Manifest;
use bw_sdk::testing::{Outcome, run};

use super::{Plugin, input, remark};

const PRESENT: &str = "crossover.present";
const CAP: &str = "crossover.tweeter_cap";
const COILS: &str = "crossover.coil_orient";

fn manifest() -> Manifest {
    Manifest::parse(include_str!("../manifest.json")).unwrap()
}

/// An input with the number that stands for a choice.
fn choice<'i>(id: &'i str, word: &str) -> (&'i str, f64) {
    let manifest = manifest();
    let input = &manifest.inputs[manifest.input_index(id).unwrap()];
    (id, input.choices.iter().position(|it| it == word).unwrap() as f64)
}

fn ways(n: f64) -> (&'static str, f64) {
    ("whole.ways", n)
}

fn one(row: &[(&str, f64)]) -> Outcome {
    run::<Plugin>(&[], &[row]).unwrap()
}

#[test]
fn places_are_those_of_the_manifest() {
    let manifest = manifest();
    for (place, id) in [
        (input::WAYS, "whole.ways"),
        (input::RATED_Z, "whole.rated_z"),
        (input::Z_MIN_OHM, "load.z_min_ohm"),
        (input::Z_MIN_RATIO, "load.z_min_ratio"),
        (input::R_PD_MIN_OHM, "load.r_pd_min_ohm"),
        (input::PRESENT, PRESENT),
        (input::TWEETER_CAP, CAP),
        (input::COIL_ORIENT, COILS),
    ] {
        assert_eq!(manifest.inputs[place].id, id);
    }
    for (place, code) in [
        (remark::RATING_NOT_MET, "rating_not_met"),
        (remark::RATING_THAT_HOLDS, "rating_that_holds"),
        (remark::BELOW_FOUR_OHM_RATING, "impedance_below_four_ohm_rating"),
        (remark::PEAK_DISSIPATION_LOW, "peak_dissipation_low"),
        (remark::NO_NETWORK, "no_network"),
        (remark::CAPACITOR_ONLY, "capacitor_only"),
        (remark::TWEETER_CAP_ELECTROLYTIC, "tweeter_capacitor_electrolytic"),
        (remark::NETWORK_CONTRADICTED, "network_contradicted"),
    ] {
        assert_eq!(manifest.remarks[place].code, code);
    }
}

#[test]
fn quantities_pass_through() {
    let outcome = one(&[("load.z_min_ratio", 0.72), ("load.r_pd_min_ohm", 3.14989)]);
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
        ways(f64::NEG_INFINITY),
    ]);
    assert!(outcome.scores[0].iter().all(|it| it.is_nan()), "{:?}", outcome.scores);
    assert!(outcome.remarks.is_empty());
}

#[test]
fn tweeter_capacitor_by_kind() {
    for (word, points) in [("polypropylene", 95.0), ("polyester", 80.0), ("electrolytic", 45.0)] {
        let full = one(&[ways(2.0), choice(PRESENT, "full"), choice(CAP, word)]);
        assert_eq!(full.score(0, "tweeter_capacitor"), points, "{word}");
        let undescribed = one(&[ways(3.0), choice(CAP, word)]);
        assert_eq!(undescribed.score(0, "tweeter_capacitor"), points, "{word}");
    }
}

#[test]
fn tweeter_capacitor_without_a_network() {
    let capacitor = |row: &[(&str, f64)]| one(row).score(0, "tweeter_capacitor");
    let none = choice(PRESENT, "none");
    assert_eq!(capacitor(&[ways(2.0), none]), 0.0);
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

#[test]
fn coils_matter_in_a_full_network_only() {
    let coils = |row: &[(&str, f64)]| one(row).score(0, "coil_orientation");
    assert_eq!(coils(&[choice(PRESENT, "full"), choice(COILS, "good")]), 100.0);
    assert_eq!(coils(&[choice(PRESENT, "full"), choice(COILS, "poor")]), 40.0);
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
}

/// The lowest impedance shall be at least 0.8 of the rating: IEC 60268-5:2003, clause 16.1 (from memory).
#[test]
fn rating_is_held_against_the_lowest_impedance() {
    let load = |z: f64, rated: f64| one(&[("load.z_min_ohm", z), ("whole.rated_z", rated)]);
    for (z, rated) in [(6.4, 8.0), (4.8, 6.0), (3.2, 4.0), (7.0, 8.0)] {
        assert!(load(z, rated).remarks.is_empty(), "{z} as {rated}");
    }
    let fails = load(5.4681415, 8.0);
    assert_eq!(fails.codes(0), ["rating_not_met", "rating_that_holds"]);
    assert_eq!(fails.remarks[0].args, [5.4681415, 8.0, 6.4]);
    assert_eq!(fails.remarks[1].args, [6.0]);
    let text = &fails.remarks[0].text;
    assert!(text.contains("is 5.468 ohm. The printed rating of 8 ohm asks for at least 6.400 ohm"));
    assert_eq!(load(4.79, 6.0).remarks[1].args, [4.0]);

    let lower = load(2.9, 4.0);
    assert_eq!(lower.codes(0), ["rating_not_met", "impedance_below_four_ohm_rating"]);
    assert_eq!(lower.remarks[1].args, [2.9]);
    // A hard load is worth a caution also where no rating is known.
    assert_eq!(one(&[("load.z_min_ohm", 2.9)]).codes(0), ["impedance_below_four_ohm_rating"]);
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
