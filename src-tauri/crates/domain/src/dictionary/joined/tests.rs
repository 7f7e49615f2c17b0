//! Entries of plugins beside the standard ones; the plugins are invented.

use super::*;
use crate::{
    Date,
    dictionary::{Expected, Kind, OwnKind, Typical},
    dossier::{Dossier, Job},
    evidence::Evidence,
    finding::{Finding, Gap, Value},
    key::ProductKey,
    product::{Product, ProductKind, Teardown},
    unit::Dimension,
};

fn own(key: &str, kind: OwnKind) -> Own {
    Own {
        plugin: "org.example.finish".into(),
        key: key.into(),
        role: Role::Cabinet,
        label: "gloss of the finish".into(),
        kind,
        typical: Some(Typical { role: None, low: 0.1, high: 0.4 }),
        expected: Expected::Optional,
        why: String::new(),
    }
}

const FILM: &str = "org.example.finish.film_thick";
const GRILLE: &str = "org.example.finish.grille";

fn words(words: &[&str]) -> OwnKind {
    OwnKind::Choice(words.iter().map(|it| (*it).to_owned()).collect())
}

fn dictionary() -> Dictionary {
    let mut it = Dictionary::standard();
    it.add(own(FILM, OwnKind::Number(Dimension::Length, "mm"))).unwrap();
    it.add(own(GRILLE, words(&["none", "cloth", "metal"]))).unwrap();
    it
}

#[test]
fn own_entries_stand_after_the_standard_ones_under_their_role_alone() {
    let it = dictionary();
    let n = entries().count();
    assert_eq!(it.entries().count(), n + 2);
    assert_eq!(it.entries().nth(n).map(|it| it.key), Some(FILM));
    let entry = it.find(Role::Cabinet, FILM).unwrap();
    assert_eq!(
        entry.accepted(),
        "a number with a unit: ".to_owned() + &Dimension::Length.accepted()
    );
    // 0.6 mm lies outside the usual 0.1 to 0.4 mm.
    assert!(entry.unusual(Role::Cabinet, 0.6e-3).is_some());
    assert!(entry.unusual(Role::Cabinet, 0.2e-3).is_none());
    assert_eq!(it.find(Role::Woofer, FILM), None);
    assert_eq!(
        it.find(Role::Cabinet, "panel_material"),
        find(Role::Cabinet, "panel_material").copied()
    );
    assert_eq!(Dictionary::standard().find(Role::Cabinet, FILM), None);
}

#[test]
fn a_slip_of_two_letters_is_recognised_and_more_is_not() {
    let it = dictionary();
    assert_eq!(it.nearest(Role::Woofer, "driver_mas"), Some("driver_mass"));
    assert_eq!(it.nearest(Role::Cabinet, "panel_thick.frnt"), Some("panel_thick.front"));
    assert_eq!(it.nearest(Role::Cabinet, "colour"), None);
    assert_eq!(it.nearest(Role::Cabinet, "org.example.finish.gril"), Some(GRILLE));
    let why = it.entry_for(Part::first(Role::Cabinet), "org.example.finish.gril").unwrap_err();
    assert_eq!(
        why.to_string(),
        "cabinet has no finding \"org.example.finish.gril\"; did you mean \"org.example.finish.grille\"?"
    );
}

#[test]
fn no_key_is_declared_twice() {
    let mut it = dictionary();
    let before = it.clone();
    let mut other = own(GRILLE, OwnKind::Flag);
    other.plugin = "org.example".into();
    // Of another part, and still the same key.
    other.role = Role::Whole;
    assert_eq!(
        it.add(other).unwrap_err().to_string(),
        "\"org.example.finish.grille\" is declared by org.example.finish already"
    );
    let why = it.add(own("panel_material", OwnKind::Flag)).unwrap_err().to_string();
    assert_eq!(why, "\"panel_material\" is declared by the dictionary already");
    assert_eq!(it, before);
    assert_eq!(it.without("org.example"), before);
    assert_eq!(it.without("org.example.finish"), Dictionary::standard());
}

