//! Checking a plugin file before anybody trusts it.

use std::path::PathBuf;

use bw_sdk::manifest::Manifest;
use domain::dictionary::Dictionary;
use host::HostOptions;
use plugin_check::{Check, Options, Outcome, Report};

use crate::{
    Error, Progress, Watch, answerable, declared,
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
/// `watch` is told before each check how far it has come, and may end it there.
///
/// # Errors
/// When there is no such file, when it is no library of this computer, when no worker can be started, when an id is of no
/// check, or when it was ended.
pub fn check_plugin(request: &CheckRequest, watch: &mut Watch<'_>) -> Result<PluginCheck, Error> {
    let only = request.only.iter().map(|it| known(it)).collect::<Result<_, _>>()?;
    let host = HostOptions { require_sandbox: request.require_sandbox, ..HostOptions::default() };
    let unanswered = Some(answerable::unanswered as plugin_check::Unanswered);
    let refused = Some(refused as plugin_check::Refused);
    let options = Options { only, host, unanswered, refused };
    let mut is_ended = false;
    let mut told = |done, total| {
        let goes_on = watch(Progress { done, total, step: String::new() });
        is_ended = goes_on.is_break();
        goes_on
    };
    let report = plugin_check::check(&request.file, &options, &mut told);
    let report = report.map_err(|why| match is_ended {
        true => Error::Stopped,
        false => Error::Plugin { file: request.file.display().to_string(), why: why.what },
    })?;
    Ok(answer(&report))
}

/// What trusting would say of the manifest in a catalogue that trusts no other plugin.
fn refused(manifest: &Manifest) -> Option<String> {
    declared::check(manifest, &Dictionary::standard()).err().map(|why| why.to_string())
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

#[cfg(test)]
mod tests {
    use super::*;

    /// What trusting refuses is no mere warning, and what another plugin may bring is let through.
    #[test]
    fn an_input_in_a_wrong_unit_is_refused_and_an_unknown_one_is_not() {
        let with = |id: &str, unit: &str| {
            let text = crate::rubric::tests::MANIFEST
                .replace(
                    r#""id": "v", "kind": "number", "unit": "m/s""#,
                    &format!(r#""id": "{id}", "kind": "number", "unit": "{unit}""#),
                )
                .replace(r#"["v"]"#, &format!(r#"["{id}"]"#));
            refused(&Manifest::parse(&text).unwrap())
        };
        assert_eq!(with("port.velocity_m_s", "m/s"), None);
        assert_eq!(with("cabinet.org.example.other.gap", "mm"), None);
        let why = with("port.velocity_m_s", "mm/s").unwrap();
        assert!(why.contains("inputs[0].unit"), "{why}");
    }
}
