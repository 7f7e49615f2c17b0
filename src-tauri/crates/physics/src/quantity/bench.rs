//! One product on the bench: its findings resolved once, and the variables that carry uncertainty.
//!
//! Quantities are computed many times, each time with some variable moved a little. What does not change between
//! these passes is kept here; what a pass moves is its [`Shift`].

use std::{
    any::Any,
    cell::{OnceCell, RefCell},
    rc::Rc,
};

use rustc_hash::FxHashMap;

use domain::{
    dictionary::Kind,
    dossier::Dossier,
    finding::{Finding, Value},
    part::{Part, Role},
    reading,
    unit::Dimension,
};

use super::{
    fits::Fits,
    ledger::{Account, Stop},
};
use crate::{
    Air,
    crossover::landmarks::Landmarks,
    fit::{ImpedanceFit, vented::VentedFit},
    network::Network,
};

/// How a variable is spread about its nominal value.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Shape {
    /// A standard uncertainty as stated, or a fitted value.
    Normal,
    /// Anything between two limits alike: a rounding, a printed tolerance, a range of a handbook.
    Rectangular,
    /// Between two limits, the nearer to the middle the likelier: a guess.
    Triangular,
}

impl Shape {
    /// The standard uncertainty of a half width (JCGM 100:2008, 4.3.7 and 4.3.9); of a normal spread it is its own.
    pub(super) fn standard(self, half: f64) -> f64 {
        match self {
            Shape::Normal => half,
            Shape::Rectangular => half / 3_f64.sqrt(),
            Shape::Triangular => half / 6_f64.sqrt(),
        }
    }
}

/// One thing that is not known exactly.
#[derive(Debug, Clone)]
pub(super) struct Variable {
    /// The finding's address, or what is assumed. What stands after `#` tells apart variables of one source.
    pub(super) id: String,
    /// Its value when nothing is moved; `None` for a column of a fit, which has none of its own.
    pub(super) nominal: Option<f64>,
    /// Standard uncertainty, in the unit of the value.
    pub(super) u: f64,
    /// Its spread.
    pub(super) shape: Shape,
}

/// All variables met so far; a place in it stays the same for all passes.
#[derive(Debug, Default)]
pub(super) struct Registry {
    list: Vec<Variable>,
    place: FxHashMap<String, usize>,
}

impl Registry {
    fn enter(&mut self, id: &str, nominal: Option<f64>, u: f64, shape: Shape) -> usize {
        if let Some(place) = self.place.get(id) {
            return *place;
        }
        let place = self.list.len();
        self.list.push(Variable { id: id.to_owned(), nominal, u, shape });
        self.place.insert(id.to_owned(), place);
        place
    }
}

/// A finding that has a value, and the variable that it is.
#[derive(Debug)]
pub(super) struct Found<'d> {
    pub(super) finding: &'d Finding,
    pub(super) value: &'d Value,
    pub(super) address: String,
    /// Where it stands among the variables; `None` when it is exact, such as a count or a choice.
    pub(super) variable: Option<usize>,
}

/// Parameters fitted to a driver's sweep, with the factor L of their covariance C = L·Lᵀ.
///
/// Moving one column of L moves all parameters together, so that their correlations are kept exactly.
#[derive(Debug)]
pub(super) struct Fitted {
    pub(super) fit: ImpedanceFit,
    /// Rows are parameters (Re, Res, fs, Qms, K, n), columns independent variables.
    pub(super) factor: [[f64; 6]; 6],
    /// The variables of the columns.
    pub(super) variables: [usize; 6],
}

/// Parts of the network as variables, in the order of the parts list: of the value and of the series loss.
pub(super) type PartVariables = Vec<(Option<usize>, Option<usize>)>;

/// The standard uncertainty of a number and its spread; `None` where it is exact or no number.
pub(super) type Uncertainty<'f> = &'f dyn Fn(&Finding, &Value) -> Option<(f64, Shape)>;

/// What stays the same over all passes.
#[derive(Debug)]
pub(super) struct Inputs<'d> {
    pub(super) dossier: &'d Dossier,
    pub(super) air: Air,
    found: FxHashMap<Role, FxHashMap<&'d str, Found<'d>>>,
    registry: RefCell<Registry>,
    fits: &'d Fits,
    fitted: RefCell<FxHashMap<Role, Option<Rc<Fitted>>>>,
    /// The network with nominal values, once it was joined.
    pub(super) network: OnceCell<Network>,
    /// The same near direct current.
    pub(super) conducting: OnceCell<Network>,
    /// Where the figures of the network lie, once they were read.
    pub(super) landmarks: OnceCell<Landmarks>,
    parts: PartVariables,
}

