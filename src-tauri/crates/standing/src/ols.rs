//! The straight line of least squares, to be drawn beside the robust one, and which points do not fit it.
//!
//! N. R. Draper, H. Smith, *Applied Regression Analysis*, 3rd ed. 1998, chapters 1 and 8 (from memory). One bad point can move it
//! without limit, so nothing is ranked by it.

/// A line with its spread.
#[derive(Debug, Clone, PartialEq)]
pub struct LeastSquares {
    /// y at x = 0.
    pub intercept: f64,
    /// Rise of y for a rise of x by 1.
    pub slope: f64,
    /// The standard error of the slope; `None` with fewer than 3 points.
    pub slope_se: Option<f64>,
    /// The share of the variance of y that the line explains, 0 to 1; `None` where all y are equal.
    pub r2: Option<f64>,
    /// For each point how far it lies from the line of the others, in standard errors of that distance (externally studentised
    /// residual); `None` with fewer than 4 points, or where the others lie on a line without spread.
    pub studentised: Vec<Option<f64>>,
}

/// Points without such a line. Places count from 1.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum BadLeastSquares {
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
    /// All x are equal, or so nearly that no slope follows.
    #[error("the values of x do not differ; a line needs at least two that do")]
    Level,
}

/// The line that minimises `sum (y - a - b x)^2`; for value, x is the natural logarithm of the price.
///
/// `b = Sxy / Sxx`, `a = mean y - b mean x`, `se = sqrt(RSS / (n - 2) / Sxx)`, `R2 = 1 - RSS / Syy`. With the leverage
/// `h = 1/n + (x - mean x)^2 / Sxx` and residual e, `t = e / sqrt(s_i^2 (1 - h))` where `s_i^2 = (RSS - e^2 / (1 - h)) / (n - 3)`
/// leaves the point out.
///
/// # Errors
/// [`BadLeastSquares`] for lists of different lengths, values that are not finite and within 1e9, and x that do not differ.
pub fn least_squares(x: &[f64], y: &[f64]) -> Result<LeastSquares, BadLeastSquares> {
    if x.len() != y.len() {
        return Err(BadLeastSquares::Lengths { x: x.len(), y: y.len() });
    }
    for list in [x, y] {
        if let Some((place, &value)) = (1..).zip(list).find(|(_, it)| !(-1e9..=1e9).contains(*it)) {
            return Err(BadLeastSquares::Value { place, value });
        }
    }
    let n = x.len() as f64;
    let mean = |of: &[f64]| of.iter().sum::<f64>() / n.max(1.0);
    let (mean_x, mean_y) = (mean(x), mean(y));
    let products = |a: &[f64], mean_a: f64, b: &[f64], mean_b: f64| {
        a.iter().zip(b).map(|(a, b)| (a - mean_a) * (b - mean_b)).sum::<f64>()
    };
    let s_xx = products(x, mean_x, x, mean_x);
    let s_yy = products(y, mean_y, y, mean_y);
    let largest = |of: &[f64]| of.iter().fold(0.0_f64, |most, it| most.max(it.abs()));
    // What the rounding of equal values leaves behind is no spread.
    let rounding = |of: &[f64]| n * (largest(of) * 4.0 * f64::EPSILON).powi(2);
    if s_xx <= rounding(x) {
        return Err(BadLeastSquares::Level);
    }
    let slope = products(x, mean_x, y, mean_y) / s_xx;
    let intercept = mean_y - slope * mean_x;
    let residuals: Vec<f64> =
        x.iter().zip(y).map(|(x, y)| y - mean_y - slope * (x - mean_x)).collect();
    let rss: f64 = residuals.iter().map(|it| it * it).sum();
    let slope_se = (x.len() > 2).then(|| (rss / (n - 2.0) / s_xx).sqrt());
    let r2 = (s_yy > rounding(y)).then(|| (1.0 - rss / s_yy).clamp(0.0, 1.0));
    let studentised = x
        .iter()
        .zip(&residuals)
        .map(|(x, e)| {
            let rest = 1.0 - 1.0 / n - (x - mean_x).powi(2) / s_xx;
            if x.is_nan() || rest <= 1e-12 {
                return None;
            }
            let left = rss - e * e / rest;
            let spread = left > rounding(y).max(rss * 1e-12);
            (n > 3.0 && spread).then(|| e / (left / (n - 3.0) * rest).sqrt())
        })
        .collect();
    Ok(LeastSquares { intercept, slope, slope_se, r2, studentised })
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::fixture::{INDEX, TWELVE, near, place};

    /// `statsmodels` 0.15.0: `OLS` and `OLSInfluence.resid_studentized_external`.
    #[test]
    fn check_3_5_the_line_of_the_twelve_agrees_with_statsmodels() {
        let x: Vec<f64> = TWELVE.iter().map(|it| it.1.ln()).collect();
        let it = least_squares(&x, &INDEX).unwrap();
        near(it.intercept, -64.674_568_672_9, 1e-8);
        near(it.slope, 23.918_114_889_8, 1e-8);
        near(it.r2.unwrap(), 0.559_935_573_5, 1e-9);
        near(it.slope_se.unwrap(), 6.705_266_589_3, 1e-8);
        near(it.studentised[place("E")].unwrap(), -4.880_962_19, 1e-7);
        near(it.studentised[place("F")].unwrap(), 1.240_216_58, 1e-7);
    }

    #[test]
    fn few_or_level_points_say_less() {
        let two = least_squares(&[1.0, 2.0], &[3.0, 5.0]).unwrap();
        assert_eq!((two.slope, two.intercept, two.slope_se), (2.0, 1.0, None));
        assert_eq!(two.studentised, [None, None]);
        let level = least_squares(&[1.0, 2.0, 3.0, 5.0], &[0.1; 4]).unwrap();
        assert_eq!((level.r2, level.studentised), (None, vec![None; 4]));
        for x in [&[][..], &[4.0], &[0.1; 7]] {
            assert_eq!(least_squares(x, x).unwrap_err(), BadLeastSquares::Level);
        }
        assert!(matches!(least_squares(&[1.0], &[]), Err(BadLeastSquares::Lengths { .. })));
        for bad in [f64::NAN, f64::INFINITY, 2e9] {
            let got = least_squares(&[1.0, 2.0], &[1.0, bad]).unwrap_err();
            assert!(matches!(got, BadLeastSquares::Value { place: 2, .. }));
        }
    }

    proptest! {
        /// The definition: the point against the line of the others, over the standard error of that prediction.
        #[test]
        fn studentised_residuals_compare_a_point_with_the_line_of_the_others(
            points in prop::collection::vec((0.0..10.0_f64, 0.0..100.0_f64), 5..12),
        ) {
            let (x, y): (Vec<f64>, Vec<f64>) = points.iter().copied().unzip();
            let all = least_squares(&x, &y).unwrap();
            for i in 0..x.len() {
                let without = |of: &[f64]| {
                    let mut of = of.to_vec();
                    of.remove(i);
                    of
                };
                let (xs, ys) = (without(&x), without(&y));
                let line = least_squares(&xs, &ys).unwrap();
                let n = xs.len() as f64;
                let mean = xs.iter().sum::<f64>() / n;
                let s_xx: f64 = xs.iter().map(|it| (it - mean).powi(2)).sum();
                let rss: f64 = xs.iter().zip(&ys)
                    .map(|(x, y)| (y - line.intercept - line.slope * x).powi(2)).sum();
                let error = (rss / (n - 2.0) * (1.0 + 1.0 / n + (x[i] - mean).powi(2) / s_xx)).sqrt();
                let want = (y[i] - line.intercept - line.slope * x[i]) / error;
                let got = all.studentised[i].unwrap();
                prop_assert!((got - want).abs() < 1e-6 * want.abs().max(1.0), "{} {}", got, want);
            }
        }

        #[test]
        fn what_is_given_is_finite(
            points in prop::collection::vec((-1e9..1e9_f64, -1e9..1e9_f64), 0..8),
        ) {
            let (x, y): (Vec<f64>, Vec<f64>) = points.into_iter().unzip();
            if let Ok(it) = least_squares(&x, &y) {
                let all = [Some(it.slope), Some(it.intercept), it.slope_se, it.r2];
                prop_assert!(all.into_iter().chain(it.studentised).flatten().all(f64::is_finite));
            }
        }
    }
}
