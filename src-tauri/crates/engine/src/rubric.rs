//! The numbers that score, and what a catalogue changes of them: weights, breakpoints, tables and parameters.
//!
//! A number's address is the subsystem and its path in the plugin's manifest, such as
//! `cabinet.criterion.panel_mode.weight`; the weight of a subsystem in the index is `subsystem.cabinet`.

mod changes;
mod judgement;
mod place;
mod value;

use std::collections::BTreeMap;

use catalog::RubricChange;
use serde::Deserialize;

pub(crate) use changes::Changes;

use crate::{
    Engine, Error, clock,
    dto::{Remark, RubricChangeDto, RubricHistory, RubricList, RubricNumber, RubricSetting},
    plugins::Plugins,
    scoring::not_scored,
    weights,
};
use place::{Place, places};
use value::Value;

/// The code of the remark that a change of the catalogue has no place.
pub(crate) const UNUSED: &str = "rubric_change_unused";

/// A change that does not fit the plugin as it is now: it is told, and the manifest's number holds.
pub(crate) fn unused(subsystem: &str, what: &str) -> Remark {
    Remark {
        source: "boxworth".into(),
        code: UNUSED.into(),
        severity: "caution".into(),
        text: format!("a change of the rubric is not used: {subsystem}.{what}"),
    }
}

/// Which numbers to list.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[cfg_attr(feature = "types", derive(ts_rs::TS), ts(export))]
#[serde(deny_unknown_fields)]
pub struct RubricRequest {
    /// Only those of this plugin, named by its id or its subsystem.
    pub plugin: Option<String>,
    /// Only those that the catalogue changes.
    pub changed: bool,
}

/// A place of a loaded plugin, or the weight of a subsystem.
struct Known {
    plugin: Option<String>,
    subsystem: String,
    address: String,
    place: Place,
}

/// All numbers that can be set now.
struct Rubric {
    known: Vec<Known>,
    /// Plugins that could not be loaded.
    remarks: Vec<Remark>,
}

impl Engine {
    /// The numbers that score, as the plugins say and as this catalogue has them.
    ///
    /// # Errors
    /// When the catalogue cannot be read or the plugin is not known. A plugin that cannot be loaded is a remark.
    pub fn rubric(&self, request: &RubricRequest) -> Result<RubricList, Error> {
        let changes = Changes::of(self.reader().rubric_changes()?);
        let Rubric { known, remarks } = self.known()?;
        let is_asked = |it: &Known| {
            request.plugin.as_ref().is_none_or(|name| {
                it.plugin.as_ref().is_some_and(|id| id == name || it.subsystem == *name)
            })
        };
        if let Some(name) = &request.plugin
            && !known.iter().any(is_asked)
        {
            let mut accepted: Vec<&str> =
                known.iter().filter_map(|it| it.plugin.as_deref()).collect();
            accepted.dedup();
            return Err(Error::Request {
                place: "plugin",
                text: name.clone(),
                why: "is no plugin with a rubric here".into(),
                accepted: accepted.join(", "),
            });
        }
        let numbers = known
            .iter()
            .filter(|it| is_asked(it))
            .map(|it| it.answer(&changes))
            .filter(|it| !request.changed || it.catalogue.is_some())
            .collect();
        let is_unused = |it: &&RubricChange| {
            let place = known.iter().find(|known| known.is_of(it));
            !place.is_some_and(|known| {
                known.place.form.read(it.value.as_deref().unwrap_or_default()).is_ok()
            })
        };
        let unused = changes.iter().filter(is_unused).map(|it| change(it, &known, true)).collect();
        Ok(RubricList { numbers, unused, remarks })
    }

    /// All changes ever recorded, newest first.
    ///
    /// # Errors
    /// When the catalogue cannot be read.
    pub fn rubric_history(&self) -> Result<RubricHistory, Error> {
        let history = self.reader().rubric_changes()?;
        let known = self.known()?.known;
        let mut newest = BTreeMap::new();
        for (at, it) in history.iter().enumerate() {
            newest.insert((&it.plugin, &it.path), at);
        }
        let changes = history
            .iter()
            .enumerate()
            .map(|(at, it)| change(it, &known, newest.get(&(&it.plugin, &it.path)) == Some(&at)))
            .rev()
            .collect();
        Ok(RubricHistory { changes })
    }

