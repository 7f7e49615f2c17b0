//! The rising step line nearest to the scores, whatever its shape.
//!
//! Pool adjacent violators: R. E. Barlow, D. J. Bartholomew, J. M. Bremner, H. D. Brunk, *Statistical Inference under Order
//! Restrictions* (1972, from memory); J. de Leeuw, K. Hornik, P. Mair, Journal of Statistical Software 32(5) (2009). A check of
//! the line, not a measure of value: it follows the cheapest and the dearest product too closely.

/// Values through which no line is laid. Places count from 1.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum BadIsotonic {
    /// Lists of different lengths.
    #[error("there are {x} values of x, {y} of y and {weights} weights; they must be as many")]
    Lengths {
        /// How many x.
        x: usize,
        /// How many y.
        y: usize,
        /// How many weights.
        weights: usize,
    },
    /// A value that is not finite or too large to be averaged.
    #[error("value {place} of {list} is {value}; give a number from -1e150 to 1e150")]
    Value {
        /// Which list, `x` or `y`.
        list: &'static str,
        /// Which value.
        place: usize,
        /// The value found.
        value: f64,
    },
    /// A weight that is none.
    #[error("weight {place} is {weight}; give a number from 1e-150 to 1e150")]
    Weight {
        /// Which weight.
        place: usize,
        /// The weight found.
        weight: f64,
    },
}

/// Values beyond this have sums of products beyond the range of numbers.
const LARGEST: f64 = 1e150;

/// The non-decreasing values at `x` that minimise `sum w (y - fit)^2`, in the order given; all weights are 1 where none are
/// given.
///
/// Equal x are averaged first, their weights added. Units are those of `y`. Takes O(n log n).
///
/// # Errors
/// [`BadIsotonic`] for lists of different lengths, x or y that are not finite and within 1e150, and weights that are not from
/// 1e-150 to 1e150.
pub fn isotonic(x: &[f64], y: &[f64], weights: Option<&[f64]>) -> Result<Vec<f64>, BadIsotonic> {
    let weight_count = weights.map_or(x.len(), <[f64]>::len);
    if y.len() != x.len() || weight_count != x.len() {
        return Err(BadIsotonic::Lengths { x: x.len(), y: y.len(), weights: weight_count });
    }
    for (list, values) in [("x", x), ("y", y)] {
        if let Some((place, &value)) =
            (1..).zip(values).find(|(_, it)| !(-LARGEST..=LARGEST).contains(*it))
        {
            return Err(BadIsotonic::Value { list, place, value });
        }
    }
    let accepted = 1.0 / LARGEST..=LARGEST;
    let mut given = (1..).zip(weights.unwrap_or_default());
    if let Some((place, &weight)) = given.find(|(_, it)| !accepted.contains(*it)) {
        return Err(BadIsotonic::Weight { place, weight });
    }
    let weight = |i: usize| weights.and_then(|it| it.get(i)).copied().unwrap_or(1.0);
    let mut order: Vec<usize> = (0..x.len()).collect();
    order.sort_by(|&a, &b| x[a].total_cmp(&x[b]));
    let mut blocks: Vec<Block> = Vec::new();
    // 0 and -0 are equal and stand beside each other.
    for level in order.chunk_by(|&a, &b| x[a] - x[b] == 0.0) {
        let alone = level.iter().map(|&i| Block { mean: y[i], weight: weight(i), points: 1 });
        let Some(mut block) = alone.reduce(Block::with) else { continue };
        while let Some(last) = blocks.pop_if(|last| last.mean >= block.mean) {
            block = last.with(block);
        }
        blocks.push(block);
    }
    let mut fit = vec![0.0; x.len()];
    let values = blocks.iter().flat_map(|it| std::iter::repeat_n(it.mean, it.points));
    for (&i, value) in order.iter().zip(values) {
        fit[i] = value;
    }
    Ok(fit)
}

/// Neighbours of one value.
#[derive(Debug, Clone, Copy)]
struct Block {
    mean: f64,
    weight: f64,
    points: usize,
}

