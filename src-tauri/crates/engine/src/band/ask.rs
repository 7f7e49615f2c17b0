//! What a question about a band may say, and how it is read.

use std::collections::BTreeMap;

use domain::product::ProductKind;
use serde::{Deserialize, Serialize};
use standing::band::{BadBand, Band};

use crate::{Error, cores};

/// Which band, how to weigh, and how to draw.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "types", derive(ts_rs::TS), ts(export))]
#[serde(deny_unknown_fields, default)]
pub struct BandRequest {
    /// Lowest real price of a pair, in whole units; open when absent.
    pub low: Option<f64>,
    /// The price below which the band ends; open when absent.
    pub high: Option<f64>,
    /// Only this kind of product.
    pub kind: Option<String>,
    /// Weights of subsystems that replace the default ones.
    pub weights: Option<BTreeMap<String, f64>>,
    /// Draws of weights, 100 to 1,000,000; 10,000 when absent.
    pub draws: Option<u32>,
    /// The seed of the draws; 0 when absent.
    pub seed: Option<u32>,
    /// How closely the drawn weights lie around those asked for, 1 to 10,000; 40 when absent.
    pub kappa: Option<f64>,
    /// On how many cores to compute, 1 to 64; on all when absent. It changes no number.
    pub threads: Option<u32>,
}

/// How many draws of the weights: the worst standard error of a probability is then half a per cent.
const DRAWS: u32 = 10_000;
/// Dirichlet concentration: a weight of 0.35 then has a standard deviation of 0.07. Editorial.
const KAPPA: f64 = 40.0;

/// How to draw.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Draws {
    pub(crate) seed: u32,
    pub(crate) draws: usize,
    pub(crate) kappa: f64,
    pub(crate) threads: usize,
}

/// Draws under other assumptions: the standard error of a probability of 0.9 is then 0.7 %, enough to tell whether a
/// verdict stands.
const OTHER_DRAWS: usize = 2_000;

impl Draws {
    /// As many as it takes to see whether a verdict holds under another assumption.
    pub(crate) fn fewer(self) -> Self {
        Draws { draws: self.draws.min(OTHER_DRAWS), ..self }
    }
}

impl BandRequest {
    /// The band.
    pub(crate) fn band(&self) -> Result<Band, Error> {
        let (low, high) = (whole(self.low)?, whole(self.high)?);
        let show = |it: Option<u32>| it.map(|it| it.to_string()).unwrap_or_default();
        Band::new(low, high)
            .map_err(|why| bad_band(&format!("{}..{}", show(low), show(high)), &why))
    }

    /// The kind.
    pub(crate) fn kind(&self) -> Result<Option<ProductKind>, Error> {
        kind_filter(self.kind.as_deref())
    }

    /// How to draw.
    pub(crate) fn draws(&self) -> Result<Draws, Error> {
        let refuse = |place, text: String, accepted: &str| Error::Request {
            place,
            text,
            why: "is out of range".into(),
            accepted: accepted.into(),
        };
        let draws = self.draws.unwrap_or(DRAWS);
        if !(100..=1_000_000).contains(&draws) {
            return Err(refuse("draws", draws.to_string(), "a whole number from 100 to 1000000"));
        }
        let kappa = self.kappa.unwrap_or(KAPPA);
        if !(1.0..=10_000.0).contains(&kappa) {
            return Err(refuse("kappa", kappa.to_string(), "a number from 1 to 10000"));
        }
        let threads = match self.threads {
            None => cores::count(),
            Some(it @ 1..=64) => it as usize,
            Some(it) => {
                return Err(refuse("threads", it.to_string(), "a whole number from 1 to 64"));
            }
        };
        Ok(Draws { seed: self.seed.unwrap_or(0), draws: draws as usize, kappa, threads })
    }
}

fn whole(edge: Option<f64>) -> Result<Option<u32>, Error> {
    match edge {
        None => Ok(None),
        Some(it) if it.fract() == 0.0 && (0.0..1e9).contains(&it) =>
        {
            #[expect(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "checked on the line above"
            )]
            Ok(Some(it as u32))
        }
        Some(it) => Err(Error::Request {
            place: "band",
            text: it.to_string(),
            why: "is no edge of a band".into(),
            accepted: "a whole number from 0 to 999999999".into(),
        }),
    }
}

/// Reads a band as typed: `200..500`, `..300`, `800..`.
///
/// # Errors
/// [`Error::Request`] with the accepted form.
pub fn parse_band(text: &str) -> Result<(Option<f64>, Option<f64>), Error> {
    let band: Band = text.parse().map_err(|why: BadBand| bad_band(text, &why))?;
    Ok((band.low(), band.high()))
}

pub(crate) fn bad_band(text: &str, why: &BadBand) -> Error {
    Error::Request {
        place: "band",
        text: text.into(),
        why: match why {
            BadBand::Empty { .. } => {
                "holds no price; the low edge must be below the high one".into()
            }
            BadBand::Form { .. } => "is not a band".into(),
        },
        accepted: "LOW..HIGH in whole units, such as 200..500, ..300 or 800..".into(),
    }
}

pub(crate) fn kind_filter(kind: Option<&str>) -> Result<Option<ProductKind>, Error> {
    kind.map(|it| {
        ProductKind::parse(it).map_err(|why| Error::Request {
            place: "kind",
            text: it.into(),
            why: "is no kind of product".into(),
            accepted: why.accepted,
        })
    })
    .transpose()
}
