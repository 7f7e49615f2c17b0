//! Port tuning, forward and inverse.

use serde_json::{Value, json};

use crate::{REL, all_near, answer, near, number, with};

fn base() -> Value {
    json!({"count": 1, "radius": 0.025})
}

#[test]
fn chk_3_8_plain_port() {
    let length = |more: &Value| {
        let input = with(&base(), &json!({"vb": 0.024, "fb": 42}));
        number(&answer("port-length", &with(&input, more)), "length") * 1e3
    };
    let cases = [
        (json!({}), 102.501625),
        (json!({"ends": ["flanged", "flanged"]}), 97.2941255),
        (json!({"ends": ["free", "free"]}), 107.709125),
        (json!({"count": 2}), 240.875751),
    ];
    for (more, want) in cases {
        let got = length(&more);
        assert!((got / want - 1.0).abs() < REL, "{more}: {got} is not {want}");
    }
    let forward = answer("port", &with(&base(), &json!({"vb": 0.024, "length": 0.150})));
    near(&forward, "fb", 36.2384126, REL);
    near(&forward, "f_pipe", 923.21, 1e-5);
    let volume = answer("port-volume", &with(&base(), &json!({"fb": 42, "length": 0.120})));
    near(&volume, "vb", 21.3057403e-3, REL);
}

#[test]
fn chk_3_9_flared_port() {
    let shape = json!({"length": 0.120, "flares": [0.0125, 0.0125]});
    let flared = answer("port", &with(&with(&base(), &shape), &json!({"vb": 0.024})));
    all_near(&flared, &[("l_eff", 164.858886e-3), ("fb", 38.4787145)]);
    // The inverse by volume takes the flares too.
    let back = answer("port-volume", &with(&with(&base(), &shape), &json!({"fb": 38.4787145})));
    all_near(&back, &[("vb", 0.024), ("l_eff", 164.858886e-3)]);
    // A fillet of half the radius counts 10.4719429 mm, and its free mouth 10.2216667 mm.
    let one = json!({"vb": 0.024, "length": 0.0, "ends": ["free", "free"], "flares": [0.0125, 0]});
    near(
        &answer("port", &with(&base(), &one)),
        "l_eff",
        10.4719429e-3 + 10.2216667e-3 + 0.6133 * 0.025,
        REL,
    );
}

#[test]
fn length_and_tuning_are_each_others_inverse() {
    let input = with(&base(), &json!({"vb": 0.018, "fb": 47.5, "ends": ["free", "flanged"]}));
    let length = answer("port-length", &input);
    let forward = json!({"vb": 0.018, "length": length["length"], "ends": ["free", "flanged"]});
    let tuning = answer("port", &with(&base(), &forward));
    near(&tuning, "fb", 47.5, 1e-12);
    near(&tuning, "l_eff", number(&length, "l_eff"), 1e-12);
}
