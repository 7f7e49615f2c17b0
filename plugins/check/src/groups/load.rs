//! The file, the table that it gives, and its manifest.

use std::time::Duration;

use bw_sdk::abi;
use bw_sdk::manifest::{Manifest, ManifestError};
use host::{FaultKind, Probe, Probed};

use super::Checked;
use crate::report::Verdict;
use crate::trial::{Stop, Trials};

/// The one name that a plugin exports.
const ENTRY: &str = "bw_plugin_v1";
/// What the entry of any major version is called, before its number.
const ANY_ENTRY: &str = "bw_plugin_v";
/// Names that linkers put among the exported ones by themselves.
const LINKER: [&str; 7] =
    ["_init", "_fini", "_edata", "_end", "__bss_start", "__bss_start__", "__end__"];
/// Most names that are listed.
const SHOWN: usize = 5;
/// A load longer than this is felt each time the program starts.
const SLOW: Duration = Duration::from_millis(200);
/// Loads of which the shortest counts, since a busy computer makes any of them long.
const LOADS: usize = 3;
/// A table longer than this is no table.
const LONGEST_TABLE: u32 = 4096;
/// An extension that nobody offers.
const NOBODYS: &str = "org.example.nobody-offers-this/1";

pub(super) fn entry_symbol(trials: &Trials<'_>) -> Verdict {
    let exports = &trials.library.exports;
    if exports.iter().any(|it| it == ENTRY) {
        return Verdict::passed();
    }
    match exports.iter().find(|it| it.starts_with(ANY_ENTRY)) {
        Some(it) => Verdict::failed(format!(
            "it exports {it}, the entry of another interface: make it with the header of interface {}, whose entry is {ENTRY}",
            abi::ABI_MAJOR
        )),
        None => Verdict::failed(format!(
            "it does not export {ENTRY}: define it as in bw_plugin.h, with BW_EXPORT, or name your type in export_plugins!"
        )),
    }
}

pub(super) fn other_symbols(trials: &Trials<'_>) -> Verdict {
    let exports = trials.library.exports.iter().map(String::as_str);
    let others: Vec<&str> =
        exports.filter(|it| !it.starts_with(ANY_ENTRY) && !LINKER.contains(it)).collect();
    if others.is_empty() {
        return Verdict::passed();
    }
    let shown = others[..others.len().min(SHOWN)].join(", ");
    let more = match others.len().saturating_sub(SHOWN) {
        0 => String::new(),
        n => format!(" and {n} more"),
    };
    Verdict::warned(format!(
        "it also exports {shown}{more}: make them static, or compile with -fvisibility=hidden"
    ))
}

pub(super) fn loads(trials: &Trials<'_>) -> Checked {
    match trials.load() {
        Ok(_) => Ok(Verdict::passed()),
        // The library was loaded; what it gave is another check's.
        Err(fault) if matches!(fault.kind, FaultKind::Table | FaultKind::Manifest) => {
            Ok(Verdict::passed())
        }
        Err(fault) => Err(Stop::of(
            fault,
            ". Link with all it needs from the system's own folders, and let constructors do nothing.",
        )),
    }
}

pub(super) fn load_time(trials: &Trials<'_>) -> Checked {
    let mut shortest = Duration::MAX;
    for _ in 0..LOADS {
        match trials.load() {
            Ok(session) => shortest = shortest.min(session.load_time),
            Err(fault) if matches!(fault.kind, FaultKind::Table | FaultKind::Manifest) => {
                return Ok(Verdict::skipped("is not taken"));
            }
            Err(fault) => return Err(fault.into()),
        }
        if shortest <= SLOW {
            return Ok(Verdict::passed());
        }
    }
    Ok(Verdict::warned(format!(
        "it took {} ms: do work in create, not in constructors, and strip what is not needed",
        shortest.as_millis()
    )))
}

