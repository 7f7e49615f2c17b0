//! Drivers: derived sets, the way back, groups, air and the half-power method.

use num_complex::Complex64;
use physics::air::{AIR20, Air};
use physics::driver::{
    DriverEntry, DriverParams, efficiency_from_set, other_q, q_electrical_with_series,
};
use physics::driver_group::{Wiring, group};
use physics::half_power::HalfPower;
use physics::sweep::SweepRow;

use crate::tolerance::{OPTIMISED, REL, near};

/// A synthetic woofer of the 6.5-inch class; not a product.
pub(crate) const W1: DriverParams = DriverParams {
    re_ohm: 5.6,
    mms_kg: 0.0142,
    cms_m_n: 0.00098,
    rms_kg_s: 0.85,
    bl_tm: 6.1,
    sd_m2: 0.0133,
    le_h: Some(0.55e-3),
    xmax_m: Some(0.004),
};

/// A synthetic dome tweeter of the 1-inch class; not a product.
pub(crate) const T1: DriverParams = DriverParams {
    re_ohm: 5.4,
    mms_kg: 0.00030,
    cms_m_n: 0.000104,
    rms_kg_s: 0.45,
    bl_tm: 2.6,
    sd_m2: 0.00075,
    le_h: Some(0.05e-3),
    xmax_m: None,
};

#[test]
fn chk_0_1_air_at_25_degrees() {
    let air = Air::at(25.0, 101_325.0).unwrap();
    near(air.c_m_s(), 346.11445, REL);
    near(air.rho_kg_m3(), 1.1838922, REL);
}

#[test]
fn air_at_20_degrees_is_the_default() {
    near(AIR20.bulk_modulus_pa(), 141_814.633, REL);
    near(AIR20.impedance_pa_s_m(), 413.2128, REL);
    near(Air::at(20.0, 101_325.0).unwrap().rho_kg_m3(), AIR20.rho_kg_m3(), 1e-3);
}

#[test]
fn chk_1_1_woofer_set() {
    let set = W1.derive(&AIR20).unwrap();
    near(set.fs_hz, 42.6641327, REL);
    near(set.qms, 4.47828995, REL);
    near(set.qes, 0.5728745, REL);
    near(set.qts, 0.507902315, REL);
    near(set.vas_m3, 24.5838786e-3, REL);
    near(set.eta0, 0.00325459967, REL);
    near(set.spl_1w_db, 87.2843148, REL);
    near(set.spl_2v83_db, 88.8381633, REL);
    near(set.ebp_hz, 74.4737856, REL);
    near(set.motor_strength_kg_s, 6.64464286, REL);
    near(set.f_le_hz.unwrap(), 1620.48669, REL);
    near(set.res_ohm, 43.7764706, REL);
    near(set.cmes_f, 381.617845e-6, REL);
    near(set.lces_h, 36.4658e-3, REL);
}

#[test]
fn chk_1_2_tweeter_set() {
    let set = T1.derive(&AIR20).unwrap();
    near(set.fs_hz, 901.037435, REL);
    near(set.qms, 3.77425678, REL);
    near(set.qes, 1.35672248, REL);
    near(set.qts, 0.997980846, REL);
    near(set.vas_m3, 0.00829615603e-3, REL);
    near(set.eta0, 0.00436849953, REL);
    near(set.spl_1w_db, 88.562662, REL);
    near(set.spl_2v83_db, 90.2744531, REL);
    near(set.res_ohm, 15.0222222, REL);
}

#[test]
fn both_forms_of_the_efficiency_agree() {
    for params in [W1, T1] {
        let set = params.derive(&AIR20).unwrap();
        let other = efficiency_from_set(set.fs_hz, set.vas_m3, set.qes, &AIR20).unwrap();
        near(other, set.eta0, 1e-12);
    }
}

#[test]
fn a_data_sheet_set_gives_the_mechanics_back() {
    let set = W1.derive(&AIR20).unwrap();
    let entry = DriverEntry {
        re_ohm: W1.re_ohm,
        fs_hz: set.fs_hz,
        qms: set.qms,
        qes: set.qes,
        vas_m3: set.vas_m3,
        sd_m2: W1.sd_m2,
        le_h: W1.le_h,
        xmax_m: W1.xmax_m,
    };
    let back = entry.params(&AIR20).unwrap();
    near(back.mms_kg, W1.mms_kg, 1e-12);
    near(back.cms_m_n, W1.cms_m_n, 1e-12);
    near(back.rms_kg_s, W1.rms_kg_s, 1e-12);
    near(back.bl_tm, W1.bl_tm, 1e-12);
    assert_eq!(back.le_h, W1.le_h);
    assert_eq!(back.xmax_m, W1.xmax_m);
    near(other_q(set.qts, set.qes).unwrap(), set.qms, 1e-9);
    near(other_q(set.qts, set.qms).unwrap(), set.qes, 1e-9);
}

