//! Taking dossiers in: one transaction, facts added or superseded, never overwritten.

use std::ops::ControlFlow;

use domain::{
    dossier::{Dossier, Job},
    finding::Finding,
    network::Element,
    price::Price,
    product::{Product, Specimen, Teardown},
    sweep::Sweep,
};
use rusqlite::{OptionalExtension, Transaction, TransactionBehavior, params};

use crate::{
    Action, Catalog, Error, Exchange, Info, RubricChange,
    journal::{Entry, Facts},
    open::put_info,
    rubric,
    table::{self, ValueColumns, points_to_text},
};

/// What an import did.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Tally {
    /// Products seen.
    pub products: u32,
    /// Products that were not there.
    pub new_products: u32,
    /// Facts that were not there: findings, prices, specimens, teardowns, networks, sweeps.
    pub added: u32,
    /// Facts that replace an earlier one of the same place.
    pub corrected: u32,
    /// Facts that were there already.
    pub unchanged: u32,
}

/// Whether a fact was there, and what it replaces.
enum Before {
    Same,
    Other(i64),
    /// It was, and was taken back.
    Withdrawn(i64),
    Nothing,
}

impl Catalog {
    /// Takes dossiers in, all of them or none. With `dry_run` nothing stays, but the tally is the same.
    ///
    /// A finding's place is its product, teardown, part, key and whether the maker states it;
    /// a price's place is its product, date, kind, seller and shop; what differs in the same place supersedes.
    /// A catalogue without products takes over `info`; one that has some keeps its own.
    /// `watch` is told before each product how many are in, and may end it there.
    ///
    /// # Errors
    /// [`Error::Sql`], and [`Error::Stopped`] when it was ended; the catalogue is then as before.
    pub fn import(
        &mut self,
        dossiers: &[Dossier],
        info: Option<&Info>,
        recorded_at: &str,
        dry_run: bool,
        watch: &mut dyn FnMut(usize) -> ControlFlow<()>,
    ) -> Result<Tally, Error> {
        Ok(self.take(dossiers, info, &[], recorded_at, dry_run, watch)?.0)
    }

    /// Takes a whole catalogue in, as [`Catalog::import`]. Its changes of the rubric come along when this one has neither
    /// products nor changes of its own; says whether they did.
    ///
    /// # Errors
    /// As [`Catalog::import`]; the catalogue is then as before.
    pub fn import_exchange(
        &mut self,
        it: &Exchange,
        recorded_at: &str,
        dry_run: bool,
        watch: &mut dyn FnMut(usize) -> ControlFlow<()>,
    ) -> Result<(Tally, bool), Error> {
        self.take(&it.dossiers, Some(&it.info), &it.rubric, recorded_at, dry_run, watch)
    }

    fn take(
        &mut self,
        dossiers: &[Dossier],
        info: Option<&Info>,
        rubric: &[RubricChange],
        recorded_at: &str,
        dry_run: bool,
        watch: &mut dyn FnMut(usize) -> ControlFlow<()>,
    ) -> Result<(Tally, bool), Error> {
        let transaction =
            self.reader.connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let entry = Entry::new(&transaction, recorded_at, Action::Import, "", None);
        let mut import = Import::new(&transaction, recorded_at, entry);
        let is_first = import.is_first()?;
        if let (Some(info), true) = (info, is_first) {
            put_info(&transaction, info)?;
        }
        let takes_rubric = is_first && rubric::is_untouched(&transaction)?;
        for it in rubric.iter().filter(|_| takes_rubric) {
            rubric::insert(&transaction, it)?;
        }
        for (done, dossier) in dossiers.iter().enumerate() {
            if watch(done).is_break() {
                // The transaction is dropped, and with it what was taken in so far.
                return Err(Error::Stopped);
            }
            import.dossier(dossier)?;
        }
        let tally = import.tally;
        if dry_run {
            transaction.rollback()?
        } else {
            transaction.commit()?
        }
        self.settle_log();
        Ok((tally, takes_rubric))
    }
}

/// Facts on their way into the file.
pub(crate) struct Import<'t> {
    sql: &'t Transaction<'t>,
    recorded_at: &'t str,
    pub(crate) entry: Entry<'t>,
    pub(crate) tally: Tally,
}

impl<'t> Import<'t> {
    pub(crate) fn new(sql: &'t Transaction<'t>, recorded_at: &'t str, entry: Entry<'t>) -> Self {
        Import { sql, recorded_at, entry, tally: Tally::default() }
    }
}

