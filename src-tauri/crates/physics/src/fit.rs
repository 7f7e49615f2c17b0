//! The impedance model of a driver and its fit to a sweep by least squares.
//!
//! Valid for one driver with one resonance peak: in free air, on a baffle or in a closed box. A
//! vented box has two and goes to [`vented`]. Sources: R. H. Small, "Direct-Radiator
//! Loudspeaker System Analysis", JAES 20(5), 1972 (section from memory); W. M. Leach Jr.,
//! "Loudspeaker Voice-Coil Inductance Losses", JAES 50(6) 442-450, 2002.

use std::f64::consts::{FRAC_PI_2, TAU};

use num_complex::Complex64;

use crate::error::{PhysicsError, Result, positive_result};
use crate::half_power::HalfPower;
use crate::lumped::Coil;
use crate::sweep::{SweepRow, peaks};

use levenberg::{Minimum, minimize};
use measured::{Circuit, CoilAt, Measured, Row, check, coil_start};

pub mod levenberg;
mod measured;
pub mod vented;

/// Residuals of this size, as a share of |Z|, are noise. Larger ones make the search try the other
/// starts, in case it stopped in a valley of its own.
const GOOD: f64 = 0.03;
/// The other starts' exponents of the coil.
const OTHER_N: [f64; 3] = [0.55, 0.7, 0.9];
/// Beyond this condition number of JᵀJ the sweep does not tell the parameters apart.
const MAX_CONDITION: f64 = 1e12;
/// An exponent this close to 0.5 or 1 lies on that bound.
const ON_BOUND: f64 = 1e-6;

/// Z = Re + Res/(1 + jQms(f/fs − fs/f)) + K(jω)ⁿ.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ImpedanceModel {
    /// Direct-current resistance Re, ohm.
    pub re_ohm: f64,
    /// Height of the resonance above Re, Res = BL²/Rms, ohm.
    pub res_ohm: f64,
    /// Resonance, Hz.
    pub fs_hz: f64,
    /// Mechanical Q.
    pub qms: f64,
    /// K of the lossy coil K(jω)ⁿ, ohm·sⁿ.
    pub k: f64,
    /// n of the lossy coil: 0.5 for eddy currents alone, 1 for an ideal inductance.
    pub n: f64,
}

impl ImpedanceModel {
    /// Impedance at `f_hz` above 0, ohm.
    ///
    /// ```
    /// let driver = physics::fit::ImpedanceModel {
    ///     re_ohm: 5.6, res_ohm: 40.0, fs_hz: 42.5, qms: 4.2, k: 0.02, n: 0.67,
    /// };
    /// assert!((driver.impedance(42.5).norm() - 46.02).abs() < 0.01);
    /// ```
    #[must_use]
    pub fn impedance(&self, f_hz: f64) -> Complex64 {
        let motion = Complex64::new(1.0, self.qms * (f_hz / self.fs_hz - self.fs_hz / f_hz));
        self.re_ohm + self.res_ohm / motion + self.coil().impedance(TAU * f_hz)
    }

    /// The coil beyond its resistance.
    #[must_use]
    pub fn coil(&self) -> Coil {
        Coil::Lossy { k: self.k, n: self.n }
    }

    /// Electrical Q, Qes = Qms·Re/Res.
    #[must_use]
    pub fn qes(&self) -> f64 {
        self.qms * self.re_ohm / self.res_ohm
    }

    /// Total Q, Qts = Qms·Re/(Re + Res).
    #[must_use]
    pub fn qts(&self) -> f64 {
        self.qms * self.re_ohm / (self.re_ohm + self.res_ohm)
    }

    /// Inductance that the coil shows at `f_hz`, Le = K·ωⁿ⁻¹·sin(nπ/2), H.
    #[must_use]
    pub fn le_h(&self, f_hz: f64) -> f64 {
        self.k * (TAU * f_hz).powf(self.n - 1.0) * (self.n * FRAC_PI_2).sin()
    }

