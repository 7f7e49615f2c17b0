//! Bad input: a clear error that names the field, never NaN, never a panic.

use physics::PhysicsError;
use physics::air::{AIR20, Air};
use physics::box_closed::ClosedBox;
use physics::box_vented::{Leak, VentedBox};
use physics::cavity;
use physics::driver::{DriverParams, other_q};
use physics::driver_group::{Wiring, group};
use physics::half_power::HalfPower;
use physics::lining::{Lining, axial_mode_q, mean_absorption};
use physics::load::{minimum_impedance, peak_dissipation_ohm, worst_peak_dissipation};
use physics::panel::Panel;
use physics::piston::directivity;
use physics::port::Port;
use physics::sweep::SweepRow;
use physics::volume::net_m3;
use physics::wire::{Conductor, awg_diameter_m, insertion_loss_db, resistance_per_m};

use crate::drivers::W1;

pub(crate) const NOT_POSITIVE: [f64; 5] = [0.0, -1.0, f64::NAN, f64::INFINITY, f64::NEG_INFINITY];

#[track_caller]
pub(crate) fn refused<T: std::fmt::Debug>(result: Result<T, PhysicsError>, name: &str) {
    match result {
        Err(PhysicsError::OutOfDomain { field, .. }) => assert_eq!(field, name),
        other => panic!("{name} was not refused as out of domain: {other:?}"),
    }
}

#[test]
fn every_driver_parameter_must_be_positive() {
    type Set = fn(&mut DriverParams, f64);
    let fields: [(&str, Set); 7] = [
        ("re_ohm", |d, v| d.re_ohm = v),
        ("mms_kg", |d, v| d.mms_kg = v),
        ("cms_m_n", |d, v| d.cms_m_n = v),
        ("rms_kg_s", |d, v| d.rms_kg_s = v),
        ("bl_tm", |d, v| d.bl_tm = v),
        ("sd_m2", |d, v| d.sd_m2 = v),
        ("le_h", |d, v| d.le_h = Some(v)),
    ];
    for (name, set) in fields {
        for bad in NOT_POSITIVE {
            let mut driver = W1;
            set(&mut driver, bad);
            refused(driver.derive(&AIR20), name);
            refused(group(&driver, 2, Wiring::Series), name);
        }
    }
    refused(group(&W1, 0, Wiring::Series), "count");
}

#[test]
fn a_result_beyond_numbers_is_refused_not_returned() {
    let driver = DriverParams { mms_kg: 1e-200, cms_m_n: 1e-200, ..W1 };
    refused(driver.derive(&AIR20), "fs_hz");
    refused(Air::new(1e200, 1e200), "bulk_modulus_pa");
    refused(Air::at(-300.0, 101_325.0), "temperature_c above absolute zero");
    refused(ClosedBox::new(40.0, 0.4, 1e300, 1e-300), "alpha");
}

#[test]
fn total_q_above_its_parts_is_a_contradiction() {
    let error = other_q(0.6, 0.5).unwrap_err();
    assert!(matches!(error, PhysicsError::Inconsistent { z: None, .. }));
    assert!(error.to_string().contains("Qts (0.6) must be smaller"), "{error}");
}

#[test]
fn boxes_refuse_what_is_not_positive() {
    for bad in NOT_POSITIVE {
        refused(ClosedBox::new(40.0, 0.4, 0.02, bad), "vb_m3");
        refused(ClosedBox::new(bad, 0.4, 0.02, 0.01), "fs_hz");
        refused(VentedBox::new(40.0, bad, 0.02, 0.01, 40.0, Leak::Lossless), "qts");
        refused(VentedBox::new(40.0, 0.4, 0.02, 0.01, bad, Leak::Lossless), "fb_hz");
        refused(VentedBox::new(40.0, 0.4, 0.02, 0.01, 40.0, Leak::Ql(bad)), "ql");
        let boxed = VentedBox::new(40.0, 0.4, 0.02, 0.01, 40.0, Leak::Ql(7.0)).unwrap();
        refused(boxed.gain_db(bad), "f_hz");
    }
}

#[test]
fn ports_refuse_what_cannot_be_a_port() {
    let port = Port::plain(0.025);
    refused(port.tuning(0.024, -0.1, &AIR20), "length_m");
    refused(port.tuning(f64::NAN, 0.1, &AIR20), "vb_m3");
    refused(Port { count: 0, ..port }.tuning(0.024, 0.1, &AIR20), "count");
    refused(Port { flares_m: [0.0, -0.01], ..port }.tuning(0.024, 0.1, &AIR20), "flares_m");
    refused(port.length_for_m(0.5, 60.0, &AIR20), "length_m");
}

#[test]
fn panels_refuse_bad_braces_and_poisson_ratios() {
    let panel = Panel { a_m: 0.9, b_m: 0.25, h_m: 0.015, e_pa: 3e9, rho_kg_m3: 740.0, nu: 0.25 };
    for nu in [0.5, -0.1, f64::NAN] {
        refused(Panel { nu, ..panel }.modes(&AIR20), "nu");
    }
    for braces in [&[0.0][..], &[0.9], &[1.0], &[-0.1], &[f64::NAN], &[f64::INFINITY]] {
        refused(panel.braced(braces, &AIR20), "braces_m[0]");
    }
    refused(panel.braced(&[0.4, 0.4], &AIR20), "braces_m[1]");
    refused(panel.hinged_mode_hz(0, 1), "m");
    refused(panel.clamped_mode_hz(1, 0), "n");
}

