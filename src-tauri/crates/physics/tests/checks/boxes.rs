//! Boxes: closed and vented responses.

use std::f64::consts::{FRAC_1_SQRT_2, SQRT_2};

use physics::PhysicsError;
use physics::air::AIR20;
use physics::box_closed::{BoxDriver, ClosedBox, series_loss_db};
use physics::box_vented::alignment::quasi_butterworth;
use physics::box_vented::{Leak, VentedBox};
use proptest::prelude::*;

use crate::drivers::W1;
use crate::table::{number, table};
use crate::tolerance::{DB, REL, near, within};

fn w1() -> BoxDriver {
    let set = W1.derive(&AIR20).expect("a sound driver");
    BoxDriver {
        fs_hz: set.fs_hz,
        qms: set.qms,
        qes: set.qes,
        re_ohm: W1.re_ohm,
        vas_m3: set.vas_m3,
    }
}

#[test]
fn chk_3_1_closed_w1() {
    let plain = ClosedBox::with_series_resistance(&w1(), 0.012, 0.0).unwrap();
    near(plain.alpha, 2.04865655, REL);
    near(plain.fc_hz, 74.4932929, REL);
    near(plain.qtc, 0.886817884, REL);
    near(plain.f3_hz, 62.3272384, REL);
    for (times, want) in [(0.5, -11.4879301), (1.0, -1.04331114), (2.0, 0.55326973)] {
        within(plain.gain_db(times * plain.fc_hz).unwrap(), want, DB);
    }
    let peak = plain.peak.unwrap();
    within(peak.level_db, 0.618117925, DB);
    near(peak.f_hz, 123.432710, REL);
    within(plain.gain_db(peak.f_hz).unwrap(), peak.level_db, 1e-12);
    let coil = ClosedBox::with_series_resistance(&w1(), 0.012, 0.4).unwrap();
    near(coil.qtc, 0.94252659, REL);
    near(coil.f3_hz, 60.252948, REL);
    near(ClosedBox::with_series_resistance(&w1(), 0.012, 0.8).unwrap().qtc, 0.99734709, REL);
}

/// The standard table of f3/fc over Qtc (Small 1972).
#[test]
fn chk_3_2_closed_f3_table() {
    let rows =
        [(0.5, 1.553773974), (0.57735027, 1.272019650), (FRAC_1_SQRT_2, 1.0), (1.0, 0.786151378)];
    for (qtc, want) in rows {
        // With Vas = 3·Vb, fc is twice fs and Qtc twice Qts.
        let boxed = ClosedBox::new(1.0, qtc / 2.0, 3.0, 1.0).unwrap();
        near(boxed.qtc, qtc, 1e-12);
        near(boxed.f3_hz / boxed.fc_hz, want, REL);
        assert_eq!(boxed.peak.is_some(), qtc > FRAC_1_SQRT_2);
        within(boxed.gain_db(boxed.f3_hz).unwrap(), -10.0 * 2f64.log10(), 1e-9);
    }
}

#[test]
fn a_peak_begins_at_one_over_root_two() {
    assert!(ClosedBox::new(1.0, (FRAC_1_SQRT_2 - 1e-5) / 2.0, 3.0, 1.0).unwrap().peak.is_none());
    let just_above =
        ClosedBox::new(1.0, (FRAC_1_SQRT_2 + 1e-4) / 2.0, 3.0, 1.0).unwrap().peak.unwrap();
    assert!(just_above.level_db >= 0.0 && just_above.level_db < 1e-6);
}

#[test]
fn a_series_resistance_costs_level() {
    // A voltage divider: 0.8 ohm before 5.6 ohm leaves 7/8 of the voltage.
    near(series_loss_db(5.6, 0.8).unwrap(), 20.0 * (8f64 / 7.0).log10(), REL);
}

/// The fourth-order Butterworth alignment, as published by Thiele 1971 and, for QL = 7, Small 1973.
#[test]
fn chk_3_3_butterworth() {
    let lossless = VentedBox::new(1.0, 0.382683432, SQRT_2, 1.0, 1.0, Leak::Lossless).unwrap();
    let leaky = VentedBox::new(1.0, 0.404814247, 1.061318021, 1.0, 1.0, Leak::Ql(7.0)).unwrap();
    for boxed in [lossless, leaky] {
        near(boxed.a1, 2.613125930, REL);
        near(boxed.a2, 3.414213562, REL);
        near(boxed.a3, 2.613125930, REL);
        near(boxed.f3_hz, 1.0, REL);
        // Maximally flat: what the rounding of the inputs leaves.
        within(boxed.ripple_db, 0.0, DB);
    }
}

/// A. N. Thiele, "Loudspeakers in Vented Boxes", JAES 19(5, 6), 1971: the file states what is from
/// memory and what was recomputed.
#[test]
fn chk_3_4_thiele_alignments() {
    let rows = table(include_str!("../data/thiele_1971.csv"));
    assert_eq!(rows.len(), 9);
    for row in rows {
        let (f3_fs, ripple) = (number(row[1]), row[6]);
        let h = f3_fs / number(row[2]);
        let boxed =
            VentedBox::new(1.0, number(row[4]), number(row[3]), 1.0, h, Leak::Lossless).unwrap();
        within(boxed.f3_hz, number(row[5]), 5.1e-5);
        near(boxed.f3_hz, f3_fs, 3e-3);
        if !ripple.is_empty() {
            within(boxed.ripple_db, number(ripple), 5.1e-4);
        }
    }
}

