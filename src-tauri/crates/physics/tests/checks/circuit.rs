//! The lumped circuit: excursion, port velocity, level and impedance of a driver in its box.

use std::f64::consts::{FRAC_PI_2, TAU};

use physics::PhysicsError;
use physics::air::AIR20;
use physics::box_closed::{BoxDriver, ClosedBox, series_loss_db};
use physics::box_vented::{Leak, VentedBox};
use physics::driver::DriverParams;
use physics::lumped::{Coil, Drive, Enclosure, MountedDriver};
use proptest::prelude::*;

use crate::drivers::W1;
use crate::tolerance::{OPTIMISED, REL, near, within};

pub(crate) const BOXED: MountedDriver = MountedDriver {
    params: W1,
    coil: Coil::Ideal,
    enclosure: Enclosure::Vented { vb_m3: 0.024, fb_hz: 42.0, ql: Some(7.0) },
};
/// A port of 50 mm diameter.
pub(crate) const DRIVE: Drive = Drive {
    volts: 2.83,
    rg_ohm: 0.0,
    distance_m: 1.0,
    port_area_m2: Some(std::f64::consts::PI * 0.025 * 0.025),
};

/// Against ngspice 39, a circuit of controlled sources: frequency, |Z|, peak excursion in mm, port
/// flow, box pressure, level.
#[test]
fn chk_3_10_circuit_against_ngspice() {
    let rows = [
        (20.0, 11.9330348, 4.01299065, 0.00610976695, 65.145736, 64.4442508),
        (30.0, 14.7879722, 2.54444938, 0.00901551263, 144.192621, 78.389042),
        (42.0, 6.90213633, 0.469049245, 0.00814858655, 182.458007, 86.2785613),
        (60.0, 15.5986316, 1.2985142, 0.00434058489, 138.845196, 90.1019983),
        (100.0, 9.66938599, 0.746642631, 0.00094245827, 50.2450733, 90.1472008),
    ];
    for (f, z, x_mm, flow, pressure, level) in rows {
        let got = BOXED.response(f, &DRIVE, &AIR20).unwrap();
        near(got.z.norm(), z, REL);
        near(got.x_peak_m, x_mm * 1e-3, REL);
        near(got.port_flow_m3_s, flow, REL);
        near(got.p_box_pa, pressure, REL);
        within(got.spl_db, level, 1e-6);
        let area = DRIVE.port_area_m2.unwrap();
        near(got.port_velocity_peak_m_s.unwrap(), 2f64.sqrt() * flow / area, REL);
    }
}

#[test]
fn chk_3_11_excursion_limit() {
    let got = BOXED.excursion_limit(0.004, &DRIVE, &AIR20).unwrap();
    near(got.volts, 8.663777, REL);
    near(got.f_hz, 62.24709, OPTIMISED);
    within(got.spl_db, 99.97056, 1e-4);
    let peak = BOXED.response(got.f_hz, &DRIVE, &AIR20).unwrap();
    near(peak.x_peak_m, 1.3065896e-3, REL);
}

#[test]
fn chk_3_12_port_velocity() {
    let (velocity, f) = BOXED.peak_port_velocity(&DRIVE, &AIR20).unwrap();
    near(velocity, 6.6427013, REL);
    near(f, 33.21147, OPTIMISED);
    // 17.16 m/s, a twentieth of the speed of sound, comes before the cone's limit.
    near(2.83 * 17.16 / velocity, 7.310701, REL);
}

/// The stiffness alone holds the cone far below resonance: x = √2·BL·V/(Re·k), with the box's air in
/// k unless there is a leak.
#[test]
fn a_closed_box_of_low_q_moves_most_at_the_lowest_frequency() {
    let stiff = MountedDriver {
        params: DriverParams { bl_tm: 12.0, ..W1 },
        coil: Coil::Ideal,
        enclosure: Enclosure::Closed { vb_m3: 0.012, ql: None },
    };
    let got = stiff.excursion_limit(0.004, &DRIVE, &AIR20).unwrap();
    near(got.f_hz, 10.0, 1e-12);
    let at_ten = stiff.response(10.0, &DRIVE, &AIR20).unwrap();
    near(got.volts, 2.83 * 0.004 / at_ten.x_peak_m, 1e-12);
    assert_eq!((at_ten.port_velocity_peak_m_s, at_ten.port_flow_m3_s), (None, 0.0));
}

