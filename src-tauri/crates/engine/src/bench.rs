//! The bench: one product and one teardown of it, with every place for a finding, what follows from what is there, and what
//! is left.

mod cautions;
mod left;
mod place;
mod rows;
mod save;
mod shorthand;
mod steps;

use domain::{dossier::Dossier, evidence::Evidence, part::Part};
use serde::Deserialize;

use crate::{
    Engine, Error, cross,
    declared::Declarations,
    dto::{BenchGrade, BenchPart, BenchReport, BenchSpecimen},
    pricing::Terms,
    products, scoring, sheet,
};
pub use save::{BenchReadRequest, BenchSaveRequest};

pub(crate) use left::Worth;

/// Which product and which teardown of it.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[cfg_attr(feature = "types", derive(ts_rs::TS), ts(export))]
#[serde(deny_unknown_fields, default)]
pub struct BenchRequest {
    /// The product's key, `maker/model`.
    pub product: String,
    /// The specimen's label; without it that of the newest teardown.
    pub specimen: Option<String>,
    /// The day of the teardown; without it the newest one.
    pub date: Option<String>,
    /// Parts to show although nothing is recorded of them, such as `woofer2`.
    pub parts: Vec<String>,
}

impl Engine {
    /// The bench with a product on it.
    ///
    /// # Errors
    /// [`Error::UnknownProduct`]; [`Error::Request`] for a teardown or part that there is not; when the catalogue cannot be
    /// read.
    pub fn bench(&self, request: &BenchRequest) -> Result<BenchReport, Error> {
        // Trust and rubric may have changed since the last look.
        self.forget_worth();
        let (declarations, dossier) = self.known_product(&request.product)?;
        self.bench_of(request, &declarations, dossier)
    }

    fn bench_of(
        &self,
        request: &BenchRequest,
        declarations: &Declarations,
        dossier: Dossier,
    ) -> Result<BenchReport, Error> {
        let teardown =
            place::teardown(&dossier, request.specimen.as_deref(), request.date.as_deref())?;
        let dictionary = &declarations.dictionary;
        let mut parts = dossier.parts();
        for text in &request.parts {
            let part: Part =
                text.parse().map_err(|why: domain::key::UnknownWord| Error::Request {
                    place: "parts",
                    text: text.clone(),
                    why: "is no part".into(),
                    accepted: why.accepted,
                })?;
            if !parts.contains(&part) {
                parts.push(part);
            }
        }
        parts.sort_unstable();
        let (info, (undo, redo)) = {
            let reader = self.reader();
            (reader.info()?, reader.steps(dictionary)?)
        };
        let terms = Terms::of(&info, self.today())?;
        let row = products::row(&dossier, dictionary, &terms)?;
        let rows = rows::Rows { dossier: &dossier, declarations, teardown: teardown.as_ref() };
        let shown: Vec<BenchPart> =
            parts.iter().map(|part| rows.part(*part, another(*part, &parts))).collect();
        let examined = scoring::examine(dossier.clone());
        let (left, left_order) =
            left::left(&dossier, dictionary, &examined.known, &parts, self.worth().as_deref());
        let product = &dossier.product;
        Ok(BenchReport {
            product: product.key.to_string(),
            maker: product.maker.clone(),
            model: product.model.clone(),
            kind: product.kind.word().into(),
            ways: product.ways.into(),
            powered: product.powered,
            year: product.year.into(),
            specimens: specimens(&dossier),
            specimen: teardown.as_ref().map(|it| it.specimen.clone()),
            date: teardown.as_ref().map(|it| it.date.to_string()),
            found: row.found,
            expected: row.expected,
            parts: shown,
            left,
            left_order,
            quantities: examined.quantities().iter().map(sheet::quantity).collect(),
            cross_checks: cross::checks(&examined, &terms),
            undo: undo.map(|it| steps::undo(it, dictionary)),
            redo: redo.map(|it| steps::redo(it, dictionary)),
            grades: Evidence::ALL.iter().map(|it| grade(*it)).collect(),
            cautions: cautions::of_product(product),
        })
    }
}

/// The name of a further driver of the same role; only the last one offers it.
fn another(part: Part, all: &[Part]) -> Option<String> {
    let last = all.iter().filter(|it| it.role == part.role).map(|it| it.number).max()?;
    let next = Part { role: part.role, number: last.checked_add(1)? };
    (part.role.is_driver() && part.number == last && next.number <= 9).then(|| next.to_string())
}

fn specimens(dossier: &Dossier) -> Vec<BenchSpecimen> {
    let days = |label: &str| {
        let of = dossier.jobs.iter().filter(|it| it.teardown.specimen == label);
        of.map(|it| it.teardown.date.to_string()).collect()
    };
    dossier
        .specimens
        .iter()
        .map(|it| BenchSpecimen {
            label: it.label.clone(),
            acquired: it.acquired.word().into(),
            serial: it.serial.clone(),
            teardowns: days(&it.label),
        })
        .collect()
}

/// One key a grade: its first letter, or the first that no other has.
fn grade(it: Evidence) -> BenchGrade {
    let (key, means) = match it {
        Evidence::Measured => ("m", "read from an instrument"),
        Evidence::Inspected => ("i", "seen by eye"),
        Evidence::Marked => ("k", "read off the part"),
        Evidence::Claimed => ("c", "said by the maker"),
        Evidence::Inferred => ("f", "judged from other facts"),
    };
    BenchGrade { word: it.word().into(), key: key.into(), means: means.into() }
}

#[cfg(test)]
mod tests;
