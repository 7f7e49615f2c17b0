//! The verdict on a claim: judged on hard findings alone, on all, and under other assumptions.

use std::{collections::BTreeSet, sync::Arc};

use domain::claim::{Claim, Family, Kind};
use standing::{
    claim::{Drawn, End, Verdict, World, less_favourable, settle, superlative},
    gates::DELTA_S,
    index::Score,
    prevalence::Quantity,
    profile::Profile,
    weighting::Weightings,
};

use super::{
    read::{Attribute, Found, found, points},
    sentence::Words,
    tried::{Meant, Said, Tried, Way, deck, lined_up, tried},
    world::{Edge, Scope, State},
};
use crate::{
    BandRequest, Engine, Error,
    band::{self, Draws},
    drawn::Fill,
    dto::{ClaimFinding, ClaimInterval, ClaimJudgement, ClaimProduct, Remark},
    naming::named,
    scoring::Scored,
};
use band::numbers::internal;

/// A judged claim, before it is an answer.
pub(super) struct Judged {
    pub(super) verdict: Verdict,
    pub(super) answer: ClaimJudgement,
}

/// How to judge.
#[derive(Debug, Clone, Copy)]
pub(super) struct Terms {
    pub(super) seed: u32,
    pub(super) draws: Option<u32>,
    /// Whether to look for what would flip the verdict.
    pub(super) flips: bool,
}

/// Draws where only the verdict is asked for.
const FEWER: u32 = 2_000;

impl Engine {
    /// Judges a claim among some scores and those of their hard findings alone.
    pub(super) fn judged(
        &self,
        claim: &Claim,
        scored: &Arc<Scored>,
        hard: &Arc<Scored>,
        terms: Terms,
    ) -> Result<Judged, Error> {
        let meant = Meant::of(claim, scored)?;
        let scope = Scope::of(self, claim, scored, terms.seed, terms.draws)?;
        let draws = scope.question.draws;
        let mut faults = Vec::new();

        let mut all = State {
            scored,
            field: scope.field(scored)?,
            drawn: Vec::new(),
            opened: scope.opened(scored, Edge::AsAsked),
        };
        if meant.needs_scores() {
            let places: Vec<usize> = all.field.all().map(|it| it.place).collect();
            (all.drawn, faults) = self.drawn_at(scored, &places, draws.seed);
        }
        let keep = lined_up(&all, &meant.of);
        let by_all = under_both_fills(&meant, &all, &keep, draws)?;

        // Without soft findings in scope both worlds are one.
        let mut seen = State {
            scored: hard,
            field: all.field_among(hard, &all.field.shares)?,
            drawn: Vec::new(),
            opened: all.opened.clone(),
        };
        let softer =
            |at: &usize| !Arc::ptr_eq(&scored.products[*at].examined, &hard.products[*at].examined);
        let mut spoken_of = all.opened.iter().copied().chain(all.field.all().map(|it| it.place));
        let by_hard = if spoken_of.any(|at| softer(&at)) {
            if meant.needs_scores() {
                let places: Vec<usize> = seen.field.all().map(|it| it.place).collect();
                let (drawn, said) = self.drawn_hard(hard, &places, draws.seed);
                seen.drawn = drawn;
                faults.extend(said);
            }
            under_both_fills(&meant, &seen, &keep, draws)?
        } else {
            seen.drawn.clone_from(&all.drawn);
            by_all.clone()
        };

        let verdict = settle(by_hard.tried.world, by_all.tried.world);
        let settled = matches!(verdict, Verdict::Supported | Verdict::Contradicted);
        let (state, outcome) = if settled { (&seen, &by_hard) } else { (&all, &by_all) };
        let inferred = if verdict == Verdict::DependsOnInferred {
            inferred(&meant, &all, &seen, &outcome.tried)
        } else {
            Vec::new()
        };
        let addresses: Vec<String> = inferred.iter().map(|it| it.finding.clone()).collect();
        let words = Words {
            meant: &meant,
            scope: &scope,
            state,
            tried: &outcome.tried,
            verdict,
            inferred: &addresses,
        };
        let mut flips = Vec::new();
        if terms.flips {
            flips = self.flips(&meant, &scope, state, outcome, &keep, verdict)?;
        }
        let product = |at: &usize| ClaimProduct {
            product: scored.products[*at].dossier.product.key.to_string(),
            label: scored.products[*at].label(),
        };
        faults.dedup();
        let mut remarks: Vec<Remark> = scored.remarks.clone();
        remarks.extend(faults.into_iter().map(band::not_drawn));
        let tried = &outcome.tried;
        let answer = ClaimJudgement {
            statement: claim.to_string(),
            family: claim.kind.family().word().into(),
            verdict: verdict.word().into(),
            sentence: words.sentence(),
            why: words.why(),
            n: u32::try_from(tried.n).unwrap_or(u32::MAX),
            p: tried.p,
            interval: interval(&meant, tried),
            leans: match tried.lean {
                _ if verdict != Verdict::NotSupported => None,
                standing::verdict::Lean::For => Some("for".into()),
                standing::verdict::Lean::Against => Some("against".into()),
                standing::verdict::Lean::Neither => None,
            },
            borderline: tried.borderline,
            deciding: tried.deciding.iter().take(5).map(product).collect(),
            findings: findings(&meant, state, tried),
            inferred,
            flips,
            left_out: left_out(&meant, &all, &keep),
            as_of: scope.question.terms.as_of.to_string(),
            rubric: scored.rubric.clone(),
            weights: all.field.shares.clone(),
            plugins: scored.plugins.clone(),
            seed: terms.seed,
            draws: u32::try_from(draws.draws).unwrap_or(u32::MAX),
            remarks,
        };
        Ok(Judged { verdict, answer })
    }

