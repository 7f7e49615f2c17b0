//! What a mounted driver does on a voltage: excursion, port velocity, level, impedance, and the
//! voltages at which excursion or port set the limit.

use std::f64::consts::{SQRT_2, TAU};

use num_complex::Complex64;

use super::circuit::{Circuit, Solved};
use super::search::highest;
use super::{Enclosure, MountedDriver};
use crate::air::Air;
use crate::error::{PhysicsError, Result, finite_result, non_negative, positive, positive_result};

/// Reference pressure of a level, Pa.
const P_REF_PA: f64 = 20e-6;
/// The lowest frequency at which a closed box is asked for its greatest excursion, Hz.
const LOWEST_HZ: f64 = 10.0;
/// The highest frequency at which the circuit is trusted, Hz.
const HIGHEST_HZ: f64 = 300.0;
/// Excursion only falls from here on, as a multiple of the upper resonance.
const BEYOND_RESONANCE: f64 = 8.0;

/// How a mounted driver is driven and heard.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drive {
    /// Voltage at the source, V rms.
    pub volts: f64,
    /// Resistance in series: crossover coil, wire, amplifier, ohm; may be 0.
    pub rg_ohm: f64,
    /// Distance of the listener, m.
    pub distance_m: f64,
    /// Area of all ports together, m², where it is known.
    pub port_area_m2: Option<f64>,
}

impl Drive {
    /// Refuses values out of their domain.
    ///
    /// # Errors
    /// `OutOfDomain` naming the field.
    pub fn check(&self) -> Result<()> {
        positive("volts", self.volts)?;
        non_negative("rg_ohm", self.rg_ohm)?;
        positive("distance_m", self.distance_m)?;
        self.port_area_m2.map_or(Ok(()), |area| positive("port_area_m2", area).map(drop))
    }
}

/// A mounted driver at one frequency.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Response {
    /// Impedance at the source, the series resistance included, ohm.
    pub z: Complex64,
    /// Excursion one way, peak, m.
    pub x_peak_m: f64,
    /// Peak velocity of the air in the port, m/s; none without a port or without its area.
    pub port_velocity_peak_m_s: Option<f64>,
    /// Level at the distance into half space, dB.
    pub spl_db: f64,
    /// Pressure in the box, Pa rms; 0 without a box.
    pub p_box_pa: f64,
    /// Flow through the port, m³/s rms; 0 without a port.
    pub port_flow_m3_s: f64,
}

/// Where the excursion sets the limit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ExcursionLimit {
    /// Voltage at which the cone reaches its linear travel, V rms.
    pub volts: f64,
    /// The frequency at which it does, Hz.
    pub f_hz: f64,
    /// Level there at that voltage and the drive's distance, dB.
    pub spl_db: f64,
}

impl MountedDriver {
    /// The circuit solved at `f_hz`:
    /// u = BL·V/Ze / (Zm + BL²/Ze + Sd²·Zab); p = Sd·u·Zab; port flow p/(jωMap);
    /// x = √2·|u|/ω; port velocity √2·|port flow|/area; radiated flow jωCab·p;
    /// level 20·log₁₀(ωρ₀·|flow|/(2πr)/20 µPa); Z = Ze + BL²/(Zm + Sd²·Zab), with
    /// Ze = Rg + Re + coil and Zm = jωMms + Rms + 1/(jωCms).
    ///
    /// Without a box the level is that of the front of the cone in an infinite baffle.
    ///
    /// # Errors
    /// `OutOfDomain` when a value of the driver, the box or the drive is out of its domain, or a
    /// result is beyond the range of numbers.
    pub fn response(&self, f_hz: f64, drive: &Drive, air: &Air) -> Result<Response> {
        self.check()?;
        drive.check()?;
        let w = positive_result("angular frequency", TAU * positive("f_hz", f_hz)?)?;
        let solved = Circuit::new(self, air).solve(w, drive.rg_ohm);
        let flow = finite_result("port_flow_m3_s", drive.volts * solved.port_flow.norm())?;
        finite_result("z", solved.z.norm())?;
        Ok(Response {
            z: solved.z,
            // At the tuning of a box without a leak the cone stands still.
            x_peak_m: finite_result("x_peak_m", drive.volts * excursion_m(&solved, w))?,
            port_velocity_peak_m_s: match (self.enclosure, drive.port_area_m2) {
                (Enclosure::Vented { .. }, Some(area)) => {
                    Some(positive_result("port_velocity_peak_m_s", SQRT_2 * flow / area)?)
                }
                _ => None,
            },
            spl_db: level_db(&solved, w, drive.volts, drive.distance_m, air)?,
            p_box_pa: finite_result("p_box_pa", drive.volts * solved.pressure.norm())?,
            port_flow_m3_s: flow,
        })
    }

