//! Entering one finding at the bench, and emptying its place.

use catalog::{Catalog, Place};
use domain::{
    Date,
    dossier::{Dossier, Job},
    evidence::Evidence,
    finding::{Answer, Finding, Value},
    key::ProductKey,
    product::{Acquired, Specimen, Teardown},
    reading,
};
use serde::Deserialize;

use crate::{
    Engine, Error, clock,
    declared::Declarations,
    dto::{RecordReport, Remark},
    history::shown,
    typed::Typed,
};

/// One finding as it is typed.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[cfg_attr(feature = "types", derive(ts_rs::TS), ts(export))]
#[serde(deny_unknown_fields, default)]
pub struct RecordRequest {
    /// The product's key, `maker/model`.
    pub product: String,
    /// Which finding: `part.key`.
    pub finding: String,
    /// The value with its unit, a word, or why there is none, such as `not inspected`; empty to empty the place.
    pub value: String,
    /// How it is known; without it numbers count as measured, the rest as inspected.
    pub evidence: Option<String>,
    /// A remark on the finding.
    pub note: String,
    /// The day of the teardown, `YYYY-MM-DD`; without it that of the newest one.
    pub date: Option<String>,
    /// The label of the specimen; without it that of the newest teardown.
    pub specimen: Option<String>,
    /// How a new specimen was come by: `retail`, `lent`, `gift`, `second hand`.
    pub acquired: Option<String>,
    /// Why; kept with the change.
    pub reason: String,
}

impl Engine {
    /// Records a finding, or empties its place.
    ///
    /// It goes to the newest teardown unless a specimen or a day is named; one that is not there yet is begun. What the maker
    /// claims belongs to a teardown only where one is named.
    ///
    /// # Errors
    /// [`Error::UnknownProduct`], [`Error::Request`] with the place and the accepted form, or when the catalogue cannot be
    /// written; nothing is recorded then.
    pub fn record(&self, request: &RecordRequest) -> Result<RecordReport, Error> {
        let (declarations, dossier) = self.known_product(&request.product)?;
        let dictionary = &declarations.dictionary;
        let is_claim = request.evidence.as_deref() == Some(Evidence::Claimed.word());
        let named = request.date.is_some() || request.specimen.is_some();
        let teardown =
            if is_claim && !named { None } else { Some(self.teardown(request, &dossier)?) };
        let date = teardown.as_ref().map_or_else(|| self.today(), |(it, _)| it.date);
        let typed = Typed {
            field: "finding",
            address: &request.finding,
            value: &request.value,
            evidence: request.evidence.as_deref(),
            note: &request.note,
            date,
        };
        let (part, key) = typed.place(dictionary)?;
        let place = Place {
            product: &dossier.product.key,
            teardown: teardown.as_ref().map(|(it, _)| (it.specimen.as_str(), it.date)),
            part,
            key: &key,
            claimed: is_claim,
        };
        let before = in_place(&dossier, &place).map(shown);
        if request.value.trim().is_empty() {
            let changed = Catalog::open(self.catalogue())?.withdraw(
                &place,
                request.reason.trim(),
                &clock::now(),
            )?;
            return Ok(RecordReport {
                finding: request.finding.clone(),
                before,
                after: None,
                read: None,
                changed,
                remarks: Vec::new(),
            });
        }
        let finding = typed.read(dictionary)?;
        let (after, read, remarks) = (shown(&finding), in_si(&finding), remarks(&finding));
        let tally = Catalog::open(self.catalogue())?.record(
            &only(&dossier, finding, teardown),
            request.reason.trim(),
            &clock::now(),
        )?;
        Ok(RecordReport {
            finding: request.finding.clone(),
            before,
            after: Some(after),
            read,
            changed: tally.added + tally.corrected > 0,
            remarks,
        })
    }

    /// A product with the dictionary of the catalogue.
    pub(crate) fn known_product(&self, key: &str) -> Result<(Declarations, Dossier), Error> {
        let reader = self.reader();
        let declarations = Declarations::read(&reader)?;
        let found = match ProductKey::parse(key) {
            Ok(it) => reader.dossier(&it, &declarations.dictionary)?,
            Err(_) => None,
        };
        let dossier = found.ok_or_else(|| Error::UnknownProduct {
            key: key.to_owned(),
            hint: "; `boxworth products` lists the keys".into(),
        })?;
        Ok((declarations, dossier))
    }

