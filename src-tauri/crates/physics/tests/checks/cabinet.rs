//! Cabinet: panels, braces, cavity, lining, volume and a shared chamber.

use std::f64::consts::{PI, TAU};

use physics::air::AIR20;
use physics::cavity;
use physics::chamber::shared_chamber;
use physics::lining::{Lining, axial_mode_q, mean_absorption};
use physics::material::PanelMaterial;
use physics::panel::Panel;
use physics::volume::{cylinder_m3, frustum_m3, net_m3, rectangular_m3};

use crate::table::{number, table};
use crate::tolerance::{REL, WARBURTON, near, within};

pub(crate) const MDF: Panel =
    Panel { a_m: 0.3, b_m: 0.2, h_m: 0.012, e_pa: 3.0e9, rho_kg_m3: 740.0, nu: 0.25 };
pub(crate) const SIDE: Panel = Panel { a_m: 0.9, b_m: 0.25, h_m: 0.015, ..MDF };

/// The frequency parameter λ = 2πa²f·√(ρh/D) of a unit-side plate with a/b = `ratio`.
fn lambda(ratio: f64, frequency: impl Fn(&Panel) -> f64, nu: f64) -> f64 {
    let panel = Panel { a_m: 1.0, b_m: 1.0 / ratio, h_m: 0.01, e_pa: 1.0e9, rho_kg_m3: 1000.0, nu };
    let speed = (panel.stiffness_nm().expect("a sound panel") / 10.0).sqrt();
    TAU * frequency(&panel) / speed
}

/// A. W. Leissa, "The Free Vibration of Rectangular Plates", JSV 31(3) 257-293, 1973: the file
/// states what is from memory and what was computed apart.
#[test]
fn chk_4_1_clamped_plates() {
    let rows = table(include_str!("../data/leissa_1973.csv"));
    let clamped: Vec<_> = rows.iter().filter(|row| row[0] == "clamped").collect();
    assert_eq!(clamped.len(), 5);
    for row in clamped {
        let ratio = number(row[1]);
        let first = lambda(ratio, |p| p.clamped_mode_hz(1, 1).unwrap(), 0.3);
        near(first, number(row[3]), REL);
        near(first, number(row[2]), WARBURTON);
        for (want, modes) in [(row[4], "1 1"), (row[5], row[7]), (row[6], row[8])] {
            let (m, n) = modes.split_once(' ').expect("two half-wave counts");
            let (m, n) = (m.parse().expect("a count"), n.parse().expect("a count"));
            let got = lambda(ratio, |p| p.clamped_mode_hz(m, n).unwrap(), 0.3);
            near(got, number(want), WARBURTON);
        }
    }
}

/// Leissa 1973, hinged edges: exact.
#[test]
fn chk_4_1_hinged_plates() {
    let rows = table(include_str!("../data/leissa_1973.csv"));
    let hinged: Vec<_> = rows.iter().filter(|row| row[0] == "hinged").collect();
    assert_eq!(hinged.len(), 2);
    for row in hinged {
        near(lambda(number(row[1]), |p| p.hinged_mode_hz(1, 1).unwrap(), 0.3), number(row[2]), REL);
    }
    // Modes of a square: π²(m² + n²).
    near(lambda(1.0, |p| p.hinged_mode_hz(2, 1).unwrap(), 0.3), 5.0 * PI * PI, 1e-12);
}

#[test]
fn chk_4_2_mdf_panels() {
    let rows = [
        (0.012, 460.8, 408.6114, 777.00851, 774.0214),
        (0.015, 900.0, 510.76425, 971.26064, 967.52681),
        (0.018, 1555.2, 612.9171, 1165.5128, 1161.0322),
    ];
    for (h_m, stiffness, hinged, clamped, ritz) in rows {
        let modes = Panel { h_m, ..MDF }.modes(&AIR20).unwrap();
        near(modes.d_nm, stiffness, REL);
        near(modes.f_hinged_hz, hinged, REL);
        near(modes.f_clamped_hz, clamped, REL);
        near(modes.f_clamped_hz, ritz, WARBURTON);
        near(modes.f_est_hz, (hinged * clamped).sqrt(), REL);
        assert!(!modes.thick);
    }
    let tall = SIDE.modes(&AIR20).unwrap();
    near(tall.f_hinged_hz, 243.76988, REL);
    near(tall.f_clamped_hz, 526.62031, REL);
    near(tall.f_clamped_hz, 525.39561, WARBURTON);
    assert!(Panel { h_m: 0.02, ..MDF }.modes(&AIR20).unwrap().thick);
}

#[test]
fn chk_4_3_braces() {
    let unbraced = SIDE.braced(&[], &AIR20).unwrap();
    near(unbraced.modes.f_hinged_hz, 243.76988, REL);
    near(SIDE.braced(&[0.45], &AIR20).unwrap().modes.f_hinged_hz, 296.15596, REL);
    let uneven = SIDE.braced(&[0.35], &AIR20).unwrap();
    near(uneven.modes.f_hinged_hz, 273.06567, REL);
    near(uneven.span_m, 0.55, REL);
    near(uneven.b_m, 0.25, REL);
    let short = Panel { a_m: 0.35, ..SIDE }.modes(&AIR20).unwrap();
    near(short.f_hinged_hz, 341.77104, REL);
    // The order of the places does not matter.
    near(SIDE.braced(&[0.6, 0.3], &AIR20).unwrap().modes.f_hinged_hz, 383.46608, REL);
}

#[test]
fn a_brace_along_the_long_side_does_more() {
    let along = Panel { a_m: SIDE.b_m, b_m: SIDE.a_m, ..SIDE }.braced(&[0.125], &AIR20).unwrap();
    let across = SIDE.braced(&[0.45], &AIR20).unwrap();
    assert!(along.modes.f_est_hz > 2.0 * across.modes.f_est_hz);
}

