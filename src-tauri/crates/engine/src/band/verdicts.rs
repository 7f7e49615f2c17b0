//! What may be said of a product's value for money, and how that fares under other assumptions.

use std::sync::Arc;

use ::standing::{
    index::{IndexScore, Subsystem, index},
    power_mean::power_mean,
    rank::quantise,
    value::{Fit, curve_limits},
    verdict::{
        Case, Ineligible, Judgement, Lean, Test, Verdict, What, best_value, good_value, overpriced,
        unbeaten,
    },
};

use super::{
    Question,
    field::{Field, Member},
    numbers::{self, Numbers, ValueNumbers, internal},
};
use crate::{
    Error,
    drawn::{Drawn, Fill, Part},
    dto::{CurveDto, CurveLimit, MeanDto, VerdictDto},
};

/// The same field under other assumptions.
#[derive(Debug)]
pub(crate) struct Alternatives {
    /// All subsystems counting alike, in the order of the ranked products.
    pub(super) equal: Vec<IndexScore>,
    /// The weighted geometric mean, where all is known.
    pub(super) geometric: Vec<Option<f64>>,
    /// Gaps filled like the other products of the band; `None` without gaps.
    deck: Option<ValueNumbers>,
    /// The band without its borderline products, and with those just outside.
    edges: Vec<Edge>,
}

/// The band with another edge.
#[derive(Debug)]
struct Edge {
    /// `without` or `with`.
    word: &'static str,
    /// The borderline products.
    who: Vec<String>,
    n_band: usize,
    /// The places of its products among the ranked ones; `None` for one from outside.
    place: Vec<Option<usize>>,
    /// Who is first by the middle of the index.
    first: Option<String>,
    value: ValueNumbers,
}

impl Alternatives {
    pub(super) fn of(
        question: &Question,
        field: &Field<'_>,
        drawn: &[Arc<Drawn>],
    ) -> Result<Self, Error> {
        let has_gap = |it: &Arc<Drawn>| {
            it.parts.iter().any(|it| matches!(it, Part::Present { gaps, .. } if !gaps.is_empty()))
        };
        let small = field.all().count() <= super::LARGE;
        let deck = if small && drawn.iter().any(has_gap) {
            let deck = super::deck(field);
            let filled = numbers::filled(field, drawn, Fill::Deck(&deck));
            Some(numbers::value_numbers(field, &filled, question.draws.fewer())?)
        } else {
            None
        };
        let mut edges = Vec::new();
        if small {
            edges.extend(without_borderline(question, field, drawn)?);
            edges.extend(with_borderline(question, field, drawn)?);
        }
        Ok(Alternatives {
            equal: field.ranked.iter().map(|it| equal(field, it)).collect::<Result<_, _>>()?,
            geometric: field.ranked.iter().map(|it| geometric(field, it)).collect(),
            deck,
            edges,
        })
    }

    /// The middles of the indices with all subsystems counting alike.
    pub(super) fn equal_middles(&self) -> Vec<f64> {
        self.equal.iter().map(middle).collect()
    }

    /// Where another edge of the band puts another product first.
    pub(super) fn edge_sentences(&self, field: &Field<'_>) -> Vec<String> {
        let first = field.ranked.first().map(Member::label);
        self.edges
            .iter()
            .filter(|edge| edge.first != first)
            .filter_map(|edge| {
                Some(format!(
                    "The first place depends on the edge of the band: {} {}, {} is first.",
                    edge.word,
                    edge.who.join(" and "),
                    edge.first.as_ref()?
                ))
            })
            .collect()
    }
}

/// The middle of an interval.
pub(super) fn middle(of: &IndexScore) -> f64 {
    f64::midpoint(of.interval.low(), of.interval.high())
}

/// The index with all subsystems counting alike.
pub(super) fn equal(field: &Field<'_>, member: &Member<'_>) -> Result<IndexScore, Error> {
    let parts: Vec<(f64, Subsystem)> = field
        .weighed()
        .into_iter()
        .map(|(_, place, _)| {
            let it = member.product.subsystems.get(place);
            (1.0, it.map_or(Subsystem::NotScored, |it| it.score))
        })
        .collect();
    let score = index(&parts)
        .map_err(internal)?
        .ok_or_else(|| internal("a ranked product has no subsystem that counts"))?;
    Ok(match member.product.cap() {
        Some(limit) => score.capped(limit),
        None => score,
    })
}

