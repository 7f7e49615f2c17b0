//! The arguments of what belongs to one teardown: the parts list of its crossover, its sweeps.

use std::path::PathBuf;

use clap::{Args, Subcommand, ValueHint};

/// Which teardown.
#[derive(Debug, Args)]
pub(crate) struct Teardown {
    /// The key, such as marrowfield/stile-5
    pub(crate) product: String,
    /// The day of the teardown; without it that of the newest one
    #[arg(long, value_name = "YYYY-MM-DD")]
    pub(crate) date: Option<String>,
    /// The label of the specimen; without it that of the newest teardown
    #[arg(long, value_name = "LABEL")]
    pub(crate) specimen: Option<String>,
}

/// How a change is kept.
#[derive(Debug, Args)]
pub(crate) struct Change {
    /// How a new specimen was come by: retail, lent, gift, 'second hand'
    #[arg(long, value_name = "HOW")]
    pub(crate) acquired: Option<String>,
    /// Why; it is kept with the change
    #[arg(long, value_name = "TEXT", default_value = "")]
    pub(crate) reason: String,
}

#[derive(Debug, Subcommand)]
pub(crate) enum Network {
    /// List the parts of the crossover
    Show {
        #[command(flatten)]
        at: Teardown,
    },
    /// Change cells of one part, or add a part
    Set {
        #[command(flatten)]
        at: Teardown,
        /// The name of the part, such as C1
        part: String,
        /// What to write: kind, from, to, value, loss, tolerance, construction, rating, note or name; such as value='5.6 µF'
        #[arg(required = true, value_name = "CELL=TEXT", value_parser = cell)]
        cells: Vec<(String, String)>,
        #[command(flatten)]
        change: Change,
    },
    /// Remove parts
    Remove {
        #[command(flatten)]
        at: Teardown,
        /// The names of the parts
        #[arg(required = true, value_name = "PART")]
        parts: Vec<String>,
        #[command(flatten)]
        change: Change,
    },
    /// Take the whole list from a file: a JSON list of parts, as `network show --json` prints them under parts
    Read {
        #[command(flatten)]
        at: Teardown,
        /// The file; - for standard input
        #[arg(value_hint = ValueHint::FilePath)]
        file: PathBuf,
        #[command(flatten)]
        change: Change,
    },
}

/// A cell may be emptied, so the text may be empty.
fn cell(text: &str) -> Result<(String, String), String> {
    text.split_once('=')
        .map(|(cell, text)| (cell.trim().to_owned(), text.trim().to_owned()))
        .filter(|(cell, _)| !cell.is_empty())
        .ok_or_else(|| format!("{text:?} is not CELL=TEXT"))
}

#[derive(Debug, Subcommand)]
pub(crate) enum Sweep {
    /// Show what is fitted to a recorded sweep
    Show {
        #[command(flatten)]
        at: Teardown,
        /// What was measured: whole, or a driver such as woofer
        part: String,
    },
    /// Record a sweep from a file of columns
    Read {
        #[command(flatten)]
        at: Teardown,
        /// What was measured: whole, or a driver such as woofer
        part: String,
        /// The file; - for standard input
        #[arg(value_hint = ValueHint::FilePath)]
        file: PathBuf,
        /// A remark on the sweep
        #[arg(long, value_name = "TEXT", default_value = "")]
        note: String,
        /// Read and fit, change nothing
        #[arg(long)]
        dry_run: bool,
        #[command(flatten)]
        change: Change,
    },
    /// Take a sweep out
    Remove {
        #[command(flatten)]
        at: Teardown,
        /// What was measured
        part: String,
        #[command(flatten)]
        change: Change,
    },
}
