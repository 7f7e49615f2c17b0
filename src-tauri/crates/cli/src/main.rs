//! `boxworth`: everything that the window does without a picture.
//!
//! Data goes to standard output, everything else to standard error. The exit status is 0 when done, 1 when done with a
//! negative answer, 2 when refused with nothing changed, 3 for a fault of the program.
#![forbid(unsafe_code)]

mod args;
mod claims;
mod commands;
mod compute;
mod failure;
mod network;
mod output;
mod photo;
mod progress;
mod publication;
mod reference;
mod sweep;

use std::process::ExitCode;

use clap::Parser;

use args::Cli;
use output::Output;

/// What a command that went through says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Answer {
    Done,
    Negative,
}

fn main() -> ExitCode {
    let cli = match Cli::try_parse() {
        Ok(it) => it,
        Err(why) => return failure::usage(&why),
    };
    let mut output = Output::new(cli.global.json);
    match commands::run(&cli, &mut output) {
        Ok(Answer::Done) => ExitCode::SUCCESS,
        Ok(Answer::Negative) => ExitCode::from(1),
        Err(why) => why.report(cli.global.json),
    }
}
