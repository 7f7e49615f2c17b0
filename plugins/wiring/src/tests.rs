//! Tests of the wiring's judgement, through the functions that the worker calls.

#![expect(clippy::float_cmp, reason = "points are constants that pass through unchanged")]

use bw_sdk::abi::NOT_APPLICABLE;
use bw_sdk::manifest::Manifest;
use bw_sdk::testing::{Outcome, run};

use super::{Plugin, input, remark};

const LOSS: &str = "wiring.loop_loss_db";
const LOOP: &str = "wiring.loop_ohm";
const TERMINAL: &str = "wiring.terminal";
const SPACING: &str = "wiring.post_spacing";
const MAGNET: &str = "wiring.ferromagnetic.post";

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
        (input::LOOP_LOSS_DB, LOSS),
        (input::LOOP_OHM, LOOP),
        (input::WIRE_MATERIAL, "wiring.wire_material"),
        (input::JOINT, "wiring.joint"),
        (input::TERMINAL, TERMINAL),
        (input::POST_SPACING, SPACING),
        (input::FERROMAGNETIC_POST, MAGNET),
        (input::STRAIN_RELIEF, "wiring.strain_relief"),
    ] {
        assert_eq!(manifest.inputs[place].id, id);
    }
    for (place, code) in [
        (remark::LOSS_HIGH, "loss_high"),
        (remark::CCA, "copper_clad_aluminium"),
        (remark::CCA_NOT_SIZED, "copper_clad_aluminium_not_sized"),
        (remark::JOINTS_LOOSE, "joints_loose"),
        (remark::SPRING_CLIPS, "spring_clips"),
        (remark::POST_SPACING_UNUSUAL, "post_spacing_unusual"),
        (remark::POSTS_FERROMAGNETIC, "posts_ferromagnetic"),
    ] {
        assert_eq!(manifest.remarks[place].code, code);
    }
}

#[test]
fn loss_passes_through_down_to_zero() {
    assert_eq!(one(&[(LOSS, 0.268725)]).score(0, "loop_loss"), 0.268725);
    assert_eq!(one(&[(LOSS, 0.0)]).score(0, "loop_loss"), 0.0);
}

#[test]
fn nothing_known_leaves_all_unscored() {
    let outcome = one(&[]);
    assert!(outcome.scores[0].iter().all(|it| it.is_nan()), "{:?}", outcome.scores);
    assert!(outcome.remarks.is_empty());
}

#[test]
fn infinite_quantity_counts_as_missing_not_as_inapplicable() {
    let outcome = one(&[(LOSS, f64::NEG_INFINITY), (LOOP, f64::INFINITY)]);
    assert!(outcome.scores[0].iter().all(|it| it.is_nan()), "{:?}", outcome.scores);
    assert!(outcome.remarks.is_empty());
}

#[test]
fn choices_are_tables() {
    for (id, criterion, word, points) in [
        ("wiring.joint", "joints", "soldered", 100.0),
        ("wiring.joint", "joints", "crimped tight", 80.0),
        ("wiring.joint", "joints", "mixed", 60.0),
        ("wiring.joint", "joints", "crimped loose", 20.0),
        (TERMINAL, "terminal", "binding post", 100.0),
        (TERMINAL, "terminal", "screw", 70.0),
        (TERMINAL, "terminal", "spring clip", 40.0),
        ("wiring.strain_relief", "strain_relief", "good", 100.0),
        ("wiring.strain_relief", "strain_relief", "poor", 40.0),
    ] {
        assert_eq!(one(&[choice(id, word)]).score(0, criterion), points, "{id} {word}");
    }
    assert_eq!(one(&[(MAGNET, 0.0)]).score(0, "ferromagnetic_posts"), 100.0);
    assert_eq!(one(&[(MAGNET, 1.0)]).score(0, "ferromagnetic_posts"), 80.0);
}

/// 3/4 in is 19.05 mm exactly; that dual plugs use it is common practice, no source.
#[test]
fn dual_plug_fits_within_half_a_millimetre() {
    let posts = choice(TERMINAL, "binding post");
    for (mm, points) in
        [(19.05, 100.0), (18.55, 100.0), (19.55, 100.0), (18.54, 50.0), (19.56, 50.0), (25.4, 50.0)]
    {
        let outcome = one(&[posts, (SPACING, mm / 1000.0)]);
        assert_eq!(outcome.score(0, "post_spacing"), points, "{mm} mm");
        assert_eq!(outcome.codes(0).is_empty(), points == 100.0, "{mm} mm");
    }
}

#[test]
fn spacing_is_for_binding_posts() {
    for word in ["screw", "spring clip"] {
        let terminal = choice(TERMINAL, word);
        assert_eq!(one(&[terminal]).score(0, "post_spacing"), NOT_APPLICABLE, "{word}");
        let apart = one(&[terminal, (SPACING, 0.03)]);
        assert_eq!(apart.score(0, "post_spacing"), NOT_APPLICABLE, "{word}");
        assert!(!apart.codes(0).contains(&"post_spacing_unusual"), "{word}");
    }
    assert!(one(&[choice(TERMINAL, "binding post")]).score(0, "post_spacing").is_nan());
    assert!(one(&[(SPACING, 0.01905)]).score(0, "post_spacing").is_nan());
}

#[test]
fn remarks_come_past_their_limits_with_numbers() {
    assert!(one(&[(LOSS, 0.3), (LOOP, 0.14)]).remarks.is_empty());
    // 3 m of AWG 18 of copper-clad aluminium, class 10A, into 4 ohm.
    let cca = choice("wiring.wire_material", "cca");
    let lossy = one(&[(LOSS, 0.4234133), (LOOP, 0.1998198), cca]);
    assert_eq!(lossy.codes(0), ["loss_high", "copper_clad_aluminium"]);
    assert_eq!(lossy.remarks[0].args, [0.4234133, 0.1998198]);
    assert!(lossy.remarks[0].text.contains("lose 0.42 dB at the lowest impedance (0.200 ohm"));
    assert_eq!(lossy.remarks[1].args, [0.1998198]);
    assert_eq!(one(&[cca]).codes(0), ["copper_clad_aluminium_not_sized"]);
    assert!(one(&[choice("wiring.wire_material", "tinned copper")]).remarks.is_empty());

    let apart = one(&[choice(TERMINAL, "binding post"), (SPACING, 0.0254)]);
    assert_eq!(apart.codes(0), ["post_spacing_unusual"]);
    assert!(apart.remarks[0].text.contains("are 25.40 mm apart; dual plugs need 19.05 mm"));

    assert_eq!(one(&[choice("wiring.joint", "crimped loose")]).codes(0), ["joints_loose"]);
    assert!(one(&[choice("wiring.joint", "mixed")]).remarks.is_empty());
    assert_eq!(one(&[choice(TERMINAL, "spring clip")]).codes(0), ["spring_clips"]);
    assert_eq!(one(&[(MAGNET, 1.0)]).codes(0), ["posts_ferromagnetic"]);
}
