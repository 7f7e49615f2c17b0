//! An interval for any statistic, from drawing the same values again.

use domain::draw::Stream;

use crate::{
    confidence::{Level, Limits},
    gates::MIN_BCA,
    normal,
    summary::{BadQuantile, quantiles},
};

/// How many resamples are drawn.
const RESAMPLES: usize = 9_999;

/// The bias-corrected and accelerated interval of `statistic`, a function of the places (from 0) of the values drawn; `None` below
/// [`MIN_BCA`] values.
///
/// 9,999 resamples from the stream `bootstrap` of `seed` and `name`, and the statistic without each value in turn; see [`bca`].
///
/// # Errors
/// [`BadQuantile`] for a statistic that is not finite.
pub fn interval(
    n: usize,
    statistic: impl Fn(&[usize]) -> f64,
    level: Level,
    seed: u64,
    name: &str,
) -> Result<Option<Limits>, BadQuantile> {
    if n < MIN_BCA {
        return Ok(None);
    }
    let mut stream = Stream::of(seed, "bootstrap", name, "");
    let mut drawn = vec![0; n];
    let resamples: Vec<f64> = (0..RESAMPLES)
        .map(|_| {
            drawn.fill_with(|| stream.below(n));
            statistic(&drawn)
        })
        .collect();
    let all: Vec<usize> = (0..n).collect();
    let without: Vec<f64> = (0..n)
        .map(|out| statistic(&all.iter().copied().filter(|it| *it != out).collect::<Vec<_>>()))
        .collect();
    bca(statistic(&all), &resamples, &without, level)
}

/// The bias-corrected and accelerated interval, from the statistic, its values for the resamples, and its values without each
/// observation in turn; `None` without resamples.
///
/// B. Efron, Journal of the American Statistical Association 82 (1987) 171-185: `z0 = Phi^-1((#{t* < t} + #{t* <= t})/2B)`,
/// `a = sum d^3/(6 (sum d^2)^1.5)` with d the mean of the jackknife less each of its values, the ends at the quantiles
/// `Phi(z0 + (z0 + z)/(1 - a (z0 + z)))` of the resamples (type 8). The share in `z0` is held to `1/2B` from 0 and 1. In small samples it
/// covers less than it says; [`interval`] has the gate.
///
/// # Errors
/// [`BadQuantile`] for a value that is not finite.
pub fn bca(
    statistic: f64,
    resamples: &[f64],
    jackknife: &[f64],
    level: Level,
) -> Result<Option<Limits>, BadQuantile> {
    let ends = levels(statistic, resamples, jackknife, level);
    Ok(match quantiles(resamples, &ends)?.as_deref() {
        Some(&[low, high]) => Some(Limits { low, high }),
        _ => None,
    })
}

/// The probabilities at which the resamples are read.
fn levels(statistic: f64, resamples: &[f64], jackknife: &[f64], level: Level) -> [f64; 2] {
    let twice = 2.0 * resamples.len().max(1) as f64;
    let below = resamples.iter().filter(|it| **it < statistic).count();
    let not_above = resamples.iter().filter(|it| **it <= statistic).count();
    let share = (below + not_above) as f64 / twice;
    let bias = normal::quantile(share.clamp(1.0 / twice, 1.0 - 1.0 / twice));
    let mean = jackknife.iter().sum::<f64>() / jackknife.len().max(1) as f64;
    let moment = |power: i32| jackknife.iter().map(|it| (mean - it).powi(power)).sum::<f64>();
    let squares = moment(2);
    let acceleration = if squares > 0.0 { moment(3) / (6.0 * squares.powf(1.5)) } else { 0.0 };
    [-level.z(), level.z()].map(|z| {
        let moved = bias + z;
        let stretch = 1.0 - acceleration * moved;
        // Past the pole of the correction all of the tail is meant.
        let z = if stretch > 0.0 { bias + moved / stretch } else { moved.signum() * f64::INFINITY };
        normal::cdf(z)
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::near;

    const FIVE: [f64; 5] = [52.45, 61.30, 62.35, 69.95, 78.75];

    fn mean_at(values: &[f64]) -> impl Fn(&[usize]) -> f64 + '_ {
        |drawn| drawn.iter().map(|it| values[*it]).sum::<f64>() / drawn.len() as f64
    }

    /// scipy 1.17.1 `bootstrap(method="BCa")` with all 5^5 resamples in place of random ones; no chance in it.
    #[test]
    fn check_8_all_resamples_of_five_agree_with_scipy() {
        let mean = mean_at(&FIVE);
        let all: Vec<f64> = (0..3125)
            .map(|it| mean(&[it % 5, it / 5 % 5, it / 25 % 5, it / 125 % 5, it / 625]))
            .collect();
        let jackknife: Vec<f64> =
            (0..5).map(|out| mean(&(0..5).filter(|it| *it != out).collect::<Vec<_>>())).collect();
        let centre = mean(&[0, 1, 2, 3, 4]);
        for (level, at, low, high) in [
            (Level::NINETY, [0.060_206_479_5, 0.959_199_936_7], 59.45, 71.95),
            (Level::NINETY_FIVE, [0.032_050_590_6, 0.981_018_850_2], 57.93, 73.5),
        ] {
            let got = levels(centre, &all, &jackknife, level);
            near(got[0], at[0], 1e-8);
            near(got[1], at[1], 1e-8);
            let limits = bca(centre, &all, &jackknife, level).unwrap().unwrap();
            near(limits.low, low, 1e-9);
            near(limits.high, high, 1e-9);
        }
        // The percentile interval of the same resamples, 58.18 to 71.74, needs no correction.
        let plain = quantiles(&all, &[0.05, 0.95]).unwrap().unwrap();
        near(plain[0], 58.18, 1e-9);
        near(plain[1], 71.74, 1e-9);
    }

    #[test]
    fn few_values_have_no_interval_and_equal_ones_a_point() {
        let values = vec![5.0; MIN_BCA];
        let mean = mean_at(&values);
        assert_eq!(interval(MIN_BCA - 1, &mean, Level::NINETY, 0, "x"), Ok(None));
        let limits = interval(MIN_BCA, &mean, Level::NINETY, 0, "x").unwrap().unwrap();
        near(limits.low, 5.0, 1e-12);
        near(limits.high, 5.0, 1e-12);
        assert_eq!(bca(1.0, &[], &[], Level::NINETY), Ok(None));
    }

    /// For the mean of 40 symmetric values it is about the mean and 1.645 standard errors to each side, by hand.
    #[test]
    fn a_mean_has_its_standard_error() {
        let values: Vec<f64> = (0..40).map(f64::from).collect();
        let mean = mean_at(&values);
        let limits = interval(40, &mean, Level::NINETY, 7, "mean").unwrap().unwrap();
        let error = ((40.0_f64.powi(2) - 1.0) / 12.0 / 40.0).sqrt();
        near(limits.low, 19.5 - 1.645 * error, 0.15);
        near(limits.high, 19.5 + 1.645 * error, 0.15);
        assert_eq!(interval(40, &mean, Level::NINETY, 7, "mean"), Ok(Some(limits)));
        assert_ne!(interval(40, &mean, Level::NINETY, 8, "mean"), Ok(Some(limits)));
    }

    #[test]
    fn a_statistic_that_is_no_number_is_refused() {
        let never = |_: &[usize]| f64::NAN;
        assert!(matches!(
            interval(20, never, Level::NINETY, 0, "x"),
            Err(BadQuantile::Value { .. })
        ));
    }
}
