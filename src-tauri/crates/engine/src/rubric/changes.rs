//! The changes that hold in a catalogue, put into the manifests and weights they belong to.

use std::collections::BTreeMap;

use bw_sdk::manifest::Manifest;
use catalog::RubricChange;
use physics::spread::{self, Spreads};
use sha2::{Digest, Sha256};

use super::{
    place::{EVIDENCE, Place, SUBSYSTEM, evidence_form, places},
    value::{Form, Value},
};
use crate::error::count;

/// The newest change of each place, unless it goes back to the plugin's own.
#[derive(Debug, Default)]
pub(crate) struct Changes(BTreeMap<(Option<String>, String), RubricChange>);

/// A manifest with the catalogue's changes in it.
#[derive(Debug)]
pub(crate) struct Applied {
    /// Its `rubric` says how many changes there are and which.
    pub(crate) manifest: Manifest,
    /// Changes that this manifest has no place for, as sentences.
    pub(crate) unused: Vec<String>,
}

/// The catalogue's weights of subsystems.
#[derive(Debug, Default)]
pub(crate) struct Weights {
    pub(crate) by_subsystem: BTreeMap<String, f64>,
    /// How many and which; `None` without a change.
    pub(crate) rubric: Option<String>,
}

/// How far findings may be off.
#[derive(Debug)]
pub(crate) struct EvidenceSpreads {
    pub(crate) spreads: Spreads,
    /// How many changes and which; `None` without a change.
    pub(crate) rubric: Option<String>,
}

/// The changes of one plugin that have a place, and sentences about the others.
type Sorted<'c, P> = (Vec<(P, &'c RubricChange, Value)>, Vec<String>);

impl Changes {
    /// What holds after a history, given oldest first.
    pub(crate) fn of(history: Vec<RubricChange>) -> Self {
        let mut holding = BTreeMap::new();
        for it in history {
            let place = (it.plugin.clone(), it.path.clone());
            if it.value.is_some() {
                holding.insert(place, it);
            } else {
                holding.remove(&place);
            }
        }
        Changes(holding)
    }

    pub(super) fn iter(&self) -> impl Iterator<Item = &RubricChange> {
        self.0.values()
    }

    pub(super) fn get(&self, plugin: Option<&str>, path: &str) -> Option<&RubricChange> {
        self.0.get(&(plugin.map(str::to_owned), path.to_owned()))
    }

    /// The manifest as this catalogue has it.
    pub(crate) fn applied(&self, manifest: &Manifest) -> Applied {
        let places = places(manifest);
        let (fitting, unused) = self.sorted(Some(&manifest.id), |path| {
            let place: &Place = places.iter().find(|it| it.path == path)?;
            Some((place, place.form.clone()))
        });
        let mut changed = manifest.clone();
        if let Some(which) = which(&fitting) {
            changed.rubric = format!("{} + {which}", manifest.rubric);
        }
        for (place, _, value) in fitting {
            place.put(&mut changed, value);
        }
        Applied { manifest: changed, unused }
    }

    /// The weights of subsystems that this catalogue sets.
    pub(crate) fn weights(&self) -> Weights {
        let (fitting, _) = self
            .sorted(None, |path| Some((path.strip_prefix(SUBSYSTEM)?.to_owned(), Form::WEIGHT)));
        let rubric = which(&fitting).map(|it| format!("weights + {it}"));
        let number = |(name, _, value): (String, _, Value)| match value {
            Value::Number(it) => Some((name, it)),
            _ => None,
        };
        Weights { by_subsystem: fitting.into_iter().filter_map(number).collect(), rubric }
    }

    /// How far findings may be off in this catalogue.
    pub(crate) fn spreads(&self) -> EvidenceSpreads {
        let (fitting, _) = self.sorted(None, |path| {
            let id = path.strip_prefix(EVIDENCE)?;
            let entry = spread::ENTRIES.iter().find(|it| it.id == id)?;
            Some((entry.id, evidence_form(entry)))
        });
        let rubric = which(&fitting).map(|it| format!("evidence + {it}"));
        let mut spreads = Spreads::default();
        for (id, _, value) in fitting {
            if let Value::Number(it) = value {
                // Id and range were checked by the form.
                let _ = spreads.set(id, it);
            }
        }
        EvidenceSpreads { spreads, rubric }
    }

    fn sorted<P>(
        &self,
        plugin: Option<&str>,
        place: impl Fn(&str) -> Option<(P, Form)>,
    ) -> Sorted<'_, P> {
        let mut fitting = Vec::new();
        let mut unused = Vec::new();
        for it in self.iter().filter(|it| it.plugin.as_deref() == plugin) {
            let json = it.value.as_deref().unwrap_or_default();
            match place(&it.path).map(|(place, form)| (place, form.read(json))) {
                Some((place, Ok(value))) => fitting.push((place, it, value)),
                Some((_, Err(why))) => unused.push(format!("{}: {json} {why}", it.path)),
                None => unused.push(format!("{}: the plugin has no such number", it.path)),
            }
        }
        (fitting, unused)
    }
}

/// `3 changes (a1b2c3d4)`, the same for the same numbers: the start of the SHA-256 of paths and values.
fn which<P>(fitting: &[(P, &RubricChange, Value)]) -> Option<String> {
    let mut hasher = Sha256::new();
    for (_, it, value) in fitting {
        hasher.update(format!("{}={}\n", it.path, value.json()));
    }
    let digits: String = hasher.finalize().iter().take(4).map(|it| format!("{it:02x}")).collect();
    (!fitting.is_empty()).then(|| format!("{} ({digits})", count(fitting.len(), "change")))
}
