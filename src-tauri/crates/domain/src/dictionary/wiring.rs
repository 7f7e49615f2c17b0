//! Findings about conductors, joints and terminals.

use super::{Entry, Expected, choice, flag, number, range, text};
use crate::{part::Role, unit::Dimension};

const WIRING: &[Role] = &[Role::Wiring];

pub(super) const ENTRIES: &[Entry<'_>] = &[
    choice("wire_material", WIRING, "conductor", &["copper", "tinned copper", "cca", "aluminium"])
        .why("copper-clad aluminium has about 63 % of copper's conductance"),
    number("wire_size", WIRING, "conductor size", Dimension::WireSize, "mm²")
        .typical(&[range(0.3, 2.6)])
        .why("loop resistance"),
    number("wire_len", WIRING, "run to the woofer", Dimension::Length, "m")
        .typical(&[range(0.2, 1.6)])
        .why("loop resistance"),
    choice("joint", WIRING, "joints", &["soldered", "crimped tight", "crimped loose", "mixed"])
        .why("corrosion and service"),
    choice("terminal", WIRING, "terminal", &["binding post", "screw", "spring clip"])
        .why("use and durability"),
    number("post_spacing", WIRING, "post spacing", Dimension::Length, "mm")
        .typical(&[range(14.0, 30.0)])
        .expected(Expected::Optional)
        .why("19.05 mm (3/4 in) takes dual plugs"),
    flag("ferromagnetic.post", WIRING, "posts drawn by a magnet")
        .why("an honest label; the electrical effect is negligible"),
    flag("ferromagnetic.nut", WIRING, "nuts drawn by a magnet")
        .expected(Expected::Optional)
        .why("as for the posts"),
    flag("ferromagnetic.jumper", WIRING, "jumpers drawn by a magnet")
        .expected(Expected::Optional)
        .why("as for the posts"),
    flag("ferromagnetic.lug", WIRING, "lugs drawn by a magnet")
        .expected(Expected::Optional)
        .why("as for the posts"),
    choice("strain_relief", WIRING, "strain relief", &["good", "poor"])
        .why("rattle and durability"),
    flag("biwire", WIRING, "separate terminals for each way")
        .expected(Expected::Optional)
        .why("information only"),
    text("wiring_note", WIRING, "wiring").why("traceability"),
];
