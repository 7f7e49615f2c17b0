//! What changed, when and why; taking back and doing again.

use std::path::Path;

use catalog::{ChangeRow, ChangeSet, Chronicle, Fact, Reverted};
use domain::{
    finding::{Answer, Finding, Gap},
    network::Element,
    price::Price,
};
use serde::Deserialize;

use crate::{
    Engine, Error,
    backup::uncopied_photos,
    clock,
    dto::{ActionDto, ChronicleReport, FactChange, HistoryReport, RevertReport},
    photos,
};

/// Whose history.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[cfg_attr(feature = "types", derive(ts_rs::TS), ts(export))]
#[serde(deny_unknown_fields, default)]
pub struct HistoryRequest {
    /// The product's key, `maker/model`.
    pub product: String,
    /// Only this finding, `part.key`.
    pub finding: Option<String>,
}

impl Engine {
    /// All that ever changed of a product, newest first.
    ///
    /// # Errors
    /// [`Error::UnknownProduct`], or when the catalogue cannot be read.
    pub fn history(&self, request: &HistoryRequest) -> Result<HistoryReport, Error> {
        let (declarations, dossier) = self.known_product(&request.product)?;
        let sets = self.reader().changes(&dossier.product.key, &declarations.dictionary)?;
        let mut actions: Vec<ActionDto> =
            sets.iter().map(|it| action(it, request.finding.as_deref())).collect();
        actions.retain(|it| !it.changes.is_empty());
        actions.reverse();
        Ok(HistoryReport { product: dossier.product.key.to_string(), actions })
    }

    /// Takes the last action back that was not taken back yet.
    ///
    /// # Errors
    /// When the catalogue cannot be read or written.
    pub fn undo(&self) -> Result<RevertReport, Error> {
        Ok(reverted(self.writer()?.undo(&clock::now())?))
    }

    /// Does the action again that was taken back last.
    ///
    /// # Errors
    /// As [`Engine::undo`].
    pub fn redo(&self) -> Result<RevertReport, Error> {
        Ok(reverted(self.writer()?.redo(&clock::now())?))
    }
}

impl Engine {
    /// Writes all that ever happened to a file that must not exist.
    ///
    /// # Errors
    /// When the file is there or cannot be written, or the catalogue cannot be read; no part of it stays.
    pub fn write_history(&self, to: &Path) -> Result<ChronicleReport, Error> {
        let told = self.reader().write_history(to)?;
        let photos = uncopied_photos(self.catalogue(), "the history", "a history");
        Ok(ChronicleReport { photos, ..chronicle(to, told) })
    }

    /// Goes through a history in this catalogue, which must be empty. It is then the one that the history was written from.
    ///
    /// # Errors
    /// With the line that is not understood or does not follow from those before it; nothing is changed then.
    pub fn replay(&self, from: &Path) -> Result<ChronicleReport, Error> {
        Ok(chronicle(from, self.writer()?.replay(from)?))
    }
}

fn chronicle(file: &Path, it: Chronicle) -> ChronicleReport {
    let number = |it: usize| u32::try_from(it).unwrap_or(u32::MAX);
    ChronicleReport {
        file: file.display().to_string(),
        actions: number(it.actions),
        rows: number(it.rows),
        photos: String::new(),
    }
}

fn reverted(it: Option<Reverted>) -> RevertReport {
    match it {
        None => RevertReport { action: None, at: None, reason: String::new(), changes: 0 },
        Some(it) => RevertReport {
            action: Some(it.action.word().into()),
            at: Some(it.at),
            reason: it.reason,
            changes: it.changes,
        },
    }
}

fn action(it: &ChangeSet, only: Option<&str>) -> ActionDto {
    let changes = it
        .changes
        .iter()
        .map(change)
        .filter(|it| only.is_none_or(|address| it.what == address))
        .collect();
    ActionDto {
        number: u32::try_from(it.id).unwrap_or(u32::MAX),
        at: it.at.clone(),
        action: it.action.word().into(),
        reason: it.reason.clone(),
        reverts: it.reverts.map(|it| u32::try_from(it).unwrap_or(u32::MAX)),
        changes,
    }
}

/// A change as it is told.
pub(crate) fn change(it: &ChangeRow) -> FactChange {
    let text = |it: &Option<Fact>| it.as_ref().map(fact);
    let what = it.after.as_ref().or(it.before.as_ref()).map(what).unwrap_or_default();
    FactChange { what, before: text(&it.before), after: text(&it.after) }
}

fn what(it: &Fact) -> String {
    match it {
        Fact::Finding(it) => it.address(),
        Fact::Price(it) => format!("price of {}", it.date),
        Fact::Network(_) => "crossover.parts".into(),
        Fact::Sweep(part, _) => format!("{part}.sweep"),
        Fact::Photo(it) => photos::named(it),
    }
}

fn fact(it: &Fact) -> String {
    match it {
        Fact::Finding(it) => shown(it),
        Fact::Price(it) => asked(it),
        Fact::Network(elements) => {
            let parts: Vec<String> = elements.iter().map(part).collect();
            parts.join(", ")
        }
        Fact::Sweep(_, points) => format!("{points} points"),
        Fact::Photo(it) => photos::shown(it),
    }
}

/// A part of a network in a few words: its name, its nodes, its value.
fn part(it: &Element) -> String {
    let value = it.part.map_or_else(|| it.typed.clone(), |part| part.to_string());
    format!("{} {}–{} {value}", it.name, it.from, it.to)
}

/// A finding in a line: as typed, how it is known, and the remark. What nobody looked at is known by nothing.
pub(crate) fn shown(it: &Finding) -> String {
    let known = match it.answer {
        Answer::Gap(Gap::NotInspected) => None,
        _ => Some(it.evidence.to_string()),
    };
    let note = (!it.note.is_empty()).then(|| it.note.clone());
    let rest: Vec<String> = known.into_iter().chain(note).collect();
    if rest.is_empty() { it.typed.clone() } else { format!("{} ({})", it.typed, rest.join("; ")) }
}

/// A price in a line.
pub(crate) fn asked(it: &Price) -> String {
    format!("{:.2} {}", it.money.amount(), it.basis.word())
}