    /// The voltage at which the cone first reaches `xmax_m` (peak) at any frequency from the tuning
    /// up, or from 10 Hz up without a port. The voltage of the drive plays no part.
    ///
    /// Below its tuning a vented box leaves the cone unloaded: it passes Xmax there at less.
    ///
    /// # Errors
    /// As [`MountedDriver::response`]; also when `xmax_m` is not positive.
    pub fn excursion_limit(&self, xmax_m: f64, drive: &Drive, air: &Air) -> Result<ExcursionLimit> {
        self.check()?;
        drive.check()?;
        let xmax = positive("xmax_m", xmax_m)?;
        let circuit = Circuit::new(self, air);
        let (_, upper) = self.resonances_hz(&circuit);
        let lowest = match self.enclosure {
            Enclosure::Vented { fb_hz, .. } => fb_hz,
            Enclosure::Free | Enclosure::Closed { .. } => LOWEST_HZ,
        };
        let upper = upper.max(lowest);
        let solve = |f: f64| circuit.solve(TAU * f, drive.rg_ohm);
        let (f_hz, _) = highest(&[lowest, upper, BEYOND_RESONANCE * upper], |f| {
            // The square has its top at the same place and costs no root.
            solve(f).cone.norm_sqr() / (f * f)
        })
        .ok_or_else(no_top)?;
        let (w, solved) = (TAU * f_hz, solve(f_hz));
        let per_volt = positive_result("x_peak_m", excursion_m(&solved, w))?;
        let volts = positive_result("volts", xmax / per_volt)?;
        Ok(ExcursionLimit {
            volts,
            f_hz: positive_result("f_hz", f_hz)?,
            spl_db: level_db(&solved, w, volts, drive.distance_m, air)?,
        })
    }

    /// The greatest peak velocity of the air in the port, m/s, and its frequency, Hz, from half the
    /// tuning to 300 Hz (to twice the tuning, if that is more).
    ///
    /// Above about 5 % of the speed of sound a hard-edged port chuffs; low compression asks for
    /// about 10 m/s (both common practice, no source).
    ///
    /// # Errors
    /// `NotApplicable` without a port; `Missing` when the drive has no port area; else as
    /// [`MountedDriver::response`].
    pub fn peak_port_velocity(&self, drive: &Drive, air: &Air) -> Result<(f64, f64)> {
        self.check()?;
        drive.check()?;
        let Enclosure::Vented { fb_hz, .. } = self.enclosure else {
            return Err(PhysicsError::not_applicable("without a port there is no port velocity"));
        };
        let area = drive
            .port_area_m2
            .ok_or_else(|| PhysicsError::Missing { field: "port_area_m2".into() })?;
        let circuit = Circuit::new(self, air);
        let solve = |f: f64| circuit.solve(TAU * f, drive.rg_ohm);
        let lowest = fb_hz / 2.0;
        let beyond = HIGHEST_HZ.max(2.0 * fb_hz);
        let (lower, upper) = self.resonances_hz(&circuit);
        let knots = [lowest, lower.clamp(lowest, fb_hz), fb_hz, upper.clamp(fb_hz, beyond), beyond];
        let (f_hz, _) = highest(&knots, |f| solve(f).port_flow.norm_sqr()).ok_or_else(no_top)?;
        let flow = drive.volts * solve(f_hz).port_flow.norm();
        Ok((
            positive_result("port_velocity_peak_m_s", SQRT_2 * flow / area)?,
            positive_result("f_hz", f_hz)?,
        ))
    }

    /// The two resonances of cone and port without losses, Hz: f² solves
    /// X² − (fc² + fB²)·X + fs²·fB² = 0. Without a port the lower one is 0 and the upper one fc.
    fn resonances_hz(&self, circuit: &Circuit) -> (f64, f64) {
        let fc = circuit.fc_hz();
        let Enclosure::Vented { fb_hz, .. } = self.enclosure else {
            return (0.0, fc);
        };
        let fs = 1.0 / (TAU * (self.params.mms_kg * self.params.cms_m_n).sqrt());
        // (fH ± fL)² = fc² + fB² ± 2·fs·fB, and fc ≥ fs keeps the difference from going negative.
        let sum = (fc * fc + fb_hz * fb_hz + 2.0 * fs * fb_hz).sqrt();
        let difference = (fc * fc + fb_hz * fb_hz - 2.0 * fs * fb_hz).max(0.0).sqrt();
        ((sum - difference) / 2.0, (sum + difference) / 2.0)
    }
}

/// Peak excursion for one volt, m.
fn excursion_m(solved: &Solved, w_rad_s: f64) -> f64 {
    SQRT_2 * solved.cone.norm() / w_rad_s
}

fn level_db(solved: &Solved, w: f64, volts: f64, distance_m: f64, air: &Air) -> Result<f64> {
    let pressure = w * air.rho_kg_m3() * volts * solved.radiated.norm() / (TAU * distance_m);
    finite_result("spl_db", 20.0 * (pressure / P_REF_PA).log10())
}

fn no_top() -> PhysicsError {
    PhysicsError::not_converged("the curve has no highest point that is a number")
}
