//! Answers about the conformance of a plugin file.

use super::answer;

answer! {
    /// What the checks of a plugin file found. The file is not trusted by it.
    pub struct PluginCheck {
        /// The file, in full.
        pub file: String,
        /// Its size.
        pub size_bytes: u32,
        /// Its SHA-256 when the checks began; other bytes were not loaded.
        pub sha256: String,
        /// How well the workers were shut in; null when no check loaded the file.
        pub sandbox: Option<String>,
        /// The plugin's id; null when its manifest could not be read.
        pub id: Option<String>,
        /// Its name.
        pub name: Option<String>,
        /// Its version.
        pub version: Option<String>,
        /// Whether no check failed, crashed or timed out.
        pub conforms: bool,
        /// Checks that passed.
        pub passed: u32,
        /// Checks that found something better changed.
        pub warned: u32,
        /// Checks that found a broken rule.
        pub failed: u32,
        /// Checks in which the process ended.
        pub crashed: u32,
        /// Checks that had no answer in time.
        pub timed_out: u32,
        /// Checks that do not apply, or that rest on one that is not passed.
        pub skipped: u32,
        /// The checks, in the order made.
        pub checks: Vec<PluginCheckRow>,
    }
}

answer! {
    /// One check of a plugin file.
    pub struct PluginCheckRow {
        /// Its id.
        pub id: String,
        /// What it is about: `load`, `numeric`, `determinism` or `manners`.
        pub group: String,
        /// What is required.
        pub rule: String,
        /// `passed`, `failed`, `crashed`, `timed out`, `skipped` or `warned`.
        pub outcome: String,
        /// What was found and what to change; empty when it passed.
        pub advice: String,
    }
}
