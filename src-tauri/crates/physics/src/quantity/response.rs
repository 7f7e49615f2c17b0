//! Random draws of all that can be read about one product, without computing it anew for each draw.
//!
//! The law of propagation moves each source of doubt by its standard uncertainty, up and down, and computes what reads
//! it. Those two sides are a model of each quantity, good for any number of draws (JCGM 101:2008): a product or a level
//! answers with a power of each source, anything else with a straight line to each side. Where the quantity is no
//! smooth function, its answers are scaled so that they spread as much as full computations do.
//!
//! A category or count seen by eye may be its neighbour instead: the quantities are computed once more with it.

mod model;
mod slip;

use std::{
    cell::RefCell,
    collections::{HashMap, HashSet},
};

use super::{
    ALL, Fits,
    bench::{self, Bench, Inputs, Other, Shape, Shift, Variable},
    computed, computes,
    ledger::Ledger,
    propagate::{self, Nominal},
    strata,
};
use crate::{
    Air,
    spread::{Relative, Spreads},
};
use domain::{
    dictionary::Kind,
    dossier::Dossier,
    draw::Stream,
    evidence::Evidence,
    finding::{Finding, Value},
    part::{Part, Role},
    unit::Dimension,
};
use model::{Model, Slipped};
use slip::{neighbours, reading};

/// How a source is spread.
#[derive(Debug, Clone, PartialEq)]
pub enum Law {
    /// Normal.
    Normal,
    /// Between two limits, all alike.
    Rectangular,
    /// Between two limits, the nearer to the middle the likelier.
    Triangular,
    /// As recorded, or one of the alternatives: the probabilities of alternatives 1, 2, …; the rest is 0, as recorded.
    Slip(Vec<f64>),
}

/// One thing that is not known exactly, independent of all others.
#[derive(Debug, Clone, PartialEq)]
pub struct Source {
    /// A finding's address, or what is assumed. What stands after `#` tells apart the columns of one fit.
    pub id: String,
    /// How it is spread.
    pub law: Law,
    /// How it is known: the grade of a finding, `inspected` for a part of the network, `None` for what is assumed or
    /// fitted.
    pub evidence: Option<Evidence>,
}

/// How all that can be read about one product answers to its sources of doubt.
#[derive(Debug, Clone)]
pub struct Responses<'d> {
    sources: Vec<Source>,
    quantities: HashMap<&'static str, Model>,
    numbers: HashMap<String, Number>,
    categories: HashMap<String, Category<'d>>,
    deviates: Deviates,
}

/// A finding that is a number.
#[derive(Debug, Clone, Copy)]
struct Number {
    source: usize,
    value: f64,
    u: f64,
    /// The physical limits of what is drawn.
    limits: (f64, f64),
}

/// A finding that is a category, a count or a yes/no.
#[derive(Debug, Clone)]
struct Category<'d> {
    source: usize,
    recorded: &'d Value,
    others: Vec<Value>,
}

