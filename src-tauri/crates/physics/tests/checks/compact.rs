//! The short results: added mass and known volume, skin effect and posts, Doppler, baffle step,
//! lobing, heat.

use physics::added_mass::{added_mass, known_volume_vas_m3};
use physics::air::AIR20;
use physics::baffle::{half_rise_hz, step_gain_db};
use physics::doppler::doppler;
use physics::lobe::{first_null_deg, spacing_wavelengths};
use physics::thermal::compression_db;
use physics::wire::{Conductor, Post, awg_area_m2, skin_depth_m, skin_effect_ratio};
use proptest::prelude::*;

use crate::drivers::W1;
use crate::edges::{NOT_POSITIVE, refused};
use crate::tolerance::{DB, REL, near, within};

#[test]
fn chk_2_5_added_mass() {
    let set = W1.derive(&AIR20).unwrap();
    let got =
        added_mass(set.fs_hz, 32.6813066, 0.010, W1.re_ohm, set.qes, W1.sd_m2, &AIR20).unwrap();
    near(got.mms_kg, 0.0142, REL);
    near(got.cms_m_n, W1.cms_m_n, REL);
    near(got.bl_tm, W1.bl_tm, REL);
    near(got.vas_m3, 24.5838786e-3, REL);
    within(got.sensitivity, -4.84, 0.005);
    // 0.2 % of the frequency is 1 % of the mass.
    let read_high = set.fs_hz * 1.002;
    let wrong = added_mass(read_high, 32.6813066, 0.010, W1.re_ohm, set.qes, W1.sd_m2, &AIR20);
    within(wrong.unwrap().mms_kg / 0.0142 - 1.0, -0.0097, 5e-4);
}

#[test]
fn chk_2_6_known_volume() {
    let set = W1.derive(&AIR20).unwrap();
    let plain = known_volume_vas_m3(set.fs_hz, set.qes, 79.3413838, 1.06535989, 0.010).unwrap();
    near(plain, 24.5838786e-3, REL);
    // Mounting raises the mass by 3 %: the product form does not care, (fc/fs)² − 1 does.
    let heavier = known_volume_vas_m3(set.fs_hz, set.qes, 78.1773884, 1.0812222, 0.010).unwrap();
    near(heavier, 24.5838786e-3, REL);
    let naive = 0.010 * ((78.1773884 / set.fs_hz).powi(2) - 1.0);
    near(naive, 23.5765812e-3, REL);
}

/// Ratio at 20 kHz by scipy's Bessel functions of a complex argument; the last row by mpmath.
#[test]
fn chk_6_skin_effect() {
    near(skin_depth_m(0.017241e-6, 1.0, 20e3).unwrap(), 0.46729e-3, 1e-5);
    near(skin_depth_m(0.017241e-6, 1.0, 20e3).unwrap(), 0.467289862823e-3, 1e-9);
    let rows = [
        (22, 1.0046739046443),
        (18, 1.0292881494291),
        (16, 1.0715109083984),
        (14, 1.1665554912405),
        (12, 1.3529954303575),
        (0, 4.675040604721),
    ];
    for (awg, want) in rows {
        let got = skin_effect_ratio(awg_area_m2(awg).unwrap(), Conductor::Copper, 20e3).unwrap();
        near(got, want, 1e-12);
    }
}

/// (z/2)·J₀(z)/J₁(z), z = (1 − j)·a/δ, by mpmath, over seven decades of a/δ. A rod of 2 m diameter
/// with the skin depth set through the resistivity.
#[test]
fn the_skin_series_against_bessel_functions() {
    let rows = [
        (1e-3, 1.000000000000021, 2.499999999999974e-7),
        (1.0, 1.020492388855623, 0.2474419982815028),
        (10.0, 5.259301857510798, 4.989627524893864),
        (100.0, 50.25093743741029, 49.99905306348847),
        (1000.0, 500.2500937499384, 499.9999061561885),
        (5000.0, 2500.25001875, 2499.99998124625),
    ];
    for (depths, re, im) in rows {
        let rho = std::f64::consts::PI.powi(2) * 4e-7 / (depths * depths);
        let rod = Post { diameter_m: 2.0, length_m: 1.0, resistivity_ohm_m: rho, mu_r: 1.0 };
        let ratio = rod.impedance(1.0).unwrap() / rod.resistance_ohm().unwrap();
        near(ratio.re, re, 1e-12);
        near(ratio.im, im, 1e-12);
    }
}

