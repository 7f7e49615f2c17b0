//! How one quantity answers to what moves it.

use domain::unit::Dimension;

use crate::quantity::{
    Spec,
    bench::{Shape, Variable},
    propagate::{Moved, Sides},
};

/// A quantity and its answers.
#[derive(Debug, Clone)]
pub(super) struct Model {
    value: f64,
    /// Whether answers multiply: they are kept as logarithms then.
    product: bool,
    /// The least that there can be.
    floor: f64,
    effects: Vec<Effect>,
    /// The sources of the effects, in their order.
    sources: Vec<usize>,
}

/// What a quantity is with a category read as each of its alternatives.
#[derive(Debug, Clone)]
pub(super) struct Slipped {
    pub(super) source: usize,
    /// In the order of the alternatives; `None` where there is no value then.
    pub(super) values: Vec<Option<f64>>,
}

/// The answer to one source, for each of its standard draws z.
#[derive(Debug, Clone, PartialEq)]
enum Effect {
    /// A power on each side of the recorded value: in t = ln(1 + r·z), r being the source's relative uncertainty.
    /// `near` where its law keeps r·z within [`NEAR`].
    Power { r: f64, near: bool, slope: Slope },
    /// A straight line on each side: in z.
    Straight { slope: Slope },
    /// One step for each alternative; the first is 0, as recorded.
    Steps(Vec<f64>),
}

/// Two straight lines that meet at 0: `mean·t + bend·|t|`.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Slope {
    mean: f64,
    bend: f64,
}

/// A source moves by the logarithm of its value only where its uncertainty is smaller than this share of it.
const WIDEST: f64 = 0.9;
/// The least share of its recorded value that a source is drawn at where formulas read it: at 0 they have no value.
const LEAST: f64 = 0.05;
/// No draw lies further from the recorded value than this, as a logarithm; it keeps every draw finite.
const FURTHEST: f64 = 40.0;
/// How far answers may bend at the recorded value, as a share of the answers, before the model is scaled (editorial: at
/// this bend the spread is still good to a few per cent).
const BEND: f64 = 0.1;
/// The model of a function that is not smooth is scaled by at most this, either way.
const MOST_SCALED: f64 = 10.0;

/// Logarithms of something, though their dimension does not say so: their answers add.
const LOGARITHMIC: &[&str] = &["crossover.tweeter_margin_oct"];
/// Heights of peaks above a level that is always there: never below 0.
const PEAKS: &[&str] = &["system.ripple_db", "crossover.ripple_db"];

impl Model {
    pub(super) fn new(
        spec: &Spec,
        value: f64,
        sides: &Moved,
        variables: &[Variable],
        slipped: &[Slipped],
    ) -> Self {
        let is_log = spec.dimension == Dimension::Level || LOGARITHMIC.contains(&spec.id);
        let moved = sides.values().flat_map(|it| [it.above, it.below.filter(|_| !it.mirrored)]);
        let others = slipped.iter().flat_map(|it| it.values.iter().copied());
        let all_positive = value > 0.0 && moved.chain(others).flatten().all(|it| it > 0.0);
        let product = !is_log && all_positive;
        let change = |to: f64| if product { (to / value).ln() } else { to - value };
        let mut it = Model {
            value,
            product,
            floor: if PEAKS.contains(&spec.id) { 0.0 } else { f64::MIN },
            effects: Vec::new(),
            sources: Vec::new(),
        };
        for (&source, sides) in sides {
            let relative = variables
                .get(source)
                .and_then(|it| Some(it.u / it.nominal?))
                .filter(|r| (is_log || product) && *r > 0.0 && *r < WIDEST);
            let near = |r: f64| variables.get(source).is_some_and(|it| r * furthest(it) <= NEAR);
            let relative = relative.map(|r| (r, near(r)));
            it.enter(source, two_sided(sides, change, relative));
        }
        for Slipped { source, values } in slipped {
            let steps = values.iter().map(|it| it.map_or(0.0, change));
            let steps: Vec<f64> = std::iter::once(0.0).chain(steps).collect();
            let moves = steps.iter().any(|it| *it != 0.0);
            it.enter(*source, moves.then_some(Effect::Steps(steps)));
        }
        it
    }

    fn enter(&mut self, source: usize, effect: Option<Effect>) {
        if let Some(effect) = effect {
            self.effects.push(effect);
            self.sources.push(source);
        }
    }

    pub(super) fn sources(&self) -> &[usize] {
        &self.sources
    }

    /// Whether one-sided answers differ so much that the model needs scaling; a product of powers and a straight line
    /// never do.
    pub(super) fn is_rough(&self) -> bool {
        let (mut bends, mut slopes) = (0.0, 0.0);
        for effect in &self.effects {
            let (size, slope) = match effect {
                Effect::Power { r, slope, .. } => (*r, slope),
                Effect::Straight { slope } => (1.0, slope),
                Effect::Steps(_) => continue,
            };
            bends += (size * slope.bend).powi(2);
            slopes += (size * slope.mean).powi(2);
        }
        bends > BEND * BEND * slopes
    }

    /// `n` draws, from the standard draws by source.
    pub(super) fn draws(&self, z: &[Option<Vec<f64>>], n: usize) -> Vec<f64> {
        let mut sum = vec![0.0; n];
        for (effect, &source) in self.effects.iter().zip(&self.sources) {
            if let Some(Some(z)) = z.get(source) {
                effect.add(z, &mut sum);
            }
        }
        for it in &mut sum {
            let moved = if self.product {
                self.value * it.clamp(-FURTHEST, FURTHEST).exp()
            } else {
                self.value + *it
            };
            *it = moved.max(self.floor);
        }
        sum
    }