/// How all that can be read about a product answers to its sources of doubt, in the given air.
///
/// An uncertainty that was stated holds; otherwise a number has the greater of the rounding of its last digit and the
/// spread of its grade. A value of 0, and what the maker promises (rated impedance and sensitivity), keep their rounding
/// only. Parts of the network, handbook figures and fitted parameters keep the uncertainties of
/// [`quantities`](super::quantities).
///
/// An alternative that would leave a quantity without a value is no doubt of degree, and does not move that quantity.
/// Box type, kind of network, and numbers of drivers and ports are what the product is: they do not slip.
///
/// `wanted` names the quantities whose response is asked for: each takes as long as the rest of an examination.
#[must_use]
pub fn responses<'d>(
    dossier: &'d Dossier,
    air: &Air,
    fits: &Fits,
    spreads: &Spreads,
    wanted: impl Fn(&str) -> bool,
) -> Responses<'d> {
    let graded = |finding: &Finding, value: &Value| graded(finding, value, spreads);
    let inputs = Inputs::new(dossier, *air, fits, &graded);
    let bench = Bench::nominal(&inputs);
    let (mut nominal, mut specs, mut from) = (Vec::new(), Vec::new(), Vec::new());
    let lines: Vec<_> = ALL.iter().filter(|(spec, _)| wanted(spec.id)).collect();
    for (place, line) in lines.iter().enumerate() {
        let (spec, value, account) = computed(line, &bench);
        if let Some(it) = Nominal::of(place, &value, &account) {
            nominal.push(it);
            specs.push(spec);
            from.push(account.from);
        }
    }
    let all = computes(&lines);
    let variables = inputs.variables();
    let mut it = Responses {
        sources: variables.iter().map(of_variable).collect(),
        quantities: HashMap::new(),
        numbers: HashMap::new(),
        categories: HashMap::new(),
        deviates: Deviates::default(),
    };
    for (value, loss) in inputs.parts() {
        for place in [value, loss].into_iter().flatten() {
            it.sources[*place].evidence = Some(Evidence::Inspected);
        }
    }
    let mut slipped: Vec<Vec<Slipped>> = vec![Vec::new(); nominal.len()];
    for finding in current(dossier) {
        let Some(value) = finding.answer.value() else { continue };
        let is_first = finding.part == Part::first(finding.part.role);
        if let Value::Number { si, .. } = value {
            let known = inputs.find(finding.part.role, &finding.key).filter(|_| is_first);
            it.number(finding, *si, known.and_then(|it| it.variable), graded(finding, value));
            continue;
        }
        let Some((source, others)) = it.category(finding, value, spreads) else { continue };
        let address = finding.address();
        let readers: Vec<usize> =
            (0..nominal.len()).filter(|&at| is_first && from[at].contains(&address)).collect();
        let mut values = vec![Vec::with_capacity(others.len()); readers.len()];
        // What a plugin declares, no quantity reads.
        for reading in
            others.iter().filter(|_| !readers.is_empty()).filter_map(|it| reading(finding, it))
        {
            let role = finding.part.role;
            let other = Other { address: address.clone(), role, key: &finding.key, reading };
            let moved = Bench::moved(&bench, Shift::Other(&other));
            for (values, &at) in values.iter_mut().zip(&readers) {
                values.push(all[nominal[at].quantity](&mut Ledger::new(&moved)).ok());
            }
        }
        for (values, &at) in values.into_iter().zip(&readers) {
            slipped[at].push(Slipped { source, values });
        }
    }
    let sides = propagate::sides(&bench, &all, &nominal, &variables);
    let mut models: Vec<Model> = (0..nominal.len())
        .map(|at| Model::new(specs[at], nominal[at].value, &sides[at], &variables, &slipped[at]))
        .collect();
    let rough: Vec<usize> = (0..nominal.len())
        .filter(|&at| {
            propagate::smooth_u(nominal[at].value, &sides[at]).is_none() || models[at].is_rough()
        })
        .collect();
    if !rough.is_empty() {
        let drawn = propagate::draw(&bench, &all, &nominal, &rough, &variables);
        for (&at, results) in rough.iter().zip(&drawn.results) {
            if let Some(u) = propagate::deviation(results) {
                models[at].scale_to(u, &drawn.shifts, &variables);
            }
        }
    }
    it.quantities = specs.iter().map(|it| it.id).zip(models).collect();
    it
}

