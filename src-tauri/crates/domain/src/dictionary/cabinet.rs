//! Findings about the box.

use super::{Entry, Expected, Kind, choice, count, flag, number, range, text};
use crate::{part::Role, unit::Dimension};

const CABINET: &[Role] = &[Role::Cabinet];

pub(super) const ENTRIES: &[Entry<'_>] = &[
    number("outer_h", CABINET, "outer height", Dimension::Length, "mm")
        .typical(&[range(200.0, 1100.0)])
        .why("inner volume and panel spans"),
    number("outer_w", CABINET, "outer width", Dimension::Length, "mm")
        .typical(&[range(130.0, 280.0)])
        .why("baffle width and panel spans"),
    number("outer_d", CABINET, "outer depth", Dimension::Length, "mm")
        .typical(&[range(150.0, 420.0)])
        .why("inner volume and panel spans"),
    number("panel_thick.front", CABINET, "front panel thickness", Dimension::Length, "mm")
        .typical(&[range(12.0, 25.0)])
        .why("bending stiffness grows with its cube"),
    number("panel_thick.side", CABINET, "side panel thickness", Dimension::Length, "mm")
        .typical(&[range(9.0, 18.0)])
        .why("bending stiffness grows with its cube"),
    number("panel_thick.top", CABINET, "top panel thickness", Dimension::Length, "mm")
        .typical(&[range(9.0, 18.0)])
        .why("bending stiffness grows with its cube"),
    number("panel_thick.back", CABINET, "back panel thickness", Dimension::Length, "mm")
        .typical(&[range(9.0, 18.0)])
        .why("bending stiffness grows with its cube"),
    choice(
        "panel_material",
        CABINET,
        "panel material",
        &["mdf", "particle", "ply", "moulded", "other"],
    )
    .why("stiffness, density and loss"),
    choice("wall_damping", CABINET, "wall damping", &["none", "lined panel", "damping sheet"])
        .why("damps what stiffness cannot"),
    count("brace_count", CABINET, "braces")
        .typical(&[range(0.0, 4.0)])
        .why("supports; their place decides what they do"),
    Entry {
        kind: Kind::Numbers(Dimension::Length, "mm"),
        ..number(
            "brace_pos",
            CABINET,
            "brace positions above the inner bottom",
            Dimension::Length,
            "mm",
        )
    }
    .expected(Expected::Braced)
    .why("the spans that are left free"),
    choice("brace_type", CABINET, "brace type", &["shelf", "window", "rib", "post"])
        .expected(Expected::Braced)
        .why("how stiff the support is"),
    number("net_volume", CABINET, "net inner volume", Dimension::Volume, "L")
        .typical(&[range(4.0, 60.0)])
        .why("the box alignment"),
    choice("box_type", CABINET, "box type", &["closed", "vented", "passive radiator", "line"])
        .why("which box model holds"),
    count("port_n", CABINET, "ports")
        .typical(&[range(1.0, 2.0)])
        .expected(Expected::Vented)
        .why("tuning and air speed"),
    number("port_d", CABINET, "port inner diameter", Dimension::Length, "mm")
        .typical(&[range(30.0, 75.0)])
        .expected(Expected::Vented)
        .why("tuning and air speed"),
    number("port_l", CABINET, "port straight length", Dimension::Length, "mm")
        .typical(&[range(60.0, 200.0)])
        .expected(Expected::Vented)
        .why("tuning"),
    number("port_flare.in", CABINET, "inner port flare radius", Dimension::Length, "mm")
        .typical(&[range(0.0, 20.0)])
        .expected(Expected::Vented)
        .why("noise and effective length; 0 is a sharp edge"),
    number("port_flare.out", CABINET, "outer port flare radius", Dimension::Length, "mm")
        .typical(&[range(0.0, 20.0)])
        .expected(Expected::Vented)
        .why("noise and effective length; 0 is a sharp edge"),
    choice("port_pos", CABINET, "port position", &["front", "rear", "bottom"])
        .expected(Expected::Vented)
        .why("placement in the room"),
    number("fb_measured", CABINET, "measured box tuning", Dimension::Frequency, "Hz")
        .typical(&[range(35.0, 70.0)])
        .expected(Expected::Optional)
        .why("wins over the tuning computed from the port"),
    choice(
        "lining_material",
        CABINET,
        "lining",
        &["none", "polyester", "wool", "mineral wool", "foam", "felt"],
    )
    .why("absorbs standing waves"),
    number("lining_thick", CABINET, "lining thickness", Dimension::Length, "mm")
        .typical(&[range(5.0, 50.0)])
        .expected(Expected::Lined)
        .why("how low it absorbs"),
    number("lining_cover", CABINET, "walls covered by lining", Dimension::Fraction, "%")
        .typical(&[range(20.0, 90.0)])
        .expected(Expected::Lined)
        .why("mean absorption"),
    choice("mid_chamber", CABINET, "midrange chamber", &["none", "partial", "sealed"])
        .expected(Expected::ThreeWay)
        .why("woofer pressure on the midrange cone"),
    choice("gasket", CABINET, "driver gasket", &["none", "foam", "caulk"]).why("air leaks"),
    flag("leak_found", CABINET, "air leak found").why("box losses and noise"),
    choice("joint", CABINET, "panel joint", &["butt", "rebate", "mitre", "moulded"])
        .expected(Expected::Optional)
        .why("durability"),
    number("baffle_edge_r", CABINET, "front edge radius", Dimension::Length, "mm")
        .typical(&[range(0.0, 20.0)])
        .expected(Expected::Optional)
        .why("edge diffraction, information only"),
    text("finish_note", CABINET, "finish, feet, grille").why("durability"),
];
