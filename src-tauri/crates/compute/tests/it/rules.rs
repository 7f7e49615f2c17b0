//! The rules about inputs, one test a rule.

use serde_json::{Value, json};

use crate::{answer, refused, w1, with};

fn group() -> Value {
    json!({"driver": w1(), "count": 2, "wiring": "series"})
}

fn sheet() -> Value {
    json!({"re": 5.6, "fs": 42, "qms": 4, "qes": 0.5, "vas": 0.02, "sd": 0.0133})
}

fn flags(answer: &Value) -> Vec<&str> {
    let list = answer.get("flags").map(|it| it.as_array().unwrap().as_slice()).unwrap_or_default();
    list.iter().map(|it| it.as_str().unwrap()).collect()
}

#[test]
fn a_wrong_type_and_an_unknown_word_are_out_of_domain() {
    refused("driver-group", &with(&group(), &json!({"wiring": "both"})), "out_of_domain", "wiring");
    refused("driver-group", &with(&group(), &json!({"wiring": 1})), "out_of_domain", "wiring");
    refused("driver-group", &with(&group(), &json!({"driver": [1]})), "out_of_domain", "driver");
    refused("driver", &with(&w1(), &json!({"re": "5.6"})), "out_of_domain", "re");
    refused("driver", &with(&w1(), &json!({"re": null})), "out_of_domain", "re");
}

#[test]
fn a_field_is_named_by_its_path() {
    let bad = json!({"driver": with(&w1(), &json!({"re": 0}))});
    refused("driver-group", &with(&group(), &bad), "out_of_domain", "driver.re");
    let extra = json!({"driver": with(&w1(), &json!({"color": 1}))});
    refused("driver-group", &with(&group(), &extra), "unknown_key", "driver.color");
    let short = json!({"driver": {"re": 5.6, "sd": 0.0133, "mms": 0.0142}});
    refused("driver-group", &with(&group(), &short), "missing", "driver.cms");
    let port = json!({"vb": 0.02, "count": 1, "radius": 0.025, "length": 0.1,
        "ends": ["free", "open"]});
    refused("port", &port, "out_of_domain", "ends[1]");
    let lining = json!({"sigma": 5000, "thickness": 0.05, "freqs": [100, 0]});
    refused("lining", &lining, "out_of_domain", "freqs[1]");
}

#[test]
fn air_needs_both_keys() {
    refused("driver", &with(&w1(), &json!({"air": {"rho": 1.2}})), "missing", "air.c");
    refused("driver", &with(&w1(), &json!({"air": {"c": 343}})), "missing", "air.rho");
    refused(
        "driver",
        &with(&w1(), &json!({"air": {"rho": 0, "c": 343}})),
        "out_of_domain",
        "air.rho",
    );
    let default = with(&w1(), &json!({"air": {"rho": 1.204, "c": 343.2}}));
    assert_eq!(answer("driver", &default), answer("driver", &w1()));
}

#[test]
fn a_driver_without_le_has_no_f_le() {
    assert!(answer("driver", &w1())["f_le"].is_null());
    let lossy = with(&w1(), &json!({"k": 0.02, "n": 0.67}));
    assert!(answer("driver", &lossy)["f_le"].is_null());
}

#[test]
fn two_sets_of_a_driver_and_two_coils_are_inconsistent() {
    refused("driver", &with(&w1(), &json!({"fs": 42})), "inconsistent", "fs");
    refused("driver", &with(&sheet(), &json!({"bl": 6})), "inconsistent", "fs");
    let coils = json!({"le": 0.0005, "k": 0.02, "n": 0.7});
    refused("driver", &with(&w1(), &coils), "inconsistent", "k");
    refused("driver", &with(&w1(), &json!({"le": 0.0005, "n": 0.7})), "inconsistent", "n");
}