impl Responses<'_> {
    /// All sources, those of no effect included; a place in this list is what the other functions call a source.
    #[must_use]
    pub fn sources(&self) -> &[Source] {
        &self.sources
    }

    /// `n` draws of one source, one in the middle of each of `n` equally likely strata, in random order: a Latin hypercube
    /// (McKay, Beckman, Conover, Technometrics 21 (1979) 239-245) with centred cells (H. D. Patterson, Journal of the
    /// Royal Statistical Society B 16 (1954) 140-149; from memory). Their order depends on the seed, the product and the
    /// source's id alone.
    ///
    /// Of a number: deviates of mean 0 and standard deviation 1. Of a slip: 0.0 or the number of the alternative. Empty
    /// where there is no such source.
    #[must_use]
    pub fn standard_draws(&self, source: usize, seed: u64, product: &str, n: usize) -> Vec<f64> {
        let Some(it) = self.sources.get(source) else { return Vec::new() };
        let mut list = match &it.law {
            // Half the time of a product would go into quantiles if each source asked for its own.
            Law::Normal => self.deviates.of(n),
            law => law.strata(n),
        };
        Stream::of(seed, "finding", product, &it.id).shuffle(&mut list);
        list
    }

    /// The sources that move a quantity, or the one of a finding; empty where it is exact or unknown.
    #[must_use]
    pub fn sources_of(&self, id: &str) -> &[usize] {
        if let Some(it) = self.quantities.get(id) {
            return it.sources();
        }
        let source = match (self.numbers.get(id), self.categories.get(id)) {
            (Some(it), _) => &it.source,
            (_, Some(it)) => &it.source,
            _ => return &[],
        };
        std::slice::from_ref(source)
    }

    /// `n` draws of a quantity or of a number finding, SI, levels in dB; `None` where it has no value, or where nothing
    /// moves it.
    ///
    /// `z` holds the standard draws by source, each `n` long; a source without any stays at its recorded value. A
    /// number finding that was recorded above 0 is held at 0 and above, a share at 1 and below.
    #[must_use]
    pub fn draws(&self, id: &str, z: &[Option<Vec<f64>>], n: usize) -> Option<Vec<f64>> {
        if let Some(it) = self.quantities.get(id) {
            return (!it.sources().is_empty()).then(|| it.draws(z, n));
        }
        let it = self.numbers.get(id)?;
        let mut list = vec![it.value; n];
        if let Some(Some(z)) = z.get(it.source) {
            for (value, z) in list.iter_mut().zip(z) {
                *value = (it.value + it.u * z).clamp(it.limits.0, it.limits.1);
            }
        }
        Some(list)
    }

    /// What a category, count or yes/no may be: its source, and the values by the numbers that the source draws: 0 as
    /// recorded, then its neighbours. `None` where it is taken as read.
    #[must_use]
    pub fn alternatives(&self, address: &str) -> Option<(usize, Vec<Value>)> {
        let it = self.categories.get(address)?;
        let all = std::iter::once(it.recorded).chain(&it.others);
        Some((it.source, all.cloned().collect()))
    }
}

impl<'d> Responses<'d> {
    fn enter(&mut self, id: String, law: Law, evidence: Evidence) -> usize {
        self.sources.push(Source { id, law, evidence: Some(evidence) });
        self.sources.len() - 1
    }

    /// Takes in a number; `variable` is its place among those that quantities read.
    fn number(
        &mut self,
        finding: &Finding,
        value: f64,
        variable: Option<usize>,
        spread: Option<(f64, Shape)>,
    ) {
        let Some((u, shape)) = spread else { return };
        let address = finding.address();
        let source = match variable {
            Some(it) => it,
            None => self.enter(address.clone(), shape.into(), finding.evidence),
        };
        if let Some(it) = self.sources.get_mut(source) {
            it.evidence = Some(finding.evidence);
        }
        let dimension = dimension(finding);
        let low = if value > 0.0 && dimension != Some(Dimension::Level) { 0.0 } else { f64::MIN };
        let high = if dimension == Some(Dimension::Fraction) { 1.0 } else { f64::MAX };
        self.numbers.insert(address, Number { source, value, u, limits: (low, high) });
    }

    /// Takes in what may slip, and gives its source and its neighbours.
    fn category(
        &mut self,
        finding: &Finding,
        recorded: &'d Value,
        spreads: &Spreads,
    ) -> Option<(usize, Vec<Value>)> {
        let others = neighbours(finding, recorded);
        let slip = spreads.slip(finding.evidence);
        if others.is_empty() || slip <= 0.0 {
            return None;
        }
        let law = Law::Slip(vec![slip / others.len() as f64; others.len()]);
        let source = self.enter(finding.address(), law, finding.evidence);
        let it = Category { source, recorded, others: others.clone() };
        self.categories.insert(finding.address(), it);
        Some((source, others))
    }
}

