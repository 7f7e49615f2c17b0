//! The stages of `cargo xtask test`, cheapest first.
//!
//! Cargo compiles a crate again for each set of features that a command's packages ask for together. So stages that
//! compile alike select alike, and the window is left out of `unit`: with it, all would be compiled for two sets.

use crate::app::{self, Profile};
use crate::shell::{Failure, Shell};
use crate::{tidy, types};
use std::fs;

/// One check, or one build that checks rely on.
pub(crate) struct Stage {
    pub(crate) name: &'static str,
    /// Stages without which this one would only repeat their failure.
    pub(crate) after: &'static [&'static str],
    /// Whether it needs Node or the window's libraries, and not just a compiler.
    pub(crate) window: bool,
    pub(crate) work: fn(&Shell) -> Result<(), Failure>,
}

pub(crate) const STAGES: &[Stage] = &[
    Stage { name: "fmt", after: &[], window: false, work: fmt },
    Stage { name: "tidy", after: &[], window: false, work: tidy::tidy },
    Stage { name: "clippy", after: &[], window: true, work: clippy },
    Stage { name: "build", after: &[], window: false, work: |it| app::terminal(it, Profile::Dev) },
    Stage { name: "unit", after: &["build"], window: false, work: unit },
    Stage { name: "release-maths", after: &[], window: false, work: release_maths },
    Stage { name: "docs", after: &[], window: false, work: docs },
    Stage { name: "types", after: &["build"], window: false, work: |it| types::types(it, true) },
    Stage { name: "ui-check", after: &[], window: true, work: |it| npm(it, &["run", "check"]) },
    Stage { name: "ui-lint", after: &[], window: true, work: |it| npm(it, &["run", "lint"]) },
    Stage { name: "ui-fmt", after: &[], window: true, work: |it| npm(it, &["run", "fmt"]) },
    Stage { name: "ui-test", after: &[], window: true, work: |it| npm(it, &["test"]) },
    Stage { name: "window", after: &["build"], window: true, work: window },
    Stage { name: "e2e", after: &["build", "window"], window: true, work: end_to_end },
];

fn fmt(shell: &Shell) -> Result<(), Failure> {
    shell.run(shell.cargo(&["fmt", "--all", "--check", "--", "--color", "never"]))
}

fn npm(shell: &Shell, arguments: &[&str]) -> Result<(), Failure> {
    shell.run(shell.npm(arguments))
}

fn clippy(shell: &Shell) -> Result<(), Failure> {
    // The window's crate does not compile without this folder; empty is enough to be checked.
    let pages = shell.root().join("ui/dist");
    fs::create_dir_all(&pages).map_err(Failure::at(&pages))?;
    // With the features that other stages use, or their code would go unchecked.
    let features = "engine/types,boxworth-app/custom-protocol";
    let arguments =
        ["clippy", "--workspace", "--all-targets", "--features", features, "--", "-D", "warnings"];
    shell.run(shell.cargo(&arguments))
}

fn unit(shell: &Shell) -> Result<(), Failure> {
    let packages = ["--workspace", "--exclude", "boxworth-app", "--exclude", "e2e"];
    shell.run(shell.cargo(&[&["test", "--no-fail-fast"][..], &packages].concat()))
}

/// Arithmetic as users run it: optimized, and without the checks for overflow that hide in a debug build.
fn release_maths(shell: &Shell) -> Result<(), Failure> {
    let packages = ["-p", "domain", "-p", "physics"];
    shell.run(
        shell.cargo(
            &[&["test", "--no-fail-fast", "--profile", "testrelease"][..], &packages].concat(),
        ),
    )
}

fn docs(shell: &Shell) -> Result<(), Failure> {
    let packages = ["--workspace", "--exclude", "boxworth-app", "--exclude", "e2e"];
    let mut command =
        shell.cargo(&[&["doc", "--no-deps", "--document-private-items"][..], &packages].concat());
    command.env("RUSTDOCFLAGS", "-D warnings");
    shell.run(command)
}

fn window(shell: &Shell) -> Result<(), Failure> {
    app::window(shell, Profile::Dev)?;
    shell.run(shell.cargo(&["test", "-p", "boxworth-app", "--features", "custom-protocol"]))
}

fn end_to_end(shell: &Shell) -> Result<(), Failure> {
    let arguments = ["test", "--no-fail-fast", "-p", "e2e", "--", "--test-threads=1"];
    shell.run(shell.cargo_on_virtual_screen(&arguments))
}
