//! The manifest: one static JSON text in which a plugin says what it reads and what it scores.
//!
//! `manifest.schema.json` states the same for editors. [`Manifest::parse`] is the only way in; what it lets through
//! obeys every rule of that file and the ones a schema cannot say (ids unique, references resolved, numbers ordered).

mod check;
mod text;

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

pub use text::render;

use crate::abi::NOT_APPLICABLE;

/// Longest manifest accepted, in bytes.
pub const MAX_BYTES: usize = 256 * 1024;

/// A parsed and checked manifest.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Manifest {
    /// Version of the interface the plugin was made for.
    pub abi: Abi,
    /// Reversed domain, e.g. `org.boxworth.cabinet`.
    pub id: String,
    /// Short key used in results, e.g. `cabinet`.
    pub subsystem: String,
    /// Version of the plugin.
    pub version: String,
    /// Name for people.
    pub name: String,
    /// Who made it.
    pub vendor: String,
    /// SPDX expression.
    pub licence: String,
    /// Name and number of the judgement rules. It changes when a score can change, e.g. `cabinet 1`.
    pub rubric: String,
    /// What it reads, in the order in which a batch brings it.
    pub inputs: Vec<Input>,
    /// What the user may set, in the order in which `create` gets it.
    #[serde(default)]
    pub params: Vec<Param>,
    /// What it scores, in the order of the score columns.
    pub criteria: Vec<Criterion>,
    /// What it may say about a row; the code sent is the index in this list.
    #[serde(default)]
    pub remarks: Vec<Remark>,
    /// Findings of its own, which join forms, imports, exports and history while the plugin is trusted.
    #[serde(default)]
    pub findings: Vec<Finding>,
    /// Whether a row's scores depend on the other rows.
    pub batch: BatchKind,
    /// Whether equal inputs give equal bits.
    pub deterministic: bool,
}

/// Version of the interface.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Abi {
    /// Must be the host's.
    pub major: u16,
    /// May be newer than the host's.
    pub minor: u16,
}

/// Something a plugin reads.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Input {
    /// Id of a quantity, or address of a finding: `PART.KEY`, and `PART.PLUGINID.KEY` for one that a plugin brings.
    pub id: String,
    /// How its values are to be read.
    pub kind: InputKind,
    /// SI unit, to which the app converts what was typed; `1` for a pure number, and when absent.
    #[serde(default = "one")]
    pub unit: String,
    /// Unit of the grid; curves only.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub x_unit: Option<String>,
    /// Whether the plugin can score nothing without it.
    #[serde(default)]
    pub required: bool,
    /// Names of the values; choices only. A batch brings the index.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub choices: Vec<String>,
}

/// How the values of an input are to be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum InputKind {
    /// A number in the declared unit.
    Number,
    /// An index into the declared choices.
    Choice,
    /// A whole number.
    Count,
    /// 0 or 1.
    Bool,
    /// Values over a grid that all rows share.
    Curve,
}

/// A number the user may set, for one catalogue, at the address `SUBSYSTEM.param.ID` of the rubric.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Param {
    /// Key.
    pub id: String,
    /// Unit; `1` for a pure number.
    pub unit: String,
    /// Value when the user sets none.
    pub default: f64,
    /// Lowest value.
    pub min: f64,
    /// Highest value.
    pub max: f64,
    /// What it does.
    #[serde(default)]
    pub doc: String,
    /// Where the default comes from; `editorial` where it is a judgement.
    #[serde(default)]
    pub source: String,
}

/// Something a plugin scores.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Criterion {
    /// Key, unique inside the plugin.
    pub id: String,
    /// Name for people.
    pub title: String,
    /// Unit of the measure.
    pub unit: String,
    /// Which way is good.
    pub better: Better,
    /// Lowest and highest measure, in `unit`; `null` where there is no end. `[0, 100]` without a utility,
    /// `[0, number of choices - 1]` for the table of a choice.
    pub range: [Option<f64>; 2],
    /// Weight relative to the other criteria of this plugin.
    pub weight: f64,
    /// Ids of the inputs it reads; with one of them missing it may stay unscored.
    pub inputs: Vec<String>,
    /// How a measure becomes 0..100; when absent the measure already is such a utility.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub utility: Option<Utility>,
    /// What is added to the utility for some of the inputs.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bonus: Option<Bonus>,
    /// What is measured and why it matters.
    pub doc: String,
    /// Where the rule comes from; `editorial` where it is a judgement.
    pub source: String,
}