const STEEL: Post =
    Post { diameter_m: 4e-3, length_m: 25e-3, resistivity_ohm_m: 1.4e-7, mu_r: 200.0 };

#[test]
fn chk_6_ferromagnetic_posts() {
    near(STEEL.resistance_ohm().unwrap(), 0.278521150411e-3, 1e-11);
    let z = STEEL.impedance(20e3).unwrap();
    near(z.re, 3.02889752738e-3, 1e-11);
    near(z.im, 2.95675095087e-3, 1e-11);
    within(STEEL.loss_db(2, 8.0, 20e3).unwrap(), 0.0065770, 1e-7);
    near(STEEL.loss_db(2, 8.0, 20e3).unwrap(), 0.006577047861, 1e-9);
    // Brass of 28 % IACS.
    let brass = Post { resistivity_ohm_m: 0.017241e-6 / 0.28, mu_r: 1.0, ..STEEL };
    within(brass.resistance_ohm().unwrap(), 0.1225e-3, 5e-8);
    assert!(brass.loss_db(2, 8.0, 20e3).unwrap() < STEEL.loss_db(2, 8.0, 20e3).unwrap());
}

#[test]
fn chk_7_1_doppler() {
    let got = doppler(0.004, 1000.0, &AIR20).unwrap();
    near(got.index, 0.073230598, REL);
    near(got.distortion, 0.051781852, REL);
    near(got.distortion_exact.unwrap(), 0.051825283, REL);
    // Beers and Belar 1943 (from memory): percent = 0.033·(amplitude in inches)·f; their constant
    // has two digits.
    near(100.0 * got.distortion, 0.033 * 0.004 / 0.0254 * 1000.0, 5e-3);
}

/// √(1 − J₀²)/J₀ by mpmath at 40 digits.
#[test]
fn doppler_from_the_faintest_to_the_vanishing_carrier() {
    let rows = [
        (1e-9, 7.071067811865475e-10),
        (1e-3, 7.071068916720017e-4),
        (1.0, 0.8413451823452267),
        (2.0, 4.353078964972827),
        (2.4, 398.7731851372104),
    ];
    for (index, want) in rows {
        let x = index * AIR20.c_m_s() / (std::f64::consts::TAU * 1000.0);
        let got = doppler(x, 1000.0, &AIR20).unwrap();
        near(got.index, index, 1e-14);
        near(got.distortion_exact.unwrap(), want, 1e-11);
    }
    let x = 2.4048 * AIR20.c_m_s() / (std::f64::consts::TAU * 1000.0);
    assert!(doppler(x * 0.999_999, 1000.0, &AIR20).unwrap().distortion_exact.is_some());
    let beyond = doppler(x * 1.000_001, 1000.0, &AIR20).unwrap();
    assert_eq!(beyond.distortion_exact, None);
    assert!(beyond.distortion > 1.7);
}

fn at_ka(ka: f64) -> f64 {
    ka * AIR20.c_m_s() / (std::f64::consts::PI * 0.2)
}

