//! The box that gives a driver the quasi-Butterworth response of third order (QB3).

use super::{Leak, VentedBox};
use crate::error::{PhysicsError, Result, positive, positive_result};

/// What rounding leaves of c₃ at the end of the family, where it is 0.
const ROUNDING: f64 = 1e-6;
/// Steps of the scan for a bracket, each 10 % up: from half the lossless tuning to 12 times it.
const SCAN: u32 = 33;

/// A quasi-Butterworth alignment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct QuasiButterworth {
    /// Tuning ratio fB/fs.
    pub h: f64,
    /// Compliance ratio Vas/Vb.
    pub alpha: f64,
    /// f₃/fs.
    pub f3_ratio: f64,
}

/// The QB3 alignment for a driver of total Q `qts` (series resistance included) in a box with `leak`:
/// a₁² = 2a₂ and a₂² + 2 = 2a₁a₃, so that |G|⁻² = 1 + c₃v³ + v⁴ with v = (f₀/f)² and c₃ ≥ 0.
///
/// With A = 1/Qts and l = 1/QL the second condition is a quartic in h,
/// (A + lh)⁴ = 8h²(A² + l² − 1) + 8Al(h³ + h), whose lowest root is the alignment; the first then
/// gives α. The family ends where c₃ = 0, the fourth-order Butterworth alignment. The pocket formulas
/// in powers of Qts are not this alignment. Sources: Thiele 1971; Small 1973 (from memory).
///
/// # Errors
/// `OutOfDomain` when Qts or QL is not positive and finite; `NotApplicable` when Qts is above that of
/// the Butterworth alignment (0.383 without a leak, 0.405 with QL = 7).
///
/// ```
/// use physics::box_vented::{Leak, alignment::quasi_butterworth};
/// let qb3 = quasi_butterworth(0.35, Leak::Ql(7.0))?;
/// assert!((qb3.h - 1.1394997).abs() < 1e-6);
/// # Ok::<(), physics::PhysicsError>(())
/// ```
pub fn quasi_butterworth(qts: f64, leak: Leak) -> Result<QuasiButterworth> {
    let a = 1.0 / positive("qts", qts)?;
    let l = match leak {
        Leak::Lossless => 0.0,
        Leak::Ql(ql) => 1.0 / positive("ql", ql)?,
    };
    if a <= 1.0 {
        return Err(no_such_box(qts));
    }
    // Divided by A⁴, so that a tiny Qts overflows nothing.
    let (l, inv_a2) = (l / a, 1.0 / (a * a));
    let short_of = |h: f64| {
        let rest = h * (1.0 + l * l - inv_a2) + l * (h * h + 1.0);
        (1.0 + l * h).powi(4) - 8.0 * h * inv_a2 * rest
    };
    let lossless = positive_result("h", a / (8.0 * (1.0 - inv_a2)).sqrt())?;
    let mut low = lossless / 2.0;
    let mut high = low;
    for _ in 0..SCAN {
        (low, high) = (high, high * 1.1);
        if short_of(high) <= 0.0 {
            break;
        }
    }
    if short_of(high) > 0.0 {
        return Err(PhysicsError::not_converged(format!(
            "no tuning gives a driver of Qts {qts} a quasi-Butterworth response with so large a leak"
        )));
    }
    let h = root(short_of, low, high);
    let leak_rate = l * a;
    let half_a1_squared = (a / h.sqrt() + leak_rate * h.sqrt()).powi(2) / 2.0;
    let alpha = h * (half_a1_squared - leak_rate * a) - 1.0 - h * h;
    if alpha.is_nan() || alpha <= 0.0 {
        return Err(no_such_box(qts));
    }
    let boxed = VentedBox::new(1.0, qts, alpha, 1.0, h, leak)?;
    if boxed.a3 * boxed.a3 - 2.0 * boxed.a2 < -ROUNDING * boxed.a2 {
        return Err(no_such_box(qts));
    }
    Ok(QuasiButterworth { h, alpha, f3_ratio: boxed.f3_hz })
}

/// Where a falling curve passes 0, by bisection to the last bit.
fn root(curve: impl Fn(f64) -> f64, mut low: f64, mut high: f64) -> f64 {
    loop {
        let middle = low + (high - low) / 2.0;
        if middle <= low || middle >= high {
            return high;
        }
        if curve(middle) > 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
}

fn no_such_box(qts: f64) -> PhysicsError {
    PhysicsError::not_applicable(format!(
        "no box gives a driver of Qts {qts} a quasi-Butterworth response; Qts must not exceed that of \
         the fourth-order Butterworth alignment (0.383 without a leak, 0.405 with QL = 7)"
    ))
}
