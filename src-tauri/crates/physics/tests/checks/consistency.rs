//! Redundant driver parameters: the joint test, the reconciled set, and what is refused.

use physics::PhysicsError;
use physics::air::{AIR20, Air};
use physics::consistency::Key::{self, Bl, Cms, Fs, Mms, Qes, Qms, Qts, Re, Rms, Sd, Vas};
use physics::consistency::{Consistency, Entry, chi_square_tail, consistency};
use physics::driver::DriverParams;
use proptest::prelude::*;

use crate::edges::{NOT_POSITIVE, refused};
use crate::tolerance::{REL, near, within};

const SHEET: [(Key, f64, f64); 10] = [
    (Fs, 43.5, 0.01),
    (Mms, 0.0142, 0.02),
    (Cms, 0.00098, 0.04),
    (Sd, 0.0133, 0.015),
    (Vas, 0.0262, 0.05),
    (Re, 5.6, 0.005),
    (Bl, 6.1, 0.02),
    (Qes, 0.57, 0.03),
    (Rms, 0.85, 0.05),
    (Qms, 4.4, 0.05),
];

fn entries(rows: &[(Key, f64, f64)]) -> Vec<Entry> {
    rows.iter().map(|&(key, value, rel_u)| Entry { key, value, rel_u }).collect()
}

fn of(entries: &[Entry], key: Key) -> f64 {
    entries.iter().find(|entry| entry.key == key).expect("a key of the set").value
}

#[track_caller]
fn matches(got: &[Entry], want: &[(Key, f64, f64)]) {
    assert_eq!(got.len(), want.len());
    for (entry, &(key, value, rel_u)) in got.iter().zip(want) {
        assert_eq!(entry.key, key);
        near(entry.value, value, REL);
        near(entry.rel_u, rel_u, REL);
    }
}

#[test]
fn chk_1_4_ten_values_and_four_relations() {
    let got = consistency(&entries(&SHEET), &AIR20).unwrap();
    let rows = [
        ("r1", 0.01940235, 0.79209779),
        ("r2", 0.06366852, 0.90040889),
        ("r3", -0.02443266, -0.44423025),
        ("r4", -0.03703908, -0.49943484),
    ];
    assert_eq!(got.relations.len(), rows.len());
    for (relation, (id, residual, z)) in got.relations.iter().zip(rows) {
        assert_eq!(relation.id, id);
        within(relation.residual, residual, 5e-9);
        near(relation.z, z, REL);
        assert!(relation.independent);
    }
    assert_eq!(got.relations[2].keys, [Qes, Fs, Mms, Re, Bl]);
    near(got.chi2, 2.73567311, REL);
    assert_eq!(got.dof, 4);
    near(got.p_value, 0.602987, REL);
    matches(
        &got.adjusted,
        &[
            (Fs, 43.220342, 0.008839981616796477),
            (Mms, 0.014004107, 0.016666724759556717),
            (Cms, 0.00096829671, 0.02002128471448996),
            (Sd, 0.013433893, 0.013132517612852614),
            (Vas, 0.024781824, 0.029639302221362487),
            (Re, 5.5997731415192815, 0.0049777582995510225),
            (Bl, 6.1079129, 0.01314349851748255),
            (Qes, 0.5708319, 0.024746488329029998),
            (Rms, 0.857126380150737, 0.03626696328247461),
            (Qms, 4.4368895, 0.03626696328247461),
        ],
    );
}

/// The same set with Qts = 0.50 ± 3 %, by numpy: the fifth relation is straightened at the entries.
#[test]
fn total_q_joins_as_a_fifth_relation() {
    let mut rows = SHEET.to_vec();
    rows.push((Qts, 0.50, 0.03));
    let got = consistency(&entries(&rows), &AIR20).unwrap();
    assert_eq!(got.dof, 5);
    within(got.relations[4].residual, 1.0 / 0.5 - 1.0 / 4.4 - 1.0 / 0.57, 1e-15);
    near(got.relations[4].z, 0.22750966, REL);
    near(got.chi2, 2.828648214589821, REL);
    matches(
        &got.adjusted[7..],
        &[
            (Qes, 0.5683116901796015, 0.02004524770772322),
            (Rms, 0.8577823886132923, 0.03618006531243494),
            (Qms, 4.430008075337504, 0.03590794194048749),
            (Qts, 0.5036839906870523, 0.017899276951814282),
        ],
    );
}