#[test]
fn chk_4_4_coincidence() {
    // Printed to 0.01 Hz and 0.1 Hz: half of the last digit.
    within(MDF.modes(&AIR20).unwrap().f_coincidence_hz, 2602.35, 0.005);
    within(Panel { h_m: 0.018, ..MDF }.modes(&AIR20).unwrap().f_coincidence_hz, 1734.9, 0.05);
}

#[test]
fn material_defaults_lie_in_their_ranges_and_make_panels() {
    for material in PanelMaterial::ALL {
        let p = material.properties();
        for assumed in [p.e_pa, p.rho_kg_m3, p.nu, p.loss_factor] {
            assert!(assumed.low <= assumed.value && assumed.value <= assumed.high, "{material:?}");
        }
        let panel =
            Panel { e_pa: p.e_pa.value, rho_kg_m3: p.rho_kg_m3.value, nu: p.nu.value, ..MDF };
        let f = panel.modes(&AIR20).unwrap().f_est_hz;
        assert!((300.0..1200.0).contains(&f), "{material:?}: {f} Hz");
    }
}

#[test]
fn chk_4_5_volumes() {
    near(frustum_m3(0.066, 0.020, 0.045).unwrap(), 0.286324754e-3, REL);
    near(frustum_m3(0.03, 0.03, 0.1).unwrap(), cylinder_m3(0.03, 0.1).unwrap(), 1e-12);
    near(cylinder_m3(0.03, 0.1).unwrap(), 0.282743339e-3, REL);
    let gross = rectangular_m3(0.32, 0.19, 0.24).unwrap();
    near(gross, 14.592e-3, REL);
    near(net_m3(gross, &[0.5e-3, 0.092e-3]).unwrap(), 14e-3, 1e-12);
}

#[test]
fn chk_4_6_cavity_modes() {
    let got = cavity::modes(0.32, 0.19, 0.24, 6, &AIR20).unwrap();
    let want = [
        ((1, 0, 0), 536.25),
        ((0, 0, 1), 715.0),
        ((1, 0, 1), 893.75),
        ((0, 1, 0), 903.157895),
        ((1, 1, 0), 1050.361),
        ((2, 0, 0), 1072.5),
    ];
    assert_eq!(got.len(), want.len());
    for (mode, (indices, f)) in got.iter().zip(want) {
        assert_eq!((mode.i, mode.j, mode.k), indices);
        near(mode.f_hz, f, REL);
    }
}

#[test]
fn cavity_modes_of_a_cube_are_all_there_and_ties_follow_the_indices() {
    let got = cavity::modes(0.3, 0.3, 0.3, 200, &AIR20).unwrap();
    // All indices to 12 by brute force; the 200 lowest of a cube stay well below 12 half waves.
    let mut all: Vec<(u32, u32, u32, u32)> = Vec::new();
    for i in 0..=12_u32 {
        for j in 0..=12 {
            for k in 0..=12 {
                all.push((i * i + j * j + k * k, i, j, k));
            }
        }
    }
    all.sort_unstable();
    let want: Vec<_> = all[1..=200].iter().map(|&(_, i, j, k)| (i, j, k)).collect();
    let got: Vec<_> = got.iter().map(|mode| (mode.i, mode.j, mode.k)).collect();
    assert_eq!(got, want);
}

#[test]
fn chk_4_7_lining() {
    let rows = [
        (5000.0, 0.025, [0.055928727, 0.11881506, 0.25361602, 0.53880171]),
        (5000.0, 0.050, [0.14895804, 0.35388345, 0.72230716, 0.93657604]),
        (10_000.0, 0.025, [0.059311077, 0.14895804, 0.35388345, 0.72230716]),
    ];
    for (sigma_pa_s_m2, thickness_m, want) in rows {
        let lining = Lining { sigma_pa_s_m2, thickness_m };
        for (f, want) in [250.0, 500.0, 1000.0, 2000.0].into_iter().zip(want) {
            let got = lining.absorption(f, &AIR20).unwrap();
            near(got.alpha, want, REL);
            assert!(got.in_range);
        }
    }
}

#[test]
fn lining_outside_the_fitted_range_is_flagged() {
    let lining = Lining { sigma_pa_s_m2: 5000.0, thickness_m: 0.025 };
    for (f, in_range) in [(50.0, false), (51.0, true), (4999.0, true), (5000.0, false)] {
        assert_eq!(lining.absorption(f, &AIR20).unwrap().in_range, in_range, "{f} Hz");
    }
}

#[test]
fn chk_4_8_axial_mode_q() {
    for (a1, a2, want) in [
        (0.02, 0.02, 155.50355),
        (0.5, 0.02, 8.8079993),
        (0.8, 0.02, 3.855565),
        (0.8, 0.8, 1.9519813),
    ] {
        near(axial_mode_q(1, a1, a2).unwrap(), want, REL);
    }
    near(axial_mode_q(3, 0.5, 0.02).unwrap(), 3.0 * 8.8079993, REL);
    near(mean_absorption(0.6, 0.35388345).unwrap(), 0.22033007, REL);
    within(mean_absorption(0.0, 0.9).unwrap(), 0.02, 1e-15);
}

#[test]
fn chk_4_9_shared_chamber() {
    let got = shared_chamber(0.0133, 0.004, 0.024, 0.0055, 0.0007, &AIR20).unwrap();
    near(got.pressure_peak_pa, 314.35577, REL);
    within(got.spl_peak_db, 140.9, 0.05);
    near(got.mid_excursion_m, 1.0756788e-3, REL);
}