#[test]
fn an_incomplete_driver_is_missing_something() {
    let mut short = sheet();
    short.as_object_mut().unwrap().remove("qes");
    refused("driver", &short, "missing", "qes");
    refused("driver", &json!({"re": 5.6, "sd": 0.0133}), "missing", "mms");
    refused("driver", &with(&w1(), &json!({"k": 0.02})), "missing", "n");
    let mut no_re = w1();
    no_re.as_object_mut().unwrap().remove("re");
    refused("driver", &no_re, "missing", "re");
}

#[test]
fn the_exponent_of_a_coil_lies_between_a_half_and_one() {
    for n in [0.49, 1.01, -1.0] {
        refused("driver", &with(&w1(), &json!({"k": 0.02, "n": n})), "out_of_domain", "n");
    }
    for n in [0.5, 1.0] {
        let _ = answer("driver", &with(&w1(), &json!({"k": 0.02, "n": n})));
    }
}

#[test]
fn a_count_is_a_whole_number_from_1() {
    for count in [json!(0), json!(-1), json!(1.5), json!("2"), json!(1e300)] {
        refused(
            "driver-group",
            &with(&group(), &json!({"count": count})),
            "out_of_domain",
            "count",
        );
    }
    let one = answer("driver-group", &with(&group(), &json!({"count": 1.0})));
    assert_eq!(one["re"], json!(5.6));
    let cavity = json!({"lx": 1, "ly": 1, "lz": 1, "count": 10_001});
    refused("cavity", &cavity, "out_of_domain", "count");
}

#[test]
fn a_series_resistance_needs_the_qs_apart() {
    let boxed = json!({"fs": 42, "qts": 0.4, "vas": 0.02, "vb": 0.01});
    refused("closed-box", &with(&boxed, &json!({"rg": 0.4})), "inconsistent", "rg");
    assert_eq!(
        answer("closed-box", &with(&boxed, &json!({"rg": 0}))),
        answer("closed-box", &boxed)
    );
    let apart = json!({"fs": 42, "qms": 4, "qes": 0.45, "re": 5.6, "vas": 0.02, "vb": 0.01});
    assert_eq!(
        answer("closed-box", &apart),
        answer("closed-box", &with(&apart, &json!({"rg": 0})))
    );
    refused("closed-box", &with(&apart, &json!({"qts": 0.4})), "inconsistent", "qms");
}

#[test]
fn a_vented_box_assumes_its_losses_aloud() {
    let boxed = json!({"fs": 42, "qts": 0.4, "vas": 0.02, "vb": 0.02, "fb": 42});
    let assumed = answer("vented-box", &boxed);
    assert_eq!(flags(&assumed), ["assumed: ql = 7"]);
    assert_eq!(assumed["gain_db"], json!([]));
    let given = answer("vented-box", &with(&boxed, &json!({"ql": 7})));
    assert!(given.get("flags").is_none());
    assert_eq!(given["f3"], assumed["f3"]);
}

#[test]
fn a_port_assumes_its_ends_aloud_and_is_plain_without_flares() {
    let port = json!({"vb": 0.024, "count": 1, "radius": 0.025, "length": 0.15});
    let assumed = answer("port", &port);
    assert_eq!(flags(&assumed), ["assumed: ends = flanged, free"]);
    let said = json!({"ends": ["flanged", "free"], "flares": [0, 0]});
    assert_eq!(answer("port", &with(&port, &said))["fb"], assumed["fb"]);
    let inverse = json!({"vb": 0.024, "count": 1, "radius": 0.025, "fb": 42, "flares": [0, 0]});
    refused("port-length", &inverse, "unknown_key", "flares");
}

#[test]
fn a_port_without_length_that_tunes_lower_is_out_of_domain() {
    let port = json!({"vb": 10, "count": 1, "radius": 0.02, "fb": 60});
    refused("port-length", &port, "out_of_domain", "length");
}

#[test]
fn a_long_port_is_flagged() {
    let port = json!({"vb": 0.001, "count": 1, "radius": 0.05, "length": 1.5,
        "ends": ["free", "free"]});
    assert!(flags(&answer("port", &port))[0].contains("does not act as a mass"));
}

