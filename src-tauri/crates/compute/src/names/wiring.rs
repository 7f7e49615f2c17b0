//! Wire: what a length of it costs.

use physics::wire::{
    AWG_MAX, AWG_MIN, Conductor, awg_area_m2, diameter_m, insertion_loss_db, loop_resistance_ohm,
    resistance_per_m,
};

use crate::answer::Answer;
use crate::shape::{
    Calculation, Choice, Keys, Shape, defaulted, gives, may_give, needed, optional,
};

pub(crate) static WIRE: Calculation = Calculation {
    name: "wire",
    title: "resistance of a run of wire, and the level it costs",
    input: Keys {
        fields: &[
            optional(
                "awg",
                Shape::Integer(AWG_MIN as i64, AWG_MAX as i64),
                "",
                "American wire gauge; 0, -1, -2, -3 for 1/0 to 4/0",
            ),
            optional("area", Shape::POSITIVE, "m²", "cross-section"),
            needed("length", Shape::NON_NEGATIVE, "m", "length one way"),
            needed(
                "material",
                Shape::Word(&["copper", "cca-10a", "cca-15a", "aluminium"]),
                "",
                "the conductor",
            ),
            defaulted("temperature_c", Shape::ANY, "°C", 20.0, "temperature of the wire"),
            optional("load", Shape::POSITIVE, "ohm", "impedance behind the wire, for loss_db"),
        ],
        choices: &[Choice { required: true, sets: &[&["awg"], &["area"]] }],
    },
    output: &[
        gives("diameter", "m", "diameter of the round wire with that cross-section"),
        gives("area", "m²", "cross-section"),
        gives("r_per_m", "ohm/m", "resistance of one conductor"),
        gives("r_loop", "ohm", "resistance there and back"),
        may_give("loss_db", "dB", "level lost before load; null without load"),
    ],
    formula: "diameter = 0.127 mm·92^((36 − awg)/39); area = π·diameter²/4
        r_per_m = ρ/area·(1 + 0.00393·(temperature_c − 20)); r_loop = 2·length·r_per_m
        loss_db = 20·log10((load + r_loop)/load)
        ρ = 0.017241 ohm·mm²/m for copper; that over 0.629 (cca-10a), 0.644 (cca-15a), 0.61
        (aluminium)",
    valid: "direct current and low audio frequencies; lay and skin effect are left out",
    source: "ASTM B258 and NBS Handbook 100, 1966 (gauge); IEC 60028 (copper, from memory); ASTM \
        B566 (clad aluminium)",
    example: r#"{"awg": 18, "length": 3, "material": "copper", "load": 4}"#,
    run: |input| {
        let area = match input.number_if_given("area") {
            Some(area) => area,
            None => awg_area_m2(input.integer("awg")?)?,
        };
        let conductor = match input.text("material")? {
            "copper" => Conductor::Copper,
            "cca-10a" => Conductor::Cca10a,
            "cca-15a" => Conductor::Cca15a,
            _ => Conductor::Aluminium,
        };
        let per_m = resistance_per_m(area, conductor, input.number("temperature_c")?)?;
        let r_loop = loop_resistance_ohm(input.number("length")?, per_m)?;
        let loss = match input.number_if_given("load") {
            Some(load) => Some(insertion_loss_db(r_loop, load)?),
            None => None,
        };
        Ok(Answer::new()
            .with("diameter", diameter_m(area)?)
            .with("area", area)
            .with("r_per_m", per_m)
            .with("r_loop", r_loop)
            .with("loss_db", loss))
    },
};
