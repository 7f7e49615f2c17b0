//! `cargo xtask deny`: licences, sources, versions twice and known flaws of the crates in `Cargo.lock`, by cargo-deny.
//!
//! What is allowed stands in `.cargo/deny.toml`, with reasons.

use crate::setup;
use crate::shell::{Failure, Shell};
use std::path::PathBuf;

/// The version that the configuration was written for.
const VERSION: &str = "0.20.2";

/// Checks what the lock file alone decides, then the list of known flaws, which must be fetched. Where it cannot be
/// had, that is said, and it is a failure unless `without_advisories` says that it is known.
pub(crate) fn deny(shell: &Shell, without_advisories: bool) -> Result<(), Failure> {
    setup::setup(shell, false, true)?;
    let program = program(shell)?;
    let mut locked = shell.program(&program);
    // A warning is an exception that nothing needs any more.
    locked.args(["--locked", "check", "-D", "warnings", "bans", "licenses", "sources"]);
    shell.run(locked)?;
    if without_advisories {
        return shell.say("Not looked at: known flaws of the crates (advisories).");
    }
    let mut fetch = shell.program(&program);
    fetch.args(["fetch", "db"]);
    shell.run(fetch).map_err(|failure| {
        Failure::new(format!(
            "{}\nLicences, sources and versions are as allowed. Known flaws were NOT looked at: the list of RustSec could \
             not be fetched. Where there is no network for it: cargo xtask deny --without-advisories",
            failure.text
        ))
    })?;
    let mut known = shell.program(&program);
    known.args(["--locked", "check", "advisories"]);
    shell.run(known)
}

/// cargo-deny in the target folder, installed there if it is not.
fn program(shell: &Shell) -> Result<PathBuf, Failure> {
    let folder = shell.target().join("xtask/tools").join(format!("cargo-deny-{VERSION}"));
    let program = folder.join("bin").join(format!("cargo-deny{}", std::env::consts::EXE_SUFFIX));
    if !program.is_file() {
        shell.say(format!("installing cargo-deny {VERSION} into the target folder"))?;
        // Unoptimized: it is built in a third of the time, and a check takes two seconds either way.
        let arguments =
            ["install", "cargo-deny", "--version", VERSION, "--locked", "--debug", "--root"];
        let mut install = shell.cargo(&arguments);
        install.arg(&folder);
        // What it is built from is no part of this workspace.
        install.env("CARGO_TARGET_DIR", folder.join("target"));
        shell.run(install)?;
    }
    Ok(program)
}
