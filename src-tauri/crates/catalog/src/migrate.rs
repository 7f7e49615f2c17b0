//! Schema steps, run in one transaction.

use rusqlite::Connection;

use crate::Error;

/// One step for each format number, from 1.
const STEPS: &[&str] = &[
    include_str!("../migrations/0001_catalogue.sql"),
    include_str!("../migrations/0002_element_construction.sql"),
    include_str!("../migrations/0003_rubric.sql"),
    include_str!("../migrations/0004_plugins.sql"),
    include_str!("../migrations/0005_changes.sql"),
    include_str!("../migrations/0006_claims.sql"),
    include_str!("../migrations/0007_editions.sql"),
    include_str!("../migrations/0008_photos.sql"),
];

/// The newest format, kept in `user_version`.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_possible_wrap,
    reason = "a handful of steps"
)]
pub(crate) const FORMAT: i32 = STEPS.len() as i32;

/// How many formats there are, with that of an empty file.
pub(crate) const FORMATS: usize = STEPS.len() + 1;

/// Builds the tables of a format in an empty file.
pub(crate) fn build(connection: &mut Connection, format: usize) -> Result<(), Error> {
    for step in &STEPS[..format] {
        connection.execute_batch(step)?;
    }
    Ok(())
}

/// Brings a connection from `found` to [`FORMAT`], all or nothing.
pub(crate) fn migrate(connection: &mut Connection, found: i32) -> Result<(), Error> {
    let done = usize::try_from(found).unwrap_or(0);
    if done >= STEPS.len() {
        return Ok(());
    }
    let transaction =
        connection.transaction_with_behavior(rusqlite::TransactionBehavior::Immediate)?;
    for step in &STEPS[done..] {
        transaction.execute_batch(step)?;
    }
    transaction.pragma_update(None, "user_version", FORMAT)?;
    transaction.commit()?;
    Ok(())
}
