//! Products with their prices alone: what decides who is in a band and what a list shows, read from a large file without
//! its findings.

use std::{
    collections::{HashMap, HashSet},
    ops::Range,
};

use domain::{
    Date,
    key::ProductKey,
    money::{Currency, Money},
    price::{Basis, Price, PriceDate, PriceKind, Seller},
    product::ProductKind,
};
use rusqlite::{Params, Row};

use crate::{Error, Reader, Share};

/// A product as a list of prices names it.
#[derive(Debug, Clone, PartialEq)]
pub struct Named {
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
    /// The number of its row.
    row: i64,
}

/// A price without the texts about it, with the row of its product: a third of what a [`Price`] takes, of which there are
/// several for each product.
#[derive(Debug, Clone, Copy)]
struct Asked {
    product: i64,
    minor: i64,
    basis: Basis,
    date: PriceDate,
    currency: Currency,
    kind: PriceKind,
    seller: Seller,
}

/// A share of the products and a share of the prices, which need not be those of these products.
#[derive(Debug)]
pub struct PricedShare {
    named: Vec<Named>,
    asked: Vec<Asked>,
}

/// Products in the order in which they were recorded, with the prices that hold.
#[derive(Debug)]
pub struct Priced {
    named: Vec<Named>,
    /// Those of the first product, then those of the second, each in the order in which they were recorded.
    asked: Vec<Asked>,
    /// Where those of each product end.
    ends: Vec<usize>,
}

impl Priced {
    /// All shares, in their order.
    ///
    /// # Errors
    /// [`Error::Damaged`] naming a product that has prices and is not there.
    pub fn of(shares: impl IntoIterator<Item = PricedShare>) -> Result<Self, Error> {
        let mut shares = shares.into_iter();
        let Some(PricedShare { mut named, mut asked }) = shares.next() else {
            return Ok(Priced { named: Vec::new(), asked: Vec::new(), ends: Vec::new() });
        };
        for it in shares {
            named.extend(it.named);
            asked.extend(it.asked);
        }
        // Mostly they are so already. The sort is stable: what was recorded first stays first.
        asked.sort_by_key(|it| it.product);
        let mut ends = Vec::with_capacity(named.len());
        let mut end = 0;
        for it in &named {
            end += asked[end..].iter().take_while(|price| price.product == it.row).count();
            ends.push(end);
        }
        match asked.get(end) {
            None => Ok(Priced { named, asked, ends }),
            Some(of) => Err(damaged("product", of.product)("it has prices and is not there")),
        }
    }

    /// How many products there are.
    #[must_use]
    pub fn len(&self) -> usize {
        self.named.len()
    }

    /// Whether there is none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.named.is_empty()
    }

    /// The places of all products, so many at a time.
    pub fn in_runs(&self, most: usize) -> impl Iterator<Item = Range<usize>> {
        let n = self.len();
        (0..n).step_by(most.max(1)).map(move |from| from..n.min(from + most.max(1)))
    }

    /// Some products with their prices, whose shops and notes are not read.
    pub fn some(&self, places: Range<usize>) -> impl Iterator<Item = (&Named, Vec<Price>)> {
        places.filter_map(|at| {
            let start = if at == 0 { 0 } else { *self.ends.get(at - 1)? };
            let asked = self.asked.get(start..*self.ends.get(at)?)?;
            Some((self.named.get(at)?, asked.iter().map(Asked::price).collect()))
        })
    }
}

impl Asked {
    fn price(&self) -> Price {
        Price {
            money: Money { minor: self.minor, currency: self.currency },
            basis: self.basis,
            date: self.date,
            kind: self.kind,
            seller: self.seller,
            shop: String::new(),
            note: String::new(),
        }
    }
}

impl Reader {
    /// A share of the products, and a share of the prices that hold.
    ///
    /// Each table is read from front to back, and what was superseded or withdrawn is left out on the way: looked up for each
    /// price, as [`Reader::dossiers`] does it, it would take three times as long.
    ///
    /// # Errors
    /// [`Error::Damaged`] naming the row that cannot be read; [`Error::Sql`].
    pub fn priced(&self, share: Share) -> Result<PricedShare, Error> {
        let _moment = self.moment()?;
        let (mut named, mut asked) = (Vec::new(), Vec::new());
        self.rows(
            "SELECT id, key, maker, model, kind, ways, powered, year FROM product
             WHERE id > ?1 AND id <= ?2 ORDER BY id",
            share.rows(self.last_row("product")?),
            |row| {
                let id: i64 = row.get(0)?;
                named.push(Named {
                    row: id,
                    key: ProductKey::parse(text(row, 1)?).map_err(damaged("product", id))?,
                    maker: row.get(2)?,
                    model: row.get(3)?,
                    kind: ProductKind::parse(text(row, 4)?).map_err(damaged("product", id))?,
                    ways: row.get(5)?,
                    powered: row.get(6)?,
                    year: row.get(7)?,
                });
                Ok(())
            },
        )?;
        let gone = self.gone("price")?;
        self.rows(
            "SELECT id, product_id, amount_minor, currency, basis, count, day, kind, seller FROM price
             WHERE id > ?1 AND id <= ?2 ORDER BY id",
            share.rows(self.last_row("price")?),
            |row| {
                let id: i64 = row.get(0)?;
                if !gone.contains(&id) {
                    asked.push(price(row, id)?);
                }
                Ok(())
            },
        )?;
        Ok(PricedShare { named, asked })
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

    /// The number of the last row of a table, 0 when there is none.
    pub(crate) fn last_row(&self, table: &'static str) -> Result<i64, Error> {
        let sql = format!("SELECT coalesce(max(id), 0) FROM {table}");
        Ok(self.connection.query_row(&sql, [], |row| row.get(0))?)
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

fn price(row: &Row<'_>, id: i64) -> Result<Asked, Error> {
    let basis = match text(row, 4)? {
        "each" => Basis::Each,
        "pair" => Basis::Pair,
        "set" => Basis::Set(row.get(5)?),
        other => return Err(damaged("price", id)(format!("{other} is no price basis"))),
    };
    Ok(Asked {
        product: row.get(1)?,
        minor: row.get(2)?,
        currency: Currency::parse(text(row, 3)?).map_err(damaged("price", id))?,
        basis,
        date: text(row, 6)?.parse::<PriceDate>().map_err(damaged("price", id))?,
        kind: PriceKind::parse(text(row, 7)?).map_err(damaged("price", id))?,
        seller: Seller::parse(text(row, 8)?).map_err(damaged("price", id))?,
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

#[cfg(test)]
mod tests;
