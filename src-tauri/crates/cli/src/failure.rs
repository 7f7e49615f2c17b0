//! Errors on standard error, and the exit status that goes with them.

use std::{
    io::{self, Write},
    process::ExitCode,
};

use clap::error::ErrorKind;
use engine::{Code, ErrorDto};

const REFUSED: u8 = 2;
const INTERNAL: u8 = 3;

/// Why a command did not go through.
#[derive(Debug)]
pub(crate) enum Failure {
    /// The engine refused or failed.
    Engine(engine::Error),
    /// A calculation refused its input; the error is a JSON object of its own, `--json` or not.
    Compute(engine::compute::Fault),
    /// Standard output takes nothing more.
    Output(io::Error),
    /// The program contradicts itself.
    Internal(String),
}

impl From<engine::Error> for Failure {
    fn from(why: engine::Error) -> Self {
        Failure::Engine(why)
    }
}

impl From<engine::compute::Fault> for Failure {
    fn from(why: engine::compute::Fault) -> Self {
        Failure::Compute(why)
    }
}

impl Failure {
    /// Prints it and gives the exit status.
    pub(crate) fn report(&self, json: bool) -> ExitCode {
        let (code, text) = match self {
            Failure::Engine(why) => (if why.is_internal() { INTERNAL } else { REFUSED }, text(why)),
            Failure::Compute(why) => {
                complain(&format!("{}\n", why.to_json()));
                return ExitCode::from(REFUSED);
            }
            Failure::Output(why) => {
                (INTERNAL, format!("boxworth: standard output cannot be written: {why}\n"))
            }
            Failure::Internal(why) => (INTERNAL, format!("boxworth: internal fault: {why}\n")),
        };
        if json {
            complain(&lines(&self.faults()))
        } else {
            complain(&text)
        }
        ExitCode::from(code)
    }

    fn faults(&self) -> Vec<ErrorDto> {
        let one = |code: &str, message: String| {
            vec![ErrorDto {
                code: code.into(),
                message,
                r#where: String::new(),
                accepted: String::new(),
            }]
        };
        match self {
            Failure::Engine(why) => why.faults(),
            Failure::Compute(why) => one(why.code.word(), why.message.clone()),
            Failure::Output(why) => {
                one(Code::Io.word(), format!("standard output cannot be written: {why}"))
            }
            Failure::Internal(why) => one(Code::Internal.word(), why.clone()),
        }
    }
}

fn text(why: &engine::Error) -> String {
    let mut text = engine::text::error(why);
    if why.code() == Code::NoCatalogue {
        text.push_str("make one with: boxworth new FILE\n");
    }
    text
}

/// What the command line itself refuses: help and version are no errors and go to standard output.
pub(crate) fn usage(why: &clap::Error) -> ExitCode {
    if matches!(why.kind(), ErrorKind::DisplayHelp | ErrorKind::DisplayVersion) {
        let mut output = crate::output::Output::new(false);
        return match output.text(&why.render().to_string()) {
            Ok(()) => ExitCode::SUCCESS,
            Err(why) => why.report(false),
        };
    }
    let rendered = why.render().to_string();
    if asks_for_json() {
        let (message, rest) = rendered.split_once("\n\n").unwrap_or((&rendered, ""));
        let usage = rest.lines().find_map(|it| it.strip_prefix("Usage: ")).unwrap_or_default();
        complain(&lines(&[ErrorDto {
            code: "usage".into(),
            message: message.trim_start_matches("error: ").trim().replace('\n', " "),
            r#where: String::new(),
            accepted: usage.into(),
        }]));
    } else {
        complain(&rendered);
    }
    ExitCode::from(REFUSED)
}

/// Whether `--json` stands among arguments that could not be parsed.
fn asks_for_json() -> bool {
    std::env::args_os().skip(1).take_while(|it| it != "--").any(|it| it == "--json")
}

/// One JSON object a line.
fn lines(faults: &[ErrorDto]) -> String {
    faults.iter().map(|it| serde_json::json!(it).to_string() + "\n").collect()
}

/// Nothing is left to be done when standard error is closed too.
pub(crate) fn complain(text: &str) {
    let _ = io::stderr().lock().write_all(text.as_bytes());
}