    /// What would flip the verdict.
    fn flips(
        &self,
        meant: &Meant<'_>,
        scope: &Scope,
        state: &State<'_>,
        outcome: &Outcome,
        keep: &[usize],
        verdict: Verdict,
    ) -> Result<Vec<String>, Error> {
        let mut flips = Vec::new();
        if outcome.on_gaps {
            flips.push(
                "It depends on findings that are missing: filled like those of the other products, they decide otherwise."
                    .to_owned(),
            );
        }
        let draws = scope.question.draws.fewer();
        let way = Way { fill: Fill::Even, draws };
        let small = state.field.all().count() <= band::LARGE;
        let before = tried(meant, state, keep, way)?.world;
        let says = |world: World| match world {
            World::Holds => "it holds",
            World::Fails => "it is contradicted",
            World::Open => "it is not settled",
            World::Gated(_) => "there are too few data",
        };
        if small {
            for (edge, word) in [(Edge::Without, "Without"), (Edge::With, "With")] {
                let Some((other, who)) = state.at_edge(scope, edge) else { continue };
                let keep = lined_up(&other, &meant.of);
                let world = tried(meant, &other, &keep, way)?.world;
                if says(world) != says(before) {
                    let place = if edge == Edge::Without { "just inside" } else { "just outside" };
                    flips.push(format!(
                        "It depends on the edge of the band. {word} {}, {place}, {}.",
                        some(&who),
                        says(world)
                    ));
                }
            }
            let weighs = meant.needs_scores() && !matches!(meant.of, Attribute::Subsystem { .. });
            if weighs {
                let other = state.with_equal_weights()?;
                let world = tried(meant, &other, keep, way)?.world;
                if says(world) != says(before) {
                    flips.push(format!("With all subsystems weighing alike, {}.", says(world)));
                }
                if let Some(text) = geometric(meant, state, keep, before)? {
                    flips.push(text);
                }
            }
        }
        if meant.claim.kind == Kind::Best
            && meant.of == Attribute::Score
            && meant.claim.scope.among.is_none()
            && outcome.tried.world == World::Holds
        {
            let asked = &scope.question;
            let request = BandRequest {
                low: asked.band.low(),
                high: asked.band.high(),
                kind: asked.kind.map(|it| it.word().to_owned()),
                draws: Some(100),
                ..BandRequest::default()
            };
            let report = self.stability(&request)?;
            let subject =
                meant.product.map(|at| state.scored.products[at].dossier.product.key.to_string());
            if report.winner == subject {
                flips.extend(report.sentences.into_iter().next());
            }
        }
        flips.extend(needed(meant, &outcome.tried, verdict)?);
        Ok(flips)
    }
}

