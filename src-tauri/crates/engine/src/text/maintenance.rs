//! Imports, plugins and health as pages.

use std::path::Path;

use export::{Column, Table};

use super::{Page, number::money};
use crate::NewRequest;
use crate::dto::{
    DoctorReport, ImportReport, NewPlugin, PluginFileView, PluginList, PluginRow, RepairReport,
    ReplacedPlugin, TrustReport,
};

/// What a new catalogue is.
#[must_use]
pub fn made(file: &Path, request: &NewRequest, width: usize) -> String {
    let mut page = Page::new(width);
    page.line(&format!(
        "Made {}: prices in {}, real prices in the money of {}.",
        file.display(),
        request.currency,
        request.base_month
    ));
    page.text
}

/// What an import did, one or two sentences.
#[must_use]
pub fn imported(report: &ImportReport, width: usize) -> String {
    let number = |it: u32| money(f64::from(it));
    let mut page = Page::new(width);
    if report.dry_run {
        page.line("Tried only; nothing was changed. An import would do this:");
    }
    page.line(&format!(
        "{} products, {} of them new; facts: {} added, {} corrected, {} there already",
        number(report.products),
        number(report.new_products),
        number(report.added),
        number(report.corrected),
        number(report.unchanged),
    ));
    if report.new_products + report.added + report.corrected == 0 {
        page.line("Nothing was new.");
    }
    for it in &report.notes {
        let line = it.line.map(|it| format!(":{it}")).unwrap_or_default();
        page.line(&format!("note: {}{line}: {}", it.file, it.text));
    }
    page.text
}

/// The plugins, their trust and their faults.
#[must_use]
pub fn plugins(list: &PluginList, width: usize) -> String {
    let mut page = Page::new(width);
    let mut table = Table::new(
        "",
        vec![
            Column::words("file"),
            Column::words("id"),
            Column::words("version").whole(),
            Column::words("scores").whole(),
            Column::numbers("criteria", ""),
            Column::words("trusted by").whole(),
            Column::prose("sandbox"),
        ],
    );
    for it in &list.plugins {
        table.push(row(it));
    }
    page.table(&table);
    if list.plugins.is_empty() {
        page.line("There are no plugins.");
    }
    let mut hashes = Table::new(
        "",
        vec![Column::words("file"), Column::numbers("bytes", ""), Column::words("SHA-256").whole()],
    );
    let mut wrongs = Table::new(
        "Faults since the last release; three within ten minutes, or one crash at load, are too many",
        vec![
            Column::words("file"),
            Column::words("at").whole(),
            Column::words("kind").whole(),
            Column::prose("what happened"),
        ],
    );
    let mut faults =
        Table::new("Not loaded", vec![Column::words("file").whole(), Column::prose("why")]);
    for it in &list.plugins {
        let bytes = it.size_bytes.map_or_else(|| "none".into(), |it| it.to_string());
        hashes.push([it.file.clone(), bytes, it.sha256.clone()]);
        // Those of this build lie beside the program.
        if it.trusted_by.as_deref() == Some("you") {
            hashes.line(format!("      {}", it.path));
        }
        for fault in &it.faults {
            wrongs.push([&it.file, &fault.at, &fault.kind, &fault.detail]);
        }
        if let Some(why) = &it.fault {
            faults.push([&it.file, why]);
        }
    }
    page.table_part(&hashes);
    page.table_part(&wrongs);
    page.table_part(&faults);
    page.text
}

/// A file that is about to be trusted: where it is, how large, which bytes, and what that means.
#[must_use]
pub fn plugin_file(it: &PluginFileView) -> String {
    let PluginFileView { path, size_bytes, sha256, caution, .. } = it;
    format!("{path}\n  {size_bytes} bytes, SHA-256 {sha256}\n{caution}\n")
}

/// A decision, and those that ended by it.
#[must_use]
pub fn trusted(report: &TrustReport, width: usize) -> String {
    let list = PluginList { plugins: vec![report.plugin.clone()] };
    let mut text = plugins(&list, width);
    for it in &report.replaces {
        text.push_str(&format!("\nIn place of {}, which is trusted no longer.\n", replaced(it)));
    }
    text
}

fn replaced(it: &ReplacedPlugin) -> String {
    let name = match (&it.id, &it.version) {
        (Some(id), Some(version)) => format!("{id} {version} "),
        _ => String::new(),
    };
    format!("{name}at {} (SHA-256 {})", it.path, it.sha256)
}

fn row(it: &PluginRow) -> [String; 7] {
    let or_none = |text: &Option<String>| text.clone().unwrap_or_else(|| "none".into());
    [
        it.file.clone(),
        or_none(&it.id),
        or_none(&it.version),
        or_none(&it.subsystem),
        it.criteria.to_string(),
        it.trusted_by.clone().unwrap_or_else(|| "nobody".into()),
        it.sandbox.clone().unwrap_or_else(|| "not loaded".into()),
    ]
}

/// A plugin that was written, and what to do with it.
#[must_use]
pub fn new_plugin(it: &NewPlugin, width: usize) -> String {
    let mut page = Page::new(width);
    let own = it.files.iter().filter(|path| !path.starts_with("sdk/")).cloned();
    page.line(&format!(
        "Made the plugin {} in {}: {}, and the SDK in sdk.",
        it.id,
        it.folder,
        own.collect::<Vec<_>>().join(", ")
    ));
    page.part();
    page.line("Next:");
    let after = ["check", "trust"].map(|word| format!("boxworth plugin {word} {}", it.library));
    let commands = [format!("cd {}", it.folder)].into_iter().chain(it.build.iter().cloned());
    for command in commands.chain(after) {
        // A command is not wrapped: it is there to be copied.
        page.text.push_str(&format!("  {command}\n"));
    }
    page.text
}

/// The checks and what they found.
#[must_use]
pub fn doctor(report: &DoctorReport, width: usize) -> String {
    let mut page = Page::new(width);
    let mut table = Table::new(
        "",
        vec![Column::words("check").whole(), Column::words("").whole(), Column::prose("found")],
    );
    for it in &report.checks {
        table.push([it.name.as_str(), if it.passed { "passed" } else { "FAILED" }, &it.detail]);
    }
    page.table(&table);
    page.part();
    let failed = report.checks.iter().filter(|it| !it.passed).count();
    page.line(&match failed {
        0 => "All checks passed.".to_owned(),
        1 => "1 check failed.".to_owned(),
        n => format!("{n} checks failed."),
    });
    page.text
}

/// What was put right, and the checks after it.
#[must_use]
pub fn repaired(report: &RepairReport, width: usize) -> String {
    let mut page = Page::new(width);
    if report.repaired.is_empty() {
        page.line("There was nothing that could be put right without a guess.");
    }
    for it in &report.repaired {
        page.line(it);
    }
    if let Some(kept) = &report.kept {
        page.line(&format!("The catalogue as it was is kept in {kept}"));
    }
    page.part();
    page.text + &doctor(&report.after, width)
}
