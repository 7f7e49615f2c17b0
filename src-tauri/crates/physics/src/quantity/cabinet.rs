//! Walls and the air between them.

use domain::part::Role::Cabinet;

use super::{
    bench::Shape,
    ledger::{Ledger, Stop},
};
use crate::{
    baffle, cavity,
    lining::{self, Lining},
    material::{Assumed, PanelMaterial},
    panel::Panel,
};

/// A handbook figure with its range, taken as a rectangle.
fn handbook(it: &mut Ledger<'_, '_>, id: &str, of: Assumed) -> f64 {
    it.uncertain(id, of.value, (of.high - of.low) / 12_f64.sqrt(), Shape::Rectangular)
}

/// How far an edge is from hinged (0) to clamped (1): a glued one lies anywhere between (editorial).
const EDGE: f64 = 0.5;
const EDGE_U: f64 = 0.288_675_134_594_812_9;

/// Clear inner spans and wall thicknesses, m.
struct Box3 {
    height: f64,
    width: f64,
    depth: f64,
    front: f64,
    side: f64,
    top: f64,
    back: f64,
}

fn inner(it: &mut Ledger<'_, '_>) -> Result<Box3, Stop> {
    // All seven are asked for before the first missing one stops, so that the list of what is missing is whole.
    let mut get = |key| it.number(Cabinet, key);
    let read = [
        get("outer_h"),
        get("outer_w"),
        get("outer_d"),
        get("panel_thick.front"),
        get("panel_thick.side"),
        get("panel_thick.top"),
        get("panel_thick.back"),
    ];
    let [h, w, d, front, side, top, back] = read;
    let (h, w, d, front, side, top, back) = (h?, w?, d?, front?, side?, top?, back?);
    let it = Box3 {
        height: h - 2.0 * top,
        width: w - 2.0 * side,
        depth: d - front - back,
        front,
        side,
        top,
        back,
    };
    for (name, span) in
        [("inner height", it.height), ("inner width", it.width), ("inner depth", it.depth)]
    {
        crate::error::positive(name, span)?;
    }
    Ok(it)
}

/// The lowest estimated bending mode of any wall: geometric mean of hinged and clamped edges.
pub(super) fn panel_f_hz(it: &mut Ledger<'_, '_>) -> Result<f64, Stop> {
    let spans = inner(it);
    let material = it.choice(Cabinet, "panel_material");
    let braces = brace_lines(it);
    let (spans, braces) = (spans?, braces?);
    let material = match material? {
        "mdf" => PanelMaterial::Mdf,
        "particle" => PanelMaterial::ParticleBoard,
        "ply" => PanelMaterial::Plywood,
        "moulded" => PanelMaterial::MouldedPlastic,
        other => {
            return Err(Stop::NotApplicable(format!(
                "no stiffness is known for panels of material {other:?}"
            )));
        }
    };
    let properties = material.properties();
    it.assume("handbook stiffness and density of the panel material");
    it.assume("walls without cut-outs, edges between hinged and clamped");
    it.by("Kirchhoff plate, f = λ/(2πa²)·√(D/(ρh)), λ after Warburton (1954)");
    let air = it.bench().inputs.air;
    let e_pa = handbook(it, "stiffness of the panel material", properties.e_pa);
    let rho_kg_m3 = handbook(it, "density of the panel material", properties.rho_kg_m3);
    let nu = properties.nu.value;
    let edge = it.uncertain("how firmly edges are held", EDGE, EDGE_U, Shape::Rectangular);
    let wall = |a_m, b_m, h_m, lines: &[f64]| {
        let panel = Panel { a_m, b_m, h_m, e_pa, rho_kg_m3, nu };
        panel
            .braced(lines, &air)
            .map(|it| it.modes.f_hinged_hz.powf(1.0 - edge) * it.modes.f_clamped_hz.powf(edge))
    };
    let mut lowest = f64::INFINITY;
    for (a, b, h, lines) in [
        (spans.height, spans.depth, spans.side, braces),
        (spans.height, spans.width, spans.back, braces),
        (spans.height, spans.width, spans.front, braces),
        (spans.depth, spans.width, spans.top, &[]),
    ] {
        lowest = lowest.min(wall(a, b, h, lines)?);
    }
    if !braces.is_empty() {
        it.assume("a brace holds all four walls along its line");
    }
    Ok(lowest)
}

fn brace_lines<'d>(it: &mut Ledger<'d, '_>) -> Result<&'d [f64], Stop> {
    if it.count(Cabinet, "brace_count")? == 0 {
        return Ok(&[]);
    }
    it.numbers(Cabinet, "brace_pos")
}

/// The first axial mode, along the longest inner span.
pub(super) fn cavity_f_hz(it: &mut Ledger<'_, '_>) -> Result<f64, Stop> {
    let spans = inner(it)?;
    it.by("f = c/(2L)");
    let modes = cavity::modes(spans.height, spans.width, spans.depth, 1, &it.air())?;
    modes.first().map(|it| it.f_hz).ok_or_else(|| Stop::NotApplicable("the box has no mode".into()))
}

pub(super) fn cavity_q(it: &mut Ledger<'_, '_>) -> Result<f64, Stop> {
    let f_hz = cavity_f_hz(it);
    let material = it.choice(Cabinet, "lining_material");
    // Flow resistivity of usual linings, Pa·s/m²: common practice, no source.
    let sigma = match material? {
        "none" => {
            let bare = lining::BARE_WALL_ABSORPTION;
            f_hz?;
            it.assume("bare walls absorb 2 %");
            return Ok(lining::axial_mode_q(1, bare, bare)?);
        }
        "polyester" | "wool" => 4500.0,
        "mineral wool" | "foam" => 10_000.0,
        _ => 20_000.0,
    };
    let (thickness, cover) =
        (it.number(Cabinet, "lining_thick"), it.number(Cabinet, "lining_cover"));
    // From half to one and a half times the usual value (common practice, no source).
    let sigma_pa_s_m2 =
        it.uncertain("flow resistivity of the lining", sigma, sigma * 0.29, Shape::Rectangular);
    it.by("porous layer on a wall (Miki 1990), Q = π/(−ln √((1−α₁)(1−α₂)))");
    let lining = Lining { sigma_pa_s_m2, thickness_m: thickness? };
    let absorbed = lining.absorption(f_hz?, &it.air())?;
    if !absorbed.in_range {
        it.assume("lining formula used outside its range");
    }
    it.assume("usual flow resistivity of the lining, spread evenly");
    // The formula has no room for total absorption; 0.98 is far beyond any lining here.
    let mean = lining::mean_absorption(cover?, absorbed.alpha)?.min(0.98);
    Ok(lining::axial_mode_q(1, mean, mean)?)
}

/// Where the level at the baffle's edge has risen half way: of a sphere as wide as the cabinet.
pub(super) fn baffle_step_hz(it: &mut Ledger<'_, '_>) -> Result<f64, Stop> {
    let width = it.number(Cabinet, "outer_w")?;
    it.assume("a sphere as wide as the baffle");
    it.by("half rise at ka = 0.992 of a rigid sphere");
    let air = it.air();
    Ok(baffle::half_rise_hz(width, &air)?)
}
