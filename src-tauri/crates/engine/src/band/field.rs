//! The field of a question: who is in the band, who can be ranked, and who else says what a price usually buys.

use std::collections::BTreeMap;

use standing::{
    band::Band,
    effective::Effective,
    gates,
    index::{IndexScore, Subsystem, index},
};

use super::Question;
use crate::{
    Error,
    cores::on_all_cores,
    cross,
    dto::Remark,
    pricing::Terms,
    scoring::{Scored, ScoredProduct},
};

/// A product with its price and index.
#[derive(Debug, Clone)]
pub(crate) struct Member<'s> {
    pub(crate) product: &'s ScoredProduct,
    /// Its place in [`Scored::products`].
    pub(crate) place: usize,
    pub(crate) price: Effective,
    pub(crate) score: IndexScore,
    /// What the cross-checks say that a list of standings should say.
    pub(crate) doubts: Vec<Remark>,
}

impl Member<'_> {
    /// Halfway between what the missing findings allow.
    pub(crate) fn middle(&self) -> f64 {
        f64::midpoint(self.score.interval.low(), self.score.interval.high())
    }

    pub(crate) fn key(&self) -> &str {
        self.product.dossier.product.key.as_str()
    }

    /// Maker and model, as a sentence names it.
    pub(crate) fn label(&self) -> String {
        self.product.label()
    }
}

/// All that a question about a band is about.
#[derive(Debug)]
pub(crate) struct Field<'s> {
    pub(crate) scored: &'s Scored,
    pub(crate) band: Band,
    /// The share of each subsystem in the index, summing to 1.
    pub(crate) shares: BTreeMap<String, f64>,
    pub(crate) rescaled: bool,
    /// Ranked, best middle first.
    pub(crate) ranked: Vec<Member<'s>>,
    /// In the band but not ranked, with the reason, by price.
    pub(crate) not_ranked: Vec<(Member<'s>, String)>,
    /// Outside the band, but near enough in price to say what a price buys; by price.
    pub(crate) around: Vec<Member<'s>>,
    /// How many have no price.
    pub(crate) no_price: usize,
    /// How many of those around take part, where it is not all of them.
    pub(crate) some_around: Option<usize>,
}

impl<'s> Field<'s> {
    pub(crate) fn new(
        scored: &'s Scored,
        question: &Question,
        (shares, rescaled): (BTreeMap<String, f64>, bool),
    ) -> Result<Self, Error> {
        let mut field = Field {
            scored,
            band: question.band,
            shares,
            rescaled,
            ranked: Vec::new(),
            not_ranked: Vec::new(),
            around: Vec::new(),
            no_price: 0,
            some_around: None,
        };
        for (place, product) in scored.products.iter().enumerate() {
            field.take(product, place, question)?;
        }
        if let Some(beyond) = question.scope.beyond() {
            (field.no_price, field.some_around) = (beyond.no_price, beyond.some_around);
        }
        let by_price = |a: &Member<'_>, b: &Member<'_>| {
            a.price.real_pair.total_cmp(&b.price.real_pair).then_with(|| a.key().cmp(b.key()))
        };
        field.ranked.sort_by(|a, b| {
            let (a_middle, b_middle) = (a.middle(), b.middle());
            let order = standing::rank::quantise(b_middle).cmp(&standing::rank::quantise(a_middle));
            order.then_with(|| a.key().cmp(b.key()))
        });
        field.not_ranked.sort_by(|(a, _), (b, _)| by_price(a, b));
        field.around.sort_by(by_price);
        Ok(field)
    }

    fn take(
        &mut self,
        product: &'s ScoredProduct,
        place: usize,
        question: &Question,
    ) -> Result<(), Error> {
        let of = &product.dossier.product;
        if question.kind.is_some_and(|it| it != of.kind) {
            return Ok(());
        }
        let Ok(price) = question.terms.effective(&product.dossier.prices) else {
            self.no_price += 1;
            return Ok(());
        };
        let inside = self.band.contains(price.real_pair);
        let near = standing::value::serves(
            price.real_pair,
            self.band.low().unwrap_or(0.0),
            self.band.high().unwrap_or(f64::INFINITY),
        );
        if !inside && (!near || question.scope.leaves_out(&of.key)) {
            return Ok(());
        }
        let score = score_of(self.scored, product, &self.shares)?;
        let covered = gates::covered(score.coverage);
        let member = Member { product, place, price, score, doubts: Vec::new() };
        if of.powered {
            if inside {
                let why = "powered; the bench is for passive products".to_owned();
                self.not_ranked.push((member, why));
            }
        } else if !covered {
            if inside {
                let why = format!(
                    "{:.0} % of the score rests on findings; ranking needs {:.0} %",
                    (member.score.coverage * 100.0).floor(),
                    gates::COVERAGE_GATE * 100.0
                );
                self.not_ranked.push((member, why));
            }
        } else if inside {
            self.ranked.push(member);
        } else {
            self.around.push(member);
        }
        Ok(())
    }

    /// What the cross-checks say of the products inside; they take long, so all cores do it.
    pub(crate) fn look_for_doubts(&mut self, terms: &Terms) {
        let of = |it: &Member<'_>| cross::remarks(it.product, terms);
        let inside = || self.ranked.iter().chain(self.not_ranked.iter().map(|(it, _)| it));
        let doubts = on_all_cores(inside(), of);
        let members = self.ranked.iter_mut().chain(self.not_ranked.iter_mut().map(|(it, _)| it));
        members.zip(doubts).for_each(|(it, doubts)| it.doubts = doubts);
    }

    /// The subsystems that count, with their places among the results and their weights, by name.
    pub(crate) fn weighed(&self) -> Vec<(&str, usize, f64)> {
        let subsystems = &self.scored.subsystems;
        self.shares
            .iter()
            .filter(|(_, share)| **share > 0.0)
            .filter_map(|(name, share)| {
                Some((name.as_str(), subsystems.iter().position(|it| it == name)?, *share))
            })
            .collect()
    }

    /// The ranked products, then those around the band.
    pub(crate) fn all(&self) -> impl Iterator<Item = &Member<'s>> {
        self.ranked.iter().chain(&self.around)
    }
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
    let score = match index(&parts).map_err(internal)? {
        Some(it) => it,
        None => index(&[(1.0, Subsystem::NotScored)])
            .map_err(internal)?
            .ok_or_else(|| Error::Internal("an unknown subsystem has no interval".into()))?,
    };
    Ok(match product.cap() {
        Some(limit) => score.capped(limit),
        None => score,
    })
}