#[test]
fn rooms_linings_and_volumes_refuse_the_impossible() {
    refused(cavity::modes(0.3, 0.3, 0.3, 0, &AIR20), "count");
    refused(cavity::modes(0.3, 0.3, 0.3, 10_001, &AIR20), "count");
    refused(cavity::modes(0.3, f64::NAN, 0.3, 1, &AIR20), "ly_m");
    refused(axial_mode_q(0, 0.1, 0.1), "order");
    refused(axial_mode_q(1, 1.0, 0.1), "alpha_1");
    refused(axial_mode_q(1, 0.1, f64::NAN), "alpha_2");
    refused(axial_mode_q(1, 0.0, 0.0), "alpha_1");
    refused(mean_absorption(1.1, 0.5), "coverage");
    refused(mean_absorption(0.5, f64::NAN), "alpha");
    refused(
        Lining { sigma_pa_s_m2: 0.0, thickness_m: 0.02 }.absorption(500.0, &AIR20),
        "sigma_pa_s_m2",
    );
    refused(net_m3(0.01, &[0.006, 0.004]), "parts_m3");
    refused(net_m3(0.01, &[-0.001]), "parts_m3");
}

#[test]
fn wires_and_pistons_refuse_what_is_off_the_scale() {
    refused(awg_diameter_m(-4), "awg");
    refused(awg_diameter_m(57), "awg");
    refused(resistance_per_m(1e-6, Conductor::Copper, -240.0), "temperature_c");
    refused(resistance_per_m(1e-6, Conductor::Copper, f64::NAN), "temperature_c");
    refused(insertion_loss_db(-0.1, 8.0), "r_loop_ohm");
    refused(insertion_loss_db(0.1, 0.0), "load_ohm");
    refused(directivity(0.0133, 3000.0, 91.0, &AIR20), "angle_deg");
    refused(directivity(0.0133, 3000.0, f64::NAN, &AIR20), "angle_deg");
}

fn rows(values: &[(f64, f64)]) -> Vec<SweepRow> {
    values.iter().map(|&(f_hz, z_ohm)| SweepRow { f_hz, z_ohm, phase_deg: None }).collect()
}

#[test]
fn sweeps_are_checked_row_by_row() {
    refused(minimum_impedance(&[], 20.0, 20e3), "sweep");
    refused(minimum_impedance(&rows(&[(20.0, 5.0), (20.0, 6.0)]), 20.0, 20e3), "sweep[1]");
    refused(minimum_impedance(&rows(&[(20.0, 5.0), (30.0, 0.0)]), 20.0, 20e3), "sweep[1]");
    refused(minimum_impedance(&rows(&[(0.0, 5.0)]), 20.0, 20e3), "sweep[0]");
    refused(minimum_impedance(&rows(&[(10.0, 5.0)]), 20.0, 20e3), "sweep");
    let wild = [SweepRow { f_hz: 20.0, z_ohm: 5.0, phase_deg: Some(f64::NAN) }];
    refused(worst_peak_dissipation(&wild), "sweep[0]");
    refused(peak_dissipation_ohm(8.0, 181.0), "phase_deg");
    let named = minimum_impedance(&rows(&[(20.0, 5.0), (30.0, 0.0)]), 20.0, 20e3).unwrap_err();
    assert!(named.to_string().contains("point 2: the magnitude"), "{named}");
    let error = worst_peak_dissipation(&rows(&[(20.0, 5.0)])).unwrap_err();
    assert!(matches!(error, PhysicsError::Missing { .. }), "{error}");
}

#[test]
fn the_half_power_method_says_why_it_cannot_read() {
    let two_peaks = rows(&[(20.0, 6.0), (26.0, 30.0), (42.0, 7.0), (70.0, 32.0), (200.0, 6.0)]);
    let error = HalfPower::from_sweep(&two_peaks, 5.6).unwrap_err();
    assert!(matches!(error, PhysicsError::NotApplicable { .. }), "{error}");
    let no_peak = rows(&[(20.0, 6.0), (100.0, 7.0), (1000.0, 9.0)]);
    let error = HalfPower::from_sweep(&no_peak, 5.6).unwrap_err();
    assert!(matches!(error, PhysicsError::NotConverged { .. }), "{error}");
    let cut_short = rows(&[(40.0, 40.0), (42.0, 45.0), (44.0, 40.0), (100.0, 7.0)]);
    let error = HalfPower::from_sweep(&cut_short, 5.6).unwrap_err();
    assert!(error.to_string().contains("below resonance is outside"), "{error}");
    refused(HalfPower::from_readings(42.5, 5.0, 5.6, 30.0, 60.0), "r_max_ohm");
    refused(HalfPower::from_readings(70.0, 45.0, 5.6, 30.0, 60.0), "fs_hz");
}
