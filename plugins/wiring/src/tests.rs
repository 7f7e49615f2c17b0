//! Tests of the wiring's judgement, through the functions that the worker calls.

#![expect(clippy::float_cmp, reason = "measures are constants that pass through unchanged")]

use bw_sdk::abi::NOT_APPLICABLE;
use bw_sdk::testing::{self, Outcome};

use super::{Plugin, criterion, input, param, remark};

const LOSS: &str = "wiring.loop_loss_db";
const LOOP: &str = "wiring.loop_ohm";
const TERMINAL: &str = "wiring.terminal";
const SPACING: &str = "wiring.post_spacing";
const MAGNET: &str = "wiring.ferromagnetic.post";

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
fn a_choice_is_measured_by_its_place() {
    for (id, criterion, words) in [
        (
            "wiring.joint",
            "joints",
            &["soldered", "crimped tight", "crimped loose", "mixed"] as &[_],
        ),
        (TERMINAL, "terminal", &["binding post", "screw", "spring clip"]),
        ("wiring.strain_relief", "strain_relief", &["good", "poor"]),
    ] {
        for (place, word) in (0_u8..).zip(words) {
            assert_eq!(
                one(&[choice(id, word)]).score(0, criterion),
                f64::from(place),
                "{id} {word}"
            );
        }
    }
}

#[test]
fn a_magnet_draws_no_part_some_or_all() {
    let part = |part, is_drawn: u8| match part {
        0 => (MAGNET, f64::from(is_drawn)),
        1 => ("wiring.ferromagnetic.nut", f64::from(is_drawn)),
        2 => ("wiring.ferromagnetic.jumper", f64::from(is_drawn)),
        _ => ("wiring.ferromagnetic.lug", f64::from(is_drawn)),
    };
    let score = |row: &[(&str, f64)]| one(row).score(0, "ferromagnetic_posts");
    assert_eq!(score(&[part(0, 0)]), 0.0);
    assert_eq!(score(&[part(0, 0), part(1, 0), part(2, 0), part(3, 0)]), 0.0);
    // Posts alone are not all there is.
    assert_eq!(score(&[part(0, 1)]), 1.0);
    assert_eq!(score(&[part(0, 0), part(3, 1)]), 1.0);
    assert_eq!(score(&[part(0, 1), part(1, 1), part(2, 0)]), 1.0);
    assert_eq!(score(&[part(0, 1), part(1, 1)]), 2.0);
    assert!(score(&[part(1, 1), part(2, 1), part(3, 1)]).is_nan());
}

/// 3/4 in is 19.05 mm exactly; that dual plugs use it is common practice, no source.
#[test]
fn dual_plug_fits_within_half_a_millimetre() {
    let posts = choice(TERMINAL, "binding post");
    for (mm, fits) in
        [(19.05, 1.0), (18.55, 1.0), (19.55, 1.0), (18.54, 0.0), (19.56, 0.0), (25.4, 0.0)]
    {
        let outcome = one(&[posts, (SPACING, mm / 1000.0)]);
        assert_eq!(outcome.score(0, "post_spacing"), fits, "{mm} mm");
        assert_eq!(outcome.codes(0).is_empty(), fits == 1.0, "{mm} mm");
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
