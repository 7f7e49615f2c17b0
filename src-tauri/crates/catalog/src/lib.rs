//! The catalogue file: SQLite, schema, migrations, and the plain folder that it is filled from.
//!
//! This crate alone knows SQL. Rows go out as `domain` types.
//! A file is opened for writing ([`Catalog`]) or for reading ([`Reader`]); reading never migrates and never writes.
//! What a file holds is checked on the way out: a row that the dictionary or a word list does not know is
//! [`Error::Damaged`], with table and row.
#![forbid(unsafe_code)]

pub mod backup;
mod claim;
pub mod durable;
mod edition;
mod error;
mod exchange;
mod history;
mod import;
mod journal;
mod migrate;
mod open;
mod pages;
pub mod photo;
pub mod plain;
mod plans;
mod plugin_fault;
mod price;
mod priced;
mod reader;
mod record;
mod repair;
mod replay;
mod rubric;
mod shape;
mod share;
mod table;
mod texts;
mod trust;
mod undo;
mod watch;

pub use claim::{Claim, ClaimVerdict, Known, NewClaim};
pub use edition::{Edition, EditionFile, EditionHead};
pub use error::Error;
pub use exchange::{BadExchange, Exchange};
pub use history::{ChangeRow, ChangeSet, Fact};
pub use import::Tally;
pub use journal::Action;
pub use open::{Catalog, Info, Reader};
pub use pages::KnownPages;
pub use plans::Watched;
pub use plugin_fault::PluginFault;
pub use price::PricePlace;
pub use priced::{Named, Priced, PricedShare};
pub use record::{Place, Whole};
pub use repair::{Repaired, clear_unfinished, repair};
pub use replay::Chronicle;
pub use rubric::RubricChange;
pub use share::Share;
pub use trust::{KnownManifest, Trusted};
pub use undo::{Reverted, Step};
pub use watch::unwatched;
