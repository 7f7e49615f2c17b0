//! Changes reach the numbers they name, and a rubric's text names the numbers.

use super::*;
use bw_sdk::manifest::{Manifest, Utility};

pub(crate) const MANIFEST: &str = r#"{
    "abi": {"major": 1, "minor": 0}, "id": "org.example.port", "subsystem": "port", "version": "1.0.0",
    "name": "Port", "vendor": "Example", "licence": "MIT", "rubric": "port 1",
    "inputs": [{"id": "v", "kind": "number", "unit": "m/s"},
               {"id": "wall", "kind": "choice", "choices": ["bare", "lined", "sheet"]}],
    "params": [{"id": "limit", "unit": "m/s", "default": 17, "min": 1, "max": 50, "doc": "d", "source": "editorial"}],
    "criteria": [
        {"id": "velocity", "title": "Velocity", "unit": "m/s", "better": "lower", "range": [0, null],
         "weight": 1, "inputs": ["v"], "doc": "d", "source": "editorial",
         "utility": {"scale": "linear", "points": [[10, 100], [17, 70], [25, 40]]},
         "bonus": {"points": 10, "inputs": ["v"]}},
        {"id": "wall", "title": "Wall", "unit": "1", "better": "higher", "range": [0, 2], "weight": 1,
         "inputs": ["wall"], "doc": "d", "source": "editorial",
         "utility": {"scale": "choice", "points": {"sheet": 100, "lined": 60, "bare": 30}}},
        {"id": "own", "title": "Own", "unit": "1", "better": "higher", "range": [0, 100], "weight": 1,
         "inputs": ["v"], "doc": "d", "source": "editorial"}],
    "batch": "independent", "deterministic": true}"#;

fn manifest() -> Manifest {
    Manifest::parse(MANIFEST).unwrap()
}

fn change(path: &str, value: Option<&str>) -> RubricChange {
    RubricChange {
        plugin: Some("org.example.port".into()),
        path: path.into(),
        value: value.map(str::to_owned),
        reason: "a test".into(),
        recorded_at: "2026-11-25T10:00:00Z".into(),
    }
}

const CURVE: &str = "[[10,100],[20,50]]";

#[test]
fn without_changes_the_manifest_holds_as_it_is() {
    for history in [vec![], vec![change("param.limit", Some("20")), change("param.limit", None)]] {
        let applied = Changes::of(history).applied(&manifest());
        assert_eq!(applied.manifest, manifest());
        assert_eq!(applied.unused, [""; 0]);
    }
}

#[test]
fn the_newest_change_of_a_place_holds() {
    let changes = Changes::of(vec![
        change("criterion.velocity.weight", Some("5")),
        change("criterion.velocity.utility", Some(CURVE)),
        change("param.limit", Some("20")),
        change("criterion.velocity.weight", Some("0.0")),
    ]);
    let manifest = changes.applied(&manifest()).manifest;
    assert!(manifest.criteria[0].weight.abs() < 1e-12);
    assert_eq!(manifest.default_params(), [20.0]);
    let Some(Utility::Linear { points }) = &manifest.criteria[0].utility else {
        panic!("{manifest:?}")
    };
    assert_eq!(points, &[[10.0, 100.0], [20.0, 50.0]]);
    assert!(manifest.rubric.starts_with("port 1 + 3 changes ("), "{}", manifest.rubric);
}

#[test]
fn changes_of_other_plugins_are_left_to_them() {
    let other = RubricChange {
        plugin: Some("org.example.other".into()),
        ..change("param.limit", Some("20"))
    };
    let applied = Changes::of(vec![other]).applied(&manifest());
    assert_eq!((applied.manifest, applied.unused.len()), (manifest(), 0));
}

/// As after an update of the plugin.
#[test]
fn what_has_no_place_or_does_not_fit_is_told_and_changes_nothing() {
    for (path, value, told) in [
        ("criterion.gone.weight", "5", "no such number"),
        ("param.limit", "51", "outside 1 to 50"),
        ("criterion.wall.utility", r#"{"bare": 1, "lined": 2}"#, "\"sheet\" has no points"),
        ("criterion.wall.utility", CURVE, "of another kind"),
    ] {
        let applied = Changes::of(vec![change(path, Some(value))]).applied(&manifest());
        assert_eq!(applied.manifest, manifest(), "{path}");
        let [sentence] = &applied.unused[..] else { panic!("{:?}", applied.unused) };
        assert!(sentence.contains(path) && sentence.contains(told), "{sentence}");
    }
}

/// Two results with the same text were scored with the same numbers.
#[test]
fn the_text_follows_from_the_numbers_and_from_nothing_else() {
    let text = |history: &[(&str, Option<&str>)]| {
        let history = history.iter().map(|(path, value)| change(path, *value)).collect();
        Changes::of(history).applied(&manifest()).manifest.rubric
    };
    let (weight, limit) = ("criterion.velocity.weight", "param.limit");
    let one = text(&[(weight, Some("5"))]);
    // SHA-256 of "criterion.velocity.weight=5.0\n" as coreutils sha256sum prints it begins so.
    assert_eq!(one, "port 1 + 1 change (68d11663)");
    assert_eq!(text(&[(weight, Some("9")), (weight, Some("5.0"))]), one);
    assert_ne!(text(&[(weight, Some("6"))]), one);
    assert_ne!(text(&[("criterion.own.weight", Some("5"))]), one);
    let both = text(&[(weight, Some("5")), (limit, Some("20"))]);
    assert_eq!(text(&[(limit, Some("20")), (weight, Some("5"))]), both);
    assert_eq!(text(&[(limit, Some("20")), (weight, Some("5")), (limit, None)]), one);
}

#[test]
fn weights_of_subsystems_have_a_text_of_their_own() {
    let of = |value| RubricChange { plugin: None, ..change("subsystem.cabinet", value) };
    let weights = Changes::of(vec![of(Some("40"))]).weights();
    assert_eq!(weights.by_subsystem, BTreeMap::from([("cabinet".to_owned(), 40.0)]));
    assert!(weights.rubric.unwrap().starts_with("weights + 1 change ("));
    let none = Changes::of(vec![of(Some("40")), of(None)]).weights();
    assert_eq!((none.by_subsystem.len(), none.rubric), (0, None));
}

#[test]
fn an_unknown_address_brings_the_nearest() {
    let known: Vec<Known> = weights::own::<&str>(&[]).into_iter().map(subsystem_weight).collect();
    for (typed, near) in [
        ("subsystem.cabinett", "subsystem.cabinet"),
        ("subsytem.driver", "subsystem.driver"),
        ("wiring", "subsystem.wiring"),
    ] {
        let Err(Error::Rubric { address, accepted, .. }) = find(&known, typed).map(|_| ()) else {
            panic!("{typed} was found")
        };
        assert_eq!(address, typed);
        assert!(accepted.ends_with(near), "{accepted}");
    }
    assert_eq!(find(&known, "subsystem.wiring").unwrap().address, "subsystem.wiring");
}