    /// Resistance that the coil adds to Re at `f_hz`, K·ωⁿ·cos(nπ/2), ohm.
    #[must_use]
    pub fn r_loss_ohm(&self, f_hz: f64) -> f64 {
        self.k * (TAU * f_hz).powf(self.n) * (self.n * FRAC_PI_2).cos()
    }
}

/// Parameters that are known and not to be fitted.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Fixed {
    /// Re from a direct-current reading, ohm.
    pub re_ohm: Option<f64>,
    /// Exponent of the coil, 0.5 to 1.
    pub n: Option<f64>,
}

/// A fitted model with its uncertainty.
#[derive(Debug, Clone, PartialEq)]
pub struct ImpedanceFit {
    /// The model.
    pub model: ImpedanceModel,
    /// Standard uncertainties of Re, Res, fs, Qms, K and n; 0 for one held.
    pub u: [f64; 6],
    /// Standard uncertainty of Qes.
    pub u_qes: f64,
    /// Standard uncertainty of Qts.
    pub u_qts: f64,
    /// Covariance of the six in that order: s²(JᵀJ)⁻¹ with s² = RSS/degrees of freedom; 0 in rows
    /// and columns of one held. It holds noise only, and no error that all rows share.
    pub covariance: [[f64; 6]; 6],
    /// Sum of the squared residuals, each a share of the measured |Z|.
    pub rss: f64,
    /// Residuals less fitted parameters.
    pub degrees_of_freedom: usize,
}

impl ImpedanceFit {
    /// Correlation of two parameters, counted as in [`ImpedanceFit::u`]; none when one was held or
    /// does not exist.
    #[must_use]
    pub fn correlation(&self, i: usize, j: usize) -> Option<f64> {
        let u = self.u.get(i)? * self.u.get(j)?;
        (u > 0.0).then(|| self.covariance[i][j] / u)
    }
}

/// Fits the model to a sweep of at least 20 rows that covers fs/3 to 3·fs.
///
/// The residual of a row is (|Z|model − |Z|)/|Z|, as for noise of a constant percentage; with phase
/// it is the real and the imaginary part of (Zmodel − Z)/|Z|. Re, Res, fs, Qms and K are searched by
/// their logarithms. A row's share of noise is taken as independent of the others'.
///
/// # Errors
/// `OutOfDomain` for fewer than 20 rows, rows that cannot be a sweep, a sweep that does not cover
/// fs/3 to 3·fs, and held values that are not positive or an n not from 0.5 to 1; `Inconsistent` for
/// phase in some rows only; `NotApplicable` for two or more peaks; `NotConverged` when the search
/// fails, n ends at or beyond 0.5 or 1, or the sweep does not tell the parameters apart.
pub fn fit(rows: &[SweepRow], fixed: &Fixed) -> Result<ImpedanceFit> {
    check(rows)?;
    fixed.check()?;
    let peak_hz = single_peak_hz(rows)?;
    let sweep = Measured::<FreeDriver>::new(rows);
    let free = [fixed.re_ohm.is_none(), true, true, true, true, fixed.n.is_none()];
    let search = |n| minimize(&sweep, start(&sweep, rows, peak_hz, fixed, n), free);
    let minimum = best(search, fixed.n)?;
    check_determined(&minimum, fixed.n.is_none().then_some(5))?;
    result(&minimum, sweep.ln_w_reference)
}

/// The frequency of the one peak, which the sweep surrounds far enough.
fn single_peak_hz(rows: &[SweepRow]) -> Result<f64> {
    let narrow = |what: String| PhysicsError::out_of_domain("sweep", what);
    let peak_hz = match peaks(rows).as_slice() {
        [] => {
            return Err(narrow(
                "it shows no resonance peak; it must cover fs/3 to 3·fs".to_owned(),
            ));
        }
        [one] => one.f_hz,
        more => {
            return Err(PhysicsError::not_applicable(format!(
                "the sweep has {} peaks; this model has one, a vented box has two",
                more.len()
            )));
        }
    };
    let (first, last) = (rows[0].f_hz, rows[rows.len() - 1].f_hz);
    if first > peak_hz / 3.0 || last < peak_hz * 3.0 {
        return Err(narrow(format!(
            "it runs from {first} to {last} Hz; with a resonance at {peak_hz:.1} Hz it must cover \
             {:.1} to {:.1} Hz",
            peak_hz / 3.0,
            peak_hz * 3.0
        )));
    }
    Ok(peak_hz)
}