#[test]
fn a_driver_without_a_box_radiates_from_its_front() {
    let free = MountedDriver { enclosure: Enclosure::Free, ..BOXED };
    let got = free.response(400.0, &DRIVE, &AIR20).unwrap();
    let flow = 0.0133 * got.x_peak_m / 2f64.sqrt() * TAU * 400.0;
    let pressure = 1.204 * 400.0 * flow;
    within(got.spl_db, 20.0 * (pressure / 20e-6).log10(), 1e-9);
    near(got.p_box_pa + 1.0, 1.0, 1e-15);
}

/// No air moves in or out of the cone's side of a lossless box at its tuning: the port takes all of
/// it, Re alone is left, and the box drives the port with the blocked force BL·V/Re.
#[test]
fn at_the_tuning_of_a_lossless_box_the_cone_stands_still() {
    let enclosure = Enclosure::Vented { vb_m3: 0.024, fb_hz: 42.0, ql: None };
    let got = MountedDriver { enclosure, ..BOXED }.response(42.0, &DRIVE, &AIR20).unwrap();
    within(got.x_peak_m, 0.0, 1e-15);
    near(got.z.norm(), 5.6, 1e-12);
    near(got.p_box_pa, 6.1 * 2.83 / 5.6 / 0.0133, 1e-12);
}

#[test]
fn what_is_missing_or_does_not_apply_is_said() {
    let closed = MountedDriver { enclosure: Enclosure::Closed { vb_m3: 0.012, ql: None }, ..BOXED };
    let none = closed.peak_port_velocity(&DRIVE, &AIR20);
    assert!(matches!(none, Err(PhysicsError::NotApplicable { .. })), "{none:?}");
    let no_area = Drive { port_area_m2: None, ..DRIVE };
    let missing = BOXED.peak_port_velocity(&no_area, &AIR20);
    assert_eq!(missing, Err(PhysicsError::Missing { field: "port_area_m2".into() }));
    assert_eq!(BOXED.response(50.0, &no_area, &AIR20).unwrap().port_velocity_peak_m_s, None);
}

#[test]
fn the_circuit_refuses_what_is_out_of_domain() {
    let refused = |result: Result<f64, PhysicsError>, name: &str| match result {
        Err(PhysicsError::OutOfDomain { field, .. }) => assert_eq!(field, name),
        other => panic!("{name} was not refused as out of domain: {other:?}"),
    };
    let level = |driver: &MountedDriver, drive: &Drive, f| {
        driver.response(f, drive, &AIR20).map(|got| got.spl_db)
    };
    for bad in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        refused(level(&BOXED, &DRIVE, bad), "f_hz");
        refused(level(&BOXED, &Drive { volts: bad, ..DRIVE }, 50.0), "volts");
        refused(level(&BOXED, &Drive { distance_m: bad, ..DRIVE }, 50.0), "distance_m");
        refused(level(&BOXED, &Drive { port_area_m2: Some(bad), ..DRIVE }, 50.0), "port_area_m2");
        refused(BOXED.excursion_limit(bad, &DRIVE, &AIR20).map(|got| got.volts), "xmax_m");
        for (name, vb_m3, fb_hz, ql) in
            [("vb_m3", bad, 42.0, 7.0), ("fb_hz", 0.024, bad, 7.0), ("ql", 0.024, 42.0, bad)]
        {
            let enclosure = Enclosure::Vented { vb_m3, fb_hz, ql: Some(ql) };
            let driver = MountedDriver { enclosure, ..BOXED };
            refused(level(&driver, &DRIVE, 50.0), name);
            refused(driver.peak_port_velocity(&DRIVE, &AIR20).map(|got| got.0), name);
        }
    }
    refused(level(&BOXED, &Drive { rg_ohm: -0.1, ..DRIVE }, 50.0), "rg_ohm");
    refused(level(&BOXED, &DRIVE, 1e308), "angular frequency");
    refused(level(&BOXED, &DRIVE, 1e-200), "port_flow_m3_s");
}

