//! One pass over the audio band with all voltages and impedances kept, from which every figure of a
//! crossover is found and then refined.

use num_complex::Complex64;

use super::search;
use crate::air::Air;
use crate::error::Result;
use crate::load::{MinimumImpedance, PeakDissipation, peak_dissipation_ohm};
use crate::network::{Network, Solver};

/// The range that figures are searched over, Hz.
pub const RANGE_HZ: [f64; 2] = [20.0, 20_000.0];
/// Steps of the grid: forty a decade, a thirteenth of an octave. Crossovers are broader than that:
/// their Q into a driver is a few units.
const STEPS: u32 = 120;
/// Valleys that are refined, the lowest first; a resistive load has as many as rounding likes.
const VALLEYS: usize = 4;
/// A curve that turns back this near to zero, dB, is looked at closely: it may have passed twice.
const NEAR_TURN_DB: f64 = 1.0;
/// Levels that differ by less are the same, dB; what rounding leaves of two equal ways is no crossing.
const SAME_DB: f64 = 1e-9;
/// The least square of a voltage ratio that a level tells apart: −400 dB.
const LEAST_SQUARED: f64 = 1e-40;

/// What the network does at one frequency.
#[derive(Debug, Clone, Copy)]
pub(super) struct View<'a> {
    pub(super) z: Complex64,
    h: &'a [Complex64],
}

impl View<'_> {
    pub(super) fn level_db(&self, driver: usize) -> f64 {
        self.h.get(driver).map_or(10.0 * LEAST_SQUARED.log10(), |&h| level_db(h))
    }
}

/// Level of a voltage ratio, dB; −400 dB and below count as −400.
#[must_use]
pub(super) fn level_db(h: Complex64) -> f64 {
    10.0 * h.norm_sqr().max(LEAST_SQUARED).log10()
}

/// A network solved over 20 Hz to 20 kHz. Drivers are given by their place in [`Network::drivers`].
#[derive(Debug)]
pub struct Survey<'n> {
    solver: Solver<'n>,
    /// ln f of the grid.
    x: Vec<f64>,
    z: Vec<Complex64>,
    /// The drivers of one frequency, then those of the next.
    h: Vec<Complex64>,
}

impl<'n> Survey<'n> {
    /// Solves the network over the band.
    ///
    /// # Errors
    /// `OutOfDomain` when a circuit without any loss resonates on the grid.
    pub fn new(network: &'n Network, air: &Air) -> Result<Self> {
        let mut it =
            Self { solver: Solver::new(network, air), x: Vec::new(), z: Vec::new(), h: Vec::new() };
        let [low, high] = RANGE_HZ.map(f64::ln);
        for step in 0..=STEPS {
            let x = low + (high - low) * f64::from(step) / f64::from(STEPS);
            let z = it.solver.at(x.exp())?;
            it.x.push(x);
            it.z.push(z);
            it.h.extend_from_slice(it.solver.h());
        }
        Ok(it)
    }

