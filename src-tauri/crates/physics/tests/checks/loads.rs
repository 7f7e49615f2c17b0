//! The load on the amplifier: minimum, rating, peak dissipation.

use physics::load::{
    highest_rating_ohm, minimum_impedance, peak_dissipation_ohm, rating_verdict,
    worst_peak_dissipation,
};
use physics::sweep::SweepRow;

use crate::tolerance::{REL, near};

/// Zin of a two-way network with two synthetic drivers, by ngspice: Hz, ohm, degrees. The row at
/// 93.3 Hz is where the peak dissipation is worst, the one at 12142.73 Hz where |Z| is least.
const TWO_WAY: [(f64, f64, f64); 10] = [
    (20.0, 9.14510068, 40.76783),
    (42.6641327, 48.7559642, -11.10817),
    (93.3182, 7.707597, -37.07595),
    (200.0, 5.8637906, -5.661764),
    (1000.0, 14.7084406, 24.21337),
    (2000.0, 11.2533572, -33.02639),
    (3000.0, 9.62103298, -20.48038),
    (5000.0, 7.34031696, -23.77821),
    (12_142.73, 5.4681415, 0.0),
    (20_000.0, 5.98306895, 13.53676),
];

fn two_way() -> Vec<SweepRow> {
    TWO_WAY
        .into_iter()
        .map(|(f_hz, z_ohm, phase)| SweepRow { f_hz, z_ohm, phase_deg: Some(phase) })
        .collect()
}

/// IEC 60268-5:2003, clause 16.1 (from memory): the minimum is at least 0.8 of the rated impedance.
#[test]
fn chk_5_6_minimum_and_rating() {
    let lowest = minimum_impedance(&two_way(), 20.0, 20_000.0).unwrap();
    near(lowest.z_ohm, 5.4681415, REL);
    near(lowest.f_hz, 12_142.73, REL);
    near(minimum_impedance(&two_way(), 20.0, 1000.0).unwrap().f_hz, 200.0, REL);
    let eight = rating_verdict(lowest.z_ohm, 8.0).unwrap();
    near(eight.limit_ohm, 6.4, REL);
    assert!(!eight.passes);
    assert!(rating_verdict(lowest.z_ohm, 6.0).unwrap().passes);
    assert_eq!(highest_rating_ohm(lowest.z_ohm).unwrap(), Some(6.0));
}

#[test]
fn a_minimum_exactly_on_the_limit_passes() {
    for (z_min, rating) in [(3.2, Some(4.0)), (4.8, Some(6.0)), (6.4, Some(8.0)), (3.19, None)] {
        assert_eq!(highest_rating_ohm(z_min).unwrap(), rating, "{z_min} ohm");
    }
}

#[test]
fn chk_5_7_peak_dissipation() {
    let rows = [
        (0.0, 1.0),
        (15.0, 0.66242408),
        (30.0, 0.47066025),
        (45.0, 0.35355339),
        (60.0, 0.27806614),
    ];
    for (phase, want) in rows {
        near(peak_dissipation_ohm(1.0, phase).unwrap(), want, REL);
        near(peak_dissipation_ohm(8.0, -phase).unwrap(), 8.0 * want, REL);
    }
    let worst = worst_peak_dissipation(&two_way()).unwrap();
    near(worst.r_pd_ohm, 3.1498900, REL);
    near(worst.f_hz, 93.3182, REL);
    assert_eq!(worst.rows_not_passive, 0);
}

/// The closed form against its definition, by search over the angle.
#[test]
fn peak_dissipation_is_the_maximum_over_the_angle() {
    for step in 0..=36 {
        let phase = f64::from(step) * 5.0;
        let greatest = (0..72_000)
            .map(|k| {
                let t = (f64::from(k) * 0.005).to_radians();
                (1.0 - t.sin()) * (t - phase.to_radians()).sin()
            })
            .fold(f64::MIN, f64::max);
        near(peak_dissipation_ohm(1.0, phase).unwrap(), 0.25 / greatest, 1e-7);
    }
}

#[test]
fn a_phase_beyond_90_degrees_is_counted() {
    let mut rows = two_way();
    rows[4].phase_deg = Some(120.0);
    assert_eq!(worst_peak_dissipation(&rows).unwrap().rows_not_passive, 1);
}
