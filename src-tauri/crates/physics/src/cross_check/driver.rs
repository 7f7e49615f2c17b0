//! Parameters of one driver that cannot all be right.

use domain::{
    dossier::Dossier,
    part::{Part, Role},
    reading,
};

use super::{CHECK_Z, CONTRADICTION_Z, CrossCheck, Offer, Severity, Subject};
use crate::{
    Air,
    consistency::{Consistency, Entry, Key, Relation, consistency},
    quantity::standard_uncertainty,
};

/// A spread that no bench does better than; a value typed with many digits is not as good as they say (common practice,
/// no source).
const LEAST_REL_U: f64 = 0.003;

pub(super) fn checks(dossier: &Dossier, air: &Air) -> Vec<CrossCheck> {
    [Role::Woofer, Role::Midrange, Role::Tweeter]
        .into_iter()
        .filter_map(|role| {
            let entries = entries(dossier, role);
            let outcome = consistency(&entries, air).ok()?;
            check(role, &entries, &outcome, air)
        })
        .collect()
}

/// What was recorded of one driver, with relative uncertainties.
fn entries(dossier: &Dossier, role: Role) -> Vec<Entry> {
    Key::ALL
        .iter()
        .filter_map(|&key| {
            let finding = dossier.current(Part::first(role), key.word())?;
            let domain::finding::Value::Number { si, .. } = finding.answer.value()? else {
                return None;
            };
            if *si <= 0.0 {
                return None;
            }
            let u = standard_uncertainty(finding)?;
            Some(Entry { key, value: *si, rel_u: (u / si).max(LEAST_REL_U) })
        })
        .collect()
}

fn check(role: Role, entries: &[Entry], outcome: &Consistency, air: &Air) -> Option<CrossCheck> {
    let worst = outcome.relations.iter().max_by(|a, b| a.z.abs().total_cmp(&b.z.abs()))?;
    if worst.z.abs() <= CHECK_Z {
        return None;
    }
    let address = |key: Key| format!("{}.{}", role.word(), key.word());
    let mut text = format!(
        "The parameters of the {} contradict each other: {} misses by {:.1} standard uncertainties.",
        role.word(),
        sentence(worst),
        worst.z.abs()
    );
    let mut offers = Vec::new();
    if let Some((key, value, rel_u)) = the_one_that_differs(entries, air) {
        let shown = shown(role, key, value, rel_u * value);
        text.push_str(&format!(
            " Without {} the others agree, and they give {shown} for it.",
            symbol(key)
        ));
        offers.push(Offer { address: address(key), typed: shown });
    }
    Some(CrossCheck {
        code: "driver_parameters_disagree",
        severity: if worst.z.abs() > CONTRADICTION_Z {
            Severity::Warning
        } else {
            Severity::Caution
        },
        subject: Subject::Record,
        text,
        addresses: worst.keys.iter().map(|key| address(*key)).collect(),
        z: Some(worst.z),
        offers,
    })
}

fn sentence(relation: &Relation) -> &'static str {
    match relation.id {
        "r1" => "fs = 1/(2π√(Mms·Cms))",
        "r2" => "Vas = ρ₀c²·Sd²·Cms",
        "r3" => "Qes = 2πfs·Mms·Re/BL²",
        "r4" => "Qms = 2πfs·Mms/Rms",
        _ => "1/Qts = 1/Qms + 1/Qes",
    }
}

/// A parameter with a spread of its own so wide that the others decide what it is.
const SAYS_NOTHING: f64 = 1.0;
/// The joint test passes above this probability.
const LEAST_P: f64 = 0.05;

/// The only value without which all others agree, with what they give for it and its relative uncertainty.
///
/// A value left to the others must still satisfy every relation that it stands in, so that it is told apart from those
/// beside it wherever the record holds enough.
fn the_one_that_differs(entries: &[Entry], air: &Air) -> Option<(Key, f64, f64)> {
    let mut suspects = (0..entries.len()).filter_map(|at| {
        let mut loose = entries.to_vec();
        let suspect = loose.get_mut(at)?;
        suspect.rel_u = SAYS_NOTHING;
        let outcome = consistency(&loose, air).ok()?;
        let implied = outcome.adjusted.get(at)?;
        (outcome.p_value > LEAST_P).then_some((implied.key, implied.value, implied.rel_u))
    });
    let first = suspects.next()?;
    // With two suspects nobody can tell which.
    suspects.next().is_none().then_some(first)
}

/// A parameter as print writes it.
fn symbol(key: Key) -> &'static str {
    match key {
        Key::Fs => "fs",
        Key::Qms => "Qms",
        Key::Qes => "Qes",
        Key::Qts => "Qts",
        Key::Vas => "Vas",
        Key::Re => "Re",
        Key::Bl => "BL",
        Key::Mms => "Mms",
        Key::Cms => "Cms",
        Key::Rms => "Rms",
        Key::Sd => "Sd",
    }
}

fn shown(role: Role, key: Key, value: f64, u: f64) -> String {
    match domain::dictionary::find(role, key.word()).map(|it| it.kind) {
        Some(domain::dictionary::Kind::Number(dimension, unit)) => {
            reading::shown(value, Some(u), dimension, unit)
        }
        _ => format!("{value:.3}"),
    }
}