/// What one pass moves.
#[derive(Debug, Clone, Copy)]
pub(super) enum Shift<'s> {
    /// Nothing: the nominal values.
    Nominal,
    /// One variable by an amount.
    One(usize, f64),
    /// Every variable by its own amount.
    All(&'s [f64]),
    /// One category or count is read as another.
    Other(&'s Other<'s>),
}

/// A category or count read as another than was recorded.
#[derive(Debug, Clone)]
pub(super) struct Other<'k> {
    /// The finding's address.
    pub(super) address: String,
    /// Its role; only the first part of a role enters quantities.
    pub(super) role: Role,
    /// Its key.
    pub(super) key: &'k str,
    /// As what it is read.
    pub(super) reading: Reading,
}

/// What a category, count or yes/no may be read as.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Reading {
    Choice(&'static str),
    Count(u32),
    Flag(bool),
}

/// What a step shared by several quantities gave.
type Shared = (Result<Rc<dyn Any>, Stop>, Account);

/// One pass over a product.
pub(super) struct Bench<'d, 's> {
    pub(super) inputs: &'s Inputs<'d>,
    shift: Shift<'s>,
    /// Whether the account of findings and assumptions is kept; only the nominal pass needs it.
    pub(super) keeps_account: bool,
    shared: RefCell<FxHashMap<&'static str, Shared>>,
    /// The nominal pass, whose steps serve where this pass moves nothing that they read.
    nominal: Option<&'s Bench<'d, 's>>,
}

impl<'d> Inputs<'d> {
    pub(super) fn new(
        dossier: &'d Dossier,
        air: Air,
        fits: &'d Fits,
        uncertainty: Uncertainty<'_>,
    ) -> Self {
        let mut registry = Registry::default();
        let mut found: FxHashMap<Role, FxHashMap<&str, Found<'_>>> = FxHashMap::default();
        for of in dossier.findings() {
            let of_role = found.entry(of.part.role).or_default();
            if of.part != Part::first(of.part.role) || of_role.contains_key(of.key.as_str()) {
                continue;
            }
            let Some(finding) = dossier.current(of.part, &of.key) else { continue };
            let Some(value) = finding.answer.value() else { continue };
            let address = finding.address();
            let variable = uncertainty(finding, value)
                .map(|(u, shape)| registry.enter(&address, number(value), u, shape));
            of_role.insert(&of.key, Found { finding, value, address, variable });
        }
        let parts = parts(dossier, &mut registry);
        Inputs {
            dossier,
            air,
            found,
            registry: RefCell::new(registry),
            fits,
            fitted: RefCell::default(),
            network: OnceCell::new(),
            conducting: OnceCell::new(),
            landmarks: OnceCell::new(),
            parts,
        }
    }

    pub(super) fn find(&self, role: Role, key: &str) -> Option<&Found<'d>> {
        self.found.get(&role)?.get(key)
    }

    pub(super) fn parts(&self) -> &PartVariables {
        &self.parts
    }

    pub(super) fn variables(&self) -> Vec<Variable> {
        self.registry.borrow().list.clone()
    }

    /// The place of a variable, which enters the list when it is met first.
    pub(super) fn variable(&self, id: &str, nominal: Option<f64>, u: f64, shape: Shape) -> usize {
        self.registry.borrow_mut().enter(id, nominal, u, shape)
    }

    /// The fit to a driver's free-air sweep with its variables; `None` where there is no sweep or no fit.
    pub(super) fn fitted(&self, role: Role) -> Option<Rc<Fitted>> {
        if let Some(known) = self.fitted.borrow().get(&role) {
            return known.clone();
        }
        let fitted = self.fit(role).map(Rc::new);
        self.fitted.borrow_mut().insert(role, fitted.clone());
        fitted
    }

    /// The fit to the two peaks of the system sweep; `None` where there is none that explains the sweep.
    pub(super) fn vented(&self) -> Option<&VentedFit> {
        self.fits.vented(self.dossier)
    }

    fn fit(&self, role: Role) -> Option<Fitted> {
        let fit = self.fits.driver(self.dossier, role)?;
        let covariance = nalgebra::Matrix6::from_fn(|i, j| fit.covariance[i][j]);
        let factor = covariance.cholesky()?.l();
        let variables = [1, 2, 3, 4, 5, 6].map(|n| {
            self.variable(&format!("fit to {}.sweep#{n}", role.word()), None, 1.0, Shape::Normal)
        });
        let factor = std::array::from_fn(|i| std::array::from_fn(|j| factor[(i, j)]));
        Some(Fitted { fit: fit.clone(), factor, variables })
    }
}

