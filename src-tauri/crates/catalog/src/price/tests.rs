//! That prices are entered, corrected, withdrawn and taken back, and that nothing of it is lost.

use domain::{
    dictionary::Dictionary,
    money::{Currency, Money},
    price::Basis,
    product::{Product, ProductKind},
};

use super::*;
use crate::{Info, Priced, Share};

const NOW: &str = "2026-11-25T10:00:00Z";

fn price(amount: &str, date: &str) -> Price {
    Price {
        money: Money::parse(amount, Currency::Usd).unwrap(),
        basis: Basis::Pair,
        date: date.parse().unwrap(),
        kind: PriceKind::Street,
        seller: Seller::Authorised,
        shop: String::new(),
        note: String::new(),
    }
}

fn dossier(prices: Vec<Price>) -> Dossier {
    let product = Product {
        key: ProductKey::parse("quillcove/sprat-3").unwrap(),
        maker: "Quillcove".into(),
        model: "Sprat 3".into(),
        kind: ProductKind::StandMount,
        ways: 2,
        powered: false,
        year: 2020,
        note: String::new(),
    };
    Dossier { product, prices, specimens: Vec::new(), stated: Vec::new(), jobs: Vec::new() }
}

fn with<T>(test: impl FnOnce(&mut Catalog) -> T) -> T {
    let folder = tempfile::tempdir().unwrap();
    let info = Info {
        title: "t".into(),
        currency: "USD".into(),
        base_month: "2026-06".into(),
        note: String::new(),
    };
    test(&mut Catalog::create(&folder.path().join("a.boxworth"), &info).unwrap())
}

/// What holds now: amount in cents and date.
fn now(it: &Catalog) -> Vec<(i64, String)> {
    let all = it.reader().dossiers(&Dictionary::standard()).unwrap();
    let found = all[0].prices.iter().map(|it| (it.money.minor, it.date.to_string())).collect();
    // Read with the prices alone, it is the same.
    let priced = Priced::of([it.reader().priced(Share::WHOLE).unwrap()]).unwrap();
    let mut alone = priced.some(0..1).next().unwrap().1;
    alone.sort_by_key(|it| it.date);
    let same = |(a, b): (&Price, &Price)| {
        *a == Price { shop: String::new(), note: String::new(), ..b.clone() }
    };
    assert!(alone.len() == all[0].prices.len() && alone.iter().zip(&all[0].prices).all(same));
    found
}

fn record(it: &mut Catalog, price: Price, instead_of: Option<&PricePlace>) -> Tally {
    it.record_price(&dossier(vec![price]), instead_of, "", NOW).unwrap()
}

#[test]
fn a_price_of_the_same_place_corrects_and_another_is_added() {
    with(|it| {
        record(it, price("249", "2026-05-01"), None);
        record(it, price("259", "2026-05-01"), None);
        record(it, price("239", "2026-06-01"), None);
        assert_eq!(now(it), [(25_900, "2026-05-01".into()), (23_900, "2026-06-01".into())]);
        assert_eq!(record(it, price("239", "2026-06-01"), None).added, 0);
    });
}

#[test]
fn a_corrected_date_is_one_action_and_is_taken_back_as_one() {
    with(|it| {
        record(it, price("249", "2026-05-01"), None);
        let wrong = PricePlace::of(&price("249", "2026-05-01"));
        let tally = record(it, price("249", "2026-05-11"), Some(&wrong));
        assert_eq!((tally.added, tally.corrected), (1, 1));
        assert_eq!(now(it), [(24_900, "2026-05-11".into())]);
        it.undo(NOW).unwrap();
        assert_eq!(now(it), [(24_900, "2026-05-01".into())]);
        it.redo(NOW).unwrap();
        assert_eq!(now(it), [(24_900, "2026-05-11".into())]);
    });
}

#[test]
fn a_withdrawn_price_is_gone_once_comes_back_and_can_be_entered_anew() {
    with(|it| {
        record(it, price("249", "2026-05-01"), None);
        let place = PricePlace::of(&price("1", "2026-05-01"));
        let key = ProductKey::parse("quillcove/sprat-3").unwrap();
        assert!(it.withdraw_price(&key, &place, "noted for another model", NOW).unwrap());
        assert!(!it.withdraw_price(&key, &place, "", NOW).unwrap());
        assert_eq!(now(it), []);
        it.undo(NOW).unwrap();
        assert_eq!(now(it), [(24_900, "2026-05-01".into())]);
        it.redo(NOW).unwrap();
        record(it, price("255", "2026-05-01"), None);
        assert_eq!(now(it), [(25_500, "2026-05-01".into())]);
    });
}

#[test]
fn a_correction_that_stays_in_its_place_withdraws_nothing() {
    with(|it| {
        record(it, price("249", "2026-05-01"), None);
        let place = PricePlace::of(&price("1", "2026-05-01"));
        record(it, price("99", "2026-05-01"), Some(&place));
        assert_eq!(now(it), [(9_900, "2026-05-01".into())]);
    });
}
