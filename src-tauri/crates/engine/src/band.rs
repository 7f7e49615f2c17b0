//! Who stands where inside a price band.

mod ask;
mod curves;
mod draws;
pub(crate) mod field;
mod instead;
pub(crate) mod numbers;
mod robustness;
mod standing;
mod statistics;
mod verdicts;

use std::collections::BTreeMap;

use ::standing::gates;

pub use ask::{BandRequest, parse_band};
pub(crate) use ask::{Draws, bad_band, kind_filter};
pub(crate) use draws::Kept;
pub(crate) use field::{Field, Member, score_of};
pub(crate) use robustness::equal_ranks;
pub(crate) use standing::{group_of, interval_dto, missing, offers, subsystems_dto, whole};
pub(crate) use verdicts::{case, geometric, percent, worded};

use crate::{
    Engine, Error,
    drawn::{Deck, Drawn, FINDING_DRAWS, Fill},
    dto::{BandDto, BandReport, NotRanked, Remark},
    pricing::Terms,
    scope::Scope,
    scoring::Scored,
    weights,
};
use numbers::Numbers;

/// A field with more products than this is large: there the edges of the band and the other fill of the gaps are not tried,
/// since one product in so many decides little, and value has fewer draws; a remark says so.
pub(crate) const LARGE: usize = 120;

/// A question that was read, with what the catalogue says about itself.
pub(crate) struct Question {
    pub(crate) terms: Terms,
    pub(crate) band: ::standing::band::Band,
    pub(crate) kind: Option<domain::product::ProductKind>,
    pub(crate) draws: Draws,
    pub(crate) weights: Option<BTreeMap<String, f64>>,
    /// Whom it is about, where somebody looked.
    pub(crate) scope: Scope,
    currency: String,
    base_month: String,
}

impl Question {
    /// The field among some scores.
    pub(crate) fn field<'s>(&self, scored: &'s Scored) -> Result<Field<'s>, Error> {
        let mut field = self.plain_field(scored)?;
        field.look_for_doubts(&self.terms);
        Ok(field)
    }

    /// The same for ranks alone: nobody has looked for doubts.
    pub(crate) fn plain_field<'s>(&self, scored: &'s Scored) -> Result<Field<'s>, Error> {
        Field::new(scored, self, self.shares(scored)?)
    }

    /// The share of each subsystem in the index, and whether the weights asked for had to be rescaled.
    pub(crate) fn shares(&self, scored: &Scored) -> Result<(BTreeMap<String, f64>, bool), Error> {
        let names: Vec<&str> = scored.subsystems.iter().map(String::as_str).collect();
        weights::shares(self.weights.as_ref(), &scored.weights, &names)
    }

    pub(crate) fn band_dto(&self) -> BandDto {
        BandDto {
            low: self.band.low(),
            high: self.band.high(),
            currency: self.currency.clone(),
            base_month: self.base_month.clone(),
        }
    }
}

impl Engine {
    /// Reads a request.
    pub(crate) fn question(&self, request: &BandRequest) -> Result<Question, Error> {
        let info = self.reader().info()?;
        Ok(Question {
            terms: Terms::of(&info, self.today())?,
            band: request.band()?,
            kind: request.kind()?,
            draws: request.draws()?,
            weights: request.weights.clone(),
            scope: Scope::default(),
            currency: info.currency,
            base_month: info.base_month,
        })
    }

    /// The standings of a price band.
    ///
    /// # Errors
    /// When the request is not understood or the catalogue cannot be read. A plugin that fails is a remark.
    pub fn band(&self, request: &BandRequest) -> Result<BandReport, Error> {
        let (question, scored) = self.asked(request)?;
        let field = question.field(&scored)?;
        let (drawn, faults) = self.drawn_of(&scored, &field, question.draws.seed);
        let numbers =
            numbers::numbers(&field, &numbers::filled(&field, &drawn, Fill::Even), question.draws)?;
        let mut report = report(&question, &field, &drawn, numbers.as_ref())?;
        report.remarks.extend(faults.into_iter().map(not_drawn));
        Ok(report)
    }
}

/// A plugin whose draws failed: its scores are taken as certain, and that is said.
pub(crate) fn not_drawn(text: String) -> Remark {
    Remark { source: "boxworth".into(), code: "not_drawn".into(), severity: "warning".into(), text }
}

