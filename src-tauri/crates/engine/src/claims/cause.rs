//! Which change turned a verdict: each change since is taken back alone, in memory, and the claim judged again.

use std::{collections::BTreeMap, sync::Arc};

use catalog::{ChangeRow, ChangeSet, ClaimVerdict, Fact};
use domain::{claim::Claim, dossier::Dossier};
use standing::claim::Verdict;

use super::judged::Terms;
use crate::{
    Engine, Error,
    history::change,
    scoring::{self, Scored},
};

/// Changes that are tried one by one; of more only the newest are.
const MOST_TRIED: usize = 12;
/// Sentences that are kept.
const MOST_TOLD: usize = 6;

impl Engine {
    /// What turned a verdict since `last`, one sentence each.
    pub(super) fn causes(
        &self,
        claim: &Claim,
        last: &ClaimVerdict,
        now: Verdict,
        scored: &Arc<Scored>,
        as_of: &str,
    ) -> Result<Vec<String>, Error> {
        let terms = Terms { seed: last.seed, draws: None, flips: false }.quick();
        let turned = now.word() != last.verdict;
        let since: Vec<ChangeSet> = self
            .reader()
            .changes_since(last.known.action, &scored.declarations.dictionary)?
            .into_iter()
            .filter(moves_numbers)
            .collect();
        let mut did_it = Vec::new();
        let mut others = Vec::new();
        for set in since.iter().rev().take(MOST_TRIED) {
            let told = told(set);
            let before = self.without(scored, set)?;
            let was = match before {
                Some(before) if turned => {
                    let before = Arc::new(before);
                    let hard = Arc::new(self.hard_of(&before)?);
                    Some(self.judged(claim, &before, &hard, terms)?.verdict.word())
                }
                _ => None,
            };
            if was == Some(last.verdict.as_str()) {
                did_it.push(told);
            } else {
                others.push(told);
            }
        }
        let history = self.reader().rubric_changes()?;
        let known = usize::try_from(last.known.rubric).unwrap_or(history.len());
        if history.len() > known {
            let names: Vec<&str> =
                history.iter().skip(known).map(|it| it.path.as_str()).take(MOST_TOLD).collect();
            let told = format!("The rubric changed: {}.", names.join(", "));
            let examined = scored.products.iter().map(|it| Arc::clone(&it.examined)).collect();
            let changes = crate::rubric::Changes::of(history.iter().take(known).cloned().collect());
            let before = Arc::new(self.scored_by(scored, examined, &changes)?);
            let hard = Arc::new(self.hard_of(&before)?);
            let was = self.judged(claim, &before, &hard, terms)?.verdict.word();
            if turned && was == last.verdict { did_it.push(told) } else { others.push(told) }
        } else if last.rubric != scored.rubric {
            others.push("The plugins judge by another rubric.".to_owned());
        }
        if last.as_of != as_of {
            others.push(format!("Prices are those of {as_of}, no more those of {}.", last.as_of));
        }
        if !did_it.is_empty() {
            did_it.truncate(MOST_TOLD);
            return Ok(did_it);
        }
        if turned && others.len() > 1 {
            others.truncate(MOST_TOLD);
            others.insert(0, "No change did it alone; together they did:".to_owned());
        }
        others.truncate(MOST_TOLD + 1);
        Ok(others)
    }

    /// All scores as they would be without one action; `None` where nothing that can be put back was changed.
    fn without(&self, scored: &Arc<Scored>, set: &ChangeSet) -> Result<Option<Scored>, Error> {
        let mut dossiers: BTreeMap<usize, Dossier> = BTreeMap::new();
        for row in set.changes.iter().rev() {
            let of = |it: &scoring::ScoredProduct| it.dossier.product.key.as_str() == row.product;
            let Some(at) = scored.products.iter().position(of) else { continue };
            let dossier = dossiers.entry(at).or_insert_with(|| scored.products[at].dossier.clone());
            put_back(dossier, row);
        }
        dossiers.retain(|at, it| *it != scored.products[*at].dossier);
        if dossiers.is_empty() {
            return Ok(None);
        }
        let mut examined: Vec<_> =
            scored.products.iter().map(|it| Arc::clone(&it.examined)).collect();
        for (at, dossier) in dossiers {
            examined[at] = scoring::examine(dossier);
        }
        self.scored_anew(scored, examined).map(Some)
    }
}

/// Puts what held before a change into a dossier.
fn put_back(dossier: &mut Dossier, row: &ChangeRow) {
    match (&row.before, &row.after) {
        (before, Some(Fact::Finding(after))) => {
            let before = match before {
                Some(Fact::Finding(it)) => Some(it.clone()),
                _ => None,
            };
            let lists = dossier.jobs.iter_mut().map(|it| &mut it.findings);
            for list in lists.chain([&mut dossier.stated]) {
                let Some(at) = list.iter().position(|it| it == after) else { continue };
                match before {
                    Some(before) => list[at] = before,
                    None => {
                        list.remove(at);
                    }
                }
                return;
            }
        }
        (Some(Fact::Finding(before)), None) => {
            let job = dossier.jobs.iter_mut().find(|it| it.teardown.date == before.date);
            match job {
                Some(job) => job.findings.push(before.clone()),
                None => dossier.stated.push(before.clone()),
            }
        }
        (before, Some(Fact::Price(after))) => {
            dossier.prices.retain(|it| it != after);
            if let Some(Fact::Price(it)) = before {
                dossier.prices.push(it.clone());
            }
        }
        (Some(Fact::Price(before)), None) => dossier.prices.push(before.clone()),
        // Parts lists and sweeps are kept whole in the catalogue alone; they are told, not tried.
        _ => {}
    }
}

/// Nothing is computed from photos.
fn moves_numbers(set: &ChangeSet) -> bool {
    let is_photo = |it: &ChangeRow| {
        matches!((&it.before, &it.after), (Some(Fact::Photo(_)), _) | (_, Some(Fact::Photo(_))))
    };
    !set.changes.iter().all(is_photo)
}

/// An action in a sentence.
fn told(set: &ChangeSet) -> String {
    let mut parts: Vec<String> = set
        .changes
        .iter()
        .take(3)
        .map(|row| {
            let it = change(row);
            let was = it.before.unwrap_or_else(|| "nothing".to_owned());
            let is = it.after.unwrap_or_else(|| "nothing".to_owned());
            format!("{} of {}: {is}, before {was}", it.what, row.product)
        })
        .collect();
    if set.changes.len() > 3 {
        parts.push(format!("and {} more", set.changes.len() - 3));
    }
    let day = set.at.split('T').next().unwrap_or_default();
    let reason = if set.reason.is_empty() { String::new() } else { format!(" ({})", set.reason) };
    format!("{day}, {}: {}{reason}", set.action.word(), parts.join("; "))
}