impl Criterion {
    /// Whether a score is one a plugin may give: NaN, "not applicable", or a finite measure inside the range, which is
    /// whole where it stands for a choice.
    #[must_use]
    pub fn accepts(&self, score: f64) -> bool {
        let [low, high] = self.range;
        let inside = score.is_finite()
            && low.is_none_or(|it| it <= score)
            && high.is_none_or(|it| score <= it)
            && (!self.is_choice() || score.fract() == 0.0);
        score.is_nan() || inside || score == NOT_APPLICABLE
    }

    /// Whether the measure is the index of a choice.
    #[must_use]
    pub fn is_choice(&self) -> bool {
        matches!(self.utility, Some(Utility::Choice { .. }))
    }
}

/// Which way is good.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Better {
    /// Less is better.
    Lower,
    /// More is better.
    Higher,
    /// A value between is best.
    Target,
}

/// A map from measure to utility.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "scale", rename_all = "lowercase")]
pub enum Utility {
    /// Pieces straight in the measure, flat outside the points.
    Linear {
        /// Pairs of measure (strictly increasing) and utility (0..100).
        points: Vec<[f64; 2]>,
    },
    /// Pieces straight in the logarithm of the measure, flat outside the points.
    Log {
        /// As for [`Utility::Linear`], with measures above 0.
        points: Vec<[f64; 2]>,
    },
    /// A table: the measure is the index of a choice of one input.
    Choice {
        /// Utility (0..100) of each word that the input lists.
        points: BTreeMap<String, f64>,
        /// The input, one that the criterion reads; when absent the first of them that is a choice.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        input: Option<String>,
    },
}

/// Points added to the utility of a measure, to 100 at most, where each of some inputs is above 0.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Bonus {
    /// What is added, above 0 and at most 100.
    pub points: f64,
    /// Ids of inputs that the criterion reads: numbers, counts, or yes and no. A missing one is not above 0.
    pub inputs: Vec<String>,
}

/// Something a plugin may say about a row.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Remark {
    /// Key, unique inside the plugin.
    pub code: String,
    /// How much it matters.
    pub severity: Severity,
    /// Text with placeholders, see [`render`].
    pub text: String,
    /// The numbers it comes with.
    #[serde(default)]
    pub args: Vec<Arg>,
    /// The most points that the index of a product with this remark can have: a fault that must not be averaged away.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cap: Option<u8>,
}

/// How much a remark matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Severity {
    /// Good to know.
    Info,
    /// Look twice.
    Caution,
    /// Something is wrong, or can hurt.
    Warning,
}

/// A number of a remark.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Arg {
    /// Name.
    pub id: String,
    /// Unit; `1` for a pure number.
    pub unit: String,
}

/// A finding of the plugin's own; its key starts with the plugin's id.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Finding {
    /// Key: the plugin's id, a dot and a name. Data are kept under it, so it is never renamed.
    pub key: String,
    /// Name on the form.
    pub label: String,
    /// How it is recorded.
    pub kind: InputKind,
    /// Unit of `typical` and of sheets, such as `mm`; `1` for a pure number, and when absent. Another of the same kind
    /// may be typed, and an input brings it in SI.
    #[serde(default = "one")]
    pub unit: String,
    /// Names of the values; choices only.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub choices: Vec<String>,
    /// The part it is about, such as `cabinet` or `woofer`, the `whole` when absent: a file records it there.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub part: Option<String>,
    /// Lowest and highest usual value, in `unit`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub typical: Option<[f64; 2]>,
    /// Why it matters.
    #[serde(default)]
    pub why: String,
}

