//! Value points: how much more a product scores than its price usually buys.
//!
//! `V_i = S_i - expected(p_i)`, with the expectation fitted to the others, since a product must not set its own bar: a line
//! of the score on the logarithm of the price (Theil and Sen) that does not fall, or with few products the median
//! score. Score on price, not price on score, since price is known well and the score carries the error; where price says
//! nothing the line is flat and value ranks by score. Score divided by price is not offered: it depends on where the scale
//! has its 0 and mostly ranks cheapness.

mod drawn;
mod limits;

pub use drawn::{DrawnValue, LEAST, WORK, affordable, drawn_value};
pub use limits::curve_limits;

use crate::gates::{MIN_CURVE, MIN_FLAT};
pub use crate::offered::Offered;
use crate::rank::quantise;
use crate::summary::BadQuantile;
pub use crate::theil_sen::Line;
use crate::theil_sen::{MAX_POINTS, Slopes, median, rising_line};

/// By how much the prices of the reference set reach beyond the band, as a factor on either side. Editorial: what a little
/// more or less money buys tells what this money should.
pub const WIDENING: f64 = 1.5;

/// Confidence level of the slope's interval.
pub const SLOPE_LEVEL: f64 = 0.9;

/// Whether a real price per pair serves the curve of the band from `low` up to `high`: `low / 1.5 <= price < high * 1.5`, all
/// in currency units, compared at a millionth.
#[must_use]
pub fn serves(price: f64, low: f64, high: f64) -> bool {
    (quantise(low / WIDENING)..quantise(high * WIDENING)).contains(&quantise(price))
}

/// What kind of expectation so many products allow.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Fit {
    /// None: fewer than [`MIN_FLAT`].
    None,
    /// The median score: fewer than [`MIN_CURVE`].
    Flat,
    /// A line of the score on the logarithm of the price.
    Line,
}

impl Fit {
    /// For a reference set of `n` products, the one that is judged among them.
    #[must_use]
    pub fn of(n: usize) -> Self {
        match n {
            _ if n < MIN_FLAT => Fit::None,
            _ if n < MIN_CURVE => Fit::Flat,
            _ => Fit::Line,
        }
    }
}

/// What the prices of a reference set usually buy, and who gives more.
#[derive(Debug, Clone, PartialEq)]
pub struct ValuePoints {
    /// The kind of expectation.
    pub fit: Fit,
    /// How many products it rests on; each fit leaves one of them out.
    pub n_fit: usize,
    /// The expectation from all of them, to be drawn: points over the natural logarithm of the price. `None` when there is
    /// none.
    pub curve: Option<Line>,
    /// The 90 % interval of the slope (Sen 1968), points for each factor e in price, not held to 0. Only with a line, and
    /// `None` where all prices are equal.
    pub slope_interval: Option<(f64, f64)>,
    /// For each product, what its price buys by the others, points. Empty when there is no expectation.
    pub expected: Vec<f64>,
    /// For each product its value, points. Empty when there is no expectation.
    pub value: Vec<f64>,
}

impl ValuePoints {
    /// Whether price says little about the score here: a line is fitted and the interval of its slope contains 0, or all
    /// prices are equal.
    #[must_use]
    pub fn price_says_little(&self) -> bool {
        self.fit == Fit::Line
            && self.slope_interval.is_none_or(|(low, high)| low <= 0.0 && high >= 0.0)
    }
}

/// Products of which no value can be computed. Places count from 1 in the order given.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum BadValue {
    /// A price that is none.
    #[error(
        "the price {price} of product {place} is out of range; give a finite number above 0, in currency units per pair"
    )]
    Price {
        /// Which product.
        place: usize,
        /// The price found.
        price: f64,
    },
    /// A score outside the scale.
    #[error("the score {score} of product {place} is out of range; give points from 0 to 100")]
    Score {
        /// Which product.
        place: usize,
        /// The score found.
        score: f64,
    },
    /// More products than a fit takes.
    #[error("there are {found} products; a curve is fitted to at most 2000")]
    TooMany {
        /// How many there are.
        found: usize,
    },
    /// Two products of one name, which would share their random numbers.
    #[error("two products have the key {key:?}; keys must differ")]
    Key {
        /// The key.
        key: String,
    },
    /// Fewer draws of the weights than are asked for, or none asked for.
    #[error(
        "{wanted} draws are asked for and {found} draws of the weights are given; ask for 1 to that many"
    )]
    Draws {
        /// How many are asked for.
        wanted: usize,
        /// How many there are.
        found: usize,
    },
    /// A product with another number of subsystems than there are weights.
    #[error(
        "product {place} has {found} subsystems and a draw has {wanted} weights; they must be as many"
    )]
    Parts {
        /// Which product.
        place: usize,
        /// How many subsystems it has.
        found: usize,
        /// How many weights there are.
        wanted: usize,
    },
    /// Values that no quantile can be taken of.
    #[error(transparent)]
    Quantile(#[from] BadQuantile),
}

