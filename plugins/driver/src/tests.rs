//! Tests of the drivers' judgement, through the functions that the worker calls.

#![expect(clippy::float_cmp, reason = "points are constants that pass through unchanged")]

use bw_sdk::manifest::Manifest;
use bw_sdk::testing::{Outcome, run};

use super::{Plugin, input, remark};

fn manifest() -> Manifest {
    Manifest::parse(include_str!("../manifest.json")).unwrap()
}

/// An input with the number that stands for a choice.
fn choice<'i>(id: &'i str, word: &str) -> (&'i str, f64) {
    let manifest = manifest();
    let input = &manifest.inputs[manifest.input_index(id).unwrap()];
    (id, input.choices.iter().position(|it| it == word).unwrap() as f64)
}

fn one(row: &[(&str, f64)]) -> Outcome {
    run::<Plugin>(&[], &[row]).unwrap()
}

#[test]
fn places_are_those_of_the_manifest() {
    let manifest = manifest();
    for (place, id) in [
        (input::F3_HZ, "system.f3_hz"),
        (input::RIPPLE_DB, "system.ripple_db"),
        (input::SENS_DB, "system.sens_2v83_db"),
        (input::BOX_TYPE, "cabinet.box_type"),
        (input::BASKET, "woofer.basket"),
        (input::VENT_POLE, "woofer.vent_pole"),
        (input::VENT_SPIDER, "woofer.vent_spider"),
        (input::SURROUND, "woofer.surround"),
        (input::SHORTING, "woofer.shorting"),
        (input::MIDRANGE_SURROUND, "midrange.surround"),
    ] {
        assert_eq!(manifest.inputs[place].id, id);
    }
    for (place, code) in [
        (remark::BASS_NOT_MODELLED, "bass_not_modelled"),
        (remark::BASS_LIMIT_HIGH, "bass_limit_high"),
        (remark::BASS_PEAK, "bass_peak"),
        (remark::SENSITIVITY_LOW, "sensitivity_low"),
        (remark::WOOFER_SURROUND_FOAM, "woofer_surround_foam"),
        (remark::MIDRANGE_SURROUND_FOAM, "midrange_surround_foam"),
    ] {
        assert_eq!(manifest.remarks[place].code, code);
    }
}

#[test]
fn quantities_pass_through() {
    let outcome = one(&[
        ("system.f3_hz", 52.5),
        ("system.ripple_db", 0.0),
        ("system.sens_2v83_db", 86.25),
        choice("cabinet.box_type", "vented"),
    ]);
    assert_eq!(outcome.score(0, "bass_limit"), 52.5);
    assert_eq!(outcome.score(0, "bass_ripple"), 0.0);
    assert_eq!(outcome.score(0, "sensitivity"), 86.25);
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
        ("system.f3_hz", f64::INFINITY),
        ("system.ripple_db", f64::NEG_INFINITY),
        ("system.sens_2v83_db", f64::NEG_INFINITY),
    ]);
    assert!(outcome.scores[0].iter().all(|it| it.is_nan()), "{:?}", outcome.scores);
    assert!(outcome.remarks.is_empty());
}

#[test]
fn box_type_without_a_model_is_unscored_with_a_remark() {
    for (word, codes) in [
        ("closed", &[] as &[&str]),
        ("vented", &[]),
        ("passive radiator", &["bass_not_modelled"]),
        ("line", &["bass_not_modelled"]),
    ] {
        let outcome = one(&[choice("cabinet.box_type", word)]);
        assert_eq!(outcome.codes(0), codes, "{word}");
        assert!(outcome.score(0, "bass_limit").is_nan(), "{word}");
        assert!(outcome.score(0, "bass_ripple").is_nan(), "{word}");
    }
    // The day it is modelled the remark must not stay.
    let outcome = one(&[choice("cabinet.box_type", "line"), ("system.f3_hz", 48.0)]);
    assert_eq!(outcome.score(0, "bass_limit"), 48.0);
    assert!(outcome.remarks.is_empty());
}

#[test]
fn construction_is_the_mean_of_frame_and_surround() {
    for (basket, pole, spider, surround, points) in [
        ("cast", 0.0, 0.0, "rubber", 100.0),
        ("cast", 1.0, 1.0, "rubber", 100.0),
        ("stamped steel", 0.0, 0.0, "rubber", 80.0),
        ("stamped steel", 1.0, 0.0, "cloth", 80.0),
        ("stamped steel", 1.0, 1.0, "foam", 70.0),
        ("plastic", 0.0, 0.0, "foam", 35.0),
        ("plastic", 0.0, 1.0, "cloth", 65.0),
        ("plastic", 1.0, 1.0, "rubber", 85.0),
    ] {
        let outcome = one(&[
            choice("woofer.basket", basket),
            ("woofer.vent_pole", pole),
            ("woofer.vent_spider", spider),
            choice("woofer.surround", surround),
        ]);
        assert_eq!(outcome.score(0, "construction"), points, "{basket} {pole} {spider} {surround}");
    }
}

#[test]
fn construction_is_scored_only_when_what_is_known_fixes_it() {
    let rubber = choice("woofer.surround", "rubber");
    let cast = choice("woofer.basket", "cast");
    let stamped = choice("woofer.basket", "stamped steel");
    let vented = [("woofer.vent_pole", 1.0), ("woofer.vent_spider", 1.0)];
    let construction = |row: &[(&str, f64)]| one(row).score(0, "construction");
    // Vents cannot lift a cast frame above 100.
    assert_eq!(construction(&[rubber, cast]), 100.0);
    assert_eq!(construction(&[rubber, cast, vented[0]]), 100.0);
    assert!(construction(&[rubber, stamped]).is_nan());
    assert!(construction(&[rubber, stamped, vented[0]]).is_nan());
    assert_eq!(construction(&[rubber, stamped, vented[0], vented[1]]), 100.0);
    assert!(construction(&[rubber, vented[0], vented[1]]).is_nan());
    assert!(construction(&[cast]).is_nan());
}

#[test]
fn copper_in_the_motor_is_a_table() {
    for (word, points) in [("none", 50.0), ("cap", 100.0), ("ring", 100.0)] {
        assert_eq!(one(&[choice("woofer.shorting", word)]).score(0, "shorting"), points, "{word}");
    }
}

#[test]
fn remarks_come_past_their_limits_with_numbers() {
    let limits = [("system.f3_hz", 80.0), ("system.ripple_db", 3.0), ("system.sens_2v83_db", 85.0)];
    assert!(one(&limits).remarks.is_empty());
    for (id, value, code, text) in [
        ("system.f3_hz", 96.4, "bass_limit_high", "is 96 Hz, which is high"),
        ("system.ripple_db", 4.25, "bass_peak", "peaks 4.2 dB above"),
        ("system.sens_2v83_db", 83.96, "sensitivity_low", "84.0 dB for 2.83 V"),
    ] {
        let outcome = one(&[(id, value)]);
        assert_eq!(outcome.codes(0), [code]);
        assert_eq!(outcome.remarks[0].args, [value]);
        assert!(outcome.remarks[0].text.contains(text), "{}", outcome.remarks[0].text);
    }
    for (id, code) in [
        ("woofer.surround", "woofer_surround_foam"),
        ("midrange.surround", "midrange_surround_foam"),
    ] {
        assert_eq!(one(&[choice(id, "foam")]).codes(0), [code]);
        assert!(one(&[choice(id, "rubber")]).remarks.is_empty());
    }
}