#[test]
fn what_was_recorded_otherwise_is_declared_by_nobody() {
    let cabinet = Part::first(Role::Cabinet);
    let film = |kind, typed: &str| {
        let mut before = Dictionary::standard();
        before.add(own(FILM, OwnKind::Number(Dimension::Length, "mm"))).unwrap();
        let entry = before.find(Role::Cabinet, FILM).unwrap();
        let answer = Answer::Value(read_value(&entry, typed, None).unwrap().value);
        let mut now = Dictionary::standard();
        now.add(own(FILM, kind)).unwrap();
        now.declared(cabinet, FILM, typed, &answer) != Declared::Nowhere
    };
    assert!(film(OwnKind::Number(Dimension::Length, "µm"), "0.2 mm"));
    for kind in
        [OwnKind::Number(Dimension::Mass, "g"), OwnKind::Count, OwnKind::Flag, words(&["0.2 mm"])]
    {
        assert!(!film(kind.clone(), "0.2 mm"), "{kind:?}");
    }
    let it = dictionary();
    let value = |word: &str| Answer::Value(Value::Choice(word.into()));
    assert!(matches!(it.declared(cabinet, GRILLE, "cloth", &value("cloth")), Declared::Own(_)));
    assert_eq!(it.declared(cabinet, GRILLE, "wood", &value("wood")), Declared::Nowhere);
    assert_eq!(
        it.declared(Part::first(Role::Whole), GRILLE, "cloth", &value("cloth")),
        Declared::Nowhere
    );
    // Why there is no value fits every kind.
    let gap = Answer::Gap(Gap::NotApplicable);
    assert!(matches!(it.declared(cabinet, GRILLE, "not applicable", &gap), Declared::Own(_)));
    let mdf = value("mdf");
    assert_eq!(it.declared(cabinet, "panel_material", "mdf", &mdf), Declared::Standard);
    let plain = Dictionary::standard();
    assert_eq!(plain.declared(cabinet, GRILLE, "cloth", &value("cloth")), Declared::Nowhere);
}

#[test]
fn what_nobody_declares_hides_nothing_that_is_declared() {
    let it = dictionary();
    let part = Part::first(Role::Cabinet);
    let finding = |typed: &str, evidence, day: &str| {
        let answer = Answer::Value(Value::Choice(typed.into()));
        Finding {
            part,
            key: GRILLE.into(),
            typed: typed.into(),
            unit: String::new(),
            declared: it.declared(part, GRILLE, typed, &answer),
            answer,
            evidence,
            note: String::new(),
            date: day.parse::<Date>().unwrap(),
        }
    };
    let dossier = Dossier {
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
        prices: Vec::new(),
        specimens: Vec::new(),
        stated: vec![finding("metal", Evidence::Claimed, "2026-01-05")],
        jobs: vec![Job {
            teardown: Teardown {
                specimen: "A".into(),
                date: "2026-06-02".parse().unwrap(),
                note: String::new(),
            },
            findings: vec![finding("wood", Evidence::Inspected, "2026-06-02")],
            network: Vec::new(),
            sweeps: Vec::new(),
        }],
    };
    let held = dossier.current(part, GRILLE).unwrap();
    assert_eq!(held.typed, "metal");
    assert!(matches!(held.entry().map(|it| it.kind), Some(Kind::Choice(_))));
    assert_eq!(dossier.jobs[0].findings[0].entry(), None);
    assert_eq!(dossier.declared(part, GRILLE), Some(held));
    let alone = Dossier { stated: Vec::new(), ..dossier.clone() };
    assert_eq!(alone.current(part, GRILLE), dossier.jobs[0].findings.first());
    assert_eq!(alone.declared(part, GRILLE), None);
}
