//! Claims in a publication: those that stand and are about its band, judged as it is made.

use domain::claim::Claim;
use serde::{Deserialize, Serialize};

use super::{judged::Terms, parsed};
use crate::{BandRequest, Engine, Error, band::parse_band};

/// A claim as an edition keeps it, to be judged again.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(crate) struct PutDown {
    pub(crate) id: u32,
    pub(crate) statement: String,
    pub(crate) wording: String,
    pub(crate) author: String,
    pub(crate) seed: u32,
}

/// A claim with the verdict that is printed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(crate) struct PrintedClaim {
    pub(crate) id: u32,
    /// The canonical form.
    pub(crate) statement: String,
    /// The author's sentence; may be empty.
    pub(crate) wording: String,
    pub(crate) author: String,
    pub(crate) verdict: String,
    /// The sentence that may be printed.
    pub(crate) sentence: String,
    pub(crate) why: String,
    /// How many products it rests on.
    pub(crate) n: u32,
    /// The interval in words, or empty.
    pub(crate) interval: String,
    /// Products that decide, by name.
    pub(crate) deciding: Vec<String>,
    /// Soft findings without which it is open.
    pub(crate) inferred: Vec<String>,
    /// What would flip the verdict.
    pub(crate) flips: Vec<String>,
}

/// Whether a claim is about products of the band alone.
fn is_about(claim: &Claim, band: &BandRequest) -> Result<bool, Error> {
    let Some(text) = &claim.scope.band else { return Ok(false) };
    let (low, high) = parse_band(text)?;
    let from = band.low.is_none_or(|of| low.is_some_and(|it| it >= of));
    let to = band.high.is_none_or(|of| high.is_some_and(|it| it <= of));
    let kind = band
        .kind
        .as_ref()
        .is_none_or(|of| claim.scope.kind.is_some_and(|it| it.word() == of.as_str()));
    Ok(from && to && kind)
}

impl Engine {
    /// The claims that stand and are about a band, oldest first.
    pub(crate) fn claims_about(&self, band: &BandRequest) -> Result<Vec<PutDown>, Error> {
        let mut list = Vec::new();
        for it in self.reader().claims()? {
            if it.withdrawn.is_some() || it.replaced_by.is_some() {
                continue;
            }
            if is_about(&parsed(&it.claim.statement)?, band)? {
                list.push(PutDown {
                    id: it.id,
                    statement: it.claim.statement,
                    wording: it.claim.wording,
                    author: it.claim.author,
                    seed: it.verdicts.last().map_or(0, |it| it.seed),
                });
            }
        }
        Ok(list)
    }

    /// Judges them; one that names what is not there any more is an error that says so. `reach` is told before each which
    /// one of how many it is; the work ends where it refuses.
    pub(crate) fn printed_claims(
        &self,
        list: &[PutDown],
        reach: &mut dyn FnMut((usize, usize)) -> Result<(), Error>,
    ) -> Result<Vec<PrintedClaim>, Error> {
        list.iter()
            .enumerate()
            .map(|(at, of)| {
                reach((at, list.len()))?;
                let terms = Terms { seed: of.seed, draws: None, flips: true };
                let claim = parsed(&of.statement)?;
                let (scored, hard) = self.scored_for(&claim)?;
                let answer = self.judged(&claim, &scored, &hard, terms)?.answer;
                Ok(PrintedClaim {
                    id: of.id,
                    statement: of.statement.clone(),
                    wording: of.wording.clone(),
                    author: of.author.clone(),
                    verdict: answer.verdict,
                    sentence: answer.sentence,
                    why: answer.why,
                    n: answer.n,
                    interval: answer.interval.map(|it| it.text).unwrap_or_default(),
                    deciding: answer.deciding.into_iter().map(|it| it.label).collect(),
                    inferred: answer.inferred.into_iter().map(|it| it.label).collect(),
                    flips: answer.flips,
                })
            })
            .collect()
    }
}
