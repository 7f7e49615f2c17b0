//! `cargo xtask`: everything that is done to this repository, by people and by CI alike.
//!
//! Standard library only, so that a fresh clone builds it in about two seconds and without a network.

#![expect(clippy::print_stdout, clippy::print_stderr, reason = "a program for the terminal")]

mod app;
mod bench;
mod bundle;
mod crash;
mod deny;
mod json;
mod locked;
mod moment;
mod options;
mod packages;
mod picture;
mod pins;
mod run;
mod sbom;
mod setup;
mod shell;
mod stages;
mod test;
mod tidy;
mod types;
mod verify;

use options::Task;
use shell::{Failure, Shell};
use std::process::ExitCode;

fn main() -> ExitCode {
    match work() {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => {
            // `test` has said all, and its summary is the last line.
            if !failure.text.is_empty() {
                eprintln!("xtask: {}", failure.text);
            }
            ExitCode::from(failure.status)
        }
    }
}

fn work() -> Result<(), Failure> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let task = options::parse(&arguments).map_err(Failure::refused)?;
    if task == Task::Help {
        print!("{}", options::USAGE);
        return Ok(());
    }
    let shell = Shell::at_root()?;
    match task {
        Task::Help => Ok(()),
        Task::Setup { window, install } => setup::setup(&shell, window, install),
        Task::Build { window, profile } => {
            setup::setup(&shell, window, true)?;
            app::build(&shell, profile, window)
        }
        Task::Run { headless, profile, band } => run::run(&shell, headless, profile, &band),
        Task::Test(choice) => test::test(&shell, &choice),
        Task::Tidy => tidy::tidy(&shell),
        Task::Types { check } => types::types(&shell, check),
        Task::Screenshot => picture::screenshot(&shell),
        Task::Bench => bench::bench(&shell),
        Task::Bundle { check, profile } => bundle::bundle(&shell, profile, check),
        Task::Sbom { check } => sbom::sbom(&shell, check),
        Task::Deny { without_advisories } => deny::deny(&shell, without_advisories),
        Task::Crash { kills, seed } => crash::crash(&shell, &kills, &seed),
        Task::Verify { write } => verify::verify(&shell, write),
    }
}
