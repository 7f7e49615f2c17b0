//! A wall with one rib of finite stiffness.

use physics::PhysicsError;
use physics::air::AIR20;
use physics::brace::{Rib, Strip, one_term_hz, ribbed_f1_hz};
use physics::panel::Panel;
use proptest::prelude::*;

use crate::cabinet::SIDE;
use crate::tolerance::{REL, near};

/// A strip of MDF, 15 by 40 mm.
const STRIP: Strip = Strip { t_m: 0.015, height_m: 0.040, e_pa: 3.0e9, rho_kg_m3: 740.0 };

/// Beside one term, a many-term Ritz solution of the same wall, computed apart: it is lower by as much
/// as one term is known to be high.
#[test]
fn chk_4_3_one_rib() {
    let loose = STRIP.loose(0.45).unwrap();
    near(loose.ei_nm2, 240.0, REL);
    near(one_term_hz(&SIDE, &loose).unwrap(), 287.13251, REL);
    near(ribbed_f1_hz(&SIDE, &loose).unwrap(), 287.13251, REL);
    let ritz = 275.705;
    assert!(ritz < 287.13251 && 287.13251 < 1.05 * ritz);

    let glued = STRIP.glued(0.45, SIDE.h_m).unwrap();
    near(glued.ei_nm2, 1601.25, REL);
    // Printed to a tenth.
    near(one_term_hz(&SIDE, &glued).unwrap(), 490.4, 0.05 / 490.4);
    // The wall bends on both sides of the rib instead: half the wall, hinged.
    near(ribbed_f1_hz(&SIDE, &glued).unwrap(), 296.156, 2e-6);
}

#[test]
fn a_rib_must_stand_inside_the_wall_and_be_sound() {
    let rib = STRIP.loose(0.45).unwrap();
    let refused = |result: Result<f64, PhysicsError>, name: &str| match result {
        Err(PhysicsError::OutOfDomain { field, .. }) => assert_eq!(field, name),
        other => panic!("{name} was not refused: {other:?}"),
    };
    for x0_m in [0.0, -0.1, 0.9, 1.0, f64::NAN, f64::INFINITY] {
        refused(ribbed_f1_hz(&SIDE, &Rib { x0_m, ..rib }), "x0_m");
    }
    for bad in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        refused(ribbed_f1_hz(&SIDE, &Rib { ei_nm2: bad, ..rib }), "ei_nm2");
        refused(ribbed_f1_hz(&SIDE, &Rib { mass_per_m_kg: bad, ..rib }), "mass_per_m_kg");
        refused(ribbed_f1_hz(&Panel { h_m: bad, ..SIDE }, &rib), "h_m");
        refused(Strip { t_m: bad, ..STRIP }.loose(0.4).map(|rib| rib.ei_nm2), "t_m");
        refused(STRIP.glued(0.4, bad).map(|rib| rib.ei_nm2), "wall_h_m");
    }
}

proptest! {
    #[test]
    fn a_rib_helps_no_more_than_an_ideal_brace(
        a in 0.3..1.2, b in 0.1..0.5, place in 0.1..0.9, ei in 1.0..1e5, mass in 0.01..2.0,
    ) {
        let wall = Panel { a_m: a, b_m: b, ..SIDE };
        let rib = Rib { x0_m: place * a, ei_nm2: ei, mass_per_m_kg: mass };
        let got = ribbed_f1_hz(&wall, &rib).unwrap();
        let ideal = wall.braced(&[rib.x0_m], &AIR20).unwrap().modes.f_hinged_hz;
        prop_assert!(got <= ideal * (1.0 + 1e-12));
        // A rib without mass never lowers the mode.
        let light = Rib { mass_per_m_kg: 1e-9, ..rib };
        prop_assert!(ribbed_f1_hz(&wall, &light).unwrap() >= wall.hinged_mode_hz(1, 1).unwrap() * (1.0 - 1e-6));
    }
}
