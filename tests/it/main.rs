//! Drives the built program on the seed catalogue, and checks rules that span several crates.
#![expect(clippy::unwrap_used, reason = "helpers of tests fail like tests")]

#[cfg(target_os = "linux")]
mod authoring;
mod backup;
mod bench;
#[cfg(target_os = "linux")]
mod check;
mod claims;
mod cli;
mod compute;
#[cfg(unix)]
mod faults;
mod import_faults;
mod large;
mod layering;
mod network;
#[cfg(target_os = "linux")]
mod own_findings;
mod photos;
#[cfg(target_os = "linux")]
mod plugins;
mod prices;
mod publish;
mod record;
mod replay;
mod rubric_changes;
mod rubrics;
mod seed;
mod standings;
mod sweep;
mod vocabulary;

/// Compares a text with the one kept in `tests/snapshots`.
fn same_as_kept(name: &str, text: &str) {
    insta::with_settings!({
        snapshot_path => "../snapshots",
        prepend_module_to_snapshot => false,
        omit_expression => true,
    }, {
        insta::assert_snapshot!(name, text);
    });
}
