//! The places of a network's figures, so that the same network with parts changed a little is read again with a few
//! solves and not with a whole survey.
//!
//! Meant for the propagation of tolerances, where a network is read some hundred times. A dip, peak or crossing that
//! comes up far from all those of the unchanged network is not seen; one that overtakes another is.

use super::{Options, Survey, meeting, pairs};
use crate::air::Air;
use crate::error::Result;
use crate::load::peak_dissipation_ohm;
use crate::network::{Network, Solver};

use super::survey::{RANGE_HZ, level_db};

/// Half the span in ln f over which a parabola follows a dip or peak: about the distance of two rows of a survey.
const SPAN: f64 = 0.06;
/// A dip or peak this much worse than the best, in units of ln, cannot overtake it by tolerances.
const RIVAL: f64 = 0.15;
/// Steps of the secant that follows a crossing.
const SECANT_STEPS: u32 = 3;

/// What is read of a network.
#[derive(Debug, Clone, PartialEq)]
pub struct Readings {
    /// Lowest |Z|, ohm.
    pub z_min_ohm: f64,
    /// Smallest equivalent peak-dissipation resistance, ohm.
    pub r_pd_min_ohm: f64,
    /// The upper way of each neighbouring pair that crosses and the frequency, Hz, from the lowest.
    pub crossings: Vec<(&'static str, f64)>,
    /// Highest rise of any way above its passband, dB; 0 when none rises.
    pub ripple_db: f64,
}

/// Where the figures of a network lie.
#[derive(Debug, Clone, PartialEq)]
pub struct Landmarks {
    /// ln f of the dips of |Z|.
    dips: Vec<f64>,
    /// ln f of the dips of the peak-dissipation resistance.
    dissipation: Vec<f64>,
    /// The upper way, the places of lower and upper driver, and ln f.
    crossings: Vec<(&'static str, [usize; 2], f64)>,
    /// The place of a driver, its passband in Hz, and ln f of its peaks.
    peaks: Vec<(usize, f64, Vec<f64>)>,
}

impl Landmarks {
    /// Reads a network for the first time, with a survey of the whole band.
    ///
    /// # Errors
    /// `OutOfDomain` when a circuit without any loss resonates where the search looks.
    pub fn of(network: &Network, options: &Options, air: &Air) -> Result<(Self, Readings)> {
        let mut survey = Survey::new(network, air)?;
        let z_min_ohm = survey.minimum_impedance()?.z_ohm;
        let r_pd_min_ohm = survey.worst_peak_dissipation()?.r_pd_ohm;
        let mut it = Self {
            dips: survey.valleys(|at| Ok(at.z.norm().ln()), RIVAL)?,
            dissipation: survey.valleys(|at| Ok(dissipation_ohm(at.z)?.ln()), RIVAL)?,
            crossings: Vec::new(),
            peaks: Vec::new(),
        };
        let mut readings =
            Readings { z_min_ohm, r_pd_min_ohm, crossings: Vec::new(), ripple_db: 0.0 };
        for pair in pairs(network) {
            if let Some(found) = meeting(&mut survey, pair, options)? {
                let places = [network.driver_index(pair[0])?, network.driver_index(pair[1])?];
                it.crossings.push((pair[1], places, found.f_hz.ln()));
                readings.crossings.push((pair[1], found.f_hz));
            }
        }
        for (driver, name) in network.drivers().enumerate() {
            let Some(passband_hz) = options.passband_of(name) else { continue };
            readings.ripple_db = survey.ripple_db(driver, passband_hz)?.max(readings.ripple_db);
            let rivals_db = RIVAL * 20.0 / std::f64::consts::LN_10;
            let peaks = survey.valleys(|at| Ok(-at.level_db(driver)), rivals_db)?;
            it.peaks.push((driver, passband_hz, peaks));
        }
        Ok((it, readings))
    }

