//! That generated products can be read, repeat themselves and look like what a bench brings.

use std::collections::HashSet;

use domain::{dictionary::Dictionary, finding::Answer};
use physics::{air::AIR20, cross_check, quantity};

use super::*;

/// Enough for shares to be told within a few percent.
const MANY: usize = 400;

fn some() -> Vec<Dossier> {
    (0..MANY).map(|number| product(7, number)).collect()
}

#[test]
fn a_product_follows_from_seed_and_number_alone() {
    assert_eq!(product(7, 31), product(7, 31));
    assert_ne!(product(7, 31).prices, product(8, 31).prices);
}

#[test]
fn what_is_written_is_read_back_and_the_larger_begins_with_the_smaller() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("a.boxworth");
    let mut heard = Vec::new();
    let tally = write(&file, 7, 30, &mut |it| heard.push(it)).unwrap();
    assert_eq!((tally.new_products, heard), (30, vec![30]));
    let read = catalog::Reader::open(&file).unwrap().dossiers(&Dictionary::standard()).unwrap();
    let mut wanted: Vec<Dossier> = (0..30).map(|number| product(7, number)).collect();
    wanted.sort_by(|a, b| a.product.key.cmp(&b.product.key));
    assert_eq!(read.len(), wanted.len());
    for (read, wanted) in read.iter().zip(&wanted) {
        // A whole dossier would be pages of output.
        assert_eq!((&read.product, &read.prices), (&wanted.product, &wanted.prices));
        assert_eq!((&read.specimens, &read.stated), (&wanted.specimens, &wanted.stated));
        for (read, wanted) in read.findings().zip(wanted.findings()) {
            assert_eq!(read, wanted);
        }
        assert!(read == wanted, "{}: network or sweeps", read.product.key);
    }
}

#[test]
fn there_are_findings_prices_gaps_and_products_without() {
    let all = some();
    let findings: usize = all.iter().map(|it| it.findings().count()).sum();
    let per_product = findings / all.len();
    assert!((50..90).contains(&per_product), "{per_product}");
    let has = |test: fn(&Dossier) -> bool| all.iter().filter(|it| test(it)).count();
    assert!((15..60).contains(&has(|it| it.jobs.is_empty())));
    assert!((15..60).contains(&has(|it| it.prices.is_empty())));
    assert!(has(|it| it.findings().any(|it| matches!(it.answer, Answer::Gap(_)))) > MANY / 2);
    assert!(has(|it| it.network().is_some()) > MANY / 5);
    let days: HashSet<String> =
        all.iter().flat_map(|it| &it.prices).map(|it| it.date.to_string()).collect();
    assert!(days.len() > 100, "{}", days.len());
}

/// Doubts about the record are the exception, as on a real bench, and there are some to look for.
#[test]
fn few_records_contradict_themselves_and_some_do() {
    let doubts: Vec<String> = some()
        .iter()
        .filter_map(|it| {
            let read = quantity::quantities(it, &AIR20);
            let checks = cross_check::cross_checks(it, &read, &AIR20);
            let doubt = checks.iter().find(|it| it.subject == cross_check::Subject::Record)?;
            Some(format!("{}: {}", doubt.code, doubt.text))
        })
        .collect();
    let some = &doubts[..doubts.len().min(30)];
    assert!((2..=MANY / 8).contains(&doubts.len()), "{} of {MANY}: {some:#?}", doubts.len());
}