/// Whether a row's scores depend on the other rows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum BatchKind {
    /// Each row stands alone; a batch may be split.
    Independent,
    /// Rows are compared with each other; a batch must stay whole.
    Relative,
}

/// Why a manifest was refused. The path is the way through the JSON to the fault, e.g. `criteria[1].range`.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum ManifestError {
    /// Longer than [`MAX_BYTES`].
    #[error("manifest has {bytes} bytes; the limit is {MAX_BYTES}")]
    TooLong {
        /// Its length.
        bytes: usize,
    },
    /// Not JSON, or not of the right shape.
    #[error("manifest, at `{path}` (line {line}, column {column}): {what}")]
    Shape {
        /// Way to the fault; `.` for the whole.
        path: String,
        /// Line, from 1.
        line: usize,
        /// Column, from 1.
        column: usize,
        /// What is wrong.
        what: String,
    },
    /// Of the right shape, but against a rule.
    #[error("manifest, at `{path}`: {what}")]
    Rule {
        /// Way to the fault.
        path: String,
        /// What is wrong and what is accepted.
        what: String,
    },
}

impl ManifestError {
    /// Way through the JSON to the fault, where there is one.
    #[must_use]
    pub fn path(&self) -> Option<&str> {
        match self {
            ManifestError::TooLong { .. } => None,
            ManifestError::Shape { path, .. } | ManifestError::Rule { path, .. } => Some(path),
        }
    }
}

impl Manifest {
    /// Reads and checks a manifest. Unknown keys are ignored.
    ///
    /// # Errors
    /// The first fault found, with its path.
    ///
    /// ```
    /// use bw_sdk::manifest::Manifest;
    ///
    /// let refused = Manifest::parse(r#"{"abi": {"major": "one", "minor": 0}}"#).unwrap_err();
    /// assert_eq!(refused.path(), Some("abi.major"));
    /// ```
    pub fn parse(json: &str) -> Result<Manifest, ManifestError> {
        if MAX_BYTES < json.len() {
            return Err(ManifestError::TooLong { bytes: json.len() });
        }
        let mut reader = serde_json::Deserializer::from_str(json);
        let manifest: Manifest = serde_path_to_error::deserialize(&mut reader)
            .map_err(|error| shape(&error.path().to_string(), error.inner()))?;
        reader.end().map_err(|error| shape(".", &error))?;
        check::manifest(&manifest)?;
        Ok(manifest)
    }

    /// Position of an input by id.
    #[must_use]
    pub fn input_index(&self, id: &str) -> Option<usize> {
        self.inputs.iter().position(|input| input.id == id)
    }

    /// Position of a criterion by id.
    #[must_use]
    pub fn criterion_index(&self, id: &str) -> Option<usize> {
        self.criteria.iter().position(|criterion| criterion.id == id)
    }

    /// The words of the choice whose index a criterion's measure is, in the order of their indices; `None` where the
    /// measure is no choice.
    #[must_use]
    pub fn words(&self, criterion: &Criterion) -> Option<&[String]> {
        let Some(Utility::Choice { input, .. }) = &criterion.utility else { return None };
        let mut read =
            criterion.inputs.iter().filter(|&id| input.as_ref().is_none_or(|it| it == id));
        read.find_map(|id| {
            let input =
                self.inputs.iter().find(|it| it.id == *id && it.kind == InputKind::Choice)?;
            Some(input.choices.as_slice())
        })
    }

    /// The parameters' default values, in order.
    #[must_use]
    pub fn default_params(&self) -> Vec<f64> {
        self.params.iter().map(|param| param.default).collect()
    }
}

fn shape(path: &str, error: &serde_json::Error) -> ManifestError {
    let whole = error.to_string();
    // The position is a field of its own; serde_json repeats it at the end of the text.
    let what = whole.split(" at line ").next().unwrap_or(&whole).to_owned();
    ManifestError::Shape { path: path.to_owned(), line: error.line(), column: error.column(), what }
}

fn one() -> String {
    "1".to_owned()
}