#[test]
fn a_box_is_closed_without_fb_and_port_area_and_needs_both_or_neither() {
    let base = json!({"driver": w1(), "vb": 0.024, "freqs": [50]});
    let closed = answer("box-circuit", &base);
    assert!(closed["port_velocity_peak"].is_null());
    assert!(closed.get("flags").is_none());
    refused("box-circuit", &with(&base, &json!({"fb": 42})), "missing", "port_area");
    refused("box-circuit", &with(&base, &json!({"port_area": 0.002})), "missing", "fb");
    // A closed box is airtight unless a leak is given.
    let leaky = answer("box-circuit", &with(&base, &json!({"ql": 5})));
    assert_ne!(leaky["spl"], closed["spl"]);
    let tight = answer("box-circuit", &with(&base, &json!({"ql": 1e12})));
    let (a, b) = (crate::number(&tight, "spl/0"), crate::number(&closed, "spl/0"));
    assert!((a - b).abs() < 1e-6, "{a} {b}");
    let vented = json!({"fb": 42, "port_area": 0.002});
    let assumed = answer("box-circuit", &with(&base, &vented));
    assert_eq!(flags(&assumed), ["assumed: ql = 7"]);
    let given = answer("box-circuit", &with(&with(&base, &vented), &json!({"ql": 7})));
    assert_eq!(given["spl"], assumed["spl"]);
}

#[test]
fn box_circuit_defaults_are_2_83_volts_1_metre_and_no_series_resistance() {
    let base = json!({"driver": w1(), "vb": 0.024, "freqs": [50, 100]});
    let said = json!({"rg": 0, "volts": 2.83, "distance": 1});
    assert_eq!(answer("box-circuit", &base), answer("box-circuit", &with(&base, &said)));
    let double = answer("box-circuit", &with(&base, &json!({"distance": 2})));
    let drop =
        crate::number(&answer("box-circuit", &base), "spl/0") - crate::number(&double, "spl/0");
    assert!((drop - 20.0 * 2f64.log10()).abs() < 1e-9, "{drop}");
}

#[test]
fn poissons_ratio_is_below_a_half() {
    let panel = json!({"a": 0.3, "b": 0.2, "h": 0.012, "e": 3e9, "rho": 740, "nu": 0.0});
    let _ = answer("panel", &panel);
    for nu in [-0.01, 0.5] {
        refused("panel", &with(&panel, &json!({"nu": nu})), "out_of_domain", "nu");
    }
}

#[test]
fn a_result_beyond_the_numbers_is_named_by_a_key() {
    let wall = json!({"a": 1e100, "b": 1e100, "h": 1e-60, "e": 3e9, "rho": 740, "nu": 0.25});
    refused("panel", &wall, "out_of_domain", "f_hinged");
    refused("panel", &with(&wall, &json!({"h": 1e-120})), "out_of_domain", "d");
    let port = json!({"vb": 0.02, "count": 1, "radius": 1e200, "length": 0.1});
    refused("port", &port, "out_of_domain", "radius");
    let length = json!({"vb": 0.02, "count": 1, "radius": 0.02, "fb": 1e-200});
    refused("port-length", &length, "out_of_domain", "l_eff");
    let boxed = json!({"fs": 40, "qts": 1e-200, "vas": 0.02, "vb": 0.02, "fb": 40});
    refused("vented-box", &boxed, "out_of_domain", "a1");
}

#[test]
fn a_thick_wall_is_flagged() {
    let panel = json!({"a": 0.3, "b": 0.1, "h": 0.018, "e": 3e9, "rho": 740, "nu": 0.25});
    assert!(flags(&answer("panel", &panel))[0].starts_with("thick"));
    let braced = with(&panel, &json!({"b": 0.3, "braces": [0.1]}));
    assert!(answer("panel-braced", &braced).get("flags").is_none());
    let close = with(&panel, &json!({"b": 0.3, "a": 0.2, "braces": [0.1]}));
    assert!(flags(&answer("panel-braced", &close))[0].starts_with("thick"));
}

