//! The crossover network, against ngspice and scikit-rf, and textbook values.

use serde_json::{Value, json};

use crate::{DB, OPTIMISED, REL, all_near, answer, near, number, refused, t1, w1, with, within};

fn part(name: &str, kind: &str, nodes: [&str; 2], value: f64) -> Value {
    json!({"name": name, "kind": kind, "nodes": nodes, "value": value})
}

fn loaded(name: &str, nodes: [&str; 2], ohm: f64) -> Value {
    json!({"name": name, "kind": "driver", "nodes": nodes, "load": ohm})
}

fn driven(name: &str, nodes: [&str; 2], driver: &Value) -> Value {
    json!({"name": name, "kind": "driver", "nodes": nodes, "driver": driver})
}

fn woofer() -> Value {
    with(&w1(), &json!({"le": 0.55e-3}))
}

/// A two-way network: second-order woofer, third-order tweeter with a pad.
fn c4() -> Vec<Value> {
    vec![
        with(&part("L1", "L", ["in", "w"], 1.2e-3), &json!({"dcr": 0.4})),
        with(&part("C1", "C", ["w", "0"], 10e-6), &json!({"esr": 0.05})),
        driven("woofer", ["w", "0"], &woofer()),
        with(&part("C2", "C", ["in", "a"], 5.6e-6), &json!({"esr": 0.03})),
        with(&part("L2", "L", ["a", "0"], 0.3e-3), &json!({"dcr": 0.35})),
        with(&part("C3", "C", ["a", "b"], 15e-6), &json!({"esr": 0.03})),
        part("R1", "R", ["b", "t"], 2.2),
        part("R2", "R", ["t", "0"], 10.0),
        driven("tweeter", ["t", "0"], &t1()),
    ]
}

/// ngspice and scikit-rf agree to nine digits; the corner is 1/(2πRC).
#[test]
fn chk_5_3_first_order() {
    let rows = [
        (500.0, -12.2612114, 75.8922, 32.8209055),
        (1989.43679, -3.01029996, 45.0, 11.3137085),
        (8000.0, -0.260597124, 13.96502, 8.24365567),
    ];
    let freqs: Vec<f64> = rows.iter().map(|it| it.0).collect();
    let elements = [part("C1", "C", ["in", "t"], 10e-6), loaded("tweeter", ["t", "0"], 8.0)];
    let it = answer("network", &json!({"elements": elements, "freqs": freqs}));
    for (at, (_, level, phase, z)) in rows.into_iter().enumerate() {
        within(&it, &format!("h_db/tweeter/{at}"), level, DB);
        near(&it, &format!("h_phase/tweeter/{at}"), phase, 1e-5);
        near(&it, &format!("z_mag/{at}"), z, REL);
    }
    // A single driver: nothing to cross, no rating asked for, no resonance known.
    for key in ["crossover_hz", "crossover_db", "rated_pass", "tweeter_margin_octaves"] {
        assert!(it[key].is_null(), "{key}: {}", it[key]);
    }
    assert!(it["tweeter_attenuation_at_fs_db"].is_null());
    assert_eq!(it["orders"]["tweeter"], json!(1));
    assert_eq!(it["highest_rating_passed"], json!(8.0));
    assert!(it["flags"].as_array().unwrap().contains(&json!("ideal part: C1")));
}

#[test]
fn chk_5_4_second_order_with_a_pad() {
    let pad = answer("l-pad", &json!({"r": 8, "attenuation_db": 6}));
    let filter = answer(
        "ladder",
        &json!({"family": "linkwitz-riley", "order": 2, "kind": "high", "freq": 2500, "r": 8}),
    );
    near(&filter, "elements/0/value", 3.97887358e-6, REL);
    near(&filter, "elements/1/value", 1.01859164e-3, REL);
    let elements = [
        part("C1", "C", ["in", "a"], number(&filter, "elements/0/value")),
        part("L1", "L", ["a", "0"], number(&filter, "elements/1/value")),
        part("Rs", "R", ["a", "t"], number(&pad, "series")),
        part("Rp", "R", ["t", "0"], number(&pad, "shunt")),
        loaded("tweeter", ["t", "0"], 8.0),
    ];
    let it = answer("network", &json!({"elements": elements, "freqs": [250, 2500, 20000]}));
    let rows = [
        (-46.0864275, 168.5788, 158.461837),
        (-12.0205999, 90.0, 14.3108351),
        (-6.13466765, 14.25003, 8.1091772),
    ];
    for (at, (level, phase, z)) in rows.into_iter().enumerate() {
        within(&it, &format!("h_db/tweeter/{at}"), level, DB);
        near(&it, &format!("h_phase/tweeter/{at}"), phase, 1e-6);
        near(&it, &format!("z_mag/{at}"), z, REL);
    }
}

