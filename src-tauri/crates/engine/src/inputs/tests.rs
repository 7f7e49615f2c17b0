//! Findings reach plugins as numbers; what is not known stays unknown.

use domain::{
    dossier::Job,
    finding::{Declared, Finding},
    key::ProductKey,
    product::{Product, ProductKind, Teardown},
};
use physics::{
    air::AIR20,
    quantity::{Fits, values},
};

use super::*;

fn input(id: &str, kind: InputKind, choices: &[&str]) -> Input {
    Input {
        id: id.into(),
        kind,
        unit: "1".into(),
        x_unit: None,
        required: false,
        choices: choices.iter().map(|it| (*it).to_owned()).collect(),
    }
}

fn dossier(findings: &[(&str, Answer, Evidence)]) -> Dossier {
    let findings = findings
        .iter()
        .map(|(address, answer, evidence)| {
            let (part, key) = address.split_once('.').unwrap();
            Finding {
                part: part.parse().unwrap(),
                key: key.into(),
                typed: String::new(),
                unit: String::new(),
                answer: answer.clone(),
                evidence: *evidence,
                note: String::new(),
                date: "2026-06-02".parse().unwrap(),
                declared: Declared::Standard,
            }
        })
        .collect();
    Dossier {
        product: Product {
            key: ProductKey::parse("quill/fern").unwrap(),
            maker: "Quill".into(),
            model: "Fern".into(),
            kind: ProductKind::StandMount,
            ways: 3,
            powered: false,
            year: 2021,
            note: String::new(),
        },
        prices: Vec::new(),
        specimens: Vec::new(),
        stated: Vec::new(),
        jobs: vec![Job {
            teardown: Teardown {
                specimen: "A".into(),
                date: "2026-06-02".parse().unwrap(),
                note: String::new(),
            },
            findings,
            network: Vec::new(),
            sweeps: Vec::new(),
        }],
    }
}

fn of(it: &Dossier, input: &Input) -> Cell {
    cell(input, it, &values(it, &AIR20, &Fits::default()))
}

#[test]
fn each_kind_of_value_has_its_number() {
    let value = Answer::Value;
    let it = dossier(&[
        (
            "cabinet.outer_h",
            value(Value::Number { si: 0.312, std_uncertainty: None }),
            Evidence::Measured,
        ),
        ("cabinet.gasket", value(Value::Choice("foam".into())), Evidence::Inspected),
        ("cabinet.brace_count", value(Value::Count(2)), Evidence::Marked),
        ("cabinet.leak_found", value(Value::Flag(true)), Evidence::Inferred),
    ]);
    let number = |id, kind, choices: &[&str]| of(&it, &input(id, kind, choices)).number;
    assert_eq!(number("cabinet.outer_h", InputKind::Number, &[]).to_bits(), 0.312_f64.to_bits());
    // The plugin's own order of choices counts, not the dictionary's.
    assert_eq!(
        number("cabinet.gasket", InputKind::Choice, &["caulk", "foam", "none"]).to_bits(),
        1_f64.to_bits()
    );
    assert_eq!(number("cabinet.brace_count", InputKind::Count, &[]).to_bits(), 2_f64.to_bits());
    assert_eq!(number("cabinet.leak_found", InputKind::Bool, &[]).to_bits(), 1_f64.to_bits());
    assert_eq!(number("whole.ways", InputKind::Number, &[]).to_bits(), 3_f64.to_bits());
    assert_eq!(
        of(&it, &input("cabinet.leak_found", InputKind::Bool, &[])).evidence,
        Some(Evidence::Inferred)
    );
}

#[test]
fn what_is_unknown_is_nan_and_named() {
    let it = dossier(&[
        ("cabinet.gasket", Answer::Value(Value::Choice("foam".into())), Evidence::Inspected),
        ("cabinet.joint", Answer::Gap(Gap::CouldNotTell), Evidence::Inspected),
        ("cabinet.mid_chamber", Answer::Gap(Gap::NotApplicable), Evidence::Inspected),
    ]);
    let missing = |id, kind, choices: &[&str]| {
        let cell = of(&it, &input(id, kind, choices));
        assert!(cell.number.is_nan() && cell.evidence.is_none(), "{id}: {cell:?}");
        cell.missing
    };
    assert_eq!(missing("cabinet.outer_h", InputKind::Number, &[]), ["cabinet.outer_h"]);
    assert_eq!(missing("cabinet.joint", InputKind::Choice, &["butt"]), ["cabinet.joint"]);
    // A choice that the plugin does not know, and a kind that does not fit, are no numbers.
    assert_eq!(missing("cabinet.gasket", InputKind::Choice, &["caulk"]), ["cabinet.gasket"]);
    assert_eq!(missing("cabinet.gasket", InputKind::Number, &[]), ["cabinet.gasket"]);
    assert_eq!(missing("wiring.loop_ohm", InputKind::Number, &[]).len(), 3);
    // Nobody can go and find what does not apply.
    assert!(missing("cabinet.mid_chamber", InputKind::Choice, &["sealed"]).is_empty());
}