/// The lowest minimum of several starts: first n as read from the sweep, then, unless that fits to
/// within noise or n is held, the others.
fn best<const P: usize>(
    search: impl Fn(Option<f64>) -> Result<Minimum<P>>,
    held_n: Option<f64>,
) -> Result<Minimum<P>> {
    let first = search(None);
    if held_n.is_some() || first.as_ref().is_ok_and(|it| scatter(it) <= GOOD) {
        return first;
    }
    OTHER_N.into_iter().fold(first, |best, n| match (best, search(Some(n))) {
        (Ok(best), Ok(next)) => Ok(if next.rss < best.rss { next } else { best }),
        (Ok(best), Err(_)) => Ok(best),
        (Err(_), next) => next,
    })
}

/// Standard deviation of the residuals.
fn scatter<const P: usize>(minimum: &Minimum<P>) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "a count of rows is far below 2^53")]
    let freedom = minimum.degrees_of_freedom as f64;
    (minimum.rss / freedom).sqrt()
}

/// Refuses a minimum at which parameters cannot be told apart or the free exponent of the coil,
/// parameter `n_at`, lies on a bound.
fn check_determined<const P: usize>(minimum: &Minimum<P>, n_at: Option<usize>) -> Result<()> {
    if let Some(n) = n_at.and_then(|at| minimum.x.get(at))
        && !(0.5 + ON_BOUND..=1.0 - ON_BOUND).contains(n)
    {
        return Err(PhysicsError::not_converged(format!(
            "the coil's exponent n ends on a bound of 0.5 to 1 (at {n:.4}); hold n"
        )));
    }
    if minimum.condition > MAX_CONDITION {
        return Err(PhysicsError::not_converged(
            "the sweep does not tell the parameters apart; hold n or re",
        ));
    }
    Ok(())
}

/// Start values: half-power readings, then the coil. `n` replaces the exponent read.
fn start(
    sweep: &Measured<FreeDriver>,
    rows: &[SweepRow],
    peak_hz: f64,
    fixed: &Fixed,
    n: Option<f64>,
) -> [f64; 6] {
    let lowest = rows.iter().map(|row| row.z_ohm).fold(f64::INFINITY, f64::min);
    let re = fixed.re_ohm.unwrap_or(lowest);
    // A start needs no more than the order of magnitude where the method cannot read.
    let (qms, res) = HalfPower::from_sweep(rows, re)
        .map_or((3.0, 5.0 * re), |read| (read.qms, read.r_max_ohm - re));
    let mut x = [re.ln(), res.ln(), peak_hz.ln(), qms.ln(), f64::NEG_INFINITY, 0.7];
    let driver = FreeDriver::at(&x);
    let rest = |row: &Row| driver.without_coil(row).0;
    (x[4], x[5]) = coil_start(sweep, fixed.n.or(n), 4.0 * peak_hz, rest);
    x
}

fn result(minimum: &Minimum<6>, ln_w_reference: f64) -> Result<ImpedanceFit> {
    let names = ["re_ohm", "res_ohm", "fs_hz", "qms", "k", "n"];
    let (values, slopes) = plain(&minimum.x, names, ln_w_reference)?;
    let [re_ohm, res_ohm, fs_hz, qms, k, n] = values;
    let model = ImpedanceModel { re_ohm, res_ohm, fs_hz, qms, k, n };
    let covariance = carried(&minimum.covariance, &slopes);
    // ln Qes and ln Qts against the logarithms; ln Qts falls with Res by Res/(Re + Res).
    let share = res_ohm / (re_ohm + res_ohm);
    let of_q = [[1.0, -1.0, 0.0, 1.0, 0.0, 0.0], [share, -share, 0.0, 1.0, 0.0, 0.0]];
    let [u_ln_qes, u_ln_qts] = deviations(&carried(&minimum.covariance, &of_q));
    Ok(ImpedanceFit {
        model,
        u: deviations(&covariance),
        u_qes: model.qes() * u_ln_qes,
        u_qts: model.qts() * u_ln_qts,
        covariance,
        rss: minimum.rss,
        degrees_of_freedom: minimum.degrees_of_freedom,
    })
}

