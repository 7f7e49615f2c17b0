//! Prices of a product as pages.

use export::{Column, Table};

use super::{Page, number::money};
use crate::dto::{PriceDto, PriceHistory, PriceReading, PriceReport};

/// All prices of a product.
#[must_use]
pub fn prices(it: &PriceHistory, width: usize) -> String {
    let mut page = Page::new(width);
    page.line(&match (&it.price, &it.no_price) {
        (Some(price), _) => format!(
            "{}: {}, as of {}",
            it.product,
            placed(price, &it.currency, &it.base_month),
            it.as_of
        ),
        (None, why) => format!("{}: {}", it.product, why.as_deref().unwrap_or("no price")),
    });
    let columns = vec![
        Column::words("date").whole(),
        Column::words("asked").whole(),
        Column::words("kind").whole(),
        Column::words("seller"),
        Column::words("shop"),
        Column::numbers("pair", format!("{} {}", it.currency, it.base_month)),
        Column::numbers("age", "days"),
        Column::prose("counts"),
        Column::prose("note"),
    ];
    let mut table = Table::new("", columns);
    for row in &it.rows {
        table.push([
            row.date.clone(),
            row.asked.clone(),
            row.kind.clone(),
            row.seller.clone(),
            row.shop.clone(),
            row.real_pair.map_or_else(|| "none".into(), money),
            row.age_days.to_string(),
            if row.counts { "yes".into() } else { format!("no: {}", row.why_not) },
            row.note.clone(),
        ]);
    }
    page.table_part(&table);
    page.text
}

/// How a price would be understood.
#[must_use]
pub fn price_reading(it: &PriceReading, width: usize) -> String {
    let mut page = Page::new(width);
    page.line(&it.sentence);
    if let Some(replaced) = &it.replaces {
        page.line(&format!("It would take the place of {replaced}."));
    }
    page.line("Nothing was saved.");
    page.text
}

/// What became of a price.
#[must_use]
pub fn price_change(it: &PriceReport, width: usize) -> String {
    let mut page = Page::new(width);
    match (&it.after, it.changed) {
        (Some(_), true) => page.line(&it.sentence),
        (Some(after), false) => page.line(&format!("{after}; it was so already.")),
        (None, _) => {
            page.line(&format!("Withdrawn: {}", it.before.as_deref().unwrap_or("nothing")));
            if let Some(why) = &it.no_price {
                page.line(why);
            }
        }
    }
    if let (Some(before), Some(_), true) = (&it.before, &it.after, it.changed) {
        page.line(&format!("before: {before}"));
    }
    page.text
}

fn placed(it: &PriceDto, currency: &str, month: &str) -> String {
    let of = match it.observations {
        1 => "one price".to_owned(),
        n => format!("the median of {n} prices"),
    };
    let stale = if it.stale { ", older than 180 days" } else { "" };
    format!("{} {currency} of {month} a pair, {of}{stale}", money(it.real_pair))
}