/// The scores of the subsystems that apply, with their weights, which sum to 1; `None` when something is missing.
fn known(field: &Field<'_>, member: &Member<'_>) -> Option<(Vec<f64>, Vec<f64>)> {
    let mut scores = Vec::new();
    let mut weights = Vec::new();
    for (_, place, weight) in field.weighed() {
        match member.product.subsystems.get(place)?.score {
            Subsystem::NothingApplies => {}
            Subsystem::NotScored => return None,
            Subsystem::Scored(it) => {
                scores.push(it.value?);
                weights.push(weight);
            }
        }
    }
    let total: f64 = weights.iter().sum();
    weights.iter_mut().for_each(|it| *it /= total);
    Some((scores, weights))
}

/// The exponents of the means that are shown, from the one in which a strength pays least for a weakness.
const MEANS: [(&str, f64); 5] = [
    ("weakest", f64::NEG_INFINITY),
    ("harmonic", -1.0),
    ("geometric", 0.0),
    ("plain", 1.0),
    ("quadratic", 2.0),
];

/// The index as other means; empty when something is missing.
pub(super) fn means(field: &Field<'_>, member: &Member<'_>) -> Vec<MeanDto> {
    let Some((scores, weights)) = known(field, member) else { return Vec::new() };
    let held = |mean: f64| member.product.cap().map_or(mean, |cap| mean.min(cap));
    MEANS
        .iter()
        .filter_map(|(name, exponent)| {
            let value = held(power_mean(&scores, &weights, *exponent).ok()?);
            Some(MeanDto { name: (*name).into(), value })
        })
        .collect()
}

/// The weighted geometric mean of a product's subsystems, not above its cap; `None` where something is missing.
pub(crate) fn geometric(field: &Field<'_>, member: &Member<'_>) -> Option<f64> {
    let (scores, weights) = known(field, member)?;
    let scores: Vec<Option<f64>> = scores.into_iter().map(Some).collect();
    let mean = ::standing::aggregate::aggregate(&scores, &weights).ok()?.geometric?;
    Some(member.product.cap().map_or(mean, |cap| mean.min(cap)))
}

fn without_borderline(
    question: &Question,
    field: &Field<'_>,
    drawn: &[Arc<Drawn>],
) -> Result<Option<Edge>, Error> {
    let out = |it: &Member<'_>| field.band.is_borderline(it.price.real_pair);
    let keep: Vec<usize> = (0..field.ranked.len()).filter(|&at| !out(&field.ranked[at])).collect();
    if keep.len() == field.ranked.len() || keep.is_empty() {
        return Ok(None);
    }
    let who = field.ranked.iter().filter(|it| out(it)).map(Member::label).collect();
    edge(question, field, drawn, "without", who, &keep)
}

fn with_borderline(
    question: &Question,
    field: &Field<'_>,
    drawn: &[Arc<Drawn>],
) -> Result<Option<Edge>, Error> {
    let n = field.ranked.len();
    let near: Vec<usize> = field
        .around
        .iter()
        .enumerate()
        .filter(|(_, it)| field.band.is_borderline(it.price.real_pair))
        .map(|(at, _)| n + at)
        .collect();
    if near.is_empty() {
        return Ok(None);
    }
    let who = near.iter().map(|&at| field.around[at - n].label()).collect();
    let keep: Vec<usize> = (0..n).chain(near).collect();
    edge(question, field, drawn, "with", who, &keep)
}

/// The field whose band holds the products at `keep`, places in [`Field::all`].
fn edge(
    question: &Question,
    field: &Field<'_>,
    drawn: &[Arc<Drawn>],
    word: &'static str,
    who: Vec<String>,
    keep: &[usize],
) -> Result<Option<Edge>, Error> {
    let n = field.ranked.len();
    let all: Vec<&Member<'_>> = field.all().collect();
    let rest: Vec<usize> = (0..all.len()).filter(|at| !keep.contains(at)).collect();
    let copies = |list: &[usize]| list.iter().map(|&at| all[at].clone()).collect();
    let changed = Field {
        ranked: copies(keep),
        around: copies(&rest),
        not_ranked: Vec::new(),
        shares: field.shares.clone(),
        ..*field
    };
    let drawn: Vec<Arc<Drawn>> =
        keep.iter().chain(&rest).map(|&at| Arc::clone(&drawn[at])).collect();
    let filled = numbers::filled(&changed, &drawn, Fill::Even);
    let first = changed
        .ranked
        .iter()
        .max_by(|a, b| {
            quantise(a.middle()).cmp(&quantise(b.middle())).then_with(|| b.key().cmp(a.key()))
        })
        .map(Member::label);
    Ok(Some(Edge {
        word,
        who,
        n_band: keep.len(),
        place: keep.iter().map(|&at| (at < n).then_some(at)).collect(),
        first,
        value: numbers::value_numbers(&changed, &filled, question.draws.fewer())?,
    }))
}

/// A statement, and how it is judged.
type Statement = (&'static str, fn(&Case<'_>) -> Judgement);

