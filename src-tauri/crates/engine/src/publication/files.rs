//! The files of a publication: one report in each format, and what it rests on.

use export::{DataTable, Report};
use serde::Serialize;
use sha2::{Digest, Sha256};

use crate::{
    Error,
    dto::{BandReport, ChangesDto},
};

/// Formats by the word that the command line takes, in the order of files.
pub(crate) const FORMATS: [&str; 9] =
    ["md", "html", "pdf", "xlsx", "csv", "json", "jsonld", "svg", "png"];

/// The file that says what changed since the edition before.
pub(super) const CHANGES: &str = "changes.json";

/// A file with its bytes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Made {
    pub(super) name: String,
    pub(super) content: Vec<u8>,
}

/// The format of a file by its name.
pub(super) fn format_of(name: &str) -> &'static str {
    if name.contains(".csv") {
        return "csv";
    }
    let end = name.rsplit('.').next().unwrap_or_default();
    FORMATS.into_iter().find(|it| *it == end).unwrap_or("json")
}

/// SHA-256 in hexadecimal digits.
pub(super) fn hash(content: &[u8]) -> String {
    Sha256::digest(content).iter().map(|it| format!("{it:02x}")).collect()
}

/// Told of each file before it is made: its place, how many there are, and its name. The work ends where it refuses.
type Reach<'r> = dyn FnMut((usize, usize), &str) -> Result<(), Error> + 'r;

/// All files in all formats.
pub(super) fn files(
    report: &Report,
    results: &BandReport,
    changes: Option<&ChangesDto>,
    reach: &mut Reach<'_>,
) -> Result<Vec<Made>, Error> {
    let makers = makers(report, results, changes);
    let count = makers.len();
    let made = makers.into_iter().enumerate().map(|(at, (name, make))| {
        reach((at, count), &name)?;
        Ok(Made { content: make()?, name })
    });
    made.collect()
}

type Maker<'a> = Box<dyn FnOnce() -> Result<Vec<u8>, Error> + 'a>;

/// A file by name, with what makes it.
type ToMake<'a> = (String, Maker<'a>);

/// All files, in their order.
fn makers<'a>(
    report: &'a Report,
    results: &'a BandReport,
    changes: Option<&'a ChangesDto>,
) -> Vec<ToMake<'a>> {
    let internal = Error::Internal;
    let mut list: Vec<ToMake<'a>> = Vec::new();
    let mut add = |name: String, make: Maker<'a>| list.push((name, make));
    add("guide.md".into(), Box::new(|| Ok(export::to_markdown(report).into_bytes())));
    add("guide.html".into(), Box::new(|| Ok(export::to_html(report).into_bytes())));
    add("guide.pdf".into(), Box::new(move || export::to_pdf(report).map_err(internal)));
    add("guide.xlsx".into(), Box::new(move || export::to_xlsx(report).map_err(internal)));
    for table in report.tables() {
        let DataTable { id, .. } = table;
        let csv = move || Ok(export::to_csv(table).map_err(internal)?.into_bytes());
        add(format!("tables/{id}.csv"), Box::new(csv));
        let metadata = || Ok(export::to_csvw(table).into_bytes());
        add(format!("tables/{id}.csv-metadata.json"), Box::new(metadata));
    }
    add("guide.json".into(), Box::new(|| json(report)));
    add("results.json".into(), Box::new(|| json(results)));
    if let Some(it) = changes {
        add(CHANGES.into(), Box::new(|| json(it)));
    }
    add("guide.jsonld".into(), Box::new(|| Ok(export::to_json_ld(report).into_bytes())));
    for chart in report.charts() {
        let picture = || Ok(export::to_svg(chart).into_bytes());
        add(format!("charts/{}.svg", chart.id), Box::new(picture));
    }
    for chart in report.charts() {
        let undrawn = || Error::Internal(format!("the chart {} cannot be drawn", chart.id));
        let picture = move || export::to_png(chart).ok_or_else(undrawn);
        add(format!("charts/{}.png", chart.id), Box::new(picture));
    }
    list
}

fn json(it: &impl Serialize) -> Result<Vec<u8>, Error> {
    let text = serde_json::to_string_pretty(it);
    text.map(|it| format!("{it}\n").into_bytes()).map_err(|why| Error::Internal(why.to_string()))
}
