//! How much each subsystem counts.

use std::collections::BTreeMap;

use crate::Error;

/// The weights that hold unless somebody asks for others; editorial.
const DEFAULT: [(&str, f64); 4] =
    [("cabinet", 25.0), ("crossover", 30.0), ("driver", 35.0), ("wiring", 10.0)];

/// The program's own weights; subsystems of other plugins count only when somebody gives them a weight.
pub(crate) fn own<S: AsRef<str>>(subsystems: &[S]) -> BTreeMap<String, f64> {
    let mut weights: BTreeMap<String, f64> =
        DEFAULT.iter().map(|(name, it)| ((*name).to_owned(), *it)).collect();
    for name in subsystems {
        weights.entry(name.as_ref().to_owned()).or_insert(0.0);
    }
    weights
}

/// The shares of the index, summing to 1, and whether the weights had to be rescaled.
///
/// What was asked for replaces the catalogue's weight of the same name, and that the program's own.
pub(crate) fn shares(
    asked: Option<&BTreeMap<String, f64>>,
    catalogue: &BTreeMap<String, f64>,
    subsystems: &[&str],
) -> Result<(BTreeMap<String, f64>, bool), Error> {
    let mut weights = own(subsystems);
    for (name, weight) in catalogue {
        // A weight may be left of a plugin that is trusted no longer.
        if let Some(it) = weights.get_mut(name) {
            *it = *weight;
        }
    }
    for (name, weight) in asked.into_iter().flatten() {
        if !weights.contains_key(name) {
            return Err(Error::Request {
                place: "weights",
                text: name.clone(),
                why: "is no subsystem".into(),
                accepted: weights.keys().cloned().collect::<Vec<_>>().join(", "),
            });
        }
        if !weight.is_finite() || *weight < 0.0 || *weight > 1e6 {
            return Err(Error::Request {
                place: "weights",
                text: format!("{name}={weight}"),
                why: "is not a weight".into(),
                accepted: "a number from 0".into(),
            });
        }
        weights.insert(name.clone(), *weight);
    }
    let sum: f64 = weights.values().sum();
    if sum <= 0.0 {
        return Err(Error::Request {
            place: "weights",
            text: "0".into(),
            why: "is the sum of all weights".into(),
            accepted: "at least one weight above 0".into(),
        });
    }
    let rescaled = (sum - 1.0).abs() > 1e-9 && (sum - 100.0).abs() > 1e-9;
    for weight in weights.values_mut() {
        *weight /= sum;
    }
    Ok((weights, rescaled))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn asked(list: &[(&str, f64)]) -> BTreeMap<String, f64> {
        list.iter().map(|(name, it)| ((*name).to_owned(), *it)).collect()
    }

    #[test]
    fn the_default_sums_to_one() {
        let (shares, rescaled) = shares(None, &BTreeMap::new(), &["cabinet", "grille"]).unwrap();
        assert!((shares.values().sum::<f64>() - 1.0).abs() < 1e-12);
        assert!((shares["driver"] - 0.35).abs() < 1e-12 && shares["grille"].abs() < 1e-12);
        assert!(!rescaled);
    }

    #[test]
    fn named_weights_replace_and_all_are_rescaled() {
        let (shares, rescaled) =
            shares(Some(&asked(&[("grille", 100.0)])), &BTreeMap::new(), &["grille"]).unwrap();
        assert!((shares["grille"] - 0.5).abs() < 1e-12 && rescaled);
    }

    #[test]
    fn the_catalogue_replaces_the_default_and_the_question_both() {
        let catalogue = asked(&[("cabinet", 35.0), ("driver", 25.0), ("gone", 50.0)]);
        let (shares, rescaled) = super::shares(
            Some(&asked(&[("driver", 20.0), ("wiring", 15.0)])),
            &catalogue,
            &["cabinet"],
        )
        .unwrap();
        let wanted =
            asked(&[("cabinet", 0.35), ("crossover", 0.3), ("driver", 0.2), ("wiring", 0.15)]);
        assert_eq!(shares, wanted);
        assert!(!rescaled);
    }

    #[test]
    fn bad_weights_are_refused_with_what_is_accepted() {
        for bad in [
            [("grill", 1.0)],
            [("wiring", -1.0)],
            [("wiring", f64::NAN)],
            [("wiring", f64::INFINITY)],
        ] {
            assert!(shares(Some(&asked(&bad)), &BTreeMap::new(), &["grille"]).is_err(), "{bad:?}");
        }
        let none = asked(&[("cabinet", 0.0), ("driver", 0.0), ("crossover", 0.0), ("wiring", 0.0)]);
        let why = shares(Some(&none), &BTreeMap::new(), &[]).unwrap_err().to_string();
        assert!(why.contains("at least one weight above 0"), "{why}");
    }
}