    /// Changes a number in this catalogue. What holds already is not recorded again; the value of the manifest goes
    /// back to it.
    ///
    /// # Errors
    /// [`Error::Rubric`] with the address and the accepted form; nothing is recorded then.
    pub fn set_rubric(
        &self,
        address: &str,
        text: &str,
        reason: &str,
    ) -> Result<RubricSetting, Error> {
        let known = self.known()?.known;
        let it = find(&known, address)?;
        let refuse = |text: &str, why: String, accepted: String| Error::Rubric {
            address: it.address.clone(),
            text: text.into(),
            why,
            accepted,
        };
        let now = it.now(&self.changes()?);
        let value = it
            .place
            .form
            .parse(text)
            .map_err(|why| refuse(text, why, it.place.form.accepted(&now)))?;
        if reason.trim().is_empty() {
            return Err(refuse(reason, "is no reason".into(), "a few words on why".into()));
        }
        if value != now {
            self.note_change(
                &known,
                it,
                Some(&value).filter(|value| **value != it.place.own),
                text,
                reason,
            )?;
        }
        Ok(it.setting(&self.changes()?))
    }

    /// Goes back to what the manifest says.
    ///
    /// # Errors
    /// [`Error::Rubric`] for an address that neither a plugin nor a change has.
    pub fn reset_rubric(&self, address: &str) -> Result<RubricSetting, Error> {
        let known = self.known()?.known;
        let changes = self.changes()?;
        let it = match find(&known, address) {
            Ok(it) => it,
            Err(why) => {
                // A change whose plugin is gone can still be taken back.
                let mut left = changes.iter();
                let Some(left) = left.find(|it| full_address(it) == address) else {
                    return Err(why);
                };
                let back = RubricChange {
                    value: None,
                    reason: String::new(),
                    recorded_at: clock::now(),
                    ..left.clone()
                };
                self.writer()?.change_rubric(&back)?;
                return Ok(RubricSetting {
                    address: address.into(),
                    catalogue: None,
                    manifest: None,
                });
            }
        };
        if changes.get(it.plugin.as_deref(), &it.place.path).is_some() {
            self.note_change(&known, it, None, "reset", "")?;
        }
        Ok(it.setting(&self.changes()?))
    }

    fn changes(&self) -> Result<Changes, Error> {
        Ok(Changes::of(self.reader().rubric_changes()?))
    }

    /// Records a change, unless it leaves nothing that counts.
    fn note_change(
        &self,
        known: &[Known],
        it: &Known,
        value: Option<&Value>,
        text: &str,
        reason: &str,
    ) -> Result<(), Error> {
        let change = RubricChange {
            plugin: it.plugin.clone(),
            path: it.place.path.clone(),
            value: value.map(Value::json),
            reason: reason.trim().to_owned(),
            recorded_at: clock::now(),
        };
        if it.place.kind() == "weight" {
            let mut history = self.reader().rubric_changes()?;
            history.push(change.clone());
            let after = Changes::of(history);
            let fellows = known
                .iter()
                .filter(|other| other.place.kind() == "weight" && other.plugin == it.plugin);
            let is_zero =
                |other: &Known| matches!(other.now(&after), Value::Number(it) if it <= 0.0);
            if fellows.into_iter().all(is_zero) {
                return Err(Error::Rubric {
                    address: it.address.clone(),
                    text: text.into(),
                    why: "leaves no weight above 0 beside it".into(),
                    accepted: "at least one weight above 0".into(),
                });
            }
        }
        Ok(self.writer()?.change_rubric(&change)?)
    }

    fn known(&self) -> Result<Rubric, Error> {
        let trusted = self.reader().trusted_plugins()?;
        let (mut known, mut remarks) = (Vec::new(), Vec::new());
        let mut subsystems: Vec<String> = Vec::new();
        for candidate in Plugins::candidates(&trusted) {
            let loaded = candidate.pinned.clone().and_then(|file| self.plugins.load(&file));
            let manifest = match loaded {
                Ok(it) => it.manifest,
                Err(why) => {
                    remarks.push(not_scored(format!("{}: not loaded: {why}", candidate.name())));
                    continue;
                }
            };
            // As in scoring, the first plugin of a subsystem scores it.
            if subsystems.contains(&manifest.subsystem) {
                continue;
            }
            subsystems.push(manifest.subsystem.clone());
            known.extend(places(&manifest).into_iter().map(|place| Known {
                plugin: Some(manifest.id.clone()),
                subsystem: manifest.subsystem.clone(),
                address: format!("{}.{}", manifest.subsystem, place.path),
                place,
            }));
        }
        known.splice(0..0, weights::own(&subsystems).into_iter().map(subsystem_weight));
        known.extend(physics::spread::ENTRIES.iter().map(evidence_spread));
        Ok(Rubric { known, remarks })
    }
}

