//! Who stands where inside a price band.

use std::collections::BTreeMap;

use domain::product::ProductKind;
use serde::Deserialize;
use standing::{
    band::Band,
    effective::Effective,
    frontier::{Frontier, Offer, frontier},
    gates,
    index::{IndexScore, Subsystem, index},
    rank::{Interval, RankInterval, rank_intervals},
    summary,
};

use crate::{
    Engine, Error, cross,
    dto::{
        BandDto, BandReport, BandStatistics, IntervalDto, NotRanked, QuartilesDto, RankDto, Remark,
        Standing, SubsystemDto,
    },
    pricing::{self, Terms},
    scoring::{Scored, ScoredProduct},
    weights,
};

/// Which band, and how to weigh.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[cfg_attr(feature = "types", derive(ts_rs::TS), ts(export))]
#[serde(deny_unknown_fields)]
pub struct BandRequest {
    /// Lowest real price of a pair, in whole units; open when absent.
    pub low: Option<f64>,
    /// The price below which the band ends; open when absent.
    pub high: Option<f64>,
    /// Only this kind of product.
    pub kind: Option<String>,
    /// Weights of subsystems that replace the default ones.
    pub weights: Option<BTreeMap<String, f64>>,
}

/// Reads a band as typed: `200..500`, `..300`, `800..`.
///
/// # Errors
/// [`Error::Request`] with the accepted form.
pub fn parse_band(text: &str) -> Result<(Option<f64>, Option<f64>), Error> {
    let band: Band = text.parse().map_err(|why: standing::band::BadBand| bad_band(text, &why))?;
    Ok((band.low(), band.high()))
}

pub(crate) fn bad_band(text: &str, why: &standing::band::BadBand) -> Error {
    Error::Request {
        place: "band",
        text: text.into(),
        why: match why {
            standing::band::BadBand::Empty { .. } => {
                "holds no price; the low edge must be below the high one".into()
            }
            standing::band::BadBand::Form { .. } => "is not a band".into(),
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

/// A product inside the band, with its price and index.
pub(crate) struct Member<'s> {
    pub(crate) product: &'s ScoredProduct,
    pub(crate) price: Effective,
    pub(crate) score: IndexScore,
    /// What the cross-checks say that a list of standings should say.
    pub(crate) doubts: Vec<Remark>,
}

impl Member<'_> {
    fn middle(&self) -> f64 {
        f64::midpoint(self.score.interval.low(), self.score.interval.high())
    }
}

/// The members of a band that can be ranked, best middle first, and those that cannot, by price.
pub(crate) struct Sorted<'s> {
    pub(crate) ranked: Vec<Member<'s>>,
    pub(crate) not_ranked: Vec<(Member<'s>, String)>,
}

impl Engine {
    /// The standings of a price band.
    ///
    /// # Errors
    /// When the request is not understood or the catalogue cannot be read. A plugin that fails is a remark.
    pub fn band(&self, request: &BandRequest) -> Result<BandReport, Error> {
        let whole = |edge: Option<f64>| match edge {
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
        };
        let (low, high) = (whole(request.low)?, whole(request.high)?);
        let show = |it: Option<u32>| it.map(|it| it.to_string()).unwrap_or_default();
        let band = Band::new(low, high)
            .map_err(|why| bad_band(&format!("{}..{}", show(low), show(high)), &why))?;
        let kind = kind_filter(request.kind.as_deref())?;
        let info = self.reader().info()?;
        let terms = Terms::of(&info, self.today())?;
        let scored = self.scored()?;
        let names: Vec<&str> = scored.subsystems.iter().map(String::as_str).collect();
        let (shares, rescaled) =
            weights::shares(request.weights.as_ref(), &scored.weights, &names)?;
        let (sorted, no_price) = sort(&scored, &terms, &band, kind, &shares)?;
        let mut remarks = scored.remarks.clone();
        remarks.extend(notes(&sorted, rescaled, no_price));
        let (standings, statistics) = standings(&scored, &sorted.ranked, &band)?;
        Ok(BandReport {
            band: BandDto {
                low: band.low(),
                high: band.high(),
                currency: info.currency,
                base_month: info.base_month,
            },
            as_of: terms.as_of.to_string(),
            rubric: scored.rubric.clone(),
            weights: shares,
            plugins: scored.plugins.clone(),
            seed: None,
            draws: 0,
            standings,
            not_ranked: sorted.not_ranked.iter().map(|(it, why)| not_ranked(it, why)).collect(),
            statistics,
            remarks,
        })
    }
}

/// Sorts products into the band; also counts those whose price is not known.
fn sort<'s>(
    scored: &'s Scored,
    terms: &Terms,
    band: &Band,
    kind: Option<ProductKind>,
    shares: &BTreeMap<String, f64>,
) -> Result<(Sorted<'s>, usize), Error> {
    let mut sorted = Sorted { ranked: Vec::new(), not_ranked: Vec::new() };
    let mut no_price = 0;
    for product in &scored.products {
        let of = &product.dossier.product;
        if kind.is_some_and(|it| it != of.kind) {
            continue;
        }
        let Ok(price) = terms.effective(&product.dossier.prices) else {
            no_price += 1;
            continue;
        };
        if !band.contains(price.real_pair) {
            continue;
        }
        let score = score_of(scored, product, shares)?;
        let doubts = cross::remarks(product, terms);
        let member = Member { product, price, score, doubts };
        if of.powered {
            sorted.not_ranked.push((member, "powered; the bench is for passive products".into()));
        } else if !gates::covered(member.score.coverage) {
            let why = format!(
                "{:.0} % of the score rests on findings; ranking needs {:.0} %",
                (member.score.coverage * 100.0).floor(),
                gates::COVERAGE_GATE * 100.0
            );
            sorted.not_ranked.push((member, why));
        } else {
            sorted.ranked.push(member);
        }
    }
    let key = |it: &Member<'_>| it.product.dossier.product.key.clone();
    sorted
        .ranked
        .sort_by(|a, b| b.middle().total_cmp(&a.middle()).then_with(|| key(a).cmp(&key(b))));
    sorted.not_ranked.sort_by(|(a, _), (b, _)| {
        a.price.real_pair.total_cmp(&b.price.real_pair).then_with(|| key(a).cmp(&key(b)))
    });
    Ok((sorted, no_price))
}

