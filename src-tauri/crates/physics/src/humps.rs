//! A vented box read off the two peaks of its impedance.
//!
//! The dip between the peaks lies at the tuning, to about 0.3 %; what follows from the three
//! frequencies carries 2 to 3 %. They are the start of a fit of the whole circuit, which is better.
//! Sources: A. N. Thiele, "Loudspeakers in Vented Boxes", JAES 19(5, 6), 1971, and R. H. Small,
//! "Vented-Box Loudspeaker Systems", JAES 21(5), 1973 (both from memory); the formula for QL was
//! derived again from the circuit.

use crate::error::{PhysicsError, Result, positive, positive_result};
use crate::sweep::{SweepPeak, SweepRow, check_rows, peaks, saddle};

/// A peak of a box counts when it is this many times Re (common practice, no source).
const CLEAR_PEAK: f64 = 1.5;

/// The two peaks of a vented box and the dip between.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HumpReading {
    /// The lower peak.
    pub low: SweepPeak,
    /// The dip.
    pub dip: SweepPeak,
    /// The upper peak.
    pub high: SweepPeak,
}

/// What [`box_from_humps`] reads.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Humps {
    /// Frequency of the lower peak, Hz.
    pub fl_hz: f64,
    /// Frequency of the dip between the peaks, Hz.
    pub fm_hz: f64,
    /// Frequency of the upper peak, Hz.
    pub fh_hz: f64,
    /// Voice-coil resistance at direct current, ohm.
    pub re_ohm: f64,
    /// |Z| at the dip, ohm.
    pub z_at_fm_ohm: f64,
    /// Electrical Q of the driver at its own resonance.
    pub qes: f64,
    /// Mechanical Q of the driver at its own resonance.
    pub qms: f64,
}

/// A vented box as its impedance shows it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BoxFromHumps {
    /// Tuning frequency, Hz.
    pub fb_hz: f64,
    /// Resonance of the driver in this box, without the stiffness of its air, Hz.
    pub f_sb_hz: f64,
    /// Compliance ratio Vas/Vb.
    pub alpha: f64,
    /// Leakage Q at the tuning frequency.
    pub ql: f64,
}

/// Finds the two peaks and the dip of a sweep.
///
/// # Errors
/// `OutOfDomain` for rows that cannot be a sweep; `NotApplicable` when there are fewer or more than
/// two peaks, with what to do.
pub fn humps(rows: &[SweepRow]) -> Result<HumpReading> {
    check_rows(rows)?;
    match *peaks(rows).as_slice() {
        [low, high] => Ok(HumpReading { low, dip: saddle(rows, &low, &high), high }),
        [] => Err(PhysicsError::not_applicable(
            "the sweep has no peak; a vented box has two. Sweep from 10 Hz up, with enough points \
             below 200 Hz",
        )),
        [one] => Err(PhysicsError::not_applicable(format!(
            "the sweep has one peak, at {:.1} Hz; a vented box has two. Treat the box as closed, or, \
             if it has a port, look whether the port is blocked, the box leaks, or the sweep starts \
             too high",
            one.f_hz
        ))),
        ref more => Err(PhysicsError::not_applicable(format!(
            "the sweep has {} peaks; a vented box has two. Look for a passive radiator, a leak \
             between chambers, a second driver on the terminals, or noise, and sweep again",
            more.len()
        ))),
    }
}

impl HumpReading {
    /// The reading with what is known of the driver: Re in ohm, and Q at its own resonance.
    ///
    /// # Errors
    /// `OutOfDomain` when Re is not positive; `NotApplicable` when a peak is not above 1.5·Re.
    pub fn of(&self, re_ohm: f64, qes: f64, qms: f64) -> Result<Humps> {
        let re = positive("re_ohm", re_ohm)?;
        for peak in [self.low, self.high] {
            if peak.z_ohm <= CLEAR_PEAK * re {
                return Err(PhysicsError::not_applicable(format!(
                    "the peak at {:.1} Hz is {:.2} ohm, not above {CLEAR_PEAK} times Re: too low to \
                     be one of a vented box's two",
                    peak.f_hz, peak.z_ohm
                )));
            }
        }
        Ok(Humps {
            fl_hz: self.low.f_hz,
            fm_hz: self.dip.f_hz,
            fh_hz: self.high.f_hz,
            re_ohm: re,
            z_at_fm_ohm: self.dip.z_ohm,
            qes,
            qms,
        })
    }
}

