//! What can go wrong with a plugin, as a kind for programs and a sentence for people.

use crate::policy::Blame;

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
    /// Whether it counts towards a quarantine of the plugin, and how.
    pub counts: Option<Counts>,
}

/// How a [`Fault`] counts towards a quarantine.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Counts {
    /// By itself: the plugin crashed or ended while it was loaded.
    AtLoad,
    /// With others: a call failed as a whole.
    InCall,
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
    /// The plugin failed too often, and is left alone until somebody releases it.
    Quarantined,
}

impl FaultKind {
    /// Whose fault it is that a library could not be loaded, or that a call failed as a whole.
    pub(crate) fn blame(self, while_loading: bool) -> Option<Blame> {
        use FaultKind::{
            BadReply, Crash, Exit, Failed, Input, Killed, Manifest, Quarantined, Refused, Sandbox,
            Start, Table, Timeout, Version,
        };
        match self {
            Crash | Exit if while_loading => Some(Blame::Load),
            Crash | Exit | Timeout | BadReply | Failed => Some(Blame::Call),
            Killed => Some(Blame::Unclear),
            Start => Some(Blame::Ours),
            // The same file gives the same answer, and starting again costs nothing that was not asked for.
            Refused | Table | Manifest | Version | Sandbox | Input | Quarantined => None,
        }
    }

    /// A word for it that programs may store.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            FaultKind::Start => "start",
            FaultKind::Version => "version",
            FaultKind::Refused => "refused",
            FaultKind::Table => "table",
            FaultKind::Manifest => "manifest",
            FaultKind::Sandbox => "sandbox",
            FaultKind::Input => "input",
            FaultKind::Crash => "crash",
            FaultKind::Killed => "killed",
            FaultKind::Exit => "exit",
            FaultKind::Timeout => "timeout",
            FaultKind::BadReply => "bad_reply",
            FaultKind::Failed => "failed",
            FaultKind::Quarantined => "quarantined",
        }
    }

    /// Whether a part of the batch may be to blame, so that it is worth while to score the rest without it.
    pub(crate) fn depends_on_rows(self) -> bool {
        use FaultKind::{BadReply, Crash, Exit, Failed, Killed, Timeout};
        matches!(self, Crash | Killed | Exit | Timeout | BadReply | Failed)
    }
}

impl Fault {
    /// The same, with its weight for a quarantine.
    pub(crate) fn counted(self, while_loading: bool) -> Fault {
        let counts = match self.kind.blame(while_loading) {
            Some(Blame::Load) => Some(Counts::AtLoad),
            Some(Blame::Call | Blame::Unclear) => Some(Counts::InCall),
            Some(Blame::Ours) | None => None,
        };
        Fault { counts, ..self }
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
        Fault { kind: self.kind, plugin: plugin.to_owned(), text: self.text, counts: None }
    }
}
