//! Doubt about the order of a pair, and what is left of it when part of a spread is learnt.

use std::f64::consts::FRAC_PI_2;

use crate::{normal, profile::Profile, rank::quantise};

/// The drawn scores of a product at fixed weights.
#[derive(Debug)]
pub(super) struct Scores {
    /// Points, in the order of the finding draws.
    pub(super) points: Vec<f64>,
    /// Millionths of a point, sorted.
    pub(super) sorted: Vec<i64>,
    /// The finding draw of each place in `sorted`.
    pub(super) order: Vec<usize>,
    pub(super) mean: f64,
    /// Points squared; 0 where nothing is uncertain.
    pub(super) variance: f64,
}

impl Scores {
    #[expect(clippy::cast_precision_loss, reason = "counts of draws")]
    pub(super) fn new(profile: &Profile<'_>, weights: &[f64]) -> Self {
        let points: Vec<f64> = (0..profile.draws()).map(|d| profile.score(weights, d)).collect();
        let n = points.len() as f64;
        let mean = points.iter().sum::<f64>() / n;
        let squares: f64 = points.iter().map(|it| (it - mean).powi(2)).sum();
        let micro: Vec<i64> = points.iter().map(|it| quantise(*it)).collect();
        let mut order: Vec<usize> = (0..points.len()).collect();
        order.sort_by_key(|d| micro[*d]);
        let sorted: Vec<i64> = order.iter().map(|d| micro[*d]).collect();
        // Draws that agree to a millionth of a point differ by rounding.
        let certain = sorted.first() == sorted.last();
        Scores {
            variance: if certain { 0.0 } else { squares / (n - 1.0) },
            points,
            sorted,
            order,
            mean,
        }
    }

    /// The mean lead over another product in standard deviations of the lead; infinite between two certain ones.
    pub(super) fn lead(&self, other: &Scores) -> f64 {
        let variance = self.variance + other.variance;
        if variance > 0.0 { (self.mean - other.mean) / variance.sqrt() } else { f64::INFINITY }
    }

    /// The share of the pairs of draws in which this product is above the other, those level counted half.
    #[expect(clippy::cast_precision_loss, reason = "counts of draws")]
    pub(super) fn above(&self, other: &Scores) -> f64 {
        let mut sum = 0;
        self.each_below(&other.sorted, |_, twice| sum += twice);
        sum as f64 / (2.0 * self.sorted.len() as f64 * other.sorted.len() as f64)
    }

    /// For each place of the sorted draws: twice the number of `others` (sorted) below it, plus the number level.
    pub(super) fn each_below(&self, others: &[i64], mut found: impl FnMut(usize, usize)) {
        let (mut below, mut up_to) = (0, 0);
        for (at, score) in self.sorted.iter().enumerate() {
            while others.get(below).is_some_and(|it| it < score) {
                below += 1;
            }
            up_to = up_to.max(below);
            while others.get(up_to).is_some_and(|it| it <= score) {
                up_to += 1;
            }
            found(at, below + up_to);
        }
    }
}

/// The doubt about a pair whose first member is above with probability `c`.
pub(super) fn of(c: f64) -> f64 {
    2.0 * c.min(1.0 - c)
}

/// Nodes and weights of Gauss-Legendre quadrature with 16 points on -1 to 1, the positive half (numpy 2.4.6,
/// `leggauss(16)`; M. Abramowitz, I. Stegun, *Handbook of Mathematical Functions*, 1964, table 25.4).
const GAUSS: [(f64, f64); 8] = [
    (0.095_012_509_837_637_44, 0.189_450_610_455_068_64),
    (0.281_603_550_779_258_9, 0.182_603_415_044_923_67),
    (0.458_016_777_657_227_4, 0.169_156_519_395_002_63),
    (0.617_876_244_402_643_7, 0.149_595_988_816_576_8),
    (0.755_404_408_355_003, 0.124_628_971_255_533_87),
    (0.865_631_202_387_831_7, 0.095_158_511_682_492_6),
    (0.944_575_023_073_232_6, 0.062_253_523_938_647_456),
    (0.989_400_934_991_649_9, 0.027_152_459_411_754_176),
];

/// The expected fall of the doubt about a pair by the normal model: `lead` is the mean lead in its standard deviations,
/// `r` the share of its variance that is learnt (0 to 1).
///
/// The lead, once learnt, is `L' ~ N(L, r)` with the variance `1 - r` left, so the doubt left is `E 2 Phi(-|L'| /
/// sqrt(1 - r)) = 4 T(L, sqrt((1 - r) / r))`, which is `(2 / pi) int_0^b exp(-L^2 / (2 cos^2 x)) dx` with `b = acos
/// sqrt(r)`. The quadrature is good to 2e-6 from `r = 0.01` up, and to 2e-5 below.
pub(super) fn settled(lead: f64, r: f64) -> f64 {
    let half = r.clamp(0.0, 1.0).sqrt().acos() / 2.0;
    let square = lead * lead / 2.0;
    let at = |x: f64| (-square / x.cos().powi(2)).exp();
    let sum: f64 = GAUSS
        .iter()
        .map(|(node, weight)| weight * (at(half * (1.0 - node)) + at(half * (1.0 + node))))
        .sum();
    (2.0 * normal::cdf(-lead.abs()) - sum * half / FRAC_PI_2).max(0.0)
}
