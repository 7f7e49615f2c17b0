//! A catalogue changes a number that scores, everything follows, and nothing is left of it when it is taken back.

use std::fs;

use serde_json::Value;
use tests::Bench;

const CURVE: &str = "cabinet.criterion.panel_mode.utility";

fn list(bench: &Bench, more: &[&str]) -> Value {
    bench.run(&[&["rubric", "--json"], more].concat()).answer()
}

fn number(bench: &Bench, address: &str) -> Value {
    let list = list(bench, &[]);
    let numbers = list["numbers"].as_array().unwrap();
    numbers
        .iter()
        .find(|it| it["address"] == address)
        .unwrap_or_else(|| panic!("{address}"))
        .clone()
}

fn set(bench: &Bench, address: &str, value: &str) -> Value {
    let set = ["rubric", "set", address, value, "--reason", "a test", "--json"];
    bench.run(&set).answer()
}

fn band(bench: &Bench) -> String {
    bench.run(&["band", "200..500", "--json"]).done()
}

fn parsed(text: &str) -> Value {
    serde_json::from_str(text).unwrap()
}

/// The cabinet scores of all ranked products.
fn cabinets(band: &Value) -> Vec<(&str, &Value)> {
    let standings = band["standings"].as_array().unwrap().iter();
    standings.map(|it| (it["product"].as_str().unwrap(), &it["subsystems"]["cabinet"])).collect()
}

#[test]
fn one_breakpoint_changes_scores_and_the_text_and_leaves_nothing_when_it_is_taken_back() {
    let bench = Bench::seeded();
    let before = band(&bench);
    let own = number(&bench, CURVE)["manifest"].as_str().unwrap().to_owned();
    // The point in the middle is worth 5 more.
    let mut points: Vec<(&str, f64)> = own
        .split(", ")
        .map(|it| it.split_once(": ").unwrap())
        .map(|(x, u)| (x, u.parse().unwrap()))
        .collect();
    let middle = points.len() / 2;
    points[middle].1 += 5.0;
    let changed: Vec<String> = points.iter().map(|(x, u)| format!("{x}: {u}")).collect();
    let changed = changed.join(", ");
    let setting = set(&bench, CURVE, &changed);
    assert_eq!(setting["catalogue"], changed);
    assert_eq!(setting["manifest"], own);
    let with = band(&bench);
    let (old, new) = (parsed(&before), parsed(&with));
    let (old_scores, new_scores) = (cabinets(&old), cabinets(&new));
    assert!(
        old_scores.iter().any(|(of, it)| {
            new_scores
                .iter()
                .any(|(other, score)| of == other && score["low"].as_f64() > it["low"].as_f64())
        }),
        "no cabinet scores more: {new_scores:?}"
    );
    let text = new["rubric"].as_str().unwrap();
    assert!(text.starts_with("cabinet ") && text.contains(" + 1 change ("), "{text}");
    assert_ne!(text, old["rubric"].as_str().unwrap());
    assert_eq!(text.matches("change").count(), 1, "{text}");
    assert_eq!(band(&bench), with);

    let setting = bench.run(&["rubric", "reset", CURVE, "--json"]).answer();
    assert_eq!(setting["catalogue"], Value::Null);
    assert!(band(&bench) == before, "the band is another after the way back");
    // The same change has the same text, whenever it is made.
    let _ = set(&bench, CURVE, &changed);
    assert!(band(&bench) == with, "the same change made another band");
}

#[test]
fn each_listed_number_can_be_set_to_what_is_listed() {
    let bench = Bench::seeded();
    let before = bench.files();
    let numbers = list(&bench, &[])["numbers"].clone();
    let numbers = numbers.as_array().unwrap();
    for plugin in ["cabinet", "driver", "crossover", "wiring"] {
        let of = |kind: &str| {
            numbers.iter().filter(|it| it["subsystem"] == plugin && it["kind"] == kind).count()
        };
        assert!(of("weight") > 3 && of("curve") > 0, "{plugin}");
    }
    // One of each kind is enough to run; the others are alike.
    for kind in ["weight", "curve", "table", "bonus", "param"] {
        let Some(it) = numbers.iter().find(|it| it["kind"] == kind) else { continue };
        let setting =
            set(&bench, it["address"].as_str().unwrap(), it["manifest"].as_str().unwrap());
        assert_eq!(setting["manifest"], it["manifest"]);
        assert_eq!(setting["catalogue"], Value::Null);
    }
    for it in numbers {
        for field in ["address", "kind", "title", "manifest", "accepted", "doc", "source"] {
            assert_ne!(it[field], "", "{it}");
        }
    }
    assert!(bench.files() == before, "what holds already was recorded");
}

#[test]
fn a_bad_value_changes_nothing_and_is_told_with_address_and_accepted_form() {
    let bench = Bench::seeded();
    let before = bench.files();
    let weight = "cabinet.criterion.panel_mode.weight";
    for (address, value, accepted) in [
        (weight, "-1", "from 0 to 1000000"),
        (weight, "a lot", "from 0 to 1000000"),
        (weight, "NaN", "from 0 to 1000000"),
        (CURVE, "300: 0, 200: 30", "rising"),
        (CURVE, "120: 0, 200: 101", "from 0 to 100"),
        (CURVE, "0: 0, 200: 30", "above 0"),
        (CURVE, "120: 0", "two or more"),
        ("cabinet.criterion.panel_mod.weight", "1", weight),
        ("subsystem.cabin", "1", "subsystem.cabinet"),
    ] {
        let set = ["rubric", "set", address, value, "--reason", "a test", "--json"];
        let errors = bench.run(&set).refusals();
        let [error] = &errors[..] else { panic!("{errors:?}") };
        assert_eq!((&error["code"], &error["where"]), (&"bad_request".into(), &address.into()));
        assert!(error["accepted"].as_str().unwrap().contains(accepted), "{error}");
    }
    let no_reason =
        bench.run(&["rubric", "set", weight, "5", "--reason", " ", "--json"]).refusals();
    assert!(no_reason[0]["message"].as_str().unwrap().contains("no reason"), "{}", no_reason[0]);
    assert_eq!(bench.run(&["rubric", "set", weight, "5"]).status, 2);
    assert_eq!(bench.run(&["rubric", "reset", "cabinet.nothing"]).status, 2);
    assert_eq!(bench.run(&["rubric", "--plugin", "grille"]).status, 2);
    assert!(bench.files() == before, "the catalogue was changed");
}