/// Levels by the same series with mpmath's Bessel functions at 40 digits.
#[test]
fn chk_7_2_baffle_step() {
    let rows = [
        (1e-3, 6.03200245991845e-7),
        (0.01, 6.04533150413528e-5),
        (0.1, 0.00735947627863489),
        (0.5, 0.708355543366146),
        (1.0, 3.03594773826225),
        (2.0, 4.40719995661093),
        (5.0, 5.45574641997357),
        (10.0, 5.83205632111969),
        (50.0, 6.01225392704935),
        (200.0, 6.02005771472943),
    ];
    for (ka, want) in rows {
        within(step_gain_db(0.2, at_ka(ka), &AIR20).unwrap(), want, 1e-11);
    }
    let half = half_rise_hz(0.2, &AIR20).unwrap();
    near(half, 541.879, REL);
    near(half, at_ka(0.99205387064723), 1e-12);
    within(step_gain_db(0.2, half, &AIR20).unwrap(), 10.0 * 2f64.log10(), 1e-12);
    // Common practice, no source: 115/W.
    within(half / (115.0 / 0.2), 0.942, 1e-3);
}

#[test]
fn chk_7_4_lobing() {
    near(first_null_deg(0.160, 3000.0, &AIR20).unwrap().unwrap(), 20.94674, REL);
    within(spacing_wavelengths(0.160, 3000.0, &AIR20).unwrap(), 1.3986, 5e-5);
    // Half a wavelength apart they cancel along their own line; closer, nowhere.
    let half = AIR20.c_m_s() / 2.0;
    within(first_null_deg(half, 1.0, &AIR20).unwrap().unwrap(), 90.0, 1e-6);
    assert_eq!(first_null_deg(half * 0.999, 1.0, &AIR20).unwrap(), None);
}

#[test]
fn chk_7_5_thermal_compression() {
    within(compression_db(100.0).unwrap(), -2.879022, DB);
    within(compression_db(0.0).unwrap(), 0.0, 0.0);
    assert!(compression_db(-20.0).unwrap() > 0.0);
}

#[test]
fn compact_results_refuse_what_is_not_positive() {
    for bad in NOT_POSITIVE {
        refused(added_mass(bad, 32.0, 0.01, 5.6, 0.5, 0.01, &AIR20), "fs_hz");
        refused(added_mass(42.0, bad, 0.01, 5.6, 0.5, 0.01, &AIR20), "fs_loaded_hz");
        refused(added_mass(42.0, 32.0, bad, 5.6, 0.5, 0.01, &AIR20), "added_kg");
        refused(added_mass(42.0, 32.0, 0.01, bad, 0.5, 0.01, &AIR20), "re_ohm");
        refused(added_mass(42.0, 32.0, 0.01, 5.6, bad, 0.01, &AIR20), "qes");
        refused(added_mass(42.0, 32.0, 0.01, 5.6, 0.5, bad, &AIR20), "sd_m2");
        refused(known_volume_vas_m3(bad, 0.5, 80.0, 1.0, 0.01), "fs_hz");
        refused(known_volume_vas_m3(42.0, bad, 80.0, 1.0, 0.01), "qes");
        refused(known_volume_vas_m3(42.0, 0.5, bad, 1.0, 0.01), "fc_hz");
        refused(known_volume_vas_m3(42.0, 0.5, 80.0, bad, 0.01), "qec");
        refused(known_volume_vas_m3(42.0, 0.5, 80.0, 1.0, bad), "vb_m3");
        refused(doppler(bad, 1000.0, &AIR20), "x_peak_m");
        refused(doppler(0.004, bad, &AIR20), "f_high_hz");
        refused(step_gain_db(bad, 1000.0, &AIR20), "diameter_m");
        refused(step_gain_db(0.2, bad, &AIR20), "f_hz");
        refused(half_rise_hz(bad, &AIR20), "diameter_m");
        refused(first_null_deg(bad, 1000.0, &AIR20), "spacing_m");
        refused(first_null_deg(0.16, bad, &AIR20), "f_hz");
        refused(skin_depth_m(bad, 1.0, 1e3), "resistivity_ohm_m");
        refused(skin_depth_m(1e-8, bad, 1e3), "mu_r");
        refused(skin_depth_m(1e-8, 1.0, bad), "f_hz");
        refused(skin_effect_ratio(bad, Conductor::Copper, 1e3), "area_m2");
        refused(Post { diameter_m: bad, ..STEEL }.impedance(1e3), "diameter_m");
        refused(Post { length_m: bad, ..STEEL }.impedance(1e3), "length_m");
        refused(Post { resistivity_ohm_m: bad, ..STEEL }.impedance(1e3), "resistivity_ohm_m");
        refused(Post { mu_r: bad, ..STEEL }.impedance(1e3), "mu_r");
        refused(STEEL.loss_db(2, bad, 1e3), "load_ohm");
    }
}

