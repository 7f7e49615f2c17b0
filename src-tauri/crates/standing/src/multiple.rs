//! Many claims tested at once: one in twenty succeeds by luck, unless the bar rises with their number.

use std::fmt;

/// A number that is no p-value. Places count from 1.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error("p-value {place} is {p}; write a number from 0 to 1")]
pub struct BadP {
    /// Which one.
    pub place: usize,
    /// The number found.
    pub p: f64,
}

/// How many of the claims that were tested hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Looks {
    /// How many hold.
    pub held: usize,
    /// How many were tested.
    pub tested: usize,
}

impl fmt::Display for Looks {
    /// `1 of 14 tested claims`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} of {} tested claims", self.held, self.tested)
    }
}

/// The p-values of S. Holm, Scandinavian Journal of Statistics 6 (1979) 65-70, in the order given.
///
/// Sorted ascending, `p'_i = max over j <= i of (m - j + 1) p_j`, at most 1. Calling those at most 0.05 makes even one false call
/// in no more than 5 % of such lists, whatever hangs together.
///
/// # Errors
/// [`BadP`] for a number outside 0 to 1.
pub fn holm(p: &[f64]) -> Result<Vec<f64>, BadP> {
    adjusted(p, |ascending| {
        let m = ascending.len();
        let mut run = 0.0_f64;
        for (j, p) in ascending.iter_mut().enumerate() {
            run = run.max((*p * (m - j) as f64).min(1.0));
            *p = run;
        }
    })
}

/// The p-values of Y. Benjamini, Y. Hochberg, Journal of the Royal Statistical Society B 57 (1995) 289-300, in the order given.
///
/// Sorted ascending, `p'_i = min over j >= i of m p_j / j`. Calling those at most 0.05 makes about one call in twenty false, if the
/// claims do not work against each other.
///
/// # Errors
/// [`BadP`] for a number outside 0 to 1.
pub fn benjamini_hochberg(p: &[f64]) -> Result<Vec<f64>, BadP> {
    adjusted(p, |ascending| {
        let m = ascending.len() as f64;
        let mut run = 1.0_f64;
        for (j, p) in ascending.iter_mut().enumerate().rev() {
            run = run.min(*p * m / (j + 1) as f64);
            *p = run;
        }
    })
}

/// Adjusts the sorted values and puts them back in the order given.
fn adjusted(p: &[f64], adjust: impl Fn(&mut [f64])) -> Result<Vec<f64>, BadP> {
    if let Some((place, &p)) = (1..).zip(p).find(|(_, p)| !(0.0..=1.0).contains(*p)) {
        return Err(BadP { place, p });
    }
    let mut sorted: Vec<(usize, f64)> = p.iter().copied().enumerate().collect();
    sorted.sort_by(|a, b| a.1.total_cmp(&b.1));
    let mut ascending: Vec<f64> = sorted.iter().map(|it| it.1).collect();
    adjust(&mut ascending);
    let mut back: Vec<(usize, f64)> = sorted.iter().map(|it| it.0).zip(ascending).collect();
    back.sort_by_key(|it| it.0);
    Ok(back.into_iter().map(|it| it.1).collect())
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::fixture::near;

    /// statsmodels 0.15.0 `multipletests`; `p.adjust` of R 4.2.2 agrees.
    #[test]
    fn check_7_10_adjusted_values_agree_with_statsmodels_and_r() {
        let p = [0.04, 0.003, 0.2, 0.012];
        for (got, want) in holm(&p).unwrap().into_iter().zip([0.08, 0.012, 0.2, 0.036]) {
            near(got, want, 1e-12);
        }
        let want = [0.053_333_333_333_333, 0.012, 0.2, 0.024];
        for (got, want) in benjamini_hochberg(&p).unwrap().into_iter().zip(want) {
            near(got, want, 1e-12);
        }
        assert_eq!(Looks { held: 1, tested: 14 }.to_string(), "1 of 14 tested claims");
    }

    #[test]
    fn what_is_no_probability_is_refused() {
        for bad in [-1e-9, 1.1, f64::NAN] {
            assert!(matches!(holm(&[0.5, bad]), Err(BadP { place: 2, .. })));
            assert!(matches!(benjamini_hochberg(&[bad]), Err(BadP { place: 1, .. })));
        }
        assert_eq!(holm(&[]), Ok(vec![]));
    }

    proptest! {
        #[test]
        fn adjusting_raises_values_and_keeps_their_order(p in prop::collection::vec(0.0..=1.0_f64, 1..20)) {
            let (strict, mild) = (holm(&p).unwrap(), benjamini_hochberg(&p).unwrap());
            for i in 0..p.len() {
                prop_assert!(p[i] <= mild[i] + 1e-15 && mild[i] <= strict[i] + 1e-12 && strict[i] <= 1.0);
                for j in 0..p.len() {
                    prop_assert!(p[i] > p[j] || (strict[i] <= strict[j] && mild[i] <= mild[j]));
                }
            }
        }
    }
}
