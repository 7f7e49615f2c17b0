//! A passive network with drivers as loads, solved by complex modified nodal analysis.
//!
//! A source of 1 V drives node `in` against node `0`. Time runs as e^{+jωt}. Parts are linear and do
//! not couple: neighbouring coils that share their field, and iron that saturates, are not modelled.
//! Source: C.-W. Ho, A. E. Ruehli and P. A. Brennan, "The modified nodal approach to network
//! analysis", IEEE Trans. Circuits and Systems CAS-22, 504-509, 1975 (from memory).

use num_complex::Complex64;

use crate::air::Air;
use crate::error::{PhysicsError, Result, non_negative, positive};
use crate::lumped::MountedDriver;

mod ldl;
mod lu;
mod nodes;
mod solver;

pub use nodes::{GROUND, MAX_NODES, SOURCE};
pub use solver::Solver;

/// What a part is, with its values.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Part {
    /// A resistor.
    Resistor {
        /// Resistance, ohm.
        ohm: f64,
    },
    /// A capacitor.
    Capacitor {
        /// Capacitance, F.
        farad: f64,
        /// Equivalent series resistance, ohm; ideal when absent.
        esr_ohm: Option<f64>,
    },
    /// An inductor.
    Inductor {
        /// Inductance, H.
        henry: f64,
        /// Resistance of the winding at direct current, ohm; ideal when absent.
        dcr_ohm: Option<f64>,
    },
    /// A driver: what its terminals see is what the network is solved for.
    Driver(Load),
}

/// What a driver is to the network.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Load {
    /// A resistor in its place, ohm.
    Resistor(f64),
    /// The driver itself, in its box or in free air.
    Driver(MountedDriver),
}

/// A named part between two nodes. For a driver the first node is its positive terminal.
#[derive(Debug, Clone, PartialEq)]
pub struct Element {
    /// Its name, unique in the network.
    pub name: String,
    /// What it is.
    pub part: Part,
    /// The nodes it joins.
    pub nodes: [String; 2],
}

/// The network at one frequency, for 1 V at `in`.
#[derive(Debug, Clone, PartialEq)]
pub struct Solution {
    /// Impedance that the source sees, ohm.
    pub z: Complex64,
    /// Voltage between the terminals of each driver over the source's, in the order of
    /// [`Network::drivers`].
    pub h: Vec<Complex64>,
}

/// A network that has been checked: it can be solved at every frequency above 0, save where a circuit
/// without any loss resonates.
#[derive(Debug, Clone, PartialEq)]
pub struct Network {
    elements: Vec<Element>,
    /// Where each element is connected, in the order of `elements`.
    ends: Vec<nodes::Ends>,
    /// For each node of unknown voltage (all but `in` and `0`), the later ones that it touches when
    /// elimination comes to it.
    later: Vec<Vec<usize>>,
}

impl Part {
    fn check(&self, name: &str) -> Result<()> {
        self.check_values().map_err(|fault| match fault {
            PhysicsError::OutOfDomain { field, why } => {
                PhysicsError::out_of_domain(format!("{name}.{field}"), why)
            }
            other => other,
        })
    }

    fn check_values(&self) -> Result<()> {
        match *self {
            Part::Resistor { ohm } => positive("value", ohm).map(drop),
            Part::Capacitor { farad, esr_ohm } => {
                positive("value", farad)?;
                non_negative("esr", esr_ohm.unwrap_or(0.0)).map(drop)
            }
            Part::Inductor { henry, dcr_ohm } => {
                positive("value", henry)?;
                non_negative("dcr", dcr_ohm.unwrap_or(0.0)).map(drop)
            }
            Part::Driver(Load::Resistor(ohm)) => positive("load", ohm).map(drop),
            Part::Driver(Load::Driver(driver)) => driver.check(),
        }
    }

    /// The value in the unit a part is sold in, and the range in which such parts of loudspeakers lie
    /// (common practice, no source). Outside it the prefix of the unit was perhaps mistaken.
    fn usual(&self) -> Option<(f64, [f64; 2], &'static str)> {
        match *self {
            Part::Resistor { ohm } => Some((ohm, [0.1, 100.0], "ohm")),
            Part::Capacitor { farad, .. } => Some((farad * 1e6, [0.1, 500.0], "µF")),
            Part::Inductor { henry, .. } => Some((henry * 1e3, [0.02, 20.0], "mH")),
            Part::Driver(_) => None,
        }
    }