impl Import<'_> {
    fn is_first(&self) -> Result<bool, Error> {
        Ok(self.sql.query_row("SELECT NOT EXISTS (SELECT 1 FROM product)", [], |row| row.get(0))?)
    }

    pub(crate) fn dossier(&mut self, it: &Dossier) -> Result<(), Error> {
        self.tally.products += 1;
        let product_id = self.product(&it.product)?;
        for price in &it.prices {
            self.price(product_id, price)?;
        }
        for specimen in &it.specimens {
            self.specimen(product_id, specimen)?;
        }
        for finding in &it.stated {
            self.finding(product_id, None, finding)?;
        }
        for job in &it.jobs {
            self.job(product_id, job)?;
        }
        Ok(())
    }

    fn job(&mut self, product_id: i64, job: &Job) -> Result<(), Error> {
        let teardown_id = self.teardown(product_id, &job.teardown)?;
        for finding in &job.findings {
            self.finding(product_id, Some(teardown_id), finding)?;
        }
        if !job.network.is_empty() {
            self.network(product_id, teardown_id, &job.network)?;
        }
        for sweep in &job.sweeps {
            self.sweep(product_id, teardown_id, sweep)?;
        }
        Ok(())
    }

    /// As [`Import::settle`] for a fact with a history of its own; `insert` gives the new row.
    fn settle_fact(
        &mut self,
        product_id: i64,
        of: Facts,
        before: &Before,
        insert: impl FnOnce(&Self, Option<i64>) -> Result<i64, Error>,
    ) -> Result<(), Error> {
        let mut row = None;
        self.settle(before, |import, supersedes| {
            row = Some(insert(import, supersedes)?);
            Ok(())
        })?;
        match (row, before) {
            (None, _) => Ok(()),
            (Some(row), Before::Other(id)) => self.entry.note(product_id, of, Some(*id), Some(row)),
            (Some(row), _) => self.entry.note(product_id, of, None, Some(row)),
        }
    }

    /// Counts the fact and, unless it was there, calls `insert` with the id it supersedes.
    fn settle(
        &mut self,
        before: &Before,
        insert: impl FnOnce(&Self, Option<i64>) -> Result<(), Error>,
    ) -> Result<(), Error> {
        match before {
            Before::Same => self.tally.unchanged += 1,
            Before::Other(id) => {
                insert(self, Some(*id))?;
                self.tally.corrected += 1;
            }
            Before::Withdrawn(id) => {
                insert(self, Some(*id))?;
                self.tally.added += 1;
            }
            Before::Nothing => {
                insert(self, None)?;
                self.tally.added += 1;
            }
        }
        Ok(())
    }

    fn product(&mut self, it: &Product) -> Result<i64, Error> {
        let new = params![
            it.key.as_str(),
            it.maker,
            it.model,
            it.kind.word(),
            it.ways,
            it.powered,
            it.year,
            it.note
        ];
        let known = self
            .sql
            .prepare_cached(
                "SELECT id, (maker, model, kind, ways, powered, year, note) IS (?2, ?3, ?4, ?5, ?6, ?7, ?8) FROM product WHERE key = ?1",
            )?
            .query_row(new, |row| Ok((row.get::<_, i64>(0)?, row.get::<_, bool>(1)?)))
            .optional()?;
        match known {
            Some((id, true)) => {
                self.tally.unchanged += 1;
                Ok(id)
            }
            Some((id, false)) => {
                self.sql.execute(
                    "UPDATE product SET maker = ?2, model = ?3, kind = ?4, ways = ?5, powered = ?6, year = ?7, note = ?8 WHERE key = ?1",
                    new,
                )?;
                self.tally.corrected += 1;
                Ok(id)
            }
            None => {
                self.sql.execute(
                    "INSERT INTO product (key, maker, model, kind, ways, powered, year, note) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
                    new,
                )?;
                self.tally.new_products += 1;
                Ok(self.sql.last_insert_rowid())
            }
        }
    }

    fn specimen(&mut self, product_id: i64, it: &Specimen) -> Result<(), Error> {
        let new = params![product_id, it.label, it.acquired.word(), it.serial];
        let known: Option<bool> = self
            .sql
            .prepare_cached("SELECT (acquired, serial) IS (?3, ?4) FROM specimen WHERE product_id = ?1 AND label = ?2")?
            .query_row(new, |row| row.get(0))
            .optional()?;
        self.settle(&before_in_place(known), |import, _| {
            import
                .sql
                .prepare_cached(
                    "INSERT INTO specimen (product_id, label, acquired, serial) VALUES (?1, ?2, ?3, ?4)
                     ON CONFLICT (product_id, label) DO UPDATE SET acquired = excluded.acquired, serial = excluded.serial",
                )?
                .execute(new)?;
            Ok(())
        })
    }

    fn teardown(&mut self, product_id: i64, it: &Teardown) -> Result<i64, Error> {
        let specimen_id: i64 = self
            .sql
            .prepare_cached("SELECT id FROM specimen WHERE product_id = ?1 AND label = ?2")?
            .query_row(params![product_id, it.specimen], |row| row.get(0))?;
        let day = it.date.to_string();
        let known: Option<bool> = self
            .sql
            .prepare_cached("SELECT note IS ?3 FROM teardown WHERE specimen_id = ?1 AND day = ?2")?
            .query_row(params![specimen_id, day, it.note], |row| row.get(0))
            .optional()?;
        self.settle(&before_in_place(known), |import, _| {
            import
                .sql
                .prepare_cached(
                    "INSERT INTO teardown (specimen_id, day, note) VALUES (?1, ?2, ?3)
                     ON CONFLICT (specimen_id, day) DO UPDATE SET note = excluded.note",
                )?
                .execute(params![specimen_id, day, it.note])?;
            Ok(())
        })?;
        Ok(self
            .sql
            .prepare_cached("SELECT id FROM teardown WHERE specimen_id = ?1 AND day = ?2")?
            .query_row(params![specimen_id, day], |row| row.get(0))?)
    }

    fn finding(
        &mut self,
        product_id: i64,
        teardown_id: Option<i64>,
        it: &Finding,
    ) -> Result<(), Error> {
        let value = ValueColumns::from(&it.answer);
        let (part, day) = (it.part.to_string(), it.date.to_string());
        let content = params![
            product_id,
            teardown_id,
            part,
            it.key,
            it.typed,
            it.unit,
            value.kind,
            value.si,
            value.std_uncertainty,
            value.word,
            it.evidence.word(),
            it.note,
            day
        ];
        // The place: statements of the maker inside a teardown (a printed label, say) stand beside what was found.
        let before = self
            .sql
            .prepare_cached(
                "SELECT id, (typed, unit, kind, si, std_uncertainty, word, evidence, note, day)
                            IS (?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13),
                        EXISTS (SELECT 1 FROM withdrawn WHERE what = 'finding' AND row_id = finding.id)
                 FROM finding
                 WHERE product_id = ?1 AND teardown_id IS ?2 AND part = ?3 AND key = ?4
                   AND (evidence = 'claimed') = (?11 = 'claimed')
                   AND NOT EXISTS (SELECT 1 FROM finding AS later WHERE later.supersedes = finding.id)",
            )?
            .query_row(content, |row| Ok(before(row.get(0)?, row.get(1)?, row.get(2)?)))
            .optional()?
            .unwrap_or(Before::Nothing);
        self.settle_fact(product_id, Facts::Finding, &before, |import, supersedes| {
            import
                .sql
                .prepare_cached(
                    "INSERT INTO finding (product_id, teardown_id, part, key, typed, unit, kind, si, std_uncertainty,
                                          word, evidence, note, day, recorded_at, supersedes)
                     VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15)",
                )?
                .execute(params![
                    product_id, teardown_id, part, it.key, it.typed, it.unit, value.kind, value.si,
                    value.std_uncertainty, value.word, it.evidence.word(), it.note, day, import.recorded_at, supersedes
                ])?;
            Ok(import.sql.last_insert_rowid())
        })
    }

    fn price(&mut self, product_id: i64, it: &Price) -> Result<(), Error> {
        let day = it.date.to_string();
        let content = params![
            product_id,
            day,
            it.kind.word(),
            it.seller.word(),
            it.shop,
            it.money.minor,
            it.money.currency.word(),
            it.basis.word(),
            it.basis.count(),
            it.note
        ];
        let before = self
            .sql
            .prepare_cached(
                "SELECT id, (amount_minor, currency, basis, count, note) IS (?6, ?7, ?8, ?9, ?10),
                        EXISTS (SELECT 1 FROM withdrawn WHERE what = 'price' AND row_id = price.id)
                 FROM price
                 WHERE product_id = ?1 AND day = ?2 AND kind = ?3 AND seller = ?4 AND shop = ?5
                   AND NOT EXISTS (SELECT 1 FROM price AS later WHERE later.supersedes = price.id)",
            )?
            .query_row(content, |row| Ok(before(row.get(0)?, row.get(1)?, row.get(2)?)))
            .optional()?
            .unwrap_or(Before::Nothing);
        self.settle_fact(product_id, Facts::Price, &before, |import, supersedes| {
            import
                .sql
                .prepare_cached(
                    "INSERT INTO price (product_id, day, kind, seller, shop, amount_minor, currency, basis, count, note,
                                        recorded_at, supersedes)
                     VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12)",
                )?
                .execute(params![
                    product_id, day, it.kind.word(), it.seller.word(), it.shop, it.money.minor,
                    it.money.currency.word(), it.basis.word(), it.basis.count(), it.note, import.recorded_at, supersedes
                ])?;
            Ok(import.sql.last_insert_rowid())
        })
    }

    fn network(
        &mut self,
        product_id: i64,
        teardown_id: i64,
        elements: &[Element],
    ) -> Result<(), Error> {
        let known: Option<(i64, bool)> = self
            .sql
            .prepare_cached(
                "SELECT id, EXISTS (SELECT 1 FROM withdrawn WHERE what = 'network' AND row_id = network.id)
                 FROM network WHERE teardown_id = ?1
                   AND NOT EXISTS (SELECT 1 FROM network AS later WHERE later.supersedes = network.id)",
            )?
            .query_row([teardown_id], |row| Ok((row.get(0)?, row.get(1)?)))
            .optional()?;
        let before = match known {
            Some((id, withdrawn)) => {
                before(id, table::elements(self.sql, id)? == elements, withdrawn)
            }
            None => Before::Nothing,
        };
        self.settle_fact(product_id, Facts::Network, &before, |import, supersedes| {
            import.sql.execute(
                "INSERT INTO network (teardown_id, recorded_at, supersedes) VALUES (?1, ?2, ?3)",
                params![teardown_id, import.recorded_at, supersedes],
            )?;
            let network_id = import.sql.last_insert_rowid();
            let mut insert = import.sql.prepare_cached(
                "INSERT INTO element (network_id, position, name, kind, node_from, node_to, typed, value_si,
                                      loss_typed, loss_ohm, tolerance, part, note, construction, rating_typed, rating_si)
                 VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15, ?16)",
            )?;
            for (position, it) in (0_i64..).zip(elements) {
                insert.execute(params![
                    network_id, position, it.name, it.kind.word(), it.from, it.to, it.typed, it.value_si,
                    it.loss_typed, it.loss_ohm, it.tolerance, it.part.map(|part| part.to_string()), it.note,
                    it.construction, it.rating_typed, it.rating_si
                ])?;
            }
            Ok(network_id)
        })
    }

    fn sweep(&mut self, product_id: i64, teardown_id: i64, it: &Sweep) -> Result<(), Error> {
        let (part, points) = (it.part.to_string(), points_to_text(&it.points));
        let before = self
            .sql
            .prepare_cached(
                "SELECT id, (points, note) IS (?3, ?4),
                        EXISTS (SELECT 1 FROM withdrawn WHERE what = 'sweep' AND row_id = sweep.id)
                 FROM sweep WHERE teardown_id = ?1 AND part = ?2
                   AND NOT EXISTS (SELECT 1 FROM sweep AS later WHERE later.supersedes = sweep.id)",
            )?
            .query_row(params![teardown_id, part, points, it.note], |row| {
                Ok(before(row.get(0)?, row.get(1)?, row.get(2)?))
            })
            .optional()?
            .unwrap_or(Before::Nothing);
        self.settle_fact(product_id, Facts::Sweep, &before, |import, supersedes| {
            import
                .sql
                .prepare_cached(
                    "INSERT INTO sweep (teardown_id, part, points, note, recorded_at, supersedes) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
                )?
                .execute(params![teardown_id, part, points, it.note, import.recorded_at, supersedes])?;
            Ok(import.sql.last_insert_rowid())
        })
    }
}

fn before(id: i64, same: bool, withdrawn: bool) -> Before {
    match (withdrawn, same) {
        (true, _) => Before::Withdrawn(id),
        (false, true) => Before::Same,
        (false, false) => Before::Other(id),
    }
}

/// For rows that describe rather than record (specimens, teardowns): they are updated in place.
fn before_in_place(known: Option<bool>) -> Before {
    known.map_or(Before::Nothing, |same| before(0, same, false))
}

#[cfg(test)]
mod tests;
