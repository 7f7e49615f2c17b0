//! Scores the drivers: bass limit and peak in their box, sensitivity, construction.
//!
//! What is read, the points and the weights stand in `manifest.json`. Output at the excursion limit, and everything that
//! needs the crossover frequency, is not scored: those quantities are not computed.

use bw_sdk::{Batch, Scorer, Sink, export_plugins};

/// Inputs by their place in the manifest.
mod input {
    pub(super) const F3_HZ: usize = 0;
    pub(super) const RIPPLE_DB: usize = 1;
    pub(super) const SENS_DB: usize = 2;
    pub(super) const BOX_TYPE: usize = 3;
    pub(super) const BASKET: usize = 4;
    pub(super) const VENT_POLE: usize = 5;
    pub(super) const VENT_SPIDER: usize = 6;
    pub(super) const SURROUND: usize = 7;
    pub(super) const SHORTING: usize = 8;
    pub(super) const MIDRANGE_SURROUND: usize = 9;
}

/// Remarks by their place in the manifest.
mod remark {
    pub(super) const BASS_NOT_MODELLED: usize = 0;
    pub(super) const BASS_LIMIT_HIGH: usize = 1;
    pub(super) const BASS_PEAK: usize = 2;
    pub(super) const SENSITIVITY_LOW: usize = 3;
    pub(super) const WOOFER_SURROUND_FOAM: usize = 4;
    pub(super) const MIDRANGE_SURROUND_FOAM: usize = 5;
}

/// Points for a frame of cast metal, stamped steel, plastic.
const BASKET_POINTS: [f64; 3] = [100.0, 60.0, 30.0];
/// Further points of the frame for each kind of vent.
const VENT_POINTS: f64 = 20.0;
/// Points for a surround of rubber, cloth, foam.
const SURROUND_POINTS: [f64; 3] = [100.0, 80.0, 40.0];
/// Points for copper in the motor: none, cap, ring.
const SHORTING_POINTS: [f64; 3] = [50.0, 100.0, 100.0];

/// The choice `foam` of a surround.
const FOAM: usize = 2;
/// The choices `passive radiator` and `line` of a box.
const NOT_MODELLED: [usize; 2] = [2, 3];

/// Above this a bass limit is worth a remark, Hz.
const F3_HIGH_HZ: f64 = 80.0;
/// Above this a bass peak is worth a remark, dB.
const RIPPLE_HIGH_DB: f64 = 3.0;
/// Below this a sensitivity is worth a remark, dB.
const SENS_LOW_DB: f64 = 85.0;

/// What is known of one product.
struct Drivers {
    f3_hz: Option<f64>,
    ripple_db: Option<f64>,
    sens_db: Option<f64>,
    box_type: Option<usize>,
    basket: Option<usize>,
    vents: [Option<bool>; 2],
    surround: Option<usize>,
    shorting: Option<usize>,
    midrange_surround: Option<usize>,
}

impl Drivers {
    fn read(batch: &Batch<'_>, row: usize) -> Self {
        // An infinity would read as "not applicable" in the scores.
        let number = |input| batch.scalar(input, row).filter(|it| it.is_finite());
        Drivers {
            f3_hz: number(input::F3_HZ),
            ripple_db: number(input::RIPPLE_DB),
            sens_db: number(input::SENS_DB),
            box_type: batch.choice(input::BOX_TYPE, row),
            basket: batch.choice(input::BASKET, row),
            vents: [input::VENT_POLE, input::VENT_SPIDER].map(|it| batch.flag(it, row)),
            surround: batch.choice(input::SURROUND, row),
            shorting: batch.choice(input::SHORTING, row),
            midrange_surround: batch.choice(input::MIDRANGE_SURROUND, row),
        }
    }

    /// Measures in the order of the manifest's criteria; `None` where something is missing.
    fn measures(&self) -> [Option<f64>; 5] {
        [
            self.f3_hz,
            self.ripple_db,
            self.sens_db,
            self.construction_points(),
            self.shorting.and_then(|it| SHORTING_POINTS.get(it).copied()),
        ]
    }

    fn construction_points(&self) -> Option<f64> {
        let surround = SURROUND_POINTS.get(self.surround?).copied()?;
        Some(f64::midpoint(self.frame_points()?, surround))
    }

    /// Points of the frame, also with vents unknown when they cannot change them.
    fn frame_points(&self) -> Option<f64> {
        let bare = BASKET_POINTS.get(self.basket?).copied()?;
        let with_unknown = |vented| {
            let vents = self.vents.iter().filter(|it| it.unwrap_or(vented));
            vents.fold(bare, |points, _| points + VENT_POINTS).min(100.0)
        };
        let (least, most) = (with_unknown(false), with_unknown(true));
        (most <= least).then_some(least)
    }

    fn remark(&self, mut say: impl FnMut(usize, &[f64])) {
        let has_no_bass = self.f3_hz.is_none() && self.ripple_db.is_none();
        if has_no_bass && self.box_type.is_some_and(|it| NOT_MODELLED.contains(&it)) {
            say(remark::BASS_NOT_MODELLED, &[]);
        }
        if let Some(f3_hz) = self.f3_hz.filter(|&it| it > F3_HIGH_HZ) {
            say(remark::BASS_LIMIT_HIGH, &[f3_hz]);
        }
        if let Some(ripple_db) = self.ripple_db.filter(|&it| it > RIPPLE_HIGH_DB) {
            say(remark::BASS_PEAK, &[ripple_db]);
        }
        if let Some(sens_db) = self.sens_db.filter(|&it| it < SENS_LOW_DB) {
            say(remark::SENSITIVITY_LOW, &[sens_db]);
        }
        if self.surround == Some(FOAM) {
            say(remark::WOOFER_SURROUND_FOAM, &[]);
        }
        if self.midrange_surround == Some(FOAM) {
            say(remark::MIDRANGE_SURROUND_FOAM, &[]);
        }
    }
}

struct Plugin;

impl Scorer for Plugin {
    const MANIFEST: &'static str = include_str!("../manifest.json");

    fn new(_params: &[f64]) -> Result<Self, String> {
        Ok(Plugin)
    }

    fn evaluate(&mut self, batch: &Batch<'_>, sink: &mut Sink<'_>) -> Result<(), String> {
        for row in 0..batch.n_rows {
            let drivers = Drivers::read(batch, row);
            for (criterion, measure) in drivers.measures().into_iter().enumerate() {
                if let Some(measure) = measure {
                    sink.score(row, criterion, measure);
                }
            }
            drivers.remark(|code, numbers| sink.remark(row, code, numbers));
        }
        Ok(())
    }
}

export_plugins!(Plugin);

#[cfg(test)]
mod tests;
