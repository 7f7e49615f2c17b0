//! From findings to quantities: the right route, the right account of it.

use domain::{
    dossier::Job,
    finding::{Answer, Finding, entry_for, read_value},
    key::ProductKey,
    part::{Part, Role},
    product::{Product, ProductKind, Teardown},
    sweep::{Point, Sweep},
};

use super::*;
use crate::air::AIR20;

fn finding(address: &str, typed: &str, evidence: Evidence) -> Finding {
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

fn dossier(findings: &[(&str, &str)]) -> Dossier {
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

fn of(dossier: &Dossier, id: &str) -> Quantity {
    quantities(dossier, &AIR20).into_iter().find(|it| it.spec.id == id).unwrap()
}

/// The reference woofer W1 of the checks: Re 5.6 ohm, Mms 14.2 g, Cms 0.98 mm/N, Rms 0.85 kg/s, BL 6.1 T·m, Sd 133 cm².
const W1: &[(&str, &str)] = &[
    ("woofer.re", "5.6 ohm"),
    ("woofer.mms", "14.2 g"),
    ("woofer.cms", "0.98 mm/N"),
    ("woofer.rms", "0.85 kg/s"),
    ("woofer.bl", "6.1 T·m"),
    ("woofer.sd", "133 cm²"),
];

fn w1_with(more: &[(&str, &str)]) -> Dossier {
    dossier(&[W1, more].concat())
}

#[track_caller]
fn close(found: &Quantity, want: f64, relative: f64) {
    let value = *found.value.as_ref().unwrap_or_else(|why| panic!("{}: {why:?}", found.spec.id));
    assert!((value / want - 1.0).abs() < relative, "{}: {value}, not {want}", found.spec.id);
}

/// CHK-1.1 and CHK-1.3: numpy on the relations of Small, JAES 20(5), 1972.
#[test]
fn the_mechanical_set_gives_resonance_volume_and_level() {
    let it = w1_with(&[]);
    close(&of(&it, "woofer.fs_hz"), 42.664_132_7, 1e-6);
    close(&of(&it, "woofer.vas_m3"), 0.024_583_878_6, 1e-6);
    close(&of(&it, "woofer.qts_system"), 0.507_902_315, 1e-6);
    close(&of(&it, "system.sens_2v83_db"), 88.838_163_3, 1e-6);
    assert_eq!(of(&it, "woofer.vas_m3").assumed, ["one woofer"]);
    let pair = w1_with(&[("woofer.qty", "2"), ("woofer.wired", "parallel")]);
    close(&of(&pair, "woofer.vas_m3"), 0.049_167_757_2, 1e-6);
    close(&of(&pair, "system.sens_2v83_db"), 94.858_763_2, 1e-6);
}

/// CHK-3.1 and CHK-3.5: scipy.signal on Small's closed and vented responses.
#[test]
fn the_box_follows_from_its_type() {
    let closed = w1_with(&[("cabinet.box_type", "closed"), ("cabinet.net_volume", "12 L")]);
    close(&of(&closed, "system.f3_hz"), 62.327_238_4, 1e-6);
    close(&of(&closed, "system.ripple_db"), 0.618_117_925, 1e-6);
    assert!(matches!(of(&closed, "system.fb_hz").value, Err(NoValue::NotApplicable(_))));
    let vented = w1_with(&[
        ("cabinet.box_type", "vented"),
        ("cabinet.net_volume", "24 L"),
        ("cabinet.fb_measured", "42 Hz"),
    ]);
    close(&of(&vented, "system.f3_hz"), 40.933_311_9, 1e-5);
    assert!(of(&vented, "system.f3_hz").assumed.contains(&"box losses QL = 7".to_owned()));
}

/// CHK-3.8: an unflared port of 50 mm, 150 mm long, in 24 L, one end flanged, tunes to 36.238 Hz.
#[test]
fn tuning_follows_from_the_port_unless_it_was_measured() {
    let port = [
        ("cabinet.box_type", "vented"),
        ("cabinet.net_volume", "24 L"),
        ("cabinet.port_n", "1"),
        ("cabinet.port_d", "50 mm"),
        ("cabinet.port_l", "150 mm"),
    ];
    let it = of(&dossier(&port), "system.fb_hz");
    close(&it, 36.238_412_6, 1e-6);
    assert_eq!(it.assumed, ["sharp port edges", "port flanged outside, free inside"]);
    let measured = dossier(&[&port[..], &[("cabinet.fb_measured", "39 Hz")]].concat());
    close(&of(&measured, "system.fb_hz"), 39.0, 1e-12);
}

/// CHK-6.2: 0.6 m of AWG 18 copper is 0.02513733 ohm and costs 0.0272497 dB into 8 ohm.
#[test]
fn wiring_loss_needs_the_sweep_and_says_so() {
    let wire = [
        ("wiring.wire_material", "copper"),
        ("wiring.wire_size", "18 AWG"),
        ("wiring.wire_len", "0.6 m"),
    ];
    let mut it = dossier(&wire);
    close(&of(&it, "wiring.loop_ohm"), 0.025_137_33, 1e-6);
    assert_eq!(
        of(&it, "wiring.loop_loss_db").value,
        Err(NoValue::Missing(vec!["whole.sweep".into()]))
    );
    let points = (1..=30)
        .map(|i| Point { f_hz: 20.0 * f64::from(i), z_ohm: 8.0, phase_deg: None })
        .collect();
    it.jobs[0].sweeps.push(Sweep { part: Part::first(Role::Whole), points, note: String::new() });
    close(&of(&it, "wiring.loop_loss_db"), 0.027_249_7, 1e-5);
    assert_eq!(
        of(&it, "load.r_pd_min_ohm").value,
        Err(NoValue::Missing(vec!["whole.sweep phase".into()]))
    );
}

/// CHK-4.2 and CHK-4.6: a clear span of 900 x 250 mm, 15 mm MDF, and the first cavity mode c/(2·0.9 m).
#[test]
fn walls_and_air_follow_from_the_outside() {
    let sizes = [
        ("cabinet.outer_h", "930 mm"),
        ("cabinet.outer_w", "180 mm"),
        ("cabinet.outer_d", "280 mm"),
        ("cabinet.panel_thick.front", "15 mm"),
        ("cabinet.panel_thick.side", "15 mm"),
        ("cabinet.panel_thick.top", "15 mm"),
        ("cabinet.panel_thick.back", "15 mm"),
        ("cabinet.panel_material", "mdf"),
        ("cabinet.brace_count", "0"),
        ("cabinet.lining_material", "none"),
    ];
    let it = dossier(&sizes);
    // The geometric mean of the hinged 243.76988 Hz and the clamped 526.62031 Hz.
    close(&of(&it, "cabinet.panel_f_hz"), (243.769_88_f64 * 526.620_31).sqrt(), 1e-6);
    close(&of(&it, "cabinet.cavity_f_hz"), 343.2 / 1.8, 1e-9);
    // CHK-4.8: bare walls of 2 % at both ends give Q = 155.50355.
    close(&of(&it, "cabinet.cavity_q"), 155.503_55, 1e-6);
    let braced = dossier(&[&sizes[..8], &[("cabinet.brace_count", "1")]].concat());
    assert_eq!(
        of(&braced, "cabinet.panel_f_hz").value,
        Err(NoValue::Missing(vec!["cabinet.brace_pos".into()]))
    );
}

#[test]
fn what_is_missing_is_listed_whole() {
    let it = dossier(&[]);
    let Err(NoValue::Missing(list)) = of(&it, "cabinet.panel_f_hz").value else {
        panic!("it has a value")
    };
    assert_eq!(list.len(), 9, "{list:?}");
    for quantity in quantities(&it, &AIR20) {
        let known = quantity.spec.id == "whole.ways";
        assert_eq!(quantity.value.is_ok(), known, "{}", quantity.spec.id);
        assert_eq!(quantity.evidence, None);
    }
}

#[test]
fn the_weakest_evidence_is_reported() {
    let mut it = w1_with(&[]);
    it.jobs[0].findings[5] = finding("woofer.sd", "133 cm²", Evidence::Inferred);
    assert_eq!(of(&it, "woofer.vas_m3").evidence, Some(Evidence::Inferred));
    assert_eq!(of(&it, "woofer.fs_hz").evidence, Some(Evidence::Measured));
    assert_eq!(of(&it, "woofer.fs_hz").from, ["woofer.cms", "woofer.mms"]);
}

#[test]
fn impossible_findings_are_refused_with_the_reason() {
    let it = w1_with(&[("woofer.qts", "0.9"), ("woofer.qes", "0.5")]);
    let thin = dossier(&[
        ("woofer.re", "5.6 ohm"),
        ("woofer.fs", "45 Hz"),
        ("woofer.qts", "0.9"),
        ("woofer.qes", "0.5"),
    ]);
    assert!(of(&it, "woofer.qts_system").value.is_ok(), "qms follows from the mechanics");
    let Err(NoValue::Refused(why)) = of(&thin, "woofer.qts_system").value else {
        panic!("it was accepted")
    };
    assert!(why.contains("Qts (0.9) must be smaller"), "{why}");
}

#[test]
fn ids_are_unique_and_are_no_findings() {
    let mut seen = std::collections::BTreeSet::new();
    for spec in specs() {
        assert!(seen.insert(spec.id), "{} stands twice", spec.id);
        let (part, key) = spec.id.split_once('.').unwrap();
        if let Ok(part) = part.parse::<Part>() {
            assert!(entry_for(part, key).is_err(), "{} is also a finding", spec.id);
        }
    }
}
