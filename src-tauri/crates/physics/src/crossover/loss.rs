//! What the parts of a crossover cost: level with them against level without.

use super::survey::level_db;
use crate::air::Air;
use crate::error::Result;
use crate::network::{Network, Part, Solver};

/// Level of a driver at `f_hz` re that at `reference_hz`, dB; negative where it is attenuated.
///
/// # Errors
/// `Missing` when no driver has that name; `OutOfDomain` when a frequency is not positive, or a circuit
/// without any loss resonates there.
pub fn attenuation_db(
    network: &Network,
    driver: &str,
    f_hz: f64,
    reference_hz: f64,
    air: &Air,
) -> Result<f64> {
    Ok(level(network, driver, f_hz, air)? - level(network, driver, reference_hz, air)?)
}

/// What the resistance of coils and capacitors takes from a driver at `f_hz`, dB: the level of the same
/// network without it less the real one. Resistors that are parts of their own stay.
///
/// # Errors
/// As for [`attenuation_db`].
pub fn series_loss_db(network: &Network, driver: &str, f_hz: f64, air: &Air) -> Result<f64> {
    let ideal = network.with_parts(|it| it.part.without_loss())?;
    Ok(level(&ideal, driver, f_hz, air)? - level(network, driver, f_hz, air)?)
}

/// What the resistance of the capacitors alone takes from a driver at `f_hz`, dB.
///
/// # Errors
/// As for [`attenuation_db`].
pub fn capacitor_loss_db(network: &Network, driver: &str, f_hz: f64, air: &Air) -> Result<f64> {
    let ideal = network.with_parts(|it| match it.part {
        Part::Capacitor { .. } => it.part.without_loss(),
        part => part,
    })?;
    Ok(level(&ideal, driver, f_hz, air)? - level(network, driver, f_hz, air)?)
}

fn level(network: &Network, driver: &str, f_hz: f64, air: &Air) -> Result<f64> {
    let driver = network.driver_index(driver)?;
    let mut solver = Solver::new(network, air);
    solver.at(f_hz)?;
    Ok(level_db(solver.h()[driver]))
}
