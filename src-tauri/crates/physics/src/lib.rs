//! The engineering of passive loudspeakers: numbers in, numbers out.
//!
//! Every function takes SI values (m, kg, s, Pa, ohm, H, F, T·m, m/N, kg/s) and small structs, and
//! does no input or output. A value outside its domain gives a [`PhysicsError`] that names the
//! field; a function never returns NaN or an infinity. Levels are dB, angles degrees, quantities
//! rms unless a name says peak. A reader finds each formula by its trade name: the module list
//! below is the table of contents.

#![forbid(unsafe_code)]

pub mod added_mass;
pub mod air;
pub mod baffle;
pub mod box_closed;
pub mod box_vented;
pub mod brace;
pub mod cavity;
pub mod chamber;
pub mod consistency;
pub mod cross_check;
pub mod crossover;
pub mod displacement;
pub mod doppler;
pub mod driver;
pub mod driver_group;
pub mod error;
pub mod fit;
pub mod half_power;
pub mod humps;
pub mod ladder;
pub mod lining;
pub mod load;
pub mod lobe;
pub mod lumped;
pub mod material;
pub mod network;
pub mod panel;
pub mod piston;
pub mod port;
pub mod quantity;
pub mod spread;
pub mod sweep;
pub mod thermal;
pub mod uncertainty;
pub mod volume;
pub mod wire;

pub use air::Air;
pub use error::{PhysicsError, Result};

#[cfg(test)]
mod fixture;
