//! Offers for tests: the twelve invented products, weights around the user's, and any other products.

use domain::draw::Stream;

use super::Offered;
use crate::fixture::{INDEX, TWELVE};
use crate::profile::Profile;
use crate::weighting::Weightings;

/// A product of which nothing is uncertain, or whose first subsystem has several draws. What a test makes stays until it ends.
pub(crate) fn offer(key: &str, price: f64, parts: &[Vec<f64>]) -> Offered<'static> {
    let nominal = parts.iter().map(|it| it[0]).sum::<f64>() / parts.len() as f64;
    let parts: Vec<Option<&'static [f64]>> =
        parts.iter().map(|it| Some(&*Vec::leak(it.clone()))).collect();
    let profile = Profile::new(Vec::leak(parts), domain::draw::hash(key), None).unwrap();
    Offered {
        key: Vec::leak(vec![key.to_owned()])[0].as_str(),
        price,
        nominal,
        profile,
        in_band: true,
    }
}

/// The twelve, all in the band.
pub(crate) fn twelve() -> Vec<Offered<'static>> {
    let all = TWELVE.iter().zip(INDEX).map(|((key, price, parts), nominal)| Offered {
        nominal,
        ..offer(key, *price, &parts.map(|it| vec![it]))
    });
    all.collect()
}

/// 40 w for the weights of [`crate::fixture::WEIGHTS`].
const SHAPES: [u32; 4] = [12, 14, 10, 4];

/// Draws of Dirichlet(40 w) for the twelve: gamma deviates of whole shape are sums of exponential ones.
pub(crate) fn around(draws: usize, name: &str) -> Weightings {
    let mut stream = Stream::named(name);
    let rows: Vec<Vec<f64>> = (0..draws)
        .map(|_| {
            let gammas = SHAPES.map(|it| -(0..it).map(|_| (1.0 - stream.unit()).ln()).sum::<f64>());
            let sum: f64 = gammas.iter().sum();
            gammas.iter().map(|it| it / sum).collect()
        })
        .collect();
    Weightings::from_rows(&rows).unwrap()
}