/// Value points from pairs of real price per pair (currency units) and index (points), in their order.
///
/// With n products: below [`MIN_FLAT`] nothing; below [`MIN_CURVE`] the expectation is the median score of the others; from
/// there `max(0, b) ln p + a` by Theil and Sen on the others, with `a` the median of `S - b ln p`. The limits follow from a
/// simulation (prices 150 to 300, noise of 8 points, one product in ten 20 points too low): below 10 a line predicts worse
/// than the median unless price matters strongly. With a dozen products the expectation is itself good to 4 or 5 points.
///
/// # Errors
/// [`BadValue`] for a price that is not finite and above 0, a score outside 0 to 100, and more than 2000 products.
pub fn value_points(points: &[(f64, f64)]) -> Result<ValuePoints, BadValue> {
    checked(points)?;
    let n = points.len();
    let fit = Fit::of(n);
    let (x, y): (Vec<f64>, Vec<f64>) =
        points.iter().map(|&(price, score)| (price.ln(), score)).unzip();
    let mut slopes = Slopes::default();
    if fit == Fit::Line {
        slopes.refill(&x, &y);
    }
    let mut curves = Curves { fit, x: &x, y: &y, slopes: &slopes, scratch: Vec::new() };
    let mut counts = vec![1; n];
    let mut members: Vec<u16> = (0..).take(n).collect();
    let curve = curves.through(&counts, &members);
    let mut expected = Vec::new();
    for i in 0..n {
        counts[i] = 0;
        // The product that stood at the end takes the place of the one left out.
        let left_out = members.swap_remove(i);
        let line = curves.through(&counts, &members);
        expected.extend(line.map(|it| it.at(x[i])));
        members.push(left_out);
        members.swap(i, n - 1);
        counts[i] = 1;
    }
    let value = y.iter().zip(&expected).map(|(score, expected)| score - expected).collect();
    let slope_interval = match fit {
        Fit::Line => slopes.interval(&y, SLOPE_LEVEL),
        Fit::None | Fit::Flat => None,
    };
    Ok(ValuePoints { fit, n_fit: n, curve, slope_interval, expected, value })
}

/// Refuses what no curve can be fitted to.
fn checked(points: &[(f64, f64)]) -> Result<(), BadValue> {
    if points.len() > MAX_POINTS {
        return Err(BadValue::TooMany { found: points.len() });
    }
    for (place, &(price, score)) in (1..).zip(points) {
        if !(price.is_finite() && price > 0.0) {
            return Err(BadValue::Price { place, price });
        }
        if !(0.0..=100.0).contains(&score) {
            return Err(BadValue::Score { place, score });
        }
    }
    Ok(())
}

/// The expectations from different selections of one set of products.
struct Curves<'a> {
    fit: Fit,
    x: &'a [f64],
    y: &'a [f64],
    slopes: &'a Slopes,
    scratch: Vec<f64>,
}

impl Curves<'_> {
    /// The expectation from `members`, each of which stands there `counts` times; `None` where there is none.
    fn through(&mut self, counts: &[u16], members: &[u16]) -> Option<Line> {
        match self.fit {
            Fit::None => None,
            Fit::Flat => {
                self.scratch.clear();
                self.scratch.extend(members.iter().map(|&it| self.y[usize::from(it)]));
                Some(Line { slope: 0.0, intercept: median(&mut self.scratch)? })
            }
            Fit::Line => {
                rising_line((self.x, self.y), self.slopes, counts, members, &mut self.scratch)
            }
        }
    }
}

#[cfg(test)]
mod tests;
