//! From the uncertainty of what was found to that of what follows from it.
//!
//! Each variable is moved by plus and minus its standard uncertainty, and all quantities that read it are computed
//! again. Half the difference is the variable's share of the uncertainty; shares add in squares, since the variables
//! are independent (fitted parameters enter by the columns of a factor of their covariance, which are). This is the
//! law of propagation of JCGM 100:2008, clause 5, with the sensitivities taken over the whole interval of ±u.
//!
//! Where the mean of the two lies too far from the nominal value, the function is not smooth over the interval (a
//! minimum that changes walls, a whole order, a peak that is cut off at 0). Then all variables are drawn at random
//! together (JCGM 101:2008) and the standard deviation of the results is taken. The draws of a variable depend on its
//! name only, so that they do not change when another finding is added.

use std::collections::BTreeMap;

use domain::draw::Stream;

use super::{
    Compute, Method, NoValue, Share,
    bench::{Bench, Shift, Variable},
    ledger::{Account, Ledger},
    strata,
};

/// How far the mean of both sides may lie from the nominal value, as a share of the uncertainty, before the function
/// counts as not smooth.
const CURVATURE: f64 = 0.35;
/// A variable with a smaller share of the squared uncertainty than this is moved to one side only.
const SMALL_SHARE: f64 = 0.01;
/// Stratified draws of a function that is not smooth: the standard deviation is then good to 6 % where one or two
/// variables weigh most, and to 9 % where many weigh alike.
const DRAWS: usize = 64;
/// The share of draws that must give a value.
const LEAST_DRAWN: f64 = 0.9;

/// A value that was computed, with the places of the variables that it read.
#[derive(Debug)]
pub(super) struct Nominal {
    /// Which quantity.
    pub(super) quantity: usize,
    pub(super) value: f64,
    pub(super) variables: Vec<usize>,
}

impl Nominal {
    /// Of a quantity that has a value.
    pub(super) fn of(
        quantity: usize,
        value: &Result<f64, NoValue>,
        account: &Account,
    ) -> Option<Self> {
        let variables = account.variables.iter().copied().collect();
        value.as_ref().ok().map(|&value| Nominal { quantity, value, variables })
    }
}

/// What is known of the uncertainty of one value.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Spread {
    /// Standard uncertainty; `None` where too few draws gave a value.
    pub(super) u: Option<f64>,
    pub(super) method: Method,
    /// The greatest shares first.
    pub(super) shares: Vec<Share>,
}

/// A value with one of its variables moved by its uncertainty; `None` where there is no value then.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Sides {
    /// Moved up.
    pub(super) above: Option<f64>,
    /// Moved down.
    pub(super) below: Option<f64>,
    /// Whether the lower side was not computed, but taken as far away as the upper one.
    pub(super) mirrored: bool,
}

/// The sides of one value, by the places of its variables.
pub(super) type Moved = BTreeMap<usize, Sides>;

/// The uncertainty of each nominal value, in their order.
pub(super) fn propagate(
    bench: &Bench<'_, '_>,
    all: &[Compute],
    nominal: &[Nominal],
) -> Vec<Spread> {
    let variables = bench.inputs.variables();
    let sides = sides(bench, all, nominal, &variables);
    let mut spreads: Vec<Option<Spread>> =
        nominal.iter().zip(&sides).map(|(of, sides)| first_order(of, sides, &variables)).collect();
    let rough: Vec<usize> =
        spreads.iter().enumerate().filter(|(_, it)| it.is_none()).map(|(at, _)| at).collect();
    if !rough.is_empty() {
        let drawn = draw(bench, all, nominal, &rough, &variables);
        for (at, results) in rough.into_iter().zip(drawn.results) {
            let shares = shares(&sides[at], &variables, nominal[at].value);
            spreads[at] =
                Some(Spread { u: deviation(&results), method: Method::MonteCarlo, shares });
        }
    }
    spreads.into_iter().flatten().collect()
}

/// What each quantity is with each of its variables moved up and down.
///
/// Downwards only those are moved that matter upwards; of the others the change is taken as the same on both sides,
/// which is wrong by less than their own small share.
pub(super) fn sides(
    bench: &Bench<'_, '_>,
    all: &[Compute],
    nominal: &[Nominal],
    variables: &[Variable],
) -> Vec<Moved> {
    let mut sides: Vec<Moved> = vec![BTreeMap::new(); nominal.len()];
    let moved = |place: usize, by: f64, readers: &[usize]| -> Vec<Option<f64>> {
        let bench = Bench::moved(bench, Shift::One(place, by));
        let value = |&it: &usize| all[nominal[it].quantity](&mut Ledger::new(&bench)).ok();
        readers.iter().map(value).collect()
    };
    let readers: Vec<Vec<usize>> = (0..variables.len())
        .map(|place| {
            (0..nominal.len()).filter(|&it| nominal[it].variables.contains(&place)).collect()
        })
        .collect();
    for (place, readers) in readers.iter().enumerate().filter(|(_, it)| !it.is_empty()) {
        for (&reader, above) in readers.iter().zip(moved(place, variables[place].u, readers)) {
            sides[reader].insert(place, Sides { above, below: None, mirrored: false });
        }
    }
    let total: Vec<f64> = sides
        .iter()
        .zip(nominal)
        .map(|(sides, of)| sides.values().map(|it| squared(it.above, of.value)).sum())
        .collect();
    for (place, readers) in readers.iter().enumerate() {
        let (matter, small): (Vec<usize>, Vec<usize>) = readers.iter().partition(|&&reader| {
            let above = sides[reader].get(&place).and_then(|it| it.above);
            let value = nominal[reader].value;
            // A value of 0 may be one that is cut off there, flat on one side only.
            squared(above, value) > SMALL_SHARE * total[reader] || value.abs() <= 0.0
        });
        if !matter.is_empty() {
            for (&reader, below) in matter.iter().zip(moved(place, -variables[place].u, &matter)) {
                if let Some(it) = sides[reader].get_mut(&place) {
                    it.below = below;
                }
            }
        }
        for reader in small {
            if let Some(it) = sides[reader].get_mut(&place) {
                it.below = it.above.map(|above| 2.0 * nominal[reader].value - above);
                it.mirrored = true;
            }
        }
    }
    sides
}

