//! A sweep as residuals: a circuit's impedance against the measured one, as a share of it.

use std::f64::consts::{FRAC_PI_2, TAU};
use std::marker::PhantomData;

use num_complex::Complex64;

use super::Fixed;
use super::levenberg::Residuals;
use crate::error::{PhysicsError, Result};
use crate::sweep::{SweepRow, check_rows};

/// The fewest rows of a fit.
const MIN_ROWS: usize = 20;

/// One row with what every evaluation needs of it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Row {
    pub(super) f_hz: f64,
    pub(super) per_f_s: f64,
    /// ln(f/reference).
    pub(super) ln_f: f64,
    /// |Z| measured.
    pub(super) z_ohm: f64,
    per_z: f64,
    /// Z/|Z| measured; without meaning in a sweep without phase.
    unit: Complex64,
}

impl Row {
    /// Measured impedance.
    pub(super) fn z(&self) -> Complex64 {
        self.z_ohm * self.unit
    }
}

/// A circuit with `P` parameters, set to some values of them.
pub(super) trait Circuit<const P: usize> {
    fn at(x: &[f64; P]) -> Self;

    /// Impedance at a row and its derivatives to the parameters.
    fn impedance(&self, row: &Row) -> (Complex64, [Complex64; P]);
}

/// A sweep, prepared.
pub(super) struct Measured<C> {
    pub(super) rows: Vec<Row>,
    /// Real and imaginary part of each row count, not the magnitude alone.
    pub(super) with_phase: bool,
    /// ln ω of the frequency to which the coil is referred. |K(jω)ⁿ| there is nearly independent of
    /// n; at 1 rad/s, K and n are all but one parameter.
    pub(super) ln_w_reference: f64,
    circuit: PhantomData<C>,
}

impl<C> Measured<C> {
    /// From rows that [`check`] accepts.
    pub(super) fn new(rows: &[SweepRow]) -> Self {
        let reference = rows.last().map_or(1.0, |row| row.f_hz / 4.0);
        let with_phase = rows.iter().all(|row| row.phase_deg.is_some());
        let row = |row: &SweepRow| {
            let (sin, cos) = row.phase_deg.unwrap_or(0.0).to_radians().sin_cos();
            Row {
                f_hz: row.f_hz,
                per_f_s: 1.0 / row.f_hz,
                ln_f: (row.f_hz / reference).ln(),
                z_ohm: row.z_ohm,
                per_z: 1.0 / row.z_ohm,
                unit: Complex64::new(cos, sin),
            }
        };
        Self {
            rows: rows.iter().map(row).collect(),
            with_phase,
            ln_w_reference: (TAU * reference).ln(),
            circuit: PhantomData,
        }
    }
}

impl<const P: usize, C: Circuit<P>> Residuals<P> for Measured<C> {
    fn count(&self) -> usize {
        if self.with_phase { 2 * self.rows.len() } else { self.rows.len() }
    }

    fn visit(&self, x: &[f64; P], mut each: impl FnMut(f64, &[f64; P])) {
        let circuit = C::at(x);
        if self.with_phase {
            for row in &self.rows {
                let (z, gradient) = circuit.impedance(row);
                let miss = z * row.per_z - row.unit;
                each(miss.re, &gradient.map(|it| it.re * row.per_z));
                each(miss.im, &gradient.map(|it| it.im * row.per_z));
            }
        } else {
            for row in &self.rows {
                let (z, gradient) = circuit.impedance(row);
                let size = z.norm_sqr().sqrt();
                let scale = row.per_z / size;
                let along = gradient.map(|it| (z.re * it.re + z.im * it.im) * scale);
                each(size * row.per_z - 1.0, &along);
            }
        }
    }
}

