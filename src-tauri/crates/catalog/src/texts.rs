//! What is written about products: what a search for words goes through, read without making domain types.
//!
//! Findings are by far the most, and most of the time goes into fetching them from the file. So their rows are read in shares,
//! each by a reader of its own and all at once.

use std::collections::HashSet;

use domain::key::ProductKey;
use rusqlite::Row;

use crate::{
    Error, Reader, Share,
    priced::{damaged, text},
};

/// A table with texts; its statement gives a row's number, that of its product, and the texts.
struct Texts {
    table: &'static str,
    sql: &'static str,
    columns: usize,
    /// Whether a row can be superseded or withdrawn.
    ends: bool,
}

const TEXTS: [Texts; 3] = [
    Texts {
        table: "finding",
        sql: "SELECT id, product_id, key, typed, note FROM finding WHERE id > ?1 AND id <= ?2",
        columns: 3,
        ends: true,
    },
    Texts {
        table: "price",
        sql: "SELECT id, product_id, shop, note FROM price WHERE id > ?1 AND id <= ?2",
        columns: 2,
        ends: true,
    },
    Texts {
        table: "teardown",
        sql: "SELECT teardown.id, product_id, teardown.note FROM teardown
              JOIN specimen ON specimen.id = specimen_id WHERE teardown.id > ?1 AND teardown.id <= ?2",
        columns: 1,
        ends: false,
    },
];

impl Reader {
    /// The products by key, each with the number of its row, after what each is called: `take` is given that number and a
    /// text, which is its key, maker, model, kind, year, `2-way` or note.
    ///
    /// # Errors
    /// [`Error::Damaged`] naming the row that cannot be read; [`Error::Sql`].
    pub fn names(&self, mut take: impl FnMut(i64, &str)) -> Result<Vec<(i64, ProductKey)>, Error> {
        let mut products = Vec::new();
        self.rows(
            "SELECT id, key, maker, model, kind, year || '', ways || '-way', note FROM product ORDER BY key",
            [],
            |row| {
                let id: i64 = row.get(0)?;
                for column in 1..=7 {
                    take(id, text(row, column)?);
                }
                products.push((id, ProductKey::parse(text(row, 1)?).map_err(damaged("product", id))?));
                Ok(())
            },
        )?;
        Ok(products)
    }

    /// A share of what else is written about products and holds, with the number of the product's row: key, typed text and
    /// note of findings, shop and note of prices, notes of teardowns.
    ///
    /// # Errors
    /// As [`Reader::names`].
    pub fn texts(&self, share: Share, mut take: impl FnMut(i64, &str)) -> Result<(), Error> {
        let _moment = self.moment()?;
        for it in &TEXTS {
            let gone = if it.ends { self.gone(it.table)? } else { HashSet::new() };
            self.rows(it.sql, share.rows(self.last_row(it.table)?), |row: &Row<'_>| {
                if !gone.contains(&row.get(0)?) {
                    let product = row.get(1)?;
                    for column in 2..2 + it.columns {
                        take(product, text(row, column)?);
                    }
                }
                Ok(())
            })?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests;