impl From<Shape> for Law {
    fn from(shape: Shape) -> Self {
        match shape {
            Shape::Normal => Law::Normal,
            Shape::Rectangular => Law::Rectangular,
            Shape::Triangular => Law::Triangular,
        }
    }
}

impl Law {
    /// What lies in the middle of each of `n` equally likely strata, with mean 0 and standard deviation 1; of a slip the
    /// numbers of alternatives.
    fn strata(&self, n: usize) -> Vec<f64> {
        match self {
            Law::Normal => strata::deviates(Shape::Normal, n),
            Law::Rectangular => strata::deviates(Shape::Rectangular, n),
            Law::Triangular => strata::deviates(Shape::Triangular, n),
            Law::Slip(shares) => strata::middles(n).map(|it| alternative(shares, it)).collect(),
        }
    }
}

/// The number of the alternative at a probability; 0 is what was recorded.
fn alternative(shares: &[f64], probability: f64) -> f64 {
    let mut end = 1.0 - shares.iter().sum::<f64>();
    let mut number = 0.0;
    for share in shares {
        if probability < end {
            break;
        }
        number += 1.0;
        end += share;
    }
    number
}

/// The strata of the normal law, as many as were asked for last.
#[derive(Debug, Clone, Default)]
struct Deviates(RefCell<Vec<f64>>);

impl Deviates {
    fn of(&self, n: usize) -> Vec<f64> {
        let mut kept = self.0.borrow_mut();
        if kept.len() != n {
            *kept = Law::Normal.strata(n);
        }
        kept.clone()
    }
}

fn of_variable(it: &Variable) -> Source {
    Source { id: it.id.clone(), law: it.shape.into(), evidence: None }
}

/// The findings that hold, each part and key once, in the order of the dossier.
fn current(dossier: &Dossier) -> Vec<&Finding> {
    let mut seen = HashSet::new();
    dossier
        .findings()
        .filter(|it| seen.insert((it.part, it.key.as_str())))
        .filter_map(|it| dossier.current(it.part, &it.key))
        .collect()
}

fn dimension(finding: &Finding) -> Option<Dimension> {
    match finding.entry()?.kind {
        Kind::Number(dimension, _) => Some(dimension),
        _ => None,
    }
}

/// What the maker promises is what he says, whatever the speaker does.
const PROMISES: &[(Role, &str)] = &[(Role::Whole, "rated_z"), (Role::Whole, "rated_sens")];

/// The standard uncertainty of a number, with its shape: as stated, else the greater of its rounding and of the spread
/// of its grade.
fn graded(finding: &Finding, value: &Value, spreads: &Spreads) -> Option<(f64, Shape)> {
    let Value::Number { si, std_uncertainty } = value else { return None };
    if let Some(u) = std_uncertainty {
        let shape = match finding.evidence {
            Evidence::Inferred => Shape::Triangular,
            _ => Shape::Normal,
        };
        return Some((*u, shape)).filter(|(u, _)| u.is_finite() && *u > 0.0);
    }
    let rounding = bench::uncertainty(finding, value);
    if *si == 0.0 || PROMISES.contains(&(finding.part.role, finding.key.as_str())) {
        return rounding;
    }
    let (share, shape) = match spreads.relative(finding.evidence) {
        Relative::Normal(u) => (u, Shape::Normal),
        Relative::Rectangular(half) => (half, Shape::Rectangular),
        Relative::Triangular(half) => (half, Shape::Triangular),
    };
    // A level is spread by what its amplitude is.
    let half = match dimension(finding)? {
        Dimension::Level => 20.0 * (1.0 + share).log10(),
        _ => share * si.abs(),
    };
    let spread = shape.standard(half);
    match rounding {
        Some((u, _)) if u >= spread => rounding,
        _ => Some((spread, shape)).filter(|(u, _)| *u > 0.0),
    }
}

#[cfg(test)]
mod tests;
