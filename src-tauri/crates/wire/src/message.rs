//! The messages. Their text, as a hash, is part of the build mark, so a change here is a version of its own.

use std::path::PathBuf;

use serde::{Deserialize, Serialize};

use crate::Hello;

/// Most rows in one [`Evaluate`] that may be split.
pub const MAX_ROWS: usize = 1000;
/// Most rows in one [`Evaluate`] without remarks that may be split. Long enough that what a call costs beside its rows
/// does not count, short enough that its numbers stay in the processor's cache.
pub const MAX_SILENT_ROWS: usize = 8192;
/// Most remarks in one [`Done`].
pub const MAX_REMARKS: usize = 10_000;
/// Longest text of a [`LogLine`], in bytes.
pub const MAX_LOG_LINE_BYTES: usize = 4096;
/// Longest log of one [`Done`], in bytes.
pub const MAX_LOG_BYTES: usize = 64 * 1024;

/// What the host says.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum ToWorker {
    /// Load a library; comes first and once.
    Load(Load),
    /// Score a batch; one at a time.
    Evaluate(Evaluate),
    /// Ask the plugin to stop; no answer of its own.
    Cancel {
        /// The job to stop; another one is left alone.
        job: u64,
    },
    /// Show something that no job needs; between jobs.
    Probe(Probe),
}

/// What the worker says.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum FromWorker {
    /// Comes first, unasked.
    Hello(Hello),
    /// Answer to [`ToWorker::Load`].
    Loaded(Loaded),
    /// Answer to [`ToWorker::Load`]: the library was not taken, and the worker ends.
    Refused {
        /// What was not taken.
        part: Part,
        /// One sentence.
        why: String,
    },
    /// Answer to [`ToWorker::Evaluate`].
    Done(Done),
    /// Answer to [`ToWorker::Probe`].
    Probed(Probed),
}

/// The part of a library that was not taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Part {
    /// The file as a library.
    Library,
    /// The table that its entry gives.
    Table,
    /// The text of its manifest.
    Manifest,
}

/// What only a conformance check asks for. Scores are asked for in the usual way.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum Probe {
    /// What the entry gives.
    Entry,
    /// Ask for an extension.
    Extension {
        /// Its id.
        id: String,
    },
    /// Make an instance from these parameters, whatever the manifest says of them, and end it.
    Create {
        /// The parameters.
        params: Vec<f64>,
    },
    /// Put the present instance aside and take up the one that lay there, or none.
    Swap,
    /// End the present instance.
    End,
    /// Print what the C library still holds back for standard output.
    Flush,
}

/// What a [`Probe`] showed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum Probed {
    /// Answer to [`Probe::Entry`].
    Entry {
        /// Plugins before the first null, as far as they were counted.
        n_plugins: u32,
        /// Whether all indices past them that were tried give null.
        ends: bool,
        /// Size of the first table, in bytes.
        table_bytes: u32,
        /// Minor version in the first table.
        abi_minor: u16,
        /// Whether it makes instances.
        has_create: bool,
    },
    /// Answer to [`Probe::Extension`]; `None` when extensions are not offered.
    Extension {
        /// Whether there is one of this id.
        found: Option<bool>,
    },
    /// Answer to [`Probe::Create`]; `None` when the plugin makes no instances.
    Create {
        /// What it returned and logged.
        done: Option<Done>,
    },
    /// Answer to the others.
    Ready,
}

/// Which library to load.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Load {
    /// The file.
    pub path: PathBuf,
    /// The hash its bytes must have.
    pub sha256: [u8; 32],
    /// What the process may use.
    pub limits: Limits,
}

/// What a worker process may use.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Limits {
    /// Address space, in bytes.
    pub address_space_bytes: u64,
    /// Open files.
    pub open_files: u64,
    /// Longest file it may write, in bytes.
    pub file_bytes: u64,
}

impl Default for Limits {
    fn default() -> Self {
        Limits { address_space_bytes: 2 << 30, open_files: 64, file_bytes: 1 << 20 }
    }
}

/// A library is loaded.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Loaded {
    /// The manifest as the library has it, unread.
    pub manifest: String,
    /// What holds the process back.
    pub sandbox: Sandbox,
}

/// What holds a worker process back.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub enum Sandbox {
    /// Files, network, programs and resources are all restricted.
    Full,
    /// Some restriction is missing.
    Partial {
        /// Which one, in words.
        missing: String,
    },
    /// Nothing but the process boundary.
    ProcessOnly,
}

/// A batch to score.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Evaluate {
    /// Number of the job, repeated in the answer.
    pub job: u64,
    /// Values of the parameters, in the order of the manifest.
    pub params: Vec<f64>,
    /// Number of rows.
    pub n_rows: u32,
    /// Number of criteria.
    pub n_criteria: u32,
    /// Inputs, in the order of the manifest.
    pub inputs: Vec<Input>,
    /// How long the host waits; the worker sets its processor time limit by it.
    pub deadline_ms: u64,
    /// The half of the shared memory in which the values of the inputs lie, one input after the other, and the scores
    /// shall lie; both are empty in the messages then.
    pub half: Option<u32>,
    /// Whether remarks are wanted.
    pub remarks: bool,
}

/// One input for all rows.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Input {
    /// Kind, as the plugin interface numbers it.
    pub kind: u32,
    /// Abscissae of a curve; empty for a scalar.
    pub grid: Vec<f64>,
    /// One value a row, or as many as `grid` row by row.
    pub values: Vec<f64>,
}

/// A batch is scored, or not.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Done {
    /// Number of the job.
    pub job: u64,
    /// Which function gave the status.
    pub stage: Stage,
    /// What the plugin returned.
    pub status: i32,
    /// Scores, row by row; empty when the status is not 0, or when they lie in the shared memory.
    pub scores: Vec<f64>,
    /// What it said about rows.
    pub remarks: Vec<Remark>,
    /// What it logged.
    pub log: Vec<LogLine>,
}

/// A function of the plugin.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Stage {
    /// Making an instance from the parameters.
    Create,
    /// Scoring.
    Evaluate,
}

/// What the plugin said about a row.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Remark {
    /// The row.
    pub row: u32,
    /// Index into the remarks of the manifest.
    pub code: u32,
    /// Numbers for its text.
    pub args: Vec<f64>,
}

/// A text the plugin logged.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LogLine {
    /// Level, as the plugin interface numbers it.
    pub level: i32,
    /// The text.
    pub text: String,
}
