//! Whether a sentence about the products of a scope may be printed.
//!
//! Each kind of claim has a test that looks at one world, a state of knowledge: [`World`] is what it says there. [`settle`] joins the
//! worlds: hard findings alone decide; if only claims and guesses settle it, the claim depends on them. Limits on the amount of
//! data come first. All thresholds are those of [`crate::gates`], and editorial. Nothing is worded here.

mod compared;
mod counted;
mod drawn;
mod limit;
mod property;
mod ranked;
#[cfg(test)]
mod tests;
mod trend;
mod worth;

pub use compared::{Comparison, comparative};
pub use counted::{Count, Population, Quantifier, only, prevalence};
pub use drawn::{BadDraws, Drawn};
pub use limit::{Reading, Side, threshold, threshold_of_all};
pub use property::{Answer, all_of, any_of, not};
pub use ranked::{End, Superlative, Typical, superlative, typical};
pub use trend::{Trend, association};
pub use worth::value;

use crate::{confidence::Limits, verdict::Lean};

/// What may be said of a claim.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Verdict {
    /// Hard findings bear it out.
    Supported,
    /// The data do not settle it.
    NotSupported,
    /// Hard findings refute it.
    Contradicted,
    /// There is too little to test it on.
    TooFew,
    /// It is settled only with findings that the maker claims or that were inferred.
    DependsOnInferred,
}

impl Verdict {
    /// All of them.
    pub const ALL: [Verdict; 5] = [
        Verdict::Supported,
        Verdict::NotSupported,
        Verdict::Contradicted,
        Verdict::TooFew,
        Verdict::DependsOnInferred,
    ];

    /// The words that are printed.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Verdict::Supported => "supported",
            Verdict::NotSupported => "not supported",
            Verdict::Contradicted => "contradicted",
            Verdict::TooFew => "too few data",
            Verdict::DependsOnInferred => "depends on inferred findings",
        }
    }
}

/// What stands in the way of a test. Places count from 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Gate {
    /// Too few products, pairs or opened ones.
    Count {
        /// How many there are.
        found: usize,
        /// How many it takes.
        needed: usize,
    },
    /// Too little was seen of a product to rank it.
    Coverage,
    /// The price of the product is stale.
    StalePrice,
    /// Products of which it cannot be told, any of which could decide.
    Undetermined {
        /// How many.
        count: usize,
    },
    /// All values are alike, so nothing can rise with them.
    Constant,
}

/// What one state of knowledge says of a claim.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum World {
    /// It holds.
    Holds,
    /// It is refuted.
    Fails,
    /// Neither.
    Open,
    /// It cannot be tested.
    Gated(Gate),
}

/// A test of a claim in one world, with the numbers that decided.
#[derive(Debug, Clone, PartialEq)]
pub struct Test<D> {
    /// What it says.
    pub world: World,
    /// How many products it rests on.
    pub n: usize,
    /// The probability that decided, if one did: that the claim holds.
    pub p: Option<f64>,
    /// The 90 % interval of what the claim is about, in the unit of [`Test::detail`].
    pub interval: Option<Limits>,
    /// The products that decide it, the weightiest first; places from 0.
    pub deciding: Vec<usize>,
    /// To which side it leans where it is open.
    pub lean: Lean,
    /// Whether other draws could have decided otherwise.
    pub borderline: bool,
    /// What only this kind of claim has.
    pub detail: D,
}

impl<D> Test<D> {
    fn gated(gate: Gate, n: usize, detail: D) -> Self {
        Test {
            world: World::Gated(gate),
            n,
            p: None,
            interval: None,
            deciding: Vec::new(),
            lean: Lean::Neither,
            borderline: false,
            detail,
        }
    }

    /// The same with other detail.
    pub fn map<E>(self, with: impl FnOnce(D) -> E) -> Test<E> {
        Test {
            world: self.world,
            n: self.n,
            p: self.p,
            interval: self.interval,
            deciding: self.deciding,
            lean: self.lean,
            borderline: self.borderline,
            detail: with(self.detail),
        }
    }
}

/// The verdict on a claim from the world of hard findings alone and the one of all findings.
///
/// Too few data there is where the gates say so of all findings, since fewer findings never open a gate; then hard evidence
/// decides, then all.
#[must_use]
pub fn settle(hard: World, all: World) -> Verdict {
    match (hard, all) {
        (_, World::Gated(_)) => Verdict::TooFew,
        (World::Holds, _) => Verdict::Supported,
        (World::Fails, _) => Verdict::Contradicted,
        (World::Open | World::Gated(_), World::Holds | World::Fails) => Verdict::DependsOnInferred,
        (World::Open | World::Gated(_), World::Open) => Verdict::NotSupported,
    }
}

/// What two fills of the same gaps say together: only what both say.
#[must_use]
pub fn less_favourable(one: World, other: World) -> World {
    match (one, other) {
        (World::Gated(_), _) => one,
        (_, World::Gated(_)) => other,
        _ if one == other => one,
        _ => World::Open,
    }
}

/// The world of a probability that the claim holds, one that it is refuted, and whether the difference is worth a word.
fn by_draws(holds: f64, fails: f64, large: bool) -> (World, Lean) {
    use crate::{
        gates::{P_CONTRA, P_LEANS, P_SUPPORT},
        rank::quantise,
    };
    let reaches = |p: f64, limit: f64| quantise(p) >= quantise(limit);
    let world = if reaches(fails, P_CONTRA) && large {
        World::Fails
    } else if reaches(holds, P_SUPPORT) && large {
        World::Holds
    } else {
        World::Open
    };
    let lean = match world {
        World::Open if reaches(fails, P_LEANS) => Lean::Against,
        World::Open if reaches(holds, P_LEANS) => Lean::For,
        _ => Lean::Neither,
    };
    (world, lean)
}
