//! What the maker states against what the bench found.

use domain::{
    dictionary::Kind,
    dossier::Dossier,
    finding::{Finding, Value},
    part::Role,
    reading,
    unit::Dimension,
};

use super::{CrossCheck, Severity, Subject};

/// A conductor this much thinner than stated is no matter of rounding: a whole gauge is a fifth of the area.
const LEAST_AREA: f64 = 0.85;

/// Of the wiring, a claim can be settled by looking; the makers' figures for drivers and levels are nominal.
pub(super) fn checks(dossier: &Dossier) -> Vec<CrossCheck> {
    dossier.stated.iter().filter_map(|stated| check(dossier, stated)).collect()
}

fn check(dossier: &Dossier, stated: &Finding) -> Option<CrossCheck> {
    let found = dossier.current(stated.part, &stated.key)?;
    if !found.evidence.is_hard() || std::ptr::eq(found, stated) {
        return None;
    }
    let entry = stated.entry()?;
    let (says, is) = match (stated.answer.value()?, found.answer.value()?, entry.kind) {
        (Value::Choice(says), Value::Choice(is), _) if !agree(says, is) => {
            (words(says).to_owned(), words(is).to_owned())
        }
        (Value::Flag(says), Value::Flag(is), _) if says != is => (yes(*says), yes(*is)),
        (Value::Count(says), Value::Count(is), _) if says != is => {
            (says.to_string(), is.to_string())
        }
        (
            Value::Number { si: says, .. },
            Value::Number { si: is, .. },
            Kind::Number(Dimension::WireSize, unit),
        ) if *is < LEAST_AREA * says => {
            let shown = |si: f64| reading::shown(si, None, Dimension::WireSize, unit);
            (shown(*says), shown(*is))
        }
        _ => return None,
    };
    let how = found.evidence.word();
    let part = if stated.part.role == Role::Wiring { "" } else { stated.part.role.word() };
    let label = format!("{part} {}", entry.label);
    Some(CrossCheck {
        code: "claim_contradicted",
        severity: Severity::Warning,
        subject: Subject::Maker,
        text: format!(
            "The maker states {says} for the {}; the bench found {is} ({how}, {}).",
            label.trim(),
            found.date
        ),
        addresses: vec![stated.address()],
        z: None,
        offers: Vec::new(),
    })
}

/// Tinned copper is copper.
fn agree(says: &str, is: &str) -> bool {
    says == is || (says == "copper" && is == "tinned copper")
}

/// A choice as a reader knows it.
fn words(choice: &str) -> &str {
    match choice {
        "cca" => "copper-clad aluminium",
        "mdf" => "MDF",
        other => other,
    }
}

fn yes(it: bool) -> String {
    (if it { "yes" } else { "no" }).to_owned()
}