/// The parameters behind logarithms whose last two are the coil's size at the reference and n, and
/// their slopes against what was searched.
fn plain<const P: usize>(
    x: &[f64; P],
    names: [&str; P],
    ln_w_reference: f64,
) -> Result<([f64; P], [[f64; P]; P])> {
    let mut values = *x;
    let mut slopes = [[0.0; P]; P];
    let (size, n) = (x[P - 2], x[P - 1]);
    values[P - 2] = size - n * ln_w_reference;
    for at in 0..P - 1 {
        values[at] = positive_result(names[at], values[at].exp())?;
        slopes[at][at] = values[at];
    }
    slopes[P - 2][P - 1] = -values[P - 2] * ln_w_reference;
    slopes[P - 1][P - 1] = 1.0;
    Ok((values, slopes))
}

/// Standard uncertainties; rounding may leave a variance of 0 a little below it.
fn deviations<const P: usize>(covariance: &[[f64; P]; P]) -> [f64; P] {
    std::array::from_fn(|at| covariance[at][at].max(0.0).sqrt())
}

/// S·C·Sᵀ: the covariance of quantities whose slopes against the parameters are the rows of S.
fn carried<const P: usize, const Q: usize>(
    covariance: &[[f64; P]; P],
    slopes: &[[f64; P]; Q],
) -> [[f64; Q]; Q] {
    let product = |row: &[f64; P], other: &[f64; P]| {
        let mut sum = 0.0;
        for (a, line) in row.iter().zip(covariance) {
            for (b, value) in other.iter().zip(line) {
                sum += a * value * b;
            }
        }
        sum
    };
    slopes.map(|row| slopes.map(|other| product(&row, &other)))
}

/// The model at some ln Re, ln Res, ln fs, ln Qms, ln|coil| at the reference, n.
struct FreeDriver {
    re: f64,
    res: f64,
    fs: f64,
    per_fs: f64,
    qms: f64,
    coil: CoilAt,
}

impl FreeDriver {
    /// Impedance without the coil; of it the motional part; and the share 1/(1 + jQms(f/fs − fs/f)).
    fn without_coil(&self, row: &Row) -> (Complex64, Complex64, Complex64) {
        let detuning = self.qms * (row.f_hz * self.per_fs - self.fs * row.per_f_s);
        let share = Complex64::new(1.0, -detuning) / (1.0 + detuning * detuning);
        let motion = self.res * share;
        (self.re + motion, motion, share)
    }
}

impl Circuit<6> for FreeDriver {
    fn at(x: &[f64; 6]) -> Self {
        let fs = x[2].exp();
        Self {
            re: x[0].exp(),
            res: x[1].exp(),
            fs,
            per_fs: 1.0 / fs,
            qms: x[3].exp(),
            coil: CoilAt::new(x[4], x[5]),
        }
    }

    fn impedance(&self, row: &Row) -> (Complex64, [Complex64; 6]) {
        let (rest, motion, share) = self.without_coil(row);
        let (coil, to_n) = self.coil.impedance(row);
        // With D = 1 + jQms(f/fs − fs/f): dZ = −motion/D·dD.
        let by = motion * share;
        let sum = self.qms * (row.f_hz * self.per_fs + self.fs * row.per_f_s);
        let to_fs = Complex64::new(-by.im * sum, by.re * sum);
        (rest + coil, [self.re.into(), motion, to_fs, by - motion, coil, to_n])
    }
}