/// 95 % points of chi-square as every table prints them (Abramowitz and Stegun, table 26.8, from
/// memory), and two tails far out by mpmath.
#[test]
fn chi_square_against_the_tables() {
    for (dof, point) in [(1, 3.841), (2, 5.991), (3, 7.815), (4, 9.488), (5, 11.070)] {
        within(chi_square_tail(point, dof).unwrap(), 0.05, 2e-5);
    }
    near(chi_square_tail(9.48772904, 4).unwrap(), 0.05, 1e-8);
    near(chi_square_tail(400.0, 4).unwrap(), 2.781632018740842e-85, 1e-9);
    near(chi_square_tail(1000.0, 5).unwrap(), 6.010077687920804e-214, 1e-9);
    near(chi_square_tail(1e-8, 3).unwrap(), 0.999999999999734, 1e-14);
    within(chi_square_tail(0.0, 1).unwrap(), 1.0, 0.0);
    within(chi_square_tail(5e-324, 4).unwrap(), 1.0, 0.0);
    within(chi_square_tail(1e300, 5).unwrap(), 0.0, 0.0);
    refused(chi_square_tail(0.0, 0), "dof");
    refused(chi_square_tail(-1.0, 2), "chi2");
    refused(chi_square_tail(f64::NAN, 2), "chi2");
    refused(chi_square_tail(1.0, 0), "dof");
}

#[test]
fn a_slipped_decimal_stands_out() {
    let rows = SHEET.map(|(key, value, u)| (key, if key == Cms { value * 10.0 } else { value }, u));
    let got = consistency(&entries(&rows), &AIR20).unwrap();
    for relation in &got.relations {
        assert_eq!(relation.keys.contains(&Cms), relation.z.abs() > 3.0, "{relation:?}");
    }
    assert!(got.p_value < 1e-6, "{}", got.p_value);
}

#[test]
fn relations_with_a_missing_member_are_absent() {
    let got = consistency(&entries(&SHEET[..5]), &AIR20).unwrap();
    let ids: Vec<_> = got.relations.iter().map(|relation| relation.id).collect();
    assert_eq!(ids, ["r1", "r2"]);
    // Without a relation a value stays as it was entered.
    let mut rows = SHEET[..3].to_vec();
    rows.push((Re, 5.6, 0.005));
    let got = consistency(&entries(&rows), &AIR20).unwrap();
    assert_eq!(got.adjusted[3], Entry { key: Re, value: 5.6, rel_u: 0.005 });
}

/// With fs and Mms nearly unknown, r3 and r4 both say no more than fs·Mms: the second adds nothing.
#[test]
fn a_relation_that_follows_from_others_is_left_out() {
    let rows = SHEET
        .map(|(key, value, u)| (key, value, if matches!(key, Fs | Mms) { 0.1 } else { u * 1e-9 }));
    let rows: Vec<_> = rows.into_iter().filter(|row| row.0 != Cms).collect();
    let got = consistency(&entries(&rows), &AIR20).unwrap();
    let independent: Vec<_> = got.relations.iter().map(|it| (it.id, it.independent)).collect();
    assert_eq!(independent, [("r3", true), ("r4", false)]);
    assert_eq!(got.dof, 1);
    near(got.chi2, got.relations[0].z.powi(2), 1e-9);
}

#[test]
fn bad_entries_are_refused_by_name() {
    for bad in NOT_POSITIVE {
        let mut rows = SHEET;
        rows[4].1 = bad;
        refused(consistency(&entries(&rows), &AIR20), "values.vas.value");
        rows = SHEET;
        rows[0].2 = bad;
        refused(consistency(&entries(&rows), &AIR20), "values.fs.rel_u");
    }
    let all = |u: f64| entries(&SHEET.map(|(key, value, _)| (key, value, u)));
    refused(consistency(&all(1e-320), &AIR20), "z");
    refused(consistency(&all(1e-160), &AIR20), "chi2");
    refused(consistency(&all(1e308), &AIR20), "rel_u");
    let mut rows = SHEET.to_vec();
    rows.push((Fs, 43.0, 0.01));
    let error = consistency(&entries(&rows), &AIR20).unwrap_err();
    assert_eq!(error.to_string(), "values.fs is inconsistent: it is given twice");
    for few in [&SHEET[..0], &SHEET[..2]] {
        let error = consistency(&entries(few), &AIR20).unwrap_err();
        assert!(matches!(error, PhysicsError::NotApplicable { .. }), "{error}");
    }
}

#[test]
fn every_key_has_its_word() {
    let words = Key::ALL.map(Key::word);
    assert_eq!(words, ["fs", "qms", "qes", "qts", "vas", "re", "bl", "mms", "cms", "rms", "sd"]);
}

