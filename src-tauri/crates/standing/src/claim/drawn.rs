//! What is drawn of an attribute of all products of a scope, draw by draw, and the ranks that follow.

use super::Reading;
use crate::{
    acceptability::{Acceptability, BadAcceptability, acceptability},
    profile::{BadProfile, Profile},
    rank::quantise,
    summary::{BadQuantile, quantiles},
    weighting::{BadWeighting, Weightings},
};

/// An attribute of the products in the same draws.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawn {
    /// A list a product; points, or a quantity carried over to 0..100.
    rows: Vec<Vec<f64>>,
    /// At the weights asked for, over the finding draws alone.
    fixed: Vec<Vec<f64>>,
    /// What a point is worth, and where the scale has its 0.
    scale: (f64, f64),
    /// The least difference worth a word, in points of the scale.
    least: f64,
}

/// Draws that cannot be used.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum BadDraws {
    /// Profiles or weights that do not fit.
    #[error(transparent)]
    Ranks(#[from] BadAcceptability),
    /// Weights that are none.
    #[error(transparent)]
    Weights(#[from] BadWeighting),
    /// No draws.
    #[error(transparent)]
    Profile(#[from] BadProfile),
    /// Values of which no quantile can be taken.
    #[error(transparent)]
    Quantile(#[from] BadQuantile),
}

impl Drawn {
    /// Scores: with drawn `weights` for what is ranked, with those `asked` for to say how far apart they are. Differences
    /// below `least` points are not worth a word ([`crate::gates::DELTA_S`] for scores).
    #[must_use]
    pub fn of_profiles(
        profiles: &[Profile<'_>],
        weights: &Weightings,
        asked: &[f64],
        least: f64,
    ) -> Self {
        let draws = || 0..weights.draws();
        let of = |it: &Profile<'_>| -> Vec<f64> {
            draws().map(|d| it.score(weights.row(d), it.place(d)).clamp(0.0, 100.0)).collect()
        };
        let at = |it: &Profile<'_>| -> Vec<f64> {
            draws().map(|d| it.score(asked, it.place(d)).clamp(0.0, 100.0)).collect()
        };
        Drawn {
            rows: profiles.iter().map(of).collect(),
            fixed: profiles.iter().map(at).collect(),
            scale: (0.0, 1.0),
            least,
        }
    }

    /// The same where points stand for a quantity: `low + width * points`.
    #[must_use]
    pub fn scaled(self, low: f64, width: f64) -> Self {
        Drawn { scale: (low, width), ..self }
    }

    /// How many products.
    #[must_use]
    pub fn n(&self) -> usize {
        self.rows.len()
    }

    pub(super) fn draws(&self) -> usize {
        self.rows.first().map_or(0, Vec::len)
    }

    /// The least difference worth a word, in points of the scale.
    pub(super) fn least(&self) -> f64 {
        self.least
    }

    /// The products without the one at `place`, or with their scale turned round.
    pub(super) fn turned(&self, round: bool) -> Self {
        if !round {
            return self.clone();
        }
        let turn = |rows: &[Vec<f64>]| {
            rows.iter().map(|row| row.iter().map(|it| 100.0 - it).collect()).collect()
        };
        Drawn { rows: turn(&self.rows), fixed: turn(&self.fixed), ..*self }
    }

    /// Ranks over the draws, the highest first.
    pub(super) fn ranks(&self, threads: usize) -> Result<Acceptability, BadDraws> {
        let slices: Vec<[Option<&[f64]>; 1]> =
            self.rows.iter().map(|it| [Some(it.as_slice())]).collect();
        let profiles =
            slices.iter().map(|it| Profile::new(it, 0, None)).collect::<Result<Vec<_>, _>>()?;
        let weights = Weightings::fixed(&[1.0], self.draws())?;
        Ok(acceptability(&profiles, &weights, threads)?)
    }

    /// 5, 50 and 95 % of what is drawn of a product at the weights asked for, in the unit of the quantity.
    ///
    /// # Errors
    /// [`BadDraws`] without draws.
    pub fn span(&self, at: usize) -> Result<(f64, f64, f64), BadDraws> {
        let (low, median, high) = span(&self.fixed[at])?;
        Ok((self.unit(low), self.unit(median), self.unit(high)))
    }

    /// Its middle at the weights asked for with the standard deviation around it, in the unit of the quantity.
    ///
    /// # Errors
    /// [`BadDraws`] without draws.
    pub fn reading(&self, at: usize) -> Result<Reading, BadDraws> {
        let values = &self.fixed[at];
        let (_, median, _) = span(values)?;
        let n = values.len() as f64;
        let mean = values.iter().sum::<f64>() / n;
        let variance = values.iter().map(|it| (it - mean).powi(2)).sum::<f64>() / n;
        Ok(Reading { value: self.unit(median), u: self.difference(variance.sqrt()) })
    }

    /// Some of the products, in that order.
    #[must_use]
    pub fn only(&self, places: &[usize]) -> Self {
        let of = |rows: &[Vec<f64>]| places.iter().map(|at| rows[*at].clone()).collect();
        Drawn { rows: of(&self.rows), fixed: of(&self.fixed), ..*self }
    }

    /// By how much product `i` is above `j` at the weights asked for: 5, 50 and 95 %, points of the scale.
    pub(super) fn above(&self, i: usize, j: usize) -> Result<(f64, f64, f64), BadDraws> {
        let differences: Vec<f64> =
            self.fixed[i].iter().zip(&self.fixed[j]).map(|(a, b)| a - b).collect();
        span(&differences)
    }

    /// The median lead of `i` over the best of the others, points of the scale.
    pub(super) fn lead(&self, i: usize) -> Result<f64, BadDraws> {
        let leads: Vec<f64> = (0..self.draws())
            .map(|d| {
                let others = (0..self.n()).filter(|j| *j != i).map(|j| self.fixed[j][d]);
                self.fixed[i][d] - others.fold(f64::NEG_INFINITY, f64::max)
            })
            .collect();
        Ok(span(&leads)?.1)
    }

    /// The share of draws in which `i` is above `j`, to the millionth of a point.
    pub(super) fn p_above(&self, i: usize, j: usize) -> f64 {
        let above = self.rows[i].iter().zip(&self.rows[j]);
        let count = above.filter(|(a, b)| quantise(**a) > quantise(**b)).count();
        count as f64 / self.draws().max(1) as f64
    }

    /// The values of one draw, to the millionth, in the unit of the scale.
    pub(super) fn draw(&self, d: usize) -> Vec<f64> {
        self.rows.iter().map(|row| quantise(row[d]) as f64).collect()
    }

    /// The middles at the weights asked for, rounded to the millionth of a point.
    pub(super) fn middles(&self) -> Result<Vec<f64>, BadDraws> {
        self.fixed.iter().map(|it| Ok(quantise(span(it)?.1) as f64)).collect()
    }

    fn unit(&self, points: f64) -> f64 {
        self.scale.0 + self.scale.1 * points
    }

    /// A difference of points in the unit of the quantity.
    #[must_use]
    pub fn difference(&self, points: f64) -> f64 {
        self.scale.1 * points
    }
}

fn span(values: &[f64]) -> Result<(f64, f64, f64), BadDraws> {
    match quantiles(values, &[0.05, 0.5, 0.95])?.as_deref() {
        Some(&[low, median, high]) => Ok((low, median, high)),
        _ => Err(BadDraws::Weights(BadWeighting::Empty)),
    }
}
