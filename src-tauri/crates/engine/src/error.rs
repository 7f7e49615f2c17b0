//! Errors as sentences for people and codes for programs.

use crate::dto::{PartFault, SweepFault, answer};

/// What went wrong. Nothing was changed.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum Error {
    /// The catalogue file.
    #[error(transparent)]
    Catalogue(#[from] catalog::Error),
    /// A folder that was to be imported.
    #[error("{} in the import; nothing was imported", count(faults.len(), "fault"))]
    Import {
        /// The faults, by file and line.
        faults: Vec<catalog::plain::Fault>,
    },
    /// A product that is not there.
    #[error("there is no product {key:?}{hint}")]
    UnknownProduct {
        /// The key as given.
        key: String,
        /// A suggestion, or empty.
        hint: String,
    },
    /// A parts list that cannot be read or solved.
    #[error("{} in the parts list; nothing was recorded", count(faults.len(), "fault"))]
    Parts {
        /// The names of the parts, in the order of the list.
        names: Vec<String>,
        /// The faults, by row.
        faults: Vec<PartFault>,
    },
    /// A text that is no sweep.
    #[error("{} in the sweep; nothing was recorded", count(faults.len(), "fault"))]
    Sweep {
        /// The faults, by line.
        faults: Vec<SweepFault>,
    },
    /// Something in a request.
    #[error("{place}: {text:?} {why}; accepted: {accepted}")]
    Request {
        /// Which part of the request.
        place: &'static str,
        /// The text as given.
        text: String,
        /// What is wrong.
        why: String,
        /// What would be right.
        accepted: String,
    },
    /// A number of the rubric.
    #[error("{address}: {text:?} {why}; accepted: {accepted}")]
    Rubric {
        /// The address of the number.
        address: String,
        /// The text as given.
        text: String,
        /// What is wrong.
        why: String,
        /// What would be right.
        accepted: String,
    },
    /// A plugin file.
    #[error("{file}: {why}")]
    Plugin {
        /// The file.
        file: String,
        /// What is wrong.
        why: String,
    },
    /// Something stands where files were to be written.
    #[error("{path}: {why}; nothing was written")]
    Occupied {
        /// The folder.
        path: String,
        /// What stands there.
        why: String,
    },
    /// A file or folder that cannot be written.
    #[error("{path} cannot be written: {why}")]
    Unwritable {
        /// The file or folder.
        path: String,
        /// What is wrong.
        why: String,
    },
    /// Whoever watched the work ended it.
    #[error("stopped before it was done; nothing was changed")]
    Stopped,
    /// The program contradicts itself.
    #[error("internal fault: {0}")]
    Internal(String),
}

pub(crate) fn count(n: usize, noun: &str) -> String {
    if n == 1 { format!("1 {noun}") } else { format!("{n} {noun}s") }
}

/// A code for each kind of error that a caller treats differently.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Code {
    /// There is no catalogue at the place.
    NoCatalogue,
    /// The file exists already.
    Exists,
    /// The file is not a catalogue.
    ForeignFile,
    /// The catalogue is of a newer version.
    NewerFile,
    /// The catalogue is damaged.
    Damaged,
    /// A file cannot be read or written.
    Io,
    /// A fault of an import.
    ImportFault,
    /// There is no such product.
    UnknownProduct,
    /// A part of the request is not understood.
    BadRequest,
    /// A plugin file cannot be used.
    Plugin,
    /// It was ended by whoever asked for it.
    Stopped,
    /// A fault of the program.
    Internal,
}

impl Code {
    /// The code as a word.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Code::NoCatalogue => "no_catalogue",
            Code::Exists => "exists",
            Code::ForeignFile => "foreign_file",
            Code::NewerFile => "newer_file",
            Code::Damaged => "damaged",
            Code::Io => "io",
            Code::ImportFault => "import_fault",
            Code::UnknownProduct => "unknown_product",
            Code::BadRequest => "bad_request",
            Code::Plugin => "plugin",
            Code::Stopped => "stopped",
            Code::Internal => "internal",
        }
    }
}

answer! {
    /// An error as it is printed with `--json` and shown in the window.
    pub struct ErrorDto {
        /// The code.
        pub code: String,
        /// The sentence.
        pub message: String,
        /// Where: a file, a line, a part of the request; or empty.
        pub r#where: String,
        /// The accepted form, or empty.
        pub accepted: String,
    }
}

impl Error {
    /// Something in a request that is not as it should be.
    pub(crate) fn request(
        place: &'static str,
        text: &str,
        why: impl Into<String>,
        accepted: impl Into<String>,
    ) -> Self {
        Error::Request { place, text: text.to_owned(), why: why.into(), accepted: accepted.into() }
    }

