//! Questions about a price band, and how they are weighed and drawn.

use std::collections::BTreeMap;

use clap::Args;

#[derive(Debug, Args)]
pub(crate) struct Band {
    #[command(flatten)]
    pub(crate) asked: Asked,
    /// Say all that is missing of products that are not ranked
    #[arg(long)]
    pub(crate) all: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Bands {
    /// Only stand-mount or floor-standing products
    #[arg(long)]
    pub(crate) kind: Option<String>,
}

#[derive(Debug, Args)]
pub(crate) struct Compare {
    /// Two to five keys, such as marrowfield/stile-5
    #[arg(required = true, num_args = 2..=5, value_name = "PRODUCT")]
    pub(crate) products: Vec<String>,
    /// Weights of subsystems, such as cabinet=25,driver=35,crossover=30,wiring=10
    #[arg(long, value_name = "NAME=NUMBER,…", value_parser = weights)]
    pub(crate) weights: Option<Weights>,
    /// The seed of the draws; without it 0
    #[arg(long, value_name = "NUMBER")]
    pub(crate) seed: Option<u32>,
}

/// A question about a price band.
#[derive(Debug, Args)]
pub(crate) struct Asked {
    /// The price band, such as 200..500
    #[arg(value_name = "LOW..HIGH")]
    pub(crate) band: String,
    #[command(flatten)]
    pub(crate) how: How,
}

/// How to weigh and to draw.
#[derive(Debug, Args)]
pub(crate) struct How {
    /// Only stand-mount or floor-standing products
    #[arg(long)]
    pub(crate) kind: Option<String>,
    /// Weights of subsystems, such as cabinet=25,driver=35,crossover=30,wiring=10
    #[arg(long, value_name = "NAME=NUMBER,…", value_parser = weights)]
    pub(crate) weights: Option<Weights>,
    /// Draws of weights, 100 to 1000000; without it 10000
    #[arg(long, value_name = "NUMBER")]
    pub(crate) draws: Option<u32>,
    /// The seed of the draws; without it 0
    #[arg(long, value_name = "NUMBER")]
    pub(crate) seed: Option<u32>,
    /// How closely drawn weights lie around those asked for, 1 to 10000; without it 40
    #[arg(long, value_name = "NUMBER")]
    pub(crate) kappa: Option<f64>,
    /// Compute on so many cores, which changes no number; without it on all
    #[arg(long, value_name = "NUMBER")]
    pub(crate) threads: Option<u32>,
}

#[derive(Debug, Args)]
pub(crate) struct WhatIf {
    /// The key, such as marrowfield/stile-5
    pub(crate) product: String,
    /// The price band, such as 200..500
    #[arg(long, value_name = "LOW..HIGH")]
    pub(crate) band: String,
    /// A finding as you would type it, such as cabinet.wall_damping='damping sheet'; may stand several times
    #[arg(long, value_name = "PART.KEY=VALUE", value_parser = pair)]
    pub(crate) set: Vec<(String, String)>,
    /// How the new findings would be known, such as measured or claimed
    #[arg(long, value_name = "GRADE")]
    pub(crate) evidence: Option<String>,
    /// A price as you would type it, such as 249 or '129 each'
    #[arg(long, value_name = "AMOUNT")]
    pub(crate) price: Option<String>,
    /// Weights after the change; --weights are those before
    #[arg(long, value_name = "NAME=NUMBER,…", value_parser = weights)]
    pub(crate) to_weights: Option<Weights>,
    #[command(flatten)]
    pub(crate) how: How,
}

/// Weights by subsystem.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Weights(pub(crate) BTreeMap<String, f64>);

fn pair(text: &str) -> Result<(String, String), String> {
    text.split_once('=')
        .map(|(address, value)| (address.trim().to_owned(), value.trim().to_owned()))
        .filter(|(address, value)| !address.is_empty() && !value.is_empty())
        .ok_or_else(|| format!("{text:?} is not PART.KEY=VALUE"))
}

fn weights(text: &str) -> Result<Weights, String> {
    let mut weights = BTreeMap::new();
    for pair in text.split(',') {
        let (name, number) =
            pair.split_once('=').ok_or_else(|| format!("{pair:?} is not NAME=NUMBER"))?;
        let number: f64 =
            number.trim().parse().map_err(|_| format!("{number:?} is not a number"))?;
        if weights.insert(name.trim().to_owned(), number).is_some() {
            return Err(format!("{name:?} is weighed twice"));
        }
    }
    Ok(Weights(weights))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_finding_is_split_at_its_first_equals_sign() {
        assert_eq!(pair("cabinet.note = a=b").unwrap(), ("cabinet.note".into(), "a=b".into()));
        for bad in ["", "cabinet.joint", "=butt", "cabinet.joint="] {
            assert!(pair(bad).is_err(), "{bad} was accepted");
        }
    }

    #[test]
    fn weights_are_pairs() {
        let read = weights("cabinet=25, driver = 35.5").unwrap();
        assert_eq!(
            read.0,
            BTreeMap::from([("cabinet".to_owned(), 25.0), ("driver".to_owned(), 35.5)])
        );
        for bad in ["", "cabinet", "cabinet=", "cabinet=a lot", "cabinet=1,cabinet=2", "a=1,"] {
            assert!(weights(bad).is_err(), "{bad} was accepted");
        }
    }
}
