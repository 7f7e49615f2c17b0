//! A state of knowledge: all findings, or the hard ones alone, with the products that a claim is about.

use std::{
    collections::{BTreeMap, BTreeSet},
    sync::{Arc, PoisonError},
};

use domain::{claim::Claim, dossier::Dossier, key::ProductKey};

use super::read::Asked;
use crate::{
    BandRequest, Engine, Error,
    band::{Field, Member, Question, parse_band, score_of},
    cores::on_all_cores,
    drawn::Drawn,
    scoring::{self, Scored, ScoredProduct},
};
use standing::claim::Answer;

/// One state of knowledge.
pub(super) struct State<'s> {
    pub(super) scored: &'s Scored,
    pub(super) field: Field<'s>,
    /// The draws of [`Field::all`].
    pub(super) drawn: Vec<Arc<Drawn>>,
    /// Places in [`Scored::products`] of the products in scope that were opened, by key.
    pub(super) opened: Vec<usize>,
}

/// What a claim asks about, read.
pub(super) struct Scope {
    pub(super) question: Question,
    pub(super) among: Option<Asked>,
}

impl Scope {
    pub(super) fn of(
        engine: &Engine,
        claim: &Claim,
        scored: &Scored,
        seed: u32,
        draws: Option<u32>,
    ) -> Result<Self, Error> {
        let request = BandRequest { seed: Some(seed), draws, ..request_of(claim)? };
        let among = claim.scope.among.as_ref().map(|it| Asked::of(it, scored)).transpose()?;
        Ok(Scope { question: engine.placed(&request)?, among })
    }

    fn takes(&self, product: &ScoredProduct, scored: &Scored) -> bool {
        let seed = self.question.draws.seed;
        self.among
            .as_ref()
            .is_none_or(|it| it.answer(product, &scored.spreads, seed) == Answer::Yes)
    }

    /// The products of the scope among `scored`.
    pub(super) fn field<'s>(&self, scored: &'s Scored) -> Result<Field<'s>, Error> {
        let mut field = self.question.plain_field(scored)?;
        field.ranked.retain(|it| self.takes(it.product, scored));
        field.around.retain(|it| self.takes(it.product, scored));
        field.not_ranked.retain(|(it, _)| self.takes(it.product, scored));
        Ok(field)
    }

    /// The products of the scope that were opened; with the borderline ones just outside or without those inside where an edge is
    /// tried.
    pub(super) fn opened(&self, scored: &Scored, edge: Edge) -> Vec<usize> {
        let band = self.question.band;
        let open = band.low().is_none() && band.high().is_none();
        let inside = |it: &ScoredProduct| {
            let price = self.question.terms.effective(&it.dossier.prices).ok();
            match price.map(|it| it.real_pair) {
                None => open,
                Some(it) => match edge {
                    Edge::AsAsked => band.contains(it),
                    Edge::Without => band.contains(it) && !band.is_borderline(it),
                    Edge::With => band.contains(it) || band.is_borderline(it),
                },
            }
        };
        let mut list: Vec<usize> = scored
            .products
            .iter()
            .enumerate()
            .filter(|(_, it)| {
                let of = &it.dossier.product;
                !of.powered
                    && !it.dossier.jobs.is_empty()
                    && self.question.kind.is_none_or(|kind| kind == of.kind)
                    && inside(it)
                    && self.takes(it, scored)
            })
            .map(|(at, _)| at)
            .collect();
        list.sort_by_key(|&at| scored.products[at].dossier.product.key.as_str());
        list
    }
}

/// The band that a claim is about.
pub(super) fn request_of(claim: &Claim) -> Result<BandRequest, Error> {
    let (low, high) = match &claim.scope.band {
        Some(text) => parse_band(text)?,
        None => (None, None),
    };
    let kind = claim.scope.kind.map(|it| it.word().to_owned());
    Ok(BandRequest { low, high, kind, ..BandRequest::default() })
}

/// Where the band ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Edge {
    AsAsked,
    Without,
    With,
}

