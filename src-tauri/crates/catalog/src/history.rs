//! Reading the journal.

use domain::{
    dictionary::Dictionary, finding::Finding, key::ProductKey, network::Element, part::Part,
    photo::Photo, price::Price,
};

use rusqlite::ToSql;

use crate::{
    Action, Error, Reader,
    journal::Facts,
    photo,
    table::{Columns, Located, elements},
};

/// One action with what it changed.
#[derive(Debug, Clone, PartialEq)]
pub struct ChangeSet {
    /// Its number.
    pub id: i64,
    /// When, UTC.
    pub at: String,
    /// What was done.
    pub action: Action,
    /// Why; may be empty.
    pub reason: String,
    /// The number of the action that it takes back or does again.
    pub reverts: Option<i64>,
    /// What changed, in the order done.
    pub changes: Vec<ChangeRow>,
}

/// One fact that holds otherwise since.
#[derive(Debug, Clone, PartialEq)]
pub struct ChangeRow {
    /// The product.
    pub product: String,
    /// What held before; `None` for nothing.
    pub before: Option<Fact>,
    /// What holds since; `None` for nothing.
    pub after: Option<Fact>,
}

/// A fact of the journal.
#[derive(Debug, Clone, PartialEq)]
pub enum Fact {
    /// A finding.
    Finding(Finding),
    /// A price.
    Price(Price),
    /// The parts list of a teardown.
    Network(Vec<Element>),
    /// A sweep of a part, with the number of its points.
    Sweep(Part, usize),
    /// A photo.
    Photo(Photo),
}

impl Reader {
    /// All actions that changed a product, oldest first, with what they changed of it.
    ///
    /// # Errors
    /// [`Error::Damaged`] naming the row that cannot be read; [`Error::Sql`].
    pub fn changes(
        &self,
        product: &ProductKey,
        dictionary: &Dictionary,
    ) -> Result<Vec<ChangeSet>, Error> {
        let of = "product_id = (SELECT id FROM product WHERE key = ?1)";
        self.sets(of, product.as_str(), dictionary)
    }

    /// All actions after that of a number, oldest first; 0 is before the first.
    ///
    /// # Errors
    /// As [`Reader::changes`].
    pub fn changes_since(
        &self,
        number: i64,
        dictionary: &Dictionary,
    ) -> Result<Vec<ChangeSet>, Error> {
        self.sets("set_id > ?1", number, dictionary)
    }

    fn sets(
        &self,
        which: &str,
        value: impl ToSql,
        dictionary: &Dictionary,
    ) -> Result<Vec<ChangeSet>, Error> {
        let mut statement = self.connection.prepare_cached(&format!(
            "SELECT change_set.id AS id, at, action, reason, reverts, what, before_row, after_row, product.key AS product
             FROM change JOIN change_set ON change_set.id = set_id JOIN product ON product.id = product_id
             WHERE {which} ORDER BY set_id, position",
        ))?;
        let columns = Columns::of(&statement);
        let mut rows = statement.query([value])?;
        let mut sets: Vec<ChangeSet> = Vec::new();
        while let Some(row) = rows.next()? {
            let it = Located { table: "change_set", columns: &columns, row };
            let id: i64 = row.get("id")?;
            if sets.last().is_none_or(|last| last.id != id) {
                let word: String = row.get("action")?;
                sets.push(ChangeSet {
                    id,
                    at: row.get("at")?,
                    action: Action::parse(&word)
                        .ok_or_else(|| it.damaged(format!("{word} is no action")))?,
                    reason: row.get("reason")?,
                    reverts: row.get("reverts")?,
                    changes: Vec::new(),
                });
            }
            let change = self.change(&it, dictionary)?;
            if let Some(set) = sets.last_mut() {
                set.changes.push(change);
            }
        }
        Ok(sets)
    }

    /// The first changes of one action, in the order done.
    pub(crate) fn changes_of(
        &self,
        set_id: i64,
        most: usize,
        dictionary: &Dictionary,
    ) -> Result<Vec<ChangeRow>, Error> {
        let mut statement = self.connection.prepare_cached(
            "SELECT what, before_row, after_row, product.key AS product FROM change
             JOIN product ON product.id = product_id WHERE set_id = ?1 ORDER BY position LIMIT ?2",
        )?;
        let most = i64::try_from(most).unwrap_or(i64::MAX);
        let columns = Columns::of(&statement);
        let mut rows = statement.query([set_id, most])?;
        let mut list = Vec::new();
        while let Some(row) = rows.next()? {
            list.push(
                self.change(&Located { table: "change", columns: &columns, row }, dictionary)?,
            );
        }
        Ok(list)
    }

    fn change(&self, it: &Located<'_>, dictionary: &Dictionary) -> Result<ChangeRow, Error> {
        let what: String = it.get("what")?;
        let of =
            Facts::parse(&what).ok_or_else(|| it.damaged(format!("{what} is no kind of fact")))?;
        let fact = |column: &str| -> Result<Option<Fact>, Error> {
            let row: Option<i64> = it.get(column)?;
            row.map(|row| self.fact(of, row, dictionary)).transpose()
        };
        Ok(ChangeRow {
            product: it.get("product")?,
            before: fact("before_row")?,
            after: fact("after_row")?,
        })
    }

    fn fact(&self, of: Facts, id: i64, dictionary: &Dictionary) -> Result<Fact, Error> {
        let table = of.table();
        if of == Facts::Network {
            return Ok(Fact::Network(elements(&self.connection, id)?));
        }
        let text = match of {
            // Its teardown has its own table.
            Facts::Photo => photo::ONE.to_owned(),
            _ => format!("SELECT * FROM {table} WHERE id = ?1"),
        };
        let mut statement = self.connection.prepare_cached(&text)?;
        let columns = Columns::of(&statement);
        let mut rows = statement.query([id])?;
        let row = rows.next()?.ok_or_else(|| Error::Damaged {
            table,
            row: id,
            why: "the journal names it, and it is not there".into(),
        })?;
        let it = Located { table, columns: &columns, row };
        Ok(match of {
            Facts::Finding => Fact::Finding(it.finding(dictionary)?),
            Facts::Price => Fact::Price(it.price()?),
            Facts::Photo => Fact::Photo(photo::read(&it)?),
            Facts::Sweep | Facts::Network => Fact::Sweep(it.part()?, it.points()?.len()),
        })
    }
}