fn subsystem_weight((name, weight): (String, f64)) -> Known {
    let place = Place::of_subsystem(&name, weight);
    Known { plugin: None, address: place.path.clone(), subsystem: name, place }
}

fn evidence_spread(of: &physics::spread::Entry) -> Known {
    let place = Place::of_evidence(of);
    Known { plugin: None, address: place.path.clone(), subsystem: "evidence".into(), place }
}

impl Known {
    fn is_of(&self, it: &RubricChange) -> bool {
        self.plugin == it.plugin && self.place.path == it.path
    }

    /// The catalogue's value, if it has one that fits.
    fn changed(&self, changes: &Changes) -> Option<Value> {
        let it = changes.get(self.plugin.as_deref(), &self.place.path)?;
        self.place.form.read(it.value.as_deref()?).ok()
    }

    fn now(&self, changes: &Changes) -> Value {
        self.changed(changes).unwrap_or_else(|| self.place.own.clone())
    }

    fn setting(&self, changes: &Changes) -> RubricSetting {
        RubricSetting {
            address: self.address.clone(),
            catalogue: self.changed(changes).map(|it| self.place.form.text(&it)),
            manifest: Some(self.place.form.text(&self.place.own)),
        }
    }

    fn answer(&self, changes: &Changes) -> RubricNumber {
        let value = self.changed(changes);
        let change =
            value.as_ref().and_then(|_| changes.get(self.plugin.as_deref(), &self.place.path));
        RubricNumber {
            address: self.address.clone(),
            plugin: self.plugin.clone(),
            subsystem: self.subsystem.clone(),
            kind: self.place.kind().into(),
            title: self.place.title.clone(),
            unit: if self.place.unit == "1" { String::new() } else { self.place.unit.clone() },
            manifest: self.place.form.text(&self.place.own),
            catalogue: value.map(|it| self.place.form.text(&it)),
            reason: change.map(|it| it.reason.clone()),
            since: change.map(|it| it.recorded_at.clone()),
            accepted: self.place.form.accepted(&self.place.own),
            doc: self.place.doc.clone(),
            source: self.place.source.clone(),
        }
    }
}

/// The address of a change whose plugin is not loaded.
fn full_address(it: &RubricChange) -> String {
    it.plugin.as_ref().map_or_else(|| it.path.clone(), |id| format!("{id}.{}", it.path))
}

fn change(it: &RubricChange, known: &[Known], holds: bool) -> RubricChangeDto {
    let place = known.iter().find(|known| known.is_of(it));
    let value = it.value.as_ref().map(|json| {
        let read = place.and_then(|at| Some(at.place.form.text(&at.place.form.read(json).ok()?)));
        read.unwrap_or_else(|| json.clone())
    });
    RubricChangeDto {
        address: place.map_or_else(|| full_address(it), |at| at.address.clone()),
        value,
        reason: it.reason.clone(),
        recorded_at: it.recorded_at.clone(),
        holds,
    }
}

fn find<'k>(known: &'k [Known], address: &str) -> Result<&'k Known, Error> {
    let of_id = |it: &Known| {
        it.plugin.as_ref().is_some_and(|id| address == format!("{id}.{}", it.place.path))
    };
    if let Some(it) = known.iter().find(|it| it.address == address || of_id(it)) {
        return Ok(it);
    }
    // Addresses are longer than the words that a slip of the fingers is searched among, and whole parts are forgotten:
    // the one that shares most of its beginning and end is the nearest.
    let near = known.iter().map(|it| it.address.as_str()).max_by_key(|it| {
        let shorter = it.len().min(address.len());
        let head = it.bytes().zip(address.bytes()).take_while(|(a, b)| a == b).count();
        let tail = it.bytes().rev().zip(address.bytes().rev()).take_while(|(a, b)| a == b).count();
        ((head + tail).min(shorter), std::cmp::Reverse(it.len()))
    });
    Err(Error::Rubric {
        address: address.into(),
        text: address.into(),
        why: "is no number of the rubric".into(),
        accepted: match near {
            Some(it) => format!("an address as the rubric lists them; the nearest is {it}"),
            None => "an address as the rubric lists them; no plugin is loaded".into(),
        },
    })
}

#[cfg(test)]
pub(crate) mod tests;
