//! The catalogue file: SQLite, schema, migrations, and the plain folder that it is filled from.
//!
//! This crate alone knows SQL. Rows go out as `domain` types.
//! A file is opened for writing ([`Catalog`]) or for reading ([`Reader`]); reading never migrates and never writes.
//! What a file holds is checked on the way out: a row that the dictionary or a word list does not know is
//! [`Error::Damaged`], with table and row.
#![forbid(unsafe_code)]

mod error;
mod import;
mod migrate;
mod open;
pub mod plain;
mod reader;
mod rubric;
mod table;
mod trust;

pub use error::Error;
pub use import::Tally;
pub use open::{Catalog, Info, Reader};
pub use rubric::RubricChange;
pub use trust::{KnownManifest, Trusted};
