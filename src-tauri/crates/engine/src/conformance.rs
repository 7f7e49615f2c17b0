//! Checking a plugin file before anybody trusts it.

use std::path::PathBuf;

use host::HostOptions;
use plugin_check::{Check, Options, Outcome, Report};

use crate::{
    Error, answerable,
    dto::{PluginCheck, PluginCheckRow},
    plugins::sandbox_word,
};

/// Which file to check, and how.
#[derive(Debug, Clone, Default)]
pub struct CheckRequest {
    /// The dynamic library.
    pub file: PathBuf,
    /// Ids of checks; all of them when empty.
    pub only: Vec<String>,
    /// Refuse where the sandbox is not complete.
    pub require_sandbox: bool,
}

/// Checks whether a file keeps the rules of plugins. It needs no catalogue, and the file is not trusted by it: it is
/// pinned to the bytes it has now, and loaded in worker processes only.
///
/// # Errors
/// When there is no such file, when it is no library of this computer, when no worker can be started, or when an id is
/// of no check.
pub fn check_plugin(request: &CheckRequest) -> Result<PluginCheck, Error> {
    let only = request.only.iter().map(|it| known(it)).collect::<Result<_, _>>()?;
    let host = HostOptions { require_sandbox: request.require_sandbox, ..HostOptions::default() };
    let unanswered = Some(answerable::unanswered as plugin_check::Unanswered);
    let report = plugin_check::check(&request.file, &Options { only, host, unanswered })
        .map_err(|why| Error::Plugin { file: request.file.display().to_string(), why: why.what })?;
    Ok(answer(&report))
}

fn known(id: &str) -> Result<Check, Error> {
    id.parse().map_err(|why: plugin_check::UnknownCheck| Error::Request {
        place: "only",
        text: id.to_owned(),
        why: why.to_string(),
        accepted: Check::ALL.iter().map(|it| it.id()).collect::<Vec<_>>().join(", "),
    })
}

fn answer(report: &Report) -> PluginCheck {
    let count = |outcome: Outcome| {
        let n = report.verdicts.values().filter(|it| it.outcome == outcome).count();
        u32::try_from(n).unwrap_or(u32::MAX)
    };
    let plugin = report.plugin.as_ref();
    PluginCheck {
        file: report.path.display().to_string(),
        // A worker takes 256 MiB at most.
        size_bytes: u32::try_from(report.size_bytes).unwrap_or(u32::MAX),
        sha256: report.sha256.to_string(),
        sandbox: report.sandbox.as_ref().map(sandbox_word),
        id: plugin.map(|it| it.id.clone()),
        name: plugin.map(|it| it.name.clone()),
        version: plugin.map(|it| it.version.clone()),
        conforms: report.is_good(),
        passed: count(Outcome::Passed),
        warned: count(Outcome::Warned),
        failed: count(Outcome::Failed),
        crashed: count(Outcome::Crashed),
        timed_out: count(Outcome::TimedOut),
        skipped: count(Outcome::Skipped),
        checks: report
            .verdicts
            .iter()
            .map(|(check, verdict)| PluginCheckRow {
                id: check.id().to_owned(),
                group: check.group().word().to_owned(),
                rule: check.rule().to_owned(),
                outcome: verdict.outcome.word().to_owned(),
                advice: verdict.advice.clone(),
            })
            .collect(),
    }
}
