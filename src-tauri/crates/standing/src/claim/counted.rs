//! How many have a property, and who alone has it.

use super::{Answer, Gate, Test, World};
use crate::{
    confidence::{Level, Limits},
    prevalence::{BadPrevalence, MarketVerdict, Prevalence, Quantity},
    verdict::Lean,
};

/// How many are said to have it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Quantifier {
    /// All of them.
    All,
    /// None.
    None,
    /// A word for a share.
    Share(Quantity),
    /// At least so many.
    AtLeast(u32),
    /// At most so many.
    AtMost(u32),
    /// Exactly so many.
    Exactly(u32),
}

/// Of whom it is said.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Population {
    /// Of the products that were opened: a count.
    Opened,
    /// Of all that are sold, of which those opened are taken to be typical.
    Market,
}

/// The count behind a claim.
#[derive(Debug, Clone, PartialEq)]
pub struct Count {
    /// Who has it, by place.
    pub yes: Vec<usize>,
    /// Of whom it cannot be told.
    pub unknown: Vec<usize>,
    /// Who has it not.
    pub no: Vec<usize>,
    /// The largest share of a market that finding none does not rule out.
    pub zero_bound: Option<f64>,
}

impl Count {
    fn of(answers: &[Answer]) -> Self {
        let with = |wanted: Answer| {
            let found = answers.iter().enumerate().filter(|(_, it)| **it == wanted);
            found.map(|(at, _)| at).collect::<Vec<usize>>()
        };
        Count {
            yes: with(Answer::Yes),
            unknown: with(Answer::Undetermined),
            no: with(Answer::No),
            zero_bound: None,
        }
    }
}

/// Whether so many have the property; `answers` are those of the products that were opened.
///
/// Of those opened it is a count: it holds, or fails, when it does so whatever the undetermined ones turn out to be; `most` is more than
/// a half, the other words as [`Quantity`] has them. Of a market the words are judged by [`Prevalence::verdict`]; `all` and `none` of a
/// market are never borne out, and refuted by a single product. Counts are said of those opened alone: of a market they stay open.
///
/// # Errors
/// [`BadPrevalence`] for more products than a share takes.
pub fn prevalence(
    answers: &[Answer],
    quantifier: Quantifier,
    population: Population,
) -> Result<Test<Count>, BadPrevalence> {
    let mut count = Count::of(answers);
    let n = answers.len();
    if n == 0 {
        return Ok(Test::gated(Gate::Count { found: 0, needed: 1 }, 0, count));
    }
    let whole = |it: usize| u32::try_from(it).unwrap_or(u32::MAX);
    let (k, m, opened) = (whole(count.yes.len()), whole(count.unknown.len()), whole(n));
    let share = Prevalence::new(k, m, opened)?;
    count.zero_bound = share.zero_bound();
    let (world, interval) = match population {
        Population::Opened => (of_those_opened(quantifier, k, m, opened), None),
        Population::Market => (of_the_market(quantifier, share), Some(share.exact(Level::NINETY))),
    };
    let deciding = match (quantifier, world) {
        (Quantifier::All, World::Fails) => count.no.clone(),
        (_, World::Gated(_)) => Vec::new(),
        (_, World::Open) if !count.unknown.is_empty() => count.unknown.clone(),
        _ => count.yes.clone(),
    };
    Ok(Test { interval, deciding, ..Test::gated(Gate::Constant, n, count) }.judged(world))
}

impl Test<Count> {
    fn judged(self, world: World) -> Self {
        Test { world, ..self }
    }
}

fn of_those_opened(quantifier: Quantifier, k: u32, m: u32, n: u32) -> World {
    // From `low` to `high` of them have it, whatever the undetermined ones turn out to be.
    let (low, high) = (k, k + m);
    let between = |least: u32, most: u32| {
        if low >= least && high <= most {
            World::Holds
        } else if high < least || low > most {
            World::Fails
        } else {
            World::Open
        }
    };
    match quantifier {
        Quantifier::All => between(n, n),
        Quantifier::None => between(0, 0),
        Quantifier::Share(Quantity::Most) => between(n / 2 + 1, n),
        // Fewer than a quarter: at most the largest whole number below n / 4.
        Quantifier::Share(Quantity::Few) => between(0, n.div_ceil(4).saturating_sub(1)),
        Quantifier::Share(Quantity::NearlyAll) => between(3 * n / 4 + 1, n),
        Quantifier::Share(Quantity::AboutHalf) => between(n.div_ceil(4), 3 * n / 4),
        Quantifier::AtLeast(it) => between(it, u32::MAX),
        Quantifier::AtMost(it) => between(0, it),
        Quantifier::Exactly(it) => between(it, it),
    }
}

fn of_the_market(quantifier: Quantifier, share: Prevalence) -> World {
    let (yes, possible) = (share.yes(), share.yes() + share.unknown());
    match quantifier {
        Quantifier::Share(it) => match share.verdict(it) {
            MarketVerdict::Supported => World::Holds,
            MarketVerdict::Contradicted => World::Fails,
            MarketVerdict::NotSupported => World::Open,
            MarketVerdict::TooFew => {
                let whole = |it: u32| usize::try_from(it).unwrap_or(usize::MAX);
                World::Gated(Gate::Count {
                    found: whole(share.opened()),
                    needed: whole(it.least_opened()),
                })
            }
        },
        Quantifier::All if possible < share.opened() => World::Fails,
        Quantifier::None if yes > 0 => World::Fails,
        _ => World::Open,
    }
}

/// Whether product `i` alone has the property. One undetermined product could have it too, so with any there are too few data, unless
/// another surely has it or `i` surely has not.
#[must_use]
pub fn only(answers: &[Answer], i: usize) -> Test<Count> {
    let count = Count::of(answers);
    let others: Vec<usize> = count.yes.iter().copied().filter(|it| *it != i).collect();
    let has = answers.get(i).copied();
    let (world, deciding) = if has == Some(Answer::No) {
        (World::Fails, vec![i])
    } else if !others.is_empty() {
        (World::Fails, others)
    } else if count.unknown.is_empty() {
        (World::Holds, vec![i])
    } else {
        let gate = Gate::Undetermined { count: count.unknown.len() };
        (World::Gated(gate), count.unknown.clone())
    };
    Test {
        world,
        n: answers.len(),
        p: None,
        interval: None::<Limits>,
        deciding,
        lean: Lean::Neither,
        borderline: false,
        detail: count,
    }
}