impl<'d, 's> Bench<'d, 's> {
    /// The pass with nominal values, which comes before all others.
    pub(super) fn nominal(inputs: &'s Inputs<'d>) -> Self {
        Bench {
            inputs,
            shift: Shift::Nominal,
            keeps_account: true,
            shared: RefCell::default(),
            nominal: None,
        }
    }

    /// A pass that moves something.
    pub(super) fn moved(nominal: &'s Bench<'d, 's>, shift: Shift<'s>) -> Self {
        Bench {
            inputs: nominal.inputs,
            shift,
            keeps_account: false,
            shared: RefCell::default(),
            nominal: Some(nominal),
        }
    }

    /// By how much this pass moves a variable.
    pub(super) fn shift(&self, variable: usize) -> f64 {
        match self.shift {
            Shift::Nominal | Shift::Other(_) => 0.0,
            Shift::One(of, by) => {
                if of == variable {
                    by
                } else {
                    0.0
                }
            }
            Shift::All(by) => by.get(variable).copied().unwrap_or(0.0),
        }
    }

    /// As what this pass reads a category or count, if it is another than was recorded.
    pub(super) fn other(&self, role: Role, key: &str) -> Option<Reading> {
        let Shift::Other(it) = self.shift else { return None };
        (it.role == role && it.key == key).then_some(it.reading)
    }

    pub(super) fn recall(&self, step: &'static str) -> Option<Shared> {
        if let Some(own) = self.shared.borrow().get(step) {
            return Some(own.clone());
        }
        let known = self.nominal?.shared.borrow();
        let (outcome, account) = known.get(step)?;
        let reads = match self.shift {
            Shift::Nominal => false,
            Shift::One(moved, _) => account.variables.contains(&moved),
            Shift::All(by) => {
                account.variables.iter().any(|it| by.get(*it).is_some_and(|by| *by != 0.0))
            }
            Shift::Other(it) => account.from.contains(&it.address),
        };
        // An account that this pass does not keep need not be copied.
        (!reads).then(|| (outcome.clone(), Account::default()))
    }

    pub(super) fn remember(&self, step: &'static str, what: Shared) {
        self.shared.borrow_mut().insert(step, what);
    }
}

/// The standard uncertainty of a number: as stated, else that of its last digit read (a rectangle of half a step).
pub(super) fn uncertainty(finding: &Finding, value: &Value) -> Option<(f64, Shape)> {
    let Value::Number { std_uncertainty, .. } = value else { return None };
    match std_uncertainty {
        Some(u) => Some((*u, Shape::Normal)),
        None => match finding.entry()?.kind {
            Kind::Number(dimension, _) => rounding(&finding.typed, dimension),
            _ => None,
        },
    }
    .filter(|(u, _)| u.is_finite() && *u > 0.0)
}

fn number(value: &Value) -> Option<f64> {
    match value {
        Value::Number { si, .. } => Some(*si),
        _ => None,
    }
}

/// Of the last digit typed, a rectangle.
pub(super) fn rounding(typed: &str, dimension: Dimension) -> Option<(f64, Shape)> {
    Some((reading::parse(typed, dimension).ok()?.rounding_u_si?, Shape::Rectangular))
}

/// As [`uncertainty`], without its shape.
pub(super) fn standard(finding: &Finding) -> Option<f64> {
    uncertainty(finding, finding.answer.value()?).map(|(u, _)| u)
}

/// Tolerance of a capacitor or coil without a printed one (common practice, no source).
pub(super) const TOLERANCE_ASSUMED: f64 = 0.1;
/// Tolerance of a resistor without a printed one (common practice, no source).
pub(super) const RESISTOR_TOLERANCE_ASSUMED: f64 = 0.05;

fn parts(dossier: &Dossier, registry: &mut Registry) -> PartVariables {
    use domain::network::ElementKind;
    let mut list = Vec::new();
    for it in dossier.network().unwrap_or_default() {
        let value = it.value_si.map(|value| {
            let tolerance = it.tolerance.unwrap_or(match it.kind {
                ElementKind::Resistor => RESISTOR_TOLERANCE_ASSUMED,
                _ => TOLERANCE_ASSUMED,
            });
            let u = value * tolerance / 3_f64.sqrt();
            registry.enter(&format!("crossover.{}", it.name), Some(value), u, Shape::Rectangular)
        });
        let loss = rounding(&it.loss_typed, Dimension::Resistance).map(|(u, shape)| {
            registry.enter(&format!("crossover.{}, loss", it.name), it.loss_ohm, u, shape)
        });
        list.push((value, loss));
    }
    list
}
