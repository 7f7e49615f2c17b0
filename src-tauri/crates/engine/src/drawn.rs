//! Random draws of what products score: findings by their evidence, through the plugins, kept for many questions.
//!
//! Each product has [`FINDING_DRAWS`] stratified draws of all its findings. The quantities follow by their response to
//! each source (`physics::quantity::responses`), the plugins judge all rows of all products in one batch each, and the
//! points are summed to what is known of each subsystem. What is missing stays apart as gaps, so that a question decides
//! how they are filled. The draws of a product depend on the seed, its key and its own findings alone.

mod columns;
mod fill;
mod store;

use std::{collections::BTreeMap, sync::Arc, thread};

use domain::{draw::Stream, evidence::Evidence};
use host::Evaluation;
use physics::spread::Spreads;
use serde::{Deserialize, Serialize};
use standing::{
    index::{Score, Subsystem},
    rank::Interval,
};

use crate::{
    cores::on_all_cores,
    plugins::{Plugins, Said},
    scoring::{Judge, Scored, ScoredProduct},
};
use columns::{Columns, Mover};
pub(crate) use fill::{Deck, Fill, Filled};
pub(crate) use store::{Store, keys};

/// Stratified draws of the findings of a product: the mean of 1,000 is as good as that of far more plain ones, and the
/// weights go through them in ever new pairs.
pub(crate) const FINDING_DRAWS: usize = 1000;
/// Products whose rows go to the plugins together, which bounds memory: each takes 2 MB while it is drawn.
const TOGETHER: usize = 40;

/// The drawn points of one product.
#[derive(Debug, PartialEq, Serialize, Deserialize)]
pub(crate) struct Drawn {
    /// One a subsystem, in the order of [`Scored::subsystems`].
    pub(crate) parts: Vec<Part>,
    /// What moves its points.
    pub(crate) pulls: Vec<Pull>,
}

/// The drawn points of one subsystem.
#[derive(Debug, PartialEq, Serialize, Deserialize)]
pub(crate) enum Part {
    /// It does not apply.
    Absent,
    /// It applies.
    Present {
        /// The share times points of the criteria that were scored, summed, by draw; one number where nothing moves it.
        known: Vec<f64>,
        /// The criteria that were not.
        gaps: Vec<Gap>,
    },
}

/// A criterion that was not scored.
#[derive(Debug, PartialEq, Serialize, Deserialize)]
pub(crate) struct Gap {
    /// Its place among the criteria; `None` when the whole subsystem was not scored.
    pub(crate) criterion: Option<usize>,
    /// Its share of the subsystem.
    pub(crate) share: f64,
    /// What it can be worth.
    #[serde(with = "ends")]
    pub(crate) within: Interval,
    /// A number from 0 to 1 for each draw, stratified.
    pub(crate) at: Vec<f64>,
    /// The findings that would settle it.
    pub(crate) missing: Vec<String>,
}

/// An interval as its two ends.
mod ends {
    use serde::{Deserialize, Deserializer, Serialize, Serializer, de::Error as _};
    use standing::rank::Interval;

    pub(super) fn serialize<S: Serializer>(it: &Interval, to: S) -> Result<S::Ok, S::Error> {
        (it.low(), it.high()).serialize(to)
    }

    pub(super) fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Interval, D::Error> {
        let (low, high) = <(f64, f64)>::deserialize(from)?;
        Interval::new(low, high).map_err(D::Error::custom)
    }
}

/// How a source moves the points of a product.
#[derive(Debug, PartialEq, Serialize, Deserialize)]
pub(crate) struct Pull {
    /// A finding's address, or what is assumed.
    pub(crate) source: String,
    /// Whether it is a claim or a guess.
    pub(crate) soft: bool,
    /// Covariance of the standardised source with each subsystem's known points.
    pub(crate) by_part: Vec<f64>,
}

/// Draws products; what a plugin could not judge stays as it was scored, and is told.
pub(crate) fn draw(
    scored: &Scored,
    which: &[usize],
    plugins: &Plugins,
    spreads: &Spreads,
    seed: u64,
) -> (Vec<Arc<Drawn>>, Vec<String>) {
    let mut all = Vec::with_capacity(which.len());
    let mut faults = Vec::new();
    for some in which.chunks(TOGETHER) {
        let products: Vec<&ScoredProduct> = some.iter().map(|&at| &scored.products[at]).collect();
        all.extend(draw_some(scored, &products, plugins, spreads, seed, &mut faults));
    }
    faults.sort_unstable();
    faults.dedup();
    (all, faults)
}

