//! Tests of the cabinet's judgement, through the functions that the worker calls.

#![expect(clippy::float_cmp, reason = "points are constants that pass through unchanged")]

use bw_sdk::abi::NOT_APPLICABLE;
use bw_sdk::manifest::Manifest;
use bw_sdk::testing::{Outcome, run};

use super::{Plugin, input, remark};

fn manifest() -> Manifest {
    Manifest::parse(include_str!("../manifest.json")).unwrap()
}

/// The number that stands for a choice.
fn choice(id: &str, word: &str) -> f64 {
    let manifest = manifest();
    let input = &manifest.inputs[manifest.input_index(id).unwrap()];
    input.choices.iter().position(|it| it == word).unwrap() as f64
}

fn one(row: &[(&str, f64)]) -> Outcome {
    run::<Plugin>(&[], &[row]).unwrap()
}

#[test]
fn places_are_those_of_the_manifest() {
    let manifest = manifest();
    for (place, id) in [
        (input::WAYS, "whole.ways"),
        (input::PANEL_F_HZ, "cabinet.panel_f_hz"),
        (input::CAVITY_F_HZ, "cabinet.cavity_f_hz"),
        (input::CAVITY_Q, "cabinet.cavity_q"),
        (input::WALL_DAMPING, "cabinet.wall_damping"),
        (input::MID_CHAMBER, "cabinet.mid_chamber"),
        (input::LEAK_FOUND, "cabinet.leak_found"),
        (input::GASKET, "cabinet.gasket"),
    ] {
        assert_eq!(manifest.inputs[place].id, id);
    }
    for (place, code) in [
        (remark::PANEL_MODE_LOW, "panel_mode_low"),
        (remark::PANEL_MODE_AUDIBLE, "panel_mode_audible"),
        (remark::STANDING_WAVE_UNDAMPED, "standing_wave_undamped"),
        (remark::MIDRANGE_OPEN, "midrange_open"),
        (remark::LEAK_FOUND, "leak_found"),
    ] {
        assert_eq!(manifest.remarks[place].code, code);
    }
}

#[test]
fn quantities_pass_through() {
    let outcome = one(&[("cabinet.panel_f_hz", 260.0), ("cabinet.cavity_q", 8.8079993)]);
    assert_eq!(outcome.score(0, "panel_mode"), 260.0);
    assert_eq!(outcome.score(0, "cavity_q"), 8.8079993);
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
        ("cabinet.panel_f_hz", f64::NEG_INFINITY),
        ("cabinet.cavity_q", f64::INFINITY),
        ("whole.ways", f64::NEG_INFINITY),
    ]);
    assert!(outcome.scores[0].iter().all(|it| it.is_nan()), "{:?}", outcome.scores);
}

#[test]
fn wall_damping_is_a_table() {
    for (word, points) in [("none", 30.0), ("lined panel", 60.0), ("damping sheet", 100.0)] {
        let id = "cabinet.wall_damping";
        assert_eq!(one(&[(id, choice(id, word))]).score(0, "wall_damping"), points, "{word}");
    }
}

#[test]
fn midrange_chamber_applies_from_three_ways_on() {
    let id = "cabinet.mid_chamber";
    for (word, points) in [("none", 0.0), ("partial", 50.0), ("sealed", 100.0)] {
        let outcome = one(&[("whole.ways", 3.0), (id, choice(id, word))]);
        assert_eq!(outcome.score(0, "mid_chamber"), points, "{word}");
        let outcome = one(&[("whole.ways", 2.0), (id, choice(id, word))]);
        assert_eq!(outcome.score(0, "mid_chamber"), NOT_APPLICABLE, "{word}");
        assert!(outcome.remarks.is_empty());
    }
    assert_eq!(one(&[("whole.ways", 2.0)]).score(0, "mid_chamber"), NOT_APPLICABLE);
    assert!(one(&[("whole.ways", 3.0)]).score(0, "mid_chamber").is_nan());
    assert!(one(&[(id, choice(id, "sealed"))]).score(0, "mid_chamber").is_nan());
}

#[test]
fn leak_outweighs_gasket_and_must_be_known() {
    let gasket = |word| ("cabinet.gasket", choice("cabinet.gasket", word));
    for (word, points) in [("none", 40.0), ("foam", 70.0), ("caulk", 90.0)] {
        let leak = |found| one(&[("cabinet.leak_found", found), gasket(word)]).score(0, "leak");
        assert_eq!(leak(0.0), points, "{word}");
        assert_eq!(leak(1.0), 20.0, "{word}");
        assert!(one(&[gasket(word)]).score(0, "leak").is_nan(), "{word}");
    }
    assert_eq!(one(&[("cabinet.leak_found", 1.0)]).score(0, "leak"), 20.0);
    assert!(one(&[("cabinet.leak_found", 0.0)]).score(0, "leak").is_nan());
}

#[test]
fn remarks_come_past_their_limits_with_numbers() {
    let damping = |word| ("cabinet.wall_damping", choice("cabinet.wall_damping", word));
    let panel = |f_hz| ("cabinet.panel_f_hz", f_hz);
    assert!(one(&[panel(200.0), damping("none")]).remarks.is_empty());
    let low = one(&[panel(141.4)]);
    assert_eq!(low.codes(0), ["panel_mode_low"]);
    assert_eq!(low.remarks[0].args, [141.4]);
    assert!(low.remarks[0].text.contains("estimated at 141 Hz, which is low"));

    assert_eq!(one(&[panel(300.0), damping("none")]).codes(0), ["panel_mode_audible"]);
    assert!(one(&[panel(300.0), damping("lined panel")]).remarks.is_empty());
    assert!(one(&[panel(300.0)]).remarks.is_empty());
    assert!(one(&[panel(801.0), damping("none")]).remarks.is_empty());

    let wave = |q| one(&[("cabinet.cavity_f_hz", 536.25), ("cabinet.cavity_q", q)]);
    assert!(wave(20.0).remarks.is_empty());
    let ringing = wave(155.5);
    assert_eq!(ringing.codes(0), ["standing_wave_undamped"]);
    assert_eq!(ringing.remarks[0].args, [536.25, 155.5]);

    let open =
        one(&[("whole.ways", 3.0), ("cabinet.mid_chamber", choice("cabinet.mid_chamber", "none"))]);
    assert_eq!(open.codes(0), ["midrange_open"]);
    assert!(open.remarks[0].text.contains("this 3-way"));

    assert_eq!(one(&[("cabinet.leak_found", 1.0)]).codes(0), ["leak_found"]);
    assert!(one(&[("cabinet.leak_found", 0.0)]).remarks.is_empty());
}
