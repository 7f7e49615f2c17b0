//! How SQLite finds the rows that a question asks for: the statements of a reader, seen as they run, and their plans.
//!
//! There is no list of statements to be kept: whoever wants to know asks the questions and looks at what ran.

use std::{
    collections::BTreeSet,
    sync::{Arc, Mutex, PoisonError},
};

use rusqlite::trace::{TraceEvent, TraceEventCodes};

use crate::{Error, Reader};

/// The statements that a reader has run since it was watched.
#[derive(Debug, Clone, Default)]
pub struct Watched(Arc<Mutex<BTreeSet<String>>>);

impl Watched {
    /// Each statement once, as it is written in the code.
    #[must_use]
    pub fn statements(&self) -> Vec<String> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).iter().cloned().collect()
    }
}

impl Reader {
    /// Remembers from now on which statements run.
    ///
    /// # Errors
    /// [`Error::Sql`].
    pub fn watch(&mut self) -> Result<Watched, Error> {
        let watched = Watched::default();
        let seen = watched.clone();
        self.connection.trace_v2(
            TraceEventCodes::SQLITE_TRACE_STMT,
            Some(move |event: TraceEvent<'_>| {
                if let TraceEvent::Stmt(statement, _) = event {
                    let mut seen = seen.0.lock().unwrap_or_else(PoisonError::into_inner);
                    seen.insert(statement.sql().into_owned());
                }
            }),
        )?;
        Ok(watched)
    }

    /// The steps of a statement's plan, as `EXPLAIN QUERY PLAN` words them: `SCAN price` goes through a whole table,
    /// `SEARCH price USING INDEX price_by_product (product_id=?)` through an index.
    ///
    /// # Errors
    /// [`Error::Sql`] for a text that is no statement of this catalogue.
    pub fn plan(&self, statement: &str) -> Result<Vec<String>, Error> {
        let mut explained = self.connection.prepare(&format!("EXPLAIN QUERY PLAN {statement}"))?;
        // Parameters that nobody bound are NULL, which changes no plan here.
        let mut rows = explained.raw_query();
        let mut steps = Vec::new();
        while let Some(row) = rows.next()? {
            steps.push(row.get(3)?);
        }
        Ok(steps)
    }
}
