//! The vented box and its driver, fitted to a sweep with two peaks.
//!
//! Z = Re + Res/(1 + jQms(f/fs − fs/f) + α·Qms·fs/(fB/QL + j(f − fB²/f))) + K(jω)ⁿ, which is the lumped
//! circuit of driver, box, port and leak in normalised form; at the terminals of a complete
//! loudspeaker a capacitance lies across it. Valid below about 300 Hz, where the box is small against
//! the wavelength. Sources: R. H. Small, "Vented-Box Loudspeaker Systems Part I", JAES 21(5), 1973
//! (equation numbers from memory); the coil after Leach, as in [`super::fit`].

use std::f64::consts::TAU;

use num_complex::Complex64;

use super::levenberg::minimize;
use super::measured::{Circuit, CoilAt, Measured, Row, check, coil_start};
use super::{Fixed, best, carried, check_determined, deviations, plain, scatter};
use crate::error::{PhysicsError, Result, positive};
use crate::humps::{HumpReading, humps};
use crate::lumped::Coil;
use crate::sweep::{SweepRow, peaks};

/// At a complete loudspeaker, rows up to this many times the upper peak are used: above, the crossover
/// is more than a capacitance.
const TOP: f64 = 2.0;
/// A sweep that ends below this many times the driver's resonance shows too little of the coil to
/// tell its exponent (common practice, no source).
const SHOWS_COIL: f64 = 20.0;
/// The exponent taken then: between eddy currents alone and an ideal inductance (common practice, no
/// source).
const ASSUMED_N: f64 = 0.7;
/// The start's leakage Q, usual for a box of moderate size. Source: R. H. Small, "Vented-Box
/// Loudspeaker Systems Part III", JAES 21(7), 1973.
const START_QL: f64 = 7.0;
/// The unit in which the capacitance across the terminals is searched, F.
const SHUNT_UNIT_F: f64 = 1e-5;
/// Residuals beyond this share of |Z| are another circuit, not noise.
const WORST: f64 = 0.05;

/// Where a sweep was taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Terminals {
    /// At the driver's own, nothing before it.
    Driver,
    /// At a complete loudspeaker's. As low as the box works, crossover and tweeter are a capacitance
    /// across the woofer, which is fitted too, and a resistance and coil before it, which count to Re
    /// and K.
    #[default]
    Loudspeaker,
}

/// How a vented box is to be fitted.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct VentedOptions {
    /// Parameters that are known.
    pub fixed: Fixed,
    /// Where the sweep was taken.
    pub terminals: Terminals,
    /// Highest frequency to use, Hz; otherwise twice the upper peak's at a loudspeaker, and all rows at
    /// a driver.
    pub f_max_hz: Option<f64>,
}

/// A fitted driver in its vented box.
#[derive(Debug, Clone, PartialEq)]
pub struct VentedFit {
    /// Direct-current resistance at the terminals swept, ohm; with a crossover in between, its coils'
    /// too.
    pub re_ohm: f64,
    /// Height of the driver's resonance above Re, Res = BL²/Rms, ohm.
    pub res_ohm: f64,
    /// Resonance of the driver with the box's air mass but not its stiffness, Hz.
    pub fs_hz: f64,
    /// Mechanical Q at fs.
    pub qms: f64,
    /// Electrical Q at fs, Qms·Re/Res.
    pub qes: f64,
    /// Compliance ratio Vas/Vb.
    pub alpha: f64,
    /// Tuning frequency, Hz.
    pub fb_hz: f64,
    /// Leakage Q at the tuning frequency; all losses of box and port count as leakage.
    pub ql: f64,
    /// K of the lossy coil K(jω)ⁿ, ohm·sⁿ; with a crossover in between, its low-pass coil too.
    pub k: f64,
    /// n of the lossy coil.
    pub n: f64,
    /// n was not fitted or given but taken as 0.7: the rows end below 20·fs.
    pub n_assumed: bool,
    /// Standard uncertainties of Re, Res, fs, Qms, α, fB, QL, K and n; 0 for one held.
    pub u: [f64; 9],
    /// Covariance of the nine in that order; 0 in rows and columns of one held.
    pub covariance: [[f64; 9]; 9],
    /// Sum of the squared residuals, each a share of the measured |Z|.
    pub rss: f64,
    /// Residuals less fitted parameters.
    pub degrees_of_freedom: usize,
    /// Capacitance across the terminals, F; 0 at a driver's own. Noise can leave a small one below 0.
    pub shunt_f: f64,
    /// Its standard uncertainty, F.
    pub u_shunt_f: f64,
    /// Highest frequency of the rows used, Hz.
    pub f_max_hz: f64,
}