    /// The teardown that is meant, with its specimen.
    fn teardown(
        &self,
        request: &RecordRequest,
        dossier: &Dossier,
    ) -> Result<(Teardown, Specimen), Error> {
        let refuse = |place, text: &str, why: &str, accepted: &str| Error::Request {
            place,
            text: text.to_owned(),
            why: why.to_owned(),
            accepted: accepted.to_owned(),
        };
        let date = request
            .date
            .as_deref()
            .map(|text| {
                text.parse::<Date>().map_err(|_| refuse("date", text, "is not a day", "YYYY-MM-DD"))
            })
            .transpose()?;
        let of_specimen = |it: &&Job| {
            request.specimen.as_ref().is_none_or(|label| *label == it.teardown.specimen)
        };
        let newest = dossier.jobs.iter().filter(of_specimen).max_by_key(|it| it.teardown.date);
        let label = match (&request.specimen, newest) {
            (Some(label), _) => label.trim().to_owned(),
            (None, Some(job)) => job.teardown.specimen.clone(),
            (None, None) => {
                let why = "has no teardown yet";
                let accepted = "a specimen with --specimen LABEL --acquired retail";
                return Err(refuse("specimen", &request.product, why, accepted));
            }
        };
        let known = dossier.specimens.iter().find(|it| it.label == label).cloned();
        let specimen = match (known, &request.acquired) {
            (Some(it), _) => it,
            (None, Some(word)) => {
                let acquired = Acquired::parse(word).map_err(|why| {
                    refuse("acquired", word, "is no way to come by a specimen", &why.accepted)
                })?;
                Specimen { label: label.clone(), acquired, serial: String::new() }
            }
            (None, None) => {
                let labels: Vec<&str> =
                    dossier.specimens.iter().map(|it| it.label.as_str()).collect();
                let accepted = format!(
                    "{}a new label with --acquired, how it was come by",
                    if labels.is_empty() {
                        String::new()
                    } else {
                        format!("{}, or ", labels.join(", "))
                    }
                );
                return Err(refuse("specimen", &label, "is not known", &accepted));
            }
        };
        let date =
            date.or_else(|| newest.map(|it| it.teardown.date)).unwrap_or_else(|| self.today());
        let mut known = dossier.jobs.iter().map(|it| &it.teardown);
        let teardown = known
            .find(|it| it.specimen == label && it.date == date)
            .cloned()
            .unwrap_or_else(|| Teardown { specimen: label, date, note: String::new() });
        Ok((teardown, specimen))
    }
}

/// What stands in a place now.
fn in_place<'d>(dossier: &'d Dossier, place: &Place<'_>) -> Option<&'d Finding> {
    let is_it = |it: &&Finding| {
        it.part == place.part
            && it.key == place.key
            && (it.evidence == Evidence::Claimed) == place.claimed
    };
    match place.teardown {
        None => dossier.stated.iter().find(is_it),
        Some((label, date)) => dossier
            .jobs
            .iter()
            .find(|it| it.teardown.specimen == label && it.teardown.date == date)
            .and_then(|it| it.findings.iter().find(is_it)),
    }
}

/// A dossier that holds nothing but the finding.
fn only(of: &Dossier, finding: Finding, teardown: Option<(Teardown, Specimen)>) -> Dossier {
    let mut it = Dossier {
        product: of.product.clone(),
        prices: Vec::new(),
        specimens: Vec::new(),
        stated: Vec::new(),
        jobs: Vec::new(),
    };
    match teardown {
        None => it.stated.push(finding),
        Some((teardown, specimen)) => {
            it.specimens.push(specimen);
            it.jobs.push(Job {
                teardown,
                findings: vec![finding],
                network: Vec::new(),
                sweeps: Vec::new(),
            });
        }
    }
    it
}

/// How a number was understood, in the unit of screens.
fn in_si(it: &Finding) -> Option<String> {
    let domain::dictionary::Kind::Number(dimension, unit) = it.entry()?.kind else { return None };
    let Answer::Value(Value::Number { si, std_uncertainty }) = &it.answer else { return None };
    Some(match std_uncertainty {
        Some(u) => reading::shown_with_u(*si, *u, dimension, unit),
        None => format!("{} {unit}", significant(reading::in_unit(*si, dimension, unit)?))
            .trim_end()
            .to_owned(),
    })
}

/// Six figures, which no instrument at the bench exceeds.
fn significant(value: f64) -> String {
    let digits =
        if value == 0.0 { 0.0 } else { (5.0 - value.abs().log10().floor()).clamp(0.0, 9.0) };
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "between 0 and 9")]
    let text = format!("{value:.*}", digits as usize);
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

fn remarks(it: &Finding) -> Vec<Remark> {
    let value = match it.answer.value() {
        Some(Value::Number { si, .. }) => *si,
        Some(Value::Count(it)) => f64::from(*it),
        _ => return Vec::new(),
    };
    let Some(entry) = it.entry() else { return Vec::new() };
    let Some((range, shown)) = entry.unusual(it.part.role, value) else { return Vec::new() };
    let unit = match entry.kind {
        domain::dictionary::Kind::Number(_, unit) => unit,
        _ => "",
    };
    vec![Remark {
        source: "boxworth".into(),
        code: "unusual".into(),
        severity: "caution".into(),
        text: format!(
            "{} {unit} is outside what is usual, {} to {} {unit}; recorded all the same",
            significant(shown),
            significant(range.low),
            significant(range.high)
        )
        .replace("  ", " "),
    }]
}