#[test]
fn weights_of_subsystems_are_the_default_and_a_question_may_ask_for_others() {
    let bench = Bench::seeded();
    let _ = set(&bench, "subsystem.wiring", "0");
    let _ = set(&bench, "subsystem.cabinet", "35");
    let report = parsed(&band(&bench));
    let share = |report: &Value, of: &str| report["weights"][of].as_f64().unwrap();
    // 35 + 30 + 35 + 0 is 100, so that nothing is rescaled.
    assert!((share(&report, "cabinet") - 0.35).abs() < 1e-12, "{}", report["weights"]);
    assert!(share(&report, "wiring").abs() < 1e-12, "{}", report["weights"]);
    assert!(report["rubric"].as_str().unwrap().contains("; weights + 2 changes ("));
    let asked = bench.run(&["band", "200..500", "--weights", "wiring=100", "--json"]).answer();
    assert!((share(&asked, "wiring") - 0.5).abs() < 1e-12, "{}", asked["weights"]);

    for name in ["cabinet", "driver"] {
        let _ = set(&bench, &format!("subsystem.{name}"), "0");
    }
    let last = ["rubric", "set", "subsystem.crossover", "0", "--reason", "none", "--json"];
    let errors = bench.run(&last).refusals();
    assert!(errors[0]["accepted"].as_str().unwrap().contains("above 0"), "{}", errors[0]);
}

#[test]
fn what_was_changed_is_listed_with_its_reason_and_kept() {
    let bench = Bench::seeded();
    let weight = "cabinet.criterion.panel_mode.weight";
    let reason = "braces are scored twice";
    let _ = bench.run(&["rubric", "set", weight, "12.5", "--reason", reason]).done();
    let text = bench.run(&["rubric", "--changed"]).done();
    assert!(text.contains(weight) && text.contains("12.5") && text.contains(reason), "{text}");
    let changed = list(&bench, &["--changed"]);
    assert_eq!(changed["numbers"].as_array().unwrap().len(), 1);
    assert_eq!(changed["numbers"][0]["catalogue"], "12.5");
    let of_plugin = list(&bench, &["--plugin", "org.boxworth.cabinet"]);
    let mut numbers = of_plugin["numbers"].as_array().unwrap().iter();
    assert!(numbers.all(|it| it["plugin"] == "org.boxworth.cabinet"));

    let _ =
        bench.run(&["rubric", "reset", "org.boxworth.cabinet.criterion.panel_mode.weight"]).done();
    assert!(bench.run(&["rubric", "--changed"]).done().contains("what the manifests say"));
    let history = list(&bench, &["--history"]);
    let rows: Vec<(&Value, &Value)> = history["changes"]
        .as_array()
        .unwrap()
        .iter()
        .map(|it| (&it["value"], &it["holds"]))
        .collect();
    assert_eq!(rows, [(&Value::Null, &true.into()), (&"12.5".into(), &false.into())]);
    assert_eq!(history["changes"][1]["reason"], reason);
}

/// As after an update of a plugin that no longer has the number; only the file itself can be brought there.
#[test]
fn a_change_without_a_place_is_told_and_can_be_taken_back() {
    let bench = Bench::seeded();
    let before = band(&bench);
    let change = |path: &str| catalog::RubricChange {
        plugin: Some("org.boxworth.cabinet".into()),
        path: path.into(),
        value: Some("5".into()),
        reason: "an older plugin".into(),
        recorded_at: "2026-01-01T00:00:00Z".into(),
    };
    let mut catalogue = catalog::Catalog::open(&bench.catalogue()).unwrap();
    catalogue.change_rubric(&change("criterion.wheels.weight")).unwrap();
    drop(catalogue);
    let report = parsed(&band(&bench));
    assert_eq!(report["rubric"], parsed(&before)["rubric"]);
    let mut remarks = report["remarks"].as_array().unwrap().iter();
    let remark = remarks.find(|it| it["code"] == "rubric_change_unused").unwrap();
    assert!(
        remark["text"].as_str().unwrap().contains("cabinet.criterion.wheels.weight"),
        "{remark}"
    );
    let unused = list(&bench, &[])["unused"].clone();
    let address = unused[0]["address"].as_str().unwrap();
    let _ = bench.run(&["rubric", "reset", address]).done();
    assert!(band(&bench) == before, "the band is another after the way back");
}

#[test]
fn a_change_is_in_the_file_itself() {
    let bench = Bench::seeded();
    let _ = set(&bench, "subsystem.wiring", "12");
    let copy = Bench::empty();
    fs::copy(bench.catalogue(), copy.catalogue()).unwrap();
    assert_eq!(number(&copy, "subsystem.wiring")["catalogue"], "12");
}