fn coils() -> impl Strategy<Value = Coil> {
    prop_oneof![
        Just(Coil::Ideal),
        (1e-5..3e-3).prop_map(|le_h| Coil::Inductance { le_h }),
        // K from the inductance at 1 kHz, K·ω^(n−1)·sin(nπ/2).
        (1e-5f64..3e-3, 0.5f64..=1.0).prop_map(|(le_h, n)| {
            let k = le_h * (TAU * 1000.0).powf(1.0 - n) / (n * FRAC_PI_2).sin();
            Coil::Lossy { k, n }
        }),
    ]
}

/// Woofers from resonance, Q, mass and force factor, in boxes by compliance ratio and tuning ratio, so
/// that none is beyond all practice.
fn mounted() -> impl Strategy<Value = MountedDriver> {
    let driver = (2.0..16.0, 2e-3..0.1, 15.0..200.0, 1.0..15.0, 2.0..20.0, 2e-3..0.1);
    let boxed = (0..3u8, 0.1..20.0, 0.3..2.5, prop::option::of(2.0..50.0));
    (driver, coils(), boxed).prop_map(|(driver, coil, (kind, alpha, h, ql))| {
        let (re_ohm, mms_kg, fs_hz, qms, bl_tm, sd_m2) = driver;
        let w: f64 = TAU * fs_hz;
        let params = DriverParams {
            re_ohm,
            mms_kg,
            cms_m_n: 1.0 / (w * w * mms_kg),
            rms_kg_s: w * mms_kg / qms,
            bl_tm,
            sd_m2,
            le_h: None,
            xmax_m: None,
        };
        let vb_m3 = AIR20.bulk_modulus_pa() * sd_m2 * sd_m2 * params.cms_m_n / alpha;
        let enclosure = match kind {
            0 => Enclosure::Free,
            1 => Enclosure::Closed { vb_m3, ql },
            _ => Enclosure::Vented { vb_m3, fb_hz: h * fs_hz, ql },
        };
        MountedDriver { params, coil, enclosure }
    })
}