#[test]
fn chk_1_3_two_in_parallel_and_in_series() {
    let parallel = group(&W1, 2, Wiring::Parallel).unwrap();
    near(parallel.re_ohm, 2.8, REL);
    let set = parallel.derive(&AIR20).unwrap();
    near(set.vas_m3, 49.1677572e-3, REL);
    near(set.eta0, 0.00650919933, REL);
    near(set.spl_2v83_db, 94.8587632, REL);
    let series = group(&W1, 2, Wiring::Series).unwrap();
    near(series.re_ohm, 11.2, REL);
    near(series.bl_tm, 12.2, REL);
    let set = series.derive(&AIR20).unwrap();
    near(set.vas_m3, 49.1677572e-3, REL);
    near(set.spl_2v83_db, 88.8381633, REL);
    near(series.le_h.unwrap(), 1.1e-3, REL);
}

#[test]
fn chk_3_1_series_resistance_raises_qts() {
    let set = W1.derive(&AIR20).unwrap();
    let qes = q_electrical_with_series(set.qes, W1.re_ohm, 0.4).unwrap();
    near(physics::driver::q_total(set.qms, qes).unwrap(), 0.53980805, REL);
}

#[test]
fn chk_2_2_half_power_readings() {
    let plain = HalfPower::from_readings(42.5, 45.6, 5.6, 30.4476774, 59.3230799).unwrap();
    near(plain.qms, 4.2, REL);
    near(plain.qes, 0.588, REL);
    near(plain.qts, 0.515789473, REL);
    near(plain.asymmetry + 1.0, 1.0, REL);
    // The coil moves the peak of |Z| a little: 45.600421 ohm at 42.4855054 Hz.
    let coil =
        HalfPower::from_readings(42.4855054, 45.600421, 5.6, 30.3829924, 59.0830004).unwrap();
    near(coil.qms, 4.22424582, REL);
    near(coil.qes, 0.591388191, REL);
    near(coil.qts, 0.518762241, REL);
}

/// Re + Res/(1 + jQms(f/fs − fs/f)) + jωLe, sampled evenly in log f.
fn sweep(le_h: f64, from_hz: f64, to_hz: f64, count: u32) -> Vec<SweepRow> {
    (0..count)
        .map(|k| {
            let f = from_hz * (to_hz / from_hz).powf(f64::from(k) / f64::from(count - 1));
            let motion = Complex64::new(1.0, 4.2 * (f / 42.5 - 42.5 / f));
            let z = 5.6 + 40.0 / motion + Complex64::new(0.0, std::f64::consts::TAU * f * le_h);
            SweepRow { f_hz: f, z_ohm: z.norm(), phase_deg: Some(z.arg().to_degrees()) }
        })
        .collect()
}

#[test]
fn chk_2_2_half_power_from_a_dense_sweep() {
    // 4001 rows over three decades: the straight line between rows is then good to 1e-4.
    let plain = HalfPower::from_sweep(&sweep(0.0, 10.0, 10_000.0, 4001), 5.6).unwrap();
    near(plain.fs_hz, 42.5, OPTIMISED);
    near(plain.f1_hz, 30.4476774, OPTIMISED);
    near(plain.f2_hz, 59.3230799, OPTIMISED);
    near(plain.qts, 0.515789473, OPTIMISED);
    let coil = HalfPower::from_sweep(&sweep(0.55e-3, 10.0, 10_000.0, 4001), 5.6).unwrap();
    near(coil.fs_hz, 42.4855054, OPTIMISED);
    near(coil.f1_hz, 30.3829924, OPTIMISED);
    near(coil.f2_hz, 59.0830004, OPTIMISED);
    near(coil.qts, 0.518762241, OPTIMISED);
}

#[test]
fn a_coarse_sweep_still_reads_q_within_one_per_cent() {
    // 24 rows an octave.
    let read = HalfPower::from_sweep(&sweep(0.55e-3, 10.0, 10_240.0, 241), 5.6).unwrap();
    near(read.fs_hz, 42.5, 1e-3);
    near(read.qts, 0.518762241, 1e-2);
}