fn draw_some(
    scored: &Scored,
    products: &[&ScoredProduct],
    plugins: &Plugins,
    spreads: &Spreads,
    seed: u64,
    faults: &mut Vec<String>,
) -> Vec<Arc<Drawn>> {
    let judges: Vec<&Judge> = scored.judges.iter().filter(|it| it.is_independent()).collect();
    let columns = on_all_cores(products, |product| Columns::of(product, &judges, spreads, seed));
    // The judges' answers, each for all products; the rows of a product follow each other.
    let answers: Vec<Result<Answer, String>> = thread::scope(|scope| {
        let columns = &columns;
        let threads: Vec<_> = judges
            .iter()
            .enumerate()
            .map(|(at, judge)| scope.spawn(move || ask(judge, at, columns, plugins)))
            .collect();
        threads
            .into_iter()
            .map(|it| it.join().unwrap_or_else(|_| Err("the call broke off".into())))
            .collect()
    });
    for (judge, answer) in judges.iter().zip(&answers) {
        if let Err(why) = answer {
            faults.push(format!(
                "{}: findings not drawn, scores taken as they are: {why}",
                judge.manifest.subsystem
            ));
        }
    }
    on_all_cores(0..products.len(), |at| {
        let answers: Vec<Option<Rows<'_>>> =
            answers.iter().map(|it| it.as_ref().ok().and_then(|it| it.rows(at))).collect();
        Arc::new(drawn(scored, products[at], &judges, &columns[at], &answers, seed))
    })
}

/// What a plugin answered about all products.
struct Answer {
    evaluation: Evaluation,
    /// The first row of each product; `None` where nothing that the plugin reads moves.
    from: Vec<Option<usize>>,
}

/// The rows of one product in an answer.
#[derive(Clone, Copy)]
struct Rows<'a> {
    evaluation: &'a Evaluation,
    from: usize,
}

impl Answer {
    fn rows(&self, product: usize) -> Option<Rows<'_>> {
        Some(Rows { evaluation: &self.evaluation, from: self.from[product]? })
    }
}

fn ask(judge: &Judge, at: usize, columns: &[Columns], plugins: &Plugins) -> Result<Answer, String> {
    let mut from = Vec::with_capacity(columns.len());
    let mut n_rows = 0;
    for it in columns {
        let moves = it.moves(at);
        from.push(moves.then_some(n_rows));
        n_rows += if moves { FINDING_DRAWS } else { 0 };
    }
    let n_inputs = judge.manifest.inputs.len();
    let mut inputs: Vec<Vec<f64>> = vec![Vec::with_capacity(n_rows); n_inputs];
    for it in columns.iter().filter(|it| it.moves(at)) {
        for (input, column) in inputs.iter_mut().enumerate() {
            it.extend(at, input, column);
        }
    }
    let evaluation = judge.ask(plugins, Said::Dropped, inputs, n_rows)?;
    Ok(Answer { evaluation, from })
}

