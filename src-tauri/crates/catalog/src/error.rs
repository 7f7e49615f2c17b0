//! What can go wrong with a catalogue file.

use std::path::{Path, PathBuf};

/// An error of the catalogue. The file is unchanged whenever one is returned.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum Error {
    /// There is no file.
    #[error("there is no catalogue at {}", path.display())]
    NotFound {
        /// Where it was looked for.
        path: PathBuf,
    },
    /// A new catalogue would replace a file.
    #[error("{} exists already; choose another name", path.display())]
    Exists {
        /// The file.
        path: PathBuf,
    },
    /// The file is not a catalogue.
    #[error("{} is not a Boxworth catalogue", path.display())]
    Foreign {
        /// The file.
        path: PathBuf,
    },
    /// The file was written by a newer version.
    #[error("{} was made by a newer version of Boxworth (format {found}; this one reads up to {known}); it was left as it is", path.display())]
    Newer {
        /// The file.
        path: PathBuf,
        /// Its format.
        found: i32,
        /// The newest format known here.
        known: i32,
    },
    /// The file is older and was opened for reading only.
    #[error("{} is of an older format ({found}); open it once for writing to bring it to format {known}", path.display())]
    Older {
        /// The file.
        path: PathBuf,
        /// Its format.
        found: i32,
        /// The format needed.
        known: i32,
    },
    /// A row holds what the program cannot read.
    #[error("the catalogue is damaged: {table} row {row}: {why}")]
    Damaged {
        /// The table.
        table: &'static str,
        /// The row id.
        row: i64,
        /// What is wrong.
        why: String,
    },
    /// The file cannot be read or written.
    #[error("cannot use {}: {source}", path.display())]
    Io {
        /// The file.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
    },
    /// A photo is no more what it was when it was kept.
    #[error("{} was changed since it was kept; put the file back from a copy, or add the photo again", path.display())]
    ChangedPhoto {
        /// The file.
        path: PathBuf,
    },
    /// SQLite refused.
    #[error("the catalogue refused: {0}")]
    Sql(#[from] rusqlite::Error),
}

impl Error {
    /// Whether the file itself is at fault, so that another attempt would fail in the same way.
    #[must_use]
    pub fn is_damage(&self) -> bool {
        use rusqlite::ErrorCode::{DatabaseCorrupt, NotADatabase};
        match self {
            Error::Damaged { .. } | Error::Foreign { .. } => true,
            Error::Sql(why) => {
                matches!(why.sqlite_error_code(), Some(DatabaseCorrupt | NotADatabase))
            }
            _ => false,
        }
    }

    pub(crate) fn io(path: &Path, source: std::io::Error) -> Self {
        if source.kind() == std::io::ErrorKind::NotFound {
            Error::NotFound { path: path.to_owned() }
        } else {
            Error::Io { path: path.to_owned(), source }
        }
    }
}
