//! The parts list of a two-way crossover of second order, with usual values.

use domain::{
    dictionary::element,
    network::{Element, ElementKind},
    part::{Part, Role},
    reading,
};

use crate::{Dice, unreachable};

/// A traced network: coil and capacitor before the woofer, capacitor, coil and pad before the tweeter.
pub(crate) fn traced(quality: f64, dice: &mut Dice) -> Vec<Element> {
    let foil = dice.graded(quality, &["electrolytic", "polyester", "polypropylene"]);
    let core = dice.graded(quality, &["iron", "ferrite", "laminated", "air"]);
    vec![
        made(
            ElementKind::Inductor,
            "L1",
            ["in", "w"],
            dice.one(&["0.82 mH", "1.0 mH", "1.2 mH"]),
            "0.25 ohm",
            core,
        ),
        made(
            ElementKind::Capacitor,
            "C1",
            ["w", "0"],
            dice.one(&["6.8 µF", "8.2 µF", "10 µF"]),
            "0.05 ohm",
            "electrolytic",
        ),
        driver("W", "w", Role::Woofer),
        made(
            ElementKind::Capacitor,
            "C2",
            ["in", "t1"],
            dice.one(&["4.7 µF", "5.6 µF", "6.8 µF"]),
            "0.04 ohm",
            foil,
        ),
        made(
            ElementKind::Inductor,
            "L2",
            ["t1", "0"],
            dice.one(&["0.27 mH", "0.33 mH", "0.39 mH"]),
            "0.12 ohm",
            "air",
        ),
        made(
            ElementKind::Resistor,
            "R1",
            ["t1", "t2"],
            dice.one(&["1.5 ohm", "2.2 ohm", "3.3 ohm"]),
            "",
            "cement",
        ),
        driver("T", "t2", Role::Tweeter),
    ]
}

fn made(
    kind: ElementKind,
    name: &str,
    nodes: [&str; 2],
    value: &str,
    loss: &str,
    construction: &str,
) -> Element {
    let si = |key: &str, text: &str| {
        let dimension = match element::find(kind, key).map(|it| it.kind) {
            Some(domain::dictionary::Kind::Number(dimension, _)) => dimension,
            _ => unreachable(&format!("{key} of {name} is no number")),
        };
        reading::parse(text, dimension).unwrap_or_else(|why| unreachable(&why)).si
    };
    Element {
        name: name.into(),
        kind,
        from: nodes[0].into(),
        to: nodes[1].into(),
        typed: value.into(),
        value_si: Some(si("value", value)),
        loss_typed: loss.into(),
        loss_ohm: (!loss.is_empty()).then(|| si("loss", loss)),
        tolerance: Some(if kind == ElementKind::Resistor { 0.05 } else { 0.1 }),
        construction: construction.into(),
        rating_typed: String::new(),
        rating_si: None,
        part: None,
        note: String::new(),
    }
}

fn driver(name: &str, node: &str, role: Role) -> Element {
    Element {
        name: name.into(),
        kind: ElementKind::Driver,
        from: node.into(),
        to: "0".into(),
        typed: String::new(),
        value_si: None,
        loss_typed: String::new(),
        loss_ohm: None,
        tolerance: None,
        construction: String::new(),
        rating_typed: String::new(),
        rating_si: None,
        part: Some(Part::first(role)),
        note: String::new(),
    }
}
