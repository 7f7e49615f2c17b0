//! Products with their prices alone: what decides who is in a band and what a list shows, read from a large file without
//! its findings.

use std::collections::{HashMap, HashSet};

use domain::{
    Date,
    key::ProductKey,
    money::{Currency, Money},
    price::{Basis, Price, PriceDate, PriceKind, Seller},
    product::ProductKind,
};
use rusqlite::{Params, Row};

use crate::{Error, Reader};

/// A product with what is asked for it.
#[derive(Debug, Clone, PartialEq)]
pub struct Priced {
    /// Its key.
    pub key: ProductKey,
    /// As it stands on the product.
    pub maker: String,
    /// As it stands on the product.
    pub model: String,
    /// What kind it is.
    pub kind: ProductKind,
    /// The number of ways.
    pub ways: u8,
    /// Whether it has an amplifier of its own.
    pub powered: bool,
    /// The year it came out.
    pub year: i16,
    /// The prices that hold, in the order in which they were recorded; shops and notes are not read.
    pub prices: Vec<Price>,
}

impl Reader {
    /// All products with the prices that hold, by key.
    ///
    /// Each table is read once from front to back, and what was superseded or withdrawn is left out on the way: looked up for
    /// each price, as [`Reader::dossiers`] does it, it would take three times as long.
    ///
    /// # Errors
    /// [`Error::Damaged`] naming the row that cannot be read; [`Error::Sql`].
    pub fn priced(&self) -> Result<Vec<Priced>, Error> {
        let _moment = self.moment()?;
        let mut list = Vec::new();
        let mut places: HashMap<i64, usize> = HashMap::new();
        self.rows(
            "SELECT id, key, maker, model, kind, ways, powered, year FROM product ORDER BY key",
            [],
            |row| {
                let id: i64 = row.get(0)?;
                places.insert(id, list.len());
                list.push(Priced {
                    key: ProductKey::parse(text(row, 1)?).map_err(damaged("product", id))?,
                    maker: row.get(2)?,
                    model: row.get(3)?,
                    kind: ProductKind::parse(text(row, 4)?).map_err(damaged("product", id))?,
                    ways: row.get(5)?,
                    powered: row.get(6)?,
                    year: row.get(7)?,
                    prices: Vec::new(),
                });
                Ok(())
            },
        )?;
        let gone = self.gone("price")?;
        self.rows(
            "SELECT id, product_id, amount_minor, currency, basis, count, day, kind, seller FROM price",
            [],
            |row| {
                let (id, product): (i64, i64) = (row.get(0)?, row.get(1)?);
                if gone.contains(&id) {
                    return Ok(());
                }
                let at = places
                    .get(&product)
                    .ok_or_else(|| damaged("price", id)("its product is not there"))?;
                list[*at].prices.push(price(row, id)?);
                Ok(())
            },
        )?;
        Ok(list)
    }

    /// The day of the last teardown of each product that was opened, by its key.
    ///
    /// # Errors
    /// As [`Reader::priced`].
    pub fn last_teardowns(&self) -> Result<HashMap<ProductKey, Date>, Error> {
        let mut days = HashMap::new();
        self.rows(
            "SELECT key, max(day), product.id FROM teardown JOIN specimen ON specimen.id = specimen_id
             JOIN product ON product.id = product_id GROUP BY product.id",
            [],
            |row| {
                let id: i64 = row.get(2)?;
                let key = ProductKey::parse(text(row, 0)?).map_err(damaged("product", id))?;
                days.insert(key, text(row, 1)?.parse().map_err(damaged("teardown", id))?);
                Ok(())
            },
        )?;
        Ok(days)
    }

    /// The rows of a table of facts that hold no more.
    pub(crate) fn gone(&self, facts: &'static str) -> Result<HashSet<i64>, Error> {
        let mut gone = HashSet::new();
        for ended in [
            format!("SELECT supersedes FROM {facts} WHERE supersedes IS NOT NULL"),
            format!("SELECT row_id FROM withdrawn WHERE what = '{facts}'"),
        ] {
            self.rows(&ended, [], |row| {
                gone.insert(row.get(0)?);
                Ok(())
            })?;
        }
        Ok(gone)
    }

    pub(crate) fn rows(
        &self,
        sql: &str,
        of: impl Params,
        mut take: impl FnMut(&Row<'_>) -> Result<(), Error>,
    ) -> Result<(), Error> {
        let mut statement = self.connection.prepare_cached(sql)?;
        let mut rows = statement.query(of)?;
        while let Some(row) = rows.next()? {
            take(row)?;
        }
        Ok(())
    }
}

fn price(row: &Row<'_>, id: i64) -> Result<Price, Error> {
    let basis = match text(row, 4)? {
        "each" => Basis::Each,
        "pair" => Basis::Pair,
        "set" => Basis::Set(row.get(5)?),
        other => return Err(damaged("price", id)(format!("{other} is no price basis"))),
    };
    Ok(Price {
        money: Money {
            minor: row.get(2)?,
            currency: Currency::parse(text(row, 3)?).map_err(damaged("price", id))?,
        },
        basis,
        date: text(row, 6)?.parse::<PriceDate>().map_err(damaged("price", id))?,
        kind: PriceKind::parse(text(row, 7)?).map_err(damaged("price", id))?,
        seller: Seller::parse(text(row, 8)?).map_err(damaged("price", id))?,
        shop: String::new(),
        note: String::new(),
    })
}

/// A text where it lies, since most are words that are looked up and not kept.
pub(crate) fn text<'r>(row: &'r Row<'_>, column: usize) -> Result<&'r str, Error> {
    let found = row.get_ref(column)?;
    Ok(found.as_str().map_err(|why| {
        rusqlite::Error::FromSqlConversionFailure(column, found.data_type(), why.into())
    })?)
}

pub(crate) fn damaged<E: ToString>(table: &'static str, row: i64) -> impl FnOnce(E) -> Error {
    move |why| Error::Damaged { table, row, why: why.to_string() }
}
