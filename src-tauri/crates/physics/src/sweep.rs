//! An impedance sweep: rows of frequency, magnitude and, where it was measured, phase; its peaks
//! and the dips between them.

use domain::sweep::BadSweep;
pub use domain::sweep::Point as SweepRow;

use crate::error::{PhysicsError, Result};

/// A peak counts when it is this many times the higher of the two dips beside it; noise makes lower
/// ones.
const PROMINENCE: f64 = 1.1;

/// A peak of |Z| or the lowest point of a dip, refined between rows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SweepPeak {
    /// Where it lies, Hz.
    pub f_hz: f64,
    /// |Z| there, ohm.
    pub z_ohm: f64,
}

/// Refuses rows that cannot be a sweep: none, frequencies that do not rise, magnitudes that are not
/// positive, phases beyond ±180° or in some rows only.
///
/// # Errors
/// `OutOfDomain` naming the first row at fault as in `sweep[3]`, counted from 0; its message counts from
/// 1.
pub fn check_rows(rows: &[SweepRow]) -> Result<()> {
    if rows.is_empty() {
        return Err(PhysicsError::out_of_domain("sweep", "it has no rows"));
    }
    domain::sweep::check_points(rows).map_err(|why| {
        let field = match &why {
            BadSweep::OutOfDomain { number, .. }
            | BadSweep::NotRising { number, .. }
            | BadSweep::MixedPhase { number } => format!("sweep[{}]", number.saturating_sub(1)),
            _ => "sweep".to_owned(),
        };
        PhysicsError::out_of_domain(field, why.to_string())
    })
}

/// The peaks of a sweep in rising frequency: 1.1 times the higher of the two dips beside them, each
/// refined by a parabola through three rows in log f and log |Z|. The first and the last row are no
/// peaks. Give rows that [`check_rows`] accepts.
#[must_use]
pub fn peaks(rows: &[SweepRow]) -> Vec<SweepPeak> {
    peak_rows(rows).into_iter().map(|at| refined(rows, at)).collect()
}

/// The lowest |Z| between two peaks, refined as the peaks are; the lower of the two peaks when no
/// row lies between them. Give rows that [`check_rows`] accepts.
#[must_use]
pub fn saddle(rows: &[SweepRow], below: &SweepPeak, above: &SweepPeak) -> SweepPeak {
    (0..rows.len())
        .filter(|&at| below.f_hz < rows[at].f_hz && rows[at].f_hz < above.f_hz)
        .min_by(|&a, &b| rows[a].z_ohm.total_cmp(&rows[b].z_ohm))
        .map_or(if below.z_ohm < above.z_ohm { *below } else { *above }, |at| refined(rows, at))
}

/// Indices of the inner rows that stand out as peaks.
pub(crate) fn peak_rows(rows: &[SweepRow]) -> Vec<usize> {
    (1..rows.len().saturating_sub(1))
        .filter(|&at| {
            let z = rows[at].z_ohm;
            // A flat top counts once, by its first row.
            if rows[at - 1].z_ohm >= z || rows[at + 1].z_ohm > z {
                return false;
            }
            let dip = dip(rows[..at].iter().rev(), |side| side >= z)
                .max(dip(rows[at + 1..].iter(), |side| side > z));
            z >= PROMINENCE * dip
        })
        .collect()
}

/// The lowest |Z| on the way out from a row until `higher` ground or the end of the sweep.
fn dip<'a>(side: impl Iterator<Item = &'a SweepRow>, higher: impl Fn(f64) -> bool) -> f64 {
    side.map(|row| row.z_ohm).take_while(|&z| !higher(z)).fold(f64::INFINITY, f64::min)
}

/// The extremum of the parabola through the rows around `at`; the row itself where it has no two
/// neighbours or the three lie on a line.
pub(crate) fn refined(rows: &[SweepRow], at: usize) -> SweepPeak {
    let row = SweepPeak { f_hz: rows[at].f_hz, z_ohm: rows[at].z_ohm };
    if at == 0 || at + 1 >= rows.len() {
        return row;
    }
    let [(x0, y0), (x1, y1), (x2, y2)] =
        [at - 1, at, at + 1].map(|n| (rows[n].f_hz.ln(), rows[n].z_ohm.ln()));
    let left = (y1 - y0) / (x1 - x0);
    let right = (y2 - y1) / (x2 - x1);
    let curvature = (right - left) / (x2 - x0);
    let x = (x0 + x1) / 2.0 - left / (2.0 * curvature);
    // Outside the rows there is no extremum of theirs; a curvature of 0 ends here too.
    if !(x0..=x2).contains(&x) {
        return row;
    }
    let y = y0 + left * (x - x0) + curvature * (x - x0) * (x - x1);
    SweepPeak { f_hz: x.exp(), z_ohm: y.exp() }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rows(values: &[(f64, f64)]) -> Vec<SweepRow> {
        values.iter().map(|&(f_hz, z_ohm)| SweepRow { f_hz, z_ohm, phase_deg: None }).collect()
    }

    #[test]
    fn peaks_stand_out_and_a_flat_top_counts_once() {
        let flat = rows(&[(20.0, 6.0), (30.0, 30.0), (40.0, 30.0), (50.0, 7.0), (60.0, 7.5)]);
        let found = peaks(&flat);
        assert_eq!(found.len(), 1);
        // Between its two highest rows; the parabola is taken around the first.
        assert!(30.0 < found[0].f_hz && found[0].f_hz < 40.0, "{found:?}");
        assert!(found[0].z_ohm >= 30.0, "{found:?}");
        let ripple = rows(&[(20.0, 6.0), (30.0, 6.5), (40.0, 6.0), (50.0, 6.5), (60.0, 7.0)]);
        assert_eq!(peaks(&ripple), []);
        assert_eq!(peaks(&[]), []);
    }

    #[test]
    fn a_parabola_in_the_logarithms_is_found_exactly() {
        // ln|Z| = 3 − 4·(ln f − ln 47)², and its mirror image for the dip.
        let at = |f: f64, sign: f64| (f, (3.0 - sign * 4.0 * (f / 47.0).ln().powi(2)).exp());
        let hill = peaks(&rows(&[20.0, 40.0, 50.0, 90.0].map(|f| at(f, 1.0))));
        assert_eq!(hill.len(), 1);
        assert!((hill[0].f_hz - 47.0).abs() < 1e-9 && (hill[0].z_ohm.ln() - 3.0).abs() < 1e-12);
        let valley = rows(&[20.0, 40.0, 50.0, 90.0].map(|f| at(f, -1.0)));
        let edge = |f_hz| SweepPeak { f_hz, z_ohm: 100.0 };
        let low = saddle(&valley, &edge(20.0), &edge(90.0));
        assert!((low.f_hz - 47.0).abs() < 1e-9 && (low.z_ohm.ln() - 3.0).abs() < 1e-12);
    }

    #[test]
    fn a_saddle_without_rows_is_the_lower_peak() {
        let (a, b) = (SweepPeak { f_hz: 21.0, z_ohm: 9.0 }, SweepPeak { f_hz: 22.0, z_ohm: 8.0 });
        assert_eq!(saddle(&rows(&[(20.0, 7.0), (30.0, 7.0)]), &a, &b), b);
    }
}
