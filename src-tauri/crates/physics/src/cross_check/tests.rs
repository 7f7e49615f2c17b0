//! Each check speaks where it should and is silent where it should be.

use domain::{
    dossier::Dossier,
    evidence::Evidence,
    part::{Part, Role},
    sweep::{Point, Sweep},
};

use super::*;
use crate::{
    air::AIR20,
    fixture::{dossier, finding, w1_with, with_u},
    quantity::{Fits, quantities, some_quantities},
};

fn checks(of: &Dossier) -> Vec<CrossCheck> {
    let all = cross_checks(of, &quantities(of, &AIR20), &AIR20);
    // What is not named is not read.
    let some = some_quantities(of, &AIR20, &Fits::default(), |id| READS.contains(&id));
    assert_eq!(all, cross_checks(of, &some, &AIR20));
    all
}

#[track_caller]
fn only(of: &Dossier, code: &str) -> CrossCheck {
    let list = checks(of);
    assert_eq!(list.len(), 1, "{list:#?}");
    assert_eq!(list[0].code, code);
    list[0].clone()
}

/// A box of 24 L with one plain port of 50 mm, 150 mm long, which tunes to 36.24 Hz by Helmholtz with the end
/// corrections of Levine and Schwinger (1948) and of a flange.
const BOX: &[(&str, &str)] = &[
    ("cabinet.box_type", "vented"),
    ("cabinet.net_volume", "24.0 L"),
    ("cabinet.port_n", "1"),
    ("cabinet.port_d", "50.0 mm"),
    ("cabinet.port_l", "150 mm"),
    ("cabinet.port_flare.in", "0 mm"),
    ("cabinet.port_flare.out", "0 mm"),
];

#[test]
fn sound_findings_are_left_alone() {
    assert_eq!(checks(&w1_with(BOX)), []);
    assert_eq!(checks(&dossier(&[BOX, &[("cabinet.fb_measured", "37.0 Hz")]].concat())), []);
}

#[test]
fn a_slip_of_unit_is_offered_the_unit_that_fits() {
    let it = dossier(&[("cabinet.port_l", "6.4 mm")]);
    let found = only(&it, "outside_usual_range");
    assert_eq!((found.severity, found.subject), (Severity::Caution, Subject::Record));
    let offers: Vec<&str> = found.offers.iter().map(|it| it.typed.as_str()).collect();
    // 6.4 in is 163 mm and 6.4 cm is 64 mm: the first lies nearer to the middle of what is usual.
    assert_eq!(offers[..2], ["6.4 in", "6.4 cm"], "{offers:?}");
    assert!(found.text.contains("Perhaps it is 6.4 in"), "{}", found.text);
}

#[test]
fn a_slip_of_the_point_is_offered_too() {
    let it = dossier(&[("woofer.qts", "4.2")]);
    let found = only(&it, "outside_usual_range");
    assert_eq!(found.offers[0].typed, "0.42");
}

#[test]
fn a_value_just_outside_the_range_is_no_slip() {
    let it = dossier(&[("cabinet.port_l", "210 mm")]);
    let found = only(&it, "outside_usual_range");
    assert_eq!((found.severity, found.offers), (Severity::Info, Vec::new()));
}

/// 1/Qts = 1/5.75 + 1/0.50 gives 0.46, not 0.64 (Small 1972).
#[test]
fn parameters_that_contradict_each_other_are_named() {
    let it = dossier(&[("woofer.qts", "0.64"), ("woofer.qms", "5.75"), ("woofer.qes", "0.50")]);
    let found = only(&it, "driver_parameters_disagree");
    assert_eq!(found.severity, Severity::Warning);
    assert!(found.z.unwrap().abs() > CONTRADICTION_Z);
    assert_eq!(found.addresses.len(), 3);
    assert!(found.text.contains("1/Qts = 1/Qms + 1/Qes"), "{}", found.text);
}

#[test]
fn the_one_parameter_that_differs_from_all_others_is_singled_out() {
    let it = w1_with(&[
        ("woofer.fs", "42.7 Hz"),
        ("woofer.qms", "4.48"),
        ("woofer.qes", "0.573"),
        ("woofer.qts", "0.64"),
    ]);
    let found = only(&it, "driver_parameters_disagree");
    assert_eq!(found.offers.len(), 1, "{}", found.text);
    assert_eq!(found.offers[0].address, "woofer.qts");
    assert!(found.text.contains("Without Qts the others agree"), "{}", found.text);
}

