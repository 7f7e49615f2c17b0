//! The list of products as a page.

use export::{Column, Table};

use super::{
    Page,
    number::{money, percent},
};
use crate::dto::{ProductList, ProductRow};

/// Cells of the completeness bar: one for each 10 %.
const BAR: u8 = 10;

/// The page.
#[must_use]
pub fn products(list: &ProductList, width: usize) -> String {
    let mut page = Page::new(width);
    let n = list.products.len();
    page.line(&format!(
        "{}: {n} product{}, prices as of {}",
        list.title,
        if n == 1 { "" } else { "s" },
        list.as_of
    ));
    page.table_part(&table(list));
    if list.products.iter().any(|it| it.powered) {
        page.part();
        page.line("* powered; listed, never scored");
    }
    if list.products.iter().any(|it| it.no_price.is_some()) {
        page.table_part(&without_price(list));
    }
    page.text
}

fn table(list: &ProductList) -> Table {
    let mut table = Table::new(
        "",
        vec![
            Column::words("product"),
            Column::words("kind").whole(),
            Column::numbers("ways", ""),
            Column::numbers("year", ""),
            Column::numbers("pair", format!("{} {}", list.currency, list.base_month)),
            Column::numbers("age", "days"),
            Column::words("findings").whole(),
            Column::numbers("", "%").gap(1),
            Column::numbers("", "").gap(1),
        ],
    );
    for it in &list.products {
        table.push([
            it.product.clone(),
            kind(it),
            it.ways.to_string(),
            it.year.to_string(),
            it.price.as_ref().map_or_else(|| "none".into(), |it| money(it.real_pair)),
            it.price_age_days.map_or_else(|| "none".into(), |it| it.to_string()),
            it.completeness.map_or_else(String::new, bar),
            it.completeness.map_or_else(String::new, percent),
            it.completeness.map_or_else(String::new, |_| format!("{}/{}", it.found, it.expected)),
        ]);
    }
    table
}

fn kind(it: &ProductRow) -> String {
    if it.powered { format!("{}*", it.kind) } else { it.kind.clone() }
}

fn without_price(list: &ProductList) -> Table {
    let columns = vec![Column::words("product").whole(), Column::prose("why there is no price")];
    let mut table = Table::new("", columns);
    for it in &list.products {
        if let Some(why) = &it.no_price {
            table.push([&it.product, why]);
        }
    }
    table
}

/// A share as a bar; any share above none shows, and only a whole one fills it.
pub(super) fn bar(share: f64) -> String {
    let full = (1..=BAR).filter(|it| f64::from(*it) / f64::from(BAR) <= share + 1e-9).count();
    let part = usize::from(share > 0.0 && full < usize::from(BAR) && is_past_half(share));
    let rest = usize::from(BAR) - full - part;
    format!("{}{}{}", "█".repeat(full), "▌".repeat(part), "░".repeat(rest))
}

/// Whether a share reaches the middle of the cell in which it ends, or is the beginning of the first.
fn is_past_half(share: f64) -> bool {
    let cells = share * f64::from(BAR);
    cells.fract() >= 0.5 || cells < 1.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bar_is_full_only_when_all_is_there() {
        assert_eq!(bar(1.0), "██████████");
        assert_eq!(bar(0.99), "█████████▌");
        assert_eq!(bar(0.55), "█████▌░░░░");
        assert_eq!(bar(0.51), "█████░░░░░");
        assert_eq!(bar(0.3), "███░░░░░░░");
    }

    #[test]
    fn a_bar_is_empty_only_when_nothing_is_there() {
        assert_eq!(bar(0.0), "░░░░░░░░░░");
        assert_eq!(bar(0.001), "▌░░░░░░░░░");
    }
}
