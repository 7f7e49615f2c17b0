//! The findings that plugins bring: the dictionary of this catalogue, from the manifests that it keeps.
//!
//! Nothing is loaded for it. What a manifest declares is checked when its plugin is trusted; what was recorded for a plugin
//! that is trusted no longer, or in a way that its present version does not know, is explained and never lost.

mod check;
mod entry;

use std::{collections::BTreeMap, sync::Arc};

use bw_sdk::manifest::Manifest;
use catalog::{KnownManifest, Reader, Trusted};
use domain::{
    dictionary::Dictionary,
    finding::{Declared, Finding},
};

use crate::Error;
pub(crate) use check::check;
use entry::entries;

/// The dictionary of a catalogue, and what is known of the plugins behind it.
#[derive(Debug)]
pub(crate) struct Declarations {
    pub(crate) dictionary: Arc<Dictionary>,
    /// By id; of a plugin that was trusted in several versions the one that is trusted now, else the last.
    plugins: BTreeMap<String, Plugin>,
    /// What a manifest declares and this program does not take, as sentences.
    pub(crate) faults: Vec<String>,
}

#[derive(Debug)]
struct Plugin {
    name: String,
    version: String,
    is_trusted: bool,
}

impl Declarations {
    /// Of the catalogue as it is now.
    pub(crate) fn read(reader: &Reader) -> Result<Self, Error> {
        Ok(Declarations::of(&reader.plugin_manifests()?, &reader.trusted_plugins()?))
    }

    /// Of these manifests, those trusted first, and of what is trusted.
    fn of(manifests: &[KnownManifest], files: &[Trusted]) -> Self {
        let mut dictionary = Dictionary::standard();
        let mut plugins: BTreeMap<String, Plugin> = BTreeMap::new();
        let mut faults: Vec<String> = files
            .iter()
            .filter(|file| !manifests.iter().any(|it| it.sha256 == file.sha256))
            .map(|file| {
                format!(
                    "{} was trusted before manifests were kept; trust it once more to use findings of its own",
                    file.path
                )
            })
            .collect();
        for it in manifests {
            let manifest = match Manifest::parse(&it.manifest) {
                Ok(it) => it,
                Err(why) => {
                    faults.push(format!("the plugin file {}: {why}", short(&it.sha256)));
                    continue;
                }
            };
            if plugins.contains_key(&manifest.id) {
                continue;
            }
            if it.is_trusted {
                let own = entries(&manifest).map_err(|why| why.to_string());
                let added = own.and_then(|own| {
                    own.into_iter()
                        .try_for_each(|it| dictionary.add(it))
                        .map_err(|why| why.to_string())
                });
                if let Err(why) = added {
                    faults.push(format!("{}: {why}", manifest.id));
                }
            }
            let plugin = Plugin {
                name: manifest.name,
                version: manifest.version,
                is_trusted: it.is_trusted,
            };
            plugins.insert(manifest.id, plugin);
        }
        Declarations { dictionary: Arc::new(dictionary), plugins, faults }
    }

    /// Why nothing is computed from a finding; `None` where somebody declares it.
    pub(crate) fn unread(&self, it: &Finding) -> Option<String> {
        if it.declared != Declared::Nowhere {
            return None;
        }
        Some(match (self.owner(&it.key), self.dictionary.find(it.part.role, &it.key)) {
            (Some((id, plugin)), Some(entry)) => format!(
                "recorded before {id} {}, which asks for: {}; record it anew",
                plugin.version,
                entry.accepted()
            ),
            (Some((id, plugin)), None) if plugin.is_trusted => {
                format!("recorded for {id}, whose version {} has no such finding", plugin.version)
            }
            (Some((id, plugin)), None) => {
                format!("recorded for {id} ({}), which is not trusted here", plugin.name)
            }
            (None, _) => match it.key.rsplit_once('.') {
                Some((id, _)) if id.contains('.') => {
                    format!("recorded for {id}, which is not trusted here")
                }
                _ => "is not in the dictionary of this version".to_owned(),
            },
        })
    }

    /// Whether a finding that nobody declares only waits for its plugin to be trusted.
    pub(crate) fn waits(&self, it: &Finding) -> bool {
        let is_own = it.key.matches('.').count() > 1;
        let owner = self.owner(&it.key);
        it.declared == Declared::Nowhere
            && is_own
            && owner.is_none_or(|(_, plugin)| !plugin.is_trusted)
    }

    /// The name of the plugin that asks for a key; `None` for the dictionary's own.
    pub(crate) fn declarer(&self, key: &str) -> Option<String> {
        self.owner(key).map(|(_, plugin)| plugin.name.clone())
    }

    /// The plugin that a key belongs to by its name.
    fn owner(&self, key: &str) -> Option<(&String, &Plugin)> {
        let owns = |id: &str| key.strip_prefix(id).is_some_and(|rest| rest.starts_with('.'));
        self.plugins.iter().filter(|(id, _)| owns(id)).max_by_key(|(id, _)| id.len())
    }
}

fn short(sha256: &str) -> &str {
    sha256.get(..12).unwrap_or(sha256)
}

#[cfg(test)]
mod tests;
