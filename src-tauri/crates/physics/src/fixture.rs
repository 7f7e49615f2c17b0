//! Invented products for the tests of this crate.

use domain::{
    dictionary::find,
    dossier::{Dossier, Job},
    evidence::Evidence,
    finding::{Answer, Declared, Finding, Value, read_value},
    key::ProductKey,
    network::{Element, ElementKind},
    part::Part,
    product::{Product, ProductKind, Teardown},
};

pub(crate) fn finding(address: &str, typed: &str, evidence: Evidence) -> Finding {
    let (part, key) = address.split_once('.').unwrap();
    let part: Part = part.parse().unwrap();
    let it = read_value(find(part.role, key).unwrap(), typed, None).unwrap();
    Finding {
        part,
        key: key.into(),
        typed: typed.into(),
        unit: it.unit,
        answer: Answer::Value(it.value),
        evidence,
        note: String::new(),
        date: "2026-06-02".parse().unwrap(),
        declared: Declared::Standard,
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

/// A part of a network between two nodes: its value and its loss as typed, in SI units, either of them perhaps empty.
pub(crate) fn element(
    name: &str,
    kind: ElementKind,
    nodes: [&str; 2],
    typed: [&str; 2],
) -> Element {
    let si = |typed: &str| typed.split(' ').next().and_then(|it| it.parse().ok());
    Element {
        name: name.into(),
        kind,
        from: nodes[0].into(),
        to: nodes[1].into(),
        typed: typed[0].into(),
        value_si: si(typed[0]),
        loss_typed: typed[1].into(),
        loss_ohm: si(typed[1]),
        tolerance: None,
        construction: String::new(),
        rating_typed: String::new(),
        rating_si: None,
        part: (kind == ElementKind::Driver).then(|| name.parse().unwrap()),
        note: String::new(),
    }
}

/// A vented two-way of W1 with a lined and braced box, a network of five parts and its wiring.
pub(crate) fn two_way(more: &[(&str, &str)]) -> Dossier {
    use ElementKind::{Capacitor, Driver, Inductor, Resistor};
    const FINDINGS: &[(&str, &str)] = &[
        ("whole.rated_z", "8 ohm"),
        ("woofer.le_1k", "0.62 mH"),
        ("woofer.le_10k", "0.31 mH"),
        ("woofer.xmax", "4.5 mm"),
        ("woofer.surround", "rubber"),
        ("tweeter.re", "5.4 ohm"),
        ("tweeter.fs", "900 Hz"),
        ("tweeter.qms", "2.6"),
        ("tweeter.qes", "1.2"),
        ("cabinet.box_type", "vented"),
        ("cabinet.net_volume", "24.0 L"),
        ("cabinet.port_n", "1"),
        ("cabinet.port_d", "50.0 mm"),
        ("cabinet.port_l", "150 mm"),
        ("cabinet.port_flare.in", "0 mm"),
        ("cabinet.port_flare.out", "8 mm"),
        ("cabinet.outer_h", "430 mm"),
        ("cabinet.outer_w", "220 mm"),
        ("cabinet.outer_d", "340 mm"),
        ("cabinet.panel_thick.front", "18 mm"),
        ("cabinet.panel_thick.side", "15 mm"),
        ("cabinet.panel_thick.top", "15 mm"),
        ("cabinet.panel_thick.back", "15 mm"),
        ("cabinet.panel_material", "particle"),
        ("cabinet.brace_count", "1"),
        ("cabinet.brace_pos", "200 mm"),
        ("cabinet.lining_material", "wool"),
        ("cabinet.lining_thick", "20 mm"),
        ("cabinet.lining_cover", "60 %"),
        ("cabinet.leak_found", "no"),
        ("wiring.wire_material", "copper"),
        ("wiring.wire_size", "0.75 mm²"),
        ("wiring.wire_len", "0.6 m"),
    ];
    let mut it = w1_with(&[FINDINGS, more].concat());
    it.jobs[0].network = vec![
        element("L1", Inductor, ["in", "w"], ["0.0012 H", "0.35 ohm"]),
        element("C1", Capacitor, ["w", "0"], ["0.0000082 F", ""]),
        element("woofer", Driver, ["w", "0"], ["", ""]),
        element("C2", Capacitor, ["in", "a"], ["0.0000056 F", "0.05 ohm"]),
        element("L2", Inductor, ["a", "0"], ["0.0003 H", "0.25 ohm"]),
        element("R1", Resistor, ["a", "t"], ["2.2 ohm", ""]),
        element("tweeter", Driver, ["t", "0"], ["", ""]),
    ];
    it
}

/// With one finding's grade set.
pub(crate) fn graded(mut it: Dossier, address: &str, evidence: Evidence) -> Dossier {
    let found = it.jobs[0].findings.iter_mut().find(|it| it.address() == address).unwrap();
    found.evidence = evidence;
    it
}
