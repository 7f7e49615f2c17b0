//! The rows of the bench: an entry of the dictionary with what stands in its place.

use domain::{
    dictionary::{Entry, Kind},
    dossier::Dossier,
    evidence::Evidence,
    finding::{Answer, Declared, Finding, Value},
    part::Part,
    product::Teardown,
    reading,
};

use super::{
    cautions,
    place::{self, Spot},
    shorthand,
};
use crate::{
    declared::Declarations,
    dto::{BenchPart, BenchRow},
    history, products, record, sheet, sweep,
};

/// What rows are made from.
pub(super) struct Rows<'a> {
    pub(super) dossier: &'a Dossier,
    pub(super) declarations: &'a Declarations,
    pub(super) teardown: Option<&'a Teardown>,
}

impl Rows<'_> {
    /// A part with its rows.
    pub(super) fn part(&self, part: Part, another: Option<String>) -> BenchPart {
        let mut rows = Vec::new();
        let (mut found, mut expected) = (0, 0);
        for entry in self.declarations.dictionary.entries_of(part.role) {
            let is_expected = products::is_expected(self.dossier, entry.expected);
            if is_expected {
                expected += 1;
                found += u32::from(products::is_answered(self.dossier, part, entry.key));
            }
            rows.push(self.row(part, &entry, Spot::Found, is_expected));
            for spot in [Spot::Label, Spot::Stated] {
                if self.finding(spot, part, entry.key).is_some() {
                    rows.push(self.row(part, &entry, spot, false));
                }
            }
        }
        for spot in [Spot::Found, Spot::Label, Spot::Stated] {
            let all = spot.findings(self.dossier, self.teardown);
            let unread = all.filter(|it| it.part == part && it.declared == Declared::Nowhere);
            rows.extend(unread.filter_map(|it| self.unread(it, spot)));
        }
        BenchPart {
            part: part.to_string(),
            role: part.role.word().into(),
            found,
            expected,
            another,
            cautions: cautions::of_part(part),
            sweep: sweep::is_swept(part).then(|| self.points(part)),
            rows,
        }
    }

    /// The points of the sweep that the teardown holds of a part.
    fn points(&self, part: Part) -> u32 {
        let sweeps = place::job(self.dossier, self.teardown).map_or(&[][..], |it| &it.sweeps);
        let points = sweeps.iter().find(|it| it.part == part).map_or(0, |it| it.points.len());
        u32::try_from(points).unwrap_or(u32::MAX)
    }

    fn finding(&self, spot: Spot, part: Part, key: &str) -> Option<&Finding> {
        let mut all = spot.findings(self.dossier, self.teardown);
        all.find(|it| it.part == part && it.key == key && it.declared != Declared::Nowhere)
    }

    fn row(&self, part: Part, entry: &Entry<'_>, spot: Spot, expected: bool) -> BenchRow {
        let (kind, unit) = kind(entry);
        let mut row = BenchRow {
            address: format!("{part}.{}", entry.key),
            place: spot.word().into(),
            label: entry.label.into(),
            kind: kind.into(),
            unit: unit.into(),
            choices: choices(entry),
            usual: usual(entry, part),
            accepted: entry.accepted(),
            why: entry.why.into(),
            plugin: self.declarations.declarer(entry.key),
            expected,
            state: "open".into(),
            typed: String::new(),
            shown: String::new(),
            si: String::new(),
            evidence: default_evidence(entry, spot).word().into(),
            note: String::new(),
            date: String::new(),
            remarks: Vec::new(),
            elsewhere: self.elsewhere(part, entry.key, spot),
            locked: None,
        };
        if let Some(it) = self.finding(spot, part, entry.key) {
            fill(&mut row, entry, it);
        }
        row
    }

    /// A finding that nobody declares as it was recorded: shown, and not to be typed over.
    fn unread(&self, it: &Finding, spot: Spot) -> Option<BenchRow> {
        let why = self.declarations.unread(it)?;
        Some(BenchRow {
            address: it.address(),
            place: spot.word().into(),
            label: it.key.clone(),
            kind: "text".into(),
            unit: String::new(),
            choices: Vec::new(),
            usual: String::new(),
            accepted: String::new(),
            why: String::new(),
            plugin: self.declarations.declarer(&it.key),
            expected: false,
            state: "value".into(),
            typed: it.typed.clone(),
            shown: String::new(),
            si: String::new(),
            evidence: it.evidence.word().into(),
            note: it.note.clone(),
            date: it.date.to_string(),
            remarks: vec![why.clone()],
            elsewhere: Vec::new(),
            locked: Some(why),
        })
    }

    /// What other teardowns found; what the maker says has rows of its own.
    fn elsewhere(&self, part: Part, key: &str, spot: Spot) -> Vec<String> {
        if spot != Spot::Found {
            return Vec::new();
        }
        let here = |it: &Teardown| {
            self.teardown.is_some_and(|of| of.specimen == it.specimen && of.date == it.date)
        };
        self.dossier
            .jobs
            .iter()
            .filter(|job| !here(&job.teardown))
            .flat_map(|job| job.findings.iter().map(move |it| (&job.teardown, it)))
            .filter(|(_, it)| it.part == part && it.key == key)
            .map(|(of, it)| format!("{} on {}: {}", of.specimen, of.date, history::shown(it)))
            .collect()
    }
}