#[test]
fn chk_5_5_third_order_into_a_real_tweeter() {
    let elements = [
        part("C1", "C", ["in", "a"], 4.42097064e-6),
        with(&part("L1", "L", ["a", "0"], 0.318309886e-3), &json!({"dcr": 0.35})),
        part("C2", "C", ["a", "t"], 13.2629119e-6),
        driven("tweeter", ["t", "0"], &t1()),
    ];
    let freqs = [300.0, 901.037435, 3000.0, 12000.0];
    let it = answer("network", &json!({"elements": elements, "freqs": freqs}));
    let rows = [
        (-61.1507024, 119.396108),
        (-27.6119548, 38.1390831),
        (-5.35756615, 10.1075941),
        (2.51187515, 4.26247224),
    ];
    for (at, (level, z)) in rows.into_iter().enumerate() {
        within(&it, &format!("h_db/tweeter/{at}"), level, DB);
        near(&it, &format!("z_mag/{at}"), z, REL);
    }
    near(&it, "h_phase/tweeter/2", 122.0081, REL);
    near(&it, "h_phase/tweeter/3", 42.85701, REL);
}

#[test]
fn chk_5_6_two_way() {
    let rows = [
        (20.0, -0.389570812, -115.714461, 9.14510068, 40.76783),
        (42.6641327, -0.0630613472, -102.370406, 48.7559642, -11.10817),
        (200.0, -0.159107826, -72.1467095, 5.8637906, -5.661764),
        (1000.0, -3.77667595, -29.1454989, 14.7084406, 24.21337),
        (2000.0, -1.75251101, -13.7573492, 11.2533572, -33.02639),
        (3000.0, -5.34102529, -7.79404078, 9.62103298, -20.48038),
        (5000.0, -18.9868202, -5.78359534, 7.34031696, -23.77821),
        (20000.0, -45.3890301, -2.29043342, 5.98306895, 13.53676),
    ];
    let freqs: Vec<f64> = rows.iter().map(|it| it.0).collect();
    let base = json!({"elements": c4(), "freqs": freqs, "rated_z": 8});
    let it = answer("network", &base);
    for (at, (_, low, high, z, phase)) in rows.into_iter().enumerate() {
        within(&it, &format!("h_db/woofer/{at}"), low, DB);
        within(&it, &format!("h_db/tweeter/{at}"), high, DB);
        near(&it, &format!("z_mag/{at}"), z, REL);
        near(&it, &format!("z_phase/{at}"), phase, REL);
    }
    near(&it, "z_min", 5.4681415, REL);
    near(&it, "f_z_min", 12142.73, OPTIMISED);
    assert_eq!(it["rated_pass"], json!(false));
    assert_eq!(it["highest_rating_passed"], json!(6.0));
    near(&it, "crossover_hz", 3214.84945, OPTIMISED);
    within(&it, "crossover_db", -7.419, 1e-3);
    assert_eq!(it["orders"], json!({"woofer": 2, "tweeter": 3}));
    let points = |pointer: &str, wanted: &[f64]| {
        assert_eq!(it.pointer(pointer).unwrap().as_array().unwrap().len(), wanted.len());
        for (at, want) in wanted.iter().enumerate() {
            near(&it, &format!("{}/{at}", &pointer[1..]), *want, OPTIMISED);
        }
    };
    points("/crossings/woofer/3dB", &[768.138, 1644.1417, 2776.9389]);
    points("/crossings/woofer/6dB", &[3085.2326]);
    points("/crossings/tweeter/3dB", &[4084.0374]);
    points("/crossings/tweeter/6dB", &[2499.9022]);
    within(&it, "tweeter_attenuation_at_fs_db", -27.39066, 1e-4);

    let levels = json!({"woofer": 88.8381633, "tweeter": 90.2744531});
    let offset = answer("network", &with(&base, &json!({"sensitivity_db": levels})));
    near(&offset, "crossover_hz", 3086.49371, OPTIMISED);
    near(&offset, "tweeter_margin_octaves", 1.776310, OPTIMISED);
    let six = answer("network", &with(&base, &json!({"rated_z": 6})));
    assert_eq!(six["rated_pass"], json!(true));
}

