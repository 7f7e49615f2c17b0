//! The tuning that the port's shape gives against the one that was measured.

use domain::{
    dossier::Dossier,
    finding::Value,
    part::{Part, Role},
    unit::Dimension::Frequency,
};

use super::{CHECK_Z, CONTRADICTION_Z, Computed, CrossCheck, Figure, Severity, Subject};
use crate::quantity::standard_uncertainty;

/// What the end corrections leave open, as a share of fB: neighbouring walls, mutual coupling, slots (common practice, no
/// source).
const MODEL_U: f64 = 0.03;

const FB: &str = "fb_measured";

pub(super) fn checks(dossier: &Dossier, computed: &Computed<'_>) -> Vec<CrossCheck> {
    let finding = dossier.current(Part::first(Role::Cabinet), FB);
    let typed = finding.and_then(|it| match it.answer.value()? {
        Value::Number { si, .. } => {
            Some(Figure { value: *si, u: standard_uncertainty(it).unwrap_or(0.0) })
        }
        _ => None,
    });
    let sweep = computed.of("system.fb_sweep_hz").map(|(it, _)| it);
    let port = computed.of("port.fb_hz");
    let mut list = Vec::new();
    // The reviewer's own reading of the tuning, else the one from the sweep.
    let measured = typed
        .map(|it| (it, "cabinet.fb_measured", "measured tuning"))
        .or_else(|| sweep.map(|it| (it, "whole.sweep", "tuning that the sweep shows")));
    if let (Some((port, quantity)), Some((measured, address, name))) = (port, measured) {
        let z = miss(port, measured, MODEL_U);
        if z.abs() > CHECK_Z {
            let mut addresses: Vec<String> = quantity.from.clone();
            addresses.push(address.to_owned());
            list.push(CrossCheck {
                code: "tuning_disagrees",
                severity: severity(z),
                subject: Subject::Record,
                text: format!(
                    "Port and box volume as recorded tune to {}, but the {name} is {} ({:.1} standard uncertainties). \
                     Check the port's length, diameter and number, and the volume.",
                    port.shown(Frequency, "Hz"),
                    measured.shown(Frequency, "Hz"),
                    z.abs(),
                ),
                addresses,
                z: Some(z),
                offers: Vec::new(),
            });
        }
    }
    if let (Some(typed), Some(sweep)) = (typed, sweep) {
        let z = miss(sweep, typed, MODEL_U);
        if z.abs() > CHECK_Z {
            list.push(CrossCheck {
                code: "tuning_and_sweep_disagree",
                severity: severity(z),
                subject: Subject::Record,
                text: format!(
                    "The measured tuning was recorded as {}, but the sweep shows {} ({:.1} standard uncertainties).",
                    typed.shown(Frequency, "Hz"),
                    sweep.shown(Frequency, "Hz"),
                    z.abs(),
                ),
                addresses: vec!["cabinet.fb_measured".into(), "whole.sweep".into()],
                z: Some(z),
                offers: Vec::new(),
            });
        }
    }
    list
}

fn miss(a: Figure, b: Figure, model: f64) -> f64 {
    (a.value - b.value) / (a.u.powi(2) + b.u.powi(2) + (model * b.value).powi(2)).sqrt()
}

fn severity(z: f64) -> Severity {
    if z.abs() > CONTRADICTION_Z { Severity::Warning } else { Severity::Caution }
}
