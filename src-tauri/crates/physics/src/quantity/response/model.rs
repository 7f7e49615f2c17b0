//! How one quantity answers to what moves it.

use domain::unit::Dimension;

use crate::quantity::{
    Spec,
    bench::Variable,
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
    /// A power on each side of the recorded value: `slope·ln(1 + r·z)`, r being the source's relative uncertainty.
    Power { r: f64, up: f64, down: f64 },
    /// A straight line on each side: `slope·z`.
    Straight { up: f64, down: f64 },
    /// One step for each alternative; the first is 0, as recorded.
    Steps(Vec<f64>),
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
            let (size, up, down) = match effect {
                Effect::Power { r, up, down } => (*r, up, down),
                Effect::Straight { up, down } => (1.0, up, down),
                Effect::Steps(_) => continue,
            };
            bends += (size * (up - down)).powi(2);
            slopes += (size * (up + down)).powi(2);
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
fn two_sided(sides: &Sides, change: impl Fn(f64) -> f64, relative: Option<f64>) -> Option<Effect> {
    let (above, below) = (sides.above.map(&change), sides.below.map(&change));
    let below = below.filter(|_| !sides.mirrored);
    let ends = relative.map_or([1.0, -1.0], |r| [r.ln_1p(), (-r).ln_1p()]);
    let (up, down) = (above.map(|it| it / ends[0]), below.map(|it| it / ends[1]));
    let (up, down) = (up.or(down)?, down.or(up)?);
    (up != 0.0 || down != 0.0).then_some(match relative {
        Some(r) => Effect::Power { r, up, down },
        None => Effect::Straight { up, down },
    })
}

impl Effect {
    fn add(&self, z: &[f64], sum: &mut [f64]) {
        match self {
            Effect::Power { r, up, down } => {
                for (sum, z) in sum.iter_mut().zip(z) {
                    let t = (1.0 + r * z).max(LEAST).ln();
                    *sum += if t > 0.0 { up * t } else { down * t };
                }
            }
            Effect::Straight { up, down } => {
                for (sum, z) in sum.iter_mut().zip(z) {
                    *sum += up * z.max(0.0) + down * z.min(0.0);
                }
            }
            Effect::Steps(steps) => {
                for (sum, z) in sum.iter_mut().zip(z) {
                    let step = steps.iter().enumerate().find(|(number, _)| *number as f64 >= *z);
                    *sum += step.map_or(0.0, |(_, step)| *step);
                }
            }
        }
    }

    fn scale(&mut self, by: f64) {
        match self {
            Effect::Power { up, down, .. } | Effect::Straight { up, down } => {
                *up *= by;
                *down *= by;
            }
            Effect::Steps(_) => {}
        }
    }
}

fn deviation(list: &[f64]) -> f64 {
    let n = list.len() as f64;
    let mean = list.iter().sum::<f64>() / n;
    (list.iter().map(|it| (it - mean).powi(2)).sum::<f64>() / (n - 1.0)).sqrt()
}
