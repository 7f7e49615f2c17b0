//! Each text that holds is given once, whatever the shares; one state of the file is read while another program writes.

use std::collections::BTreeMap;

use domain::{
    dictionary::Dictionary,
    dossier::{Dossier, Job},
    evidence::Evidence,
    finding::{Answer, Declared, Finding, Value},
    money::{Currency, Money},
    part::{Part, Role},
    price::{Basis, Price, PriceKind, Seller},
    product::{Acquired, Product, ProductKind, Specimen, Teardown},
};

use super::*;
use crate::{Catalog, Info, unwatched};

fn finding(key: &str, typed: &str, note: &str) -> Finding {
    Finding {
        part: Part::first(Role::Cabinet),
        key: key.into(),
        typed: typed.into(),
        unit: String::new(),
        answer: Answer::Value(Value::Text(typed.into())),
        evidence: Evidence::Inspected,
        note: note.into(),
        date: "2026-06-02".parse().unwrap(),
        declared: Declared::Standard,
    }
}

/// An invented product of an invented maker.
fn dossier(model: &str, findings: Vec<Finding>) -> Dossier {
    Dossier {
        product: Product {
            key: ProductKey::parse(&format!("quill/{model}")).unwrap(),
            maker: "Quill".into(),
            model: model.into(),
            kind: ProductKind::StandMount,
            ways: 2,
            powered: false,
            year: 2021,
            note: "sold as a pair".into(),
        },
        prices: vec![Price {
            money: Money { minor: 24_900, currency: Currency::Usd },
            basis: Basis::Pair,
            date: "2026-05".parse().unwrap(),
            kind: PriceKind::Street,
            seller: Seller::Authorised,
            shop: "Corner Shop".into(),
            note: "with stands".into(),
        }],
        specimens: vec![Specimen {
            label: "A".into(),
            acquired: Acquired::Retail,
            serial: String::new(),
        }],
        stated: Vec::new(),
        jobs: vec![Job {
            teardown: Teardown {
                specimen: "A".into(),
                date: "2026-06-02".parse().unwrap(),
                note: "warm".into(),
            },
            findings,
            network: Vec::new(),
            sweeps: Vec::new(),
        }],
    }
}

fn catalog(folder: &tempfile::TempDir) -> Catalog {
    let info = Info {
        title: "t".into(),
        currency: "USD".into(),
        base_month: "2026-06".into(),
        note: String::new(),
    };
    Catalog::create(&folder.path().join("a.boxworth"), &info).unwrap()
}

fn take_in(catalog: &mut Catalog, dossiers: &[Dossier]) {
    catalog.import(dossiers, None, "2026-06-02T10:00:00Z", false, &mut unwatched).unwrap();
}

/// How often each text is given, in so many shares.
fn given(reader: &Reader, of: usize) -> BTreeMap<String, usize> {
    let mut texts = BTreeMap::new();
    for at in 0..of {
        reader
            .texts(Share { at, of }, |_, it| *texts.entry(it.to_owned()).or_default() += 1)
            .unwrap();
    }
    texts
}

#[test]
fn what_holds_is_given_once_in_any_number_of_shares() {
    let folder = tempfile::tempdir().unwrap();
    let mut it = catalog(&folder);
    let findings = |typed: &str| {
        vec![finding("finish_note", typed, "on the back"), finding("gasket_note", "none", "")]
    };
    take_in(&mut it, &[dossier("fern", findings("scratched"))]);
    take_in(&mut it, &[dossier("fern", findings("dented"))]);
    let whole = given(it.reader(), 1);
    let expected = [
        ("", 1),
        ("Corner Shop", 1),
        ("dented", 1),
        ("finish_note", 1),
        ("gasket_note", 1),
        ("none", 1),
        ("on the back", 1),
        ("warm", 1),
        ("with stands", 1),
    ];
    assert_eq!(whole, expected.map(|(text, n)| (text.to_owned(), n)).into());
    for of in [2, 3, 17] {
        assert_eq!(given(it.reader(), of), whole, "{of} shares");
    }
    assert_eq!(it.reader().finding_counts().unwrap(), (3, 2));
}

#[test]
fn a_product_that_comes_while_it_is_read_belongs_to_the_next_state() {
    let folder = tempfile::tempdir().unwrap();
    let mut it = catalog(&folder);
    take_in(&mut it, &[dossier("fern", vec![finding("finish_note", "scratched", "")])]);
    let reader = Reader::open(it.reader().path()).unwrap();
    let mut others = Some([dossier("moss", vec![finding("finish_note", "dented", "")])]);
    let seen = reader.at_one_moment(|reader| -> Result<_, Error> {
        let products = reader.names(|_, _| {
            if let Some(others) = others.take() {
                take_in(&mut it, &others);
            }
        })?;
        let mut seen = Vec::new();
        reader.texts(Share::WHOLE, |product, text| seen.push((product, text.to_owned())))?;
        assert!(seen.iter().all(|(of, _)| products.iter().any(|(id, _)| id == of)), "{seen:?}");
        Ok(seen)
    });
    assert!(seen.unwrap().iter().all(|(_, text)| text != "dented"));
    assert_eq!(given(&reader, 1).get("dented"), Some(&1));
    assert_eq!(reader.dossiers(&Dictionary::standard()).unwrap().len(), 2);
}
