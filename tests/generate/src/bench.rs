//! What the bench finds in a product, and what its maker says.

use std::f64::consts::{PI, TAU};

use domain::{
    dictionary::Dictionary,
    dossier::{Dossier, Job},
    part::{Part, Role},
    price::Price,
    product::{Acquired, Product, Specimen, Teardown},
};

use crate::{Design, Dice, day, driver::Driver, network, sheet::Sheet};

/// The odds that a product was never opened.
const UNOPENED: f64 = 0.08;
/// The odds that one number of a teardown is a slip of the decimal point.
const SLIP: f64 = 0.02;

/// The product with all that is recorded about it.
pub(crate) fn opened(
    product: Product,
    prices: Vec<Price>,
    design: &Design,
    seed: u64,
    number: usize,
) -> Dossier {
    let dictionary = Dictionary::standard();
    let dice = |purpose: &str| Dice::of(seed, number, purpose);
    let mut it = dice("bench");
    let woofer = Driver::drawn(Role::Woofer, design, &mut it);
    let mut stated = Sheet::claimed(&dictionary, day(design.year, 3, 1), dice("stated"));
    stated.words(
        Part::first(Role::Whole),
        "rated_z",
        if design.low_impedance { "4 ohm" } else { "8 ohm" },
    );
    stated.number(
        Part::first(Role::Whole),
        "mass_each",
        it.about(4.5 * woofer.nominal_in / 5.0, 0.2),
        1,
        "kg",
        None,
    );
    let mut dossier = Dossier {
        product,
        prices,
        specimens: Vec::new(),
        stated: stated.findings,
        jobs: Vec::new(),
    };
    if it.chance(UNOPENED) {
        return dossier;
    }
    let date =
        day(2024 + i16::try_from(it.whole(0, 2)).unwrap_or(0), it.whole(1, 10), it.whole(1, 28));
    let acquired = if it.chance(0.8) { Acquired::Retail } else { Acquired::Lent };
    let serial = format!("{:05}", it.whole(1, 99_999));
    dossier.specimens.push(Specimen { label: "A".into(), acquired, serial });
    // Most teardowns are nearly complete, some are half done.
    let gaps = if it.chance(0.8) { it.between(0.0, 0.12) } else { it.between(0.2, 0.6) };
    let mut sheet = Sheet::new(&dictionary, date, gaps, dice("sheet"));
    cabinet(&mut sheet, design, &woofer, &mut it);
    woofer.measured(&mut sheet, design, &mut it);
    if design.ways >= 3 {
        Driver::drawn(Role::Midrange, design, &mut it).measured(&mut sheet, design, &mut it);
    }
    Driver::drawn(Role::Tweeter, design, &mut it).measured(&mut sheet, design, &mut it);
    let is_full = it.chance(0.75 + 0.25 * design.quality);
    crossover(&mut sheet, design, is_full, &mut it);
    wiring(&mut sheet, design.quality, &mut it);
    if it.chance(SLIP) {
        let typed = format!("{:.1} g", woofer.mms_kg * 1e4);
        sheet.retype(Part::first(Role::Woofer), "mms", &typed);
    }
    let is_traced = is_full && design.ways == 2 && it.chance(0.9);
    let sweeps = if it.chance(0.25) { vec![woofer.swept(&mut it)] } else { Vec::new() };
    dossier.jobs.push(Job {
        teardown: Teardown { specimen: "A".into(), date, note: String::new() },
        findings: sheet.findings,
        network: if is_traced { network::traced(design.quality, &mut it) } else { Vec::new() },
        sweeps,
    });
    dossier
}

fn cabinet(sheet: &mut Sheet<'_>, design: &Design, woofer: &Driver, dice: &mut Dice) {
    let part = Part::first(Role::Cabinet);
    let quality = design.quality;
    let width = woofer.nominal_in * 25.4 + dice.between(35.0, 60.0);
    let (height, depth) = if design.floor_standing {
        (dice.between(780.0, 950.0), width * dice.between(1.15, 1.3))
    } else {
        (width * dice.between(1.7, 2.0), width * dice.between(1.3, 1.6))
    };
    let wall = dice.graded(quality, &["9", "12", "15", "15", "18"]);
    let baffle = dice.graded(quality, &["12", "15", "18", "22"]);
    let wall_mm: f64 = wall.parse().unwrap_or(15.0);
    let inner = |it: f64| it - 2.0 * wall_mm;
    let net_l = inner(height) * inner(width) * inner(depth) * 1e-6 * dice.between(0.84, 0.9);
    for (key, value) in [("outer_h", height), ("outer_w", width), ("outer_d", depth)] {
        sheet.number(part, key, value, 0, "mm", None);
    }
    for key in ["panel_thick.side", "panel_thick.top", "panel_thick.back"] {
        sheet.words(part, key, &format!("{wall} mm"));
    }
    sheet.words(part, "panel_thick.front", &format!("{baffle} mm"));
    sheet.words(
        part,
        "panel_material",
        dice.graded(quality, &["particle", "mdf", "mdf", "mdf", "ply"]),
    );
    sheet.words(
        part,
        "wall_damping",
        dice.graded(quality, &["none", "none", "lined panel", "damping sheet"]),
    );
    let braces = if dice.chance(quality) { dice.whole(1, 2) } else { 0 };
    sheet.words(part, "brace_count", &braces.to_string());
    if braces > 0 {
        let free = inner(height) / f64::from(braces + 1);
        let places: Vec<String> =
            (1..=braces).map(|it| format!("{:.0} mm", free * f64::from(it))).collect();
        sheet.words(part, "brace_pos", &places.join("; "));
        sheet.words(part, "brace_type", dice.one(&["shelf", "window", "rib"]));
    }
    sheet.number(part, "net_volume", net_l, 1, "L", Some(0.03));
    let is_vented = dice.chance(0.8);
    sheet.words(part, "box_type", if is_vented { "vented" } else { "closed" });
    if is_vented {
        port(sheet, net_l * 1e-3, woofer, dice);
    }
    let lining = dice.graded(quality, &["none", "foam", "polyester", "polyester", "wool"]);
    sheet.words(part, "lining_material", lining);
    if lining != "none" {
        sheet.number(part, "lining_thick", dice.between(10.0, 40.0), 0, "mm", None);
        sheet.number(part, "lining_cover", dice.between(25.0, 85.0), 0, "%", None);
    }
    if design.ways >= 3 {
        sheet.words(part, "mid_chamber", dice.graded(quality, &["none", "partial", "sealed"]));
    }
    sheet.words(part, "gasket", dice.graded(quality, &["none", "foam", "foam", "caulk"]));
    sheet.flag(part, "leak_found", dice.chance(0.25 * (1.0 - quality)));
    sheet.words(
        part,
        "finish_note",
        dice.one(&["vinyl wrap, cloth grille", "painted, no grille", "veneer, magnetic grille"]),
    );
}