/// The box behind two peaks: fB = fM; fSB = fL·fH/fB; α = (fH² − fB²)(fB² − fL²)/(fH²·fL²);
/// QL = (hs/α)·(1/(Qes·(rM − 1)) − 1/Qms), with hs = fB/fSB and rM = |Z|(fM)/Re.
///
/// # Errors
/// `OutOfDomain` unless all values are positive and finite, fL < fM < fH and |Z| at the dip is above
/// Re; `Inconsistent` when the dip is as high as the driver alone would reach, which no leak explains.
///
/// ```
/// use physics::humps::{Humps, box_from_humps};
/// let read = box_from_humps(&Humps {
///     fl_hz: 25.79404, fm_hz: 42.07171, fh_hz: 69.45731, re_ohm: 5.6, z_at_fm_ohm: 6.90202,
///     qes: 0.5728745, qms: 4.47828995,
/// })?;
/// assert!((read.alpha - 1.05118).abs() < 1e-5);
/// # Ok::<(), physics::PhysicsError>(())
/// ```
pub fn box_from_humps(humps: &Humps) -> Result<BoxFromHumps> {
    let fl = positive("fl_hz", humps.fl_hz)?;
    let fb = positive("fm_hz", humps.fm_hz)?;
    let fh = positive("fh_hz", humps.fh_hz)?;
    let re = positive("re_ohm", humps.re_ohm)?;
    let z = positive("z_at_fm_ohm", humps.z_at_fm_ohm)?;
    let (qes, qms) = (positive("qes", humps.qes)?, positive("qms", humps.qms)?);
    if !(fl < fb && fb < fh) {
        return Err(PhysicsError::out_of_domain("fm_hz", "it does not lie between fl and fh"));
    }
    if z <= re {
        return Err(PhysicsError::out_of_domain("z_at_fm_ohm", "it is not above re_ohm"));
    }
    let f_sb = positive_result("f_sb_hz", fl / fb * fh)?;
    // (fH²−fB²)/fH² and (fB²−fL²)/fL², each without the difference of two squares.
    let (over, under) = (fb / fh, fb / fl);
    let alpha = (1.0 - over) * (1.0 + over) * (under - 1.0) * (under + 1.0);
    let alpha = positive_result("alpha", alpha)?;
    let loss = 1.0 / (qes * (z / re - 1.0)) - 1.0 / qms;
    if loss <= 0.0 {
        return Err(PhysicsError::inconsistent(
            "z_at_fm_ohm",
            "|Z| at the dip against Re·(1 + Qms/Qes), the driver's own peak, which it must stay below",
        ));
    }
    Ok(BoxFromHumps {
        fb_hz: fb,
        f_sb_hz: f_sb,
        alpha,
        ql: positive_result("ql", fb / f_sb / alpha * loss)?,
    })
}

/// The tuning from the two peaks and the resonance with the port blocked, Hz:
/// fB = √(fL² + fH² − fC²). Exact without losses; a leak of QL = 7 puts it about 1 % high, so the dip
/// is the better reading.
///
/// # Errors
/// `OutOfDomain` unless all are positive and finite, fL < fH and fC lies below √(fL² + fH²).
pub fn tuning_from_blocked_port_hz(fl_hz: f64, fh_hz: f64, fc_hz: f64) -> Result<f64> {
    let fl = positive("fl_hz", fl_hz)?;
    let fh = positive("fh_hz", fh_hz)?;
    let fc = positive("fc_hz", fc_hz)?;
    if fl >= fh {
        return Err(PhysicsError::out_of_domain("fl_hz", "it is not below fh_hz"));
    }
    let diagonal = fl.hypot(fh);
    if fc >= diagonal {
        return Err(PhysicsError::out_of_domain(
            "fc_hz",
            format!("{fc} Hz is not below {diagonal:.2} Hz, the root of fl² + fh²"),
        ));
    }
    positive_result("fb_hz", (diagonal - fc).sqrt() * (diagonal + fc).sqrt())
}
