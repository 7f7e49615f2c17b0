//! Claims: judging a sentence without storing it, storing it with its verdict, judging all again after a change, and checking a draft.

mod cause;
mod draft;
mod forms;
mod judged;
mod printed;
mod read;
mod sentence;
mod stored;
mod tried;
mod world;

use domain::claim::Claim;
use serde::Deserialize;

pub use draft::DraftRequest;
pub use forms::claim_help;
pub(crate) use printed::{PrintedClaim, PutDown};
pub use stored::{ClaimAddRequest, ClaimWithdrawRequest};

use crate::{Engine, Error, dto::ClaimJudgement};
use judged::Terms;

/// A claim to be judged.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[cfg_attr(feature = "types", derive(ts_rs::TS), ts(export))]
#[serde(deny_unknown_fields, default)]
pub struct ClaimRequest {
    /// The claim as typed: `best product=maker/model of=crossover band=200..500`.
    pub claim: String,
    /// The seed of the draws; 0 when absent.
    pub seed: Option<u32>,
    /// Draws, 100 to 1,000,000; 10,000 when absent.
    pub draws: Option<u32>,
}

/// Reads a claim as typed.
pub(crate) fn parsed(text: &str) -> Result<Claim, Error> {
    Claim::parse(text).map_err(read::bad)
}

impl Engine {
    /// Judges a claim; nothing is stored.
    ///
    /// # Errors
    /// [`Error::Request`] for a claim that is not understood, [`Error::UnknownProduct`], or when the catalogue cannot be read.
    pub fn judge_claim(&self, request: &ClaimRequest) -> Result<ClaimJudgement, Error> {
        let claim = parsed(&request.claim)?;
        let (scored, hard) = self.scored_for(&claim)?;
        let terms = Terms { seed: request.seed.unwrap_or(0), draws: request.draws, flips: true };
        Ok(self.judged(&claim, &scored, &hard, terms)?.answer)
    }
}

#[cfg(test)]
mod tests;