/// All eleven values of a driver, each off by a factor and with an uncertainty.
fn sets(off: f64) -> impl Strategy<Value = Vec<Entry>> {
    let driver = (2.0..16.0, 1e-3..0.1, 1e-4..3e-3, 0.1..5.0, 2.0..20.0, 1e-3..0.1);
    let noise = prop::collection::vec((-off..=off, 0.002..0.1), 11);
    (driver, noise).prop_map(|((re_ohm, mms_kg, cms_m_n, rms_kg_s, bl_tm, sd_m2), noise)| {
        let one = DriverParams {
            re_ohm,
            mms_kg,
            cms_m_n,
            rms_kg_s,
            bl_tm,
            sd_m2,
            le_h: None,
            xmax_m: None,
        };
        let set = one.derive(&AIR20).expect("a sound driver");
        let values = [
            (Fs, set.fs_hz),
            (Qms, set.qms),
            (Qes, set.qes),
            (Qts, set.qts),
            (Vas, set.vas_m3),
            (Re, re_ohm),
            (Bl, bl_tm),
            (Mms, mms_kg),
            (Cms, cms_m_n),
            (Rms, rms_kg_s),
            (Sd, sd_m2),
        ];
        let noisy = values.into_iter().zip(noise);
        noisy
            .map(|((key, value), (miss, rel_u))| Entry { key, value: value * (1.0 + miss), rel_u })
            .collect()
    })
}

/// Residuals of the relations, worked out from the values alone.
fn residuals(set: &[Entry], air: &Air) -> [f64; 5] {
    let [fs, qms, qes, qts, vas, re, bl, mms, cms, rms, sd] = Key::ALL.map(|key| of(set, key));
    let ws = std::f64::consts::TAU * fs;
    [
        (ws * (mms * cms).sqrt()).ln(),
        (vas / (air.bulk_modulus_pa() * sd * sd * cms)).ln(),
        (qes * bl * bl / (ws * mms * re)).ln(),
        (qms * rms / (ws * mms)).ln(),
        1.0 / qts - 1.0 / qms - 1.0 / qes,
    ]
}

proptest! {
    #[test]
    fn an_exact_set_agrees(set in sets(0.0)) {
        let got = consistency(&set, &AIR20).unwrap();
        prop_assert!(got.chi2 < 1e-18, "{}", got.chi2);
        within(got.p_value, 1.0, 1e-12);
        for (adjusted, entered) in got.adjusted.iter().zip(&set) {
            near(adjusted.value, entered.value, 1e-12);
            prop_assert!(adjusted.rel_u < entered.rel_u);
        }
    }

    #[test]
    fn adjusted_values_satisfy_the_relations(set in sets(0.05)) {
        let got = consistency(&set, &AIR20).unwrap();
        prop_assert_eq!(got.dof, 5);
        let left = residuals(&got.adjusted, &AIR20);
        for residual in &left[..4] {
            within(*residual, 0.0, 1e-12);
        }
        // r5 is straightened at the entries, so it is met along that line.
        let slope = |key, sign: f64| {
            let shift = (of(&got.adjusted, key) / of(&set, key)).ln();
            sign * shift / of(&set, key)
        };
        let line = residuals(&set, &AIR20)[4] + slope(Qts, -1.0) + slope(Qms, 1.0) + slope(Qes, 1.0);
        within(line, 0.0, 1e-11 / of(&set, Qts));
    }

    #[test]
    fn the_entered_residuals_are_those_of_the_values(set in sets(0.05)) {
        let got = consistency(&set, &AIR20).unwrap();
        for (relation, want) in got.relations.iter().zip(residuals(&set, &AIR20)) {
            within(relation.residual, want, 1e-12 / of(&set, Qts).min(1.0));
        }
    }

    #[test]
    fn wider_uncertainties_shrink_chi_square(set in sets(0.05), k in 0.1..10.0) {
        let scaled: Vec<Entry> =
            set.iter().map(|it| Entry { rel_u: it.rel_u * k, ..*it }).collect();
        let (one, other): (Consistency, Consistency) =
            (consistency(&set, &AIR20).unwrap(), consistency(&scaled, &AIR20).unwrap());
        near(other.chi2, one.chi2 / (k * k), 1e-7);
        for (a, b) in one.adjusted.iter().zip(&other.adjusted) {
            // The compromise between the entries stays; only how sure it is changes.
            near(b.value, a.value, 1e-9);
            near(b.rel_u, a.rel_u * k, 1e-7);
        }
    }

    #[test]
    fn the_order_of_the_entries_does_not_matter(set in sets(0.05), turn in 0usize..11) {
        let mut turned = set.clone();
        turned.rotate_left(turn);
        let (one, other) =
            (consistency(&set, &AIR20).unwrap(), consistency(&turned, &AIR20).unwrap());
        near(other.chi2, one.chi2, 1e-7);
        for key in Key::ALL {
            near(of(&other.adjusted, key), of(&one.adjusted, key), 1e-9);
        }
    }
}
