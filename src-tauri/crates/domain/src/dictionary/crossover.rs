//! Findings about the passive network as a whole; its parts stand in the parts list.

use super::{Entry, Expected, choice, number, range, text};
use crate::{part::Role, unit::Dimension};

const CROSSOVER: &[Role] = &[Role::Crossover];

pub(super) const ENTRIES: &[Entry<'_>] = &[
    choice("present", CROSSOVER, "network", &["none", "capacitor only", "full"])
        .why("basic integration of the drivers"),
    choice(
        "tweeter_cap",
        CROSSOVER,
        "capacitor in the tweeter path",
        &["polypropylene", "polyester", "electrolytic"],
    )
    .why("loss at high frequencies"),
    choice(
        "woofer_coil",
        CROSSOVER,
        "coil in the woofer path",
        &["air", "ferrite", "iron", "laminated"],
    )
    .expected(Expected::FullNetwork)
    .why("loss and saturation"),
    number("wire_d_coil", CROSSOVER, "coil wire diameter", Dimension::Length, "mm")
        .typical(&[range(0.4, 1.2)])
        .expected(Expected::Optional)
        .why("resistance in the woofer path"),
    choice("board", CROSSOVER, "built on", &["board", "point to point", "terminal cup"])
        .expected(Expected::FullNetwork)
        .why("vibration and heat"),
    choice("coil_orient", CROSSOVER, "neighbouring coils", &["good", "poor"])
        .expected(Expected::FullNetwork)
        .why("mutual coupling, which is not modelled"),
    choice("polarity.tweeter", CROSSOVER, "tweeter polarity as wired", &["same", "inverted"])
        .expected(Expected::FullNetwork)
        .why("summation at the crossover"),
    choice("polarity.midrange", CROSSOVER, "midrange polarity as wired", &["same", "inverted"])
        .expected(Expected::ThreeWay)
        .why("summation at the crossover"),
    text("marking", CROSSOVER, "printed model or revision").why("traceability"),
];