const STATEMENTS: [Statement; 4] = [
    ("unbeaten", unbeaten),
    ("good value", good_value),
    ("overpriced", overpriced),
    ("best value", |case| best_value(case).0),
];

/// What may be said of the product at `at`.
pub(super) fn verdicts(
    field: &Field<'_>,
    numbers: &Numbers,
    alternatives: &Alternatives,
    at: usize,
) -> Result<Vec<VerdictDto>, Error> {
    let n = field.ranked.len();
    let member = &field.ranked[at];
    let main = case(member, n, &numbers.value, at);
    Ok(STATEMENTS
        .iter()
        .map(|(kind, judge)| {
            let judgement = judge(&main);
            let supported = judgement.verdict == Verdict::Supported;
            let deck = alternatives.deck.as_ref().map(|it| judge(&case(member, n, it, at)).verdict);
            let on_gaps = deck.is_some_and(|it| (it == Verdict::Supported) != supported);
            let on_edge = alternatives.edges.iter().find(|edge| {
                let place = edge.place.iter().position(|it| *it == Some(at));
                place.is_some_and(|place| {
                    let found = judge(&case(member, edge.n_band, &edge.value, place)).verdict;
                    (found == Verdict::Supported) != supported
                })
            });
            let doubt = if on_gaps {
                Some("it depends on findings that are missing".to_owned())
            } else {
                on_edge.map(|edge| {
                    format!(
                        "it depends on the edge of the band ({} {})",
                        edge.word,
                        edge.who.join(" and ")
                    )
                })
            };
            worded(kind, field, &numbers.value, at, &judgement, doubt, &main)
        })
        .collect())
}

/// What is known of the product at `at` among the ranked ones.
pub(crate) fn case<'a>(
    member: &Member<'_>,
    n_band: usize,
    value: &'a ValueNumbers,
    at: usize,
) -> Case<'a> {
    Case {
        product: at,
        n_band,
        coverage: member.score.coverage,
        price_is_stale: member.price.stale.is_some(),
        value: value.drawn.as_ref().and_then(|it| it.get(at)),
        beaten: &value.beaten,
    }
}

/// A verdict with its sentence; a doubt takes support away.
pub(crate) fn worded(
    kind: &str,
    field: &Field<'_>,
    value: &ValueNumbers,
    at: usize,
    judgement: &Judgement,
    doubt: Option<String>,
    case: &Case<'_>,
) -> VerdictDto {
    let name = |at: usize| {
        let it = &field.ranked[at].product.dossier.product;
        format!("{} {}", it.maker, it.model)
    };
    let n = field.ranked.len();
    let price = field.ranked[at].price.real_pair;
    let (verdict, text) = match judgement.verdict {
        Verdict::Supported if doubt.is_some() => (
            "not supported",
            format!("{} may be {kind}, but {}.", name(at), doubt.unwrap_or_default()),
        ),
        Verdict::Supported => ("supported", supported(kind, &name(at), price, n, case, value, at)),
        Verdict::Contradicted { by } => ("contradicted", beats(field, at, by)),
        Verdict::NotSupported { nearest } => {
            let mut text = not_supported(kind, &name(at), judgement, case);
            if let Some(rival) =
                nearest.filter(|_| kind == "unbeaten" && judgement.lean == Lean::Against)
            {
                text.push_str(&format!(" {} probably beats it.", name(rival)));
            }
            ("not supported", text)
        }
        Verdict::TooFew { found, needed } => (
            "too few data",
            format!("Cannot be judged: {found} products in this band, {needed} are needed."),
        ),
        Verdict::Ineligible { why: Ineligible::Coverage } => {
            ("not judged", "Cannot be judged: too little was seen of it.".to_owned())
        }
        Verdict::Ineligible { why: Ineligible::StalePrice } => {
            ("not judged", "Cannot be judged: its price is older than 180 days.".to_owned())
        }
    };
    let text = if judgement.borderline {
        format!("{text} The draws lie close to the limit; more of them may turn it.")
    } else {
        text
    };
    VerdictDto { kind: kind.to_owned(), verdict: verdict.into(), text, close: judgement.borderline }
}

fn supported(
    kind: &str,
    name: &str,
    price: f64,
    n: usize,
    case: &Case<'_>,
    value: &ValueNumbers,
    at: usize,
) -> String {
    let points = value.points.value.get(at).copied().unwrap_or(0.0);
    match kind {
        "unbeaten" => format!(
            "At {price:.0} a pair {name} is unbeaten: of the {n} products opened none costs no more and scores clearly \
             higher, and it gives about {points:.0} points more than this money usually buys."
        ),
        "good value" => format!(
            "At {price:.0} a pair {name} gives about {points:.0} points more than this money usually buys."
        ),
        "overpriced" => format!(
            "At {price:.0} a pair {name} gives about {:.0} points less than this money usually buys, and another product \
             clearly beats it.",
            points.abs()
        ),
        _ => format!(
            "{name} gives the most for its price among the {n} products opened, in {:.0} % of the draws.",
            case.value.map_or(0.0, |it| it.p_largest * 100.0)
        ),
    }
}

