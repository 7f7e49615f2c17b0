//! Draws of the weights of subsystems.
//!
//! Weights are rates of exchange: 0.35 for the driver and 0.30 for the cabinet say that 6 driver points buy 7 cabinet
//! points. How sure a reviewer is of them is a distribution over the simplex of shares: around stated weights, over
//! all of them, within limits, or over all that keep an order. The draws depend on the seed and on what was stated,
//! and on nothing else.

mod gamma;
mod limits;
mod stated;

use domain::draw::Stream;

use self::gamma::Gamma;
pub use self::stated::{BadStatement, kappa_from_sd, rank_order_centroid, swing};

/// Draws of weights: one row a draw, each summing to 1.
#[derive(Debug, Clone, PartialEq)]
pub struct Weightings {
    n_parts: usize,
    values: Vec<f64>,
}

/// Rows that are no draws of weights. Places count from 1.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum BadWeighting {
    /// No row, or rows without a weight.
    #[error("there are no weights; give at least one row of at least one weight")]
    Empty,
    /// A row of another length than the first.
    #[error("row {place} has {found} weights; the first has {wanted}")]
    Lengths {
        /// Which row.
        place: usize,
        /// How many weights it has.
        found: usize,
        /// How many the first has.
        wanted: usize,
    },
    /// A weight that is none.
    #[error("row {place} has the weight {weight}; write a number from 0 to 1")]
    Weight {
        /// Which row.
        place: usize,
        /// The weight found.
        weight: f64,
    },
    /// Weights that had to be shares and are not.
    #[error("the weights of row {place} sum to {sum}; they must sum to 1 within 1e-9")]
    Sum {
        /// Which row.
        place: usize,
        /// Their sum.
        sum: f64,
    },
    /// A concentration that is none.
    #[error("the concentration {kappa} is out of range; give a finite number above 0")]
    Concentration {
        /// The concentration found.
        kappa: f64,
    },
    /// Limits that leave no weights.
    #[error(
        "the limits of weight {place} are {low} and {high}; give two numbers from 0 to 1, the lower one first"
    )]
    Limits {
        /// Which weight.
        place: usize,
        /// Its lower limit.
        low: f64,
        /// Its upper limit.
        high: f64,
    },
    /// Limits that no shares keep.
    #[error(
        "no weights sum to 1 within the limits: the lower ones sum to {low}, the upper ones to {high}"
    )]
    NoRoom {
        /// The sum of the lower limits.
        low: f64,
        /// The sum of the upper limits.
        high: f64,
    },
    /// An order that does not name every weight once.
    #[error(
        "the order names weight {place} twice, or one that is not there; name each of {wanted} once"
    )]
    Order {
        /// The weight at fault, from 1.
        place: usize,
        /// How many weights there are.
        wanted: usize,
    },
}

impl Weightings {
    /// Weights as given, one row a draw.
    ///
    /// # Errors
    /// [`BadWeighting`] for no rows, rows of different lengths, a weight outside 0 to 1, or a row that does not sum
    /// to 1 within 1e-9.
    pub fn from_rows(rows: &[Vec<f64>]) -> Result<Self, BadWeighting> {
        let n_parts = rows.first().map_or(0, Vec::len);
        if n_parts == 0 {
            return Err(BadWeighting::Empty);
        }
        for (place, row) in (1..).zip(rows) {
            check(place, row, n_parts)?;
        }
        Ok(Weightings { n_parts, values: rows.concat() })
    }

    /// Draws around stated weights: Dirichlet with the parameters `kappa w`, so that weight k has the mean `w_k` and
    /// the variance `w_k (1 - w_k) / (kappa + 1)`. A weight of 0 stays 0.
    ///
    /// Made of gamma deviates divided by their sum (L. Devroye, *Non-Uniform Random Variate Generation*, 1986,
    /// chapter XI.4).
    ///
    /// # Errors
    /// [`BadWeighting`] for weights that are no shares, a concentration that is not above 0, or no draws.
    pub fn around(
        weights: &[f64],
        kappa: f64,
        draws: usize,
        seed: u64,
    ) -> Result<Self, BadWeighting> {
        let n_parts = some(weights.len(), draws)?;
        check(1, weights, n_parts)?;
        if !(kappa.is_finite() && kappa > 0.0) {
            return Err(BadWeighting::Concentration { kappa });
        }
        // Far beyond this the weights are fixed to the last bit, and sums of deviates would overflow.
        let kappa = kappa.min(1e300);
        let parts: Vec<_> =
            weights.iter().map(|w| (*w > 0.0).then(|| Gamma::new(kappa * w))).collect();
        let mut stream = Stream::of(seed, "weights", "", "");
        let mut values = Vec::with_capacity(n_parts * draws);
        for _ in 0..draws {
            let start = values.len();
            gamma::row(&parts, &mut stream, &mut values);
            shares(&mut values[start..]);
        }
        Ok(Weightings { n_parts, values })
    }

