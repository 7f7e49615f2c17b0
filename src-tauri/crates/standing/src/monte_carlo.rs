//! What draws say about a quantity, and how many draws that takes.

use crate::{
    confidence::{Level, Limits},
    summary::{BadQuantile, quantiles},
};

/// A quantity as its draws show it, in their unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drawn {
    /// The mean of the draws.
    pub mean: f64,
    /// Their standard deviation (divisor n - 1), the standard uncertainty of the quantity; 0 for a single draw.
    pub u: f64,
    /// The median.
    pub median: f64,
    /// The interval that leaves equal shares of the draws on either side.
    pub interval: Limits,
}

/// Mean, standard uncertainty, median and the probabilistically symmetric coverage interval of the draws, its ends at
/// the quantiles (type 8, [`quantiles`]) of `(1 - level)/2` and `(1 + level)/2`; `None` for no draws.
///
/// JCGM 101:2008, *Propagation of distributions using a Monte Carlo method*, clauses 7.6 and 7.7 (numbers from memory).
///
/// # Errors
/// [`BadQuantile::Value`] for a draw that is not finite.
#[expect(clippy::cast_precision_loss, reason = "counts of draws")]
pub fn drawn(draws: &[f64], level: Level) -> Result<Option<Drawn>, BadQuantile> {
    let (tail, n) = (level.tail(), draws.len() as f64);
    let Some(&[low, median, high]) = quantiles(draws, &[tail, 0.5, 1.0 - tail])?.as_deref() else {
        return Ok(None);
    };
    // About the median, so that neither sum loses digits.
    let mean = median + draws.iter().map(|it| (it - median) / n).sum::<f64>();
    let squares: f64 = draws.iter().map(|it| (it - mean).powi(2)).sum();
    let u = if draws.len() > 1 { (squares / (n - 1.0)).sqrt() } else { 0.0 };
    Ok(Some(Drawn { mean, u, median, interval: Limits { low, high } }))
}

/// How many draws a probability takes whose interval at `level` is at most `half_width` to either side, whatever the
/// probability: `z^2 / (4 d^2)`, from the normal limit of the binomial distribution at one half. Not rounded up.
/// `None` unless 0 < `half_width` < 1.
#[must_use]
pub fn draws_for(half_width: f64, level: Level) -> Option<f64> {
    let inside = half_width > 0.0 && half_width < 1.0;
    inside.then(|| (level.z() / (2.0 * half_width)).powi(2)).filter(|it| it.is_finite())
}

/// By how much, at `level`, the whole curve of cumulative shares from `draws` draws may lie off: `sqrt(ln(2 / (1 -
/// level)) / (2 N))` (A. Dvoretzky, J. Kiefer, J. Wolfowitz, Annals of Mathematical Statistics 27 (1956) 642-669,
/// with the constant of P. Massart, Annals of Probability 18 (1990) 1269-1283). `None` for no draws.
#[must_use]
#[expect(clippy::cast_precision_loss, reason = "counts of draws")]
pub fn curve_error(draws: usize, level: Level) -> Option<f64> {
    (draws > 0).then(|| (-level.tail().ln() / (2.0 * draws as f64)).sqrt())
}

#[cfg(test)]
mod tests {
    use domain::draw::Stream;
    use proptest::prelude::*;

    use super::*;
    use crate::fixture::near;

    /// The example of JCGM 101:2008, 9.2.3: the sum of four rectangular quantities of mean 0 and standard deviation 1.
    /// The exact ends of its 95 % interval are `2 sqrt 3 (2 - (3/5)^(1/4))`, published as 3.88; those of the normal
    /// approximation are 3.92.
    ///
    /// Tolerances are four standard errors: of a mean; of a standard deviation, with the kurtosis 2.7; and of a
    /// quantile, `sqrt(p (1 - p) / n)` over the density, which is `(4 sqrt 3 - x)^3 / (6 (2 sqrt 3)^4)` near the ends.
    #[test]
    fn check_5_2_the_sum_of_four_rectangular_quantities_has_the_exact_interval() {
        let n = 400_000_u32;
        let mut stream = Stream::named("four rectangular");
        let root = 3_f64.sqrt();
        let mut one = || root * (2.0 * stream.unit() - 1.0);
        let draws: Vec<f64> = (0..n).map(|_| one() + one() + one() + one()).collect();
        let it = drawn(&draws, Level::NINETY_FIVE).unwrap().unwrap();
        let exact = 2.0 * root * (2.0 - 0.6_f64.powf(0.25));
        near(exact, 3.879_406_741_3, 1e-10);
        let size = f64::from(n);
        let density = (4.0 * root - exact).powi(3) / (6.0 * (2.0 * root).powi(4));
        let end = 4.0 * (0.025_f64 * 0.975 / size).sqrt() / density;
        assert!(end < 0.04, "the normal approximation would pass: {end}");
        near(it.interval.high, exact, end);
        near(it.interval.low, -exact, end);
        near(it.mean, 0.0, 4.0 * 2.0 / size.sqrt());
        // The density at the middle is 2/3 over the width 2 sqrt 3 of one term.
        near(it.median, 0.0, 4.0 * (0.25 / size).sqrt() * 2.0 * root / (2.0 / 3.0));
        near(it.u, 2.0, 4.0 * 2.0 * ((2.7 - 1.0) / (4.0 * size)).sqrt());
    }

    /// scipy 1.17.1 (`norm.ppf`) and numpy 2.4.6.
    #[test]
    fn check_6_4_how_many_draws_a_probability_and_a_curve_take() {
        for (half_width, want) in [
            (0.05, 384.145_882_1),
            (0.02, 2_400.911_762_9),
            (0.01, 9_603.647_051_7),
            (0.005, 38_414.588_206_9),
        ] {
            near(draws_for(half_width, Level::NINETY_FIVE).unwrap(), want, 1e-6);
        }
        near(curve_error(10_000, Level::NINETY_FIVE).unwrap(), 0.013_581_015_2, 1e-10);
        assert_eq!(curve_error(0, Level::NINETY), None);
        for half_width in [0.0, -0.1, 1.0, 1e-200, f64::NAN] {
            assert_eq!(draws_for(half_width, Level::NINETY), None);
        }
    }

    #[test]
    fn one_draw_is_certain_and_none_says_nothing() {
        let one = drawn(&[61.5], Level::NINETY).unwrap().unwrap();
        let interval = Limits { low: 61.5, high: 61.5 };
        assert_eq!(one, Drawn { mean: 61.5, u: 0.0, median: 61.5, interval });
        assert_eq!(drawn(&[], Level::NINETY).unwrap(), None);
        assert!(drawn(&[1.0, f64::NAN], Level::NINETY).is_err());
    }

    proptest! {
        #[test]
        fn an_interval_holds_the_median_and_a_wider_level_holds_it(
            draws in prop::collection::vec(0.0..100.0_f64, 1..60),
        ) {
            let at = |level| drawn(&draws, level).unwrap().unwrap();
            let (narrow, wide) = (at(Level::NINETY), at(Level::NINETY_FIVE));
            prop_assert!(wide.interval.low <= narrow.interval.low && narrow.interval.low <= narrow.median);
            prop_assert!(narrow.median <= narrow.interval.high && narrow.interval.high <= wide.interval.high);
            prop_assert!(narrow.u >= 0.0 && (0.0..=100.0).contains(&narrow.mean));
        }
    }
}