#[test]
fn a_brace_stands_inside_the_wall_and_once() {
    let wall = json!({"a": 0.9, "b": 0.25, "h": 0.015, "e": 3e9, "rho": 740, "nu": 0.25});
    for (braces, field) in [
        (json!([0.9]), "braces[0]"),
        (json!([0.3, 1.2, 0.6]), "braces[1]"),
        (json!([0.3, 0.6, 0.3]), "braces[2]"),
    ] {
        let input = with(&wall, &json!({"braces": braces}));
        refused("panel-braced", &input, "out_of_domain", field);
    }
    for braces in [json!([0.0]), json!([-0.1])] {
        let input = with(&wall, &json!({"braces": braces}));
        refused("panel-braced", &input, "out_of_domain", "braces[0]");
    }
}

#[test]
fn modes_that_tie_are_ordered_by_their_indices() {
    let cube = answer("cavity", &json!({"lx": 0.3, "ly": 0.3, "lz": 0.3, "count": 6}));
    let order: Vec<Vec<u64>> = cube["modes"]
        .as_array()
        .unwrap()
        .iter()
        .map(|it| ["i", "j", "k"].iter().map(|key| it[key].as_u64().unwrap()).collect())
        .collect();
    let wanted = [[0, 0, 1], [0, 1, 0], [1, 0, 0], [0, 1, 1], [1, 0, 1], [1, 1, 0]];
    assert_eq!(order, wanted);
}

#[test]
fn absorption_is_below_1_and_not_0_on_both_walls() {
    let q = |one: f64, two: f64| json!({"order": 1, "alpha_1": one, "alpha_2": two});
    refused("cavity-q", &q(1.0, 0.5), "out_of_domain", "alpha_1");
    refused("cavity-q", &q(0.5, -0.1), "out_of_domain", "alpha_2");
    refused("cavity-q", &q(0.0, 0.0), "out_of_domain", "alpha_1");
    let _ = answer("cavity-q", &q(0.0, 0.5));
}

#[test]
fn a_wire_has_a_gauge_or_an_area() {
    let wire = json!({"length": 1, "material": "copper"});
    refused("wire", &wire, "missing", "awg");
    refused("wire", &with(&wire, &json!({"awg": 18, "area": 1e-6})), "inconsistent", "area");
    for awg in [json!(-4), json!(57), json!(18.5)] {
        refused("wire", &with(&wire, &json!({"awg": awg})), "out_of_domain", "awg");
    }
    for awg in [-3, 0, 56] {
        let _ = answer("wire", &with(&wire, &json!({"awg": awg})));
    }
    let cold = json!({"awg": 18, "temperature_c": -273});
    refused("wire", &with(&wire, &cold), "out_of_domain", "temperature_c");
    let silver = json!({"awg": 18, "material": "silver"});
    refused("wire", &with(&wire, &silver), "out_of_domain", "material");
}

#[test]
fn lists_have_a_limit_that_names_the_field() {
    let freqs = vec![100.0; 100_001];
    let lining = json!({"sigma": 5000, "thickness": 0.05, "freqs": freqs});
    refused("lining", &lining, "out_of_domain", "freqs");
    refused("lining", &with(&lining, &json!({"freqs": []})), "out_of_domain", "freqs");
}

#[test]
fn results_beyond_numbers_name_the_result() {
    let input = json!({"woofer_sd": 1e300, "excursion": 1e300, "vb": 1, "mid_sd": 1, "mid_cms": 1});
    refused("chamber", &input, "out_of_domain", "pressure_peak");
    let tiny = with(&w1(), &json!({"mms": 1e-300, "cms": 1e-300}));
    let (code, _) = crate::refusal("driver", &tiny);
    assert_eq!(code, "out_of_domain");
}
