//! What to measure or open next, and what it would settle.

use std::collections::BTreeMap;

use ::standing::{
    gates,
    gates_left::{self, Gate, GatesLeft, gates_left},
    next::{Candidate, Gain, gains},
};
use domain::{evidence::Evidence, product::ProductKind};
use physics::{air::AIR20, quantity::responses, spread::Spreads};

use crate::{
    BandRequest, Engine, Error,
    band::{self, Field, Member, missing, numbers::internal},
    drawn::{Drawn, FINDING_DRAWS, Fill, Part},
    dto::{FinishDto, GapDto, GateDto, MeasureDto, NextReport},
    naming::named_list,
};

/// How many findings are listed.
const LISTED: usize = 12;
/// Findings that would settle less than this, in pairs, are not listed.
const LEAST_SETTLED: f64 = 0.005;

/// Products whose ideas are weighed together: each has some forty, of a thousand draws.
const TOGETHER: usize = 100;

/// Something that could be measured.
struct Idea {
    /// The place among the ranked products.
    at: usize,
    findings: Vec<String>,
    state: &'static str,
    z: Vec<f64>,
}

impl Engine {
    /// What to measure or open next, at the weights asked for.
    ///
    /// # Errors
    /// As [`Engine::band`].
    pub fn next(&self, request: &BandRequest) -> Result<NextReport, Error> {
        let (question, scored) = self.asked(request)?;
        let field = question.field(&scored)?;
        let seed = question.draws.seed;
        let (drawn, faults) = self.drawn_of(&scored, &field, seed);
        let filled = band::numbers::filled(&field, &drawn, Fill::Even);
        let weights: Vec<f64> = field.weighed().iter().map(|(_, _, weight)| *weight).collect();

        let n = field.ranked.len();
        let (mut measure, mut doubt) = (Vec::new(), 0.0);
        if n > 1 {
            let ideas_of = |at: usize| -> Vec<Idea> {
                let mut ideas = gaps(&field, &drawn[at], at);
                let (member, spreads) = (&field.ranked[at], &scored.spreads);
                ideas.extend(uncertain(&drawn[at], member, at, spreads, u64::from(seed)));
                ideas
            };
            let places: Vec<usize> = (0..n).collect();
            let (found, left) = band::numbers::with_profiles(&filled[..n], |profiles| {
                let mut found: Vec<(Idea, Gain)> = Vec::new();
                for some in places.chunks(TOGETHER) {
                    let ideas: Vec<Idea> = some.iter().flat_map(|at| ideas_of(*at)).collect();
                    let candidates: Vec<Candidate<'_>> =
                        ideas.iter().map(|it| Candidate { product: it.at, z: &it.z }).collect();
                    let gained = gains(profiles, &weights, &candidates).map_err(internal)?;
                    found.extend(ideas.into_iter().zip(gained).filter_map(worth_telling));
                }
                Ok((found, ::standing::next::doubt(profiles, &weights).map_err(internal)?))
            })?;
            doubt = left;
            measure = ranked_ideas(&field, found);
        }
        let mut remarks = scored.remarks.clone();
        remarks.extend(faults.into_iter().map(band::not_drawn));
        let left = left(&field)?;
        Ok(NextReport {
            band: question.band_dto(),
            rubric: scored.rubric.clone(),
            seed,
            finding_draws: u32::try_from(FINDING_DRAWS).unwrap_or(u32::MAX),
            pairs: u32::try_from(n * n.saturating_sub(1) / 2).unwrap_or(u32::MAX),
            doubt,
            measure,
            finish: finish(&field),
            open: open(&left),
            gap: gap(&field, &left),
            remarks,
        })
    }
}

