//! Textbook ladders and pads: element values that a network would have with an ideal resistor as its
//! load. With a real driver they miss their target, so a design is always solved as a network.
//!
//! Sources: the alignments of A. I. Zverev, "Handbook of Filter Synthesis", 1967 (from memory), and
//! S. Linkwitz, "Active Crossover Networks for Noncoincident Drivers", JAES 24(1) 2-8, 1976 (from
//! memory).

use std::f64::consts::{PI, TAU};

use crate::error::{PhysicsError, Result, positive, positive_result};

/// The highest order that is offered. Up to it rounding leaves the element values twelve digits.
pub const MAX_ORDER: usize = 20;

/// The response that the ladder has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Family {
    /// Flat to the highest derivative; 10·log10 2 dB down at the stated frequency.
    Butterworth,
    /// The square of a Butterworth of half the order; 20·log10 2 dB down at the stated frequency, so
    /// that both sides sum flat.
    LinkwitzRiley,
}

/// Which frequencies pass.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// Those below.
    Low,
    /// Those above.
    High,
}

/// The kind of an element of a ladder.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LadderKind {
    /// An inductor, H.
    Inductor,
    /// A capacitor, F.
    Capacitor,
}

/// One element of a ladder.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LadderElement {
    /// What it is.
    pub kind: LadderKind,
    /// It stands in the path; otherwise from the path to ground.
    pub series: bool,
    /// H or F.
    pub value: f64,
}

/// A pad that attenuates without changing the load.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LPad {
    /// Resistor in the path, ohm.
    pub series_ohm: f64,
    /// Resistor across the driver, ohm.
    pub shunt_ohm: f64,
}

/// Resistor and capacitor in series across a driver that make its coil look resistive.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Zobel {
    /// Ohm.
    pub ohm: f64,
    /// F.
    pub farad: f64,
}

/// A pad of `attenuation_db` dB into `r_ohm` whose input is `r_ohm` again:
/// Rs = R·(1 − k), Rp = R·k/(1 − k), k = 10^(−A/20).
///
/// # Errors
/// `OutOfDomain` when the resistance or the attenuation is not positive.
///
/// ```
/// let pad = physics::ladder::l_pad(8.0, 6.0)?;
/// assert!((pad.series_ohm - 3.99050213).abs() < 1e-8);
/// # Ok::<(), physics::PhysicsError>(())
/// ```
pub fn l_pad(r_ohm: f64, attenuation_db: f64) -> Result<LPad> {
    let r = positive("r_ohm", r_ohm)?;
    let nepers = positive("attenuation_db", attenuation_db)? * std::f64::consts::LN_10 / 20.0;
    // 1 − k without cancellation for a small attenuation.
    let rest = -(-nepers).exp_m1();
    Ok(LPad {
        series_ohm: positive_result("series_ohm", r * rest)?,
        shunt_ohm: positive_result("shunt_ohm", r * (-nepers).exp() / rest)?,
    })
}

/// The network that compensates a coil of `le_h`: R = Re, C = Le/Re². Exact for an ideal inductance;
/// a lossy coil calls for other values.
///
/// # Errors
/// `OutOfDomain` when a value is not positive.
pub fn zobel(re_ohm: f64, le_h: f64) -> Result<Zobel> {
    let ohm = positive("re_ohm", re_ohm)?;
    let farad = positive_result("farad", positive("le_h", le_h)? / (ohm * ohm))?;
    Ok(Zobel { ohm, farad })
}

