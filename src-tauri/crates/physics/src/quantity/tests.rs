//! From findings to quantities: the right route, the right account of it, the right uncertainty.

use domain::{
    dictionary::find,
    part::{Part, Role},
    sweep::{Point, Sweep},
};

use super::*;
use crate::{
    air::AIR20,
    fixture::{dossier, finding, w1_with, with_u},
};

fn of(dossier: &Dossier, id: &str) -> Quantity {
    quantities(dossier, &AIR20).into_iter().find(|it| it.spec.id == id).unwrap()
}

#[track_caller]
fn close(found: &Quantity, want: f64, relative: f64) {
    let value = *found.value.as_ref().unwrap_or_else(|why| panic!("{}: {why:?}", found.spec.id));
    assert!((value / want - 1.0).abs() < relative, "{}: {value}, not {want}", found.spec.id);
}

/// By numpy, on the relations of Small, JAES 20(5), 1972.
#[test]
fn the_mechanical_set_gives_resonance_volume_and_level() {
    let it = w1_with(&[]);
    close(&of(&it, "woofer.fs_hz"), 42.664_132_7, 1e-6);
    close(&of(&it, "woofer.vas_m3"), 0.024_583_878_6, 1e-6);
    close(&of(&it, "woofer.qts_system"), 0.507_902_315, 1e-6);
    close(&of(&it, "system.sens_2v83_db"), 88.838_163_3, 1e-6);
    assert_eq!(of(&it, "woofer.vas_m3").assumed, ["air of 1.204 kg/m³, 343.2 m/s", "one woofer"]);
    assert_eq!(of(&it, "woofer.vas_m3").relations, ["Vas = ρ₀c²·Sd²·Cms"]);
    let pair = w1_with(&[("woofer.qty", "2"), ("woofer.wired", "parallel")]);
    close(&of(&pair, "woofer.vas_m3"), 0.049_167_757_2, 1e-6);
    close(&of(&pair, "system.sens_2v83_db"), 94.858_763_2, 1e-6);
}

/// By scipy.signal, on Small's closed and vented responses.
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

/// An unflared port of 50 mm, 150 mm long, in 24 L, one end flanged, tunes to 36.238 Hz.
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
    assert_eq!(
        it.assumed,
        ["sharp port edges", "port flanged outside, free inside", "air of 1.204 kg/m³, 343.2 m/s"]
    );
    let measured = dossier(&[&port[..], &[("cabinet.fb_measured", "39 Hz")]].concat());
    close(&of(&measured, "system.fb_hz"), 39.0, 1e-12);
}

/// 0.6 m of AWG 18 copper is 0.02513733 ohm and costs 0.0272497 dB into 8 ohm.
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

/// A clear span of 900 x 250 mm, 15 mm MDF, and the first cavity mode c/(2·0.9 m).
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
    // Bare walls of 2 % at both ends give Q = 155.50355.
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
    let Err(NoValue::Missing(list)) = of(&it, "cabinet.panel_f_hz").known.value else {
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
    let Err(NoValue::Refused(why)) = of(&thin, "woofer.qts_system").known.value else {
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
            assert!(find(part.role, key).is_none(), "{} is also a finding", spec.id);
        }
    }
}

/// JCGM 100:2008, 5.1.6: relative uncertainties of a product add in squares, each times its power.
#[test]
fn the_uncertainty_of_a_product_is_that_of_the_guide() {
    // Sd to 1 % and Cms to 3 %: Vas ~ Sd²·Cms to √(2² + 3²) %.
    let it = with_u(with_u(w1_with(&[]), "woofer.sd", 1.33e-4), "woofer.cms", 2.94e-5);
    let vas = of(&it, "woofer.vas_m3");
    let relative = vas.u.unwrap() / vas.value.clone().unwrap();
    assert!((relative - 0.13_f64.sqrt() / 10.0).abs() < 1e-4, "{relative}");
    assert_eq!(vas.method, Method::FirstOrder);
    let sources: Vec<&str> = vas.shares.iter().map(|it| it.source.as_str()).collect();
    assert_eq!(sources, ["woofer.cms", "woofer.sd"]);
}

