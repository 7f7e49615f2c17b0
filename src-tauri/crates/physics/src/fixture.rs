//! Invented products for the tests of this crate.

use domain::{
    dossier::{Dossier, Job},
    evidence::Evidence,
    finding::{Answer, Finding, Value, entry_for, read_value},
    key::ProductKey,
    part::Part,
    product::{Product, ProductKind, Teardown},
};

pub(crate) fn finding(address: &str, typed: &str, evidence: Evidence) -> Finding {
    let (part, key) = address.split_once('.').unwrap();
    let part: Part = part.parse().unwrap();
    let it = read_value(entry_for(part, key).unwrap(), typed, None).unwrap();
    Finding {
        part,
        key: key.into(),
        typed: typed.into(),
        unit: it.unit,
        answer: Answer::Value(it.value),
        evidence,
        note: String::new(),
        date: "2026-06-02".parse().unwrap(),
    }
}

pub(crate) fn dossier(findings: &[(&str, &str)]) -> Dossier {
    let findings = findings
        .iter()
        .map(|(address, typed)| finding(address, typed, Evidence::Measured))
        .collect();
    Dossier {
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

/// The reference woofer W1 of the checks: Re 5.6 ohm, Mms 14.2 g, Cms 0.98 mm/N, Rms 0.85 kg/s, BL 6.1 T·m, Sd 133 cm².
pub(crate) const W1: &[(&str, &str)] = &[
    ("woofer.re", "5.6 ohm"),
    ("woofer.mms", "14.2 g"),
    ("woofer.cms", "0.98 mm/N"),
    ("woofer.rms", "0.85 kg/s"),
    ("woofer.bl", "6.1 T·m"),
    ("woofer.sd", "133 cm²"),
];

pub(crate) fn w1_with(more: &[(&str, &str)]) -> Dossier {
    dossier(&[W1, more].concat())
}

/// With one finding's standard uncertainty set.
pub(crate) fn with_u(mut it: Dossier, address: &str, u: f64) -> Dossier {
    let found = it.jobs[0].findings.iter_mut().find(|it| it.address() == address).unwrap();
    if let Answer::Value(Value::Number { std_uncertainty, .. }) = &mut found.answer {
        *std_uncertainty = Some(u);
    }
    it
}
