//! What came of the checks of a file.

use std::collections::BTreeMap;
use std::path::PathBuf;

use host::{Sandbox, Sha256Sum};

use crate::check::Check;

/// What came of all checks.
#[derive(Debug, Clone, PartialEq)]
pub struct Report {
    /// The file.
    pub path: PathBuf,
    /// Its size.
    pub size_bytes: u64,
    /// Its hash, to which the checks were pinned.
    pub sha256: Sha256Sum,
    /// What held the workers back; `None` when no check loaded the file.
    pub sandbox: Option<Sandbox>,
    /// What the file says of itself; `None` when its manifest could not be read.
    pub plugin: Option<Plugin>,
    /// What came of each check that was asked for, in the order in which they ran.
    pub verdicts: BTreeMap<Check, Verdict>,
}

/// What a file says of itself.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Plugin {
    /// Its id.
    pub id: String,
    /// Its name.
    pub name: String,
    /// Its version.
    pub version: String,
}

/// What came of one check.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Verdict {
    /// How it ended.
    pub outcome: Outcome,
    /// What was found and what to change; empty when the check passed.
    pub advice: String,
}

/// How a check ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Outcome {
    /// The rule is kept.
    Passed,
    /// The rule is broken.
    Failed,
    /// The process ended in the middle.
    Crashed,
    /// There was no answer in time.
    TimedOut,
    /// The rule does not apply here, or cannot be looked at.
    Skipped,
    /// The plugin will run, but should be changed.
    Warned,
}

impl Outcome {
    /// Whether the file breaks a rule.
    #[must_use]
    pub fn is_bad(self) -> bool {
        matches!(self, Outcome::Failed | Outcome::Crashed | Outcome::TimedOut)
    }

    /// The outcome in words.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Outcome::Passed => "passed",
            Outcome::Failed => "failed",
            Outcome::Crashed => "crashed",
            Outcome::TimedOut => "timed out",
            Outcome::Skipped => "skipped",
            Outcome::Warned => "warned",
        }
    }
}

impl Report {
    /// Whether no rule is broken.
    #[must_use]
    pub fn is_good(&self) -> bool {
        self.verdicts.values().all(|it| !it.outcome.is_bad())
    }
}

impl Verdict {
    pub(crate) fn passed() -> Self {
        Verdict { outcome: Outcome::Passed, advice: String::new() }
    }

    pub(crate) fn failed(advice: impl Into<String>) -> Self {
        Verdict { outcome: Outcome::Failed, advice: advice.into() }
    }

    pub(crate) fn warned(advice: impl Into<String>) -> Self {
        Verdict { outcome: Outcome::Warned, advice: advice.into() }
    }

    pub(crate) fn skipped(why: impl Into<String>) -> Self {
        Verdict { outcome: Outcome::Skipped, advice: why.into() }
    }
}
