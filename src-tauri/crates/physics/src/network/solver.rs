//! The equations of a network at a frequency, in storage made once.

use std::f64::consts::TAU;

use num_complex::Complex64;

use super::nodes::{End, Ends};
use super::{Load, Network, Part, Solution, ldl, lu};
use crate::air::Air;
use crate::error::{PhysicsError, Result, positive};

/// A network with the storage to solve it again and again.
#[derive(Debug)]
pub struct Solver<'n> {
    network: &'n Network,
    air: Air,
    /// Equations of the resistors alone, which no frequency changes.
    fixed: Vec<Complex64>,
    /// Equations at the frequency; elimination destroys them.
    rows: Vec<Complex64>,
    /// Admittance of each element, S; those of the resistors stand from the start.
    admittances: Vec<Complex64>,
    /// Voltages of the unknown nodes.
    volts: Vec<Complex64>,
    /// Ends of the drivers, in order.
    terminals: Vec<Ends>,
    /// Voltages of the drivers over the source's.
    h: Vec<Complex64>,
}

impl<'n> Solver<'n> {
    /// Storage for a network in that air.
    #[must_use]
    pub fn new(network: &'n Network, air: &Air) -> Self {
        let unknowns = network.later.len();
        let mut fixed = vec![Complex64::ZERO; unknowns * (unknowns + 1)];
        let mut admittances = Vec::with_capacity(network.elements.len());
        let mut terminals = Vec::new();
        for (element, &ends) in network.elements.iter().zip(&network.ends) {
            let conductance = element.part.conductance().unwrap_or(0.0).into();
            stamp(&mut fixed, unknowns, ends, conductance);
            admittances.push(conductance);
            if matches!(element.part, Part::Driver(_)) {
                terminals.push(ends);
            }
        }
        Self {
            network,
            air: *air,
            rows: fixed.clone(),
            fixed,
            admittances,
            volts: vec![Complex64::ZERO; unknowns],
            h: vec![Complex64::ZERO; terminals.len()],
            terminals,
        }
    }

    /// Solves at a frequency, Hz, and returns the impedance that the source sees, ohm; the drivers'
    /// voltages are then in [`Solver::h`].
    ///
    /// The row of the source is not in the matrix: its voltage is known to be 1 V, so the admittances
    /// at `in` go to the right side, and its current follows from the voltages next to it. The unknown
    /// of the ideal source and its zero on the diagonal are saved.
    ///
    /// # Errors
    /// `OutOfDomain` when the frequency is not positive, or a circuit without any loss resonates there.
    pub fn at(&mut self, f_hz: f64) -> Result<Complex64> {
        let w = TAU * positive("f_hz", f_hz)?;
        let unknowns = self.network.later.len();
        self.rows.copy_from_slice(&self.fixed);
        let elements = self.network.elements.iter().zip(&self.network.ends);
        for ((element, &ends), admittance) in elements.zip(&mut self.admittances) {
            if element.part.conductance().is_none() {
                *admittance = element.part.admittance(w, f_hz, &self.air);
                stamp(&mut self.rows, unknowns, ends, *admittance);
            }
        }
        let regular = ldl::solve(&mut self.rows, &self.network.later, &mut self.volts)
            || self.solve_with_exchanges();
        for (driver, &ends) in self.terminals.iter().enumerate() {
            self.h[driver] = self.across(ends);
        }
        let z = self.source_current().inv();
        if regular && z.is_finite() && self.h.iter().all(|it| it.is_finite()) {
            Ok(z)
        } else {
            Err(PhysicsError::out_of_domain(
                "f_hz",
                format!(
                    "at {f_hz} Hz the network resonates without loss or leaves the range of numbers"
                ),
            ))
        }
    }

    /// Voltages of the drivers over the source's at the frequency last solved, in the order of
    /// [`Network::drivers`].
    #[must_use]
    pub fn h(&self) -> &[Complex64] {
        &self.h
    }

    /// The network that is solved.
    #[must_use]
    pub fn network(&self) -> &'n Network {
        self.network
    }

    pub(super) fn solution(&mut self, f_hz: f64) -> Result<Solution> {
        let z = self.at(f_hz)?;
        Ok(Solution { z, h: self.h.clone() })
    }

    /// The general way, for the few frequencies where a node nearly resonates: its admittances then
    /// all but cancel on the diagonal, and rows must be exchanged.
    fn solve_with_exchanges(&mut self) -> bool {
        let unknowns = self.network.later.len();
        self.rows.copy_from_slice(&self.fixed);
        let elements = self.network.elements.iter().zip(&self.network.ends);
        for ((element, &ends), &admittance) in elements.zip(&self.admittances) {
            if element.part.conductance().is_none() {
                stamp(&mut self.rows, unknowns, ends, admittance);
            }
        }
        lu::solve(&mut self.rows, unknowns, &mut self.volts)
    }

    fn source_current(&self) -> Complex64 {
        let ends = self.network.ends.iter();
        ends.zip(&self.admittances).fold(Complex64::ZERO, |current, (&ends, admittance)| match ends
        {
            [End::Source, _] => current + admittance * self.across(ends),
            [_, End::Source] => current - admittance * self.across(ends),
            _ => current,
        })
    }

    fn across(&self, [plus, minus]: Ends) -> Complex64 {
        self.volt(plus) - self.volt(minus)
    }

    fn volt(&self, end: End) -> Complex64 {
        match end {
            End::Ground => Complex64::ZERO,
            End::Source => Complex64::ONE,
            End::Unknown(row) => self.volts[row],
        }
    }
}

impl Part {
    /// Admittance of a resistor, S; none of a part that depends on frequency.
    fn conductance(&self) -> Option<f64> {
        match *self {
            Part::Resistor { ohm } | Part::Driver(Load::Resistor(ohm)) => Some(ohm.recip()),
            _ => None,
        }
    }

    /// Admittance at a frequency, S, in real arithmetic where that serves.
    fn admittance(&self, w: f64, f_hz: f64, air: &Air) -> Complex64 {
        match *self {
            Part::Resistor { ohm } | Part::Driver(Load::Resistor(ohm)) => ohm.recip().into(),
            Part::Capacitor { farad, esr_ohm } => {
                // 1/(R + 1/(jωC)) = ωC·(ωCR + j)/(1 + (ωCR)²)
                let susceptance = w * farad;
                let loss = susceptance * esr_ohm.unwrap_or(0.0);
                let scale = susceptance / (1.0 + loss * loss);
                Complex64::new(scale * loss, scale)
            }
            Part::Inductor { henry, dcr_ohm } => {
                Complex64::new(dcr_ohm.unwrap_or(0.0), w * henry).inv()
            }
            Part::Driver(Load::Driver(driver)) => driver.impedance(f_hz, air).inv(),
        }
    }
}

/// Adds an admittance between two nodes to the equations: to both diagonals, and taken from the pair
/// off the diagonal; towards `in` it drives the right side, because that node is at 1 V.
fn stamp(rows: &mut [Complex64], unknowns: usize, [plus, minus]: Ends, admittance: Complex64) {
    for (here, there) in [(plus, minus), (minus, plus)] {
        let End::Unknown(k) = here else { continue };
        let row = &mut rows[k * (unknowns + 1)..][..=unknowns];
        row[k] += admittance;
        match there {
            End::Ground => {}
            End::Source => row[unknowns] += admittance,
            End::Unknown(other) => row[other] -= admittance,
        }
    }
}