impl VentedFit {
    /// Impedance at `f_hz` above 0 at the terminals swept, ohm: what the fit holds against a row there.
    #[must_use]
    pub fn impedance(&self, f_hz: f64) -> Complex64 {
        let driver = Complex64::new(1.0, self.qms * (f_hz / self.fs_hz - self.fs_hz / f_hz));
        let air = Complex64::new(self.fb_hz / self.ql, f_hz - self.fb_hz * self.fb_hz / f_hz);
        let motion = self.res_ohm / (driver + self.alpha * self.qms * self.fs_hz / air);
        let w = TAU * f_hz;
        let inner = self.re_ohm + motion + Coil::Lossy { k: self.k, n: self.n }.impedance(w);
        // Beside a capacitance C, 1/Z = 1/inner + jωC.
        inner / (1.0 + Complex64::new(0.0, w * self.shunt_f) * inner)
    }
}

/// Fits driver and vented box to a sweep with two peaks. Residuals are those of [`super::fit`].
///
/// # Errors
/// `OutOfDomain` for rows that cannot be a sweep, fewer than 20 of them up to the limit, a limit that
/// is not positive, or held values out of their domain; `Inconsistent` for phase in some rows only;
/// `NotApplicable` when there are fewer or more than two peaks up to the limit; `NotConverged` when
/// the search fails, the circuit fits no better than to 5 %, n ends on a bound, or the sweep does not
/// tell the parameters apart (a box without losses has no QL to find).
pub fn fit_vented(rows: &[SweepRow], options: &VentedOptions) -> Result<VentedFit> {
    check(rows)?;
    options.fixed.check()?;
    let with_crossover = options.terminals == Terminals::Loudspeaker;
    let limit = match (options.f_max_hz, peaks(rows).get(1)) {
        (Some(limit), _) => positive("f_max_hz", limit)?,
        (None, Some(high)) if with_crossover => TOP * high.f_hz,
        (None, _) => f64::INFINITY,
    };
    let rows = &rows[..rows.partition_point(|row| row.f_hz <= limit)];
    check(rows)?;
    let guess = Guess::from(&humps(rows)?);
    let f_max_hz = rows[rows.len() - 1].f_hz;
    let n_assumed = options.fixed.n.is_none() && f_max_hz < SHOWS_COIL * guess.fs;
    let n = if n_assumed { Some(ASSUMED_N) } else { options.fixed.n };
    let fixed = Fixed { n, ..options.fixed };

    let sweep = Measured::<VentedDriver>::new(rows);
    let mut free = [true; 10];
    free[0] = fixed.re_ohm.is_none();
    free[8] = fixed.n.is_none();
    free[9] = with_crossover;
    let search = |n| minimize(&sweep, guess.start(&sweep, rows, &fixed, n), free);
    let minimum = best(search, fixed.n)?;
    if scatter(&minimum) > WORST {
        return Err(PhysicsError::not_converged(format!(
            "a driver in a vented box explains the sweep to {:.0} % only",
            100.0 * scatter(&minimum)
        )));
    }
    check_determined(&minimum, free[8].then_some(8))?;

    let names = ["re_ohm", "res_ohm", "fs_hz", "qms", "alpha", "fb_hz", "ql", "k", "n"];
    let x = std::array::from_fn(|at| minimum.x[at]);
    let (values, slopes) = plain(&x, names, sweep.ln_w_reference)?;
    let [re_ohm, res_ohm, fs_hz, qms, alpha, fb_hz, ql, k, n] = values;
    let nine = std::array::from_fn(|a| std::array::from_fn(|b| minimum.covariance[a][b]));
    let covariance = carried::<9, 9>(&nine, &slopes);
    Ok(VentedFit {
        re_ohm,
        res_ohm,
        fs_hz,
        qms,
        qes: qms * re_ohm / res_ohm,
        alpha,
        fb_hz,
        ql,
        k,
        n,
        n_assumed,
        u: deviations(&covariance),
        covariance,
        rss: minimum.rss,
        degrees_of_freedom: minimum.degrees_of_freedom,
        shunt_f: SHUNT_UNIT_F * minimum.x[9],
        u_shunt_f: SHUNT_UNIT_F * deviations(&minimum.covariance)[9],
        f_max_hz,
    })
}

/// What the humps say of a box without losses: fB = fM, fs = fL·fH/fB, α from the three.
struct Guess {
    fs: f64,
    fb: f64,
    alpha: f64,
    fh: f64,
    zh: f64,
}

impl Guess {
    fn from(humps: &HumpReading) -> Self {
        let [fl, fb, fh] = [humps.low, humps.dip, humps.high].map(|it| it.f_hz);
        let product = (fh * fh - fb * fb) * (fb * fb - fl * fl);
        Self { fs: fl * fh / fb, fb, alpha: product / (fl * fh).powi(2), fh, zh: humps.high.z_ohm }
    }