    /// Draws over all weights: every set of shares is equally likely (Dirichlet with all parameters 1), by exponential
    /// deviates divided by their sum (Devroye 1986, chapter V.2).
    ///
    /// # Errors
    /// [`BadWeighting::Empty`] for no weights or no draws.
    pub fn uniform(n_parts: usize, draws: usize, seed: u64) -> Result<Self, BadWeighting> {
        let n_parts = some(n_parts, draws)?;
        let mut stream = Stream::of(seed, "all weights", "", "");
        let mut values = vec![0.0; n_parts * draws];
        for row in values.chunks_exact_mut(n_parts) {
            anywhere(&mut stream, row);
        }
        Ok(Weightings { n_parts, values })
    }

    /// The same weights in every draw.
    ///
    /// # Errors
    /// [`BadWeighting`] for weights that are no shares, or no draws.
    pub fn fixed(weights: &[f64], draws: usize) -> Result<Self, BadWeighting> {
        let n_parts = some(weights.len(), draws)?;
        check(1, weights, n_parts)?;
        Ok(Weightings { n_parts, values: weights.repeat(draws) })
    }

    /// How many weights a draw has.
    #[must_use]
    pub fn n_parts(&self) -> usize {
        self.n_parts
    }

    /// How many draws there are.
    #[must_use]
    pub fn draws(&self) -> usize {
        self.values.len() / self.n_parts
    }

    /// The weights of draw `d`, which is below [`Weightings::draws`].
    #[must_use]
    pub fn row(&self, d: usize) -> &[f64] {
        &self.values[d * self.n_parts..(d + 1) * self.n_parts]
    }
}

/// The number of weights, when there are weights and draws.
fn some(n_parts: usize, draws: usize) -> Result<usize, BadWeighting> {
    if n_parts == 0 || draws == 0 { Err(BadWeighting::Empty) } else { Ok(n_parts) }
}

/// Divides a row by its sum, which is above 0.
fn shares(row: &mut [f64]) {
    let sum: f64 = row.iter().sum();
    row.iter_mut().for_each(|it| *it /= sum);
}

/// One draw over all weights.
fn anywhere(stream: &mut Stream, row: &mut [f64]) {
    for it in &mut *row {
        // The logarithm never sees 0, and the sum of the row is never 0.
        *it = -(1.0 - stream.unit()).ln() + f64::MIN_POSITIVE;
    }
    shares(row);
}