    /// Scales the answers to variables so that the model spreads by `u` under the shifts of `drawn`, under which full
    /// computations do. A model that does not move at all cannot be scaled.
    pub(super) fn scale_to(&mut self, u: f64, drawn: &[Vec<f64>], variables: &[Variable]) {
        /// The spread of a product is not quite in proportion to its logarithms; each round takes up the rest.
        const ROUNDS: usize = 4;
        let z: Vec<Option<Vec<f64>>> = variables
            .iter()
            .enumerate()
            .map(|(place, of)| {
                let at = |shift: &Vec<f64>| shift.get(place).map_or(0.0, |by| by / of.u);
                self.sources.contains(&place).then(|| drawn.iter().map(at).collect())
            })
            .collect();
        let mut done = 1.0;
        for _ in 0..ROUNDS {
            let spread = deviation(&self.draws(&z, drawn.len()));
            let wanted = (done * u / spread).clamp(1.0 / MOST_SCALED, MOST_SCALED);
            if !wanted.is_finite() || spread <= 0.0 {
                return;
            }
            self.effects.iter_mut().for_each(|it| it.scale(wanted / done));
            done = wanted;
        }
    }
}

/// The answer to a variable with its two sides; `None` where it moves nothing.
///
/// A side without a value answers as the other one does.
fn two_sided(
    sides: &Sides,
    change: impl Fn(f64) -> f64,
    relative: Option<(f64, bool)>,
) -> Option<Effect> {
    let (above, below) = (sides.above.map(&change), sides.below.map(&change));
    let below = below.filter(|_| !sides.mirrored);
    let ends = relative.map_or([1.0, -1.0], |(r, _)| [r.ln_1p(), (-r).ln_1p()]);
    let (up, down) = (above.map(|it| it / ends[0]), below.map(|it| it / ends[1]));
    let (up, down) = (up.or(down)?, down.or(up)?);
    let slope = Slope { mean: (up + down) / 2.0, bend: (up - down) / 2.0 };
    (up != 0.0 || down != 0.0).then_some(match relative {
        Some((r, near)) => Effect::Power { r, near, slope },
        None => Effect::Straight { slope },
    })
}

/// How far a standard draw of a variable lies out at most.
fn furthest(of: &Variable) -> f64 {
    match of.shape {
        // The middle of the last of a million strata lies 4.9 out.
        Shape::Normal => 5.0,
        Shape::Rectangular => 3_f64.sqrt(),
        Shape::Triangular => 6_f64.sqrt(),
    }
}

impl Slope {
    fn at(self, t: f64) -> f64 {
        self.mean * t + self.bend * t.abs()
    }
}

impl Effect {
    fn add(&self, z: &[f64], sum: &mut [f64]) {
        let draws = sum.iter_mut().zip(z);
        match self {
            Effect::Power { r, near: true, slope } => {
                draws.for_each(|(sum, z)| *sum += slope.at(near_ln_1p((r * z).clamp(-NEAR, NEAR))));
            }
            Effect::Power { r, near: false, slope } => {
                draws.for_each(|(sum, z)| *sum += slope.at((1.0 + r * z).max(LEAST).ln()));
            }
            Effect::Straight { slope } => draws.for_each(|(sum, z)| *sum += slope.at(*z)),
            Effect::Steps(steps) => {
                for (sum, z) in draws {
                    let step = steps.iter().enumerate().find(|(number, _)| *number as f64 >= *z);
                    *sum += step.map_or(0.0, |(_, step)| *step);
                }
            }
        }
    }

    fn scale(&mut self, by: f64) {
        match self {
            Effect::Power { slope, .. } | Effect::Straight { slope } => {
                slope.mean *= by;
                slope.bend *= by;
            }
            Effect::Steps(_) => {}
        }
    }
}

/// [`near_ln_1p`] holds to this far either way.
const NEAR: f64 = 0.35;

/// ln(1 + x) for |x| ≤ 0.35 to 1e-10 of it: 2·artanh(x/(2 + x)) by its series, which several draws go through at once,
/// unlike the logarithm of the system.
fn near_ln_1p(x: f64) -> f64 {
    let s = x / (2.0 + x);
    let q = s * s;
    let high = 1.0 / 9.0 + q * (1.0 / 11.0 + q * (1.0 / 13.0 + q * (1.0 / 15.0)));
    2.0 * s * (1.0 + q * (1.0 / 3.0 + q * (1.0 / 5.0 + q * (1.0 / 7.0 + q * high))))
}

fn deviation(list: &[f64]) -> f64 {
    let n = list.len() as f64;
    let mean = list.iter().sum::<f64>() / n;
    (list.iter().map(|it| (it - mean).powi(2)).sum::<f64>() / (n - 1.0)).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against the standard library, over the whole range.
    #[test]
    fn the_series_is_the_logarithm() {
        for step in -350..=350 {
            let x = f64::from(step) / 1000.0;
            let (near, exact) = (near_ln_1p(x), x.ln_1p());
            assert!((near - exact).abs() <= 1e-10 * exact.abs(), "{x}: {near}, not {exact}");
        }
    }
}