/// A port that tunes the box a little below the woofer's resonance: the length follows from the Helmholtz resonator with
/// both end corrections.
fn port(sheet: &mut Sheet<'_>, volume_m3: f64, woofer: &Driver, dice: &mut Dice) {
    let part = Part::first(Role::Cabinet);
    let fb = (woofer.fs_hz * dice.between(0.85, 1.0)).clamp(36.0, 65.0);
    let mut found = (0.05, 0.12);
    for d_m in [0.035, 0.04, 0.045, 0.05, 0.06, 0.07] {
        let area = PI * d_m * d_m / 4.0;
        let length = area / volume_m3 * (343.2 / (TAU * fb)).powi(2) - 0.732 * d_m;
        if (0.06..0.2).contains(&length) {
            found = (d_m, length);
        }
    }
    let (d_m, length) = found;
    sheet.words(part, "port_n", "1");
    sheet.number(part, "port_d", d_m * 1e3, 0, "mm", None);
    sheet.number(part, "port_l", length * 1e3, 0, "mm", None);
    sheet.number(part, "port_flare.in", dice.between(0.0, 8.0), 0, "mm", None);
    sheet.number(part, "port_flare.out", dice.between(0.0, 15.0), 0, "mm", None);
    sheet.words(part, "port_pos", dice.one(&["front", "rear", "rear"]));
}

fn crossover(sheet: &mut Sheet<'_>, design: &Design, is_full: bool, dice: &mut Dice) {
    let part = Part::first(Role::Crossover);
    let quality = design.quality;
    sheet.words(part, "present", if is_full { "full" } else { "capacitor only" });
    sheet.words(
        part,
        "tweeter_cap",
        dice.graded(quality, &["electrolytic", "polyester", "polypropylene"]),
    );
    if is_full {
        sheet.words(
            part,
            "woofer_coil",
            dice.graded(quality, &["iron", "ferrite", "laminated", "air"]),
        );
        sheet.words(
            part,
            "board",
            dice.graded(quality, &["terminal cup", "board", "board", "point to point"]),
        );
        sheet.words(part, "coil_orient", dice.graded(quality, &["poor", "good"]));
        sheet.words(part, "polarity.tweeter", dice.one(&["same", "inverted"]));
    }
    if design.ways >= 3 {
        sheet.words(part, "polarity.midrange", dice.one(&["same", "inverted"]));
    }
    sheet.words(
        part,
        "marking",
        &format!("XO-{} rev {}", dice.whole(100, 999), dice.one(&["A", "B", "C"])),
    );
}

fn wiring(sheet: &mut Sheet<'_>, quality: f64, dice: &mut Dice) {
    let part = Part::first(Role::Wiring);
    sheet.words(
        part,
        "wire_material",
        dice.graded(quality, &["cca", "copper", "copper", "tinned copper"]),
    );
    sheet.words(part, "wire_size", dice.graded(quality, &["22 AWG", "20 AWG", "18 AWG", "16 AWG"]));
    sheet.number(part, "wire_len", dice.between(0.3, 0.9), 2, "m", None);
    sheet.words(
        part,
        "joint",
        dice.graded(quality, &["crimped loose", "crimped tight", "soldered"]),
    );
    sheet.words(part, "terminal", dice.graded(quality, &["spring clip", "screw", "binding post"]));
    sheet.flag(part, "ferromagnetic.post", dice.chance(0.5));
    sheet.words(part, "strain_relief", dice.graded(quality, &["poor", "good"]));
    sheet.words(
        part,
        "wiring_note",
        dice.one(&["colour coded", "all black", "tinned ends, hot glue"]),
    );
}
