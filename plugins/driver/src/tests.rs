//! Tests of the drivers' judgement, through the functions that the worker calls.

#![expect(clippy::float_cmp, reason = "measures are constants that pass through unchanged")]

use bw_sdk::abi::NOT_APPLICABLE;
use bw_sdk::testing::{self, Outcome};

use super::{Plugin, criterion, input, param, remark};

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

#[test]
fn quantities_pass_through() {
    let outcome = one(&[
        ("system.f3_hz", 52.5),
        ("system.ripple_db", 0.0),
        ("system.spl_50hz_db", 96.5),
        ("system.sens_2v83_db", 86.25),
        ("whole.ways", 2.0),
        ("woofer.f_le_ratio", 0.5),
        ("woofer.off_axis_db", -2.5),
        ("crossover.tweeter_margin_oct", 1.735_303_5),
        choice("cabinet.box_type", "vented"),
    ]);
    assert_eq!(outcome.score(0, "bass_limit"), 52.5);
    assert_eq!(outcome.score(0, "bass_ripple"), 0.0);
    assert_eq!(outcome.score(0, "output_50hz"), 96.5);
    assert_eq!(outcome.score(0, "sensitivity"), 86.25);
    assert_eq!(outcome.score(0, "inductance"), 0.5);
    assert_eq!(outcome.score(0, "off_axis"), -2.5);
    assert_eq!(outcome.score(0, "tweeter_margin"), 1.735_303_5);
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
        ("system.spl_50hz_db", f64::NEG_INFINITY),
        ("crossover.tweeter_margin_oct", f64::NEG_INFINITY),
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
        assert!(outcome.score(0, "output_50hz").is_nan(), "{word}");
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
fn construction_follows_its_parameters() {
    let manifest = testing::manifest::<Plugin>();
    let mut params = manifest.default_params();
    params[param::FRAME_PLASTIC] = 50.0;
    params[param::FRAME_VENT] = 5.0;
    let row = [
        choice("woofer.basket", "plastic"),
        ("woofer.vent_pole", 1.0),
        ("woofer.vent_spider", 1.0),
        choice("woofer.surround", "rubber"),
    ];
    let outcome = testing::run::<Plugin>(&params, &[&row]).unwrap();
    assert_eq!(outcome.score(0, "construction"), 80.0);
}

#[test]
fn rows_at_the_crossover_apply_where_there_is_one() {
    let rows = [
        ("inductance", ("woofer.f_le_ratio", 0.5)),
        ("off_axis", ("woofer.off_axis_db", -2.5)),
        ("tweeter_margin", ("crossover.tweeter_margin_oct", 1.5)),
    ];
    for (criterion, measure) in rows {
        let score = |row: &[(&str, f64)]| one(row).score(0, criterion);
        let ways = |n| ("whole.ways", n);
        assert_eq!(score(&[ways(1.0)]), NOT_APPLICABLE, "{criterion}");
        assert_eq!(score(&[ways(1.0), measure]), NOT_APPLICABLE, "{criterion}");
        assert!(score(&[ways(2.0)]).is_nan(), "{criterion}");
        assert_eq!(score(&[ways(3.0), measure]), measure.1, "{criterion}");
        let network = |word| choice("crossover.present", word);
        for word in ["none", "capacitor only"] {
            assert_eq!(score(&[ways(2.0), network(word)]), NOT_APPLICABLE, "{criterion} {word}");
            let crossed = score(&[ways(2.0), network(word), measure]);
            assert_eq!(crossed, measure.1, "{criterion} {word}");
        }
        assert!(score(&[ways(2.0), network("full")]).is_nan(), "{criterion}");
    }
}

#[test]
fn inductance_is_steady_by_copper_or_by_a_low_exponent() {
    let copper = |word| choice("woofer.shorting", word);
    let coil = |n| ("woofer.coil_n", n);
    let steady = |row: &[(&str, f64)]| one(row).score(0, "shorting");
    for (word, points) in [("none", 0.0), ("cap", 1.0), ("ring", 1.0)] {
        assert_eq!(steady(&[copper(word)]), points, "{word}");
        assert_eq!(steady(&[copper(word), coil(0.8)]), points, "{word}");
        assert_eq!(steady(&[copper(word), coil(0.7)]), 1.0, "{word}");
    }
    assert_eq!(steady(&[coil(0.7)]), 1.0);
    assert_eq!(steady(&[coil(0.75)]), 0.0);
    assert!(steady(&[]).is_nan());
}

#[test]
fn remarks_come_past_their_limits_with_numbers() {
    let limits = [
        ("system.f3_hz", 80.0),
        ("system.ripple_db", 3.0),
        ("system.spl_50hz_db", 92.0),
        ("system.sens_2v83_db", 85.0),
        ("system.fb_hz", 50.0),
        choice("cabinet.box_type", "vented"),
        ("crossover.tweeter_margin_oct", 1.0),
    ];
    assert!(one(&limits).remarks.is_empty());
    for (id, value, code, text) in [
        ("system.f3_hz", 96.4, "bass_limit_high", "is 96 Hz, which is high"),
        ("system.ripple_db", 4.25, "bass_peak", "peaks 4.2 dB above"),
        ("system.spl_50hz_db", 88.3, "output_low", "at 50 Hz is 88 dB at 1 m"),
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

#[test]
fn a_cone_unloads_in_a_vented_box_and_a_margin_wants_a_crossover() {
    let tuning = ("system.fb_hz", 56.0);
    let unloads = one(&[tuning, choice("cabinet.box_type", "vented")]);
    assert_eq!(unloads.codes(0), ["cone_unloads"]);
    assert!(unloads.remarks[0].text.contains("is tuned to 56 Hz, which is high"));
    assert!(one(&[tuning]).remarks.is_empty());
    let close = ("crossover.tweeter_margin_oct", 0.4);
    assert!(one(&[close, ("whole.ways", 1.0)]).remarks.is_empty());
}
