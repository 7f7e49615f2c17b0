//! Looks findings up and keeps account of what was used, assumed and missing.

use std::{any::Any, borrow::Cow, collections::BTreeSet, rc::Rc};

use domain::{
    dossier::Dossier,
    evidence::Evidence,
    finding::Value,
    part::{Part, Role},
    sweep::Sweep,
};

use super::{
    NoValue,
    bench::{Bench, Found, Reading, Shape},
};
use crate::{Air, PhysicsError};

/// Why a computation stopped.
#[derive(Debug, Clone)]
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
pub(super) type Route<'r, 'd, 's, T> = &'r dyn Fn(&mut Ledger<'d, 's>) -> Result<T, Stop>;

/// What was used, assumed and missing.
#[derive(Debug, Clone, Default)]
pub(super) struct Account {
    pub(super) from: BTreeSet<String>,
    pub(super) relations: Vec<&'static str>,
    pub(super) evidence: Option<Evidence>,
    pub(super) assumed: Vec<Cow<'static, str>>,
    pub(super) missing: BTreeSet<String>,
    /// Places of the variables that were read.
    pub(super) variables: BTreeSet<usize>,
}

/// The account of one computation in one pass.
#[derive(Clone)]
pub(super) struct Ledger<'d, 's> {
    bench: &'s Bench<'d, 's>,
    pub(super) account: Account,
}

impl Account {
    fn add(&mut self, other: &Account) {
        self.from.extend(other.from.iter().cloned());
        for it in &other.relations {
            if !self.relations.contains(it) {
                self.relations.push(it);
            }
        }
        self.evidence = self.evidence.max(other.evidence);
        for it in &other.assumed {
            if !self.assumed.contains(it) {
                self.assumed.push(it.clone());
            }
        }
        self.missing.extend(other.missing.iter().cloned());
        self.variables.extend(&other.variables);
    }
}

impl<'d, 's> Ledger<'d, 's> {
    pub(super) fn new(bench: &'s Bench<'d, 's>) -> Self {
        Ledger { bench, account: Account::default() }
    }