/// What is known of each subsystem, draw by draw.
fn drawn(
    scored: &Scored,
    product: &ScoredProduct,
    judges: &[&Judge],
    columns: &Columns,
    answers: &[Option<Rows<'_>>],
    seed: u64,
) -> Drawn {
    let key = product.dossier.product.key.as_str();
    let parts: Vec<Part> = product
        .subsystems
        .iter()
        .enumerate()
        .map(|(place, subsystem)| {
            let name = &scored.subsystems[place];
            let gap = |criterion: Option<usize>, id: &str, share, within, missing| Gap {
                criterion,
                share,
                within,
                at: strata(seed, key, &format!("{name}.{id}")),
                missing,
            };
            match subsystem.score {
                Subsystem::NothingApplies => return Part::Absent,
                Subsystem::NotScored => {
                    let whole = gap(None, "", 1.0, Interval::UNKNOWN, Vec::new());
                    return Part::Present { known: vec![0.0], gaps: vec![whole] };
                }
                Subsystem::Scored(_) => {}
            }
            let counts = |it: &&crate::scoring::ScoredCriterion| {
                it.weight > 0.0 && !matches!(it.score, Score::NotApplicable)
            };
            let total: f64 = subsystem.criteria.iter().filter(counts).map(|it| it.weight).sum();
            let at = judges.iter().position(|it| it.place == place);
            let rows = at.and_then(|at| answers[at]);
            let mut known = vec![0.0];
            let mut gaps = Vec::new();
            for (criterion, it) in
                subsystem.criteria.iter().enumerate().filter(|(_, it)| counts(it))
            {
                let share = it.weight / total;
                match it.score {
                    Score::Known { value, .. } => match (at, rows) {
                        (Some(at), Some(rows)) => {
                            let judge = judges[at];
                            add(&mut known, share, value, judge, criterion, columns, at, rows);
                        }
                        _ => known.iter_mut().for_each(|it| *it += share * value),
                    },
                    Score::Missing { within } => {
                        gaps.push(gap(Some(criterion), &it.id, share, within, it.missing.clone()));
                    }
                    Score::NotApplicable => {}
                }
            }
            Part::Present { known, gaps }
        })
        .collect();
    let pulls = pulls(&parts, columns.movers());
    Drawn { parts, pulls }
}

/// Adds a criterion's points to what is known, draw by draw if they differ.
///
/// Where a draw gives no measure, as when a category that was misread makes the question senseless, the points stay as they
/// were scored.
#[expect(clippy::too_many_arguments, reason = "one step of the loop above, which owns all of it")]
fn add(
    known: &mut Vec<f64>,
    share: f64,
    value: f64,
    judge: &Judge,
    criterion: usize,
    columns: &Columns,
    at: usize,
    rows: Rows<'_>,
) {
    if !judge.reads(criterion).any(|input| columns.is_drawn(at, input)) {
        known.iter_mut().for_each(|it| *it += share * value);
        return;
    }
    if known.len() == 1 {
        *known = vec![known[0]; FINDING_DRAWS];
    }
    for (draw, it) in known.iter_mut().enumerate() {
        let measure =
            rows.evaluation.score(rows.from + draw, criterion).filter(|it| it.is_finite());
        let points = measure.map_or(value, |measure| {
            judge.points(criterion, measure, |input| columns.number(at, input, draw))
        });
        *it += share * points;
    }
}

/// One number in each of as many equally likely parts of 0 to 1 as there are draws, in random order.
fn strata(seed: u64, product: &str, criterion: &str) -> Vec<f64> {
    let mut stream = Stream::of(seed, "gap", product, criterion);
    let mut order: Vec<u32> = (0..u32::try_from(FINDING_DRAWS).unwrap_or(u32::MAX)).collect();
    stream.shuffle(&mut order);
    order.into_iter().map(|it| (f64::from(it) + stream.unit()) / FINDING_DRAWS as f64).collect()
}

/// How each source moves what is known of each subsystem.
fn pulls(parts: &[Part], movers: &[Mover]) -> Vec<Pull> {
    let centred: Vec<Option<Vec<f64>>> = parts
        .iter()
        .map(|part| match part {
            Part::Present { known, .. } if known.len() > 1 => {
                let mean = known.iter().sum::<f64>() / known.len() as f64;
                Some(known.iter().map(|it| it - mean).collect())
            }
            _ => None,
        })
        .collect();
    let mut pulls: BTreeMap<(&str, bool), Vec<f64>> = BTreeMap::new();
    for mover in movers {
        let z = mover.standardised();
        let soft = mover.evidence.is_some_and(|it: Evidence| !it.is_hard());
        let by_part = centred.iter().map(|part| {
            part.as_ref().map_or(0.0, |part| {
                part.iter().zip(&*z).map(|(x, z)| x * z).sum::<f64>() / z.len() as f64
            })
        });
        // The columns of a fit are one source to the reader; their squares add up.
        let source = mover.source.split('#').next().unwrap_or_default();
        let sum = pulls.entry((source, soft)).or_insert_with(|| vec![0.0; parts.len()]);
        for (sum, it) in sum.iter_mut().zip(by_part) {
            *sum = if *sum == 0.0 { it } else { f64::hypot(*sum, it) };
        }
    }
    pulls
        .into_iter()
        .map(|((source, soft), by_part)| Pull { source: source.to_owned(), soft, by_part })
        .filter(|it| it.by_part.iter().any(|it| *it != 0.0))
        .collect()
}

#[cfg(test)]
mod tests;
