//! Prices entered, corrected, withdrawn and taken back, as a person does it at a terminal.

use serde_json::Value;
use tests::Bench;

const PRODUCT: &str = "marrowfield/gatepost-4";

fn json(bench: &Bench, args: &[&str]) -> Value {
    bench.run(&[args, &["--json"]].concat()).answer()
}

fn list(bench: &Bench) -> Value {
    json(bench, &["price", "list", PRODUCT])
}

fn asked(list: &Value) -> Vec<String> {
    let rows = list["rows"].as_array().unwrap().iter();
    rows.map(|it| format!("{} {}", it["date"].as_str().unwrap(), it["asked"].as_str().unwrap()))
        .collect()
}

/// The real price is the amount times the ratio of two published levels of the index; in the base month itself it is the
/// amount (Bureau of Labor Statistics, *How to Use the Consumer Price Index for Escalation*).
#[test]
fn a_price_is_entered_and_places_the_product() {
    let bench = Bench::seeded();
    let before = list(&bench);
    let month = before["base_month"].as_str().unwrap().to_owned();
    let it = json(
        &bench,
        &["price", "add", PRODUCT, "120 each", "--date", &month, "--note", "shelf tag"],
    );
    assert_eq!(
        (&it["changed"], &it["after"]),
        (&Value::Bool(true), &Value::from("120.00 USD each"))
    );
    let after = list(&bench);
    let rows = after["rows"].as_array().unwrap();
    let row = rows.iter().find(|it| it["note"] == "shelf tag").unwrap();
    assert!((row["real_pair"].as_f64().unwrap() - 240.0).abs() < 1e-9, "{row}");
    assert_eq!(rows.len(), before["rows"].as_array().unwrap().len() + 1);
    assert_eq!(
        after["price"]["real_pair"],
        json(&bench, &["show", PRODUCT])["row"]["price"]["real_pair"]
    );
}

#[test]
fn undo_brings_prices_and_standings_back() {
    let bench = Bench::seeded();
    let band = ["band", "150..400"];
    let (before, standings) = (asked(&list(&bench)), bench.run(&band).done());
    let _ = bench.run(&["price", "add", PRODUCT, "369", "--date", "2026-11-20"]).done();
    assert_ne!(bench.run(&band).done(), standings);
    let _ = bench.run(&["undo"]).done();
    assert_eq!((asked(&list(&bench)), bench.run(&band).done()), (before.clone(), standings));
    let _ = bench.run(&["redo"]).done();
    assert_eq!(asked(&list(&bench)).len(), before.len() + 1);
}

#[test]
fn a_wrong_date_is_corrected_in_one_action() {
    let bench = Bench::seeded();
    let add = |more: &[&str]| json(&bench, &[&["price", "add", PRODUCT, "189"], more].concat());
    let _ = add(&["--date", "2026-10-01"]);
    let before = asked(&list(&bench));
    let it = add(&["--date", "2026-10-11", "--instead-of", "2026-10-01", "--reason", "misread"]);
    assert_eq!(it["before"], "189.00 USD a pair");
    let after = asked(&list(&bench));
    assert_eq!(after.len(), before.len());
    assert!(after.contains(&"2026-10-11 189.00 USD a pair".into()), "{after:?}");
    let _ = bench.run(&["undo"]).done();
    assert_eq!(asked(&list(&bench)), before);
}

#[test]
fn a_price_is_withdrawn_and_the_history_says_why() {
    let bench = Bench::seeded();
    let before = asked(&list(&bench));
    let it =
        json(&bench, &["price", "withdraw", PRODUCT, "2026-09-20", "--reason", "another model"]);
    assert_eq!((&it["before"], &it["after"]), (&Value::from("189.99 USD a pair"), &Value::Null));
    assert_eq!(asked(&list(&bench)).len(), before.len() - 1);
    let history = json(&bench, &["history", PRODUCT]);
    let newest = &history["actions"][0];
    assert_eq!(
        (&newest["reason"], &newest["changes"][0]["after"]),
        (&Value::from("another model"), &Value::Null)
    );
    assert_eq!(newest["changes"][0]["what"], "price of 2026-09-20");
    let _ = bench.run(&["undo"]).done();
    assert_eq!(asked(&list(&bench)), before);
}

#[test]
fn what_counts_and_what_does_not_is_said() {
    let bench = Bench::seeded();
    let it = list(&bench);
    for row in it["rows"].as_array().unwrap() {
        assert_eq!(row["counts"] == true, row["why_not"] == "", "{row}");
        if row["kind"] == "sale" {
            assert_eq!(row["why_not"], "a sale price");
        }
    }
    let page = bench.run(&["price", "list", PRODUCT]).done();
    assert!(page.contains("no: a sale price"), "{page}");
    let dry = bench.run(&["price", "add", PRODUCT, "1", "--kind", "sale", "--dry-run"]).done();
    assert!(
        dry.contains("does not count (a sale price)") && dry.contains("Nothing was saved"),
        "{dry}"
    );
    assert_eq!(asked(&list(&bench)), asked(&it));
}

#[test]
fn what_is_not_understood_is_refused_and_changes_nothing() {
    let bench = Bench::seeded();
    let before = asked(&list(&bench));
    let cases: [(&[&str], &str); 6] = [
        (&["price", "add", PRODUCT, "1,299"], "129 each"),
        (&["price", "add", PRODUCT, "249", "--date", "tomorrow"], "YYYY-MM-DD"),
        (&["price", "add", PRODUCT, "249", "--kind", "rumour"], "list, street, sale"),
        (&["price", "add", PRODUCT, "249", "--seller", "friend"], "maker, authorised"),
        (&["price", "withdraw", PRODUCT, "1999-01-01"], "2026-09-20 street, authorised"),
        (&["price", "add", "nobody/nothing", "249"], "there is no product"),
    ];
    for (args, wanted) in cases {
        let refused = bench.run(&[args, &["--json"]].concat()).refusals()[0].to_string();
        assert!(refused.contains(wanted), "{args:?}: {refused}");
    }
    assert_eq!(asked(&list(&bench)), before);
}
