//! Whether a measured value is above a limit.

use standing::conformity::{BadMeasurement, at_least};

use crate::answer::Answer;
use crate::fault::Fault;
use crate::shape::{Calculation, Keys, Shape, gives, needed};

pub(crate) static CONFORMITY: Calculation = Calculation {
    name: "conformity",
    title: "the probability that a measured quantity is at least a threshold",
    input: Keys::plain(&[
        needed("value", Shape::ANY, "", "the measured value"),
        needed("u", Shape::NON_NEGATIVE, "", "its standard uncertainty, in the same unit"),
        needed("threshold", Shape::ANY, "", "the threshold, in the same unit"),
    ]),
    output: &[gives("probability", "", "0 to 1; small ones keep their relative accuracy")],
    formula:
        "probability = ½·erfc(−(value − threshold)/(u·√2)); at u = 0 1 if value ≥ threshold, else 0
        above the threshold at 95 % from value = threshold + 1.645·u on",
    valid: "a normal distribution of what the value may be",
    source: "JCGM 106:2012, The role of measurement uncertainty in conformity assessment (from \
        memory)",
    example: r#"{"value": 42, "u": 1.5, "threshold": 40}"#,
    run: |input| {
        let (value, u) = (input.number("value")?, input.number("u")?);
        let probability = at_least(value, u, input.number("threshold")?).map_err(|why| {
            let field = match why {
                BadMeasurement::NotFinite { .. } => "value",
                BadMeasurement::Uncertainty { .. } => "u",
            };
            Fault::out_of_domain(field, why.to_string())
        })?;
        Ok(Answer::new().with("probability", probability))
    },
};
