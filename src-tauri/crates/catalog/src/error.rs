//! What can go wrong with a catalogue file.

use std::path::{Path, PathBuf};

/// The place of what no row can be blamed for.
pub(crate) const PAGES: &str = "pages";

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
    #[error("the catalogue is damaged: {}{why}", damaged_at(table, *row))]
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
    /// The file holds what would act by itself and is none of ours, or lacks what everything needs.
    #[error("{} holds {what}; it was left as it is. Go back to a copy of it; from somebody else, ask for what `boxworth export` writes", path.display())]
    Altered {
        /// The file.
        path: PathBuf,
        /// What is odd.
        what: String,
    },
    /// Another program is making a copy, and does not come to an end.
    #[error("another program is making a copy in {}; nothing was changed. Try again when it is done", folder.display())]
    CopyUnderWay {
        /// The folder of copies.
        folder: PathBuf,
    },
    /// A history that does not lead to a catalogue.
    #[error("line {line} of the history: {why}; nothing was changed")]
    History {
        /// The line, from 1.
        line: usize,
        /// What is wrong.
        why: String,
    },
    /// Whoever watched the work ended it.
    #[error("stopped before it was done; nothing was changed")]
    Stopped,
    /// SQLite refused.
    #[error("{}", refused(.0))]
    Sql(#[from] rusqlite::Error),
}

impl Error {
    /// Whether the file itself is at fault, so that another attempt would fail in the same way.
    #[must_use]
    pub fn is_damage(&self) -> bool {
        use rusqlite::ErrorCode::{DatabaseCorrupt, NotADatabase};
        match self {
            Error::Damaged { .. } | Error::Foreign { .. } | Error::Altered { .. } => true,
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

/// The place of a damage; pages have no rows.
fn damaged_at(table: &str, row: i64) -> String {
    if table == PAGES { String::new() } else { format!("{table} row {row}: ") }
}

/// What SQLite says, as a sentence that says what to do. Nothing of a transaction that failed stays.
fn refused(why: &rusqlite::Error) -> String {
    use rusqlite::ErrorCode;
    match why.sqlite_error_code() {
        Some(ErrorCode::DiskFull) => {
            "the disk is full; nothing was changed. Make room, then try again".to_owned()
        }
        Some(ErrorCode::ReadOnly | ErrorCode::PermissionDenied) => {
            "the catalogue may not be written here; nothing was changed. Allow writing to its file and its folder, or \
             copy it elsewhere"
                .to_owned()
        }
        Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => {
            "another program is writing to the catalogue; nothing was changed. Try again when it is done".to_owned()
        }
        Some(ErrorCode::CannotOpen) => {
            "the catalogue cannot be opened; see that its folder is there and may be read and written".to_owned()
        }
        Some(ErrorCode::SystemIoFailure) => format!(
            "the disk failed ({why}); nothing was changed. See that it is there and has room, then try again"
        ),
        Some(ErrorCode::DatabaseCorrupt | ErrorCode::NotADatabase) => format!(
            "the catalogue is damaged ({why}); nothing was changed. `boxworth backup --list` names the copies, \
             `boxworth restore` goes back to one"
        ),
        _ => format!("the catalogue refused: {why}"),
    }
}