proptest! {
    #[test]
    fn the_impedance_is_passive(driver in mounted(), f in 5.0..20_000.0, rg in 0.0..2.0) {
        let got = driver.response(f, &Drive { rg_ohm: rg, ..DRIVE }, &AIR20).unwrap();
        prop_assert!(got.z.re >= driver.params.re_ohm + rg);
        near(got.z.norm(), (driver.impedance(f, &AIR20) + rg).norm(), 1e-12);
    }

    /// A port of endless mass is a plug.
    #[test]
    fn a_closed_box_is_a_vented_one_tuned_to_nothing(
        driver in mounted(), vb in 2e-3..0.2, f in 20.0..300.0,
    ) {
        let closed = Enclosure::Closed { vb_m3: vb, ql: None };
        let vented = Enclosure::Vented { vb_m3: vb, fb_hz: 1e-4, ql: None };
        let closed = MountedDriver { enclosure: closed, ..driver }.response(f, &DRIVE, &AIR20).unwrap();
        let vented = MountedDriver { enclosure: vented, ..driver }.response(f, &DRIVE, &AIR20).unwrap();
        near(vented.z.norm(), closed.z.norm(), 1e-8);
        near(vented.x_peak_m, closed.x_peak_m, 1e-8);
        within(vented.spl_db, closed.spl_db, 1e-7);
    }

    /// The filter of the box, the level of the driver and the loss in the series resistance add up.
    #[test]
    fn the_level_is_reference_plus_gain(
        driver in mounted(), vb in 2e-3..0.2, fb in 15.0..120.0, ql in prop::option::of(2.0..50.0),
        rg in 0.0..2.0, f in 15.0..500.0,
    ) {
        let set = driver.params.derive(&AIR20).unwrap();
        let re_ohm = driver.params.re_ohm;
        let simple = BoxDriver {
            fs_hz: set.fs_hz, qms: set.qms, qes: set.qes, re_ohm, vas_m3: set.vas_m3,
        };
        let reference = set.spl_2v83_db - series_loss_db(re_ohm, rg).unwrap();
        let drive = Drive { rg_ohm: rg, ..DRIVE };
        let level = |enclosure| {
            let boxed = MountedDriver { coil: Coil::Ideal, enclosure, ..driver };
            boxed.response(f, &drive, &AIR20).unwrap().spl_db
        };
        let closed = ClosedBox::with_series_resistance(&simple, vb, rg).unwrap();
        let got = level(Enclosure::Closed { vb_m3: vb, ql: None });
        within(got, reference + closed.gain_db(f).unwrap(), 1e-7);
        let qts = simple.qts_with_series(rg).unwrap();
        let leak = ql.map_or(Leak::Lossless, Leak::Ql);
        let vented = VentedBox::new(set.fs_hz, qts, set.vas_m3, vb, fb, leak).unwrap();
        let got = level(Enclosure::Vented { vb_m3: vb, fb_hz: fb, ql });
        within(got, reference + vented.gain_db(f).unwrap(), 1e-7);
    }

    #[test]
    fn at_the_limit_no_frequency_passes_xmax(driver in mounted(), rg in 0.0..2.0) {
        let drive = Drive { rg_ohm: rg, ..DRIVE };
        let limit = driver.excursion_limit(0.004, &drive, &AIR20).unwrap();
        let at_limit = Drive { volts: limit.volts, ..drive };
        let there = driver.response(limit.f_hz, &at_limit, &AIR20).unwrap();
        near(there.x_peak_m, 0.004, 1e-9);
        within(there.spl_db, limit.spl_db, 1e-9);
        let from = match driver.enclosure {
            Enclosure::Vented { fb_hz, .. } => fb_hz,
            _ => 10.0,
        };
        for k in 0..3000 {
            let f = from * 1.002f64.powi(k);
            let x = driver.response(f, &at_limit, &AIR20).unwrap().x_peak_m;
            prop_assert!(x <= 0.004 * (1.0 + 1e-9), "{} at {} Hz, limit at {}", x, f, limit.f_hz);
        }
    }

    #[test]
    fn no_frequency_has_a_faster_port(driver in mounted()) {
        let Enclosure::Vented { fb_hz, .. } = driver.enclosure else {
            let got = driver.peak_port_velocity(&DRIVE, &AIR20);
            prop_assert!(matches!(got, Err(PhysicsError::NotApplicable { .. })), "{:?}", got);
            return Ok(());
        };
        let (top, at) = driver.peak_port_velocity(&DRIVE, &AIR20).unwrap();
        let velocity = |f| {
            driver.response(f, &DRIVE, &AIR20).unwrap().port_velocity_peak_m_s.unwrap()
        };
        near(velocity(at), top, 1e-9);
        let mut f = fb_hz / 2.0;
        while f < 300.0 {
            prop_assert!(velocity(f) <= top * (1.0 + 1e-9), "at {} Hz, top at {}", f, at);
            f *= 1.002;
        }
    }
    /// Numbers far beyond practice give a number or an error, never NaN, an infinity or a panic.
    #[test]
    fn every_result_is_a_number(
        exponents in prop::array::uniform12(-60..60i32), vented in any::<bool>(),
    ) {
        let [re_ohm, mms_kg, cms_m_n, rms_kg_s, bl_tm, sd_m2, vb_m3, fb_hz, ql, volts, f, k] =
            exponents.map(|n| 10f64.powi(n));
        let params = DriverParams {
            re_ohm, mms_kg, cms_m_n, rms_kg_s, bl_tm, sd_m2, le_h: None, xmax_m: None,
        };
        let enclosure = if vented {
            Enclosure::Vented { vb_m3, fb_hz, ql: Some(ql) }
        } else {
            Enclosure::Closed { vb_m3, ql: Some(ql) }
        };
        let driver = MountedDriver { params, coil: Coil::Lossy { k, n: 0.7 }, enclosure };
        let drive = Drive { volts, ..DRIVE };
        if let Ok(got) = driver.response(f, &drive, &AIR20) {
            let parts = [got.z.re, got.z.im, got.x_peak_m, got.spl_db, got.p_box_pa];
            prop_assert!(parts.iter().all(|part| part.is_finite()), "{:?}", got);
        }
        if let Ok(got) = driver.excursion_limit(0.004, &drive, &AIR20) {
            let parts = [got.volts, got.f_hz, got.spl_db];
            prop_assert!(parts.iter().all(|part| part.is_finite()), "{:?}", got);
        }
        if let Ok((velocity, f)) = driver.peak_port_velocity(&drive, &AIR20) {
            prop_assert!(velocity.is_finite() && f.is_finite());
        }
    }
}
