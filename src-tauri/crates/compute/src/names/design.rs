//! Textbook values: pads and ladders.

use physics::ladder::{Family, LadderKind, MAX_ORDER, Side, l_pad, ladder};

use crate::answer::Answer;
use crate::shape::{Calculation, Keys, Shape, gives, needed};
use crate::value::Value;

pub(crate) static L_PAD: Calculation = Calculation {
    name: "l-pad",
    title: "a pad that attenuates without changing the load",
    input: Keys::plain(&[
        needed("r", Shape::POSITIVE, "ohm", "the load"),
        needed("attenuation_db", Shape::POSITIVE, "dB", "how much quieter"),
    ]),
    output: &[
        gives("series", "ohm", "resistor in the path"),
        gives("shunt", "ohm", "resistor across the load"),
    ],
    formula: "series = r·(1 − k); shunt = r·k/(1 − k); k = 10^(−attenuation_db/20)",
    valid: "a resistive load",
    source: "derived from the voltage divider that leaves the input resistance at r",
    example: r#"{"r": 8, "attenuation_db": 6}"#,
    run: |input| {
        let pad = l_pad(input.number("r")?, input.number("attenuation_db")?)?;
        Ok(Answer::new().with("series", pad.series_ohm).with("shunt", pad.shunt_ohm))
    },
};

static ELEMENT: Keys = Keys::plain(&[
    needed("kind", Shape::Word(&["L", "C"]), "", "inductor or capacitor"),
    needed("value", Shape::POSITIVE, "H or F", "its value"),
]);

#[expect(clippy::cast_possible_wrap, reason = "far below the limit")]
const ORDER_MAX: i64 = MAX_ORDER as i64;

pub(crate) static LADDER: Calculation = Calculation {
    name: "ladder",
    title: "element values of a textbook crossover filter into a resistor",
    input: Keys::plain(&[
        needed("family", Shape::Word(&["butterworth", "linkwitz-riley"]), "", "the response"),
        needed("order", Shape::Integer(1, ORDER_MAX), "", "even for linkwitz-riley"),
        needed("kind", Shape::Word(&["low", "high"]), "", "which frequencies pass"),
        needed("freq", Shape::POSITIVE, "Hz", "corner: half power, of linkwitz-riley half voltage"),
        needed("r", Shape::POSITIVE, "ohm", "the load"),
    ]),
    output: &[needed(
        "elements",
        Shape::List { of: &Shape::Object(&ELEMENT), min: 1, max: MAX_ORDER },
        "",
        "from the source: the first in series, the next to ground, and so on",
    )],
    formula: "prototype gᵢ by continued fraction of the response's polynomial, driven by a voltage
        low: L = g·r/ω in series, C = g/(r·ω) to ground
        high: C = 1/(g·r·ω) in series, L = r/(g·ω) to ground; ω = 2π·freq",
    valid: "an ideal resistor as load; with a real driver solve the network",
    source: "A. I. Zverev, Handbook of Filter Synthesis, 1967; S. Linkwitz, JAES 24(1) 2-8, 1976 \
        (both from memory)",
    example: r#"{"family": "linkwitz-riley", "order": 2, "kind": "high", "freq": 2500, "r": 8}"#,
    run: |input| {
        let family = match input.text("family")? {
            "butterworth" => Family::Butterworth,
            _ => Family::LinkwitzRiley,
        };
        let side = match input.text("kind")? {
            "low" => Side::Low,
            _ => Side::High,
        };
        let order = input.integer::<u32>("order")? as usize;
        let parts = ladder(family, order, side, input.number("freq")?, input.number("r")?)?;
        let elements = parts.iter().map(|part| {
            let kind = match part.kind {
                LadderKind::Inductor => "L",
                LadderKind::Capacitor => "C",
            };
            Value::Object(vec![
                ("kind".to_owned(), kind.into()),
                ("value".to_owned(), part.value.into()),
            ])
        });
        Ok(Answer::new().with("elements", Value::List(elements.collect())))
    },
};
