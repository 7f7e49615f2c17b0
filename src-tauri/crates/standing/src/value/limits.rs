//! How far the expectation itself may be off: the reference set drawn anew.

use domain::draw::Stream;

use super::{BadValue, Curves, Fit, checked, drawn::Selection};
use crate::summary::quantiles;
use crate::theil_sen::Slopes;

/// Resamples for the limits: an end of a 90 % band is then good to about a tenth of its half width. Large sets get fewer; their
/// curves are certain to a fraction of a point and each fit is dear.
const RESAMPLES: usize = 400;
const LARGE: usize = 120;
const LARGE_RESAMPLES: usize = 60;

/// Where the expectation of `points` (real price per pair in currency units, index in points) lies at each of `prices` when the
/// products are drawn anew with replacement (bootstrap: B. Efron, Annals of Statistics 7 (1979) 1-26): 5 and 95 % of the
/// resamples. Empty where there are too few products for an expectation.
///
/// The draws come from the stream `(seed, "curve", "limits")`, in the order of the points given.
///
/// # Errors
/// As [`value_points`](super::value_points).
pub fn curve_limits(
    points: &[(f64, f64)],
    prices: &[f64],
    seed: u64,
) -> Result<Vec<(f64, f64)>, BadValue> {
    checked(points)?;
    let n = points.len();
    let fit = Fit::of(n);
    if fit == Fit::None {
        return Ok(Vec::new());
    }
    let (x, y): (Vec<f64>, Vec<f64>) =
        points.iter().map(|&(price, score)| (price.ln(), score)).unzip();
    let mut slopes = Slopes::default();
    if fit == Fit::Line {
        slopes.refill(&x, &y);
    }
    let mut curves = Curves { fit, x: &x, y: &y, slopes: &slopes, scratch: Vec::new() };
    let mut selection = Selection::of(n);
    let mut stream = Stream::of(seed, "curve", "limits", "");
    let resamples = if n > LARGE { LARGE_RESAMPLES } else { RESAMPLES };
    let mut found = vec![Vec::with_capacity(resamples); prices.len()];
    for _ in 0..resamples {
        selection.resample(&mut stream, None);
        let Some(line) = curves.through(&selection.counts, &selection.members) else { continue };
        for (list, price) in found.iter_mut().zip(prices) {
            list.push(line.at(price.ln()));
        }
    }
    let mut limits = Vec::with_capacity(prices.len());
    for list in &found {
        if let Some(&[low, high]) = quantiles(list, &[0.05, 0.95])?.as_deref() {
            limits.push((low, high));
        }
    }
    Ok(limits)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{INDEX, TWELVE, near};

    fn d12() -> Vec<(f64, f64)> {
        TWELVE.iter().zip(INDEX).map(|(it, index)| (it.1, index)).collect()
    }

    /// 6,000 resamples with Python's `random` and `statistics`, the fit written out; 400 resamples are good to about a point.
    #[test]
    fn check_the_limits_are_those_of_another_bootstrap() {
        let prices = [129.0, 220.0, 349.0];
        let limits = curve_limits(&d12(), &prices, 0).unwrap();
        let wanted = [(48.861_6, 58.555_9), (63.167_7, 67.519_7), (71.740_8, 78.75)];
        for ((low, high), (want_low, want_high)) in limits.into_iter().zip(wanted) {
            near(low, want_low, 1.2);
            near(high, want_high, 1.2);
        }
    }

    #[test]
    fn the_band_holds_the_line_and_is_wider_at_the_ends() {
        let points = d12();
        let line = super::super::value_points(&points).unwrap().curve.unwrap();
        let prices = [129.0, 220.0, 349.0];
        let limits = curve_limits(&points, &prices, 0).unwrap();
        for ((low, high), price) in limits.iter().zip(prices) {
            let expected = line.at(price.ln());
            assert!(*low < expected && expected < *high, "{low} {expected} {high} at {price}");
        }
        let width = |at: usize| limits[at].1 - limits[at].0;
        assert!(width(0) > width(1) && width(2) > width(1), "{limits:?}");
        assert_eq!(limits, curve_limits(&points, &prices, 0).unwrap());
        assert_ne!(limits, curve_limits(&points, &prices, 1).unwrap());
    }

    #[test]
    fn few_products_have_no_band_and_bad_ones_are_refused() {
        let points = d12();
        assert!(curve_limits(&points[..4], &[200.0], 0).unwrap().is_empty());
        // The median of few products is as sure at any price.
        let flat = curve_limits(&points[..7], &[150.0, 300.0], 0).unwrap();
        assert_eq!(flat[0], flat[1]);
        assert!(curve_limits(&[(0.0, 50.0); 6], &[200.0], 0).is_err());
    }
}