    pub(super) fn dossier(&self) -> &'d Dossier {
        self.bench.inputs.dossier
    }

    pub(super) fn bench(&self) -> &'s Bench<'d, 's> {
        self.bench
    }

    /// The air, named as the assumption that it is.
    pub(super) fn air(&mut self) -> Air {
        let air = self.bench.inputs.air;
        if self.bench.keeps_account {
            self.assume(format!("air of {:.3} kg/m³, {:.1} m/s", air.rho_kg_m3(), air.c_m_s()));
        }
        air
    }

    fn found(&mut self, role: Role, key: &str) -> Result<&'s Found<'d>, Stop> {
        let Some(found) = self.bench.inputs.find(role, key) else {
            return Err(self.lacks(role, key));
        };
        if self.bench.keeps_account {
            self.account.from.insert(found.address.clone());
            self.account.evidence = self.account.evidence.max(Some(found.finding.evidence));
            self.account.variables.extend(found.variable);
        }
        Ok(found)
    }

    /// Notes a missing finding.
    pub(super) fn lacks(&mut self, role: Role, key: &str) -> Stop {
        if self.bench.keeps_account {
            self.account.missing.insert(format!("{}.{key}", role.word()));
        }
        Stop::Missing
    }

    pub(super) fn number(&mut self, role: Role, key: &str) -> Result<f64, Stop> {
        let found = self.found(role, key)?;
        match found.value {
            Value::Number { si, .. } => {
                Ok(si + found.variable.map_or(0.0, |it| self.bench.shift(it)))
            }
            _ => Err(self.lacks(role, key)),
        }
    }

    pub(super) fn numbers(&mut self, role: Role, key: &str) -> Result<&'d [f64], Stop> {
        match self.found(role, key)?.value {
            Value::Numbers(list) => Ok(list),
            _ => Err(self.lacks(role, key)),
        }
    }

    pub(super) fn choice(&mut self, role: Role, key: &str) -> Result<&'d str, Stop> {
        match (self.found(role, key)?.value, self.bench.other(role, key)) {
            (_, Some(Reading::Choice(it))) => Ok(it),
            (Value::Choice(it), _) => Ok(it),
            _ => Err(self.lacks(role, key)),
        }
    }

    pub(super) fn count(&mut self, role: Role, key: &str) -> Result<u32, Stop> {
        match (self.found(role, key)?.value, self.bench.other(role, key)) {
            (_, Some(Reading::Count(it))) => Ok(it),
            (Value::Count(it), _) => Ok(*it),
            _ => Err(self.lacks(role, key)),
        }
    }

    /// The newest sweep of a part; it counts as measured.
    pub(super) fn sweep(&mut self, role: Role) -> Result<&'d Sweep, Stop> {
        match self.dossier().sweep(Part::first(role)) {
            Some(it) => {
                self.rests_on(format_args!("{}.sweep", role.word()), Evidence::Measured);
                Ok(it)
            }
            None => Err(self.lacks(role, "sweep")),
        }
    }

    /// Notes what is no finding of the dictionary but was recorded: a sweep, the parts list.
    pub(super) fn rests_on(&mut self, address: std::fmt::Arguments<'_>, evidence: Evidence) {
        if self.bench.keeps_account {
            self.account.from.insert(address.to_string());
            self.account.evidence = self.account.evidence.max(Some(evidence));
        }
    }

    /// Names an assumption.
    pub(super) fn assume(&mut self, what: impl Into<Cow<'static, str>>) {
        if self.bench.keeps_account {
            let what = what.into();
            if !self.account.assumed.contains(&what) {
                self.account.assumed.push(what);
            }
        }
    }

    /// Names the relation by which a value was found.
    pub(super) fn by(&mut self, relation: &'static str) {
        if self.bench.keeps_account && !self.account.relations.contains(&relation) {
            self.account.relations.push(relation);
        }
    }

    /// A value that is no finding but not exact either, such as a handbook figure; this pass may move it.
    pub(super) fn uncertain(&mut self, id: &str, nominal: f64, u: f64, shape: Shape) -> f64 {
        if u <= 0.0 || !u.is_finite() {
            return nominal;
        }
        let place = self.bench.inputs.variable(id, Some(nominal), u, shape);
        nominal + self.moved(place)
    }

    /// By how much this pass moves a variable, which then counts as read.
    pub(super) fn moved(&mut self, variable: usize) -> f64 {
        if self.bench.keeps_account {
            self.account.variables.insert(variable);
        }
        self.bench.shift(variable)
    }

    /// What follows does not depend on the values of what was read, only on that it is there.
    pub(super) fn settled(&mut self) {
        self.account.variables.clear();
    }

    /// What a route gives; its account counts only if it leads to a value.
    pub(super) fn optional<T>(&mut self, route: Route<'_, 'd, 's, T>) -> Option<T> {
        let mut attempt = self.clone();
        let value = route(&mut attempt).ok()?;
        *self = attempt;
        Some(value)
    }

    /// The first route that leads to a value; when none does, the account of the one that lacks least.
    pub(super) fn first_of<T>(&mut self, routes: &[Route<'_, 'd, 's, T>]) -> Result<T, Stop> {
        let mut nearest: Option<(Ledger<'d, 's>, Stop)> = None;
        for route in routes {
            let mut attempt = self.clone();
            match route(&mut attempt) {
                Ok(value) => {
                    *self = attempt;
                    return Ok(value);
                }
                Err(stop) => {
                    let missing = |it: &Ledger<'_, '_>| it.account.missing.len();
                    if nearest.as_ref().is_none_or(|(it, _)| missing(&attempt) < missing(it)) {
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

    /// A step that several quantities share: computed once a pass, its account taken over by each.
    pub(super) fn shared<T: 'static>(
        &mut self,
        step: &'static str,
        compute: fn(&mut Ledger<'d, 's>) -> Result<T, Stop>,
    ) -> Result<Rc<T>, Stop> {
        let (outcome, account) = match self.bench.recall(step) {
            Some(known) => known,
            None => {
                let mut own = Ledger::new(self.bench);
                let outcome = compute(&mut own).map(|it| Rc::new(it) as Rc<dyn Any>);
                let made = (outcome, own.account);
                self.bench.remember(step, made.clone());
                made
            }
        };
        if self.bench.keeps_account {
            self.account.add(&account);
        }
        // A step has one type, so this cannot fail; a refusal is still better than a panic.
        outcome?.downcast::<T>().map_err(|_| {
            Stop::Refused(PhysicsError::not_converged(format!("{step} has two types")))
        })
    }

    pub(super) fn no_value(&self, stop: Stop) -> NoValue {
        match stop {
            Stop::Missing => NoValue::Missing(self.account.missing.iter().cloned().collect()),
            Stop::NotApplicable(why) => NoValue::NotApplicable(why),
            Stop::Refused(why) => NoValue::Refused(why.to_string()),
        }
    }
}
