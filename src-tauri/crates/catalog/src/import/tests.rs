//! Taking in twice changes nothing, corrections supersede, and a fault leaves the file as it was.

use domain::{
    dictionary::{Dictionary, Expected, Own, OwnKind},
    evidence::Evidence,
    finding::{Answer, Declared, Gap, Value},
    key::ProductKey,
    money::{Currency, Money},
    network::ElementKind,
    part::{Part, Role},
    price::{Basis, PriceKind, Seller},
    product::{Acquired, ProductKind},
    sweep::Point,
};

use super::*;
use crate::{Info, Reader, unwatched};

fn finding(key: &str, typed: &str, answer: Answer) -> Finding {
    Finding {
        part: Part::first(Role::Cabinet),
        key: key.into(),
        typed: typed.into(),
        unit: String::new(),
        answer,
        evidence: Evidence::Measured,
        note: String::new(),
        date: "2026-06-02".parse().unwrap(),
        declared: Declared::Standard,
    }
}

fn dossier() -> Dossier {
    let number = |si| Answer::Value(Value::Number { si, std_uncertainty: Some(1e-4) });
    Dossier {
        product: Product {
            key: ProductKey::parse("quill/fern").unwrap(),
            maker: "Quill".into(),
            model: "Fern".into(),
            kind: ProductKind::StandMount,
            ways: 2,
            powered: false,
            year: 2021,
            note: String::new(),
        },
        prices: vec![Price {
            money: Money { minor: 24_900, currency: Currency::Usd },
            basis: Basis::Set(5),
            date: "2026-05".parse().unwrap(),
            kind: PriceKind::Street,
            seller: Seller::Authorised,
            shop: String::new(),
            note: "five".into(),
        }],
        specimens: vec![Specimen {
            label: "A".into(),
            acquired: Acquired::Retail,
            serial: "7".into(),
        }],
        stated: vec![Finding {
            evidence: Evidence::Claimed,
            ..finding("outer_h", "31 cm", number(0.31))
        }],
        jobs: vec![Job {
            teardown: Teardown {
                specimen: "A".into(),
                date: "2026-06-02".parse().unwrap(),
                note: "warm".into(),
            },
            findings: vec![
                finding("outer_h", "312 mm", number(0.1 + 0.212)),
                finding(
                    "brace_pos",
                    "100 mm; 0.2 m",
                    Answer::Value(Value::Numbers(vec![0.1, 0.2])),
                ),
                finding("brace_count", "2", Answer::Value(Value::Count(2))),
                finding("leak_found", "no", Answer::Value(Value::Flag(false))),
                finding("panel_material", "mdf", Answer::Value(Value::Choice("mdf".into()))),
                finding(
                    "finish_note",
                    "'); DROP TABLE finding; --",
                    Answer::Value(Value::Text("'); DROP TABLE finding; --".into())),
                ),
                finding("gasket", "could not tell", Answer::Gap(Gap::CouldNotTell)),
            ],
            network: vec![
                Element {
                    name: "C".into(),
                    kind: ElementKind::Capacitor,
                    from: "in".into(),
                    to: "0".into(),
                    typed: "4.7 µF".into(),
                    value_si: Some(4.7e-6),
                    loss_typed: "0.1 ohm".into(),
                    loss_ohm: Some(0.1),
                    tolerance: Some(0.05),
                    construction: "polyester".into(),
                    rating_typed: "100 V".into(),
                    rating_si: Some(100.0),
                    part: None,
                    note: "two in parallel".into(),
                },
                Element {
                    name: "T".into(),
                    kind: ElementKind::Driver,
                    from: "in".into(),
                    to: "0".into(),
                    typed: String::new(),
                    value_si: None,
                    loss_typed: String::new(),
                    loss_ohm: None,
                    tolerance: None,
                    construction: String::new(),
                    rating_typed: String::new(),
                    rating_si: None,
                    part: Some(Part::first(Role::Tweeter)),
                    note: String::new(),
                },
            ],
            sweeps: vec![Sweep {
                part: Part::first(Role::Whole),
                points: (1..=20)
                    .map(|i| Point { f_hz: f64::from(i) * 10.1, z_ohm: 5.7, phase_deg: Some(-3.3) })
                    .collect(),
                note: String::new(),
            }],
        }],
    }
}

