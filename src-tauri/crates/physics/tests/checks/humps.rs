//! A vented box from its two impedance peaks, and the level of a given excursion.

use physics::PhysicsError;
use physics::air::AIR20;
use physics::displacement::displacement_limit;
use physics::humps::{Humps, box_from_humps, humps, tuning_from_blocked_port_hz};
use physics::lumped::{Coil, Enclosure, MountedDriver};
use physics::sweep::SweepRow;

use crate::circuit::BOXED;
use crate::drivers::W1;
use crate::tolerance::{OPTIMISED, REL, near, within};

/// 400 rows from 10 Hz to 1 kHz.
fn sweep(driver: &MountedDriver) -> Vec<SweepRow> {
    (0..400)
        .map(|k| {
            let f_hz = 10.0 * 100f64.powf(f64::from(k) / 399.0);
            SweepRow { f_hz, z_ohm: driver.impedance(f_hz, &AIR20).norm(), phase_deg: None }
        })
        .collect()
}

fn read(driver: &MountedDriver) -> Humps {
    let set = W1.derive(&AIR20).expect("a sound driver");
    let reading = humps(&sweep(driver)).expect("two peaks");
    reading.of(5.6, set.qes, set.qms).expect("clear peaks")
}

/// Peaks, dip and their heights by scipy from the circuit itself; here from a sweep of 400 rows, whose
/// parabolas leave 1e-4.
#[test]
fn chk_3_13_humps_from_a_sweep() {
    let got = humps(&sweep(&BOXED)).unwrap();
    near(got.low.f_hz, 25.79404, OPTIMISED);
    near(got.dip.f_hz, 42.07171, OPTIMISED);
    near(got.high.f_hz, 69.45731, OPTIMISED);
    near(got.low.z_ohm, 32.1606, OPTIMISED);
    near(got.dip.z_ohm, 6.90202, OPTIMISED);
    near(got.high.z_ohm, 32.8652, OPTIMISED);
    let with_coil = MountedDriver { coil: Coil::Inductance { le_h: 0.55e-3 }, ..BOXED };
    near(humps(&sweep(&with_coil)).unwrap().dip.f_hz, 41.8724, OPTIMISED);
}

#[test]
fn chk_3_13_box_from_humps() {
    let set = W1.derive(&AIR20).unwrap();
    let got = box_from_humps(&Humps {
        fl_hz: 25.79404,
        fm_hz: 42.07171,
        fh_hz: 69.45731,
        re_ohm: 5.6,
        z_at_fm_ohm: 6.90202,
        qes: set.qes,
        qms: set.qms,
    })
    .unwrap();
    // Inputs and results are printed to six figures.
    near(got.fb_hz, 42.07171, REL);
    near(got.f_sb_hz, 42.5841, 2e-6);
    near(got.alpha, 1.05118, 5e-6);
    // One unit in the last figure of |Z| − Re moves QL by 8e-6; the reference had |Z| as 6.902.
    near(got.ql, 6.8465, 2e-5);
    // With the true compliance ratio and tuning the same dip gives the true leak.
    let h = 0.984433465;
    let true_ql = got.ql * (got.alpha / 1.02432828) * (h / (got.fb_hz / got.f_sb_hz));
    near(true_ql, 7.0007, 1e-5);
    // The route with the port blocked: fc = fs·√(1 + α) of the true box.
    let fc = BOXED.fc_hz(&AIR20);
    near(tuning_from_blocked_port_hz(25.79404, 69.45731, fc).unwrap(), 42.48424, 2e-6);
}

/// Without losses the dip lies at the tuning and the ratio of compliances is exact.
#[test]
fn chk_3_13_without_a_leak_the_reading_is_exact() {
    let enclosure = Enclosure::Vented { vb_m3: 0.024, fb_hz: 42.0, ql: None };
    let read = read(&MountedDriver { enclosure, ..BOXED });
    // At the tuning the port takes the cone's whole load, and Re alone is left.
    near(read.z_at_fm_ohm, 5.6, OPTIMISED);
    let got = box_from_humps(&Humps { z_at_fm_ohm: 5.6001, ..read }).unwrap();
    near(got.fb_hz, 42.0, OPTIMISED);
    near(got.alpha, 1.02432828, 10.0 * OPTIMISED);
    near(got.f_sb_hz, 42.6641327, OPTIMISED);
}

