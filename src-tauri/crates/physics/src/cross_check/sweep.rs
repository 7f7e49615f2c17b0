//! Parameters as typed against those that the driver's own sweep gives.

use domain::{
    dictionary::{Kind, find},
    dossier::Dossier,
    finding::Value,
    part::{Part, Role},
};

use super::{CONTRADICTION_Z, CrossCheck, Figure, Severity, Subject};
use crate::{
    fit::{Fixed, fit},
    quantity::standard_uncertainty,
};

/// What level, temperature and mounting change between two measurements, as a share of the value (common practice, no
/// source).
const DRIFT_U: f64 = 0.03;

pub(super) fn checks(dossier: &Dossier) -> Vec<CrossCheck> {
    [Role::Woofer, Role::Midrange, Role::Tweeter]
        .into_iter()
        .flat_map(|role| of_driver(dossier, role))
        .collect()
}

fn of_driver(dossier: &Dossier, role: Role) -> Vec<CrossCheck> {
    let part = Part::first(role);
    let Some(sweep) = dossier.sweep(part) else { return Vec::new() };
    let Ok(fit) = fit(&sweep.points, &Fixed::default()) else { return Vec::new() };
    let [u_re, _, u_fs, u_qms, ..] = fit.u;
    let fitted = [
        ("re", fit.model.re_ohm, u_re),
        ("fs", fit.model.fs_hz, u_fs),
        ("qms", fit.model.qms, u_qms),
        ("qes", fit.model.qes(), fit.u_qes),
        ("qts", fit.model.qts(), fit.u_qts),
    ];
    fitted
        .into_iter()
        .filter_map(|(key, value, u)| {
            let finding = dossier.current(part, key)?;
            let Value::Number { si, .. } = finding.answer.value()? else { return None };
            let typed_u = standard_uncertainty(finding).unwrap_or(0.0);
            let spread = (u.powi(2) + typed_u.powi(2) + (DRIFT_U * value).powi(2)).sqrt();
            let z = (si - value) / spread;
            if z.abs() <= CONTRADICTION_Z {
                return None;
            }
            let entry = find(role, key)?;
            let Kind::Number(dimension, unit) = entry.kind else { return None };
            let shown = |value, u| Figure { value, u }.shown(dimension, unit);
            Some(CrossCheck {
                code: "parameter_and_sweep_disagree",
                severity: Severity::Caution,
                subject: Subject::Record,
                text: format!(
                    "The {} of the {} was recorded as {}, but its sweep gives {} ({:.1} standard uncertainties).",
                    entry.label,
                    role.word(),
                    shown(*si, typed_u),
                    shown(value, u),
                    z.abs(),
                ),
                addresses: vec![finding.address(), format!("{part}.sweep")],
                z: Some(z),
                offers: Vec::new(),
            })
        })
        .collect()
}