/// The gaps of a product; criteria that wait for the same findings are one idea, whose label is what they bring together.
fn gaps(field: &Field<'_>, drawn: &Drawn, at: usize) -> Vec<Idea> {
    let mut by_findings: BTreeMap<&[String], Vec<f64>> = BTreeMap::new();
    for (_, place, weight) in field.weighed() {
        let Some(Part::Present { gaps, .. }) = drawn.parts.get(place) else { continue };
        for gap in gaps.iter().filter(|it| !it.missing.is_empty()) {
            let z = by_findings.entry(&gap.missing).or_insert_with(|| vec![0.0; gap.at.len()]);
            for (sum, it) in z.iter_mut().zip(&gap.at) {
                *sum += weight * gap.share * gap.within.width() * it;
            }
        }
    }
    by_findings
        .into_iter()
        .map(|(findings, z)| Idea { at, findings: findings.to_vec(), state: "missing", z })
        .collect()
}

/// The sources that move what the plugins see of a product. What is no finding, such as a handbook figure, cannot be
/// measured on the bench and is left out.
fn uncertain(
    drawn: &Drawn,
    member: &Member<'_>,
    at: usize,
    spreads: &Spreads,
    seed: u64,
) -> Vec<Idea> {
    // Only the draws of the sources are asked for, and no quantity has a say in them.
    let responses =
        responses(&member.product.dossier, &AIR20, &member.product.fits, spreads, |_| false);
    let key = member.key();
    responses
        .sources()
        .iter()
        .enumerate()
        .filter(|(_, source)| drawn.pulls.iter().any(|it| it.source == source.id))
        .filter_map(|(place, source)| {
            let evidence = source.evidence?;
            let state = if Evidence::is_hard(evidence) { "uncertain" } else { "soft" };
            Some(Idea {
                at,
                findings: vec![source.id.clone()],
                state,
                z: responses.standard_draws(place, seed, key, FINDING_DRAWS),
            })
        })
        .collect()
}

/// An idea that would settle enough to be listed, without its draws.
fn worth_telling((idea, gain): (Idea, Gain)) -> Option<(Idea, Gain)> {
    (gain.settled_drawn >= LEAST_SETTLED).then(|| (Idea { z: Vec::new(), ..idea }, gain))
}

fn ranked_ideas(field: &Field<'_>, mut found: Vec<(Idea, Gain)>) -> Vec<MeasureDto> {
    found.sort_by(|(a, a_gain), (b, b_gain)| {
        b_gain
            .settled_drawn
            .total_cmp(&a_gain.settled_drawn)
            .then_with(|| (a.at, &a.findings).cmp(&(b.at, &b.findings)))
    });
    found.truncate(LISTED);
    let label = |at: usize| {
        let it = &field.ranked[at].product.dossier.product;
        format!("{} {}", it.maker, it.model)
    };
    found
        .iter()
        .map(|(idea, gain)| {
            let rival = gain.rival.map(label);
            let what = named_list(&field.scored.declarations.dictionary, &idea.findings);
            let against =
                rival.as_ref().map_or_else(String::new, |it| format!(", most against {it}"));
            MeasureDto {
                product: field.ranked[idea.at].key().to_owned(),
                label: label(idea.at),
                text: format!(
                    "{}: {what} would settle {:.2} pairs{against}.",
                    label(idea.at),
                    gain.settled_drawn
                ),
                findings: idea.findings.clone(),
                what,
                state: idea.state.into(),
                share: gain.share,
                settled: gain.settled,
                settled_drawn: gain.settled_drawn,
                rival,
            }
        })
        .collect()
}

/// Products under the coverage gate, the nearest first, with the findings that lift them over it.
fn finish(field: &Field<'_>) -> Vec<FinishDto> {
    let mut list: Vec<&Member<'_>> = field
        .not_ranked
        .iter()
        .map(|(it, _)| it)
        .filter(|it| !it.product.dossier.product.powered)
        .collect();
    list.sort_by(|a, b| {
        b.score.coverage.total_cmp(&a.score.coverage).then_with(|| a.key().cmp(b.key()))
    });
    list.into_iter()
        .map(|it| {
            let product = &it.product.dossier.product;
            let findings = lifting(field, it);
            let what = named_list(&field.scored.declarations.dictionary, &findings);
            FinishDto {
                product: it.key().to_owned(),
                coverage: it.score.coverage,
                text: format!(
                    "{} {} is at {:.0} % of the {:.0} % that ranking needs; {what} would bring it there.",
                    product.maker,
                    product.model,
                    (it.score.coverage * 100.0).floor(),
                    gates::COVERAGE_GATE * 100.0
                ),
                findings,
            }
        })
        .collect()
}

