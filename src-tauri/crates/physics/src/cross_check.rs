//! Cross-checks: what was recorded held against itself, and what follows from it against what was promised.
//!
//! A check speaks only where the miss is beyond what the uncertainties explain, names the findings concerned and, where
//! one reading would set it right, offers that reading. It changes nothing.

mod claim;
mod driver;
mod load;
mod range;
mod sweep;
mod tuning;
mod tweeter;

use domain::{dossier::Dossier, unit::Dimension};

use crate::{Air, quantity::Quantity};

/// Beyond this many standard uncertainties a disagreement is worth a look (JCGM 100:2008, G.6.6: about 1 in 20 by
/// chance).
pub const CHECK_Z: f64 = 2.0;
/// Beyond this many it is a contradiction (about 1 in 370 by chance).
pub const CONTRADICTION_Z: f64 = 3.0;

/// How much a check matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// Good to know.
    Info,
    /// Worth a look.
    Caution,
    /// A contradiction, or a promise that is not kept.
    Warning,
}

impl Severity {
    /// The word in results.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Severity::Info => "info",
            Severity::Caution => "caution",
            Severity::Warning => "warning",
        }
    }
}

/// What a check is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Subject {
    /// The record: a reading, a unit or an entry is probably wrong.
    Record,
    /// The maker: a statement or rating does not hold.
    Maker,
    /// The design: what was found, if right, is a weakness.
    Design,
}

/// A reading that would set a record right. It is offered, never applied.
#[derive(Debug, Clone, PartialEq)]
pub struct Offer {
    /// The finding's address.
    pub address: String,
    /// What to type instead.
    pub typed: String,
}

/// A remark of a cross-check.
#[derive(Debug, Clone, PartialEq)]
pub struct CrossCheck {
    /// The check, as a code that stays the same.
    pub code: &'static str,
    /// How much it matters.
    pub severity: Severity,
    /// What it is about.
    pub subject: Subject,
    /// The sentence.
    pub text: String,
    /// The findings concerned, as addresses.
    pub addresses: Vec<String>,
    /// By how many standard uncertainties it misses, where that was computed.
    pub z: Option<f64>,
    /// Readings that would set it right, the most likely first.
    pub offers: Vec<Offer>,
}

/// The quantities that cross-checks read, by id.
pub const READS: [&str; 7] = [
    "system.fb_sweep_hz",
    "port.fb_hz",
    "crossover.tweeter_margin_oct",
    "crossover.tweeter_attenuation_db",
    "crossover.fx_high_hz",
    "load.z_min_ohm",
    "crossover.z_min_ohm",
];

/// All remarks on one product, the gravest first; `quantities` are those of the same product in the same air, of which
/// only [`READS`] are looked at.
#[must_use]
pub fn cross_checks(dossier: &Dossier, quantities: &[Quantity], air: &Air) -> Vec<CrossCheck> {
    let computed = Computed(quantities);
    let mut list = range::checks(dossier);
    list.extend(driver::checks(dossier, air));
    list.extend(sweep::checks(dossier));
    list.extend(tuning::checks(dossier, &computed));
    list.extend(load::checks(dossier, &computed));
    list.extend(tweeter::checks(&computed));
    list.extend(claim::checks(dossier));
    list.sort_by_key(|it| std::cmp::Reverse(it.severity));
    list
}

/// The quantities of the product, by id.
struct Computed<'q>(&'q [Quantity]);

/// A value with its uncertainty.
#[derive(Debug, Clone, Copy)]
struct Figure {
    value: f64,
    u: f64,
}

impl Computed<'_> {
    fn of(&self, id: &str) -> Option<(Figure, &Quantity)> {
        let it = self.0.iter().find(|it| it.spec.id == id)?;
        Some((Figure { value: *it.value.as_ref().ok()?, u: it.u.unwrap_or(0.0) }, it))
    }
}

impl Figure {
    /// With its uncertainty, in a unit.
    fn shown(&self, dimension: Dimension, unit: &str) -> String {
        domain::reading::shown_with_u(self.value, self.u, dimension, unit)
    }
}

#[cfg(test)]
mod tests;
