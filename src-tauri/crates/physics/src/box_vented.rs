//! Vented box: the fourth-order response of a driver in a ported enclosure with a leak.
//!
//! Assumes a box small against the wavelength and a port that acts as a mass. Source: R. H. Small,
//! "Vented-Box Loudspeaker Systems Part I", JAES 21(5) 363-372, June 1973 (equation numbers from
//! memory); the coefficients were derived again from the acoustic circuit. Measured box Q is
//! typically 5 to 10, and 7 is a good start for boxes of 25 to 100 L (Small 1973, Part III).

pub mod alignment;

use std::f64::consts::TAU;

use crate::error::{PhysicsError, Result, finite_result, positive, positive_result};

/// The leakage Q assumed when none is known.
pub const QL_ASSUMED: f64 = 7.0;

/// Losses of the box through leaks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Leak {
    /// A box without loss: the ideal of the alignment tables.
    Lossless,
    /// Leakage Q at the tuning frequency.
    Ql(f64),
}

/// A driver in a vented box, as its normalised fourth-order high-pass
/// G = S⁴/(S⁴ + a₁S³ + a₂S² + a₃S + 1), S = jω/(2πfs√h).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct VentedBox {
    /// Compliance ratio Vas/Vb.
    pub alpha: f64,
    /// Tuning ratio fB/fs.
    pub h: f64,
    /// Coefficient of S³.
    pub a1: f64,
    /// Coefficient of S².
    pub a2: f64,
    /// Coefficient of S.
    pub a3: f64,
    /// Frequency at half power, the highest such one, Hz.
    pub f3_hz: f64,
    /// Greatest gain above the passband, dB; 0 when there is none.
    pub ripple_db: f64,
    /// Where the greatest gain stands, Hz, when it is above the passband.
    pub f_ripple_hz: Option<f64>,
    f0_hz: f64,
}

impl VentedBox {
    /// The response from fs (Hz), Qts, Vas and Vb (m³), the tuning fB (Hz) and the leak.
    ///
    /// Put a series resistance into Qts first ([`crate::box_closed::BoxDriver::qts_with_series`]).
    ///
    /// a₁ = (QL + h·Qts)/(√h·QL·Qts); a₂ = (h + (α+1+h²)·QL·Qts)/(h·QL·Qts);
    /// a₃ = (h·QL + Qts)/(√h·QL·Qts); their limits for a lossless box.
    ///
    /// # Errors
    /// `OutOfDomain` when an input is not positive and finite.
    ///
    /// ```
    /// use physics::box_vented::{Leak, VentedBox};
    /// let b4 = VentedBox::new(40.0, 0.382683432, 0.01414213562, 0.01, 40.0, Leak::Lossless)?;
    /// assert!((b4.f3_hz - 40.0).abs() < 1e-4);
    /// # Ok::<(), physics::PhysicsError>(())
    /// ```
    pub fn new(
        fs_hz: f64,
        qts: f64,
        vas_m3: f64,
        vb_m3: f64,
        fb_hz: f64,
        leak: Leak,
    ) -> Result<Self> {
        let fs = positive("fs_hz", fs_hz)?;
        let qts = positive("qts", qts)?;
        let alpha =
            positive_result("alpha", positive("vas_m3", vas_m3)? / positive("vb_m3", vb_m3)?)?;
        let h = positive_result("h", positive("fb_hz", fb_hz)? / fs)?;
        let leak_rate = match leak {
            Leak::Lossless => 0.0,
            Leak::Ql(ql) => 1.0 / positive("ql", ql)?,
        };
        let root_h = h.sqrt();
        let a1 = positive_result("a1", 1.0 / (root_h * qts) + root_h * leak_rate)?;
        let a2 = positive_result("a2", leak_rate / qts + (alpha + 1.0 + h * h) / h)?;
        let a3 = positive_result("a3", root_h / qts + leak_rate / root_h)?;
        let f0_hz = positive_result("f0_hz", fs * root_h)?;
        let loss = InversePower::new(a1, a2, a3)?;
        let half_power = loss.first_crossing(2.0)?;
        let f3_hz = positive_result("f3_hz", f0_hz / half_power.sqrt())?;
        let (ripple_db, f_ripple_hz) = match loss.least() {
            Some((v, power)) => (
                finite_result("ripple_db", -10.0 * power.log10())?,
                Some(positive_result("f_ripple_hz", f0_hz / v.sqrt())?),
            ),
            None => (0.0, None),
        };
        Ok(Self { alpha, h, a1, a2, a3, f3_hz, ripple_db, f_ripple_hz, f0_hz })
    }

