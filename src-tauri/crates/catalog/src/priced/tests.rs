//! Prices read in shares are those of the dossiers, whatever was corrected, and in whatever order it was recorded.

use domain::{
    dictionary::Dictionary,
    dossier::Dossier,
    product::{Product, ProductKind},
};

use super::*;
use crate::{Catalog, Info, unwatched};

/// An invented product of an invented maker, with prices of the first days of a month.
fn dossier(model: &str, month: &str, amounts: &[i64]) -> Dossier {
    let price = |(day, minor): (usize, &i64)| Price {
        money: Money { minor: *minor, currency: Currency::Usd },
        basis: if *minor > 40_000 { Basis::Set(5) } else { Basis::Each },
        date: format!("{month}-{:02}", day + 1).parse().unwrap(),
        kind: PriceKind::Street,
        seller: Seller::Authorised,
        shop: String::new(),
        note: String::new(),
    };
    let product = Product {
        key: ProductKey::parse(&format!("quill/{model}")).unwrap(),
        maker: "Quill".into(),
        model: model.into(),
        kind: ProductKind::StandMount,
        ways: 2,
        powered: false,
        year: 2021,
        note: String::new(),
    };
    Dossier { prices: amounts.iter().enumerate().map(price).collect(), ..Dossier::of(product) }
}

fn catalog(folder: &tempfile::TempDir, steps: &[&[Dossier]]) -> Catalog {
    let info = Info {
        title: "t".into(),
        currency: "USD".into(),
        base_month: "2026-06".into(),
        note: String::new(),
    };
    let mut it = Catalog::create(&folder.path().join("a.boxworth"), &info).unwrap();
    for (step, dossiers) in steps.iter().enumerate() {
        let at = format!("2026-06-02T10:00:0{step}Z");
        it.import(dossiers, None, &at, false, &mut unwatched).unwrap();
    }
    it
}

fn priced(reader: &Reader, of: usize) -> Priced {
    Priced::of((0..of).map(|at| reader.priced(Share { at, of }).unwrap())).unwrap()
}

#[test]
fn shares_hold_the_prices_of_the_dossiers() {
    let folder = tempfile::tempdir().unwrap();
    let it = catalog(
        &folder,
        &[
            &[dossier("fern", "2026-01", &[100, 200]), dossier("aster", "2026-01", &[300])],
            // Later prices of the first ones, one of them a correction; one without a price.
            &[
                dossier("moss", "2026-02", &[50_000, 600, 700]),
                dossier("fern", "2026-01", &[150]),
                dossier("ivy", "2026-01", &[]),
            ],
            &[dossier("aster", "2026-03", &[900])],
        ],
    );
    let dossiers = it.reader().dossiers(&Dictionary::standard()).unwrap();
    for of in [1, 2, 3, 7] {
        let priced = priced(it.reader(), of);
        assert_eq!((priced.len(), priced.is_empty()), (4, false));
        let runs: Vec<_> = priced.in_runs(3).collect();
        assert_eq!(runs, [0..3, 3..4]);
        let mut all: Vec<_> = runs.into_iter().flat_map(|it| priced.some(it)).collect();
        all.sort_by(|a, b| a.0.key.cmp(&b.0.key));
        let sorted = |prices: &[Price]| {
            let mut prices = prices.to_vec();
            prices.sort_by_key(|it| it.date);
            prices
        };
        for ((named, prices), dossier) in all.iter().zip(&dossiers) {
            let product = &dossier.product;
            assert_eq!((&named.key, &named.maker), (&product.key, &product.maker));
            assert_eq!((&named.model, named.kind), (&product.model, product.kind));
            assert_eq!((named.ways, named.powered, named.year), (2, false, 2021));
            assert_eq!(sorted(prices), sorted(&dossier.prices), "{} in {of}", named.key);
        }
        assert_eq!(all.len(), dossiers.len());
    }
    let keys: Vec<String> = it.reader().keys().unwrap().iter().map(ToString::to_string).collect();
    assert_eq!(keys, ["quill/aster", "quill/fern", "quill/ivy", "quill/moss"]);
}

#[test]
fn an_empty_file_has_none_and_a_price_of_no_product_is_damage() {
    let folder = tempfile::tempdir().unwrap();
    let it = catalog(&folder, &[]);
    assert!(priced(it.reader(), 2).is_empty());
    assert_eq!(priced(it.reader(), 2).some(0..5).count(), 0);
    assert!(Priced::of([]).unwrap().is_empty());
    let folder = tempfile::tempdir().unwrap();
    let it = catalog(&folder, &[&[dossier("fern", "2026-01", &[100])]]);
    let connection = &it.reader().connection;
    connection.pragma_update(None, "foreign_keys", false).unwrap();
    connection.execute("UPDATE product SET id = 7", []).unwrap();
    let share = it.reader().priced(Share::WHOLE).unwrap();
    let why = Priced::of([share]).unwrap_err().to_string();
    assert!(why.contains("product") && why.contains('1') && why.contains("is not there"), "{why}");
}