#[test]
fn chk_5_7_hardest_load() {
    let it = answer("network", &json!({"elements": c4(), "freqs": [93.3182]}));
    near(&it, "r_pd_min", 3.1498900, REL);
    near(&it, "f_r_pd_min", 93.3182, OPTIMISED);
    near(&it, "z_mag/0", 7.707597, 1e-5);
    near(&it, "z_phase/0", -37.07595, 1e-5);
}

/// Zverev's normalised values (from memory), from the source, and Linkwitz-Riley.
#[test]
fn chk_5_2_pads_and_ladders() {
    for (db, series, shunt) in
        [(3, 2.33643372, 19.3921744), (6, 3.99050213, 8.0380819), (10, 5.47017787, 3.69980236)]
    {
        let pad = answer("l-pad", &json!({"r": 8, "attenuation_db": db}));
        all_near(&pad, &[("series", series), ("shunt", shunt)]);
    }
    let hertz = 1.0 / std::f64::consts::TAU;
    let rows: [(&str, usize, &[f64]); 5] = [
        ("butterworth", 1, &[1.0]),
        ("butterworth", 3, &[1.5, 1.333333, 0.5]),
        ("butterworth", 4, &[1.530734, 1.577161, 1.082392, 0.382683]),
        ("linkwitz-riley", 2, &[2.0, 0.5]),
        ("linkwitz-riley", 4, &[1.885618, 1.590990, 0.942809, 0.353553]),
    ];
    for (family, order, wanted) in rows {
        let input = |kind: &str| json!({"family": family, "order": order, "kind": kind, "freq": hertz, "r": 1});
        let (low, high) = (answer("ladder", &input("low")), answer("ladder", &input("high")));
        assert_eq!(low["elements"].as_array().unwrap().len(), wanted.len());
        for (at, want) in wanted.iter().enumerate() {
            near(&low, &format!("elements/{at}/value"), *want, 2e-6);
            near(&high, &format!("elements/{at}/value"), 1.0 / want, 2e-6);
            let kinds = if at % 2 == 0 { ("L", "C") } else { ("C", "L") };
            assert_eq!(low["elements"][at]["kind"], kinds.0);
            assert_eq!(high["elements"][at]["kind"], kinds.1);
        }
    }
    let odd = json!({"family": "linkwitz-riley", "order": 3, "kind": "low", "freq": 1, "r": 1});
    refused("ladder", &odd, "out_of_domain", "order");
}

#[test]
fn a_three_way_lists_its_pairs_and_both_orders_of_the_mid() {
    let elements = [
        part("L1", "L", ["in", "w"], 3e-3),
        loaded("woofer", ["w", "0"], 8.0),
        part("C2", "C", ["in", "a"], 40e-6),
        part("L2", "L", ["a", "m"], 0.4e-3),
        loaded("mid", ["m", "0"], 8.0),
        part("C3", "C", ["in", "t"], 5e-6),
        loaded("tweeter", ["t", "0"], 8.0),
    ];
    let input = json!({"elements": elements, "freqs": [1000], "tweeter_fs": 1000});
    let it = answer("network", &input);
    assert_eq!(it["orders"], json!({"woofer": 1, "mid": [1, 1], "tweeter": 1}));
    let points: Vec<f64> =
        it["crossover_hz"].as_array().unwrap().iter().map(|it| it.as_f64().unwrap()).collect();
    assert_eq!(it["crossover_db"].as_array().unwrap().len(), points.len());
    assert!(points.len() == 2 && points[0] < points[1], "{points:?}");
    within(&it, "tweeter_margin_octaves", (points[1] / 1000.0).log2(), 1e-9);
    // The mid has no passband unless one is given, and then no crossings.
    assert!(it["crossings"]["mid"].is_null());
    let given = answer("network", &with(&input, &json!({"passband": {"mid": 1200}})));
    assert!(!given["crossings"]["mid"]["3dB"].as_array().unwrap().is_empty());
}