/// The index of a product; wholly unknown when nothing was scored.
pub(crate) fn score_of(
    scored: &Scored,
    product: &ScoredProduct,
    shares: &BTreeMap<String, f64>,
) -> Result<IndexScore, Error> {
    let parts: Vec<(f64, Subsystem)> = shares
        .iter()
        .map(|(name, share)| {
            let at = scored.subsystems.iter().position(|it| it == name);
            let found = at.and_then(|at| product.subsystems.get(at)).map(|it| it.score);
            (*share, found.unwrap_or(Subsystem::NotScored))
        })
        .collect();
    let internal = |why: standing::index::BadIndex| Error::Internal(why.to_string());
    match index(&parts).map_err(internal)? {
        Some(it) => Ok(it),
        None => index(&[(1.0, Subsystem::NotScored)])
            .map_err(internal)?
            .ok_or_else(|| Error::Internal("an unknown subsystem has no interval".into())),
    }
}

fn notes(sorted: &Sorted<'_>, rescaled: bool, no_price: usize) -> Vec<Remark> {
    let note = |code: &str, severity: &str, text: String| Remark {
        source: "boxworth".into(),
        code: code.into(),
        severity: severity.into(),
        text,
    };
    let mut notes = Vec::new();
    if rescaled {
        notes.push(note(
            "weights_rescaled",
            "info",
            "the weights were rescaled to sum to 100 %".into(),
        ));
    }
    let n = sorted.ranked.len();
    if n < gates::MIN_RANK {
        let text =
            format!("{n} products can be ranked; rank words need at least {}", gates::MIN_RANK);
        notes.push(note("too_few", "caution", text));
    }
    if no_price > 0 {
        let text =
            format!("{} without a usable price left out", crate::error::count(no_price, "product"));
        notes.push(note("no_price", "info", text));
    }
    notes
}

