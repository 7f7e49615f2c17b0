//! `cargo xtask crash`: the crash test with many kills, and a power cut after every step.

use crate::app::{self, Profile};
use crate::setup;
use crate::shell::{Failure, Shell};

/// Builds what is killed, and lets the test `crash` kill it; the test prints its own report.
pub(crate) fn crash(shell: &Shell, kills: &str, seed: &str) -> Result<(), Failure> {
    setup::setup(shell, false, true)?;
    app::terminal(shell, Profile::Dev)?;
    shell.run(shell.cargo(&[
        "test",
        "-p",
        "tests",
        "--test",
        "crash",
        "--",
        "--kills",
        kills,
        "--seed",
        seed,
        "--every-step",
    ]))
}