impl<'s> State<'s> {
    /// The same products, in the same order, by other scores and weights.
    pub(super) fn field_among<'t>(
        &self,
        scored: &'t Scored,
        shares: &BTreeMap<String, f64>,
    ) -> Result<Field<'t>, Error> {
        let copy = |it: &Member<'_>| -> Result<Member<'t>, Error> {
            let product = &scored.products[it.place];
            Ok(Member {
                product,
                place: it.place,
                price: it.price.clone(),
                score: score_of(scored, product, shares)?,
                doubts: Vec::new(),
            })
        };
        let of = &self.field;
        Ok(Field {
            scored,
            band: of.band,
            shares: shares.clone(),
            rescaled: of.rescaled,
            ranked: of.ranked.iter().map(copy).collect::<Result<_, _>>()?,
            not_ranked: of
                .not_ranked
                .iter()
                .map(|(it, why)| Ok((copy(it)?, why.clone())))
                .collect::<Result<_, Error>>()?,
            around: of.around.iter().map(copy).collect::<Result<_, _>>()?,
            no_price: of.no_price,
            some_around: of.some_around,
        })
    }

    /// The same where all subsystems count alike.
    pub(super) fn with_equal_weights(&self) -> Result<State<'s>, Error> {
        let n = self.field.shares.len().max(1) as f64;
        let shares = self.field.shares.keys().map(|name| (name.clone(), 1.0 / n)).collect();
        Ok(State {
            scored: self.scored,
            field: self.field_among(self.scored, &shares)?,
            drawn: self.drawn.clone(),
            opened: self.opened.clone(),
        })
    }

    /// The same with another edge of the band, and who is out or in by it; `None` where nobody is borderline.
    pub(super) fn at_edge(&self, scope: &Scope, edge: Edge) -> Option<(State<'s>, Vec<String>)> {
        let all: Vec<&Member<'s>> = self.field.all().collect();
        let n = self.field.ranked.len();
        let near = |at: usize| self.field.band.is_borderline(all[at].price.real_pair);
        let moved: Vec<usize> = match edge {
            Edge::AsAsked => return None,
            Edge::Without => (0..n).filter(|&at| near(at)).collect(),
            Edge::With => (n..all.len()).filter(|&at| near(at)).collect(),
        };
        let opened = scope.opened(self.scored, edge);
        if moved.is_empty() && opened == self.opened {
            return None;
        }
        let inside = |at: usize| (at < n) != moved.contains(&at);
        let (keep, rest): (Vec<usize>, Vec<usize>) = (0..all.len()).partition(|&at| inside(at));
        let copies = |list: &[usize]| list.iter().map(|&at| all[at].clone()).collect();
        let field = Field {
            ranked: copies(&keep),
            around: copies(&rest),
            not_ranked: self.field.not_ranked.clone(),
            shares: self.field.shares.clone(),
            ..self.field
        };
        let drawn = keep.iter().chain(&rest).map(|&at| Arc::clone(&self.drawn[at])).collect();
        let mut who: Vec<String> = moved.iter().map(|&at| all[at].label()).collect();
        let differs = |at: &&usize| self.opened.contains(at) != opened.contains(at);
        for at in self.opened.iter().chain(&opened).filter(differs) {
            let label = self.scored.products[*at].label();
            if !who.contains(&label) {
                who.push(label);
            }
        }
        Some((State { scored: self.scored, field, drawn, opened }, who))
    }
}

impl Engine {
    /// The scores of those whom a claim is about, and those of their hard findings alone.
    pub(super) fn scored_for(&self, claim: &Claim) -> Result<(Arc<Scored>, Arc<Scored>), Error> {
        let terms = self.terms()?;
        let named: Vec<&ProductKey> = claim.product.iter().chain(&claim.than).collect();
        for it in &named {
            self.named_product(it.as_str(), &terms)?;
        }
        let (_, scored) = self.asked_with(&request_of(claim)?, &named)?;
        let hard = self.hard_scored(&scored)?;
        Ok((scored, hard))
    }

    /// Those whom a claim is about, by its statement.
    pub(crate) fn members_of_claim(&self, statement: &str) -> Result<BTreeSet<ProductKey>, Error> {
        let claim = super::parsed(statement)?;
        let mut keys = self.members_of(&request_of(&claim)?)?;
        keys.extend(claim.product.into_iter().chain(claim.than));
        Ok(keys)
    }

    /// The scores where soft findings are missing; the same as `scored` where there are none.
    pub(super) fn hard_scored(&self, scored: &Arc<Scored>) -> Result<Arc<Scored>, Error> {
        let kept = self.hard.lock().unwrap_or_else(PoisonError::into_inner).clone();
        if let Some((_, hard)) = kept.filter(|(of, _)| Arc::ptr_eq(of, scored)) {
            return Ok(hard);
        }
        let hard = if scored.products.iter().any(|it| is_soft(&it.dossier)) {
            Arc::new(self.hard_of(scored)?)
        } else {
            Arc::clone(scored)
        };
        *self.hard.lock().unwrap_or_else(PoisonError::into_inner) =
            Some((Arc::clone(scored), Arc::clone(&hard)));
        Ok(hard)
    }

    /// The scores of hard findings alone; what has no soft ones is not examined again.
    pub(super) fn hard_of(&self, scored: &Scored) -> Result<Scored, Error> {
        let examined = on_all_cores(&scored.products, |it| {
            if is_soft(&it.dossier) {
                scoring::examine(hard_alone(it.dossier.clone()))
            } else {
                Arc::clone(&it.examined)
            }
        });
        self.scored_anew(scored, examined)
    }
}

fn is_soft(it: &Dossier) -> bool {
    it.findings().any(|it| !it.evidence.is_hard())
}

/// A dossier without what the maker claims and what was inferred.
fn hard_alone(mut it: Dossier) -> Dossier {
    it.stated.retain(|it| it.evidence.is_hard());
    for job in &mut it.jobs {
        job.findings.retain(|it| it.evidence.is_hard());
    }
    it
}