/// Thiele's alignments 1 to 5 are the quasi-Butterworth family and its end; their printed values are
/// rounded to three figures.
#[test]
fn thieles_first_alignments_are_quasi_butterworth() {
    for row in &table(include_str!("../data/thiele_1971.csv"))[..4] {
        let qb3 = quasi_butterworth(number(row[4]), Leak::Lossless).unwrap();
        near(qb3.h, number(row[1]) / number(row[2]), 0.02);
        near(qb3.alpha, number(row[3]), 0.02);
        near(qb3.f3_ratio, number(row[1]), 0.01);
    }
}

#[test]
fn chk_3_5_vented_w1() {
    let driver = w1();
    let qts = driver.qts_with_series(0.0).unwrap();
    let boxed =
        VentedBox::new(driver.fs_hz, qts, driver.vas_m3, 0.024, 42.0, Leak::Ql(7.0)).unwrap();
    near(boxed.alpha, 1.02432828, REL);
    near(boxed.h, 0.984433465, REL);
    near(boxed.a1, 2.126129030, REL);
    near(boxed.a2, 3.322040738, REL);
    near(boxed.a3, 2.097480286, REL);
    let gains = [
        (20.0, -24.3939124),
        (30.0, -10.4491212),
        (40.0, -3.43493352),
        (50.0, -0.129522708),
        (80.0, 1.64297187),
        (200.0, 0.395625618),
    ];
    for (f, want) in gains {
        within(boxed.gain_db(f).unwrap(), want, DB);
    }
    near(boxed.f3_hz, 40.9333119, REL);
    // The peak reported is the gain there, and nothing near it is higher.
    let f_peak = boxed.f_ripple_hz.unwrap();
    within(boxed.gain_db(f_peak).unwrap(), boxed.ripple_db, 1e-9);
    for side in [0.99, 1.01] {
        assert!(boxed.gain_db(f_peak * side).unwrap() < boxed.ripple_db);
    }
}

/// Quasi-Butterworth alignments with QL = 7: a1² = 2·a2 and a2² + 2 = 2·a1·a3 (Thiele 1971; Small
/// 1973), solved with scipy.
#[test]
fn chk_3_6_quasi_butterworth() {
    for (qts, h, alpha, f3) in
        [(0.30, 1.314529, 2.8452015, 1.5731641), (0.35, 1.1394997, 1.7964226, 1.270238)]
    {
        let qb3 = quasi_butterworth(qts, Leak::Ql(7.0)).unwrap();
        near(qb3.h, h, REL);
        near(qb3.alpha, alpha, REL);
        near(qb3.f3_ratio, f3, REL);
    }
}

/// The family ends at the Butterworth alignment (Thiele 1971; with QL = 7 Small 1973), beyond which
/// it would peak.
#[test]
fn quasi_butterworth_ends_at_butterworth() {
    for (qts, alpha, leak) in
        [(0.382683432, SQRT_2, Leak::Lossless), (0.404814247, 1.061318021, Leak::Ql(7.0))]
    {
        let end = quasi_butterworth(qts, leak).unwrap();
        near(end.h, 1.0, REL);
        near(end.alpha, alpha, REL);
        near(end.f3_ratio, 1.0, REL);
        for beyond in [qts + 1e-4, 0.5, 0.9, 1.5] {
            let got = quasi_butterworth(beyond, leak);
            assert!(matches!(got, Err(PhysicsError::NotApplicable { .. })), "{beyond}: {got:?}");
        }
    }
}

#[test]
fn quasi_butterworth_refuses_what_is_not_positive() {
    for bad in [0.0, -0.3, f64::NAN, f64::INFINITY] {
        for (qts, leak, name) in [(bad, Leak::Lossless, "qts"), (0.3, Leak::Ql(bad), "ql")] {
            match quasi_butterworth(qts, leak) {
                Err(PhysicsError::OutOfDomain { field, .. }) => assert_eq!(field, name),
                other => panic!("{name} = {bad} was not refused: {other:?}"),
            }
        }
    }
}

#[test]
fn half_power_is_the_highest_such_frequency() {
    // A driver of very high Q dips below half power between its two peaks.
    let boxed = VentedBox::new(40.0, 3.0, 0.2, 0.02, 40.0, Leak::Lossless).unwrap();
    let mut f = 40_000.0;
    while boxed.gain_db(f).unwrap() > -10.0 * 2f64.log10() {
        f *= 0.9999;
    }
    near(boxed.f3_hz, f, 2e-4);
    assert!(boxed.ripple_db > 6.0);
}

proptest! {
    /// Both conditions hold, and the response rises without a peak.
    #[test]
    fn quasi_butterworth_is_what_it_says(qts in 0.05..0.38, ql in prop::option::of(3.0..50.0)) {
        let leak = ql.map_or(Leak::Lossless, Leak::Ql);
        let qb3 = quasi_butterworth(qts, leak).unwrap();
        let boxed = VentedBox::new(1.0, qts, qb3.alpha, 1.0, qb3.h, leak).unwrap();
        near(boxed.a1 * boxed.a1, 2.0 * boxed.a2, 1e-9);
        near(boxed.a2 * boxed.a2 + 2.0, 2.0 * boxed.a1 * boxed.a3, 1e-9);
        within(boxed.ripple_db, 0.0, 1e-9);
    }
}
