//! The price observations: `[[price]]`.

use std::collections::HashSet;

use domain::{
    money::{Currency, Money},
    price::{Basis, Price, PriceDate, PriceKind, Seller},
};

use super::{
    cursor::{Report, Table},
    fault::Refusal,
};

const KEYS: &[&str] =
    &["amount", "currency", "basis", "count", "date", "kind", "seller", "shop", "note"];

/// The accepted form of an amount.
const AMOUNT: &str = "digits with at most two decimals, such as \"249.00\"";

/// The accepted form of a date.
const DATE: &str = "YYYY-MM-DD, YYYY-MM or YYYY";

/// The most speakers of a set.
const LARGEST_SET: i64 = 99;

/// The currency of a price that names none.
#[derive(Debug, Clone, Copy)]
pub(super) enum Usual {
    /// The catalogue's.
    Is(Currency),
    /// The catalogue's, which could not be read; that is reported in its own place.
    Unreadable,
    /// There is no catalogue, so each price must name its currency.
    None,
}

/// All prices of a product, in the order written.
pub(super) fn prices(report: &mut Report<'_>, product: &Table<'_>, usual: Usual) -> Vec<Price> {
    let mut seen = HashSet::new();
    let mut prices = Vec::new();
    for table in product.tables(report, "price") {
        let Some(it) = price(report, &table, usual) else { continue };
        if !seen.insert((it.date, it.kind, it.seller, it.shop.clone())) {
            let message = format!(
                "a second price of {}, {}, {}, shop {:?}",
                it.date,
                it.kind.word(),
                it.seller.word(),
                it.shop
            );
            report.fault(
                table.at,
                &table.path,
                Refusal::new(message, "one price, or different shops"),
            );
        }
        prices.push(it);
    }
    prices
}

fn price(report: &mut Report<'_>, table: &Table<'_>, usual: Usual) -> Option<Price> {
    table.only(report, KEYS);
    let currency = match (table.get("currency"), usual) {
        (None, Usual::Is(it)) => Some(it),
        (None, Usual::Unreadable) => None,
        _ => table.need_word(report, "currency", Currency::parse),
    };
    // An amount is checked even when its currency could not be read.
    let money = table.need(report, "amount", AMOUNT).and_then(|it| {
        it.read(report, AMOUNT, |text| Money::parse(text, currency.unwrap_or(Currency::Usd)))
    });
    let basis = basis(report, table);
    let date = table
        .need(report, "date", DATE)
        .and_then(|it| it.read(report, DATE, str::parse::<PriceDate>));
    let kind = table.need_word(report, "kind", PriceKind::parse);
    let seller = table.need_word(report, "seller", Seller::parse);
    let shop = table.name_or_empty(report, "shop");
    let note = table.note(report);
    Some(Price {
        money: currency.and(money)?,
        basis: basis?,
        date: date?,
        kind: kind?,
        seller: seller?,
        shop: shop?,
        note: note?,
    })
}