pub(super) fn table(trials: &Trials<'_>) -> Checked {
    let mut session = match trials.load() {
        Ok(it) => it,
        Err(fault) if fault.kind == FaultKind::Table => {
            return Ok(Verdict::failed(format!(
                "it {}. Fill the table as in bw_plugin.h: sizeof(bw_plugin), BW_ABI_MAJOR, BW_ABI_MINOR, and evaluate.",
                fault.text
            )));
        }
        Err(fault) if fault.kind == FaultKind::Manifest => return Ok(Verdict::passed()),
        Err(fault) => return Err(fault.into()),
    };
    let probed = session.probe(Probe::Entry)?;
    let Probed::Entry { table_bytes, abi_minor, .. } = probed else { return Err(odd(&probed)) };
    if LONGEST_TABLE < table_bytes || !table_bytes.is_multiple_of(8) {
        return Ok(Verdict::failed(format!(
            "its struct_size is {table_bytes}: write sizeof(bw_plugin)"
        )));
    }
    // A manifest that cannot be read is another check's.
    let declared = Manifest::parse(&session.manifest).map(|it| it.abi.minor);
    match declared {
        Ok(minor) if minor != abi_minor => Ok(Verdict::failed(format!(
            "the table says interface 1.{abi_minor}, the manifest 1.{minor}: write the same in both"
        ))),
        _ => Ok(Verdict::passed()),
    }
}

pub(super) fn past_the_end(trials: &Trials<'_>) -> Checked {
    let probed = trials.load()?.probe(Probe::Entry)?;
    match probed {
        Probed::Entry { ends: true, .. } => Ok(Verdict::passed()),
        Probed::Entry { .. } => Ok(Verdict::failed(format!(
            "{ENTRY} gives a table for indices past the last plugin: return null there"
        ))),
        other => Err(odd(&other)),
    }
}

pub(super) fn manifest(trials: &Trials<'_>) -> Checked {
    let session = match trials.load() {
        Ok(it) => it,
        Err(fault) => {
            let hint =
                ". Let the table point at UTF-8 text of at most 256 KiB that is never freed.";
            return Err(Stop::of(fault, hint));
        }
    };
    match Manifest::parse(&session.manifest) {
        Err(why) if !is_about_an_id(&why) => Ok(Verdict::failed(why.to_string())),
        _ => Ok(Verdict::passed()),
    }
}

pub(super) fn ids(trials: &Trials<'_>) -> Checked {
    trials.open().map(|_| Verdict::passed())
}

/// Whether a manifest was refused for an id.
fn is_about_an_id(why: &ManifestError) -> bool {
    let ManifestError::Rule { path, .. } = why else { return false };
    let last = path.rsplit('.').next().unwrap_or(path);
    matches!(last, "id" | "key" | "code" | "subsystem")
}

pub(super) fn known_inputs(trials: &Trials<'_>) -> Checked {
    let Some(unanswered) = trials.unanswered else {
        return Ok(Verdict::skipped("nobody said what the app can answer"));
    };
    let manifest = trials.open()?.manifest;
    if let Some(why) = trials.refused.and_then(|refused| refused(&manifest)) {
        return Ok(Verdict::failed(format!("it would be refused when trusted: {why}")));
    }
    let complaints = unanswered(&manifest);
    Ok(match complaints.is_empty() {
        true => Verdict::passed(),
        false => {
            let shown = complaints[..complaints.len().min(SHOWN)].join("; ");
            Verdict::warned(format!("never answered: {shown}. Such an input is always missing."))
        }
    })
}

pub(super) fn same_manifest(trials: &Trials<'_>) -> Checked {
    let (one, other) = (trials.load()?, trials.load()?);
    Ok(match one.manifest == other.manifest {
        true => Verdict::passed(),
        false => Verdict::failed(
            "it gives another manifest in another process: the manifest is static text, made when the library is built",
        ),
    })
}

pub(super) fn unknown_extension(trials: &Trials<'_>) -> Checked {
    let probed = trials.load()?.probe(Probe::Extension { id: NOBODYS.to_owned() })?;
    match probed {
        Probed::Extension { found: Some(true) } => Ok(Verdict::failed(format!(
            "extension({NOBODYS:?}) is not null: compare the whole id and give null for all others"
        ))),
        Probed::Extension { .. } => Ok(Verdict::passed()),
        other => Err(odd(&other)),
    }
}

/// An answer to another question.
fn odd(probed: &Probed) -> Stop {
    Stop::CannotRun(format!("the worker answered {probed:?}"))
}
