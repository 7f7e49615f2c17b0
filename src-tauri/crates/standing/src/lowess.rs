//! A curve of local straight lines through scores, for many products only.
//!
//! W. S. Cleveland, *Robust Locally Weighted Regression and Smoothing Scatterplots*, Journal of the American Statistical
//! Association 74 (1979) 829-836 (from memory). Below [`crate::gates::MIN_LOWESS`] products it follows the noise; who draws it keeps
//! to that limit.

use crate::theil_sen::median;

/// Points through which no curve is laid. Places count from 1.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum BadLowess {
    /// Lists of different lengths.
    #[error("there are {x} values of x and {y} of y; they must be as many")]
    Lengths {
        /// How many x.
        x: usize,
        /// How many y.
        y: usize,
    },
    /// A value that is not finite or too large.
    #[error("value {place} is {value}; give a number from -1e9 to 1e9")]
    Value {
        /// Which value.
        place: usize,
        /// The value found.
        value: f64,
    },
    /// A share of the points that is none.
    #[error("the share {share} is out of range; give a number above 0, up to 1")]
    Share {
        /// The share found.
        share: f64,
    },
}

/// The curve at each `x`, in the order given.
///
/// At each point a straight line is fitted to the `share` of all points that lies nearest, with weights `(1 - (d/h)^3)^3`, `h` the
/// distance of the farthest; then `steps` times again, with points far off the curve weighing less: `(1 - (r / 6 m)^2)^2`, r the
/// residual and m the median of all |r|. Units are those of `y`. Takes O(n^2).
///
/// # Errors
/// [`BadLowess`] for lists of different lengths, values that are not finite and within 1e9, and a share that is not above 0 and at
/// most 1.
pub fn lowess(x: &[f64], y: &[f64], share: f64, steps: usize) -> Result<Vec<f64>, BadLowess> {
    if x.len() != y.len() {
        return Err(BadLowess::Lengths { x: x.len(), y: y.len() });
    }
    for list in [x, y] {
        if let Some((place, &value)) = (1..).zip(list).find(|(_, it)| !(-1e9..=1e9).contains(*it)) {
            return Err(BadLowess::Value { place, value });
        }
    }
    if !(share > 0.0 && share <= 1.0) {
        return Err(BadLowess::Share { share });
    }
    let mut order: Vec<usize> = (0..x.len()).collect();
    // Points of one x and in another order would be added up in another order.
    order.sort_by(|&a, &b| x[a].total_cmp(&x[b]).then(y[a].total_cmp(&y[b])));
    let of = |list: &[f64]| order.iter().map(|&it| list[it]).collect::<Vec<_>>();
    let sorted = sorted_lowess(&of(x), &of(y), share, steps);
    let mut fit = vec![0.0; x.len()];
    for (&i, value) in order.iter().zip(sorted) {
        fit[i] = value;
    }
    Ok(fit)
}

fn sorted_lowess(x: &[f64], y: &[f64], share: f64, steps: usize) -> Vec<f64> {
    let n = x.len();
    if n < 2 {
        return y.to_vec();
    }
    #[expect(clippy::cast_possible_truncation, reason = "at most the number of points")]
    let near = ((share * n as f64 + 1e-7) as usize).clamp(2, n);
    let mut trust = vec![1.0; n];
    let mut fit = curve(x, y, near, &trust);
    for _ in 0..steps {
        let off: Vec<f64> = y.iter().zip(&fit).map(|(y, fit)| (y - fit).abs()).collect();
        let limit = 6.0 * median(&mut off.clone()).unwrap_or(0.0);
        // Where most points lie on the curve there is no scale to tell the others by.
        if limit < 1e-7 * off.iter().sum::<f64>() / n as f64 || limit <= 0.0 {
            break;
        }
        for (trust, off) in trust.iter_mut().zip(&off) {
            *trust = match off / limit {
                r if r <= 0.001 => 1.0,
                r if r > 0.999 => 0.0,
                r => (1.0 - r * r).powi(2),
            };
        }
        fit = curve(x, y, near, &trust);
    }
    fit
}

