//! The answers about the numbers that score.

use super::{Remark, answer};

answer! {
    /// The numbers that score, as the plugins say and as the catalogue has them.
    pub struct RubricList {
        /// The weights of subsystems, then each plugin's numbers in the order of its manifest.
        pub numbers: Vec<RubricNumber>,
        /// Changes that hold but have no place in the plugins as they are now.
        pub unused: Vec<RubricChangeDto>,
        /// Plugins that could not be loaded, so that their numbers are not listed.
        pub remarks: Vec<Remark>,
    }
}

answer! {
    /// A number, a curve or a table that a catalogue may change.
    pub struct RubricNumber {
        /// Its address, such as `cabinet.criterion.panel_mode.weight`.
        pub address: String,
        /// The id of the plugin; null for the weight of a subsystem.
        pub plugin: Option<String>,
        /// The subsystem.
        pub subsystem: String,
        /// `weight`, `curve`, `table`, `bonus` or `param`.
        pub kind: String,
        /// The criterion's title, or the parameter's id.
        pub title: String,
        /// The unit of the number or of the measures of a curve; empty for pure numbers.
        pub unit: String,
        /// What the manifest says, as it is typed.
        pub manifest: String,
        /// What the catalogue says instead; null when the manifest holds.
        pub catalogue: Option<String>,
        /// Why it was changed.
        pub reason: Option<String>,
        /// Since when the change holds.
        pub since: Option<String>,
        /// What is accepted.
        pub accepted: String,
        /// What is measured, or what the parameter does.
        pub doc: String,
        /// Where the number comes from; `editorial` where it is a judgement.
        pub source: String,
    }
}

answer! {
    /// What holds at an address now.
    pub struct RubricSetting {
        /// The address.
        pub address: String,
        /// What the catalogue says; null when the manifest holds.
        pub catalogue: Option<String>,
        /// What the manifest says; null when the plugin is not loaded.
        pub manifest: Option<String>,
    }
}

answer! {
    /// All changes ever recorded, newest first.
    pub struct RubricHistory {
        /// The changes.
        pub changes: Vec<RubricChangeDto>,
    }
}

answer! {
    /// One change.
    pub struct RubricChangeDto {
        /// The address; with the plugin's id when no loaded plugin has it.
        pub address: String,
        /// The new value; null for the way back to the manifest.
        pub value: Option<String>,
        /// Why.
        pub reason: String,
        /// When it was recorded, UTC.
        pub recorded_at: String,
        /// Whether no later change of this address was recorded.
        pub holds: bool,
    }
}