/// Refuses rows that cannot be fitted.
///
/// # Errors
/// `Inconsistent` for phase in some rows only; `OutOfDomain` for rows that cannot be a sweep or are
/// fewer than 20.
pub(super) fn check(rows: &[SweepRow]) -> Result<()> {
    let with_phase = rows.iter().filter(|row| row.phase_deg.is_some()).count();
    if with_phase != 0 && with_phase != rows.len() {
        return Err(PhysicsError::inconsistent(
            "sweep",
            "phase must stand in all rows of a sweep or in none",
        ));
    }
    check_rows(rows)?;
    if rows.len() < MIN_ROWS {
        return Err(PhysicsError::out_of_domain(
            "sweep",
            format!("{} rows; a fit needs at least {MIN_ROWS}", rows.len()),
        ));
    }
    Ok(())
}

/// The coil K(jω)ⁿ at parameters ln|K(jω)ⁿ| at the reference and n.
pub(super) struct CoilAt {
    ln_size: f64,
    n: f64,
    turn: Complex64,
}

impl CoilAt {
    pub(super) fn new(ln_size: f64, n: f64) -> Self {
        let (sin, cos) = (n * FRAC_PI_2).sin_cos();
        Self { ln_size, n, turn: Complex64::new(cos, sin) }
    }

    /// Impedance at a row, and its derivative to n; that to `ln_size` is the impedance itself.
    pub(super) fn impedance(&self, row: &Row) -> (Complex64, Complex64) {
        let z = (self.ln_size + self.n * row.ln_f).exp() * self.turn;
        (z, z * Complex64::new(row.ln_f, FRAC_PI_2))
    }
}

/// Start values of the coil, ln|K(jω)ⁿ| at the reference and n: a line through ln|coil| over ln f,
/// the coil being what `rest`, the impedance without it, leaves of the measured one above
/// `above_hz`. Without phase that depends on n, and the line is drawn again with the n found. n is
/// as given or kept from 0.55 to 0.95.
pub(super) fn coil_start<C>(
    sweep: &Measured<C>,
    n: Option<f64>,
    above_hz: f64,
    rest: impl Fn(&Row) -> Complex64,
) -> (f64, f64) {
    let first = sweep.rows.partition_point(|row| row.f_hz < above_hz);
    let rows = &sweep.rows[first..];
    let mut exponent = n.unwrap_or(0.7);
    // Where no row shows a coil, a twentieth of the last |Z|.
    let mut ln_size = rows.last().map_or(0.0, |row| (0.05 * row.z_ohm).ln() - exponent * row.ln_f);
    for _ in 0..if sweep.with_phase { 1 } else { 2 } {
        let (sin, cos) = (exponent * FRAC_PI_2).sin_cos();
        let (mut count, mut sx, mut sy, mut sxx, mut sxy) = (0.0, 0.0, 0.0, 0.0, 0.0);
        for row in rows {
            let rest = rest(row);
            let size = if sweep.with_phase {
                (row.z() - rest).norm()
            } else {
                // |rest + size·turn| = |Z|, solved for the size.
                let along = rest.re * cos + rest.im * sin;
                let under = along * along + row.z_ohm * row.z_ohm - rest.norm_sqr();
                under.max(0.0).sqrt() - along
            };
            // A coil that is small against the rest is lost in the rest's errors.
            if size > 0.3 * rest.norm() {
                let (x, y) = (row.ln_f, size.ln());
                count += 1.0;
                sx += x;
                sy += y;
                sxx += x * x;
                sxy += x * y;
            }
        }
        if count < 1.0 {
            break;
        }
        let spread = count * sxx - sx * sx;
        if n.is_none() && count > 2.0 && spread > 0.0 {
            exponent = ((count * sxy - sx * sy) / spread).clamp(0.55, 0.95);
        }
        ln_size = (sy - exponent * sx) / count;
    }
    (ln_size, exponent)
}

impl Fixed {
    /// Refuses values out of their domain.
    pub(super) fn check(&self) -> Result<()> {
        if let Some(re) = self.re_ohm {
            crate::error::positive("re_ohm", re)?;
        }
        match self.n {
            Some(n) if !(0.5..=1.0).contains(&n) => {
                Err(PhysicsError::out_of_domain("n", format!("{n} is not from 0.5 to 1")))
            }
            _ => Ok(()),
        }
    }
}