#[test]
fn a_port_that_cannot_tune_as_measured_is_named() {
    let it = dossier(&[BOX, &[("cabinet.fb_measured", "45.0 Hz")]].concat());
    let found = only(&it, "tuning_disagrees");
    assert_eq!(found.severity, Severity::Warning);
    assert!(found.text.contains("36.2"), "{}", found.text);
    assert!(found.addresses.contains(&"cabinet.port_l".to_owned()), "{:?}", found.addresses);
}

fn swept(mut of: Dossier, z_ohm: f64) -> Dossier {
    let points =
        (1..=30).map(|i| Point { f_hz: 30.0 * f64::from(i), z_ohm, phase_deg: None }).collect();
    of.jobs[0].sweeps.push(Sweep { part: Part::first(Role::Whole), points, note: String::new() });
    of
}

/// Without a sweep the traced network stands in, and says so.
#[test]
fn a_rating_against_a_computed_impedance_is_a_caution() {
    use domain::network::{Element, ElementKind};
    let mut it =
        dossier(&[("whole.rated_z", "8 ohm"), ("woofer.re", "4.0 ohm"), ("woofer.qty", "1")]);
    it.jobs[0].network = vec![Element {
        name: "W".into(),
        kind: ElementKind::Driver,
        from: "in".into(),
        to: "0".into(),
        typed: String::new(),
        value_si: None,
        loss_typed: String::new(),
        loss_ohm: None,
        tolerance: None,
        construction: String::new(),
        rating_typed: String::new(),
        rating_si: None,
        part: Some(Part::first(Role::Woofer)),
        note: String::new(),
    }];
    let found = only(&it, "rating_not_met");
    assert_eq!(found.severity, Severity::Caution);
    assert!(found.text.contains("computed from the parts list, is 4.0"), "{}", found.text);
    assert_eq!(found.addresses, ["whole.rated_z", "crossover.parts"]);
}

/// IEC 60268-5:2003, clause 16.1 (from memory): at least 0.8 of the rated impedance.
#[test]
fn a_rating_is_held_against_the_lowest_impedance() {
    let rated = |typed| dossier(&[("whole.rated_z", typed)]);
    let found = only(&swept(rated("8 ohm"), 5.1), "rating_not_met");
    assert_eq!((found.severity, found.subject), (Severity::Warning, Subject::Maker));
    assert!(
        found.text.contains("6.40 ohm") && found.text.contains("6 ohm is the highest"),
        "{}",
        found.text
    );
    // 1 % of calibration leaves this one open.
    assert_eq!(only(&swept(rated("8 ohm"), 6.35), "rating_not_met").severity, Severity::Caution);
    assert_eq!(checks(&swept(rated("8 ohm"), 6.45)), []);
}

#[test]
fn a_claim_is_held_against_what_was_seen_and_not_against_other_claims() {
    let mut it = dossier(&[("wiring.wire_material", "cca")]);
    it.stated = vec![finding("wiring.wire_material", "copper", Evidence::Claimed)];
    let found = only(&it, "claim_contradicted");
    assert!(found.text.contains("states copper for the conductor"), "{}", found.text);
    assert!(found.text.contains("copper-clad aluminium (measured"), "{}", found.text);
    let mut tinned = dossier(&[("wiring.wire_material", "tinned copper")]);
    tinned.stated.clone_from(&it.stated);
    assert_eq!(checks(&tinned), []);
    let mut unseen = dossier(&[]);
    unseen.stated.clone_from(&it.stated);
    assert_eq!(checks(&unseen), []);
}

#[test]
fn a_conductor_thinner_than_stated_is_named() {
    let mut it = dossier(&[("wiring.wire_size", "0.75 mm²")]);
    it.stated = vec![finding("wiring.wire_size", "1.5 mm²", Evidence::Claimed)];
    let found = only(&it, "claim_contradicted");
    assert!(
        found.text.contains("1.500\u{a0}mm²") && found.text.contains("0.7500\u{a0}mm²"),
        "{}",
        found.text
    );
}

#[test]
fn wide_uncertainties_excuse_a_miss() {
    let it = dossier(&[("woofer.qts", "0.50"), ("woofer.qms", "5.75"), ("woofer.qes", "0.50")]);
    assert_eq!(checks(&it).len(), 1);
    let it = with_u(with_u(it, "woofer.qes", 0.05), "woofer.qts", 0.03);
    assert_eq!(checks(&it), []);
}
