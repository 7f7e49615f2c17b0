//! fs and Q read off an impedance sweep by the half-power method.
//!
//! The first reading of a sweep, and the starting point of a fit. A coil inductance biases Q by
//! under 1 %. Source: R. H. Small, "Direct-Radiator Loudspeaker System Analysis", JAES 20(5), 1972,
//! on measurement (section from memory).

use crate::error::{PhysicsError, Result, positive, positive_result};
use crate::sweep::{SweepPeak, SweepRow, check_rows, peak_rows, refined};

/// fs and Q by half power.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HalfPower {
    /// Resonance, Hz.
    pub fs_hz: f64,
    /// |Z| at resonance, ohm.
    pub r_max_ohm: f64,
    /// Where |Z| = √(Rmax·Re) below fs, Hz.
    pub f1_hz: f64,
    /// Where |Z| = √(Rmax·Re) above fs, Hz.
    pub f2_hz: f64,
    /// Mechanical Q.
    pub qms: f64,
    /// Electrical Q.
    pub qes: f64,
    /// Total Q.
    pub qts: f64,
    /// √(f1·f2)/fs − 1. Beyond 0.02 the coil, a leak or noise disturbs the reading (common
    /// practice, no source).
    pub asymmetry: f64,
}

impl HalfPower {
    /// From the readings themselves: r₀ = Rmax/Re, Qms = fs·√r₀/(f2 − f1), Qes = Qms/(r₀ − 1),
    /// Qts = Qms/r₀.
    ///
    /// # Errors
    /// `OutOfDomain` when a reading is not positive, Rmax is not above Re, or f1 < fs < f2 does not
    /// hold.
    ///
    /// ```
    /// use physics::half_power::HalfPower;
    /// let read = HalfPower::from_readings(42.5, 45.6, 5.6, 30.4476774, 59.3230799)?;
    /// assert!((read.qms - 4.2).abs() < 1e-6);
    /// # Ok::<(), physics::PhysicsError>(())
    /// ```
    pub fn from_readings(
        fs_hz: f64,
        r_max_ohm: f64,
        re_ohm: f64,
        f1_hz: f64,
        f2_hz: f64,
    ) -> Result<Self> {
        let fs = positive("fs_hz", fs_hz)?;
        let r0 = positive("r_max_ohm", r_max_ohm)? / positive("re_ohm", re_ohm)?;
        let (f1, f2) = (positive("f1_hz", f1_hz)?, positive("f2_hz", f2_hz)?);
        if r0 <= 1.0 {
            return Err(PhysicsError::out_of_domain("r_max_ohm", "it is not above re_ohm"));
        }
        if !(f1 < fs && fs < f2) {
            return Err(PhysicsError::out_of_domain("fs_hz", "it does not lie between f1 and f2"));
        }
        let qms = positive_result("qms", fs * r0.sqrt() / (f2 - f1))?;
        Ok(Self {
            fs_hz: fs,
            r_max_ohm,
            f1_hz: f1,
            f2_hz: f2,
            qms,
            qes: positive_result("qes", qms / (r0 - 1.0))?,
            qts: positive_result("qts", qms / r0)?,
            asymmetry: f1.sqrt() * f2.sqrt() / fs - 1.0,
        })
    }

    /// From a sweep and the direct-current resistance `re_ohm`. The peak is refined by a parabola
    /// through three rows in log f and log |Z|; the half-power points are interpolated between rows
    /// the same way, on a straight line.
    ///
    /// # Errors
    /// `OutOfDomain` for rows that cannot be a sweep; `NotApplicable` when there are two or more
    /// peaks, as a vented box gives; `NotConverged` when there is no peak above Re or a half-power
    /// point is outside the sweep.
    pub fn from_sweep(rows: &[SweepRow], re_ohm: f64) -> Result<Self> {
        check_rows(rows)?;
        let re = positive("re_ohm", re_ohm)?;
        let peak = match peak_rows(rows).as_slice() {
            [] => return Err(PhysicsError::not_converged("the sweep has no resonance peak")),
            [one] => *one,
            more => {
                return Err(PhysicsError::not_applicable(format!(
                    "the sweep has {} peaks; the half-power method needs one",
                    more.len()
                )));
            }
        };
        let SweepPeak { f_hz: fs_hz, z_ohm: r_max_ohm } = refined(rows, peak);
        if r_max_ohm <= re {
            return Err(PhysicsError::not_converged("no bracket: the peak is not above re_ohm"));
        }
        let level = (r_max_ohm * re).sqrt();
        let below = rows[..=peak].iter().rev();
        let f1_hz = first_crossing(below, level).ok_or_else(|| outside("below"))?;
        let f2_hz = first_crossing(rows[peak..].iter(), level).ok_or_else(|| outside("above"))?;
        Self::from_readings(fs_hz, r_max_ohm, re, f1_hz, f2_hz)
    }
}

fn outside(side: &str) -> PhysicsError {
    PhysicsError::not_converged(format!(
        "no bracket: the half-power point {side} resonance is outside the sweep"
    ))
}

/// Where |Z|, walking away from the peak, first falls through `level`.
fn first_crossing<'a>(rows: impl Iterator<Item = &'a SweepRow>, level: f64) -> Option<f64> {
    let mut inner: Option<&SweepRow> = None;
    for outer in rows {
        if outer.z_ohm <= level {
            let inner = inner?;
            let share = (inner.z_ohm / level).ln() / (inner.z_ohm / outer.z_ohm).ln();
            return Some(inner.f_hz * (outer.f_hz / inner.f_hz).powf(share));
        }
        inner = Some(outer);
    }
    None
}
