//! The order of a crossover, by measurement of its slopes.

use super::survey::level_db;
use crate::air::Air;
use crate::error::{Result, finite_result};
use crate::network::{Element, Load, Network, Part, Solver};

/// Slope of one order, dB per octave.
const SLOPE_DB: f64 = 20.0 * std::f64::consts::LOG10_2;
/// An octave far below every corner, Hz, where a high-pass has its full slope.
const FAR_BELOW_HZ: [f64; 2] = [1.0, 2.0];
/// An octave far above every corner, Hz, where a low-pass has it.
const FAR_ABOVE_HZ: [f64; 2] = [1e6, 2e6];
/// A slope this near to a whole order counts as one.
const NEAR_WHOLE: f64 = 0.05;

/// Electrical order of a driver's network.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Order {
    /// Of a low-pass or a high-pass; 0 for a driver without a crossover.
    One(u8),
    /// Of both sides of a midrange.
    Band {
        /// Of its high-pass.
        high: u8,
        /// Of its low-pass.
        low: u8,
    },
    /// The far slope is not a whole one, or rises the wrong way.
    Unclear,
}

/// The order of a driver's network: the slope of its idealised form, far from every corner, in units
/// of 20·log10 2 dB per octave.
///
/// Idealised means without the resistance of coils and capacitors and with each driver a resistor of
/// its Re. The resistance of a coil would otherwise make a third-order high-pass read as second-order
/// far below. Resistors of the network stay: one in series with a shunt capacitor does lower the far
/// order. The woofer's is its low-pass, the tweeter's its high-pass; any other driver has both, and
/// where one of them is 0 only the other is told, unless the driver is named `mid`.
///
/// # Errors
/// `Missing` when no driver has that name; `OutOfDomain` when the idealised circuit resonates exactly
/// where it is measured.
pub fn electrical_order(network: &Network, driver: &str, air: &Air) -> Result<Order> {
    let ideal = network.with_parts(idealised)?;
    let whole = |octave, sign: f64| -> Result<Option<u8>> {
        let slope = sign * slope_db_per_octave(&ideal, driver, octave, air)? / SLOPE_DB;
        let near = (0..=u8::MAX).find(|&order| (slope - f64::from(order)).abs() <= NEAR_WHOLE);
        Ok(near)
    };
    let one = |order: Option<u8>| order.map_or(Order::Unclear, Order::One);
    match driver {
        "woofer" => return Ok(one(whole(FAR_ABOVE_HZ, -1.0)?)),
        "tweeter" => return Ok(one(whole(FAR_BELOW_HZ, 1.0)?)),
        _ => {}
    }
    Ok(match (whole(FAR_BELOW_HZ, 1.0)?, whole(FAR_ABOVE_HZ, -1.0)?) {
        (Some(0), low) if driver != "mid" => one(low),
        (high, Some(0)) if driver != "mid" => one(high),
        (Some(high), Some(low)) => Order::Band { high, low },
        _ => Order::Unclear,
    })
}

/// How a driver's level changes from one frequency to another, dB per octave, with the parts as they
/// are.
///
/// # Errors
/// `Missing` when no driver has that name; `OutOfDomain` when a frequency is not positive, both are
/// the same, or a circuit without any loss resonates there.
pub fn slope_db_per_octave(
    network: &Network,
    driver: &str,
    [from_hz, to_hz]: [f64; 2],
    air: &Air,
) -> Result<f64> {
    let driver = network.driver_index(driver)?;
    let mut solver = Solver::new(network, air);
    let mut level = |f_hz| {
        solver.at(f_hz)?;
        Ok(level_db(solver.h()[driver]))
    };
    let rise_db: f64 = -level(from_hz)? + level(to_hz)?;
    finite_result("slope_db_per_octave", rise_db / (to_hz / from_hz).log2())
}

fn idealised(element: &Element) -> Part {
    match element.part {
        Part::Driver(Load::Driver(it)) => Part::Driver(Load::Resistor(it.params.re_ohm)),
        part => part.without_loss(),
    }
}