/// How a value is known that nobody said otherwise of.
pub(super) fn default_evidence(entry: &Entry<'_>, spot: Spot) -> Evidence {
    match (spot, entry.kind) {
        (Spot::Label | Spot::Stated, _) => Evidence::Claimed,
        (Spot::Found, Kind::Number(..) | Kind::Numbers(..)) => Evidence::Measured,
        (Spot::Found, _) => Evidence::Inspected,
    }
}

fn fill(row: &mut BenchRow, entry: &Entry<'_>, it: &Finding) {
    let read = Read::of(entry, it);
    row.state = read.state.into();
    row.shown = read.shown;
    row.si = read.si;
    row.remarks = read.remarks;
    row.typed = typed(it, entry);
    row.evidence = it.evidence.word().into();
    row.note.clone_from(&it.note);
    row.date = it.date.to_string();
}

/// The text to go on typing from: with its uncertainty, which is kept apart.
fn typed(it: &Finding, entry: &Entry<'_>) -> String {
    let (
        Answer::Value(Value::Number { std_uncertainty: Some(u), .. }),
        Kind::Number(dimension, unit),
    ) = (&it.answer, entry.kind)
    else {
        return it.typed.clone();
    };
    let unit = if dimension.unit(&it.unit).is_some() { &it.unit } else { unit };
    match reading::in_unit(*u, dimension, unit) {
        Some(u) => {
            format!("{} ± {} {unit}", it.typed, record::significant(u)).trim_end().to_owned()
        }
        None => it.typed.clone(),
    }
}

/// What a finding means, in words and figures.
pub(super) struct Read {
    pub(super) state: &'static str,
    pub(super) shown: String,
    pub(super) si: String,
    pub(super) remarks: Vec<String>,
}

impl Read {
    pub(super) fn of(entry: &Entry<'_>, it: &Finding) -> Self {
        let state = match &it.answer {
            Answer::Gap(gap) => gap.word(),
            Answer::Value(value) if is_absence(entry, value) => "absent",
            Answer::Value(_) => "value",
        };
        let (mut shown, mut si) = (String::new(), String::new());
        if let (
            Kind::Number(dimension, unit),
            Answer::Value(Value::Number { si: value, std_uncertainty }),
        ) = (entry.kind, &it.answer)
        {
            let unit = sheet::display_unit(dimension, unit, &it.unit);
            let symbol = dimension.si_symbol();
            let is_gauge = it.unit == domain::unit::AWG;
            (shown, si) = match std_uncertainty {
                Some(u) => (
                    reading::shown_with_u(*value, *u, dimension, unit),
                    reading::shown_with_u(*value, *u, dimension, symbol),
                ),
                // A gauge is no unit; its area is.
                None if is_gauge => {
                    (it.typed.clone(), reading::shown(*value, None, dimension, kind(entry).1))
                }
                None => (
                    reading::shown_as_typed(&it.typed, dimension, unit),
                    reading::shown_as_typed(&it.typed, dimension, symbol),
                ),
            };
        } else if let (Kind::Numbers(dimension, unit), Answer::Value(Value::Numbers(list))) =
            (entry.kind, &it.answer)
        {
            let all = |symbol: &str| {
                let texts: Vec<String> =
                    list.iter().map(|it| reading::shown(*it, None, dimension, symbol)).collect();
                texts.join("; ")
            };
            (shown, si) = (all(unit), all(dimension.si_symbol()));
        }
        let remarks = record::remarks(it).into_iter().map(|it| it.text).collect();
        Read { state, shown, si, remarks }
    }
}

/// Looked for, and not there: a value like any other, and no gap.
fn is_absence(entry: &Entry<'_>, value: &Value) -> bool {
    match value {
        Value::Count(0) => true,
        Value::Choice(word) => shorthand::absence(entry) == Some(word.as_str()),
        _ => false,
    }
}

fn kind(entry: &Entry<'_>) -> (&'static str, &'static str) {
    match entry.kind {
        Kind::Number(_, unit) => ("number", unit),
        Kind::Numbers(_, unit) => ("numbers", unit),
        Kind::Choice(_) => ("choice", ""),
        Kind::Count => ("count", ""),
        Kind::Flag => ("flag", ""),
        Kind::Text => ("text", ""),
    }
}

fn choices(entry: &Entry<'_>) -> Vec<String> {
    match entry.kind {
        Kind::Choice(choices) => choices.iter().map(str::to_owned).collect(),
        Kind::Flag => ["yes", "no"].map(str::to_owned).into(),
        _ => Vec::new(),
    }
}

fn usual(entry: &Entry<'_>, part: Part) -> String {
    let Some(range) = entry.typical_for(part.role) else { return String::new() };
    let unit = kind(entry).1;
    let figure = record::significant;
    format!("{} to {} {unit}", figure(range.low), figure(range.high)).trim_end().to_owned()
}
