//! What is left of a teardown, and what is worth measuring next.
//!
//! The order comes from the rubric alone, so that it is there after each field: how many points of the index wait for a
//! finding. What would settle ranks in a band takes draws of all products, and is the question of [`Engine::next`].

use std::{
    collections::{BTreeMap, BTreeSet},
    sync::{Arc, PoisonError},
};

use domain::{
    dictionary::{Dictionary, Expected},
    dossier::Dossier,
    part::Part,
};
use physics::quantity::{Known, NoValue};

use crate::{
    Engine, dto::BenchLeft, naming::named, plugins::Plugins, products, rubric::Changes, weights,
};

/// What each criterion reads, and the points of the index that it is worth.
#[derive(Debug)]
pub(crate) struct Worth {
    criteria: Vec<(f64, Vec<String>)>,
    /// Whether a plugin could not be asked.
    partial: bool,
}

impl Engine {
    /// What findings are worth under the rubric of the catalogue; kept until it is forgotten.
    pub(super) fn worth(&self) -> Option<Arc<Worth>> {
        let mut kept = self.worth.lock().unwrap_or_else(PoisonError::into_inner);
        if kept.is_none() {
            *kept = self.worth_now().map(Arc::new);
        }
        kept.clone()
    }

    pub(super) fn forget_worth(&self) {
        *self.worth.lock().unwrap_or_else(PoisonError::into_inner) = None;
    }

    fn worth_now(&self) -> Option<Worth> {
        let (trusted, changes) = {
            let reader = self.reader();
            (reader.trusted_plugins().ok()?, Changes::of(reader.rubric_changes().ok()?))
        };
        let candidates = Plugins::candidates(&trusted);
        let all = candidates.len();
        let manifests: Vec<_> = candidates
            .into_iter()
            .filter_map(|it| self.plugins.load(&it.pinned.ok()?).ok())
            .map(|it| changes.applied(&it.manifest).manifest)
            .collect();
        let names: Vec<&str> = manifests.iter().map(|it| it.subsystem.as_str()).collect();
        let (shares, _) = weights::shares(None, &changes.weights().by_subsystem, &names).ok()?;
        let mut criteria = Vec::new();
        for manifest in &manifests {
            let share = shares.get(&manifest.subsystem).copied().unwrap_or(0.0);
            let total: f64 = manifest.criteria.iter().map(|it| it.weight).sum();
            for it in manifest.criteria.iter().filter(|_| total > 0.0) {
                criteria.push((100.0 * share * it.weight / total, it.inputs.clone()));
            }
        }
        Some(Worth { partial: manifests.len() < all, criteria })
    }
}

/// What is left, and how it is ordered.
pub(super) fn left(
    dossier: &Dossier,
    dictionary: &Dictionary,
    known: &[Known],
    parts: &[Part],
    worth: Option<&Worth>,
) -> (Vec<BenchLeft>, String) {
    let mut points: BTreeMap<String, f64> = BTreeMap::new();
    for (weight, inputs) in worth.map_or(&[][..], |it| &it.criteria) {
        let mut waits: BTreeSet<&str> =
            inputs.iter().flat_map(|id| waits(id, dossier, known)).collect();
        waits.retain(|it| is_asked(it, dossier, dictionary));
        for address in &waits {
            #[expect(clippy::cast_precision_loss, reason = "a few findings")]
            let each = weight / waits.len() as f64;
            *points.entry((*address).to_owned()).or_default() += each;
        }
    }
    let mut addresses = products::missing(dossier, dictionary);
    for address in points.keys() {
        // What a plugin reads of a part that this product has not is no task.
        let is_here = address
            .split_once('.')
            .and_then(|(part, _)| part.parse::<Part>().ok())
            .is_some_and(|part| parts.contains(&part));
        if is_here && !addresses.contains(address) {
            addresses.push(address.clone());
        }
    }
    let mut left: Vec<BenchLeft> = addresses
        .into_iter()
        .map(|address| {
            let points = points.get(&address).copied().unwrap_or(0.0);
            let worth =
                if points >= 0.05 { format!("up to {points:.1} points") } else { String::new() };
            BenchLeft { what: named(dictionary, &address), address, points, worth }
        })
        .collect();
    left.sort_by(|a, b| b.points.total_cmp(&a.points));
    let order = match worth {
        None => "In the order of the bench: no plugin could be asked what waits for a finding.",
        Some(it) if it.partial => {
            "By the points of the index that wait for each, as far as plugins could be asked; the rest in the order of the bench."
        }
        Some(_) => {
            "By the points of the index that wait for each; the rest in the order of the bench."
        }
    };
    (left, order.into())
}

/// Whether a finding makes sense here: what is expected of other products, such as braces' places where there are no braces,
/// is no task.
fn is_asked(address: &str, dossier: &Dossier, dictionary: &Dictionary) -> bool {
    let place = address.split_once('.');
    let entry = place.and_then(|(part, key)| dictionary.find(part.parse::<Part>().ok()?.role, key));
    // Sweeps and the parts list have no entry.
    entry.is_none_or(|it| {
        it.expected == Expected::Optional || products::is_expected(dossier, it.expected)
    })
}

/// The findings that an input waits for, as addresses.
fn waits<'a>(id: &'a str, dossier: &Dossier, known: &'a [Known]) -> Vec<&'a str> {
    match known.iter().find(|it| it.spec.id == id) {
        Some(it) => match &it.value {
            Err(NoValue::Missing(list)) => list.iter().map(String::as_str).collect(),
            _ => Vec::new(),
        },
        None => {
            let place = id.split_once('.');
            let part = place.and_then(|(part, key)| Some((part.parse::<Part>().ok()?, key)));
            match part {
                Some((part, key)) if !products::is_answered(dossier, part, key) => vec![id],
                _ => Vec::new(),
            }
        }
    }
}
