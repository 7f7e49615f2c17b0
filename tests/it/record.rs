//! Entering findings, taking back and doing again, and what the history says of it: as a person does it at a terminal.

use serde_json::Value;
use tests::Bench;

const PRODUCT: &str = "thistlequern/grist-5";
const BRACES: &str = "cabinet.brace_count";

fn json(bench: &Bench, args: &[&str]) -> Value {
    bench.run(&[args, &["--json"]].concat()).answer()
}

/// What the sheet lists of a finding, as typed.
fn typed(bench: &Bench, address: &str) -> Vec<String> {
    let sheet = json(bench, &["show", PRODUCT]);
    let list = sheet["findings"].as_array().unwrap().iter();
    list.filter(|it| it["address"] == address)
        .map(|it| it["typed"].as_str().unwrap().to_owned())
        .collect()
}

#[test]
fn a_finding_is_entered_taken_back_and_entered_again() {
    let bench = Bench::seeded();
    let before = typed(&bench, BRACES);
    let it = json(&bench, &["record", PRODUCT, BRACES, "3", "--reason", "box opened again"]);
    assert_eq!((&it["changed"], &it["after"]), (&Value::Bool(true), &Value::from("3 (inspected)")));
    assert_eq!(typed(&bench, BRACES), ["3"]);
    let back = json(&bench, &["undo"]);
    assert_eq!(
        (&back["action"], &back["reason"]),
        (&Value::from("record"), &Value::from("box opened again"))
    );
    assert_eq!(typed(&bench, BRACES), before);
    assert_eq!(json(&bench, &["redo"])["changes"], 1);
    assert_eq!(typed(&bench, BRACES), ["3"]);
    assert_eq!(json(&bench, &["redo"])["action"], Value::Null);
    let history = json(&bench, &["history", PRODUCT, BRACES]);
    let words: Vec<&str> = history["actions"]
        .as_array()
        .unwrap()
        .iter()
        .map(|it| it["action"].as_str().unwrap())
        .collect();
    // The newest first; what the import brought of this finding, if anything, is the last.
    assert_eq!(&words[..3], ["redo", "undo", "record"]);
}

/// What is entered changes the standings, and taking it back brings them back to the last byte.
#[test]
fn undo_brings_the_standings_back() {
    let bench = Bench::seeded();
    let band = ["band", "200..500"];
    let before = bench.run(&band).done();
    let _ = bench.run(&["record", PRODUCT, "wiring.terminal", "spring clip"]).done();
    assert_ne!(bench.run(&band).done(), before);
    let _ = bench.run(&["undo"]).done();
    assert_eq!(bench.run(&band).done(), before);
}

#[test]
fn a_number_says_how_it_was_read_and_warns_outside_the_usual_range() {
    let bench = Bench::seeded();
    let it = json(&bench, &["record", PRODUCT, "woofer.driver_mass", "1 lb 6 oz"]);
    // One pound is 0.45359237 kg (International Yard and Pound Agreement, 1959): 22 oz are 0.6237 kg.
    assert!(
        it["read"].as_str().unwrap().contains("0.623")
            || it["read"].as_str().unwrap().contains("623."),
        "{it}"
    );
    assert!(it["remarks"].as_array().unwrap().is_empty(), "{it}");
    let it = json(&bench, &["record", PRODUCT, "woofer.driver_mass", "62 kg"]);
    assert_eq!(it["changed"], true, "{it}");
    assert!(it["remarks"][0]["text"].as_str().unwrap().contains("outside what is usual"), "{it}");
}

/// One unit after the uncertainty is that of both, as it is written in a notebook.
#[test]
fn an_uncertainty_may_be_typed_with_the_value() {
    let bench = Bench::seeded();
    let it = json(&bench, &["record", PRODUCT, "cabinet.net_volume", "12.5 ± 0.2 L"]);
    assert_eq!(
        (&it["after"], &it["changed"]),
        (&Value::from("12.5 L (measured)"), &Value::Bool(true))
    );
    assert!(it["read"].as_str().unwrap().contains('±'), "{it}");
}

#[test]
fn an_emptied_place_is_empty_and_a_gap_is_not_absence() {
    let bench = Bench::seeded();
    let _ = bench.run(&["record", PRODUCT, BRACES, "3"]).done();
    let it = json(&bench, &["record", PRODUCT, BRACES, ""]);
    assert_eq!((&it["changed"], &it["after"]), (&Value::Bool(true), &Value::Null));
    assert!(typed(&bench, BRACES).is_empty());
    let it = json(&bench, &["record", PRODUCT, BRACES, "could not tell"]);
    assert_eq!(it["after"], "could not tell (inspected)");
    let it = json(&bench, &["record", PRODUCT, BRACES, "not inspected", "--note", "glued shut"]);
    assert_eq!(it["after"], "not inspected (glued shut)");
}

#[test]
fn what_is_not_understood_is_refused_and_changes_nothing() {
    let bench = Bench::seeded();
    let cases: [(&[&str], &str); 6] = [
        (&["record", PRODUCT, "cabinet.brace_cuont", "3"], "did you mean \"brace_count\""),
        (&["record", PRODUCT, BRACES, "three"], "a whole number"),
        (&["record", PRODUCT, "woofer.driver_mass", "1.2"], "unit"),
        (&["record", PRODUCT, BRACES, "3", "--date", "yesterday"], "YYYY-MM-DD"),
        (&["record", PRODUCT, BRACES, "3", "--specimen", "Z"], "--acquired"),
        (&["record", "nobody/nothing", BRACES, "3"], "there is no product"),
    ];
    for (args, wanted) in cases {
        let refused = bench.run(&[args, &["--json"]].concat()).refusals()[0].to_string();
        assert!(refused.replace('\\', "").contains(wanted), "{args:?}: {refused}");
    }
    let history = json(&bench, &["history", PRODUCT]);
    assert!(history["actions"].as_array().unwrap().iter().all(|it| it["action"] == "import"));
}

#[test]
fn a_new_specimen_and_day_begin_a_teardown() {
    let bench = Bench::seeded();
    let day = ["--date", "2026-11-20", "--specimen", "second", "--acquired", "retail"];
    let it = json(&bench, &[&["record", PRODUCT, BRACES, "4"][..], &day].concat());
    assert_eq!((&it["before"], &it["changed"]), (&Value::Null, &Value::Bool(true)));
    assert!(typed(&bench, BRACES).contains(&"4".to_owned()));
}

#[test]
fn an_import_is_taken_back_as_a_whole() {
    let bench = Bench::seeded();
    let back = json(&bench, &["undo"]);
    assert_eq!(back["action"], "import");
    assert!(back["changes"].as_u64().unwrap() > 1000, "{back}");
    assert!(typed(&bench, BRACES).is_empty());
    assert!(json(&bench, &["redo"])["changes"] == back["changes"]);
}
