//! Entering one fact, or emptying its place, as a person does it at the bench.

use domain::{Date, dossier::Dossier, key::ProductKey, part::Part};
use rusqlite::{OptionalExtension, Transaction, TransactionBehavior, params};

use crate::{
    Action, Catalog, Error, Tally,
    import::Import,
    journal::{Entry, Facts},
};

/// The place of a finding.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Place<'a> {
    /// The product.
    pub product: &'a ProductKey,
    /// The specimen's label and the day of the teardown; `None` for what the maker states.
    pub teardown: Option<(&'a str, Date)>,
    /// The part.
    pub part: Part,
    /// The key.
    pub key: &'a str,
    /// Whether the maker states it.
    pub claimed: bool,
}

/// What a teardown holds once, or once for a part.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Whole {
    /// The parts list of the crossover.
    Network,
    /// The sweep of a part.
    Sweep(Part),
}

impl Catalog {
    /// Takes in what a dossier holds as one action of the journal, all of it or nothing. Whatever the dossier does not
    /// hold stays as it is. An action that changes nothing leaves no entry.
    ///
    /// # Errors
    /// [`Error::Sql`]; the catalogue is then as before.
    pub fn record(
        &mut self,
        dossier: &Dossier,
        reason: &str,
        recorded_at: &str,
    ) -> Result<Tally, Error> {
        let transaction =
            self.reader.connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let entry = Entry::new(&transaction, recorded_at, Action::Record, reason, None);
        let mut import = Import::new(&transaction, recorded_at, entry);
        import.dossier(dossier)?;
        let tally = import.tally;
        transaction.commit()?;
        self.settle_log();
        Ok(tally)
    }

    /// As [`Catalog::record`], and empties another place in the same action: what was recorded there belongs elsewhere.
    ///
    /// # Errors
    /// As [`Catalog::record`].
    pub fn record_instead(
        &mut self,
        of: &Place<'_>,
        dossier: &Dossier,
        reason: &str,
        recorded_at: &str,
    ) -> Result<Tally, Error> {
        let transaction =
            self.reader.connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let entry = Entry::new(&transaction, recorded_at, Action::Record, reason, None);
        let mut import = Import::new(&transaction, recorded_at, entry);
        if let Some((row, product_id)) = holding(&transaction, of)? {
            import.entry.withdraw(product_id, Facts::Finding, row)?;
        }
        import.dossier(dossier)?;
        let tally = import.tally;
        transaction.commit()?;
        self.settle_log();
        Ok(tally)
    }

    /// Empties the place of a finding; says whether there was one.
    ///
    /// # Errors
    /// As [`Catalog::record`].
    pub fn withdraw(
        &mut self,
        place: &Place<'_>,
        reason: &str,
        recorded_at: &str,
    ) -> Result<bool, Error> {
        let transaction =
            self.reader.connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let Some((row, product_id)) = holding(&transaction, place)? else { return Ok(false) };
        let mut entry = Entry::new(&transaction, recorded_at, Action::Record, reason, None);
        entry.withdraw(product_id, Facts::Finding, row)?;
        transaction.commit()?;
        self.settle_log();
        Ok(true)
    }

    /// Empties the place of a parts list or a sweep of a teardown; says whether there was one.
    ///
    /// # Errors
    /// As [`Catalog::record`].
    pub fn withdraw_whole(
        &mut self,
        product: &ProductKey,
        (specimen, day): (&str, Date),
        what: Whole,
        reason: &str,
        recorded_at: &str,
    ) -> Result<bool, Error> {
        let (of, part) = match what {
            Whole::Network => (Facts::Network, None),
            Whole::Sweep(part) => (Facts::Sweep, Some(part.to_string())),
        };
        let table = of.table();
        // Only a sweep has a part.
        let in_place = if part.is_some() { "part = ?4" } else { "?4 IS NULL" };
        let transaction =
            self.reader.connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let found: Option<(i64, i64)> = transaction
            .query_row(
                &format!(
                    "SELECT {table}.id, product.id FROM {table} JOIN teardown ON teardown.id = teardown_id
                     JOIN specimen ON specimen.id = specimen_id JOIN product ON product.id = product_id
                     WHERE product.key = ?1 AND specimen.label = ?2 AND teardown.day = ?3 AND {in_place}
                       AND NOT EXISTS (SELECT 1 FROM {table} AS later WHERE later.supersedes = {table}.id)
                       AND NOT EXISTS (SELECT 1 FROM withdrawn WHERE what = '{table}' AND row_id = {table}.id)"
                ),
                params![product.as_str(), specimen, day.to_string(), part],
                |row| Ok((row.get(0)?, row.get(1)?)),
            )
            .optional()?;
        let Some((row, product_id)) = found else { return Ok(false) };
        let mut entry = Entry::new(&transaction, recorded_at, Action::Record, reason, None);
        entry.withdraw(product_id, of, row)?;
        transaction.commit()?;
        self.settle_log();
        Ok(true)
    }
}

/// The row that holds in a place, with its product.
fn holding(sql: &Transaction<'_>, place: &Place<'_>) -> Result<Option<(i64, i64)>, Error> {
    let (label, day) = place.teardown.map(|(label, day)| (label, day.to_string())).unzip();
    Ok(sql
        .query_row(
            "SELECT finding.id, finding.product_id FROM finding
             JOIN product ON product.id = finding.product_id
             LEFT JOIN teardown ON teardown.id = teardown_id
             LEFT JOIN specimen ON specimen.id = specimen_id
             WHERE product.key = ?1 AND specimen.label IS ?2 AND teardown.day IS ?3 AND part = ?4 AND finding.key = ?5
               AND (evidence = 'claimed') = ?6
               AND NOT EXISTS (SELECT 1 FROM finding AS later WHERE later.supersedes = finding.id)
               AND NOT EXISTS (SELECT 1 FROM withdrawn WHERE what = 'finding' AND row_id = finding.id)",
            params![
                place.product.as_str(),
                label,
                day,
                place.part.to_string(),
                place.key,
                place.claimed
            ],
            |row| Ok((row.get(0)?, row.get(1)?)),
        )
        .optional()?)
}