/// A few names in one phrase.
fn some(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [all @ .., last] if names.len() <= 3 => format!("{} and {last}", all.join(", ")),
        [first, second, rest @ ..] => format!("{first}, {second} and {} more", rest.len()),
    }
}

/// A test with both fills of the gaps.
#[derive(Clone)]
struct Outcome {
    tried: Tried,
    /// Whether the fills disagree.
    on_gaps: bool,
}

fn under_both_fills(
    meant: &Meant<'_>,
    state: &State<'_>,
    keep: &[usize],
    draws: Draws,
) -> Result<Outcome, Error> {
    let mut even = tried(meant, state, keep, Way { fill: Fill::Even, draws })?;
    let mut on_gaps = false;
    if matches!(even.world, World::Holds | World::Fails)
        && let Some(deck) = deck(state)
    {
        let way = Way { fill: Fill::Deck(&deck), draws: draws.fewer() };
        let like_others = tried(meant, state, keep, way)?;
        let world = less_favourable(even.world, like_others.world);
        on_gaps = world != even.world;
        even.world = world;
    }
    Ok(Outcome { tried: even, on_gaps })
}

/// Whether the order depends on whether a strength may pay for a weakness.
fn geometric(
    meant: &Meant<'_>,
    state: &State<'_>,
    keep: &[usize],
    before: World,
) -> Result<Option<String>, Error> {
    let (Kind::Best | Kind::Worst, Some(subject)) = (meant.claim.kind, meant.product) else {
        return Ok(None);
    };
    let members: Vec<_> = state.field.ranked.iter().filter(|it| keep.contains(&it.place)).collect();
    let points: Option<Vec<Vec<f64>>> =
        members.iter().map(|it| Some(vec![band::geometric(&state.field, it)?])).collect();
    let (Some(points), Some(at)) = (points, members.iter().position(|it| it.place == subject))
    else {
        return Ok(None);
    };
    let slices: Vec<[Option<&[f64]>; 1]> = points.iter().map(|it| [Some(it.as_slice())]).collect();
    let profiles = slices.iter().map(|it| Profile::new(it, 0, None)).collect::<Result<Vec<_>, _>>();
    let one = Weightings::fixed(&[1.0], 1).map_err(internal)?;
    let drawn = Drawn::of_profiles(&profiles.map_err(internal)?, &one, &[1.0], DELTA_S);
    let end = if meant.claim.kind == Kind::Best { End::Best } else { End::Worst };
    let it = superlative(&drawn, at, end, 1).map_err(internal)?;
    let first = it.p.is_some_and(|p| p > 0.5);
    Ok((first != (before == World::Holds) && matches!(before, World::Holds | World::Fails)).then(|| {
        format!(
            "By the geometric mean, in which a strength pays less for a weakness, it is {}first.",
            if first { "" } else { "not " }
        )
    }))
}

