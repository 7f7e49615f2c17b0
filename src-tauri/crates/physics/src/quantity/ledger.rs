//! Looks findings up and keeps account of what was used, assumed and missing.

use std::collections::BTreeSet;

use domain::{
    dossier::Dossier,
    evidence::Evidence,
    finding::Value,
    part::{Part, Role},
    sweep::Sweep,
};

use super::{NoValue, Quantity, Spec};
use crate::{Air, PhysicsError};

/// Why a computation stopped.
#[derive(Debug)]
pub(super) enum Stop {
    /// A finding is missing; the ledger knows which.
    Missing,
    /// The question does not apply.
    NotApplicable(String),
    /// A function of this crate refused.
    Refused(PhysicsError),
}

impl From<PhysicsError> for Stop {
    fn from(why: PhysicsError) -> Self {
        match why {
            PhysicsError::NotApplicable { why } => Stop::NotApplicable(why),
            other => Stop::Refused(other),
        }
    }
}

/// One way to a value.
pub(super) type Route<'d, T> = fn(&mut Ledger<'d>) -> Result<T, Stop>;

/// The account of one computation.
#[derive(Debug, Clone)]
pub(super) struct Ledger<'d> {
    dossier: &'d Dossier,
    pub(super) air: Air,
    from: BTreeSet<String>,
    evidence: Option<Evidence>,
    assumed: Vec<String>,
    missing: BTreeSet<String>,
}

impl<'d> Ledger<'d> {
    pub(super) fn new(dossier: &'d Dossier, air: Air) -> Self {
        Ledger {
            dossier,
            air,
            from: BTreeSet::new(),
            evidence: None,
            assumed: Vec::new(),
            missing: BTreeSet::new(),
        }
    }

    pub(super) fn dossier(&self) -> &'d Dossier {
        self.dossier
    }

    fn value(&mut self, role: Role, key: &str) -> Result<&'d Value, Stop> {
        let part = Part::first(role);
        let finding = self.dossier.current(part, key);
        let Some((finding, value)) = finding.and_then(|it| Some((it, it.answer.value()?))) else {
            return Err(self.lacks(format!("{part}.{key}")));
        };
        self.from.insert(finding.address());
        self.evidence = self.evidence.max(Some(finding.evidence));
        Ok(value)
    }

    /// Notes a missing finding.
    pub(super) fn lacks(&mut self, address: String) -> Stop {
        self.missing.insert(address);
        Stop::Missing
    }

    pub(super) fn number(&mut self, role: Role, key: &str) -> Result<f64, Stop> {
        match self.value(role, key)? {
            Value::Number { si, .. } => Ok(*si),
            _ => Err(self.lacks(format!("{}.{key}", role.word()))),
        }
    }

    pub(super) fn numbers(&mut self, role: Role, key: &str) -> Result<&'d [f64], Stop> {
        match self.value(role, key)? {
            Value::Numbers(list) => Ok(list),
            _ => Err(self.lacks(format!("{}.{key}", role.word()))),
        }
    }

    pub(super) fn choice(&mut self, role: Role, key: &str) -> Result<&'d str, Stop> {
        match self.value(role, key)? {
            Value::Choice(it) => Ok(it),
            _ => Err(self.lacks(format!("{}.{key}", role.word()))),
        }
    }

    pub(super) fn count(&mut self, role: Role, key: &str) -> Result<u32, Stop> {
        match self.value(role, key)? {
            Value::Count(it) => Ok(*it),
            _ => Err(self.lacks(format!("{}.{key}", role.word()))),
        }
    }

    /// The newest sweep of a part; it counts as measured.
    pub(super) fn sweep(&mut self, role: Role) -> Result<&'d Sweep, Stop> {
        let address = format!("{}.sweep", role.word());
        match self.dossier.sweep(Part::first(role)) {
            Some(it) => {
                self.from.insert(address);
                self.evidence = self.evidence.max(Some(Evidence::Measured));
                Ok(it)
            }
            None => Err(self.lacks(address)),
        }
    }

    /// Names an assumption.
    pub(super) fn assume(&mut self, what: impl Into<String>) {
        let what = what.into();
        if !self.assumed.contains(&what) {
            self.assumed.push(what);
        }
    }

    /// The first route that leads to a value; when none does, the account of the one that lacks least.
    pub(super) fn first_of<T>(&mut self, routes: &[Route<'d, T>]) -> Result<T, Stop> {
        let mut nearest: Option<(Ledger<'d>, Stop)> = None;
        for route in routes {
            let mut attempt = self.clone();
            match route(&mut attempt) {
                Ok(value) => {
                    *self = attempt;
                    return Ok(value);
                }
                Err(stop) => {
                    if nearest
                        .as_ref()
                        .is_none_or(|(it, _)| attempt.missing.len() < it.missing.len())
                    {
                        nearest = Some((attempt, stop));
                    }
                }
            }
        }
        match nearest {
            Some((attempt, stop)) => {
                *self = attempt;
                Err(stop)
            }
            None => Err(Stop::Missing),
        }
    }

    pub(super) fn close(self, spec: &'static Spec, outcome: Result<f64, Stop>) -> Quantity {
        let value = outcome.map_err(|stop| match stop {
            Stop::Missing => NoValue::Missing(self.missing.into_iter().collect()),
            Stop::NotApplicable(why) => NoValue::NotApplicable(why),
            Stop::Refused(why) => NoValue::Refused(why.to_string()),
        });
        Quantity {
            spec,
            value,
            from: self.from.into_iter().collect(),
            evidence: self.evidence,
            assumed: self.assumed,
        }
    }
}
