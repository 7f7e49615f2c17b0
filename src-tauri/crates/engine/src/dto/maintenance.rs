//! Answers about imports, plugins and the health of a catalogue.

use super::answer;

answer! {
    /// What an import did, or would do.
    pub struct ImportReport {
        /// Whether it was only tried.
        pub dry_run: bool,
        /// Products seen.
        pub products: u32,
        /// Products that were not there before.
        pub new_products: u32,
        /// Facts added: findings, prices, specimens, teardowns, network parts, sweeps.
        pub added: u32,
        /// Findings that replace earlier ones.
        pub corrected: u32,
        /// Facts that were there already.
        pub unchanged: u32,
        /// What was assumed or converted in the files, and what is probably a slip.
        pub notes: Vec<ImportNote>,
    }
}

answer! {
    /// Something about an imported file that is no fault.
    pub struct ImportNote {
        /// The file, relative to the folder.
        pub file: String,
        /// The line from 1, where one can be named.
        pub line: Option<u32>,
        /// What there is to say.
        pub text: String,
    }
}

answer! {
    /// One fault of an import.
    pub struct ImportFault {
        /// The file, relative to the folder.
        pub file: String,
        /// The line from 1, where one can be named.
        pub line: Option<u32>,
        /// The path of keys inside the file, or empty.
        pub key: String,
        /// What is wrong.
        pub message: String,
        /// The accepted form, or empty.
        pub accepted: String,
    }
}

answer! {
    /// The plugins of this program and what is known of them.
    pub struct PluginList {
        /// The plugins.
        pub plugins: Vec<PluginRow>,
    }
}

answer! {
    /// One plugin.
    pub struct PluginRow {
        /// The file name.
        pub file: String,
        /// Where it is.
        pub path: String,
        /// Its size; null when it cannot be read.
        pub size_bytes: Option<u32>,
        /// The SHA-256 that it must have; what it has where nothing is pinned.
        pub sha256: String,
        /// Why it may be loaded: `this build`, `you`, or null when it may not.
        pub trusted_by: Option<String>,
        /// When you trusted it, UTC; null for plugins of this build.
        pub trusted_at: Option<String>,
        /// Its id; null when it was not loaded.
        pub id: Option<String>,
        /// Its name.
        pub name: Option<String>,
        /// Its version.
        pub version: Option<String>,
        /// The subsystem it scores.
        pub subsystem: Option<String>,
        /// The number of criteria.
        pub criteria: u32,
        /// How well it was shut in.
        pub sandbox: Option<String>,
        /// Why it was not loaded, or null.
        pub fault: Option<String>,
        /// What it did wrong since it was last released, oldest first.
        pub faults: Vec<PluginFaultRow>,
        /// From when on it is in quarantine, UTC; null when it is not.
        pub quarantined_since: Option<String>,
    }
}

answer! {
    /// A plugin file before anybody decides on it. Nothing of it was loaded.
    pub struct PluginFileView {
        /// The file, in full.
        pub path: String,
        /// Its size.
        pub size_bytes: u32,
        /// The SHA-256 of its bytes.
        pub sha256: String,
        /// Since when a file of these bytes is trusted, UTC; null when it is not.
        pub trusted_at: Option<String>,
        /// Trusted files whose place it would take, as far as that can be told without loading it.
        pub replaces: Vec<ReplacedPlugin>,
        /// What there is to know before a decision.
        pub caution: String,
    }
}

answer! {
    /// A decision that ends because another one takes its place.
    pub struct ReplacedPlugin {
        /// Where the file was.
        pub path: String,
        /// Its SHA-256.
        pub sha256: String,
        /// The id of the plugin; null when its manifest was not kept.
        pub id: Option<String>,
        /// Its version.
        pub version: Option<String>,
    }
}

answer! {
    /// A decision to trust.
    pub struct TrustReport {
        /// The plugin.
        pub plugin: PluginRow,
        /// The decisions that ended by it.
        pub replaces: Vec<ReplacedPlugin>,
    }
}

answer! {
    /// What a plugin did wrong.
    pub struct PluginFaultRow {
        /// When, UTC.
        pub at: String,
        /// A word for it; it begins with `load_` when it put the plugin in quarantine by itself.
        pub kind: String,
        /// What happened.
        pub detail: String,
    }
}

answer! {
    /// A plugin that was written for its author to go on with.
    pub struct NewPlugin {
        /// The folder.
        pub folder: String,
        /// The plugin's id.
        pub id: String,
        /// The subsystem it scores.
        pub subsystem: String,
        /// The language: `rust` or `c`.
        pub lang: String,
        /// The files written, by their path in the folder.
        pub files: Vec<String>,
        /// The commands that test and build it, given in the folder.
        pub build: Vec<String>,
        /// The library that they make, by its path in the folder.
        pub library: String,
    }
}

answer! {
    /// The health of a catalogue and of this installation.
    pub struct DoctorReport {
        /// Whether all checks passed.
        pub healthy: bool,
        /// The checks, in the order made.
        pub checks: Vec<DoctorCheck>,
    }
}

answer! {
    /// One check.
    pub struct DoctorCheck {
        /// What was checked.
        pub name: String,
        /// Whether it passed.
        pub passed: bool,
        /// What was found.
        pub detail: String,
    }
}

answer! {
    /// What was put right, and the health after it.
    pub struct RepairReport {
        /// What was done, one sentence each; empty when there was nothing that could be put right without a guess.
        pub repaired: Vec<String>,
        /// The catalogue as it was, byte for byte; null when nothing in the file itself was tried.
        pub kept: Option<String>,
        /// The checks after it.
        pub after: DoctorReport,
    }
}
