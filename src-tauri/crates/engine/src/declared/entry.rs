//! A manifest's findings as entries of the dictionary.

use std::fmt;

use bw_sdk::manifest::{Finding, InputKind, Manifest};
use domain::{
    dictionary::{Expected, Own, OwnKind, Typical},
    finding::Gap,
    part::Role,
    unit::Dimension,
};

/// What a manifest says that cannot be used here, with the way through the JSON to it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Unusable {
    pub(super) path: String,
    pub(super) what: String,
}

impl fmt::Display for Unusable {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "manifest, at `{}`: {}", self.path, self.what)
    }
}

/// The entries, in the order of the manifest.
///
/// An own finding is expected of a complete teardown where the plugin can score nothing without it, and optional otherwise.
pub(super) fn entries(manifest: &Manifest) -> Result<Vec<Own>, Unusable> {
    let all = manifest.findings.iter().enumerate();
    all.map(|(at, it)| entry(&format!("findings[{at}]"), it, manifest)).collect()
}

fn entry(path: &str, it: &Finding, manifest: &Manifest) -> Result<Own, Unusable> {
    let refuse = |field: &str, what: String| Unusable { path: format!("{path}.{field}"), what };
    let role = match &it.part {
        None => Role::Whole,
        Some(word) => Role::parse(word).map_err(|why| refuse("part", why.to_string()))?,
    };
    let kind = match it.kind {
        InputKind::Number => {
            let (dimension, unit) = dimension(&it.unit).ok_or_else(|| {
                let accepted = "1, or a unit of the bench, such as mm, kg, ohm, Hz, dB, %";
                refuse(
                    "unit",
                    format!("{:?} is no unit that findings have; accepted: {accepted}", it.unit),
                )
            })?;
            OwnKind::Number(dimension, unit)
        }
        InputKind::Choice => {
            for (at, word) in it.choices.iter().enumerate() {
                if word.trim() != word || Gap::parse(word).is_ok() {
                    let what = format!("{word:?} cannot be told from what stands for no value");
                    return Err(refuse(&format!("choices[{at}]"), what));
                }
            }
            OwnKind::Choice(it.choices.clone())
        }
        InputKind::Count => OwnKind::Count,
        InputKind::Bool => OwnKind::Flag,
        InputKind::Curve => {
            let what =
                "a curve is not recorded as a finding; accepted: number, choice, count, bool";
            return Err(refuse("kind", what.to_owned()));
        }
    };
    if it.typical.is_some() && !matches!(kind, OwnKind::Number(..) | OwnKind::Count) {
        return Err(refuse("typical", "only a number or a count has a usual range".to_owned()));
    }
    let address = format!("{}.{}", role.word(), it.key);
    let is_required = manifest.inputs.iter().any(|input| input.required && input.id == address);
    Ok(Own {
        plugin: manifest.id.clone(),
        key: it.key.clone(),
        role,
        label: it.label.clone(),
        kind,
        typical: it.typical.map(|[low, high]| Typical { role: None, low, high }),
        expected: if is_required { Expected::Always } else { Expected::Optional },
        why: it.why.clone(),
    })
}

/// The dimension that a unit belongs to, and the unit as it is spelled here; `1` is a pure number. A square is an area, and
/// not the size of a wire.
fn dimension(unit: &str) -> Option<(Dimension, &'static str)> {
    if unit == "1" {
        return Some((Dimension::One, ""));
    }
    Dimension::ALL.iter().find_map(|it| Some((*it, it.unit(unit)?.symbol)))
}
