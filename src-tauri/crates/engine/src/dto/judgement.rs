//! The answer about what each plugin judges by: inputs, criteria with their curves, and the numbers that can be changed.

use super::{PlotPoint, PluginRow, Remark, RubricChangeDto, RubricNumber, answer};

answer! {
    /// All that decides a score in this catalogue.
    pub struct Judgement {
        /// Each plugin that is known, loaded or not.
        pub plugins: Vec<PluginJudgement>,
        /// The weights of the subsystems in the index.
        pub subsystems: Vec<RubricNumber>,
        /// How far findings of each grade of evidence may be off.
        pub evidence: Vec<RubricNumber>,
        /// Changes that hold but have no place in the plugins as they are now.
        pub unused: Vec<RubricChangeDto>,
        /// All changes ever recorded, newest first.
        pub history: Vec<RubricChangeDto>,
        /// Plugins that could not be loaded.
        pub remarks: Vec<Remark>,
    }
}

answer! {
    /// What one plugin judges by.
    pub struct PluginJudgement {
        /// The file, its trust and its faults.
        pub row: PluginRow,
        /// What of it is known; null when it was not loaded.
        pub manifest: Option<PluginManifest>,
    }
}

answer! {
    /// What a plugin says of itself, with the catalogue's changes.
    pub struct PluginManifest {
        /// Who made it.
        pub vendor: String,
        /// SPDX expression.
        pub licence: String,
        /// Name and number of its rules.
        pub rubric: String,
        /// Whether equal inputs give equal scores.
        pub deterministic: bool,
        /// What it reads.
        pub inputs: Vec<PluginInput>,
        /// Findings of its own.
        pub findings: Vec<PluginFinding>,
        /// What it scores.
        pub criteria: Vec<CriterionJudgement>,
        /// Its parameters.
        pub params: Vec<RubricNumber>,
    }
}

answer! {
    /// Something a plugin reads.
    pub struct PluginInput {
        /// Id of a quantity, or address of a finding.
        pub id: String,
        /// `number`, `choice`, `count`, `bool` or `curve`.
        pub kind: String,
        /// SI unit; empty for pure numbers.
        pub unit: String,
        /// Whether nothing can be scored without it.
        pub required: bool,
    }
}

answer! {
    /// A finding that a plugin brings.
    pub struct PluginFinding {
        /// Its key: the plugin's id, a dot and a name.
        pub key: String,
        /// Name on the form.
        pub label: String,
        /// The part it is about.
        pub part: String,
        /// Unit; empty for pure numbers.
        pub unit: String,
        /// Why it matters.
        pub why: String,
    }
}

answer! {
    /// One criterion, with what a catalogue may change of it.
    pub struct CriterionJudgement {
        /// Key.
        pub id: String,
        /// Name.
        pub title: String,
        /// `lower`, `higher` or `target`.
        pub better: String,
        /// Its share of the plugin's score, 0 to 1, where every criterion applies.
        pub share: f64,
        /// Ids of what it reads.
        pub inputs: Vec<String>,
        /// Its weight.
        pub weight: RubricNumber,
        /// What a measure is worth; null where the measure is the points.
        pub utility: Option<RubricNumber>,
        /// The curve of `utility`, drawn; null where there is none.
        pub curve: Option<UtilityCurve>,
        /// What is added for some of the inputs.
        pub bonus: Option<RubricNumber>,
        /// What is measured and why it matters.
        pub doc: String,
        /// Where the rule comes from; `editorial` where it is a judgement.
        pub source: String,
    }
}

answer! {
    /// What a measure is worth, as a line in a unit square or as a row for each word.
    pub struct UtilityCurve {
        /// The line of now; empty for a table of words.
        pub now: Vec<PlotPoint>,
        /// The line of the manifest; empty where it is that of now.
        pub manifest: Vec<PlotPoint>,
        /// The words of a table, in the order of the manifest; empty for a line.
        pub words: Vec<UtilityWord>,
        /// The measure at the left, with its unit.
        pub left: String,
        /// The measure at the right, with its unit.
        pub right: String,
        /// Whether the measure runs in decades.
        pub log: bool,
        /// The curve as a sentence.
        pub sentence: String,
    }
}

answer! {
    /// What a word is worth.
    pub struct UtilityWord {
        /// The word.
        pub word: String,
        /// Its points.
        pub points: f64,
        /// What the manifest gives it.
        pub manifest: f64,
    }
}