#[test]
fn compact_results_refuse_what_cannot_be() {
    refused(added_mass(42.0, 42.0, 0.01, 5.6, 0.5, 0.01, &AIR20), "fs_loaded_hz");
    refused(added_mass(42.0, 43.0, 0.01, 5.6, 0.5, 0.01, &AIR20), "fs_loaded_hz");
    refused(known_volume_vas_m3(42.0, 0.5, 42.0, 1.0, 0.01), "fc_hz");
    refused(known_volume_vas_m3(42.0, 0.5, 80.0, 0.2, 0.01), "qec");
    refused(doppler(1e300, 1e300, &AIR20), "index");
    refused(step_gain_db(0.2, at_ka(1.001e4), &AIR20), "f_hz");
    refused(STEEL.loss_db(0, 8.0, 1e3), "count");
    refused(Post { mu_r: 1e9, ..STEEL }.impedance(1e6), "f_hz");
    for bad in [-255.0, f64::NAN, f64::INFINITY] {
        refused(compression_db(bad), "rise_k");
    }
}

proptest! {
    #[test]
    fn the_step_rises_from_nothing_to_six_decibels(low in -9.0..3.89f64, more in 0.0..0.1) {
        let gain = |decade: f64| step_gain_db(0.2, at_ka(10f64.powf(decade)), &AIR20).unwrap();
        let top = 20.0 * 2f64.log10();
        // The lowest gains are below the rounding of a level.
        prop_assert!(gain(low) >= -1e-14 && gain(low) <= top + 1e-9);
        // From ka = 2.3 up the rise is wavy; mpmath finds no fall of more than 0.048 dB.
        let fall = if low + more < 2.3f64.log10() { 1e-14 } else { 0.05 };
        prop_assert!(gain(low + more) >= gain(low) - fall);
    }

    /// A driver weighed by the added mass that its own resonance predicts.
    #[test]
    fn added_mass_inverts_the_resonance(
        mms in 1e-4..0.2, cms in 1e-5..1e-2, share in 0.05..2.0, qes in 0.1..2.0,
    ) {
        let fs = physics::driver::resonance_hz(mms, cms).unwrap();
        let loaded = physics::driver::resonance_hz(mms * (1.0 + share), cms).unwrap();
        let got = added_mass(fs, loaded, mms * share, 6.0, qes, 0.0133, &AIR20).unwrap();
        near(got.mms_kg, mms, 1e-12);
        near(got.cms_m_n, cms, 1e-12);
        near(physics::driver::q_electrical(fs, got.mms_kg, 6.0, got.bl_tm).unwrap(), qes, 1e-12);
        // The sensitivity is the slope.
        let step = 1e-7;
        let nudged =
            added_mass(fs * (1.0 + step), loaded, mms * share, 6.0, qes, 0.0133, &AIR20).unwrap();
        near((nudged.mms_kg / got.mms_kg).ln() / step, got.sensitivity, 1e-4);
    }

    #[test]
    fn skin_effect_only_adds(area in 1e-9..1e-3, f in 1.0..1e6, more in 1.01..3.0) {
        let ratio = |f| skin_effect_ratio(area, Conductor::Copper, f).unwrap();
        prop_assert!(ratio(f) >= 1.0 && ratio(f * more) >= ratio(f));
    }

    #[test]
    fn the_sidebands_are_at_least_the_first_order(index in 1e-9..2.4) {
        let x = index * AIR20.c_m_s() / (std::f64::consts::TAU * 500.0);
        let got = doppler(x, 500.0, &AIR20).unwrap();
        prop_assert!(got.distortion_exact.unwrap() >= got.distortion * (1.0 - 1e-12));
    }
}
