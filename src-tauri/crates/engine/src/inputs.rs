//! What a plugin reads, row by row, with the evidence and the gaps behind each number.

use bw_sdk::manifest::{Input, InputKind};
use domain::{
    dossier::Dossier,
    evidence::Evidence,
    finding::{Answer, Gap, Value},
    part::Part,
};
use physics::quantity::{Known, NoValue};

/// One input of one product.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Cell {
    /// The number for the plugin, NaN where there is none.
    pub(crate) number: f64,
    /// The weakest evidence behind it.
    pub(crate) evidence: Option<Evidence>,
    /// The findings that would give it, as addresses.
    pub(crate) missing: Vec<String>,
}

/// Looks an input up: a quantity of that id, else a finding of that address.
pub(crate) fn cell(input: &Input, dossier: &Dossier, quantities: &[Known]) -> Cell {
    match quantities.iter().find(|it| it.spec.id == input.id) {
        Some(it) => of_quantity(it),
        None => of_finding(input, dossier),
    }
}

fn of_quantity(it: &Known) -> Cell {
    match &it.value {
        Ok(number) => Cell { number: *number, evidence: it.evidence, missing: Vec::new() },
        Err(NoValue::Missing(list)) => {
            Cell { number: f64::NAN, evidence: None, missing: list.clone() }
        }
        Err(_) => Cell { number: f64::NAN, evidence: None, missing: Vec::new() },
    }
}

fn of_finding(input: &Input, dossier: &Dossier) -> Cell {
    let none = |missing: Vec<String>| Cell { number: f64::NAN, evidence: None, missing };
    let finding = input
        .id
        .split_once('.')
        .and_then(|(part, key)| Some((part.parse::<Part>().ok()?, key)))
        .and_then(|(part, key)| dossier.declared(part, key));
    let Some(finding) = finding else { return none(vec![input.id.clone()]) };
    let value = match &finding.answer {
        Answer::Gap(Gap::NotApplicable) => return none(Vec::new()),
        Answer::Gap(_) => return none(vec![input.id.clone()]),
        Answer::Value(value) => value,
    };
    match number(input, value) {
        Some(number) => Cell { number, evidence: Some(finding.evidence), missing: Vec::new() },
        None => none(vec![input.id.clone()]),
    }
}

/// The number that stands for a value of the kind that the plugin declared.
pub(crate) fn number(input: &Input, value: &Value) -> Option<f64> {
    match (input.kind, value) {
        (InputKind::Number, Value::Number { si, .. }) => Some(*si),
        (InputKind::Number | InputKind::Count, Value::Count(it)) => Some(f64::from(*it)),
        (InputKind::Bool, Value::Flag(it)) => Some(f64::from(u8::from(*it))),
        (InputKind::Choice, Value::Choice(word)) => {
            let place = input.choices.iter().position(|it| it == word)?;
            u32::try_from(place).ok().map(f64::from)
        }
        _ => None,
    }
}

#[cfg(test)]
mod tests;
