//! Entering, correcting and withdrawing a price, as one action of the journal.

use domain::{
    dossier::Dossier,
    key::ProductKey,
    price::{Price, PriceDate, PriceKind, Seller},
};
use rusqlite::{OptionalExtension, Transaction, TransactionBehavior, params};

use crate::{
    Action, Catalog, Error, Tally,
    import::Import,
    journal::{Entry, Facts},
};

/// The place of a price: two prices of one place are one price, corrected.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PricePlace {
    /// When it was asked.
    pub date: PriceDate,
    /// What kind of price.
    pub kind: PriceKind,
    /// Who asked it.
    pub seller: Seller,
    /// Which shop, or empty.
    pub shop: String,
}

impl PricePlace {
    /// Where a price stands.
    #[must_use]
    pub fn of(it: &Price) -> Self {
        PricePlace { date: it.date, kind: it.kind, seller: it.seller, shop: it.shop.clone() }
    }
}

impl Catalog {
    /// Takes in the prices of `dossier` and empties the place `instead_of`, unless one of them stands there: a correction
    /// of date, kind or seller is one action, and is taken back as one. What was there already leaves no entry.
    ///
    /// # Errors
    /// [`Error::Sql`]; the catalogue is then as before.
    pub fn record_price(
        &mut self,
        dossier: &Dossier,
        instead_of: Option<&PricePlace>,
        reason: &str,
        recorded_at: &str,
    ) -> Result<Tally, Error> {
        let transaction =
            self.reader.connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let entry = Entry::new(&transaction, recorded_at, Action::Record, reason, None);
        let mut import = Import::new(&transaction, recorded_at, entry);
        let is_kept =
            |place: &PricePlace| dossier.prices.iter().any(|it| PricePlace::of(it) == *place);
        if let Some(place) = instead_of.filter(|it| !is_kept(it))
            && let Some((row, product_id)) = find(&transaction, &dossier.product.key, place)?
        {
            import.entry.withdraw(product_id, Facts::Price, row)?;
            import.tally.corrected += 1;
        }
        import.dossier(dossier)?;
        let tally = import.tally;
        transaction.commit()?;
        self.settle_log();
        Ok(tally)
    }

    /// Empties the place of a price; says whether there was one.
    ///
    /// # Errors
    /// As [`Catalog::record_price`].
    pub fn withdraw_price(
        &mut self,
        product: &ProductKey,
        place: &PricePlace,
        reason: &str,
        recorded_at: &str,
    ) -> Result<bool, Error> {
        let transaction =
            self.reader.connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let Some((row, product_id)) = find(&transaction, product, place)? else { return Ok(false) };
        let mut entry = Entry::new(&transaction, recorded_at, Action::Record, reason, None);
        entry.withdraw(product_id, Facts::Price, row)?;
        transaction.commit()?;
        self.settle_log();
        Ok(true)
    }
}

/// The row that holds in a place, with its product.
fn find(
    sql: &Transaction<'_>,
    product: &ProductKey,
    place: &PricePlace,
) -> Result<Option<(i64, i64)>, Error> {
    Ok(sql
        .query_row(
            "SELECT price.id, product_id FROM price JOIN product ON product.id = product_id
             WHERE product.key = ?1 AND day = ?2 AND price.kind = ?3 AND seller = ?4 AND shop = ?5
               AND NOT EXISTS (SELECT 1 FROM price AS later WHERE later.supersedes = price.id)
               AND NOT EXISTS (SELECT 1 FROM withdrawn WHERE what = 'price' AND row_id = price.id)",
            params![
                product.as_str(),
                place.date.to_string(),
                place.kind.word(),
                place.seller.word(),
                place.shop
            ],
            |row| Ok((row.get(0)?, row.get(1)?)),
        )
        .optional()?)
}

#[cfg(test)]
mod tests;
