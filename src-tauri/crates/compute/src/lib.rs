//! Every calculation of the bench, callable alone: a name and one JSON object in, one JSON object
//! out.
//!
//! A reader of a review can redo any figure with this, without a catalogue. All values are SI (m,
//! kg, s, Pa, ohm, H, F, T·m, m/N, kg/s, m³, K), levels dB, angles degrees, percentages fractions.
//! One table describes each calculation; the check of its input, its JSON Schema and its explanation
//! all follow from it. The formulas themselves are in `physics`.

#![forbid(unsafe_code)]

mod answer;
mod check;
mod explain;
mod fault;
mod fields;
mod input;
mod names;
mod schema;
mod scores;
mod shape;
mod value;

pub use fault::{Code, Fault};
pub use value::INPUT_MAX;

use input::Input;
use names::ALL;
use shape::Calculation;
use value::Value;

/// A calculation in a list.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Entry {
    /// Its name, as [`run`] takes it.
    pub name: &'static str,
    /// What it computes, in a few words.
    pub title: &'static str,
    /// A valid input, as JSON.
    pub example: &'static str,
}

/// All calculations, in the order in which they are documented.
#[must_use]
pub fn list() -> Vec<Entry> {
    ALL.iter().map(|it| Entry { name: it.name, title: it.title, example: it.example }).collect()
}

/// Computes: reads one JSON object and gives one JSON object on one line.
///
/// # Errors
/// A [`Fault`] that names the value at fault.
///
/// ```
/// let answer = compute::run("cavity-q", br#"{"order": 1, "alpha_1": 0.5, "alpha_2": 0.02}"#)?;
/// assert!(answer.starts_with(r#"{"q":8.8079"#));
/// # Ok::<(), compute::Fault>(())
/// ```
pub fn run(name: &str, input: &[u8]) -> Result<String, Fault> {
    let calculation = find(name)?;
    let value = Value::object_from(input)?;
    let Value::Object(entries) = &value else {
        return Err(Fault::new(Code::BadJson, "", "the input is no object"));
    };
    check::object(entries, &calculation.input, "")?;
    let answer = (calculation.run)(&Input::new(entries, &calculation.input))?;
    Ok(answer.into_object(calculation.output)?.to_line())
}

/// Whether there is a calculation of this name.
///
/// # Errors
/// `unknown_name`.
pub fn known(name: &str) -> Result<(), Fault> {
    find(name).map(drop)
}

/// The JSON Schema (draft 2020-12) of a calculation: an object whose `input` and `output` are
/// schemas that stand alone.
///
/// # Errors
/// `unknown_name`.
pub fn schema(name: &str) -> Result<String, Fault> {
    find(name).map(|it| schema::of(it).to_lines())
}

/// Formula, units, valid range and source of a calculation, as text.
///
/// # Errors
/// `unknown_name`.
pub fn explain(name: &str) -> Result<String, Fault> {
    find(name).map(explain::of)
}

fn find(name: &str) -> Result<&'static Calculation, Fault> {
    ALL.iter().copied().find(|it| it.name == name).ok_or_else(|| {
        let names: Vec<_> = ALL.iter().map(|it| it.name).collect();
        Fault::new(
            Code::UnknownName,
            name,
            format!("{name:?} is no calculation; there are {}", names.join(", ")),
        )
    })
}
