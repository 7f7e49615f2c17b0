//! Quantities of a product: computed once from its findings, offered to screens and plugins.
//!
//! Each says which findings it rests on, the weakest evidence among them, what was assumed, and, when it cannot be
//! computed, which findings are missing.

mod bass;
mod cabinet;
mod ledger;
mod load;
mod wiring;

use domain::{dossier::Dossier, evidence::Evidence, unit::Dimension};

use crate::Air;
use ledger::{Ledger, Stop};

/// One quantity of one product.
#[derive(Debug, Clone, PartialEq)]
pub struct Quantity {
    /// What it is.
    pub spec: &'static Spec,
    /// Its value in SI (levels in dB), or why there is none.
    pub value: Result<f64, NoValue>,
    /// The findings it rests on, as addresses, sorted.
    pub from: Vec<String>,
    /// The weakest evidence among them; `None` when it rests on none.
    pub evidence: Option<Evidence>,
    /// What was assumed, one clause each.
    pub assumed: Vec<String>,
}

/// Why a quantity has no value.
#[derive(Debug, Clone, PartialEq)]
pub enum NoValue {
    /// Findings are missing; their addresses, sorted.
    Missing(Vec<String>),
    /// The question does not apply to this product.
    NotApplicable(String),
    /// The findings do not allow it.
    Refused(String),
}

/// What a quantity is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spec {
    /// The id that plugins read.
    pub id: &'static str,
    /// The label on screens.
    pub label: &'static str,
    /// Its dimension.
    pub dimension: Dimension,
    /// The unit on screens.
    pub unit: &'static str,
}

const fn spec(
    id: &'static str,
    label: &'static str,
    dimension: Dimension,
    unit: &'static str,
) -> Spec {
    Spec { id, label, dimension, unit }
}

type Compute = fn(&mut Ledger<'_>) -> Result<f64, Stop>;

/// All quantities, in the order of screens.
const ALL: &[(Spec, Compute)] = &[
    (spec("whole.ways", "ways", Dimension::One, ""), |it| Ok(f64::from(it.dossier().product.ways))),
    (spec("woofer.fs_hz", "woofer resonance", Dimension::Frequency, "Hz"), bass::fs_hz),
    (
        spec("woofer.qts_system", "woofer total Q with its wiring", Dimension::One, ""),
        bass::qts_system,
    ),
    (spec("woofer.vas_m3", "woofer equivalent volume", Dimension::Volume, "L"), bass::vas_m3),
    (
        spec("woofer.motor_n_s_m", "woofer motor strength", Dimension::MechanicalLoss, "kg/s"),
        bass::motor_strength,
    ),
    (
        spec("system.sens_2v83_db", "sensitivity, 2.83 V, 1 m, half space", Dimension::Level, "dB"),
        bass::sens_2v83_db,
    ),
    (spec("system.fb_hz", "box tuning", Dimension::Frequency, "Hz"), bass::fb_hz),
    (spec("system.f3_hz", "half-power bass limit", Dimension::Frequency, "Hz"), bass::f3_hz),
    (spec("system.ripple_db", "bass response peak", Dimension::Level, "dB"), bass::ripple_db),
    (
        spec("cabinet.panel_f_hz", "lowest panel mode", Dimension::Frequency, "Hz"),
        cabinet::panel_f_hz,
    ),
    (
        spec("cabinet.cavity_f_hz", "first standing wave", Dimension::Frequency, "Hz"),
        cabinet::cavity_f_hz,
    ),
    (
        spec("cabinet.cavity_q", "Q of the first standing wave", Dimension::One, ""),
        cabinet::cavity_q,
    ),
    (spec("load.z_min_ohm", "lowest impedance", Dimension::Resistance, "ohm"), load::z_min_ohm),
    (
        spec("load.z_min_ratio", "lowest over rated impedance", Dimension::One, ""),
        load::z_min_ratio,
    ),
    (
        spec("load.r_pd_min_ohm", "lowest peak-dissipation load", Dimension::Resistance, "ohm"),
        load::r_pd_min_ohm,
    ),
    (
        spec("wiring.loop_ohm", "wiring loop resistance", Dimension::Resistance, "ohm"),
        wiring::loop_ohm,
    ),
    (
        spec("wiring.loop_loss_db", "wiring loss at the lowest impedance", Dimension::Level, "dB"),
        wiring::loop_loss_db,
    ),
];

/// What can be asked for, in the order of [`quantities`].
pub fn specs() -> impl Iterator<Item = &'static Spec> {
    ALL.iter().map(|(spec, _)| spec)
}

/// All quantities of a product, in the order of screens, in the given air.
#[must_use]
pub fn quantities(dossier: &Dossier, air: &Air) -> Vec<Quantity> {
    ALL.iter()
        .map(|(spec, compute)| {
            let mut ledger = Ledger::new(dossier, *air);
            let outcome = compute(&mut ledger);
            ledger.close(spec, outcome)
        })
        .collect()
}

#[cfg(test)]
mod tests;
