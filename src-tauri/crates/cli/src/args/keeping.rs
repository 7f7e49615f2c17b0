//! Options of what keeps a catalogue: copies, history and the doctor.

use std::path::PathBuf;

use clap::{Args, ValueHint};

#[derive(Debug, Args)]
pub(crate) struct Backup {
    /// Only list the copies that there are
    #[arg(long)]
    pub(crate) list: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Restore {
    /// The copy, as listed by `boxworth backup --list`
    #[arg(value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub(crate) copy: PathBuf,
    /// Also where the catalogue was changed after the copy was made, or cannot be read
    #[arg(long)]
    pub(crate) discard_newer: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Doctor {
    /// Put right what needs no guess: indices, guards of the facts, files that nothing names
    #[arg(long)]
    pub(crate) repair: bool,
}

#[derive(Debug, Args)]
pub(crate) struct History {
    /// The key, such as marrowfield/stile-5
    #[arg(required_unless_present = "write")]
    pub(crate) product: Option<String>,
    /// Only this finding
    #[arg(value_name = "PART.KEY")]
    pub(crate) finding: Option<String>,
    /// Write the history of the whole catalogue to a file, which must not exist; `replay` goes through it again
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath, conflicts_with = "product")]
    pub(crate) write: Option<PathBuf>,
}