    /// The network that was solved.
    #[must_use]
    pub fn network(&self) -> &'n Network {
        self.solver.network()
    }

    /// Lowest |Z| of the band.
    ///
    /// # Errors
    /// `OutOfDomain` when a circuit without any loss resonates where the search looks.
    pub fn minimum_impedance(&mut self) -> Result<MinimumImpedance> {
        let (f_hz, z_ohm) = self.lowest(|it| Ok(it.z.norm()))?;
        Ok(MinimumImpedance { z_ohm, f_hz })
    }

    /// Smallest equivalent peak-dissipation resistance of the band.
    ///
    /// # Errors
    /// As for [`Survey::minimum_impedance`].
    pub fn worst_peak_dissipation(&mut self) -> Result<PeakDissipation> {
        let r_pd = |it: View<'_>| peak_dissipation_ohm(it.z.norm(), it.z.arg().to_degrees());
        let (f_hz, r_pd_ohm) = self.lowest(r_pd)?;
        let rows_not_passive = self.z.iter().filter(|it| it.re < 0.0).count();
        Ok(PeakDissipation { r_pd_ohm, f_hz, rows_not_passive })
    }

    /// Level of a driver's voltage at any frequency, dB re the source.
    ///
    /// # Errors
    /// `OutOfDomain` when the frequency is not positive, or a circuit without any loss resonates there.
    pub fn level_db(&mut self, driver: usize, f_hz: f64) -> Result<f64> {
        let z = self.solver.at(f_hz)?;
        Ok(View { z, h: self.solver.h() }.level_db(driver))
    }

    /// All frequencies of the band where a driver's level passes `level_db`, rising.
    ///
    /// # Errors
    /// As for [`Survey::minimum_impedance`].
    pub fn passes(&mut self, driver: usize, level_db: f64) -> Result<Vec<f64>> {
        self.zeros(|it| it.level_db(driver) - level_db)
    }

    /// All frequencies of the band where the level of `lower` is that of `upper` when the latter
    /// driver's sensitivity is `offset_db` above the former's, rising; each with whether the upper
    /// driver takes over there as the frequency rises.
    ///
    /// # Errors
    /// As for [`Survey::minimum_impedance`].
    pub fn equal_levels(
        &mut self,
        lower: usize,
        upper: usize,
        offset_db: f64,
    ) -> Result<Vec<(f64, bool)>> {
        let lead = |it: View<'_>| it.level_db(lower) - it.level_db(upper) - offset_db;
        let found = self.zeros(lead)?;
        let (mut out, mut before) = (Vec::with_capacity(found.len()), RANGE_HZ[0]);
        for f_hz in found {
            // Between two crossings one driver leads, so one point between tells which.
            let z = self.solver.at((before * f_hz).sqrt())?;
            out.push((f_hz, lead(View { z, h: self.solver.h() }) > 0.0));
            before = f_hz;
        }
        Ok(out)
    }

    /// How far a driver's level rises above that at `passband_hz` anywhere in the band, dB; 0 when it
    /// does not. Where it does, the driver is in its own band by that fact, so the search needs no
    /// other limits.
    ///
    /// # Errors
    /// As for [`Survey::level_db`].
    pub fn ripple_db(&mut self, driver: usize, passband_hz: f64) -> Result<f64> {
        let passband = self.level_db(driver, passband_hz)?;
        let (_, depth) = self.lowest(|it| Ok(-it.level_db(driver)))?;
        Ok((-depth - passband).max(0.0))
    }

    /// ln f of all low points of a curve that lie within `rival` of the lowest, lowest first.
    pub(super) fn valleys(
        &mut self,
        curve: impl Fn(View<'_>) -> Result<f64>,
        rival: f64,
    ) -> Result<Vec<f64>> {
        let values = self.sampled(&curve)?;
        let solver = &mut self.solver;
        let mut at = |x: f64| {
            let z = solver.at(x.exp())?;
            curve(View { z, h: solver.h() })
        };
        let mut found = Vec::new();
        for row in low_rows(&values) {
            let end = values.len() - 1;
            let around = [self.x[row.saturating_sub(1)], self.x[(row + 1).min(end)]];
            let refined = search::lowest(around, &mut at)?;
            let on_grid = (self.x[row], values[row]);
            found.push(if refined.1 < on_grid.1 { refined } else { on_grid });
        }
        found.sort_by(|a, b| a.1.total_cmp(&b.1));
        let limit = found.first().map_or(f64::INFINITY, |it| it.1 + rival);
        found.retain(|it| it.1 <= limit);
        Ok(found.into_iter().map(|it| it.0).collect())
    }

    fn lowest(&mut self, curve: impl Fn(View<'_>) -> Result<f64>) -> Result<(f64, f64)> {
        let values = self.sampled(&curve)?;
        let solver = &mut self.solver;
        let mut at = |x: f64| {
            let z = solver.at(x.exp())?;
            curve(View { z, h: solver.h() })
        };
        let last = values.len() - 1;
        let at_row = |row: usize| values.get(row).copied().unwrap_or(f64::INFINITY);
        let valleys = low_rows(&values);
        let mut best = (RANGE_HZ[0].ln(), f64::INFINITY);
        for row in valleys {
            let around = [self.x[row.saturating_sub(1)], self.x[(row + 1).min(last)]];
            let refined = search::lowest(around, &mut at)?;
            for found in [(self.x[row], at_row(row)), refined] {
                if found.1 < best.1 {
                    best = found;
                }
            }
        }
        Ok((best.0.exp().clamp(RANGE_HZ[0], RANGE_HZ[1]), best.1))
    }

    fn zeros(&mut self, curve: impl Fn(View<'_>) -> f64) -> Result<Vec<f64>> {
        let values = self.sampled(&|it| Ok(curve(it)))?;
        let solver = &mut self.solver;
        let mut at = |x: f64| {
            let z = solver.at(x.exp())?;
            Ok(curve(View { z, h: solver.h() }))
        };
        let points: Vec<(f64, f64)> = self.x.iter().copied().zip(values).collect();
        let mut knots: Vec<(f64, f64)> = Vec::with_capacity(points.len());
        for (k, &point) in points.iter().enumerate() {
            let turn = match (k.checked_sub(1).and_then(|k| points.get(k)), points.get(k + 1)) {
                (Some(left), Some(right)) => turned_back(*left, point, *right),
                _ => None,
            };
            let Some(around) = turn else {
                knots.push(point);
                continue;
            };
            let side = point.1.signum();
            let (x, y) = search::lowest(around, |x| Ok(side * at(x)?))?;
            let extreme = (x, side * y);
            knots.extend(if x < point.0 { [extreme, point] } else { [point, extreme] });
        }
        let mut found = Vec::new();
        let mut before: Option<(f64, f64)> = None;
        for knot in knots.into_iter().filter(|it| it.1.abs() > SAME_DB) {
            if let Some(before) = before.filter(|it| it.1 * knot.1 < 0.0) {
                found.push(search::zero([before, knot], &mut at)?.exp());
            }
            before = Some(knot);
        }
        Ok(found)
    }

    fn sampled(&self, curve: &impl Fn(View<'_>) -> Result<f64>) -> Result<Vec<f64>> {
        let drivers = self.solver.h().len();
        self.z
            .iter()
            .enumerate()
            .map(|(row, &z)| curve(View { z, h: &self.h[row * drivers..][..drivers] }))
            .collect()
    }
}

/// The rows that are lower than both neighbours, the lowest first; no more than [`VALLEYS`].
fn low_rows(values: &[f64]) -> Vec<usize> {
    let at_row = |row: usize| values.get(row).copied().unwrap_or(f64::INFINITY);
    let mut rows: Vec<usize> = (0..values.len())
        .filter(|&row| {
            let left = row.checked_sub(1).map_or(f64::INFINITY, at_row);
            at_row(row) < left && at_row(row) <= at_row(row + 1)
        })
        .collect();
    rows.sort_by(|&a, &b| at_row(a).total_cmp(&at_row(b)));
    rows.truncate(VALLEYS);
    rows
}

/// The bracket of a point where the curve turns back before zero, or just beyond it between rows.
fn turned_back(left: (f64, f64), here: (f64, f64), right: (f64, f64)) -> Option<[f64; 2]> {
    let side = here.1.signum();
    let (left_gap, gap, right_gap) = (side * left.1, side * here.1, side * right.1);
    let turns = gap < left_gap && gap <= right_gap;
    (turns && (SAME_DB..NEAR_TURN_DB).contains(&gap)).then_some([left.0, right.0])
}
