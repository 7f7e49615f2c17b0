//! Wiring and piston directivity against handbook rows.

use physics::air::AIR20;
use physics::piston::directivity;
use physics::wire::{
    Conductor, awg_area_m2, awg_diameter_m, diameter_m, insertion_loss_db, loop_resistance_ohm,
    resistance_per_m,
};

use crate::table::{number, table};
use crate::tolerance::{DB, REL, near, within};

const FOOT_M: f64 = 0.3048;

/// NBS Handbook 100, 1966, as cited in the table.
#[test]
fn chk_6_1_awg_rows() {
    for row in table(include_str!("../data/awg.csv")) {
        let awg = row[0].parse().unwrap();
        let [d_mm, a_mm2, per_km, per_kft, printed] = [1, 2, 3, 4, 5].map(|k| number(row[k]));
        let area = awg_area_m2(awg).unwrap();
        let per_m = resistance_per_m(area, Conductor::Copper, 20.0).unwrap();
        near(awg_diameter_m(awg).unwrap(), d_mm * 1e-3, REL);
        near(area, a_mm2 * 1e-6, REL);
        near(diameter_m(area).unwrap(), d_mm * 1e-3, REL);
        near(per_m, per_km * 1e-3, REL);
        // Printed to six digits here, to four in the handbook.
        near(per_m * 1000.0 * FOOT_M, per_kft, 5e-6);
        near(per_m * 1000.0 * FOOT_M, printed, 5e-4);
    }
}

/// ASTM B258 defines the gauge by its two ends: 36 is 0.005 in and 4/0 is 0.46 in.
#[test]
fn awg_ends_are_exact() {
    near(awg_diameter_m(36).unwrap(), 0.005 * 0.0254, 1e-12);
    near(awg_diameter_m(-3).unwrap(), 0.46 * 0.0254, 1e-12);
}

/// IEC 60228:2004, class 5. The standard limits resistance and leaves the metal's area to the maker:
/// the limit is that of a strand with its lay, not ρ·l/A of the nominal area. The plain formula stays
/// 11 to 14 % below it, and the tinned limit lies 2 to 4 % above the plain one.
#[test]
fn iec_60228_class_5_limits_lie_above_the_plain_formula() {
    for row in table(include_str!("../data/iec_60228.csv")) {
        let [mm2, limit, tinned] = [0, 1, 2].map(|k| number(row[k]));
        let per_km = 1000.0 * resistance_per_m(mm2 * 1e-6, Conductor::Copper, 20.0).unwrap();
        let share = per_km / limit;
        assert!(share > 0.86 && share < 0.89, "{mm2} mm²: {per_km} against {limit}");
        assert!(tinned / limit > 1.02 && tinned / limit < 1.04, "{mm2} mm²: {tinned}");
    }
}

/// ASTM B566 by a supplier's sheet: classes 10A and 15A at 62.9 and 64.4 % IACS, 0.02741 and
/// 0.02677 ohm·mm²/m.
#[test]
fn clad_conductors_match_the_published_resistivity() {
    near(Conductor::Cca10a.resistivity_ohm_m(), 0.02741e-6, 2e-4);
    near(Conductor::Cca15a.resistivity_ohm_m(), 0.02677e-6, 2e-4);
    assert!(Conductor::Aluminium.resistivity_ohm_m() > Conductor::Cca10a.resistivity_ohm_m());
}

#[test]
fn chk_6_2_insertion_loss() {
    let rows = [
        (18, Conductor::Copper, 0.6, 8.0, 0.02513733, 0.0272497),
        (18, Conductor::Copper, 3.0, 4.0, 0.1256867, 0.268725),
        (18, Conductor::Cca10a, 3.0, 4.0, 0.1998198, 0.4234133),
        (22, Conductor::Copper, 0.6, 8.0, 0.0635547, 0.0687310),
    ];
    for (awg, conductor, length, load, r_loop, loss) in rows {
        let per_m = resistance_per_m(awg_area_m2(awg).unwrap(), conductor, 20.0).unwrap();
        let got = loop_resistance_ohm(length, per_m).unwrap();
        near(got, r_loop, REL);
        within(insertion_loss_db(got, load).unwrap(), loss, DB);
    }
}

#[test]
fn copper_at_60_degrees() {
    // 1 + 0.00393 · 40.
    let cold = resistance_per_m(1e-6, Conductor::Copper, 20.0).unwrap();
    let warm = resistance_per_m(1e-6, Conductor::Copper, 60.0).unwrap();
    near(warm / cold, 1.1572, 1e-12);
}

#[test]
fn chk_7_3_piston() {
    let got = directivity(0.0133, 3000.0, 30.0, &AIR20).unwrap();
    near(got.ka, 3.57359, 1.5e-6);
    near(got.ratio, 0.65061478, REL);
    near(got.level_db().unwrap(), -3.7335215, REL);
    for (sd, f, want) in [(0.0133, 2000.0, -1.589047), (0.0055, 3000.0, -1.4752087)] {
        let level = directivity(sd, f, 30.0, &AIR20).unwrap().level_db().unwrap();
        near(level, want, REL);
        let mirrored = directivity(sd, f, -30.0, &AIR20).unwrap().level_db().unwrap();
        near(mirrored, level, 1e-12);
    }
    within(directivity(0.0133, 3000.0, 0.0, &AIR20).unwrap().level_db().unwrap(), 0.0, 0.0);
}

/// The first null of a piston: x = 3.8317, the first zero of J₁ (Abramowitz and Stegun, table 9.5,
/// from memory), beyond which the sign turns.
#[test]
fn the_first_null_is_the_first_zero_of_j1() {
    let radius = (0.0133 / std::f64::consts::PI).sqrt();
    let at = |x: f64| x * AIR20.c_m_s() / (std::f64::consts::TAU * radius);
    let below = directivity(0.0133, at(3.8316), 90.0, &AIR20).unwrap();
    let above = directivity(0.0133, at(3.8318), 90.0, &AIR20).unwrap();
    assert!(below.ratio > 0.0 && above.ratio < 0.0, "{} {}", below.ratio, above.ratio);
}