    /// Gain at `f_hz` against the passband, dB.
    ///
    /// # Errors
    /// `OutOfDomain` when `f_hz` is not positive and finite, or so low that the gain is beyond
    /// numbers.
    pub fn gain_db(&self, f_hz: f64) -> Result<f64> {
        let y = self.f0_hz / positive("f_hz", f_hz)?;
        let real = 1.0 - self.a2 * y * y + y.powi(4);
        let imaginary = y * (self.a3 * y * y - self.a1);
        finite_result("gain_db", -20.0 * real.hypot(imaginary).log10())
    }
}

/// |G|⁻² as a polynomial in v = (f₀/f)²: 1 + c₁v + c₂v² + c₃v³ + v⁴.
///
/// Its critical points are the roots of a cubic, so half power and the peak are bracketed exactly:
/// between two critical points the curve is monotone, and no narrow feature can be stepped over.
struct InversePower {
    c1: f64,
    c2: f64,
    c3: f64,
    /// Positive critical points, ascending.
    critical: Vec<f64>,
}

impl InversePower {
    fn new(a1: f64, a2: f64, a3: f64) -> Result<Self> {
        let c1 = finite_result("a1", a1 * a1 - 2.0 * a2)?;
        let c2 = finite_result("a2", a2 * a2 + 2.0 - 2.0 * a1 * a3)?;
        let c3 = finite_result("a3", a3 * a3 - 2.0 * a2)?;
        let mut critical = cubic_roots(0.75 * c3, 0.5 * c2, 0.25 * c1);
        critical.retain(|v| v.is_finite() && *v > 0.0);
        critical.sort_by(f64::total_cmp);
        Ok(Self { c1, c2, c3, critical })
    }

    fn at(&self, v: f64) -> f64 {
        (((v + self.c3) * v + self.c2) * v + self.c1) * v + 1.0
    }

    /// The smallest v, so the highest frequency, at which the curve reaches `level` (> 1).
    fn first_crossing(&self, level: f64) -> Result<f64> {
        let mut below = 0.0;
        for &v in &self.critical {
            if self.at(v) >= level {
                return Ok(self.bisect(below, v, level));
            }
            below = v;
        }
        let mut above = below.max(1.0);
        while self.at(above) < level {
            above *= 2.0;
            if !above.is_finite() {
                return Err(PhysicsError::not_converged("no frequency at half power"));
            }
        }
        Ok(self.bisect(below, above, level))
    }

    fn bisect(&self, mut below: f64, mut above: f64, level: f64) -> f64 {
        loop {
            let middle = below + (above - below) / 2.0;
            if middle <= below || middle >= above {
                return above;
            }
            if self.at(middle) < level {
                below = middle;
            } else {
                above = middle;
            }
        }
    }

    /// The lowest point under 1, where there is one.
    fn least(&self) -> Option<(f64, f64)> {
        self.critical
            .iter()
            .map(|&v| (v, self.at(v)))
            .filter(|(_, power)| *power < 1.0 && *power > 0.0)
            .min_by(|a, b| a.1.total_cmp(&b.1))
    }
}

/// Real roots of v³ + b·v² + c·v + d, by the trigonometric and Cardano forms, each polished by
/// Newton steps.
fn cubic_roots(b: f64, c: f64, d: f64) -> Vec<f64> {
    let shift = b / 3.0;
    let p = c - b * shift;
    let q = 2.0 * shift.powi(3) - shift * c + d;
    let discriminant = (q / 2.0).powi(2) + (p / 3.0).powi(3);
    let roots = if discriminant > 0.0 {
        let root = discriminant.sqrt();
        // Both terms of the sum have one sign here, so nothing cancels.
        let u = if q > 0.0 { (-q / 2.0 - root).cbrt() } else { (-q / 2.0 + root).cbrt() };
        vec![u - p / (3.0 * u)]
    } else if p < 0.0 {
        let radius = 2.0 * (-p / 3.0).sqrt();
        let angle = (3.0 * q / (p * radius)).clamp(-1.0, 1.0).acos() / 3.0;
        (0..3).map(|k| radius * (angle - TAU * f64::from(k) / 3.0).cos()).collect()
    } else {
        vec![0.0]
    };
    roots.into_iter().map(|t| polish(t - shift, b, c, d)).collect()
}

fn polish(mut v: f64, b: f64, c: f64, d: f64) -> f64 {
    for _ in 0..4 {
        let value = ((v + b) * v + c) * v + d;
        let slope = (3.0 * v + 2.0 * b) * v + c;
        let next = v - value / slope;
        if !next.is_finite() {
            break;
        }
        v = next;
    }
    v
}