fn catalogue() -> (tempfile::TempDir, Catalog) {
    let dir = tempfile::tempdir().unwrap();
    let info = Info {
        title: "t".into(),
        currency: "USD".into(),
        base_month: "2026-06".into(),
        note: String::new(),
    };
    let it = Catalog::create(&dir.path().join("a.boxworth"), &info).unwrap();
    (dir, it)
}

fn take(it: &mut Catalog, dossiers: &[Dossier]) -> Tally {
    it.import(dossiers, None, "2026-06-03T10:00:00Z", false, &mut unwatched).unwrap()
}

#[test]
fn what_goes_in_comes_out_bit_for_bit() {
    let (_dir, mut it) = catalogue();
    let tally = take(&mut it, &[dossier()]);
    assert_eq!(
        tally,
        Tally { products: 1, new_products: 1, added: 13, corrected: 0, unchanged: 0 }
    );
    assert_eq!(it.reader().dossiers(&Dictionary::standard()).unwrap(), [dossier()]);
    let key = dossier().product.key;
    assert_eq!(
        Reader::open(it.reader().path()).unwrap().dossier(&key, &Dictionary::standard()).unwrap(),
        Some(dossier())
    );
    assert_eq!(
        it.reader()
            .dossier(&ProductKey::parse("no/such").unwrap(), &Dictionary::standard())
            .unwrap(),
        None
    );
}

#[test]
fn a_second_import_changes_nothing() {
    let (_dir, mut it) = catalogue();
    take(&mut it, &[dossier()]);
    let before = it.reader().finding_counts().unwrap();
    assert_eq!(
        take(&mut it, &[dossier()]),
        Tally { products: 1, unchanged: 14, ..Tally::default() }
    );
    assert_eq!(it.reader().finding_counts().unwrap(), before);
    assert_eq!(it.reader().dossiers(&Dictionary::standard()).unwrap(), [dossier()]);
}

#[test]
fn corrections_supersede_and_the_old_facts_stay() {
    let (_dir, mut it) = catalogue();
    take(&mut it, &[dossier()]);
    let mut corrected = dossier();
    corrected.jobs[0].findings[2] = finding("brace_count", "3", Answer::Value(Value::Count(3)));
    corrected.prices[0].basis = Basis::Pair;
    corrected.jobs[0].network[0].name = "T1".into();
    corrected.jobs[0].sweeps[0].points[3].z_ohm = 9.0;
    corrected.product.year = 2022;
    let tally = take(&mut it, std::slice::from_ref(&corrected));
    assert_eq!((tally.corrected, tally.added), (5, 0));
    assert_eq!(it.reader().finding_counts().unwrap(), (9, 8));
    let mut now = it.reader().dossiers(&Dictionary::standard()).unwrap();
    // A corrected finding is the newest row; the order within a job is that of recording.
    now[0].jobs[0].findings.sort_by_key(|it| it.key.clone());
    corrected.jobs[0].findings.sort_by_key(|it| it.key.clone());
    assert_eq!(now, [corrected]);
}

/// SQLite's write-ahead log (sqlite.org/wal.html): until a checkpoint the file alone lacks what was committed.
#[test]
fn a_copy_of_the_file_alone_is_whole_while_others_have_it_open() {
    let (dir, mut it) = catalogue();
    let reader = Reader::open(it.reader().path()).unwrap();
    assert_eq!(reader.product_count().unwrap(), 0);
    take(&mut it, &[dossier()]);
    let copy = dir.path().join("copy.boxworth");
    std::fs::copy(it.reader().path(), &copy).unwrap();
    assert_eq!(
        Reader::open(&copy).unwrap().dossiers(&Dictionary::standard()).unwrap(),
        [dossier()]
    );
    assert_eq!(reader.product_count().unwrap(), 1);
}

#[test]
fn a_dry_run_counts_and_leaves_nothing() {
    let (_dir, mut it) = catalogue();
    let tally = it.import(&[dossier()], None, "now", true, &mut unwatched).unwrap();
    assert_eq!(tally.added, 13);
    assert_eq!(it.reader().product_count().unwrap(), 0);
}

