//! Ladders and pads against tables, closed forms, and the network solver.

use std::f64::consts::{FRAC_1_SQRT_2, PI, SQRT_2};

use num_complex::Complex64;
use physics::PhysicsError;
use physics::air::AIR20;
use physics::ladder::{Family, LadderElement, LadderKind, Side, l_pad, ladder, zobel};
use physics::network::{Element, Network, Part};
use proptest::prelude::*;

use crate::drivers::W1;
use crate::network::{load, part, r};
use crate::tolerance::{REL, near, within};

#[test]
fn chk_5_2_l_pad() {
    let rows = [
        (3.0, 2.33643372, 19.3921744),
        (6.0, 3.99050213, 8.0380819),
        (10.0, 5.47017787, 3.69980236),
    ];
    for (attenuation_db, series, shunt) in rows {
        let pad = l_pad(8.0, attenuation_db).unwrap();
        near(pad.series_ohm, series, 5e-9);
        near(pad.shunt_ohm, shunt, 5e-9);
    }
}

#[test]
fn chk_5_2_zobel_of_the_woofer() {
    let it = zobel(W1.re_ohm, 0.55e-3).unwrap();
    near(it.ohm, 5.6, REL);
    near(it.farad, 17.5382653e-6, 5e-9);
}

/// At ω = 1 and R = 1, where the values of a ladder are its prototype's.
fn prototype(family: Family, order: usize) -> Vec<f64> {
    let parts = ladder(family, order, Side::Low, 0.5 / PI, 1.0).expect("a sound order");
    parts.into_iter().map(|it| it.value).collect()
}

/// sympy's continued fractions; the same as the tables of A. I. Zverev, 1967 (from memory).
#[test]
fn chk_5_2_prototypes() {
    use Family::{Butterworth, LinkwitzRiley};
    let rows: [(Family, &[f64]); 6] = [
        (Butterworth, &[1.0]),
        (Butterworth, &[SQRT_2, FRAC_1_SQRT_2]),
        (Butterworth, &[1.5, 1.333333, 0.5]),
        (Butterworth, &[1.530734, 1.577161, 1.082392, 0.382683]),
        (LinkwitzRiley, &[2.0, 0.5]),
        (LinkwitzRiley, &[1.885618, 1.590990, 0.942809, 0.353553]),
    ];
    for (family, want) in rows {
        let got = prototype(family, want.len());
        assert_eq!(got.len(), want.len());
        for (got, want) in got.into_iter().zip(want) {
            within(got, *want, 5.1e-7);
        }
    }
}

/// L. Weinberg's closed form for a Butterworth between a voltage source and a resistor (from memory):
/// with a(k) = sin((2k − 1)·π/2N) and c(k) = cos²(k·π/2N), from the load g(1) = a(1) and
/// g(k) = a(k)·a(k−1)/(c(k−1)·g(k−1)).
#[test]
fn butterworth_ladders_agree_with_the_closed_form() {
    for order in 1..=20u8 {
        let n = f64::from(order);
        let a = |k: u8| ((2.0 * f64::from(k) - 1.0) * PI / (2.0 * n)).sin();
        let c = |k: u8| (f64::from(k) * PI / (2.0 * n)).cos().powi(2);
        let mut g = a(1);
        let got = prototype(Family::Butterworth, order.into());
        for (k, got) in (1..=order).zip(got.into_iter().rev()) {
            if k > 1 {
                g = a(k) * a(k - 1) / (c(k - 1) * g);
            }
            near(got, g, 1e-12);
        }
    }
}

/// The parts of a ladder between `in` and a load of `ohm`, as a network.
fn network(parts: &[LadderElement], ohm: f64, name: &str) -> Vec<Element> {
    let node = |k: usize| if k == 0 { "in".to_owned() } else { format!("{name}{k}") };
    let mut at = 0;
    let mut out = Vec::new();
    for (place, it) in parts.iter().enumerate() {
        let from = node(at);
        let to = if it.series { node(at + 1) } else { "0".to_owned() };
        at += usize::from(it.series);
        let kind = match it.kind {
            LadderKind::Inductor => Part::Inductor { henry: it.value, dcr_ohm: Some(0.0) },
            LadderKind::Capacitor => Part::Capacitor { farad: it.value, esr_ohm: Some(0.0) },
        };
        out.push(part(&format!("{name} part {place}"), kind, &from, &to));
    }
    out.push(load(name, ohm, &node(at), "0"));
    out
}