    /// The code.
    #[must_use]
    pub fn code(&self) -> Code {
        match self {
            Error::Catalogue(why) => match why {
                catalog::Error::NotFound { .. } => Code::NoCatalogue,
                catalog::Error::Exists { .. } => Code::Exists,
                catalog::Error::Foreign { .. } => Code::ForeignFile,
                catalog::Error::Newer { .. } => Code::NewerFile,
                catalog::Error::Stopped => Code::Stopped,
                why if why.is_damage() => Code::Damaged,
                _ => Code::Io,
            },
            Error::Import { .. } => Code::ImportFault,
            Error::UnknownProduct { .. } => Code::UnknownProduct,
            Error::Request { .. }
            | Error::Rubric { .. }
            | Error::Parts { .. }
            | Error::Sweep { .. } => Code::BadRequest,
            Error::Plugin { .. } => Code::Plugin,
            Error::Occupied { .. } => Code::Exists,
            Error::Unwritable { .. } => Code::Io,
            Error::Stopped => Code::Stopped,
            Error::Internal(_) => Code::Internal,
        }
    }

    /// Whether the program rather than its input is at fault.
    #[must_use]
    pub fn is_internal(&self) -> bool {
        self.code() == Code::Internal
    }

    /// The error as one or, for an import, several located answers.
    #[must_use]
    pub fn faults(&self) -> Vec<ErrorDto> {
        let one = |place: String, accepted: String| {
            vec![ErrorDto {
                code: self.code().word().into(),
                message: self.to_string(),
                r#where: place,
                accepted,
            }]
        };
        match self {
            Error::Import { faults } => faults
                .iter()
                .map(|it| ErrorDto {
                    code: self.code().word().into(),
                    message: it.message.clone(),
                    r#where: place(it),
                    accepted: it.accepted.clone(),
                })
                .collect(),
            Error::Parts { names, faults } => faults
                .iter()
                .map(|it| ErrorDto {
                    code: self.code().word().into(),
                    message: it.message.clone(),
                    r#where: part_place(names, it),
                    accepted: it.accepted.clone(),
                })
                .collect(),
            Error::Sweep { faults } => faults
                .iter()
                .map(|it| ErrorDto {
                    code: self.code().word().into(),
                    message: it.message.clone(),
                    r#where: row_place(it),
                    accepted: it.accepted.clone(),
                })
                .collect(),
            Error::Request { place, text, why, accepted } => vec![ErrorDto {
                code: self.code().word().into(),
                message: format!("{text:?} {why}"),
                r#where: (*place).into(),
                accepted: accepted.clone(),
            }],
            Error::Rubric { address, text, why, accepted } => vec![ErrorDto {
                code: self.code().word().into(),
                message: format!("{text:?} {why}"),
                r#where: address.clone(),
                accepted: accepted.clone(),
            }],
            Error::Plugin { file, why } => vec![ErrorDto {
                code: self.code().word().into(),
                message: why.clone(),
                r#where: file.clone(),
                accepted: String::new(),
            }],
            Error::UnknownProduct { key, .. } => {
                one(key.clone(), "the key of a product, as `products` lists them".into())
            }
            Error::Occupied { path, .. } => {
                one(path.clone(), "a folder that is empty or not there yet".into())
            }
            Error::Unwritable { path, .. } => one(path.clone(), String::new()),
            Error::Catalogue(_) | Error::Stopped | Error::Internal(_) => {
                one(String::new(), String::new())
            }
        }
    }
}

/// `line 12: phase`, as far as each is known.
fn row_place(it: &SweepFault) -> String {
    let line = it.line.map(|it| format!("line {it}"));
    let column = (!it.column.is_empty()).then(|| it.column.clone());
    [line, column].into_iter().flatten().collect::<Vec<_>>().join(": ")
}

/// `C1.value`, or the row where the part has no name.
fn part_place(names: &[String], it: &PartFault) -> String {
    let Some(row) = it.row else { return "parts list".into() };
    let name = usize::try_from(row).ok().and_then(|row| names.get(row)).filter(|it| !it.is_empty());
    let name = name.cloned().unwrap_or_else(|| format!("row {}", row + 1));
    if it.cell.is_empty() { name } else { format!("{name}.{}", it.cell) }
}

/// `file:line: key`, as far as each is known.
fn place(it: &catalog::plain::Fault) -> String {
    let mut text = it.file.clone();
    if let Some(line) = it.line {
        text.push_str(&format!(":{line}"));
    }
    if !it.key.is_empty() {
        text.push_str(": ");
        text.push_str(&it.key);
    }
    text
}
