//! The files of a publication: one report in each format, and what it rests on.

use export::{DataTable, Report};
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

/// All files in all formats.
pub(super) fn files(
    report: &Report,
    results: &BandReport,
    changes: Option<&ChangesDto>,
) -> Result<Vec<Made>, Error> {
    let internal = Error::Internal;
    let json = |it: serde_json::Result<String>| {
        it.map(|it| format!("{it}\n").into_bytes()).map_err(|why| Error::Internal(why.to_string()))
    };
    let mut list = Vec::new();
    let mut add = |name: String, content: Vec<u8>| list.push(Made { name, content });
    add("guide.md".into(), export::to_markdown(report).into_bytes());
    add("guide.html".into(), export::to_html(report).into_bytes());
    add("guide.pdf".into(), export::to_pdf(report).map_err(internal)?);
    add("guide.xlsx".into(), export::to_xlsx(report).map_err(internal)?);
    for table in report.tables() {
        let DataTable { id, .. } = table;
        add(format!("tables/{id}.csv"), export::to_csv(table).map_err(internal)?.into_bytes());
        add(format!("tables/{id}.csv-metadata.json"), export::to_csvw(table).into_bytes());
    }
    add("guide.json".into(), json(serde_json::to_string_pretty(report))?);
    add("results.json".into(), json(serde_json::to_string_pretty(results))?);
    if let Some(it) = changes {
        add(CHANGES.into(), json(serde_json::to_string_pretty(it))?);
    }
    add("guide.jsonld".into(), export::to_json_ld(report).into_bytes());
    for chart in report.charts() {
        add(format!("charts/{}.svg", chart.id), export::to_svg(chart).into_bytes());
    }
    for chart in report.charts() {
        let picture = export::to_png(chart)
            .ok_or_else(|| Error::Internal(format!("the chart {} cannot be drawn", chart.id)))?;
        add(format!("charts/{}.png", chart.id), picture);
    }
    Ok(list)
}
