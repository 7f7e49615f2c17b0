//! Whether what a plugin declares and reads can be had in this catalogue; asked when it is trusted.

use bw_sdk::manifest::{Input, InputKind, Manifest};
use domain::{
    dictionary::{Dictionary, Kind},
    part::Part,
};

use super::entry::{Unusable, entries};

/// Checks the findings that a manifest declares and the inputs that it reads against the dictionary and against what other
/// plugins declare; what another version of the same plugin declares does not count.
///
/// An input that nobody declares is let through: another plugin may come to declare it, and until then it is missing.
pub(crate) fn check(manifest: &Manifest, now: &Dictionary) -> Result<(), Unusable> {
    let mut dictionary = now.without(&manifest.id);
    for (at, it) in entries(manifest)?.into_iter().enumerate() {
        dictionary.add(it).map_err(|why| Unusable {
            path: format!("findings[{at}].key"),
            what: why.to_string(),
        })?;
    }
    for (at, input) in manifest.inputs.iter().enumerate() {
        if let Some((field, what)) = unfit(input, manifest, &dictionary) {
            return Err(Unusable { path: format!("inputs[{at}].{field}"), what });
        }
    }
    Ok(())
}

/// The field of an input that does not fit what it names, and why.
fn unfit(
    input: &Input,
    manifest: &Manifest,
    dictionary: &Dictionary,
) -> Option<(&'static str, String)> {
    let id = &input.id;
    if let Some(it) = physics::quantity::specs().find(|it| it.id == *id) {
        return if input.kind == InputKind::Number {
            wrong_unit(input, it.dimension.si_symbol())
        } else {
            Some(("kind", format!("{id} is a number")))
        };
    }
    let (part, key) = id.split_once('.')?;
    let entry = part.parse::<Part>().ok().and_then(|part| dictionary.find(part.role, key));
    let Some(entry) = entry else {
        let is_own = id.contains(&format!("{}.", manifest.id));
        let what = || format!("{id} is none of the findings of this manifest, written PART.KEY");
        return is_own.then(|| ("id", what()));
    };
    match (input.kind, entry.kind) {
        (InputKind::Number, Kind::Number(dimension, _)) => wrong_unit(input, dimension.si_symbol()),
        (InputKind::Number | InputKind::Count, Kind::Count) | (InputKind::Bool, Kind::Flag) => None,
        (InputKind::Choice, Kind::Choice(words)) => {
            words.iter().find(|word| !input.choices.iter().any(|it| it == word)).map(|it| {
                ("choices", format!("{it:?} is missing, which {id} may be; accepted: {words}"))
            })
        }
        (_, kind) => Some(("kind", format!("{id} does not come so; it is {}", word(kind)))),
    }
}

/// Values come in the SI unit.
fn wrong_unit(input: &Input, si: &str) -> Option<(&'static str, String)> {
    let wanted = if si.is_empty() { "1" } else { si };
    let what = || format!("{:?}; values of {} come in {wanted:?}", input.unit, input.id);
    (input.unit != wanted).then(|| ("unit", what()))
}

fn word(kind: Kind<'_>) -> &'static str {
    match kind {
        Kind::Number(..) => "a number",
        Kind::Numbers(..) => "a list of numbers, which plugins cannot read",
        Kind::Choice(_) => "a choice",
        Kind::Count => "a count",
        Kind::Flag => "a bool",
        Kind::Text => "a text, which plugins cannot read",
    }
}