    /// Lowest |Z| of the same network with other values, ohm.
    ///
    /// # Errors
    /// As for [`Landmarks::of`].
    pub fn z_min_ohm(&self, network: &Network, air: &Air) -> Result<f64> {
        let mut solver = Solver::new(network, air);
        lowest(&self.dips, |x| Ok(solver.at(x.exp())?.norm()))
    }

    /// Its smallest equivalent peak-dissipation resistance, ohm.
    ///
    /// # Errors
    /// As for [`Landmarks::of`].
    pub fn r_pd_min_ohm(&self, network: &Network, air: &Air) -> Result<f64> {
        let mut solver = Solver::new(network, air);
        lowest(&self.dissipation, |x| dissipation_ohm(solver.at(x.exp())?))
    }

    /// Its crossings, as in [`Readings::crossings`].
    ///
    /// # Errors
    /// As for [`Landmarks::of`].
    pub fn crossings(&self, network: &Network, air: &Air) -> Result<Vec<(&'static str, f64)>> {
        let mut solver = Solver::new(network, air);
        let follow = |&(way, [lower, upper], x): &(&'static str, [usize; 2], f64)| {
            let mut lead = |x: f64| {
                solver.at(x.exp())?;
                Ok(level(&solver, lower) - level(&solver, upper))
            };
            Ok((way, secant(x, &mut lead)?.exp()))
        };
        self.crossings.iter().map(follow).collect()
    }

    /// The highest rise of any way above its passband, dB.
    ///
    /// # Errors
    /// As for [`Landmarks::of`].
    pub fn ripple_db(&self, network: &Network, air: &Air) -> Result<f64> {
        let mut solver = Solver::new(network, air);
        let mut ripple_db = 0.0_f64;
        for (driver, passband_hz, peaks) in &self.peaks {
            let mut depth = |f_hz: f64| {
                solver.at(f_hz)?;
                Ok(-level(&solver, *driver))
            };
            let passband = -depth(*passband_hz)?;
            let highest = -lowest(peaks, |x| depth(x.exp()))?;
            ripple_db = ripple_db.max(highest - passband);
        }
        Ok(ripple_db)
    }
}

fn level(solver: &Solver<'_>, driver: usize) -> f64 {
    solver.h().get(driver).map_or(f64::NEG_INFINITY, |&h| level_db(h))
}

fn dissipation_ohm(z: num_complex::Complex64) -> Result<f64> {
    peak_dissipation_ohm(z.norm(), z.arg().to_degrees())
}

/// The lowest value of a curve near one of several places, found by a parabola through three points around each.
fn lowest(places: &[f64], mut curve: impl FnMut(f64) -> Result<f64>) -> Result<f64> {
    let [low, high] = RANGE_HZ.map(f64::ln);
    let mut best = f64::INFINITY;
    for &x in places {
        let here = curve(x)?;
        best = best.min(here);
        if x - SPAN < low || x + SPAN > high {
            continue;
        }
        let (left, right) = (curve(x - SPAN)?, curve(x + SPAN)?);
        let bend = left - 2.0 * here + right;
        if bend > 0.0 {
            // The lowest point of the parabola through the three, but no farther out than twice their span; the curve
            // itself is read there, since three points this wide apart bend it a little.
            let out = ((left - right) / (2.0 * bend)).clamp(-2.0, 2.0) * SPAN;
            best = best.min(curve((x + out).clamp(low, high))?);
        }
        best = best.min(left).min(right);
    }
    Ok(best)
}

/// Follows a zero from where it was.
fn secant(start: f64, curve: &mut impl FnMut(f64) -> Result<f64>) -> Result<f64> {
    let (mut before, mut here) = (start - SPAN, start);
    let (mut y_before, mut y_here) = (curve(before)?, curve(here)?);
    for _ in 0..SECANT_STEPS {
        let slope = (y_here - y_before) / (here - before);
        let step = y_here / slope;
        if !step.is_finite() || step.abs() < 1e-9 {
            break;
        }
        // A step far out has lost the crossing.
        (before, y_before) = (here, y_here);
        here -= step.clamp(-4.0 * SPAN, 4.0 * SPAN);
        y_here = curve(here)?;
    }
    Ok(here)
}