fn check(place: usize, row: &[f64], wanted: usize) -> Result<(), BadWeighting> {
    if row.len() != wanted {
        return Err(BadWeighting::Lengths { place, found: row.len(), wanted });
    }
    if let Some(&weight) = row.iter().find(|it| !(0.0..=1.0).contains(*it)) {
        return Err(BadWeighting::Weight { place, weight });
    }
    let sum: f64 = row.iter().sum();
    if (sum - 1.0).abs() > 1e-9 {
        return Err(BadWeighting::Sum { place, sum });
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{WEIGHTS, near};

    const DRAWS: usize = 40_000;

    /// The column of weight `k`.
    fn column(draws: &Weightings, k: usize) -> Vec<f64> {
        (0..draws.draws()).map(|d| draws.row(d)[k]).collect()
    }

    #[expect(clippy::cast_precision_loss, reason = "counts of draws")]
    fn moment(list: &[f64], of: impl Fn(f64) -> f64) -> f64 {
        list.iter().map(|it| of(*it)).sum::<f64>() / list.len() as f64
    }

    /// Fails unless a share of `list` is within four standard errors of `p`.
    #[track_caller]
    #[expect(clippy::cast_precision_loss, reason = "counts of draws")]
    fn share(list: &[f64], p: f64, holds: impl Fn(f64) -> bool) {
        let got = moment(list, |it| f64::from(u8::from(holds(it))));
        near(got, p, 4.0 * (p * (1.0 - p) / list.len() as f64).sqrt());
    }

    /// Variances and the 90 % range by `scipy.stats.dirichlet` and `scipy.stats.beta` (scipy 1.17.1). The tolerance
    /// is four standard errors of a sample variance, `sqrt((m4 - s^4) / n)`, of a mean, and of a share.
    #[test]
    fn check_6_2_draws_around_weights_have_the_moments_of_scipy_dirichlet() {
        let draws = Weightings::around(&WEIGHTS, 40.0, DRAWS, 1).unwrap();
        let variances: [f64; 4] =
            [0.005_121_951_2, 0.005_548_780_5, 0.004_573_170_7, 0.002_195_122_0];
        for (k, (w, variance)) in WEIGHTS.iter().zip(variances).enumerate() {
            let list = column(&draws, k);
            let got = moment(&list, |it| (it - w).powi(2));
            let fourth = moment(&list, |it| (it - w).powi(4));
            let root = (DRAWS as f64).sqrt();
            near(moment(&list, |it| it), *w, 4.0 * variance.sqrt() / root);
            near(got, variance, 4.0 * (fourth - variance * variance).sqrt() / root);
        }
        let driver = column(&draws, 1);
        share(&driver, 0.05, |it| it < 0.231_747_125_1);
        share(&driver, 0.05, |it| it > 0.476_888_054_6);
    }

    /// Under uniform shares of four, `P(w_1 > 1/2) = (1/2)^3`: the distribution is Beta(1, 3).
    #[test]
    fn check_6_2_one_of_four_uniform_weights_is_above_a_half_in_an_eighth_of_the_draws() {
        let draws = Weightings::uniform(4, DRAWS, 1).unwrap();
        for k in 0..4 {
            share(&column(&draws, k), 0.125, |it| it > 0.5);
        }
    }

    #[test]
    fn draws_are_shares_whatever_the_concentration_and_zero_stays_zero() {
        for kappa in [1e-320, 1e-9, 0.1, 1.0, 40.0, 1e12, f64::MAX] {
            let draws = Weightings::around(&[0.5, 0.0, 0.5 - 1e-12, 1e-12], kappa, 200, 3).unwrap();
            for d in 0..200 {
                let row = draws.row(d);
                check(d, row, 4).unwrap();
                near(row[1], 0.0, 0.0);
            }
        }
        assert_eq!(
            Weightings::around(&[1.0], 40.0, 2, 3).unwrap(),
            Weightings::fixed(&[1.0], 2).unwrap()
        );
        check(1, Weightings::uniform(1, 1, 3).unwrap().row(0), 1).unwrap();
    }

    #[test]
    fn a_seed_names_its_draws() {
        let of = |seed| Weightings::around(&WEIGHTS, 40.0, 20, seed).unwrap();
        assert_eq!(of(5), of(5));
        assert_ne!(of(5), of(6));
        let longer = Weightings::around(&WEIGHTS, 40.0, 30, 5).unwrap();
        assert!((0..20).all(|d| longer.row(d) == of(5).row(d)));
        let fixed = Weightings::fixed(&WEIGHTS, 3).unwrap();
        assert!((0..3).all(|d| fixed.row(d) == WEIGHTS));
    }

    #[test]
    fn what_are_no_weights_is_refused() {
        assert_eq!(Weightings::around(&[], 40.0, 1, 0), Err(BadWeighting::Empty));
        assert_eq!(Weightings::around(&WEIGHTS, 40.0, 0, 0), Err(BadWeighting::Empty));
        assert_eq!(Weightings::uniform(0, 1, 0), Err(BadWeighting::Empty));
        assert_eq!(Weightings::fixed(&WEIGHTS, 0), Err(BadWeighting::Empty));
        assert!(matches!(Weightings::fixed(&[0.5, 0.4], 1), Err(BadWeighting::Sum { .. })));
        for kappa in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            let error = Weightings::around(&WEIGHTS, kappa, 1, 0).unwrap_err();
            assert!(error.to_string().contains("above 0"), "{error}");
        }
    }
}