fn both_sides(family: Family, order: usize, f_hz: f64, ohm: f64) -> Network {
    let mut parts = Vec::new();
    for (side, name) in [(Side::Low, "woofer"), (Side::High, "tweeter")] {
        parts.extend(network(
            &ladder(family, order, side, f_hz, ohm).expect("an order"),
            ohm,
            name,
        ));
    }
    Network::new(parts).expect("a sound network")
}

/// A closed form of the response, |H|² = 1/(1 + (f/f0)^2N), that the synthesis does not use.
#[test]
fn a_butterworth_ladder_has_its_response() {
    for order in 1..=8u8 {
        let it = both_sides(Family::Butterworth, order.into(), 2500.0, 8.0);
        for ratio in [0.1, 0.5, 1.0, 2.0, 7.0f64] {
            let h = it.solve(2500.0 * ratio, &AIR20).unwrap().h;
            let want = (1.0 + ratio.powi(2 * i32::from(order))).sqrt().recip();
            near(h[0].norm(), want, 1e-9);
            near(h[1].norm(), ratio.powi(order.into()) * want, 1e-9);
        }
    }
}

proptest! {
    /// Linkwitz and Riley's property: both ways add to an all-pass, the upper one inverted where the
    /// order is not a multiple of four.
    #[test]
    fn linkwitz_riley_sums_flat(half in 1usize..=4, f_hz in 100.0..5000.0f64, ratio in 0.05..20.0f64) {
        let h = both_sides(Family::LinkwitzRiley, 2 * half, f_hz, 6.0).solve(f_hz * ratio, &AIR20).unwrap().h;
        let sign = if half % 2 == 0 { 1.0 } else { -1.0 };
        within((h[0] + h[1] * sign).norm(), 1.0, 1e-9);
    }

    /// A pad keeps its input resistance and attenuates as asked.
    #[test]
    fn a_pad_keeps_the_load(ohm in 2.0..16.0f64, attenuation_db in 0.1..30.0f64) {
        let pad = l_pad(ohm, attenuation_db).unwrap();
        let parts = vec![
            r("Rs", pad.series_ohm, "in", "a"),
            r("Rp", pad.shunt_ohm, "a", "0"),
            load("tweeter", ohm, "a", "0"),
        ];
        let it = Network::new(parts).unwrap().solve(1000.0, &AIR20).unwrap();
        within((it.z - Complex64::from(ohm)).norm(), 0.0, 1e-9 * ohm);
        within(20.0 * it.h[0].norm().log10(), -attenuation_db, 1e-9);
    }
}

#[test]
fn impossible_ladders_and_pads_are_refused() {
    let refused = |result: Result<(), PhysicsError>, name: &str| {
        let error = result.unwrap_err();
        let named = matches!(&error, PhysicsError::OutOfDomain { field, .. } if field == name);
        assert!(named, "{error} does not name {name}");
    };
    let bw =
        |order, f_hz, r_ohm| ladder(Family::Butterworth, order, Side::Low, f_hz, r_ohm).map(drop);
    refused(bw(0, 1000.0, 8.0), "order");
    refused(bw(21, 1000.0, 8.0), "order");
    refused(ladder(Family::LinkwitzRiley, 3, Side::High, 1000.0, 8.0).map(drop), "order");
    refused(bw(2, 0.0, 8.0), "f_hz");
    refused(bw(2, 1000.0, -8.0), "r_ohm");
    refused(l_pad(8.0, 0.0).map(drop), "attenuation_db");
    refused(l_pad(0.0, 3.0).map(drop), "r_ohm");
    refused(zobel(0.0, 1e-3).map(drop), "re_ohm");
    refused(zobel(8.0, f64::NAN).map(drop), "le_h");
    refused(l_pad(8.0, 1e9).map(drop), "shunt_ohm");
}
