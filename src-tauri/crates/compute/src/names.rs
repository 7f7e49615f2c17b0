//! The calculations, one file a family.

mod acceptability;
mod boxes;
mod cabinet;
mod circuit;
mod compact;
mod conformity;
mod design;
mod driver;
mod fit;
mod groups;
mod market;
mod measured;
mod network;
mod port;
mod prices;
mod robustness;
mod statement;
mod weighted;
mod wiring;
mod worth;

use crate::shape::Calculation;

/// All of them, in the order in which they are documented. New ones go to the end: the kept inputs
/// of the fuzz target count by place.
pub(crate) static ALL: &[&Calculation] = &[
    &driver::DRIVER,
    &driver::DRIVER_GROUP,
    &statement::CONSISTENCY,
    &fit::IMPEDANCE_FIT,
    &measured::ADDED_MASS,
    &measured::KNOWN_VOLUME,
    &boxes::CLOSED_BOX,
    &boxes::VENTED_BOX,
    &port::PORT,
    &port::PORT_LENGTH,
    &port::PORT_VOLUME,
    &circuit::BOX_CIRCUIT,
    &circuit::BOX_FROM_HUMPS,
    &compact::DISPLACEMENT_LIMIT,
    &cabinet::PANEL,
    &cabinet::PANEL_BRACED,
    &cabinet::CAVITY,
    &cabinet::LINING,
    &cabinet::CAVITY_Q,
    &cabinet::CHAMBER,
    &network::NETWORK,
    &design::L_PAD,
    &design::LADDER,
    &wiring::WIRE,
    &compact::DOPPLER,
    &compact::BAFFLE_STEP,
    &compact::PISTON,
    &statement::UNCERTAIN_PRODUCT,
    &prices::REAL_PRICE,
    &weighted::INDEX,
    &worth::VALUE_POINTS,
    &worth::ISOTONIC,
    &worth::FRONTIER,
    &acceptability::ACCEPTABILITY,
    &robustness::STABILITY,
    &market::PREVALENCE,
    &market::QUANTILES,
    &groups::SHIFT,
    &groups::ASSOCIATION,
    &conformity::CONFORMITY,
    &statement::NORMAL_SUM,
];
