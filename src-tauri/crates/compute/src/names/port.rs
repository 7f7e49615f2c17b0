//! The port: its tuning, its length, the volume it suits.

use physics::port::{Port, PortEnd};

use crate::answer::Answer;
use crate::fault::Fault;
use crate::fields::{AIR, ENDS, air};
use crate::input::Input;
use crate::shape::{Calculation, Default, Field, Keys, Need, Shape, gives, needed};

const SOURCE: &str = "H. Levine and J. Schwinger, Phys. Rev. 73(4) 383-406, 1948 (free end); \
A. N. Norris and I. C. Sheng, JSV 135, 1989 (flanged end, from memory); L. Kinsler and A. Frey, \
Fundamentals of Acoustics (resonator, from memory)";
const VALID: &str = "l_eff short against a quarter wavelength of fb (below c/(8·fb)); coupling of \
several ports is ignored; a measured fb always wins";
const LONG: &str = "l_eff is not below c/(8 fb): the port does not act as a mass alone";

const COUNT: Field = needed("count", Shape::Integer(1, 1000), "", "how many equal ports");
const RADIUS: Field = needed("radius", Shape::POSITIVE, "m", "radius of the straight part");
const LENGTH: Field = needed("length", Shape::NON_NEGATIVE, "m", "length of the straight part");
const VB: Field = needed("vb", Shape::POSITIVE, "m³", "net volume of the box");
const FB: Field = needed("fb", Shape::POSITIVE, "Hz", "tuning of the box");
const FLARES: Field = Field {
    key: "flares",
    shape: Shape::List { of: &Shape::NON_NEGATIVE, min: 2, max: 2 },
    unit: "m",
    need: Need::Default(Default::Numbers(&[0.0, 0.0])),
    doc: "radius of the rounding at each end, in the order of ends",
};

pub(crate) static PORT: Calculation = Calculation {
    name: "port",
    title: "tuning of a box by a port of known shape",
    input: Keys::plain(&[VB, COUNT, RADIUS, LENGTH, ENDS, FLARES, AIR]),
    output: &[
        gives("fb", "Hz", "tuning of the box"),
        gives("l_eff", "m", "effective length with flares and end corrections"),
        gives("f_pipe", "Hz", "first resonance of the pipe itself"),
    ],
    formula: "fb = c/(2π)·√(N·π·radius²/(vb·l_eff)); f_pipe = c/(2·l_eff)
        l_eff = length + for each end its flare and k·radius²/(radius + R), R the flare's radius
        k = 0.8216 flanged, 0.6133 free; a flare counts ∫(radius/r(x))² dx over its depth R
        r(x) = radius + R − √(R² − x²)",
    valid: VALID,
    source: SOURCE,
    example: r#"{"vb": 0.024, "count": 1, "radius": 0.025, "length": 0.12,
        "ends": ["flanged", "free"], "flares": [0.0125, 0.0125]}"#,
    run: |input| {
        let air = air(input)?;
        let port = port(input)?;
        let tuning = port.tuning(input.number("vb")?, input.number("length")?, &air)?;
        let answer = Answer::new()
            .with("fb", tuning.fb_hz)
            .with("l_eff", tuning.l_eff_m)
            .with("f_pipe", tuning.f_pipe_hz)
            .flag_if(!tuning.acts_as_mass, LONG);
        Ok(assumed(answer, input))
    },
};

pub(crate) static PORT_LENGTH: Calculation = Calculation {
    name: "port-length",
    title: "the length of a plain port for a tuning",
    input: Keys::plain(&[VB, COUNT, RADIUS, FB, ENDS, AIR]),
    output: &[
        gives("length", "m", "length of the straight tube"),
        gives("l_eff", "m", "effective length with end corrections"),
    ],
    formula: "l_eff = N·π·radius²·c²/((2π·fb)²·vb); length = l_eff − the corrections of both ends
        0.8216·radius flanged, 0.6133·radius free",
    valid: VALID,
    source: SOURCE,
    example: r#"{"vb": 0.024, "count": 1, "radius": 0.025, "fb": 42, "ends": ["flanged", "free"]}"#,
    run: |input| {
        let air = air(input)?;
        let port = port(input)?;
        let (vb, fb) = (input.number("vb")?, input.number("fb")?);
        let length = port.length_for_m(vb, fb, &air)?;
        let tuning = port.tuning(vb, length, &air)?;
        let answer = Answer::new()
            .with("length", length)
            .with("l_eff", tuning.l_eff_m)
            .flag_if(!tuning.acts_as_mass, LONG);
        Ok(assumed(answer, input))
    },
};

pub(crate) static PORT_VOLUME: Calculation = Calculation {
    name: "port-volume",
    title: "the box volume that a port tunes to a frequency",
    input: Keys::plain(&[FB, COUNT, RADIUS, LENGTH, ENDS, FLARES, AIR]),
    output: &[
        gives("vb", "m³", "net volume of the box"),
        gives("l_eff", "m", "effective length with flares and end corrections"),
    ],
    formula: "vb = N·π·radius²·c²/((2π·fb)²·l_eff); l_eff as in the calculation port",
    valid: VALID,
    source: SOURCE,
    example: r#"{"fb": 42, "count": 1, "radius": 0.025, "length": 0.12}"#,
    run: |input| {
        let air = air(input)?;
        let port = port(input)?;
        let (fb, length) = (input.number("fb")?, input.number("length")?);
        let vb = port.volume_for_m3(fb, length, &air)?;
        let tuning = port.tuning(vb, length, &air)?;
        let answer = Answer::new()
            .with("vb", vb)
            .with("l_eff", tuning.l_eff_m)
            .flag_if(!tuning.acts_as_mass, LONG);
        Ok(assumed(answer, input))
    },
};

fn port(input: &Input) -> Result<Port, Fault> {
    let ends = input.words("ends")?;
    let end = |at: usize| match ends.get(at) {
        Some(&"flanged") => PortEnd::Flanged,
        _ => PortEnd::Free,
    };
    // `port-length` has no flares.
    let flares = input.numbers("flares")?;
    let flare = |at: usize| flares.get(at).copied().unwrap_or(0.0);
    Ok(Port {
        count: input.integer("count")?,
        radius_m: input.number("radius")?,
        ends: [end(0), end(1)],
        flares_m: [flare(0), flare(1)],
    })
}

fn assumed(answer: Answer, input: &Input) -> Answer {
    answer.flag_if(!input.has("ends"), "assumed: ends = flanged, free")
}