#[test]
fn one_bad_dossier_keeps_all_out() {
    let (_dir, mut it) = catalogue();
    let mut bad = dossier();
    bad.product.key = ProductKey::parse("quill/zinnia").unwrap();
    bad.jobs[0].teardown.specimen = "Z".into();
    assert!(it.import(&[dossier(), bad], None, "now", false, &mut unwatched).is_err());
    assert_eq!(it.reader().product_count().unwrap(), 0);
}

#[test]
fn progress_counts_products() {
    let (_dir, mut it) = catalogue();
    let mut seen = Vec::new();
    it.import(&[dossier(), dossier()], None, "now", false, &mut |done| {
        seen.push(done);
        ControlFlow::Continue(())
    })
    .unwrap();
    assert_eq!(seen, [0, 1]);
}

#[test]
fn an_import_that_is_ended_takes_nothing_in() {
    let (_dir, mut it) = catalogue();
    let ended = it.import(&[dossier(), dossier()], None, "now", false, &mut |done| {
        if done == 1 { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
    });
    assert!(matches!(ended, Err(Error::Stopped)), "{ended:?}");
    assert_eq!(it.reader().product_count().unwrap(), 0);
}

#[test]
fn only_an_empty_catalogue_takes_over_a_title() {
    let (_dir, mut it) = catalogue();
    let info = |title: &str| Info { title: title.into(), ..it_info() };
    it.import(&[], Some(&info("first")), "now", false, &mut unwatched).unwrap();
    assert_eq!(it.reader().info().unwrap().title, "first");
    it.import(&[dossier()], Some(&info("second")), "now", true, &mut unwatched).unwrap();
    assert_eq!(it.reader().info().unwrap().title, "first", "a dry run changed it");
    it.import(&[dossier()], Some(&info("third")), "now", false, &mut unwatched).unwrap();
    it.import(&[dossier()], Some(&info("fourth")), "now", false, &mut unwatched).unwrap();
    assert_eq!(it.reader().info().unwrap().title, "third");
}

fn it_info() -> Info {
    Info {
        title: "t".into(),
        currency: "USD".into(),
        base_month: "2026-06".into(),
        note: String::new(),
    }
}

/// A dictionary with one finding of an invented plugin.
fn with_grille(words: &[&str]) -> Dictionary {
    let mut it = Dictionary::standard();
    it.add(Own {
        plugin: "org.example.finish".into(),
        key: "org.example.finish.grille".into(),
        role: Role::Cabinet,
        label: "grille".into(),
        kind: OwnKind::Choice(words.iter().map(|it| (*it).to_owned()).collect()),
        typical: None,
        expected: Expected::Optional,
        why: String::new(),
    })
    .unwrap();
    it
}

#[test]
fn findings_of_plugins_are_kept_whoever_is_trusted() {
    let (_dir, mut it) = catalogue();
    let dictionary = with_grille(&["cloth", "metal"]);
    let mut with_own = dossier();
    let grille =
        finding("org.example.finish.grille", "cloth", Answer::Value(Value::Choice("cloth".into())));
    let declared = dictionary.declared(grille.part, &grille.key, &grille.typed, &grille.answer);
    assert!(matches!(declared, Declared::Own(_)));
    with_own.jobs[0].findings.push(Finding { declared, ..grille });
    assert_eq!(take(&mut it, std::slice::from_ref(&with_own)).added, 14);
    assert_eq!(it.reader().dossiers(&dictionary).unwrap(), [with_own.clone()]);
    assert_eq!(take(&mut it, std::slice::from_ref(&with_own)).added, 0);

    // Not trusted, and trusted in a version that has other words: kept as recorded.
    let mut kept = with_own.clone();
    kept.jobs[0].findings.last_mut().unwrap().declared = Declared::Nowhere;
    let other = with_grille(&["open", "closed"]);
    for dictionary in [&Dictionary::standard(), &other] {
        assert_eq!(it.reader().dossiers(dictionary).unwrap(), [kept.clone()]);
    }
    assert_eq!(it.reader().dossiers(&dictionary).unwrap(), [with_own]);
}