/// A local line at each point.
fn curve(x: &[f64], y: &[f64], near: usize, trust: &[f64]) -> Vec<f64> {
    let n = x.len();
    let range = x[n - 1] - x[0];
    let mut left = 0;
    let mut weights = vec![0.0; n];
    let mut fit = Vec::with_capacity(n);
    for i in 0..n {
        // The window goes right as long as the next point there is nearer than the first one here.
        while left + near < n && x[i] - x[left] > x[left + near] - x[i] {
            left += 1;
        }
        let h = (x[i] - x[left]).max(x[left + near - 1] - x[i]);
        let mut sum = 0.0;
        for (weight, (x_j, trust)) in weights.iter_mut().zip(x.iter().zip(trust)) {
            let d = (x_j - x[i]).abs();
            *weight = match d {
                d if d > 0.999 * h && d > 0.0 => 0.0,
                d if d <= 0.001 * h => *trust,
                d => (1.0 - (d / h).powi(3)).powi(3) * trust,
            };
            sum += *weight;
        }
        if sum <= 0.0 {
            // Everything near is far off the curve; what was there before holds.
            fit.push(y[i]);
            continue;
        }
        let mean = x.iter().zip(&weights).map(|(x, w)| w * x).sum::<f64>() / sum;
        let spread = x.iter().zip(&weights).map(|(x, w)| w * (x - mean).powi(2)).sum::<f64>() / sum;
        // Where all that counts has nearly one x, its mean serves.
        let tilt = if spread.sqrt() > 0.001 * range { (x[i] - mean) / spread } else { 0.0 };
        let line = x.iter().zip(y).zip(&weights);
        fit.push(line.map(|((x, y), w)| w / sum * (1.0 + tilt * (x - mean)) * y).sum());
    }
    fit
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::fixture::{INDEX, TWELVE, near};

    /// `statsmodels` 0.15.0 `lowess(frac=2/3, it=3, delta=0)`, which equals `lowess` of R 4.2.2.
    #[test]
    fn check_3_5_the_curve_of_the_twelve_agrees_with_statsmodels_and_r() {
        let x: Vec<f64> = TWELVE.iter().map(|it| it.1.ln()).collect();
        let want = [
            51.359_354_620_6,
            56.612_321_693_7,
            58.955_927_725_1,
            63.400_992_259_9,
            66.057_351_379_5,
            66.057_351_379_5,
            69.020_429_395_4,
            69.562_837_081_6,
            71.032_744_495_9,
            72.880_135_849_9,
            72.880_135_849_9,
            77.054_751_964_5,
        ];
        for (got, want) in lowess(&x, &INDEX, 2.0 / 3.0, 3).unwrap().into_iter().zip(want) {
            near(got, want, 1e-8);
        }
    }

    #[test]
    fn a_straight_line_is_its_own_curve_and_one_price_has_the_mean() {
        let x = [4.0, 1.0, 2.5, 9.0, 7.0];
        let y = x.map(|x| 3.0 + 2.0 * x);
        for (got, want) in lowess(&x, &y, 0.8, 3).unwrap().into_iter().zip(y) {
            near(got, want, 1e-9);
        }
        assert_eq!(lowess(&[5.0; 3], &[1.0, 2.0, 6.0], 1.0, 0).unwrap(), [3.0; 3]);
        assert_eq!(lowess(&[], &[], 0.5, 3).unwrap(), Vec::<f64>::new());
        assert_eq!(lowess(&[1.0], &[7.0], 0.5, 3).unwrap(), [7.0]);
    }

    #[test]
    fn what_has_no_curve_is_refused() {
        assert!(matches!(lowess(&[1.0], &[], 0.5, 3), Err(BadLowess::Lengths { .. })));
        assert!(matches!(lowess(&[f64::NAN], &[1.0], 0.5, 3), Err(BadLowess::Value { .. })));
        for share in [0.0, 1.1, f64::NAN] {
            assert!(matches!(lowess(&[1.0], &[1.0], share, 3), Err(BadLowess::Share { .. })));
        }
    }

    proptest! {
        #[test]
        fn curves_are_finite_and_no_order_moves_them(
            (points, order) in prop::collection::vec((0_u32..9, 0_u32..100), 1..20).prop_flat_map(|it| {
                let order: Vec<usize> = (0..it.len()).collect();
                (Just(it), Just(order).prop_shuffle())
            }),
            share in 0.01..=1.0_f64,
        ) {
            let x: Vec<f64> = points.iter().map(|it| it.0.into()).collect();
            let y: Vec<f64> = points.iter().map(|it| it.1.into()).collect();
            let plain = lowess(&x, &y, share, 3).unwrap();
            prop_assert!(plain.iter().all(|it| it.is_finite()), "{:?}", plain);
            let of = |list: &[f64]| order.iter().map(|&it| list[it]).collect::<Vec<_>>();
            let moved = lowess(&of(&x), &of(&y), share, 3).unwrap();
            prop_assert!(of(&plain).iter().zip(&moved).all(|(a, b)| (a - b).abs() < 1e-9));
        }
    }
}
