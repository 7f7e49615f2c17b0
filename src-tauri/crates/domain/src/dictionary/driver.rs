//! Findings about a driver.

use super::{Entry, Expected, choice, count, flag, for_role, number, text};
use crate::{
    part::Role::{self, Midrange, Tweeter, Woofer},
    unit::Dimension,
};

const DRIVERS: &[Role] = &[Woofer, Midrange, Tweeter];
const CONES: &[Role] = &[Woofer, Midrange];
const DOMES: &[Role] = &[Tweeter];
const WOOFERS: &[Role] = &[Woofer];

pub(super) const ENTRIES: &[Entry<'_>] = &[
    count("qty", DRIVERS, "identical units")
        .typical(&[
            for_role(Woofer, 1.0, 2.0),
            for_role(Midrange, 1.0, 2.0),
            for_role(Tweeter, 1.0, 1.0),
        ])
        .why("load, level and displaced volume"),
    choice("wired", DRIVERS, "units wired in", &["single", "series", "parallel"])
        .expected(Expected::Optional)
        .why("load and level of the group"),
    number("nominal_d", DRIVERS, "nominal size", Dimension::Length, "in")
        .typical(&[
            for_role(Woofer, 4.0, 8.0),
            for_role(Midrange, 2.0, 4.0),
            for_role(Tweeter, 0.75, 1.1),
        ])
        .why("information"),
    number("re", DRIVERS, "DC resistance", Dimension::Resistance, "ohm")
        .typical(&[
            for_role(Woofer, 3.0, 7.2),
            for_role(Midrange, 3.0, 7.0),
            for_role(Tweeter, 3.0, 6.5),
        ])
        .why("damping and load"),
    number("fs", DRIVERS, "free-air resonance", Dimension::Frequency, "Hz")
        .typical(&[
            for_role(Woofer, 30.0, 75.0),
            for_role(Midrange, 80.0, 250.0),
            for_role(Tweeter, 600.0, 2000.0),
        ])
        .why("bass reach; margin below the crossover"),
    number("qms", DRIVERS, "mechanical Q", Dimension::One, "")
        .typical(&[
            for_role(Woofer, 2.0, 8.0),
            for_role(Midrange, 1.5, 6.0),
            for_role(Tweeter, 1.0, 5.0),
        ])
        .why("losses of the suspension"),
    number("qes", DRIVERS, "electrical Q", Dimension::One, "")
        .typical(&[
            for_role(Woofer, 0.3, 1.0),
            for_role(Midrange, 0.3, 1.2),
            for_role(Tweeter, 0.6, 2.0),
        ])
        .why("motor strength against mass"),
    number("qts", DRIVERS, "total Q", Dimension::One, "")
        .typical(&[
            for_role(Woofer, 0.25, 0.8),
            for_role(Midrange, 0.25, 1.0),
            for_role(Tweeter, 0.5, 1.4),
        ])
        .expected(Expected::Optional)
        .why("box alignment"),
    number("vas", WOOFERS, "equivalent volume", Dimension::Volume, "L")
        .typical(&[for_role(Woofer, 5.0, 90.0)])
        .expected(Expected::Optional)
        .why("box alignment"),
    number("mms", CONES, "moving mass with air load", Dimension::Mass, "g")
        .typical(&[for_role(Woofer, 5.0, 40.0), for_role(Midrange, 1.5, 6.0)])
        .why("efficiency"),
    number("cms", CONES, "compliance", Dimension::Compliance, "mm/N")
        .typical(&[for_role(Woofer, 0.3, 1.6), for_role(Midrange, 0.3, 1.2)])
        .expected(Expected::Optional)
        .why("resonance and equivalent volume"),
    number("rms", CONES, "mechanical resistance", Dimension::MechanicalLoss, "kg/s")
        .typical(&[for_role(Woofer, 0.4, 2.5), for_role(Midrange, 0.2, 1.2)])
        .expected(Expected::Optional)
        .why("losses of the suspension"),
    number("bl", CONES, "force factor", Dimension::ForceFactor, "T·m")
        .typical(&[for_role(Woofer, 4.0, 9.0), for_role(Midrange, 2.5, 6.0)])
        .why("motor"),
    number("le_1k", DRIVERS, "inductance at 1 kHz", Dimension::Inductance, "mH")
        .typical(&[
            for_role(Woofer, 0.2, 1.4),
            for_role(Midrange, 0.1, 0.6),
            for_role(Tweeter, 0.02, 0.12),
        ])
        .expected(Expected::Optional)
        .why("upper response and crossover"),
    number("le_10k", DRIVERS, "inductance at 10 kHz", Dimension::Inductance, "mH")
        .typical(&[
            for_role(Woofer, 0.1, 0.7),
            for_role(Midrange, 0.05, 0.4),
            for_role(Tweeter, 0.01, 0.1),
        ])
        .expected(Expected::Optional)
        .why("how fast the inductance falls"),
    number("sd", CONES, "effective area", Dimension::Area, "cm²")
        .typical(&[for_role(Woofer, 50.0, 230.0), for_role(Midrange, 15.0, 60.0)])
        .why("output"),
    number("xmax", CONES, "linear travel, one way", Dimension::Length, "mm")
        .typical(&[for_role(Woofer, 2.0, 7.0), for_role(Midrange, 0.8, 2.5)])
        .expected(Expected::Optional)
        .why("bass output"),
    choice("basket", CONES, "frame", &["cast", "stamped steel", "plastic"])
        .why("rigidity and heat"),
    choice("cone", CONES, "cone", &["paper", "polypropylene", "woven fibre", "aluminium", "other"])
        .expected(Expected::Optional)
        .why("breakup"),
    choice("surround", CONES, "surround", &["rubber", "cloth", "foam"]).why("foam ages"),
    choice("dome", DOMES, "dome", &["silk", "aluminium", "titanium", "polymer", "other"])
        .why("breakup"),
    flag("ferrofluid", DOMES, "ferrofluid in the gap")
        .expected(Expected::Optional)
        .why("damping and power"),
    flag("rear_chamber", DOMES, "rear chamber")
        .expected(Expected::Optional)
        .why("a lower resonance"),
    flag("vent_pole", CONES, "vented pole").why("compression and noise"),
    flag("vent_spider", CONES, "vented under the spider").why("compression and noise"),
    choice("shorting", CONES, "copper in the motor", &["none", "cap", "ring"])
        .why("how steady the inductance is"),
    choice("magnet", DRIVERS, "magnet", &["ferrite", "neodymium", "other"])
        .expected(Expected::Optional)
        .why("context"),
    number("magnet_d", DRIVERS, "magnet diameter", Dimension::Length, "mm")
        .typical(&[
            for_role(Woofer, 70.0, 130.0),
            for_role(Midrange, 40.0, 90.0),
            for_role(Tweeter, 25.0, 80.0),
        ])
        .expected(Expected::Optional)
        .why("context"),
    number("magnet_h", DRIVERS, "magnet height", Dimension::Length, "mm")
        .typical(&[
            for_role(Woofer, 10.0, 22.0),
            for_role(Midrange, 8.0, 18.0),
            for_role(Tweeter, 4.0, 15.0),
        ])
        .expected(Expected::Optional)
        .why("context"),
    number("driver_mass", DRIVERS, "mass of the unit", Dimension::Mass, "kg")
        .typical(&[
            for_role(Woofer, 0.5, 3.0),
            for_role(Midrange, 0.25, 0.9),
            for_role(Tweeter, 0.1, 0.8),
        ])
        .why("context only, never scored"),
    number("vc_d", CONES, "voice-coil diameter", Dimension::Length, "mm")
        .typical(&[for_role(Woofer, 19.0, 39.0), for_role(Midrange, 14.0, 26.0)])
        .expected(Expected::Optional)
        .why("heat"),
    number("vc_h", CONES, "winding height", Dimension::Length, "mm")
        .typical(&[for_role(Woofer, 7.0, 18.0), for_role(Midrange, 4.0, 9.0)])
        .expected(Expected::Optional)
        .why("linear travel"),
    number("gap_h", CONES, "gap height", Dimension::Length, "mm")
        .typical(&[for_role(Woofer, 4.0, 8.0), for_role(Midrange, 3.0, 6.0)])
        .expected(Expected::Optional)
        .why("linear travel"),
    text("mount", DRIVERS, "mounting and screws").why("whether it can be serviced"),
];