/// The squared change; without end where there is no value.
fn squared(above: Option<f64>, nominal: f64) -> f64 {
    above.map_or(f64::INFINITY, |it| (it - nominal).powi(2))
}

/// `None` where the function is not smooth.
fn first_order(of: &Nominal, sides: &Moved, variables: &[Variable]) -> Option<Spread> {
    let u = smooth_u(of.value, sides)?;
    let method = if sides.is_empty() { Method::Exact } else { Method::FirstOrder };
    Some(Spread { u: Some(u), method, shares: shares(sides, variables, of.value) })
}

/// The standard uncertainty of a value by the law of propagation; `None` where the function is not smooth.
pub(super) fn smooth_u(value: f64, sides: &Moved) -> Option<f64> {
    let (mut variance, mut bend) = (0.0, 0.0);
    for both in sides.values() {
        let (above, below) = (both.above?, both.below?);
        variance += ((above - below) / 2.0).powi(2);
        bend += ((above + below) / 2.0 - value).powi(2);
    }
    // A last digit is no bend.
    (bend.sqrt() <= CURVATURE * variance.sqrt() + 1e-9 * value.abs()).then(|| variance.sqrt())
}

fn shares(sides: &Moved, variables: &[Variable], nominal: f64) -> Vec<Share> {
    let mut squares: BTreeMap<&str, f64> = BTreeMap::new();
    for (place, both) in sides {
        let Some(variable) = variables.get(*place) else { continue };
        let u = (both.above.unwrap_or(nominal) - both.below.unwrap_or(nominal)) / 2.0;
        let source = variable.id.split('#').next().unwrap_or_default();
        *squares.entry(source).or_default() += u * u;
    }
    let mut shares: Vec<Share> = squares
        .into_iter()
        .filter(|(_, square)| *square > 0.0)
        .map(|(source, square)| Share { source: source.to_owned(), u: square.sqrt() })
        .collect();
    shares.sort_by(|a, b| b.u.total_cmp(&a.u).then_with(|| a.source.cmp(&b.source)));
    shares
}

/// All variables drawn at random together, again and again.
#[derive(Debug)]
pub(super) struct Drawn {
    /// By how much each draw moved each variable.
    pub(super) shifts: Vec<Vec<f64>>,
    /// Of each rough quantity, what each draw gave; `None` where it gave no value.
    pub(super) results: Vec<Vec<Option<f64>>>,
}

/// Computes the rough quantities in random draws of all variables.
pub(super) fn draw(
    bench: &Bench<'_, '_>,
    all: &[Compute],
    nominal: &[Nominal],
    rough: &[usize],
    variables: &[Variable],
) -> Drawn {
    let deviates: Vec<Option<Vec<f64>>> = variables
        .iter()
        .enumerate()
        .map(|(place, of)| {
            let read = rough.iter().any(|&it| nominal[it].variables.contains(&place));
            read.then(|| shuffled(of))
        })
        .collect();
    let mut results = vec![Vec::with_capacity(DRAWS); rough.len()];
    let mut shifts = Vec::with_capacity(DRAWS);
    for draw in 0..DRAWS {
        let by = |(of, list): (&Variable, &Option<Vec<f64>>)| {
            list.as_ref().map_or(0.0, |list| of.u * list[draw])
        };
        let shift: Vec<f64> = variables.iter().zip(&deviates).map(by).collect();
        let bench = Bench::moved(bench, Shift::All(&shift));
        for (results, &at) in results.iter_mut().zip(rough) {
            results.push(all[nominal[at].quantity](&mut Ledger::new(&bench)).ok());
        }
        shifts.push(shift);
    }
    Drawn { shifts, results }
}

/// The deviates of a variable, in an order that depends on its name alone.
fn shuffled(of: &Variable) -> Vec<f64> {
    let mut list = strata::deviates(of.shape, DRAWS);
    Stream::named(&of.id).shuffle(&mut list);
    list
}

/// The standard deviation of draws; `None` where too few gave a value.
pub(super) fn deviation(results: &[Option<f64>]) -> Option<f64> {
    let values = || results.iter().flatten();
    let n = values().count() as f64;
    if n < LEAST_DRAWN * results.len() as f64 {
        return None;
    }
    let mean = values().sum::<f64>() / n;
    Some((values().map(|it| (it - mean).powi(2)).sum::<f64>() / (n - 1.0)).sqrt())
}
