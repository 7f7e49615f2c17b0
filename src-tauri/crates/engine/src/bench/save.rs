//! Reading what is being typed, and saving one field.

use catalog::Place;
use domain::{
    evidence::Evidence,
    finding::{Answer, Finding},
    part::Part,
    product::{Specimen, Teardown},
};
use serde::Deserialize;

use super::{
    BenchRequest, place,
    place::Spot,
    rows::{Read, default_evidence},
    shorthand,
};
use crate::{
    Engine, Error, clock,
    declared::Declarations,
    dto::{BenchEcho, BenchSaved},
    history::shown,
    record::only,
    typed::Typed,
};

/// A text that is being typed.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[cfg_attr(feature = "types", derive(ts_rs::TS), ts(export))]
#[serde(deny_unknown_fields, default)]
pub struct BenchReadRequest {
    /// Which finding: `part.key`.
    pub finding: String,
    /// The text so far.
    pub value: String,
}

/// A field of a finding, as it was left.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[cfg_attr(feature = "types", derive(ts_rs::TS), ts(export))]
#[serde(deny_unknown_fields, default)]
pub struct BenchSaveRequest {
    /// The bench that is looked at; its teardown must be there.
    pub bench: BenchRequest,
    /// Which finding: `part.key`.
    pub finding: String,
    /// Which of its places, as in a row.
    pub place: String,
    /// The value, which may be short; empty to empty the place; null to leave it as it is.
    pub value: Option<String>,
    /// How it is known; null to leave it as it is.
    pub evidence: Option<String>,
    /// A remark; null to leave it as it is.
    pub note: Option<String>,
    /// Why it is corrected, or empty.
    pub reason: String,
}

impl Engine {
    /// How a text would be read; nothing is saved.
    ///
    /// # Errors
    /// [`Error::Request`] when there is no such finding; when the catalogue cannot be read. A text that is not understood is
    /// an answer.
    pub fn read_finding(&self, request: &BenchReadRequest) -> Result<BenchEcho, Error> {
        let declarations = Declarations::read(&self.reader())?;
        let dictionary = &declarations.dictionary;
        let typed = Typed {
            field: "finding",
            address: &request.finding,
            value: &request.value,
            evidence: None,
            note: "",
            date: self.today(),
        };
        let (part, key) = typed.place(dictionary)?;
        let entry = dictionary
            .find(part.role, &key)
            .ok_or_else(|| Error::Internal(format!("{} is known and is not", request.finding)))?;
        let value = shorthand::in_full(&entry, &request.value);
        let mut echo = BenchEcho {
            address: request.finding.clone(),
            typed: request.value.clone(),
            value: value.clone(),
            understood: true,
            state: "open".into(),
            unit: String::new(),
            shown: String::new(),
            si: String::new(),
            remarks: Vec::new(),
            fault: String::new(),
            accepted: String::new(),
        };
        if value.is_empty() {
            return Ok(echo);
        }
        match (Typed { value: &value, ..typed }).read(dictionary) {
            Ok(it) => {
                let read = Read::of(&entry, &it);
                echo.state = read.state.into();
                echo.unit.clone_from(&it.unit);
                echo.shown = read.shown;
                echo.si = read.si;
                echo.remarks = read.remarks;
            }
            Err(Error::Request { why, accepted, .. }) => {
                echo.understood = false;
                echo.fault = plain(&why);
                echo.accepted = accepted;
            }
            Err(other) => return Err(other),
        }
        Ok(echo)
    }

