//! A product put on the shelf, opened and worked on from a terminal: what is added, what is refused, what is left.

use serde_json::Value;
use tests::Bench;

const PRODUCT: &str = "quill-daughter/fern-5";

fn json(bench: &Bench, args: &[&str]) -> Value {
    bench.run(&[args, &["--json"]].concat()).answer()
}

fn refusal(bench: &Bench, args: &[&str]) -> String {
    bench.run(&[args, &["--json"]].concat()).refusals()[0].to_string().replace('\\', "")
}

const NEW: [&str; 10] = [
    "add",
    "product",
    "Quill & Daughter",
    "Fern 5",
    "--kind",
    "stand-mount",
    "--ways",
    "2",
    "--year",
    "2024",
];

#[test]
fn a_product_is_added_opened_and_worked_on() {
    let bench = Bench::seeded();
    let added = json(&bench, &NEW);
    // Invented, like all makers here.
    assert_eq!(
        (&added["added"], &added["product"]),
        (&"product".into(), &"quill-daughter/fern-5".into())
    );
    let list = json(&bench, &["products"]);
    assert!(list["products"].as_array().unwrap().iter().any(|it| it["product"] == PRODUCT));
    let before = json(&bench, &["bench", PRODUCT]);
    assert_eq!((&before["specimen"], &before["found"]), (&Value::Null, &0.into()));

    json(&bench, &["add", "specimen", PRODUCT, "A", "--acquired", "lent"]);
    json(&bench, &["add", "teardown", PRODUCT, "A", "--date", "2026-11-20"]);
    let at = json(&bench, &["bench", PRODUCT]);
    assert_eq!((&at["specimen"], &at["date"]), (&"A".into(), &"2026-11-20".into()));
    let left = at["left"].as_array().unwrap().len();
    json(&bench, &["record", PRODUCT, "whole.mass_each", "14 lb 2 oz"]);
    let then = json(&bench, &["bench", PRODUCT]);
    assert_eq!((&then["found"], then["left"].as_array().unwrap().len()), (&1.into(), left - 1));
    // The journal holds what was found, and what it hangs on stays.
    assert_eq!(then["undo"]["allowed"], true);
    json(&bench, &["undo"]);
    let back = json(&bench, &["bench", PRODUCT]);
    assert_eq!((&back["found"], &back["specimen"]), (&0.into(), &"A".into()));
    assert_eq!(back["undo"]["action"], "import");
    assert_eq!(back["undo"]["allowed"], false);
}

#[test]
fn what_cannot_be_added_is_refused_and_names_the_accepted_form() {
    let bench = Bench::seeded();
    json(&bench, &NEW);
    json(&bench, &["add", "specimen", PRODUCT, "A", "--acquired", "retail"]);
    json(&bench, &["add", "teardown", PRODUCT, "A", "--date", "2026-11-20"]);
    let cases: [(&[&str], &str); 12] = [
        (&NEW, "is on the shelf already"),
        (
            &[
                "add", "product", "Quill", "Fern", "--kind", "shelf", "--ways", "2", "--year",
                "2024",
            ],
            "stand-mount, floor-standing",
        ),
        (
            &[
                "add",
                "product",
                "Quill",
                "Fern",
                "--kind",
                "stand-mount",
                "--ways",
                "5",
                "--year",
                "2024",
            ],
            "1, 2, 3, 4",
        ),
        (
            &[
                "add",
                "product",
                "Quill",
                "Fern",
                "--kind",
                "stand-mount",
                "--ways",
                "2",
                "--year",
                "24",
            ],
            "is no year",
        ),
        (
            &[
                "add",
                "product",
                "",
                "Fern",
                "--kind",
                "stand-mount",
                "--ways",
                "2",
                "--year",
                "2024",
            ],
            "is no name",
        ),
        (
            &["add", "product", "Ω", "Ж", "--kind", "stand-mount", "--ways", "2", "--year", "2024"],
            "gives no key",
        ),
        (&["add", "specimen", PRODUCT, "A", "--acquired", "retail"], "is there already"),
        (
            &["add", "specimen", PRODUCT, "B", "--acquired", "stolen"],
            "retail, lent, gift, second hand",
        ),
        (
            &["add", "specimen", "nobody/nothing", "A", "--acquired", "retail"],
            "there is no product",
        ),
        (&["add", "teardown", PRODUCT, "Z"], "is not known"),
        (&["add", "teardown", PRODUCT, "A", "--date", "2026-11-20"], "has a teardown of A already"),
        (&["add", "teardown", PRODUCT, "A", "--date", "2099-01-01"], "is still to come"),
    ];
    for (args, wanted) in cases {
        let refused = refusal(&bench, args);
        assert!(refused.contains(wanted), "{args:?}: {refused}");
    }
    assert!(
        refusal(&bench, &["bench", PRODUCT, "--date", "2020-01-01"]).contains("A on 2026-11-20")
    );
}

/// The checklist is ordered by the rubric: what scores nothing never stands before what does.
#[test]
fn what_most_points_wait_for_comes_first() {
    let bench = Bench::seeded();
    json(&bench, &NEW);
    let at = json(&bench, &["bench", PRODUCT]);
    let left = at["left"].as_array().unwrap();
    let points: Vec<f64> = left.iter().map(|it| it["points"].as_f64().unwrap()).collect();
    assert!(points.windows(2).all(|it| it[0] >= it[1]), "{points:?}");
    assert!(points[0] > 1.0, "{points:?}");
    // With nothing known nearly all of the hundred points wait for something.
    assert!(
        (60.0..=100.01).contains(&points.iter().sum::<f64>()),
        "{}",
        points.iter().sum::<f64>()
    );
    // Context only, never scored, as the dictionary says.
    let mass = left.iter().find(|it| it["address"] == "whole.mass_each").unwrap();
    assert_eq!((&mass["points"], &mass["worth"]), (&Value::from(0.0), &"".into()));
    assert!(at["left_order"].as_str().unwrap().contains("points"), "{at}");
}

#[test]
fn a_powered_product_is_added_with_a_caution() {
    let bench = Bench::seeded();
    let added = json(&bench, &[&NEW[..], &["--powered"]].concat());
    assert!(added["remarks"][0]["text"].as_str().unwrap().contains("never scored"), "{added}");
    let at = json(&bench, &["bench", PRODUCT]);
    assert!(at["cautions"][0].as_str().unwrap().contains("stay charged"), "{at}");
}
