//! A search finds what reading each whole product finds: the two share no statement and no text.

use catalog::Reader;
use domain::dossier::Dossier;

use super::*;
use crate::{EngineOptions, RecordRequest, products};

fn engine(folder: &tempfile::TempDir) -> Engine {
    let catalogue = folder.path().join("a.boxworth");
    generate::write(&catalogue, 0, 60, &mut |_| {}).unwrap();
    let today = Some(generate::AS_OF.parse().unwrap());
    let engine =
        Engine::open(EngineOptions { catalogue, require_sandbox: false, today, cache: None })
            .unwrap();
    for (at, value, note) in [
        (3, "17.5 mm", "Übergang mit ΣΑΣ verklebt"),
        (3, "18.5 mm", "Übergang mit ΟΔΟΣ verklebt"),
        (4, "19.5 mm", "smells of zinfandel"),
        (5, "not inspected", "No screws. Zinfandel!"),
    ] {
        record(&engine, at, "cabinet.panel_thick.front", value, note);
    }
    engine.undo().unwrap();
    // Of a part that few products have.
    record(&engine, 6, "woofer2.fs", "51 Hz", "");
    record(&engine, 7, "woofer2.fs", "not inspected", "");
    record(&engine, 8, "woofer2.re", "5.6 ohm", "");
    engine
}

fn record(engine: &Engine, at: usize, finding: &str, value: &str, note: &str) {
    let request = RecordRequest {
        product: generate::product(0, at).product.key.to_string(),
        finding: finding.into(),
        value: value.into(),
        note: note.into(),
        ..RecordRequest::default()
    };
    engine.record(&request).unwrap();
}

/// All that people wrote about a product, in one text.
fn text(it: &Dossier) -> String {
    let product = &it.product;
    let (kind, ways, year) = (product.kind.word(), product.ways, product.year);
    let mut text = format!("{} {} {}", product.key, product.maker, product.model);
    text += &format!(" {kind} {year} {ways}-way {}", product.note);
    for it in it.findings() {
        text += &format!(" {} {} {}", it.key, it.typed, it.note);
    }
    for it in &it.prices {
        text += &format!(" {} {}", it.shop, it.note);
    }
    for it in &it.jobs {
        text += &format!(" {}", it.teardown.note);
    }
    text.to_lowercase()
}

fn found(engine: &Engine, words: &str, missing: Option<&str>) -> Vec<String> {
    let request = ProductsRequest {
        words: Some(words.into()),
        missing: missing.map(Into::into),
        ..ProductsRequest::default()
    };
    engine.products(&request).unwrap().products.into_iter().map(|it| it.product).collect()
}

#[test]
fn words_are_found_where_reading_all_finds_them() {
    let folder = tempfile::tempdir().unwrap();
    let engine = engine(&folder);
    let dossiers = engine.reader().dossiers(&Dictionary::standard()).unwrap();
    let texts: Vec<String> = dossiers.iter().map(text).collect();
    let of_one = texts[7].clone();
    let version = engine.reader().data_version().unwrap();
    let shares = engine.concordance_of_shares(version).unwrap();
    // As if somebody had written while it was read.
    let again = engine.concordance_of_shares(version - 1).unwrap();
    for (asked, most) in [
        ("hot glue", 59),
        ("GLUE  \t hOt", 59),
        ("2-way", 59),
        ("lue", 59),
        ("17.5 übergang", 0),
        ("18.5 ÜBERGANG οδος", 1),
        ("ΟΔΟΣ", 1),
        ("zinfandel", 1),
        ("qqqq", 0),
        (&of_one, 1),
    ] {
        let words: Vec<String> = asked.split_whitespace().map(str::to_lowercase).collect();
        let holds = |text: &String| words.iter().all(|it| text.contains(it.as_str()));
        let named = dossiers.iter().zip(&texts).filter(|(_, text)| holds(text));
        let expected: Vec<String> = named.map(|(it, _)| it.product.key.to_string()).collect();
        assert_eq!(found(&engine, asked, None), expected, "{asked}");
        let is_fitting = expected.len() <= most && expected.is_empty() == (most == 0);
        assert!(is_fitting, "{asked} stands in {} products", expected.len());
        for it in [&shares, &again] {
            let mut held: Vec<_> = it.holding(&words).iter().map(ToString::to_string).collect();
            held.sort_unstable();
            assert_eq!(held, expected, "{asked}");
        }
    }
    assert!(of_one.split_whitespace().count() > 2 * AT_ONCE);
    assert_eq!(found(&engine, " \t", None).len(), 60);
}

#[test]
fn what_another_program_writes_is_found() {
    let folder = tempfile::tempdir().unwrap();
    let engine = engine(&folder);
    assert!(found(&engine, "marzipan", None).is_empty());
    let catalogue = engine.catalogue().to_owned();
    let options = EngineOptions { catalogue, require_sandbox: false, today: None, cache: None };
    record(&Engine::open(options).unwrap(), 4, "cabinet.panel_thick.front", "20 mm", "marzipan");
    assert_eq!(found(&engine, "marzipan", None).len(), 1);
}

#[test]
fn each_missing_finding_is_that_of_the_sheets() {
    let folder = tempfile::tempdir().unwrap();
    let engine = engine(&folder);
    let dictionary = Dictionary::standard();
    let dossiers = Reader::open(engine.catalogue()).unwrap().dossiers(&dictionary).unwrap();
    let missing: Vec<Vec<String>> =
        dossiers.iter().map(|it| products::missing(it, &dictionary)).collect();
    let parts = ["whole", "cabinet", "woofer", "woofer2", "midrange", "tweeter", "crossover"];
    for part in parts.into_iter().chain(["wiring"]).map(|it| it.parse::<Part>().unwrap()) {
        for entry in dictionary.entries_of(part.role) {
            let address = format!("{part}.{}", entry.key);
            let lacking = dossiers.iter().zip(&missing).filter(|(_, it)| it.contains(&address));
            let lacking: Vec<_> = lacking.map(|(it, _)| it.product.key.to_string()).collect();
            assert_eq!(found(&engine, "", Some(&address)), lacking, "{address}");
            let named = lacking.into_iter().filter(|it| it.contains("an")).collect::<Vec<_>>();
            let both = found(&engine, "an", Some(&address));
            assert!(named.iter().all(|it| both.contains(it)), "{address}");
        }
    }
    assert_eq!(found(&engine, "", Some("woofer2.fs")).len(), 1);
}
