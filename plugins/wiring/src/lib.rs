//! Scores conductors, joints and terminals.
//!
//! What is read, the points, the weights and all other numbers of the judgement stand in `manifest.json`; here is how
//! findings go together.

use bw_sdk::{Row, RowScorer, RowSink, abi::NOT_APPLICABLE, export_plugins, places};

places! {
    /// Inputs by their place in the manifest.
    input {
        LOOP_LOSS_DB = "wiring.loop_loss_db",
        LOOP_OHM = "wiring.loop_ohm",
        WIRE_MATERIAL = "wiring.wire_material",
        JOINT = "wiring.joint",
        TERMINAL = "wiring.terminal",
        POST_SPACING = "wiring.post_spacing",
        MAGNETIC_POST = "wiring.ferromagnetic.post",
        MAGNETIC_NUT = "wiring.ferromagnetic.nut",
        MAGNETIC_JUMPER = "wiring.ferromagnetic.jumper",
        MAGNETIC_LUG = "wiring.ferromagnetic.lug",
        STRAIN_RELIEF = "wiring.strain_relief",
    }
    /// Parameters by their place in the manifest.
    param {
        DUAL_PLUG = "post.dual_plug",
        TOLERANCE = "post.tolerance",
        LOSS_HIGH = "remark.loss_high",
    }
    /// Criteria by their place in the manifest.
    criterion {
        LOOP_LOSS = "loop_loss",
        JOINTS = "joints",
        TERMINAL = "terminal",
        POST_SPACING = "post_spacing",
        FERROMAGNETIC_POSTS = "ferromagnetic_posts",
        STRAIN_RELIEF = "strain_relief",
    }
    /// Remarks by their place in the manifest.
    remark {
        LOSS_HIGH = "loss_high",
        CCA = "copper_clad_aluminium",
        CCA_NOT_SIZED = "copper_clad_aluminium_not_sized",
        JOINTS_LOOSE = "joints_loose",
        SPRING_CLIPS = "spring_clips",
        POST_SPACING_UNUSUAL = "post_spacing_unusual",
        POSTS_FERROMAGNETIC = "posts_ferromagnetic",
    }
}

/// The choice `cca` of the conductor.
const CCA: usize = 2;
/// The choice `crimped loose` of joints.
const CRIMPED_LOOSE: usize = 2;
/// The choice `binding post` of terminals.
const BINDING_POST: usize = 0;
/// The choice `spring clip` of terminals.
const SPRING_CLIP: usize = 2;
/// What binary fractions may add to a spacing read to 0.01 mm, mm; 19.55 mm is inside.
const ROUNDING_MM: f64 = 1e-9;

/// What is known of one product.
struct Wiring {
    loss_db: Option<f64>,
    loop_ohm: Option<f64>,
    material: Option<usize>,
    joint: Option<usize>,
    terminal: Option<usize>,
    spacing_mm: Option<f64>,
    is_post_magnetic: Option<bool>,
    /// Nuts, jumpers and lugs.
    is_other_magnetic: [Option<bool>; 3],
    strain_relief: Option<usize>,
}

impl Wiring {
    fn read(row: &Row<'_>) -> Self {
        Wiring {
            loss_db: row.number(input::LOOP_LOSS_DB),
            loop_ohm: row.number(input::LOOP_OHM),
            material: row.choice(input::WIRE_MATERIAL),
            joint: row.choice(input::JOINT),
            terminal: row.choice(input::TERMINAL),
            spacing_mm: row.number(input::POST_SPACING).map(|it| it * 1000.0),
            is_post_magnetic: row.flag(input::MAGNETIC_POST),
            is_other_magnetic: [input::MAGNETIC_NUT, input::MAGNETIC_JUMPER, input::MAGNETIC_LUG]
                .map(|it| row.flag(it)),
            strain_relief: row.choice(input::STRAIN_RELIEF),
        }
    }

    /// 0 where a magnet draws no part that was looked at, 1 where it draws some, 2 where it draws all of several.
    fn magnetic_parts(&self) -> Option<f64> {
        let post = self.is_post_magnetic?;
        let others = self.is_other_magnetic.iter().flatten();
        let (mut n_seen, mut n_drawn) = (1, u32::from(post));
        for is_drawn in others {
            n_seen += 1;
            n_drawn += u32::from(*is_drawn);
        }
        Some(match n_drawn {
            0 => 0.0,
            n if n == n_seen && n > 1 => 2.0,
            _ => 1.0,
        })
    }
}

/// The judgement with its parameters.
struct Plugin {
    params: [f64; param::IDS.len()],
}

impl Plugin {
    fn takes_dual_plug(&self, spacing_mm: f64) -> bool {
        let [wanted_mm, tolerance_mm] =
            [param::DUAL_PLUG, param::TOLERANCE].map(|it| self.params[it]);
        (spacing_mm - wanted_mm).abs() <= tolerance_mm + ROUNDING_MM
    }

    /// 1 where a dual plug fits, else 0.
    fn post_spacing(&self, wiring: &Wiring) -> Option<f64> {
        if wiring.terminal? != BINDING_POST {
            return Some(NOT_APPLICABLE);
        }
        Some(f64::from(u8::from(self.takes_dual_plug(wiring.spacing_mm?))))
    }

    fn remark(&self, wiring: &Wiring, out: &mut RowSink<'_, '_>) {
        if let (Some(loss_db), Some(loop_ohm)) = (wiring.loss_db, wiring.loop_ohm)
            && loss_db > self.params[param::LOSS_HIGH]
        {
            out.remark(remark::LOSS_HIGH, &[loss_db, loop_ohm]);
        }
        if wiring.material == Some(CCA) {
            match wiring.loop_ohm {
                Some(loop_ohm) => out.remark(remark::CCA, &[loop_ohm]),
                None => out.remark(remark::CCA_NOT_SIZED, &[]),
            }
        }
        if wiring.joint == Some(CRIMPED_LOOSE) {
            out.remark(remark::JOINTS_LOOSE, &[]);
        }
        if wiring.terminal == Some(SPRING_CLIP) {
            out.remark(remark::SPRING_CLIPS, &[]);
        }
        if let Some(spacing_mm) = wiring.spacing_mm
            && wiring.terminal == Some(BINDING_POST)
            && !self.takes_dual_plug(spacing_mm)
        {
            let wanted_mm = self.params[param::DUAL_PLUG];
            out.remark(remark::POST_SPACING_UNUSUAL, &[spacing_mm, wanted_mm]);
        }
        if wiring.is_post_magnetic == Some(true) {
            out.remark(remark::POSTS_FERROMAGNETIC, &[]);
        }
    }
}

impl RowScorer for Plugin {
    const MANIFEST: &'static str = include_str!("../manifest.json");

    fn new(params: &[f64]) -> Result<Self, String> {
        Ok(Plugin { params: bw_sdk::params(params)? })
    }

    fn row(&self, row: &Row<'_>, out: &mut RowSink<'_, '_>) {
        let wiring = Wiring::read(row);
        out.score(criterion::LOOP_LOSS, wiring.loss_db);
        out.score(criterion::JOINTS, wiring.joint.map(|it| it as f64));
        out.score(criterion::TERMINAL, wiring.terminal.map(|it| it as f64));
        out.score(criterion::POST_SPACING, self.post_spacing(&wiring));
        out.score(criterion::FERROMAGNETIC_POSTS, wiring.magnetic_parts());
        out.score(criterion::STRAIN_RELIEF, wiring.strain_relief.map(|it| it as f64));
        self.remark(&wiring, out);
    }
}

export_plugins!(Plugin);

#[cfg(test)]
mod tests;