#[test]
fn chk_3_13_a_sweep_gives_the_box_back_within_its_bias() {
    let got = box_from_humps(&read(&BOXED)).unwrap();
    near(got.fb_hz, 42.0, 3e-3);
    near(got.alpha, 1.02432828, 0.03);
    near(got.ql, 7.0, 0.03);
}

#[test]
fn one_peak_or_three_are_refused_with_advice() {
    let closed = Enclosure::Closed { vb_m3: 0.024, ql: None };
    let one = humps(&sweep(&MountedDriver { enclosure: closed, ..BOXED }));
    let said = |result: Result<_, PhysicsError>| match result {
        Err(PhysicsError::NotApplicable { why }) => why,
        other => panic!("{other:?}"),
    };
    assert!(said(one.map(drop)).contains("one peak"), "a closed box has one");
    let mut rows = sweep(&BOXED);
    let third = rows.iter().position(|row| row.f_hz > 300.0).unwrap();
    rows[third].z_ohm *= 1.5;
    assert!(said(humps(&rows).map(drop)).contains("3 peaks"), "a spike is a third");
    assert!(said(humps(&rows[third + 1..]).map(drop)).contains("no peak"), "only the fall is left");
    // A peak that hardly rises above Re is none of a vented box's.
    let low = humps(&sweep(&BOXED)).unwrap().of(30.0, 0.5, 4.0);
    assert!(said(low.map(drop)).contains("25.8 Hz"));
    assert!(matches!(humps(&[]), Err(PhysicsError::OutOfDomain { .. })));
}

#[test]
fn humps_that_cannot_be_are_refused() {
    let sound = read(&BOXED);
    let refused = |humps: Humps, name: &str| match box_from_humps(&humps) {
        Err(PhysicsError::OutOfDomain { field, .. }) => assert_eq!(field, name),
        other => panic!("{name} was not refused: {other:?}"),
    };
    for bad in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        refused(Humps { fl_hz: bad, ..sound }, "fl_hz");
        refused(Humps { fm_hz: bad, ..sound }, "fm_hz");
        refused(Humps { fh_hz: bad, ..sound }, "fh_hz");
        refused(Humps { re_ohm: bad, ..sound }, "re_ohm");
        refused(Humps { z_at_fm_ohm: bad, ..sound }, "z_at_fm_ohm");
        refused(Humps { qes: bad, ..sound }, "qes");
        refused(Humps { qms: bad, ..sound }, "qms");
    }
    refused(Humps { fm_hz: sound.fl_hz, ..sound }, "fm_hz");
    refused(Humps { fm_hz: sound.fh_hz, ..sound }, "fm_hz");
    refused(Humps { z_at_fm_ohm: sound.re_ohm, ..sound }, "z_at_fm_ohm");
    // Re·(1 + Qms/Qes) is the driver's own peak.
    let too_high = sound.re_ohm * (1.0 + sound.qms / sound.qes) * 1.001;
    let got = box_from_humps(&Humps { z_at_fm_ohm: too_high, ..sound });
    assert!(matches!(got, Err(PhysicsError::Inconsistent { z: None, .. })), "{got:?}");
    for (fl, fh, fc) in [(70.0, 25.0, 60.0), (25.0, 25.0, 20.0), (25.0, 70.0, 74.4)] {
        assert!(tuning_from_blocked_port_hz(fl, fh, fc).is_err(), "{fl} {fh} {fc}");
    }
}

#[test]
fn chk_3_14_displacement_limit() {
    let got = displacement_limit(W1.sd_m2, 0.004, 50.0, &AIR20).unwrap();
    within(got.spl_1m_db, 91.0222601, 1e-6);
    near(got.power_acoustic_w, 0.00769647918, REL);
    // The constant of P = k·f⁴·V_D².
    let volume: f64 = 53.2e-6;
    near(got.power_acoustic_w / (50f64.powi(4) * volume.powi(2)), 0.435099733, REL);
    for bad in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert!(displacement_limit(bad, 0.004, 50.0, &AIR20).is_err());
        assert!(displacement_limit(0.0133, bad, 50.0, &AIR20).is_err());
        assert!(displacement_limit(0.0133, 0.004, bad, &AIR20).is_err());
    }
}
