//! Entering one finding at the bench, and emptying its place.

use catalog::Place;
use domain::{
    dossier::Dossier,
    evidence::Evidence,
    finding::{Answer, Finding, Value},
    key::ProductKey,
    product::{Specimen, Teardown},
    reading,
};
use serde::Deserialize;

use crate::{
    Engine, Error, clock,
    declared::Declarations,
    dto::{RecordReport, Remark},
    history::shown,
    job::{self, At},
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
            if is_claim && !named { None } else { Some(self.teardown(&at(request), &dossier)?) };
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
            let changed = self.writer()?.withdraw(&place, request.reason.trim(), &clock::now())?;
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
        let tally = self.writer()?.record(
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
}

fn at(request: &RecordRequest) -> At<'_> {
    At {
        product: &request.product,
        specimen: request.specimen.as_deref(),
        date: request.date.as_deref(),
        acquired: request.acquired.as_deref(),
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
pub(crate) fn only(
    of: &Dossier,
    finding: Finding,
    teardown: Option<(Teardown, Specimen)>,
) -> Dossier {
    let mut it = job::only(of, teardown);
    match it.jobs.first_mut() {
        Some(job) => job.findings.push(finding),
        None => it.stated.push(finding),
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
pub(crate) fn significant(value: f64) -> String {
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

pub(crate) fn remarks(it: &Finding) -> Vec<Remark> {
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