fn standings(
    scored: &Scored,
    ranked: &[Member<'_>],
    band: &Band,
) -> Result<(Vec<Standing>, BandStatistics), Error> {
    let intervals: Vec<Interval> = ranked.iter().map(|it| it.score.interval).collect();
    let ranks = rank_intervals(&intervals);
    let offers = offers(ranked)?;
    let unbeaten = frontier(&offers);
    let mut list = Vec::with_capacity(ranked.len());
    for (at, member) in ranked.iter().enumerate() {
        list.push(standing(scored, member, band, ranks[at], at, &unbeaten, ranked)?);
    }
    Ok((list, statistics(ranked)?))
}

pub(crate) fn offers(ranked: &[Member<'_>]) -> Result<Vec<Offer>, Error> {
    ranked
        .iter()
        .map(|it| {
            Offer::new(it.price.real_pair, it.score.interval)
                .map_err(|why| Error::Internal(why.to_string()))
        })
        .collect()
}

fn standing(
    scored: &Scored,
    member: &Member<'_>,
    band: &Band,
    rank: RankInterval,
    at: usize,
    unbeaten: &Frontier,
    ranked: &[Member<'_>],
) -> Result<Standing, Error> {
    let product = &member.product.dossier.product;
    let rank_word = |it: usize| u32::try_from(it).unwrap_or(u32::MAX);
    let key = |at: &usize| ranked[*at].product.dossier.product.key.to_string();
    let mut remarks = member.doubts.clone();
    remarks.extend(member.product.remarks.iter().cloned());
    if band.is_borderline(member.price.real_pair) {
        remarks.push(Remark {
            source: "boxworth".into(),
            code: "borderline".into(),
            severity: "info".into(),
            text: "the price is within 3 % of the band's edge".into(),
        });
    }
    Ok(Standing {
        product: product.key.to_string(),
        maker: product.maker.clone(),
        model: product.model.clone(),
        kind: product.kind.word().into(),
        price: pricing::price_dto(&member.product.dossier.prices, &member.price)?,
        index: interval_dto(&member.score),
        coverage: member.score.coverage,
        coverage_hard: member.score.coverage_hard,
        subsystems: subsystems_dto(scored, member.product),
        rank: RankDto { best: rank_word(rank.best), worst: rank_word(rank.worst), median: None },
        p_first: None,
        value_points: None,
        on_frontier: unbeaten.members.contains(&at),
        beaten_by: unbeaten.beaten_by[at].iter().map(key).collect(),
        remarks,
        missing: missing(member.product),
    })
}

fn not_ranked(member: &Member<'_>, why: &str) -> NotRanked {
    let product = &member.product.dossier.product;
    NotRanked {
        product: product.key.to_string(),
        maker: product.maker.clone(),
        model: product.model.clone(),
        why: why.to_owned(),
        real_pair: member.price.real_pair,
        index: interval_dto(&member.score),
        coverage: member.score.coverage,
        missing: missing(member.product),
    }
}

pub(crate) fn interval_dto(it: &IndexScore) -> IntervalDto {
    IntervalDto { value: it.value, low: it.interval.low(), high: it.interval.high() }
}

pub(crate) fn subsystems_dto(
    scored: &Scored,
    product: &ScoredProduct,
) -> BTreeMap<String, SubsystemDto> {
    let dto = |it: Subsystem| match it {
        Subsystem::Scored(it) => Some(SubsystemDto {
            value: it.value,
            low: it.interval.low(),
            high: it.interval.high(),
            coverage: it.coverage,
        }),
        Subsystem::NotScored => {
            Some(SubsystemDto { value: None, low: 0.0, high: 100.0, coverage: 0.0 })
        }
        // Where no criterion applies there is nothing to show and nothing in the index.
        Subsystem::NothingApplies => None,
    };
    scored
        .subsystems
        .iter()
        .zip(&product.subsystems)
        .filter_map(|(name, it)| Some((name.clone(), dto(it.score)?)))
        .collect()
}

/// The findings that would settle criteria which are missing now, by how much weight waits for them.
pub(crate) fn missing(product: &ScoredProduct) -> Vec<String> {
    let mut waiting: BTreeMap<&str, f64> = BTreeMap::new();
    for criterion in product.subsystems.iter().flat_map(|it| &it.criteria) {
        for address in &criterion.missing {
            *waiting.entry(address).or_default() += criterion.weight;
        }
    }
    let mut list: Vec<(&str, f64)> = waiting.into_iter().collect();
    list.sort_by(|a, b| b.1.total_cmp(&a.1).then_with(|| a.0.cmp(b.0)));
    list.into_iter().map(|(address, _)| address.to_owned()).collect()
}

fn statistics(ranked: &[Member<'_>]) -> Result<BandStatistics, Error> {
    let quartiles = |values: Vec<f64>| -> Result<Option<QuartilesDto>, Error> {
        if values.len() < gates::MIN_QUARTILES {
            return Ok(None);
        }
        let it = summary::quartiles(&values).map_err(|why| Error::Internal(why.to_string()))?;
        Ok(it.map(|it| QuartilesDto { median: it.median, q1: it.q1, q3: it.q3 }))
    };
    let of = |take: fn(&Member<'_>) -> f64| quartiles(ranked.iter().map(take).collect());
    Ok(BandStatistics {
        n: u32::try_from(ranked.len()).unwrap_or(u32::MAX),
        index: of(|it| it.middle())?,
        index_low: of(|it| it.score.interval.low())?,
        index_high: of(|it| it.score.interval.high())?,
        real_pair: of(|it| it.price.real_pair)?,
    })
}