    /// Saves one field of a finding and gives the bench as it is then.
    ///
    /// # Errors
    /// [`Error::UnknownProduct`], [`Error::Request`] with the place and the accepted form, or when the catalogue cannot be
    /// written; nothing is recorded then.
    pub fn save_finding(&self, request: &BenchSaveRequest) -> Result<BenchSaved, Error> {
        let (declarations, dossier) = self.known_product(&request.bench.product)?;
        let (specimen, date) = (request.bench.specimen.as_deref(), request.bench.date.as_deref());
        let teardown = place::teardown(&dossier, specimen, date)?;
        let from = Spot::parse(&request.place)?;
        let typed = Typed {
            field: "finding",
            address: &request.finding,
            value: "",
            evidence: None,
            note: "",
            date: self.today(),
        };
        let (part, key) = typed.place(&declarations.dictionary)?;
        let old = from
            .findings(&dossier, teardown.as_ref())
            .find(|it| it.part == part && it.key == key)
            .cloned();
        let new = self.edited(request, &declarations, old.as_ref(), from, teardown.as_ref())?;
        let to = new.as_ref().map_or(from, |it| from.with(it.evidence));
        let product = dossier.product.key.clone();
        let at = |spot: Spot| -> Result<Place<'_>, Error> {
            let of = match spot {
                Spot::Stated => None,
                _ => Some(teardown.as_ref().ok_or_else(|| begin_first(&request.bench.product))?),
            };
            Ok(Place {
                product: &product,
                teardown: of.map(|it| (it.specimen.as_str(), it.date)),
                part,
                key: &key,
                claimed: spot != Spot::Found,
            })
        };
        let (reason, now) = (request.reason.trim(), clock::now());
        let (before, after) = (old.as_ref().map(shown), new.as_ref().map(shown));
        let changed = match new {
            None => self.writer()?.withdraw(&at(from)?, reason, &now)?,
            Some(new) => {
                at(to)?;
                let job = (to != Spot::Stated).then(|| with_specimen(&dossier, teardown.as_ref()));
                let one = only(&dossier, new, job.flatten());
                let mut catalog = self.writer()?;
                let tally = if to == from || old.is_none() {
                    catalog.record(&one, reason, &now)?
                } else {
                    catalog.record_instead(&at(from)?, &one, reason, &now)?
                };
                tally.added + tally.corrected > 0
            }
        };
        let (declarations, dossier) = self.known_product(&request.bench.product)?;
        let bench = self.bench_of(&request.bench, &declarations, dossier)?;
        Ok(BenchSaved { before, after, changed, place: to.word().into(), bench })
    }

    /// The finding as it shall be; `None` for an empty place.
    fn edited(
        &self,
        request: &BenchSaveRequest,
        declarations: &Declarations,
        old: Option<&Finding>,
        from: Spot,
        teardown: Option<&Teardown>,
    ) -> Result<Option<Finding>, Error> {
        let dictionary = &declarations.dictionary;
        let (part, key) = request
            .finding
            .split_once('.')
            .and_then(|(part, key)| Some((part.parse::<Part>().ok()?, key)))
            .ok_or_else(|| Error::Internal(format!("{} was read and is not", request.finding)))?;
        let entry = dictionary
            .find(part.role, key)
            .ok_or_else(|| Error::Internal(format!("{} is known and is not", request.finding)))?;
        let note = request.note.as_deref().or(old.map(|it| it.note.as_str())).unwrap_or_default();
        let asked = request
            .evidence
            .as_deref()
            .map(|word| {
                Evidence::parse(word).map_err(|why| Error::Request {
                    place: "evidence",
                    text: word.to_owned(),
                    why: "is not an evidence grade".into(),
                    accepted: why.accepted,
                })
            })
            .transpose()?;
        let Some(value) = &request.value else {
            let nothing = || Error::Request {
                place: "finding",
                text: request.finding.clone(),
                why: "has no value yet to which evidence or a note could belong".into(),
                accepted: "a value, or why there is none".into(),
            };
            let mut it = old.ok_or_else(nothing)?.clone();
            it.evidence = asked.unwrap_or(it.evidence);
            note.trim().clone_into(&mut it.note);
            return Ok(Some(it));
        };
        let value = shorthand::in_full(&entry, value);
        if value.is_empty() {
            return Ok(None);
        }
        // What a gap was known by says nothing of a value.
        let kept = old.filter(|it| matches!(it.answer, Answer::Value(_))).map(|it| it.evidence);
        let evidence = asked.or(kept).unwrap_or_else(|| default_evidence(&entry, from));
        let date = match (from.with(evidence), teardown) {
            (Spot::Stated, _) | (_, None) => self.today(),
            (_, Some(it)) => it.date,
        };
        let typed = Typed {
            field: "finding",
            address: &request.finding,
            value: &value,
            evidence: Some(evidence.word()),
            note,
            date,
        };
        Ok(Some(typed.read(dictionary)?))
    }
}

/// A teardown with its specimen, as an import wants them.
fn with_specimen(
    dossier: &domain::dossier::Dossier,
    teardown: Option<&Teardown>,
) -> Option<(Teardown, Specimen)> {
    let teardown = teardown?;
    let specimen = dossier.specimens.iter().find(|it| it.label == teardown.specimen)?;
    Some((teardown.clone(), specimen.clone()))
}

fn begin_first(product: &str) -> Error {
    Error::Request {
        place: "teardown",
        text: product.to_owned(),
        why: "has no teardown yet".into(),
        accepted: "a teardown that was added before; what the maker says needs none".into(),
    }
}

/// The reason without what stands beside it on the screen: the text that was typed, and what is accepted.
fn plain(why: &str) -> String {
    let why = why.strip_prefix("is not understood: ").unwrap_or(why);
    let why = why.split_once("; accepted:").map_or(why, |(it, _)| it);
    why.to_owned()
}