/// A ladder from an ideal voltage source to a load of `r_ohm`, its elements from the source: a series
/// one first, then a shunt one, and so on.
///
/// The prototype (ω = 1, R = 1) has H = 1/P(s). Driven by a voltage source, its output admittance is
/// even part over odd part of P for an even order and the inverse for an odd one, whose continued
/// fraction in s gives the elements from the load back. A low-pass scales them to L·R/ω and C/(R·ω); a
/// high-pass swaps the kinds and takes reciprocals.
///
/// # Errors
/// `OutOfDomain` for an order outside 1 to 20, an odd order of Linkwitz-Riley, and values that are not
/// positive.
///
/// ```
/// use physics::ladder::{Family, Side, ladder};
/// let parts = ladder(Family::LinkwitzRiley, 2, Side::High, 2500.0, 8.0)?;
/// assert!((parts[0].value - 3.97887358e-6).abs() < 1e-14);
/// # Ok::<(), physics::PhysicsError>(())
/// ```
pub fn ladder(
    family: Family,
    order: usize,
    side: Side,
    f_hz: f64,
    r_ohm: f64,
) -> Result<Vec<LadderElement>> {
    if !(1..=MAX_ORDER).contains(&order) {
        return Err(PhysicsError::out_of_domain(
            "order",
            format!("{order} is not from 1 to {MAX_ORDER}"),
        ));
    }
    let polynomial = match family {
        Family::Butterworth => butterworth(order),
        Family::LinkwitzRiley if order.is_multiple_of(2) => {
            let half = butterworth(order / 2);
            product(&half, &half)
        }
        Family::LinkwitzRiley => {
            return Err(PhysicsError::out_of_domain("order", format!("{order} is not even")));
        }
    };
    let w = TAU * positive("f_hz", f_hz)?;
    let r = positive("r_ohm", r_ohm)?;
    let prototype = from_source(polynomial);
    let element = |(place, g): (usize, f64)| {
        let series = place.is_multiple_of(2);
        let (kind, value) = match (side, series) {
            (Side::Low, true) => (LadderKind::Inductor, g * r / w),
            (Side::Low, false) => (LadderKind::Capacitor, g / (r * w)),
            (Side::High, true) => (LadderKind::Capacitor, 1.0 / (g * r * w)),
            (Side::High, false) => (LadderKind::Inductor, r / (g * w)),
        };
        Ok(LadderElement { kind, series, value: positive_result("value", value)? })
    };
    prototype.into_iter().enumerate().map(element).collect()
}

/// The Butterworth polynomial, coefficients from the constant up: the product of
/// s² + 2·sin((2k − 1)·π/2N)·s + 1, and s + 1 for an odd order.
fn butterworth(order: usize) -> Vec<f64> {
    let mut polynomial = vec![1.0];
    let order_f = small(order);
    for k in 1..=order / 2 {
        let damping = 2.0 * ((2.0 * small(k) - 1.0) * PI / (2.0 * order_f)).sin();
        polynomial = product(&polynomial, &[1.0, damping, 1.0]);
    }
    if order % 2 == 1 {
        polynomial = product(&polynomial, &[1.0, 1.0]);
    }
    polynomial
}

/// Orders are at most [`MAX_ORDER`], so the conversion is exact.
fn small(number: usize) -> f64 {
    u8::try_from(number).map_or(f64::NAN, f64::from)
}

fn product(a: &[f64], b: &[f64]) -> Vec<f64> {
    let mut out = vec![0.0; (a.len() + b.len()).saturating_sub(1)];
    for (i, x) in a.iter().enumerate() {
        for (out, y) in out.iter_mut().skip(i).zip(b) {
            *out += x * y;
        }
    }
    out
}

/// The element values from the source, by the continued fraction from the load.
fn from_source(polynomial: Vec<f64>) -> Vec<f64> {
    // Both parts from the highest power down; each division by s·g removes the highest of one.
    let falling: Vec<f64> = polynomial.into_iter().rev().collect();
    let every_second =
        |from: usize| falling.iter().skip(from).step_by(2).copied().collect::<Vec<_>>();
    let (mut over, mut under) = (every_second(0), every_second(1));
    let mut from_load = Vec::new();
    while let (Some(&a), Some(&b)) = (over.first(), under.first()) {
        let g = a / b;
        from_load.push(g);
        let rest: Vec<f64> = over
            .iter()
            .skip(1)
            .enumerate()
            .map(|(k, x)| x - g * under.get(k + 1).copied().unwrap_or(0.0))
            .collect();
        (over, under) = (under, rest);
    }
    from_load.reverse();
    from_load
}