#[test]
fn a_driver_without_any_voltage_has_null() {
    // A balanced bridge leaves nothing across its middle.
    let arm = |name: &str, nodes: [&str; 2]| part(name, "R", nodes, 8.0);
    let elements = [
        arm("R1", ["in", "a"]),
        arm("R2", ["a", "0"]),
        arm("R3", ["in", "b"]),
        arm("R4", ["b", "0"]),
        loaded("mid", ["a", "b"], 8.0),
    ];
    let it = answer("network", &json!({"elements": elements, "freqs": [100]}));
    assert_eq!(it["h_db"]["mid"], json!([null]));
    assert_eq!(it["h_phase"]["mid"], json!([null]));
}

#[test]
fn a_midrange_alone_has_no_crossover() {
    let alone = json!({"elements": [loaded("mid", ["in", "0"], 8.0)], "freqs": [100]});
    let it = answer("network", &alone);
    assert_eq!(it["crossover_hz"], Value::Null);
    assert_eq!(it["crossover_db"], Value::Null);
    assert_eq!(it["crossings"]["mid"], Value::Null);
}

#[test]
fn a_name_with_a_point_is_told_from_the_name_that_begins_it() {
    let elements = [
        part("R.x", "R", ["in", "a"], 1.0),
        part("R.x", "R", ["a", "0"], 1.0),
        part("R", "R", ["a", "0"], 1.0),
    ];
    let twice = json!({"elements": elements, "freqs": [100]});
    refused("network", &twice, "inconsistent", "elements[1]");
}

#[test]
fn a_parts_list_that_cannot_be_solved_names_its_element() {
    let freqs = json!([100]);
    let case = |elements: &[Value]| json!({"elements": elements, "freqs": freqs});
    let good = [part("R1", "R", ["in", "a"], 1.0), loaded("woofer", ["a", "0"], 8.0)];
    let _ = answer("network", &case(&good));
    let floating = [good[0].clone(), good[1].clone(), part("C9", "C", ["a", "x"], 1e-6)];
    refused("network", &case(&floating), "inconsistent", "elements[2]");
    let twice = [good[0].clone(), good[1].clone(), part("R1", "R", ["a", "0"], 1.0)];
    refused("network", &case(&twice), "inconsistent", "elements[2]");
    let no_in = [part("R1", "R", ["a", "0"], 1.0), loaded("woofer", ["a", "0"], 8.0)];
    refused("network", &case(&no_in), "inconsistent", "elements");
    let negative = [good[0].clone(), good[1].clone(), part("C1", "C", ["a", "0"], -1e-6)];
    refused("network", &case(&negative), "out_of_domain", "elements[2].value");
    let esr = [with(&part("C1", "C", ["in", "a"], 1e-6), &json!({"esr": -1})), good[1].clone()];
    refused("network", &case(&esr), "out_of_domain", "elements[0].esr");
    let dcr = [with(&part("C1", "C", ["in", "a"], 1e-6), &json!({"dcr": 1})), good[1].clone()];
    refused("network", &case(&dcr), "unknown_key", "elements[0].dcr");
    let kind = [part("X1", "X", ["in", "a"], 1.0), good[1].clone()];
    refused("network", &case(&kind), "out_of_domain", "elements[0].kind");
    let both = with(&good[1], &json!({"driver": w1()}));
    refused("network", &case(&[good[0].clone(), both]), "inconsistent", "elements[1].load");
    let neither = json!({"name": "woofer", "kind": "driver", "nodes": ["a", "0"]});
    refused("network", &case(&[good[0].clone(), neither]), "missing", "elements[1].driver");
    let bad = driven("woofer", ["a", "0"], &with(&w1(), &json!({"bl": -1})));
    refused("network", &case(&[good[0].clone(), bad]), "out_of_domain", "elements[1].driver.bl");
    let stranger = with(&case(&good), &json!({"passband": {"horn": 100}}));
    refused("network", &stranger, "inconsistent", "passband.horn");
}

#[test]
fn work_is_bounded() {
    let mut elements = vec![loaded("woofer", ["n0", "0"], 8.0), part("R0", "R", ["in", "n0"], 1.0)];
    for at in 1..199 {
        elements.push(part(&format!("R{at}"), "R", ["n0", "0"], 1.0));
    }
    let freqs: Vec<f64> = (1..=1000).map(f64::from).collect();
    refused("network", &json!({"elements": elements, "freqs": freqs}), "out_of_domain", "freqs");
    elements.push(part("R999", "R", ["n0", "0"], 1.0));
    let _ = answer("network", &json!({"elements": elements[..200], "freqs": [100]}));
    refused("network", &json!({"elements": elements, "freqs": [1]}), "out_of_domain", "elements");
}
