//! Tests of the cabinet's judgement, through the functions that the worker calls.

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
fn a_choice_is_measured_by_its_place() {
    for (place, word) in (0_u8..).zip(["none", "lined panel", "damping sheet"]) {
        let outcome = one(&[choice("cabinet.wall_damping", word)]);
        assert_eq!(outcome.score(0, "wall_damping"), f64::from(place), "{word}");
    }
}

#[test]
fn midrange_chamber_applies_from_three_ways_on() {
    let id = "cabinet.mid_chamber";
    for (place, word) in (0_u8..).zip(["none", "partial", "sealed"]) {
        let outcome = one(&[("whole.ways", 3.0), choice(id, word)]);
        assert_eq!(outcome.score(0, "mid_chamber"), f64::from(place), "{word}");
        let outcome = one(&[("whole.ways", 2.0), choice(id, word)]);
        assert_eq!(outcome.score(0, "mid_chamber"), NOT_APPLICABLE, "{word}");
        assert!(outcome.remarks.is_empty());
    }
    assert_eq!(one(&[("whole.ways", 2.0)]).score(0, "mid_chamber"), NOT_APPLICABLE);
    assert!(one(&[("whole.ways", 3.0)]).score(0, "mid_chamber").is_nan());
    assert!(one(&[choice(id, "sealed")]).score(0, "mid_chamber").is_nan());
}

#[test]
fn air_speed_wants_a_port_and_both_flares() {
    let flares = [("cabinet.port_flare.in", 0.0), ("cabinet.port_flare.out", 0.012)];
    let speed = ("port.velocity_m_s", 18.25);
    let score = |row: &[(&str, f64)]| one(row).score(0, "port_velocity");
    let vented = choice("cabinet.box_type", "vented");
    assert_eq!(score(&[vented, speed, flares[0], flares[1]]), 18.25);
    assert!(score(&[vented, speed, flares[0]]).is_nan());
    assert!(score(&[vented, speed]).is_nan());
    assert!(score(&[vented, flares[0], flares[1]]).is_nan());
    for (word, expected) in [
        ("closed", Some(NOT_APPLICABLE)),
        ("passive radiator", Some(NOT_APPLICABLE)),
        ("line", None),
    ] {
        let found = score(&[choice("cabinet.box_type", word), flares[0], flares[1]]);
        assert!(expected.map_or(found.is_nan(), |it| found == it), "{word}: {found}");
    }
}

#[test]
fn leakage_q_of_the_sweep_goes_before_observed_signs() {
    let leak = |row: &[(&str, f64)]| one(row).score(0, "leak");
    let gasket = |word| choice("cabinet.gasket", word);
    let (found, tight) = (("cabinet.leak_found", 1.0), ("cabinet.leak_found", 0.0));
    assert_eq!(leak(&[("system.ql", 6.6), found, gasket("none")]), 6.6);
    assert_eq!(leak(&[("system.ql", 6.6)]), 6.6);
    for (word, param) in [
        ("none", "leak.ql_gasket_none"),
        ("foam", "leak.ql_gasket_foam"),
        ("caulk", "leak.ql_gasket_caulk"),
    ] {
        assert_eq!(leak(&[tight, gasket(word)]), testing::param::<Plugin>(param), "{word}");
        let leaky = testing::param::<Plugin>("leak.ql_leak_found");
        assert_eq!(leak(&[found, gasket(word)]), leaky, "{word}");
        assert!(leak(&[gasket(word)]).is_nan(), "a gasket alone shows nothing: {word}");
    }
    assert!(leak(&[tight]).is_nan());
    assert_eq!(leak(&[found]), testing::param::<Plugin>("leak.ql_leak_found"));
}

#[test]
fn remarks_come_past_their_limits_with_numbers() {
    let damping = |word| choice("cabinet.wall_damping", word);
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

    let open = one(&[("whole.ways", 3.0), choice("cabinet.mid_chamber", "none")]);
    assert_eq!(open.codes(0), ["midrange_open"]);
    assert!(open.remarks[0].text.contains("this 3-way"));

    assert_eq!(one(&[("cabinet.leak_found", 1.0)]).codes(0), ["leak_found"]);
    assert!(one(&[("cabinet.leak_found", 0.0)]).remarks.is_empty());
}

#[test]
fn port_and_leakage_are_remarked_on_past_their_limits() {
    assert!(one(&[("port.velocity_m_s", 25.0)]).remarks.is_empty());
    let fast = one(&[("port.velocity_m_s", 27.4)]);
    assert_eq!(fast.codes(0), ["port_fast"]);
    assert_eq!(fast.remarks[0].args, [27.4, 25.0]);
    assert!(fast.remarks[0].text.contains("reaches 27 m/s (peak, computed)"));
    let closed = one(&[("port.velocity_m_s", 27.4), choice("cabinet.box_type", "closed")]);
    assert!(closed.remarks.is_empty());

    assert!(one(&[("system.ql", 5.0)]).remarks.is_empty());
    let leaky = one(&[("system.ql", 3.82)]);
    assert_eq!(leaky.codes(0), ["ql_low"]);
    assert!(leaky.remarks[0].text.contains("leakage Q of 3.8, below 5.0"));
}

#[test]
fn a_limit_moves_with_its_parameter() {
    let manifest = testing::manifest::<Plugin>();
    let mut params = manifest.default_params();
    params[param::PORT_FAST] = 30.0;
    let outcome = testing::run::<Plugin>(&params, &[&[("port.velocity_m_s", 27.4)]]).unwrap();
    assert!(outcome.remarks.is_empty());
    assert!(testing::run::<Plugin>(&[], &[]).unwrap_err().contains("parameters, got 0"));
}