impl Block {
    fn with(self, other: Self) -> Self {
        let weight = self.weight + other.weight;
        Block {
            // Neither weights nor values overflow; the mean lies between the two.
            mean: self.mean + (other.mean - self.mean) * (other.weight / weight),
            weight,
            points: self.points + other.points,
        }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::fixture::{INDEX, TWELVE, near};

    fn all_near(got: &[f64], want: &[f64]) {
        assert_eq!(got.len(), want.len());
        for (got, want) in got.iter().zip(want) {
            near(*got, *want, 1e-9);
        }
    }

    /// `sklearn.isotonic.IsotonicRegression` 1.9.1.
    #[test]
    fn check_3_5_steps_of_the_twelve_agree_with_scikit_learn() {
        let prices: Vec<f64> = TWELVE.iter().map(|it| it.1).collect();
        let got = isotonic(&prices, &INDEX, None).unwrap();
        let ijk = 69.766_666_666_7;
        let want = [
            52.35, 52.35, 59.412_5, 59.412_5, 59.412_5, 59.412_5, 68.2, 69.1, ijk, ijk, ijk, 78.75,
        ];
        for (got, want) in got.iter().zip(want) {
            near(*got, want, 1e-8);
        }
    }

    /// Without weights scikit-learn 1.9.1 and `isoreg` of R 4.2.2; with weights `scipy.optimize.isotonic_regression` 1.17.1.
    #[test]
    fn check_3_5_short_lists_agree_with_scikit_learn_r_and_scipy() {
        let (x, y) = ([1.0, 2.0, 3.0, 4.0, 5.0, 6.0], [1.0, 3.0, 2.0, 4.0, 3.5, 5.0]);
        all_near(&isotonic(&x, &y, None).unwrap(), &[1.0, 2.5, 2.5, 3.75, 3.75, 5.0]);
        let weights = [1.0, 2.0, 1.0, 1.0, 3.0, 1.0];
        let third = 8.0 / 3.0;
        all_near(
            &isotonic(&x, &y, Some(&weights)).unwrap(),
            &[1.0, third, third, 3.625, 3.625, 5.0],
        );
    }

    #[test]
    fn nothing_has_no_steps_and_extremes_stay_finite() {
        assert_eq!(isotonic(&[], &[], None).unwrap(), Vec::<f64>::new());
        let got = isotonic(&[1.0, 2.0], &[1e150, -1e150], Some(&[1e150, 1e-150])).unwrap();
        assert!(got.iter().all(|it| it.is_finite()), "{got:?}");
    }

    #[test]
    fn what_has_no_steps_is_refused() {
        let refused = |x: &[f64], y: &[f64], w: Option<&[f64]>| isotonic(x, y, w).unwrap_err();
        assert!(matches!(refused(&[1.0], &[], None), BadIsotonic::Lengths { x: 1, y: 0, .. }));
        assert!(matches!(refused(&[1.0], &[1.0], Some(&[])), BadIsotonic::Lengths { .. }));
        for bad in [f64::NAN, f64::INFINITY, -1e151] {
            assert!(matches!(refused(&[bad], &[1.0], None), BadIsotonic::Value { place: 1, .. }));
            assert!(matches!(refused(&[1.0], &[bad], None), BadIsotonic::Value { place: 1, .. }));
        }
        for bad in [f64::NAN, 0.0, -1.0, 1e-200] {
            let weights = [1.0, bad];
            let got = refused(&[1.0, 2.0], &[1.0, 2.0], Some(&weights));
            assert!(matches!(got, BadIsotonic::Weight { place: 2, .. }));
        }
    }

    fn points() -> impl Strategy<Value = Vec<(f64, f64, f64)>> {
        let point = (0_u32..8, 0_u32..=100, 1_u32..5);
        let point = point.prop_map(|it| (it.0.into(), it.1.into(), it.2.into()));
        prop::collection::vec(point, 1..14)
    }

    fn fitted(points: &[(f64, f64, f64)]) -> Vec<f64> {
        let of = |get: fn(&(f64, f64, f64)) -> f64| points.iter().map(get).collect::<Vec<_>>();
        isotonic(&of(|it| it.0), &of(|it| it.1), Some(&of(|it| it.2))).unwrap()
    }

    proptest! {
        /// The min-max formula (Barlow and others 1972): the largest, over starts not after x, of the least mean over ends not
        /// before x.
        #[test]
        fn fits_follow_the_min_max_formula(points in points()) {
            let got = fitted(&points);
            let mean = |from: f64, to: f64| {
                let within = || points.iter().filter(|it| (from..=to).contains(&it.0));
                within().map(|it| it.1 * it.2).sum::<f64>() / within().map(|it| it.2).sum::<f64>()
            };
            let xs = || points.iter().map(|it| it.0);
            for (point, got) in points.iter().zip(got) {
                let want = xs()
                    .filter(|from| *from <= point.0)
                    .map(|from| {
                        xs().filter(|to| *to >= point.0).map(|to| mean(from, to))
                            .fold(f64::INFINITY, f64::min)
                    })
                    .fold(f64::NEG_INFINITY, f64::max);
                prop_assert!((got - want).abs() < 1e-9, "{} instead of {}", got, want);
            }
        }

        #[test]
        fn the_order_of_points_changes_nothing(
            (points, shuffled) in points().prop_flat_map(|it| (Just(it.clone()), Just(it).prop_shuffle())),
        ) {
            let sorted = |points: &[(f64, f64, f64)]| {
                let mut all: Vec<_> = points.iter().map(|it| it.0).zip(fitted(points)).collect();
                all.sort_by(|a, b| a.0.total_cmp(&b.0));
                all
            };
            for (a, b) in sorted(&points).iter().zip(sorted(&shuffled)) {
                prop_assert!((a.1 - b.1).abs() < 1e-9);
            }
        }
    }
}
