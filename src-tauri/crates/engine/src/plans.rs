//! Each question finds its rows through indices, however large the file is.
//!
//! The statements are not listed anywhere: the questions are asked of a large catalogue, and what runs is explained. A whole
//! table may be gone through where that is what the question is about, and those cases stand here with their reason.

use std::path::Path;

use crate::{
    BandRequest, BandsRequest, BenchRequest, ClaimRequest, CompareRequest, DraftRequest, Engine,
    EngineOptions, Error, HistoryRequest, NetworkRequest, NotesRequest, PhotosRequest,
    ProductsRequest, PublishRequest, RecordRequest, ShowRequest, WhatIfRequest, scope,
};

/// Tables that grow with the products, with what was found of them or with what was done.
const LARGE: [&str; 12] = [
    "product",
    "specimen",
    "teardown",
    "finding",
    "price",
    "network",
    "element",
    "sweep",
    "change",
    "change_set",
    "withdrawn",
    "photo",
];

/// Statements that go through a large table, by a part of their text, and why. What is read in shares, by ranges of rows, is read
/// through as well: products and prices for a list, and texts for a search.
const WHOLE: [(&str, &str); 4] = [
    ("ways || '-way', note FROM product", "words are looked for in all that is written"),
    ("max(day)", "the day of each product's last teardown, for the list"),
    ("SELECT count(*) FROM product", "counted in the index of keys"),
    (
        "SELECT id, action FROM change_set",
        "what can be undone follows from all actions, a short row each",
    ),
];

fn engine(file: &Path) -> Engine {
    generate::write(file, 0, scope::WHOLE + 20, &mut |_| {}).unwrap();
    let today = Some(generate::AS_OF.parse().unwrap());
    let catalogue = file.to_owned();
    // No plugin is there, which changes no statement.
    Engine::open(EngineOptions { catalogue, require_sandbox: false, today, cache: None }).unwrap()
}

/// Asks everything that the window asks while a large catalogue is open.
fn ask(engine: &Engine) -> Result<(), Error> {
    let band = BandRequest { low: Some(300.0), high: Some(330.0), ..BandRequest::default() };
    let key = |at: usize| generate::product(0, at).product.key.to_string();
    let product = key(7);
    let show = ShowRequest { product: product.clone() };
    let all = ProductsRequest::default();
    engine.products(&all)?;
    engine.products(&ProductsRequest { words: Some("hot glue".into()), ..all.clone() })?;
    engine.products(&ProductsRequest { missing: Some("woofer.fs".into()), ..all })?;
    engine.bands(&BandsRequest::default())?;
    engine.band_view(&band)?;
    engine.ranks_view(&band)?;
    engine.normal(&band)?;
    engine.next(&band)?;
    engine.stability(&band)?;
    engine.notes(&NotesRequest { products: vec![product.clone(), key(8)] })?;
    engine.show(&show)?;
    engine.prices(&show)?;
    engine.history(&HistoryRequest { product: product.clone(), finding: None })?;
    engine.bench(&BenchRequest { product: product.clone(), ..BenchRequest::default() })?;
    engine.network(&NetworkRequest { product: product.clone(), ..NetworkRequest::default() })?;
    engine.photos(&PhotosRequest { product: product.clone() })?;
    engine
        .compare(&CompareRequest { products: vec![key(7), key(8)], ..CompareRequest::default() })?;
    engine.what_if(&WhatIfRequest {
        band: band.clone(),
        product: product.clone(),
        price: Some("310".into()),
        ..WhatIfRequest::default()
    })?;
    let claim = "few where=\"cabinet.brace_count = 0\" band=300..330".to_owned();
    engine.judge_claim(&ClaimRequest { claim, ..ClaimRequest::default() })?;
    engine.claims()?;
    engine.claim_forms()?;
    engine.check_draft(&DraftRequest { text: "Nothing is claimed.".into(), seed: None })?;
    engine.editions()?;
    engine.judgement()?;
    engine.preview_publication(&PublishRequest { band, ..PublishRequest::default() })?;
    engine.record(&RecordRequest {
        product,
        finding: "cabinet.panel_thick.front".into(),
        value: "17.5 mm".into(),
        ..RecordRequest::default()
    })?;
    Ok(())
}

#[test]
fn no_question_goes_through_a_large_table_without_a_reason() {
    let folder = tempfile::tempdir().unwrap();
    let engine = engine(&folder.path().join("large.boxworth"));
    let watched = engine.reader().watch().unwrap();
    ask(&engine).unwrap();
    let statements = watched.statements();
    assert!(statements.len() > 20, "{statements:#?}");
    let mut faults = Vec::new();
    let mut reasons = Vec::new();
    for statement in statements.iter().filter(|it| !it.starts_with("PRAGMA")) {
        let scans = engine.reader().plan(statement).unwrap().into_iter().filter(|step| {
            LARGE.iter().any(|it| {
                step.strip_prefix("SCAN ").is_some_and(|rest| rest.split(' ').next() == Some(*it))
            })
        });
        for step in scans {
            match WHOLE.iter().find(|(part, _)| statement.contains(part)) {
                Some((part, _)) => reasons.push(*part),
                None => faults.push(format!("{step}: {statement}")),
            }
        }
    }
    assert!(faults.is_empty(), "{faults:#?}");
    // A reason that nothing needs any more is taken out.
    let unused: Vec<_> = WHOLE.iter().filter(|(part, _)| !reasons.contains(part)).collect();
    assert!(unused.is_empty(), "{unused:?}");
}
