//! Finds out whether a plugin file keeps the rules of the plugin interface, and says what to change where it does not.
//!
//! Every [`Check`] that runs code of the file does so in a fresh worker process of its own, through the same host and
//! sandbox as when products are scored. The file is pinned to the bytes it has when the check begins. Checking is not
//! trusting: nothing is remembered.
//!
//! A check that needs another one is skipped when that one did not pass, so that one fault is told once.
#![forbid(unsafe_code)]

mod check;
mod file;
mod groups;
mod inputs;
mod process;
mod report;
mod trial;

use std::collections::{BTreeMap, BTreeSet};
use std::ops::ControlFlow;
use std::path::Path;

use bw_sdk::manifest::Manifest;
use host::{Blocking, HostOptions};

pub use check::{Check, Group, UnknownCheck};
pub use report::{Outcome, Plugin, Report, Verdict};

use file::Library;
use trial::{Stop, Trials};

/// What is to be checked, and how strictly.
#[derive(Debug, Clone, Default)]
pub struct Options {
    /// Only these checks; all when empty.
    pub only: Vec<Check>,
    /// Where the worker is, how patient the host is, and whether a full sandbox is demanded.
    pub host: HostOptions,
    /// What the app says to the inputs of a manifest; without it they are not compared.
    pub unanswered: Option<Unanswered>,
    /// What the app refuses when such a plugin is to be trusted; without it nobody is asked.
    pub refused: Option<Refused>,
}

/// One phrase for each input of a manifest that the app never answers, with the reason.
pub type Unanswered = fn(&Manifest) -> Vec<String>;

/// Why the app would refuse a plugin of such a manifest; `None` when it would not.
pub type Refused = fn(&Manifest) -> Option<String>;

/// Why a file cannot be checked at all.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{what}")]
pub struct Refusal {
    /// One sentence.
    pub what: String,
}

/// Checks a file. `watch` is told before each check how many are done, of how many, and may end it there.
///
/// # Errors
/// A [`Refusal`] when there is no such file, when it is no library of this computer, when no worker of the demanded
/// strictness can be started, or when it was ended.
pub fn check(
    path: &Path,
    options: &Options,
    watch: &mut dyn FnMut(usize, usize) -> ControlFlow<()>,
) -> Result<Report, Refusal> {
    let library = Library::read(path)?;
    let host = Blocking::new(options.host.clone())
        .map_err(|why| Refusal { what: format!("the plugin host cannot start: {why}") })?;
    let trials = Trials::new(&host, &library, options);
    let mut verdicts: BTreeMap<Check, Verdict> = BTreeMap::new();
    // Not passed, or not made for want of another one; a check that does not apply blocks nothing.
    let mut blocked: BTreeSet<Check> = BTreeSet::new();
    let asked: Vec<Check> = Check::ALL
        .iter()
        .copied()
        .filter(|it| options.only.is_empty() || options.only.contains(it))
        .collect();
    for (done, &check) in asked.iter().enumerate() {
        if watch(done, asked.len()).is_break() {
            return Err(Refusal { what: "was stopped before all checks were made".into() });
        }
        let unmet = check.needs().iter().find(|it| blocked.contains(it));
        let verdict = match unmet {
            Some(it) => Verdict::skipped(format!("needs `{it}`")),
            None => match groups::run(check, &trials) {
                Ok(verdict) | Err(Stop::Verdict(verdict)) => verdict,
                Err(Stop::CannotRun(what)) => return Err(Refusal { what }),
            },
        };
        if unmet.is_some() || verdict.outcome.is_bad() {
            blocked.insert(check);
        }
        verdicts.insert(check, verdict);
    }
    let (plugin, sandbox) = trials.seen();
    Ok(Report {
        path: library.file.path.clone(),
        size_bytes: library.size_bytes,
        sha256: library.file.sha256,
        sandbox,
        plugin,
        verdicts,
    })
}