fn basis(report: &mut Report<'_>, table: &Table<'_>) -> Option<Basis> {
    let is_set = table.need_word(report, "basis", |text| match text {
        "each" => Ok(Some(Basis::Each)),
        "pair" => Ok(Some(Basis::Pair)),
        "set" => Ok(None),
        _ => Err(Refusal::new(format!("{text:?} is not a basis"), "each, pair, set")),
    });
    match (is_set?, table.get("count")) {
        (None, _) => {
            let accepted = "how many speakers are in the set, without quotes";
            let count = table.need(report, "count", accepted)?.whole(report, 1, LARGEST_SET)?;
            u32::try_from(count).ok().map(Basis::Set)
        }
        (Some(it), None) => Some(it),
        (Some(it), Some(count)) => {
            let message = format!("a count does not go with the basis {:?}", it.word());
            report.fault(
                count.at,
                &count.path,
                Refusal::new(message, "count with basis = \"set\" only"),
            );
            None
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plain::fault::Faults;

    fn read(text: &str, usual: Usual) -> Result<Vec<Price>, Vec<String>> {
        let mut faults = Faults::default();
        let mut report = Report::new("f", text, &mut faults);
        let entries = report.parse(text).expect("the text of a test is TOML");
        let found = prices(&mut report, &Table::document(&entries), usual);
        match faults.finish() {
            Ok(_) => Ok(found),
            Err(all) => Err(all.iter().map(ToString::to_string).collect()),
        }
    }

    #[test]
    fn prices_read_with_the_catalogue_currency_unless_they_name_one() {
        let text = "[[price]]\namount = '249.5'\nbasis = 'pair'\ndate = '2026-05'\nkind = 'street'\nseller = 'authorised'\n\
            [[price]]\namount = '999'\ncurrency = 'EUR'\nbasis = 'set'\ncount = 5\ndate = '2019'\nkind = 'list'\nseller = 'maker'\nshop = 'A'\n";
        let found = read(text, Usual::Is(Currency::Usd)).unwrap();
        assert_eq!(found[0].money.to_string(), "249.50 USD");
        assert_eq!(
            (found[1].money.to_string(), found[1].basis),
            ("999.00 EUR".to_owned(), Basis::Set(5))
        );
        assert_eq!(
            read(text, Usual::None).unwrap_err(),
            ["f:1: price[1].currency: the key is missing; accepted: USD, EUR, GBP"]
        );
    }

    #[test]
    fn each_refusal_names_its_place_and_what_is_accepted() {
        let text = "[[price]]
amount = '1,299'
basis = 'pairs'
date = '2023-02-29'
kind = 'discount'
seller = 'shop'
[[price]]
amount = 249
basis = 'pair'
count = 2
date = '2026-05'
kind = 'sale'
shop = ' x'
[[price]]
amount = '249'
basis = 'set'
date = '2026'
kind = 'sale'
seller = 'used'
[[price]]
amount = '249'
basis = 'set'
count = 0
date = '2026'
kind = 'sale'
seller = 'used'
currency = 'QQQ'
";
        assert_eq!(
            read(text, Usual::Is(Currency::Usd)).unwrap_err(),
            [
                "f:2: price[1].amount: \"1,299\" is not an amount; accepted: digits with at most two decimals after a point, above 0 and below 10000000, such as \"249.00\"",
                "f:3: price[1].basis: \"pairs\" is not a basis; accepted: each, pair, set",
                "f:4: price[1].date: \"2023-02-29\" is not a date; accepted: YYYY-MM-DD, YYYY-MM or YYYY from 1950 to 2199",
                "f:5: price[1].kind: \"discount\" is not a kind of price; accepted: list, street, sale",
                "f:6: price[1].seller: \"shop\" is not a kind of seller; accepted: maker, authorised, marketplace, used",
                "f:7: price[2].seller: the key is missing; accepted: maker, authorised, marketplace, used",
                "f:8: price[2].amount: a whole number stands here, not a text; accepted: digits with at most two decimals, such as \"249.00\", as text in quotes",
                "f:10: price[2].count: a count does not go with the basis \"pair\"; accepted: count with basis = \"set\" only",
                "f:13: price[2].shop: \" x\" starts or ends with a space; accepted: a name of 1 to 80 characters on one line",
                "f:14: price[3].count: the key is missing; accepted: how many speakers are in the set, without quotes",
                "f:23: price[4].count: 0 is out of range; accepted: a whole number from 1 to 99, without quotes",
                "f:27: price[4].currency: \"QQQ\" is not a currency; accepted: USD, EUR, GBP",
            ]
        );
    }

    #[test]
    fn two_prices_of_one_day_kind_and_seller_need_two_shops() {
        let one = |shop: &str| {
            format!(
                "[[price]]\namount = '249'\nbasis = 'pair'\ndate = '2026-05'\nkind = 'street'\nseller = 'used'\n{shop}\n"
            )
        };
        assert_eq!(
            read(&(one("shop = 'A'") + &one("shop = 'B'")), Usual::Is(Currency::Usd))
                .unwrap()
                .len(),
            2
        );
        assert_eq!(
            read(&(one("") + &one("")), Usual::Is(Currency::Usd)).unwrap_err(),
            [
                "f:8: price[2]: a second price of 2026-05, street, used, shop \"\"; accepted: one price, or different shops"
            ]
        );
    }
}