/// How many more would settle it.
fn needed(meant: &Meant<'_>, tried: &Tried, verdict: Verdict) -> Result<Vec<String>, Error> {
    use standing::claim::Gate;
    let mut list = Vec::new();
    let word = match meant.claim.kind {
        Kind::Most => Some(Quantity::Most),
        Kind::Few => Some(Quantity::Few),
        Kind::NearlyAll => Some(Quantity::NearlyAll),
        Kind::AboutHalf => Some(Quantity::AboutHalf),
        _ => None,
    };
    let market = meant.claim.population == domain::claim::Population::Market;
    if let (Some(word), Said::Count(count), true, Verdict::NotSupported) =
        (word, &tried.said, market, verdict)
    {
        let n = u32::try_from(tried.n).unwrap_or(u32::MAX);
        if let Some((low, high)) = word.counts_needed(n).map_err(internal)? {
            let range = if low == high { low.to_string() } else { format!("{low} to {high}") };
            list.push(format!(
                "Of {n} opened it takes {range} for \"{}\"; {} have it.",
                word.word(),
                count.yes.len()
            ));
        }
    }
    if let World::Gated(Gate::Count { found, needed }) = tried.world
        && needed > found
    {
        let more = crate::error::count(needed - found, "more product");
        list.push(format!("{more} would allow the test."));
    }
    if let World::Gated(Gate::Undetermined { count }) = tried.world {
        list.push(format!(
            "Looking at the {} would settle it.",
            crate::error::count(count, "product")
        ));
    }
    if tried.borderline {
        list.push("The draws lie close to the limit; more of them may turn it.".into());
    }
    Ok(list)
}

fn interval(meant: &Meant<'_>, tried: &Tried) -> Option<ClaimInterval> {
    let it = tried.interval?;
    let of = &meant.of;
    let plain = |low: f64, high: f64, unit: &str, what: &str, text: String| ClaimInterval {
        low,
        high,
        unit: unit.to_owned(),
        of: what.to_owned(),
        text,
    };
    Some(match tried.said {
        Said::Superlative { .. } => {
            plain(it.low, it.high, "", "place", format!("place {:.0} to {:.0}", it.low, it.high))
        }
        Said::Typical { .. } => {
            let text = format!("percentile {:.0} to {:.0}", it.low, it.high);
            plain(it.low, it.high, "", "percentile", text)
        }
        Said::Count(_) => {
            let (low, high) = (it.low * 100.0, it.high * 100.0);
            plain(low, high, "%", "share", format!("{low:.0} % to {high:.0} %"))
        }
        Said::Value(_) => {
            let text = format!("{} to {} value points", points(it.low), points(it.high));
            plain(it.low, it.high, "points", "value points", text)
        }
        Said::Association(_) => {
            plain(it.low, it.high, "", "tau", format!("tau {:.2} to {:.2}", it.low, it.high))
        }
        Said::Comparison(_) | Said::Threshold(_) | Said::Nothing(_) => {
            let what =
                if matches!(tried.said, Said::Comparison(_)) { "difference" } else { "value" };
            let spread = Some((it.high - it.low) / 4.0).filter(|it| *it > 0.0);
            let text = format!("{} to {}", of.shown(it.low, spread), of.shown(it.high, spread));
            let text = if of.unit() == "points" { format!("{text} points") } else { text };
            plain(of.in_unit(it.low), of.in_unit(it.high), of.unit(), what, text)
        }
    })
}

/// The most findings that are named.
const MOST_NAMED: usize = 6;

/// The findings that decide: those of the property or the number; for a score what moves the products that decide.
fn findings(meant: &Meant<'_>, state: &State<'_>, tried: &Tried) -> Vec<ClaimFinding> {
    let dictionary = &state.scored.declarations.dictionary;
    let one = |product: Option<String>, finding: String| ClaimFinding {
        label: named(dictionary, &finding),
        product,
        finding,
    };
    if let Some(having) = &meant.having {
        return having.addresses().into_iter().map(|it| one(None, it)).collect();
    }
    if let Attribute::Number { id, .. } = &meant.of {
        return vec![one(None, id.clone())];
    }
    let weighed = state.field.weighed();
    let mut pulls: Vec<(f64, usize, String)> = Vec::new();
    for (member, drawn) in state.field.ranked.iter().zip(&state.drawn) {
        if !tried.deciding.iter().take(2).any(|it| *it == member.place) {
            continue;
        }
        for pull in &drawn.pulls {
            let size: f64 = weighed
                .iter()
                .filter(|(_, place, _)| match meant.of {
                    Attribute::Subsystem { place: of, .. } => of == *place,
                    _ => true,
                })
                .map(|(_, place, weight)| weight * pull.by_part.get(*place).copied().unwrap_or(0.0))
                .sum();
            pulls.push((size.abs(), member.place, pull.source.clone()));
        }
    }
    pulls.sort_by(|a, b| b.0.total_cmp(&a.0));
    let key = |at: usize| state.scored.products[at].dossier.product.key.to_string();
    pulls
        .into_iter()
        .filter(|(size, ..)| *size > 0.05)
        .take(MOST_NAMED)
        .map(|(_, at, source)| one(Some(key(at)), source))
        .collect()
}

