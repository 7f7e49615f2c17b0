//! The printed rating against the lowest impedance.

use domain::{
    dossier::Dossier,
    finding::Value,
    part::{Part, Role},
    unit::Dimension::Resistance,
};

use super::{Computed, CrossCheck, Figure, Severity, Subject};
use crate::load::{highest_rating_ohm, rating_verdict};

/// How well a sweep and the network that was traced should agree on the lowest impedance: parts spread by their
/// tolerances, drivers by theirs (common practice, no source).
const MODEL_U: f64 = 0.08;

pub(super) fn checks(dossier: &Dossier, computed: &Computed<'_>) -> Vec<CrossCheck> {
    let Some((z_min, quantity)) = computed.of("load.z_min_ohm") else { return Vec::new() };
    let is_swept = quantity.from.iter().any(|it| it == "whole.sweep");
    let mut list: Vec<CrossCheck> = rating(dossier, z_min, is_swept).into_iter().collect();
    if let (Some((solved, _)), true) = (computed.of("crossover.z_min_ohm"), is_swept) {
        let spread = (z_min.u.powi(2) + solved.u.powi(2) + (MODEL_U * z_min.value).powi(2)).sqrt();
        let z = (solved.value - z_min.value) / spread;
        if z.abs() > super::CONTRADICTION_Z {
            list.push(CrossCheck {
                code: "network_and_sweep_disagree",
                severity: Severity::Caution,
                subject: Subject::Record,
                text: format!(
                    "The network as traced has its lowest impedance at {}, the sweep at {} ({:.1} standard \
                     uncertainties). A part, a node or the wiring of the drivers may be recorded wrongly.",
                    solved.shown(Resistance, "ohm"),
                    z_min.shown(Resistance, "ohm"),
                    z.abs(),
                ),
                addresses: vec!["crossover.parts".into(), "whole.sweep".into()],
                z: Some(z),
                offers: Vec::new(),
            });
        }
    }
    list
}

fn rating(dossier: &Dossier, z_min: Figure, is_swept: bool) -> Option<CrossCheck> {
    let whole = Part::first(Role::Whole);
    let finding = dossier.current(whole, "rated_z")?;
    let Value::Number { si: rated, .. } = finding.answer.value()? else { return None };
    let verdict = rating_verdict(z_min.value, *rated).ok()?;
    if verdict.passes {
        return None;
    }
    let limit = verdict.limit_ohm;
    // Within its own uncertainty of the limit nobody can say that the rating fails.
    let z = if z_min.u > 0.0 { Some((limit - z_min.value) / z_min.u) } else { None };
    let sure = z.is_none_or(|z| z > super::CHECK_Z);
    let (found, source) = if is_swept {
        ("lowest impedance", "whole.sweep")
    } else {
        ("lowest impedance, computed from the parts list,", "crossover.parts")
    };
    let better = match highest_rating_ohm(z_min.value).ok()? {
        Some(it) => format!("{it} ohm is the highest usual rating that it meets."),
        None => "It meets none of the usual ratings (4, 6, 8 ohm).".to_owned(),
    };
    let verb = if sure { "asks for" } else { "asks for, within the uncertainty of the reading," };
    Some(CrossCheck {
        code: "rating_not_met",
        // What was only computed accuses nobody.
        severity: if sure && is_swept { Severity::Warning } else { Severity::Caution },
        subject: Subject::Maker,
        text: format!(
            "The {found} is {}. The printed rating of {rated} ohm {verb} at least {limit:.2} ohm, 0.8 of it \
             (IEC 60268-5). {better} A low load can trip or damage an amplifier: go by its maker's stated minimum.",
            z_min.shown(Resistance, "ohm"),
        ),
        addresses: vec![finding.address(), source.into()],
        z,
        offers: Vec::new(),
    })
}