    /// Start values: losses from height and width of the upper peak, then the coil.
    fn start(
        &self,
        sweep: &Measured<VentedDriver>,
        rows: &[SweepRow],
        fixed: &Fixed,
        n: Option<f64>,
    ) -> [f64; 10] {
        let lowest = rows.iter().map(|row| row.z_ohm).fold(f64::INFINITY, f64::min);
        let re = fixed.re_ohm.unwrap_or(lowest);
        // Beyond the peak |Z| falls through √(Zmax·Re) where the motion's detuning is √(Zmax/Re).
        let r0 = (self.zh / re).max(1.1);
        let level = re * r0.sqrt();
        let f2 = rows
            .iter()
            .find(|row| row.f_hz > self.fh && row.z_ohm <= level)
            .map_or(1.3 * self.fh, |row| row.f_hz);
        let detuning =
            |f: f64| f / self.fs - self.fs / f - self.alpha * self.fs / (f - self.fb * self.fb / f);
        let q = (r0.sqrt() / detuning(f2).abs()).clamp(0.5, 20.0);
        // At the peak the leak damps too; what is the driver's own is more Q and more height.
        let off = self.fh - self.fb * self.fb / self.fh;
        let leak = self.alpha * self.fs * (self.fb / START_QL) / off.powi(2);
        let own = 1.0 / (1.0 - q * leak).clamp(0.4, 1.0);
        let res = (r0 - 1.0) * re * own;
        let ln = f64::ln;
        let mut x = [
            ln(re),
            ln(res),
            ln(self.fs),
            ln(q * own),
            ln(self.alpha),
            ln(self.fb),
            ln(START_QL),
            f64::NEG_INFINITY,
            ASSUMED_N,
            0.0,
        ];
        let driver = VentedDriver::at(&x);
        let rest = |row: &Row| driver.re + driver.motion(row).0;
        (x[7], x[8]) = coil_start(sweep, fixed.n.or(n), 2.0 * self.fh, rest);
        x
    }
}

/// The circuit at some ln of Re, Res, fs, Qms, α, fB and QL, ln|coil| at the reference, and n.
struct VentedDriver {
    re: f64,
    res: f64,
    fs: f64,
    per_fs: f64,
    qms: f64,
    /// α·Qms·fs.
    stiffness: f64,
    fb_squared: f64,
    /// fB/QL.
    leak: f64,
    coil: CoilAt,
    /// In [`SHUNT_UNIT_F`].
    shunt: f64,
}

impl VentedDriver {
    /// Motional impedance; 1 over the sum D of the driver's and the box's terms that divides Res; and
    /// of D the box's term, and 1 over that term's own denominator.
    fn motion(&self, row: &Row) -> (Complex64, Complex64, Complex64, Complex64) {
        let driver =
            Complex64::new(1.0, self.qms * (row.f_hz * self.per_fs - self.fs * row.per_f_s));
        let air = Complex64::new(self.leak, row.f_hz - self.fb_squared * row.per_f_s).inv();
        let load = self.stiffness * air;
        let share = (driver + load).inv();
        (self.res * share, share, load, air)
    }
}

impl Circuit<10> for VentedDriver {
    fn at(x: &[f64; 10]) -> Self {
        let [re, res, fs, qms, alpha, fb, ql] = [0, 1, 2, 3, 4, 5, 6].map(|at| x[at].exp());
        Self {
            re,
            res,
            fs,
            per_fs: 1.0 / fs,
            qms,
            stiffness: alpha * qms * fs,
            fb_squared: fb * fb,
            leak: fb / ql,
            coil: CoilAt::new(x[7], x[8]),
            shunt: x[9],
        }
    }

    fn impedance(&self, row: &Row) -> (Complex64, [Complex64; 10]) {
        let (motion, share, load, air) = self.motion(row);
        let (coil, to_n) = self.coil.impedance(row);
        // dZ = −motion/D·dD for each parameter of D = 1 + j·detuning + load.
        let by = -motion * share;
        let (up, down) = (row.f_hz * self.per_fs, self.fs * row.per_f_s);
        let to_fs = by * (Complex64::new(0.0, -self.qms * (up + down)) + load);
        let to_qms = by * (Complex64::new(0.0, self.qms * (up - down)) + load);
        let to_alpha = by * load;
        let damped = to_alpha * air * self.leak;
        let to_fb =
            -damped + to_alpha * air * Complex64::new(0.0, 2.0 * self.fb_squared * row.per_f_s);
        let inner = self.re + motion + coil;
        // Beside a capacitance C, 1/Z = 1/inner + jωC.
        let w = SHUNT_UNIT_F * TAU * row.f_hz;
        let beside = (1.0 + Complex64::new(0.0, w * self.shunt) * inner).inv();
        let z = inner * beside;
        let at_inner = [
            self.re.into(),
            motion,
            to_fs,
            to_qms,
            to_alpha,
            to_fb,
            damped,
            coil,
            to_n,
            Complex64::new(0.0, -w) * inner * inner,
        ];
        let slope = beside * beside;
        (z, at_inner.map(|it| it * slope))
    }
}
