//! Findings about the product as a whole.

use super::{Entry, Expected, choice, number, range};
use crate::{part::Role, unit::Dimension};

const WHOLE: &[Role] = &[Role::Whole];

pub(super) const ENTRIES: &[Entry<'_>] = &[
    number("rated_z", WHOLE, "rated impedance", Dimension::Resistance, "ohm")
        .typical(&[range(4.0, 8.0)])
        .why("the load that the maker promises"),
    number("rated_sens", WHOLE, "rated sensitivity", Dimension::Level, "dB")
        .typical(&[range(82.0, 93.0)])
        .expected(Expected::Optional)
        .why("the maker's level, to hold against the computed one"),
    choice(
        "sens_convention",
        WHOLE,
        "sensitivity convention",
        &["2.83 V, 1 m", "1 W, 1 m", "not stated"],
    )
    .expected(Expected::Optional)
    .why("1 W and 2.83 V differ by 3 dB at 4 ohm"),
    number("mass_each", WHOLE, "mass, one speaker", Dimension::Mass, "kg")
        .typical(&[range(2.0, 25.0)])
        .why("context only, never scored"),
];