/// As many missing findings, the weightiest first, as lift a product over the gate.
fn lifting(field: &Field<'_>, member: &Member<'_>) -> Vec<String> {
    let waiting: Vec<(f64, Vec<String>)> = field
        .weighed()
        .into_iter()
        .filter_map(|(_, place, weight)| Some((weight, member.product.subsystems.get(place)?)))
        .flat_map(|(weight, subsystem)| {
            let total: f64 = subsystem
                .criteria
                .iter()
                .filter(|it| it.score != ::standing::index::Score::NotApplicable)
                .map(|it| it.weight)
                .sum();
            subsystem
                .criteria
                .iter()
                .filter(|it| !it.missing.is_empty())
                .map(move |it| (weight * it.weight / total, it.missing.clone()))
        })
        .collect();
    let (mut known, mut chosen) = (member.score.coverage, Vec::new());
    for address in missing(member.product) {
        if gates::covered(known) {
            break;
        }
        chosen.push(address);
        known = member.score.coverage
            + waiting
                .iter()
                .filter(|(_, list)| list.iter().all(|it| chosen.contains(it)))
                .map(|(share, _)| share)
                .sum::<f64>();
    }
    chosen
}

/// What the band still lacks.
fn left(field: &Field<'_>) -> Result<GatesLeft, Error> {
    let kinds = ProductKind::ALL;
    let members: Vec<gates_left::Member> = field
        .ranked
        .iter()
        .chain(field.not_ranked.iter().map(|(it, _)| it))
        .filter(|it| !it.product.dossier.product.powered)
        .map(|it| gates_left::Member {
            price: it.price.real_pair,
            coverage: it.score.coverage,
            kind: kinds.iter().position(|of| *of == it.product.dossier.product.kind).unwrap_or(0),
        })
        .collect();
    gates_left(&members, field.band, kinds.len()).map_err(internal)
}

/// The gates that change what this program says of a band, in words.
fn allowed(gate: Gate) -> Option<&'static str> {
    match gate {
        Gate::Ranks => Some("ranks"),
        Gate::ExpectedScore => Some("value points"),
        Gate::ValueVerdicts => Some("verdicts on value"),
        Gate::PriceLine => Some("a line of the index on the price"),
        Gate::Few => Some("the words few and nearly all"),
        Gate::Half => Some("the words about half"),
        Gate::Quartiles => Some("quartiles"),
        Gate::CorrelationInterval => Some("an interval of how the index goes with the price"),
        _ => None,
    }
}

fn open(left: &GatesLeft) -> Vec<GateDto> {
    let number = |it: usize| u32::try_from(it).unwrap_or(u32::MAX);
    left.left
        .iter()
        .filter_map(|it| {
            let allows = allowed(it.gate)?;
            let more = crate::error::count(it.more, "more ranked product");
            let on_hand = if it.on_hand { "; those not ranked yet would do" } else { "" };
            Some(GateDto {
                allows: allows.to_owned(),
                have: number(left.ranked),
                need: number(it.needed),
                text: format!(
                    "{more} would allow {allows} ({} of {}){on_hand}.",
                    left.ranked, it.needed
                ),
            })
        })
        .collect()
}

/// Where another product would say most: the widest gap in price, and the kind of which the band has least.
fn gap(field: &Field<'_>, left: &GatesLeft) -> Option<GapDto> {
    let it = left.gap.filter(|_| !field.ranked.is_empty())?;
    let kind = match &left.kinds[..] {
        [least, .., most] if least.ranked < most.ranked => {
            let word = ProductKind::ALL.get(least.kind).map_or("", |it| it.word());
            format!("; of {word} ones the band has {}", least.ranked)
        }
        _ => String::new(),
    };
    Some(GapDto {
        low: it.low,
        high: it.high,
        text: format!(
            "To open next: the widest gap in price is {:.0} to {:.0}, where a product says most about what a price buys{kind}.",
            it.low, it.high
        ),
    })
}
