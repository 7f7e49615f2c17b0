//! What can go wrong with a plugin, as a kind for programs and a sentence for people.

/// Why a plugin, or some of its rows, could not be scored.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{plugin}: {text}")]
pub struct Fault {
    /// What happened.
    pub kind: FaultKind,
    /// Id of the plugin, or the name of its file while the id is not known.
    pub plugin: String,
    /// What happened, in one sentence.
    pub text: String,
}

/// Kinds of [`Fault`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum FaultKind {
    /// The worker program cannot be found or started. Not the plugin's fault.
    Start,
    /// The worker is of another build. Not the plugin's fault.
    Version,
    /// The file is missing, has another hash than expected, or is no library with the entry of this interface.
    Refused,
    /// The table of the plugin breaks a rule of the interface.
    Table,
    /// The manifest breaks a rule.
    Manifest,
    /// The sandbox is weaker than the caller demands. Not the plugin's fault.
    Sandbox,
    /// The caller's parameters or inputs do not fit the manifest, or the plugin says so.
    Input,
    /// The worker died from a signal of its own making.
    Crash,
    /// The worker was killed by somebody else, such as the system short of memory or a person.
    Killed,
    /// The plugin ended its process.
    Exit,
    /// The plugin did not answer in time.
    Timeout,
    /// The answer breaks the rules: garbage, wrong lengths, scores outside the declared range, unknown remarks.
    BadReply,
    /// The plugin reported a failure of its own, a caught panic among them.
    Failed,
}

impl FaultKind {
    /// Whether a part of the batch may be to blame, so that it is worth while to score the rest without it.
    pub(crate) fn depends_on_rows(self) -> bool {
        use FaultKind::{BadReply, Crash, Exit, Failed, Killed, Timeout};
        matches!(self, Crash | Killed | Exit | Timeout | BadReply | Failed)
    }
}

/// A fault whose plugin is not named yet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Trouble {
    pub(crate) kind: FaultKind,
    pub(crate) text: String,
}

impl Trouble {
    pub(crate) fn new(kind: FaultKind, text: impl Into<String>) -> Self {
        Trouble { kind, text: text.into() }
    }

    pub(crate) fn of(self, plugin: &str) -> Fault {
        Fault { kind: self.kind, plugin: plugin.to_owned(), text: self.text }
    }
}