/// The whole answer.
pub(crate) fn report(
    question: &Question,
    field: &Field<'_>,
    drawn: &[std::sync::Arc<Drawn>],
    numbers: Option<&Numbers>,
) -> Result<BandReport, Error> {
    let scored = field.scored;
    let mut remarks = scored.remarks.clone();
    remarks.extend(notes(field));
    let (mut standings, mut curve, mut curves, mut robustness) =
        (Vec::new(), None, Vec::new(), None);
    if let Some(numbers) = numbers {
        let alternatives = verdicts::Alternatives::of(question, field, drawn)?;
        standings = standing::standings(field, drawn, numbers, &alternatives)?;
        curve = verdicts::curve(field, numbers, question.draws.seed);
        curves = curves::others(field);
        // "First" is a rank word.
        if field.ranked.len() >= gates::MIN_RANK {
            robustness = Some(robustness::robustness(field, &alternatives)?);
        }
    }
    Ok(BandReport {
        band: question.band_dto(),
        as_of: question.terms.as_of.to_string(),
        rubric: scored.rubric.clone(),
        weights: field.shares.clone(),
        plugins: scored.plugins.clone(),
        seed: question.draws.seed,
        draws: u32::try_from(question.draws.draws).unwrap_or(u32::MAX),
        finding_draws: u32::try_from(FINDING_DRAWS).unwrap_or(u32::MAX),
        kappa: question.draws.kappa,
        standings,
        not_ranked: field.not_ranked.iter().map(|(it, why)| not_ranked(it, why)).collect(),
        curve,
        curves,
        robustness,
        statistics: statistics::statistics(field)?,
        spreads: spreads(scored),
        gates: printed_gates(),
        instead: instead::instead(field.ranked.len()),
        remarks,
    })
}

/// The spreads of evidence in use, by their ids.
pub(crate) fn spreads(scored: &Scored) -> BTreeMap<String, f64> {
    physics::spread::ENTRIES
        .iter()
        .filter_map(|it| Some((it.id.to_owned(), scored.spreads.get(it.id)?)))
        .collect()
}

/// The limits that decide what is said, as they are printed with the result.
fn printed_gates() -> BTreeMap<String, f64> {
    [
        ("ranked_products_for_rank_words", gates::MIN_RANK as f64),
        ("products_for_value_words", gates::MIN_VALUE as f64),
        ("products_for_a_price_line", gates::MIN_CURVE as f64),
        ("coverage", gates::COVERAGE_GATE),
        ("probability_for_support", gates::P_SUPPORT),
        ("probability_for_contradiction", gates::P_CONTRA),
        ("least_points_worth_printing", gates::DELTA_S),
        ("least_share_of_price_worth_printing", gates::DELTA_P),
        ("price_stale_after_days", f64::from(gates::STALE_DAYS)),
    ]
    .into_iter()
    .map(|(name, it)| (name.to_owned(), it))
    .collect()
}

fn notes(field: &Field<'_>) -> Vec<Remark> {
    let note = |code: &str, severity: &str, text: String| Remark {
        source: "boxworth".into(),
        code: code.into(),
        severity: severity.into(),
        text,
    };
    let mut notes = Vec::new();
    if field.rescaled {
        notes.push(note(
            "weights_rescaled",
            "info",
            "the weights were rescaled to sum to 100 %".into(),
        ));
    }
    let n = field.ranked.len();
    if n < gates::MIN_RANK {
        let text =
            format!("{n} products can be ranked; rank words need at least {}", gates::MIN_RANK);
        notes.push(note("too_few", "caution", text));
    }
    if field.all().count() > LARGE {
        let text = format!(
            "with more than {LARGE} products the edges of the band and the other fill of missing findings are not tried, and \
             value points have fewer draws"
        );
        notes.push(note("large", "info", text));
    }
    if let Some(n) = field.some_around {
        let text = format!(
            "too many products are near the band to take all: {n} of them, drawn by lot, say what a price buys"
        );
        notes.push(note("some_around", "info", text));
    }
    if field.no_price > 0 {
        let text = format!(
            "{} without a usable price left out",
            crate::error::count(field.no_price, "product")
        );
        notes.push(note("no_price", "info", text));
    }
    notes
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

/// What other products of the field are worth where a finding is missing.
pub(crate) fn deck(field: &Field<'_>) -> Deck {
    Deck::of(field.all().map(|it| it.product))
}
