//! Relations that hold for every input.

use physics::air::AIR20;
use physics::box_closed::ClosedBox;
use physics::box_vented::{Leak, VentedBox};
use physics::driver::{DriverParams, resonance_hz};
use physics::driver_group::{Wiring, group};
use physics::lining::Lining;
use physics::load::peak_dissipation_ohm;
use physics::panel::Panel;
use physics::port::{Port, PortEnd};
use physics::wire::{Conductor, insertion_loss_db, loop_resistance_ohm, resistance_per_m};
use proptest::prelude::*;

use crate::tolerance::{near, within};

fn drivers() -> impl Strategy<Value = DriverParams> {
    (2.0..16.0, 1e-3..0.1, 1e-4..3e-3, 0.1..5.0, 2.0..20.0, 1e-3..0.1, prop::option::of(1e-5..3e-3))
        .prop_map(|(re_ohm, mms_kg, cms_m_n, rms_kg_s, bl_tm, sd_m2, le_h)| DriverParams {
            re_ohm,
            mms_kg,
            cms_m_n,
            rms_kg_s,
            bl_tm,
            sd_m2,
            le_h,
            xmax_m: None,
        })
}

fn ports() -> impl Strategy<Value = Port> {
    let end = prop_oneof![Just(PortEnd::Flanged), Just(PortEnd::Free)];
    let flare = prop_oneof![Just(0.0), 0.001..0.03];
    (1u32..4, 0.01..0.06, [end.clone(), end], [flare.clone(), flare])
        .prop_map(|(count, radius_m, ends, flares_m)| Port { count, radius_m, ends, flares_m })
}

proptest! {
    #[test]
    fn resonance_falls_with_the_root_of_the_mass(
        m in 1e-4..0.2, c in 1e-5..1e-2, k in 0.1f64..10.0,
    ) {
        let one = resonance_hz(m, c).unwrap();
        near(resonance_hz(m * k, c).unwrap(), one / k.sqrt(), 1e-12);
    }

    #[test]
    fn paralleling_twice_is_four(one in drivers()) {
        let two = group(&one, 2, Wiring::Parallel).unwrap();
        let twice = group(&two, 2, Wiring::Parallel).unwrap();
        let four = group(&one, 4, Wiring::Parallel).unwrap();
        prop_assert_eq!(twice, four);
        let (a, b) = (one.derive(&AIR20).unwrap(), four.derive(&AIR20).unwrap());
        near(b.fs_hz, a.fs_hz, 1e-12);
        near(b.qts, a.qts, 1e-12);
        near(b.spl_2v83_db, a.spl_2v83_db + 20.0 * 4f64.log10(), 1e-12);
    }

    #[test]
    fn a_port_inverts(port in ports(), vb in 2e-3..0.2, length in 0.0..0.5) {
        let tuning = port.tuning(vb, length, &AIR20).unwrap();
        near(port.volume_for_m3(tuning.fb_hz, length, &AIR20).unwrap(), vb, 1e-12);
        if length > 1e-3 {
            near(port.length_for_m(vb, tuning.fb_hz, &AIR20).unwrap(), length, 1e-9);
        }
    }

    #[test]
    fn a_longer_wire_loses_more(
        mm2 in 0.1..10.0, length in 0.01..20.0, more in 1.01..5.0, load in 2.0..16.0,
    ) {
        let per_m = resistance_per_m(mm2 * 1e-6, Conductor::Cca10a, 25.0).unwrap();
        let loss = |l| insertion_loss_db(loop_resistance_ohm(l, per_m).unwrap(), load).unwrap();
        prop_assert!(loss(length * more) > loss(length));
        prop_assert!(loss(length) > 0.0);
    }

    #[test]
    fn half_power_is_half_power(
        qts in 0.1..2.0, alpha in 0.05..10.0, h in 0.3..3.0, ql in 3.0..20.0,
    ) {
        let half = -10.0 * 2f64.log10();
        let closed = ClosedBox::new(50.0, qts, alpha, 1.0).unwrap();
        within(closed.gain_db(closed.f3_hz).unwrap(), half, 1e-8);
        let vented = VentedBox::new(50.0, qts, alpha, 1.0, 50.0 * h, Leak::Ql(ql)).unwrap();
        within(vented.gain_db(vented.f3_hz).unwrap(), half, 1e-8);
        // Above it nothing falls below half power, and nothing exceeds the ripple.
        for k in 1..400 {
            let gain = vented.gain_db(vented.f3_hz * (1.0 + f64::from(k) * 0.02)).unwrap();
            prop_assert!(gain > half && gain <= vented.ripple_db + 1e-9);
        }
    }

    #[test]
    fn braces_never_lower_a_panel(
        a in 0.2..1.2, b in 0.1..0.5, h in 0.009..0.025,
        places in prop::collection::vec(0.05..0.95, 0..4),
    ) {
        let panel = Panel { a_m: a, b_m: b, h_m: h, e_pa: 3e9, rho_kg_m3: 740.0, nu: 0.25 };
        let plain = panel.modes(&AIR20).unwrap();
        let places: Vec<f64> = places.into_iter().map(|part: f64| part * a).collect();
        let braced = panel.braced(&places, &AIR20).unwrap();
        prop_assert!(braced.modes.f_est_hz >= plain.f_est_hz * (1.0 - 1e-12));
        prop_assert!(plain.f_hinged_hz < plain.f_est_hz && plain.f_est_hz < plain.f_clamped_hz);
    }

    #[test]
    fn a_panel_does_not_care_which_side_is_a(a in 0.1..1.0, b in 0.1..1.0, nu in 0.0..0.49) {
        let panel = Panel { a_m: a, b_m: b, h_m: 0.01, e_pa: 3e9, rho_kg_m3: 740.0, nu };
        let turned = Panel { a_m: b, b_m: a, ..panel };
        near(turned.clamped_mode_hz(2, 3).unwrap(), panel.clamped_mode_hz(3, 2).unwrap(), 1e-12);
        near(turned.hinged_mode_hz(1, 2).unwrap(), panel.hinged_mode_hz(2, 1).unwrap(), 1e-12);
    }

    #[test]
    fn absorption_is_a_fraction(sigma in 1e2..1e6, d in 1e-4..0.5, f in 1.0..2e4) {
        let got = Lining { sigma_pa_s_m2: sigma, thickness_m: d }.absorption(f, &AIR20).unwrap();
        prop_assert!((0.0..=1.0).contains(&got.alpha));
    }

    #[test]
    fn a_larger_phase_is_a_harder_load(phase in 0.0..89.0, more in 0.01..1.0) {
        let easy = peak_dissipation_ohm(8.0, phase).unwrap();
        prop_assert!(peak_dissipation_ohm(8.0, phase + more).unwrap() < easy);
        prop_assert!(easy <= 8.0 * (1.0 + 1e-12));
    }
}