/// The soft findings of the deciding products without which something is missing, the weightiest first.
fn inferred(
    meant: &Meant<'_>,
    all: &State<'_>,
    seen: &State<'_>,
    tried: &Tried,
) -> Vec<ClaimFinding> {
    let dictionary = &all.scored.declarations.dictionary;
    let weighed = all.field.weighed();
    // Where nobody decides alone, all in scope do.
    let places: Vec<usize> = match tried.deciding.len() {
        0 => all.opened.clone(),
        _ => tried.deciding.clone(),
    };
    let mut found_soft: Vec<(f64, usize, String)> = Vec::new();
    for &at in &places {
        let (with, without) = (&all.scored.products[at], &seen.scored.products[at]);
        if let Some(having) = &meant.having {
            let known: BTreeSet<String> = having.missing(with).into_iter().collect();
            let gone = having.missing(without).into_iter().filter(|it| !known.contains(it));
            found_soft.extend(gone.map(|it| (1.0, at, it)));
            continue;
        }
        if let Attribute::Number { id, .. } = &meant.of {
            if let (Found::Missing(list), Found::Number(_) | Found::Count(_)) =
                (found(without, id), found(with, id))
            {
                found_soft.extend(list.into_iter().map(|it| (1.0, at, it)));
            }
            continue;
        }
        for (_, place, weight) in &weighed {
            if matches!(meant.of, Attribute::Subsystem { place: of, .. } if of != *place) {
                continue;
            }
            let (Some(a), Some(b)) = (with.subsystems.get(*place), without.subsystems.get(*place))
            else {
                continue;
            };
            for (a, b) in a.criteria.iter().zip(&b.criteria) {
                let (Score::Known { .. }, Score::Missing { within }) = (a.score, b.score) else {
                    continue;
                };
                let size = weight * b.weight * within.width();
                found_soft.extend(b.missing.iter().map(|it| (size, at, it.clone())));
            }
        }
    }
    found_soft.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mut list: Vec<ClaimFinding> = Vec::new();
    for (_, at, finding) in found_soft {
        let product = Some(all.scored.products[at].dossier.product.key.to_string());
        if list.iter().all(|it| (&it.product, &it.finding) != (&product, &finding)) {
            list.push(ClaimFinding { product, label: named(dictionary, &finding), finding });
        }
    }
    list.truncate(MOST_NAMED);
    list
}

/// What is in the band and not judged.
fn left_out(meant: &Meant<'_>, all: &State<'_>, keep: &[usize]) -> Vec<String> {
    let mut list = Vec::new();
    if meant.needs_scores() {
        let thin = all.field.not_ranked.len();
        if thin > 0 {
            list.push(format!("{} in scope not ranked.", crate::error::count(thin, "product")));
        }
        let senseless = all.field.ranked.len().saturating_sub(keep.len());
        if senseless > 0 && meant.claim.kind.family() != Family::Value {
            list.push(format!(
                "{} left out: too little was seen of the {}.",
                crate::error::count(senseless, "product"),
                meant.of.label()
            ));
        }
        if all.field.no_price > 0 {
            list.push(format!(
                "{} without a usable price left out.",
                crate::error::count(all.field.no_price, "product")
            ));
        }
    }
    list
}

impl Terms {
    /// For a verdict alone, as often as it is needed.
    pub(super) fn quick(self) -> Self {
        Terms { draws: Some(self.draws.unwrap_or(FEWER).min(FEWER)), flips: false, ..self }
    }
}