/// A finding that enters by two ways counts with its whole effect: Qes ~ fs·Mms with fs ~ Mms^(−1/2) is ~ Mms^(1/2).
#[test]
fn a_finding_that_enters_twice_is_one_source() {
    let mut it = w1_with(&[]);
    for address in ["woofer.re", "woofer.cms", "woofer.rms", "woofer.bl", "woofer.sd"] {
        it = with_u(it, address, 0.0);
    }
    let it = with_u(it, "woofer.mms", 0.02 * 0.0142);
    let fs = of(&it, "woofer.fs_hz");
    let relative = fs.u.unwrap() / fs.value.clone().unwrap();
    assert!((relative - 0.01).abs() < 1e-5, "{relative}");
    // Qts = Qms·Qes/(Qms + Qes), and both go with √Mms here: the correlation is whole.
    let qts = of(&it, "woofer.qts_system");
    let relative = qts.u.unwrap() / qts.value.clone().unwrap();
    assert!((relative - 0.01).abs() < 1e-5, "{relative}");
}

/// Without a stated uncertainty the last digit read counts: half a step over √3 (JCGM 100:2008, 4.3.7).
#[test]
fn a_reading_is_as_good_as_its_last_digit() {
    let re = with_u(w1_with(&[]), "woofer.bl", 0.0);
    let motor = of(&re, "woofer.motor_n_s_m");
    let relative = motor.u.unwrap() / motor.value.clone().unwrap();
    assert!((relative - 0.05 / 3_f64.sqrt() / 5.6).abs() < 1e-5, "{relative}");
}

/// A response peak that is cut off at 0 is no smooth function, so it is drawn at random, always alike.
#[test]
fn what_is_not_smooth_is_drawn_at_random() {
    // Qtc is just at 1/√2 here, where the peak begins.
    let it = dossier(&[
        ("cabinet.box_type", "closed"),
        ("cabinet.net_volume", "20 L"),
        ("woofer.re", "5.6 ohm"),
        ("woofer.fs", "40 Hz"),
        ("woofer.qms", "4.0"),
        ("woofer.qes", "0.571"),
        ("woofer.vas", "20 L"),
    ]);
    let it = with_u(it, "woofer.qes", 0.03);
    let ripple = of(&it, "system.ripple_db");
    assert_eq!(ripple.method, Method::MonteCarlo);
    let u = ripple.u.unwrap();
    assert!(u > 0.005 && u < 0.2, "{u}");
    assert_eq!(of(&it, "system.ripple_db").u, Some(u));
}

#[test]
fn counts_are_exact() {
    let ways = of(&w1_with(&[]), "whole.ways");
    assert_eq!((ways.u, ways.method), (None, Method::Exact));
}

/// CHK-2.3: scipy's fit to this sweep gives Qts 0.51833932 with u 0.00164497, its parameters' correlations included
/// (that of Res and Qms is 0.91).
#[test]
fn fitted_parameters_keep_their_correlations() {
    let truth = crate::fit::ImpedanceModel {
        re_ohm: 5.6,
        res_ohm: 40.0,
        fs_hz: 42.5,
        qms: 4.2,
        k: 0.020,
        n: 0.67,
    };
    let points = (0..=60)
        .map(|k| {
            let k = f64::from(k);
            let f_hz = 10.0 * 2000_f64.powf(k / 60.0);
            let z_ohm = truth.impedance(f_hz).norm() * (1.0 + 0.005 * (k * k).sin());
            Point { f_hz, z_ohm, phase_deg: None }
        })
        .collect();
    let mut it = dossier(&[]);
    it.jobs[0].sweeps.push(Sweep { part: Part::first(Role::Woofer), points, note: String::new() });
    let qts = of(&it, "woofer.qts_system");
    close(&qts, 0.518_339_32, 1e-5);
    let u = qts.u.unwrap();
    assert!((u / 0.001_644_97 - 1.0).abs() < 1e-3, "{u}");
    let sources: Vec<&str> = qts.shares.iter().map(|it| it.source.as_str()).collect();
    assert_eq!(sources, ["fit to woofer.sweep"]);
}
