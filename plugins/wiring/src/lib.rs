//! Scores conductors, joints and terminals.
//!
//! What is read, the points and the weights stand in `manifest.json`.

use bw_sdk::{Batch, Scorer, Sink, abi::NOT_APPLICABLE, export_plugins};

/// Inputs by their place in the manifest.
mod input {
    pub(super) const LOOP_LOSS_DB: usize = 0;
    pub(super) const LOOP_OHM: usize = 1;
    pub(super) const WIRE_MATERIAL: usize = 2;
    pub(super) const JOINT: usize = 3;
    pub(super) const TERMINAL: usize = 4;
    pub(super) const POST_SPACING: usize = 5;
    pub(super) const FERROMAGNETIC_POST: usize = 6;
    pub(super) const STRAIN_RELIEF: usize = 7;
}

/// Remarks by their place in the manifest.
mod remark {
    pub(super) const LOSS_HIGH: usize = 0;
    pub(super) const CCA: usize = 1;
    pub(super) const CCA_NOT_SIZED: usize = 2;
    pub(super) const JOINTS_LOOSE: usize = 3;
    pub(super) const SPRING_CLIPS: usize = 4;
    pub(super) const POST_SPACING_UNUSUAL: usize = 5;
    pub(super) const POSTS_FERROMAGNETIC: usize = 6;
}

/// Points for joints that are soldered, crimped tight, crimped loose, mixed.
const JOINT_POINTS: [f64; 4] = [100.0, 80.0, 20.0, 60.0];
/// Points for a binding post, screw, spring clip.
const TERMINAL_POINTS: [f64; 3] = [100.0, 70.0, 40.0];
/// Points for posts that take a dual plug, and for others.
const SPACING_POINTS: (f64, f64) = (100.0, 50.0);
/// Points for posts that a magnet leaves alone, and for those it draws.
const MAGNET_POINTS: (f64, f64) = (100.0, 80.0);
/// Points for a strain relief that is good, poor.
const RELIEF_POINTS: [f64; 2] = [100.0, 40.0];

/// The choice `cca` of the conductor.
const CCA: usize = 2;
/// The choice `crimped loose` of joints.
const CRIMPED_LOOSE: usize = 2;
/// The choice `binding post` of terminals.
const BINDING_POST: usize = 0;
/// The choice `spring clip` of terminals.
const SPRING_CLIP: usize = 2;

/// Above this a loss is worth a remark, dB.
const LOSS_HIGH_DB: f64 = 0.3;
/// Spacing of a dual plug, 3/4 in, mm.
const DUAL_PLUG_MM: f64 = 19.05;
/// How far posts may be from it, mm.
const SPACING_TOLERANCE_MM: f64 = 0.5;
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
    strain_relief: Option<usize>,
}

impl Wiring {
    fn read(batch: &Batch<'_>, row: usize) -> Self {
        // An infinity would read as "not applicable" in the scores.
        let number = |input| batch.scalar(input, row).filter(|it| it.is_finite());
        Wiring {
            loss_db: number(input::LOOP_LOSS_DB),
            loop_ohm: number(input::LOOP_OHM),
            material: batch.choice(input::WIRE_MATERIAL, row),
            joint: batch.choice(input::JOINT, row),
            terminal: batch.choice(input::TERMINAL, row),
            spacing_mm: number(input::POST_SPACING).map(|it| it * 1000.0),
            is_post_magnetic: batch.flag(input::FERROMAGNETIC_POST, row),
            strain_relief: batch.choice(input::STRAIN_RELIEF, row),
        }
    }

    /// Measures in the order of the manifest's criteria; `None` where something is missing.
    fn measures(&self) -> [Option<f64>; 6] {
        [
            self.loss_db,
            self.joint.and_then(|it| JOINT_POINTS.get(it).copied()),
            self.terminal.and_then(|it| TERMINAL_POINTS.get(it).copied()),
            self.spacing_points(),
            self.is_post_magnetic
                .map(|drawn| if drawn { MAGNET_POINTS.1 } else { MAGNET_POINTS.0 }),
            self.strain_relief.and_then(|it| RELIEF_POINTS.get(it).copied()),
        ]
    }

    fn spacing_points(&self) -> Option<f64> {
        if self.terminal? != BINDING_POST {
            return Some(NOT_APPLICABLE);
        }
        let fits = takes_dual_plug(self.spacing_mm?);
        Some(if fits { SPACING_POINTS.0 } else { SPACING_POINTS.1 })
    }

    fn remark(&self, mut say: impl FnMut(usize, &[f64])) {
        if let (Some(loss_db), Some(loop_ohm)) = (self.loss_db, self.loop_ohm)
            && loss_db > LOSS_HIGH_DB
        {
            say(remark::LOSS_HIGH, &[loss_db, loop_ohm]);
        }
        if self.material == Some(CCA) {
            match self.loop_ohm {
                Some(loop_ohm) => say(remark::CCA, &[loop_ohm]),
                None => say(remark::CCA_NOT_SIZED, &[]),
            }
        }
        if self.joint == Some(CRIMPED_LOOSE) {
            say(remark::JOINTS_LOOSE, &[]);
        }
        if self.terminal == Some(SPRING_CLIP) {
            say(remark::SPRING_CLIPS, &[]);
        }
        if let Some(spacing_mm) = self.spacing_mm
            && self.terminal == Some(BINDING_POST)
            && !takes_dual_plug(spacing_mm)
        {
            say(remark::POST_SPACING_UNUSUAL, &[spacing_mm, DUAL_PLUG_MM]);
        }
        if self.is_post_magnetic == Some(true) {
            say(remark::POSTS_FERROMAGNETIC, &[]);
        }
    }
}

fn takes_dual_plug(spacing_mm: f64) -> bool {
    (spacing_mm - DUAL_PLUG_MM).abs() <= SPACING_TOLERANCE_MM + ROUNDING_MM
}

struct Plugin;

impl Scorer for Plugin {
    const MANIFEST: &'static str = include_str!("../manifest.json");

    fn new(_params: &[f64]) -> Result<Self, String> {
        Ok(Plugin)
    }

    fn evaluate(&mut self, batch: &Batch<'_>, sink: &mut Sink<'_>) -> Result<(), String> {
        for row in 0..batch.n_rows {
            let wiring = Wiring::read(batch, row);
            for (criterion, measure) in wiring.measures().into_iter().enumerate() {
                if let Some(measure) = measure {
                    sink.score(row, criterion, measure);
                }
            }
            wiring.remark(|code, numbers| sink.remark(row, code, numbers));
        }
        Ok(())
    }
}

export_plugins!(Plugin);

#[cfg(test)]
mod tests;