fn not_supported(kind: &str, name: &str, judgement: &Judgement, case: &Case<'_>) -> String {
    if kind == "best value"
        && let (_, Some(among)) = best_value(case)
    {
        return format!(
            "{name} is among the {among} that give most for their price; more is not settled."
        );
    }
    // The test that would refute "unbeaten" is no part of its support.
    let refutes = |it: &Test| kind == "unbeaten" && it.what == What::BeatenByStrongest;
    let failed = judgement.tests.iter().filter(|it| !it.met && !refutes(it));
    let failed = failed.map(|it| it.p).fold(f64::INFINITY, f64::min);
    let leans = match judgement.lean {
        Lean::For => ", though the data lean that way",
        _ => "",
    };
    if failed.is_finite() {
        format!("Not settled that {name} is {kind}{leans}: {} of the draws agree.", percent(failed))
    } else {
        format!("Not settled that {name} is {kind}{leans}.")
    }
}

/// `J costs 50 less and scores 2 more`.
fn beats(field: &Field<'_>, at: usize, by: usize) -> String {
    let (loser, winner) = (&field.ranked[at], &field.ranked[by]);
    let product = &winner.product.dossier.product;
    let less = loser.price.real_pair - winner.price.real_pair;
    let more = winner.middle() - loser.middle();
    let price =
        if less >= 0.5 { format!("costs {less:.0} less") } else { "costs no more".to_owned() };
    let score = if more >= 0.5 {
        format!("scores about {more:.0} points more")
    } else {
        "scores as much".to_owned()
    };
    format!("{} {} {price} and {score}.", product.maker, product.model)
}

/// A probability in whole per cent; never 0 or 100.
pub(crate) fn percent(p: f64) -> String {
    match p * 100.0 {
        it if it > 99.0 => ">99 %".into(),
        it if it < 1.0 => "<1 %".into(),
        it => format!("{it:.0} %"),
    }
}

/// Steps of the grid of prices at which the curve's limits are taken.
const GRID: u8 = 24;

/// What a price usually buys, as an answer.
pub(super) fn curve(field: &Field<'_>, numbers: &Numbers, seed: u32) -> Option<CurveDto> {
    let points = &numbers.value.points;
    let line = points.curve?;
    let prices = || field.all().map(|it| it.price.real_pair);
    let low = prices().fold(f64::INFINITY, f64::min);
    let high = prices().fold(f64::NEG_INFINITY, f64::max);
    let per = std::f64::consts::LN_2;
    let interval = points.slope_interval.map(|(low, high)| (low * per, high * per));
    let n = points.n_fit;
    let offers: Vec<(f64, f64)> = field.all().map(|it| (it.price.real_pair, it.middle())).collect();
    let grid: Vec<f64> =
        (0..=GRID).map(|at| low * (high / low).powf(f64::from(at) / f64::from(GRID))).collect();
    // What could not be drawn leaves the line without a band, never the answer without its line.
    let limits = curve_limits(&offers, &grid, u64::from(seed)).unwrap_or_default();
    let text = match (points.fit, points.price_says_little()) {
        (Fit::Flat, _) => format!(
            "With {n} products the expectation is their median; {} are needed for a line.",
            ::standing::gates::MIN_CURVE
        ),
        (_, true) => "In this band the price says little about the score.".to_owned(),
        _ => format!(
            "Here twice the money usually buys {:.0} points more ({}), from {n} products of {low:.0} to {high:.0}.",
            line.slope * per,
            interval.map_or_else(String::new, |(low, high)| format!(
                "90 % interval {low:.0} to {high:.0}"
            ))
        ),
    };
    Some(CurveDto {
        fit: if points.fit == Fit::Line { "line" } else { "flat" }.into(),
        n: u32::try_from(n).unwrap_or(u32::MAX),
        price_low: low,
        price_high: high,
        per_doubling: line.slope * per,
        per_doubling_low: interval.map(|it| it.0),
        per_doubling_high: interval.map(|it| it.1),
        middle: line.at((low * high).sqrt().ln()),
        text,
        limits: grid
            .iter()
            .zip(limits)
            .map(|(price, (low, high))| CurveLimit {
                price: *price,
                index: line.at(price.ln()),
                low,
                high,
            })
            .collect(),
    })
}