    /// The same part without the resistance of its winding or its plates; resistors and drivers are as
    /// they were.
    #[must_use]
    pub fn without_loss(self) -> Self {
        match self {
            Self::Capacitor { farad, .. } => Self::Capacitor { farad, esr_ohm: Some(0.0) },
            Self::Inductor { henry, .. } => Self::Inductor { henry, dcr_ohm: Some(0.0) },
            other => other,
        }
    }

    /// The same part with its value times `factor`; its losses and drivers are as they were.
    #[must_use]
    pub fn scaled(self, factor: f64) -> Self {
        match self {
            Self::Resistor { ohm } => Self::Resistor { ohm: ohm * factor },
            Self::Capacitor { farad, esr_ohm } => {
                Self::Capacitor { farad: farad * factor, esr_ohm }
            }
            Self::Inductor { henry, dcr_ohm } => Self::Inductor { henry: henry * factor, dcr_ohm },
            Self::Driver(load) => Self::Driver(load),
        }
    }

    fn lacks_loss(&self) -> bool {
        matches!(self, Part::Capacitor { esr_ohm: None, .. } | Part::Inductor { dcr_ohm: None, .. })
    }
}

impl Network {
    /// Checks a parts list.
    ///
    /// # Errors
    /// `OutOfDomain` naming `PART.value`, `PART.esr`, `PART.dcr`, `PART.load` or a driver's own
    /// field; `Inconsistent` naming the element for a name used twice, both ends on one node, a node
    /// that nothing else touches, or a part without a path to `in` or `0`, and naming the node when
    /// `in` or `0` is absent or they are not connected.
    pub fn new(elements: Vec<Element>) -> Result<Self> {
        for element in &elements {
            element.part.check(&element.name)?;
        }
        let (ends, later) = nodes::connect(&elements)?;
        Ok(Self { elements, ends, later })
    }

    /// The parts, as they were given.
    #[must_use]
    pub fn elements(&self) -> &[Element] {
        &self.elements
    }

    /// The names of the drivers, in the order of the parts list.
    pub fn drivers(&self) -> impl Iterator<Item = &str> {
        self.elements
            .iter()
            .filter(|it| matches!(it.part, Part::Driver(_)))
            .map(|it| it.name.as_str())
    }

    /// Where a driver stands in [`Solution::h`].
    ///
    /// # Errors
    /// `Missing` when no driver has that name.
    pub fn driver_index(&self, name: &str) -> Result<usize> {
        self.drivers()
            .position(|it| it == name)
            .ok_or_else(|| PhysicsError::Missing { field: format!("driver `{name}`") })
    }

    /// The same parts between the same nodes, with other values.
    ///
    /// # Errors
    /// `OutOfDomain` as for [`Network::new`] when a new value is not accepted.
    pub fn with_parts(&self, mut part: impl FnMut(&Element) -> Part) -> Result<Self> {
        let mut it = self.clone();
        for element in &mut it.elements {
            element.part = part(element);
            element.part.check(&element.name)?;
        }
        Ok(it)
    }

    /// The network at one frequency, Hz.
    ///
    /// # Errors
    /// `OutOfDomain` when the frequency is not positive, or a circuit without any loss resonates there.
    pub fn solve(&self, f_hz: f64, air: &Air) -> Result<Solution> {
        Solver::new(self, air).solution(f_hz)
    }

    /// The network at many frequencies, Hz; storage is made once.
    ///
    /// # Errors
    /// As for [`Network::solve`], for the first frequency at fault.
    pub fn solve_many(&self, frequencies_hz: &[f64], air: &Air) -> Result<Vec<Solution>> {
        let mut solver = Solver::new(self, air);
        frequencies_hz.iter().map(|&f_hz| solver.solution(f_hz)).collect()
    }

    /// What a reader should know of the values: parts counted as ideal because their resistance was
    /// not given, and values so unusual that the prefix of the unit was perhaps mistaken.
    #[must_use]
    pub fn flags(&self) -> Vec<String> {
        let mut flags = Vec::new();
        for Element { name, part, .. } in &self.elements {
            if part.lacks_loss() {
                flags.push(format!("ideal part: {name}"));
            }
            if let Some((value, [least, most], unit)) = part.usual()
                && !(least..=most).contains(&value)
            {
                flags.push(format!(
                    "unusual value: {name} of {value:.3} {unit} (usual: {least} to {most} {unit})"
                ));
            }
        }
        flags
    }
}
