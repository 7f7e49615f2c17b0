//! Conductors between terminal and woofer.

use domain::part::Role::Wiring;

use super::{
    ledger::{Ledger, Stop},
    load,
};
use crate::wire::{self, Conductor};

/// Room temperature, °C.
const ROOM_C: f64 = 20.0;

pub(super) fn loop_ohm(it: &mut Ledger<'_, '_>) -> Result<f64, Stop> {
    let (material, area, length) = (
        it.choice(Wiring, "wire_material"),
        it.number(Wiring, "wire_size"),
        it.number(Wiring, "wire_len"),
    );
    let conductor = match material? {
        "cca" => {
            it.assume("copper-clad aluminium of the 10 % copper class");
            Conductor::Cca10a
        }
        "aluminium" => Conductor::Aluminium,
        _ => Conductor::Copper,
    };
    it.by("R = 2·ρ·l/A");
    let per_m = wire::resistance_per_m(area?, conductor, ROOM_C)?;
    Ok(wire::loop_resistance_ohm(length?, per_m)?)
}

pub(super) fn loop_loss_db(it: &mut Ledger<'_, '_>) -> Result<f64, Stop> {
    let (wire, load) = (loop_ohm(it), load::z_min_ohm(it));
    it.by("20·log₁₀(Z/(Z + R))");
    Ok(wire::insertion_loss_db(wire?, load?)?)
}
