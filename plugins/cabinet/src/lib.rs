//! Scores the box: how its walls bend and ring, the air inside, leaks.
//!
//! What is read, the points and the weights stand in `manifest.json`. Air speed in the port is not scored: it needs the
//! travel of the cone at a drive level, which is not computed.

use bw_sdk::{Batch, Scorer, Sink, abi::NOT_APPLICABLE, export_plugins};

/// Inputs by their place in the manifest.
mod input {
    pub(super) const WAYS: usize = 0;
    pub(super) const PANEL_F_HZ: usize = 1;
    pub(super) const CAVITY_F_HZ: usize = 2;
    pub(super) const CAVITY_Q: usize = 3;
    pub(super) const WALL_DAMPING: usize = 4;
    pub(super) const MID_CHAMBER: usize = 5;
    pub(super) const LEAK_FOUND: usize = 6;
    pub(super) const GASKET: usize = 7;
}

/// Remarks by their place in the manifest.
mod remark {
    pub(super) const PANEL_MODE_LOW: usize = 0;
    pub(super) const PANEL_MODE_AUDIBLE: usize = 1;
    pub(super) const STANDING_WAVE_UNDAMPED: usize = 2;
    pub(super) const MIDRANGE_OPEN: usize = 3;
    pub(super) const LEAK_FOUND: usize = 4;
}

/// Points for a wall damping of none, lined panel, damping sheet.
const DAMPING_POINTS: [f64; 3] = [30.0, 60.0, 100.0];
/// Points for a midrange chamber of none, partial, sealed.
const CHAMBER_POINTS: [f64; 3] = [0.0, 50.0, 100.0];
/// Points for a gasket of none, foam, caulk where no leak was found.
const GASKET_POINTS: [f64; 3] = [40.0, 70.0, 90.0];
/// Points where a leak was found, whatever the gasket.
const LEAK_POINTS: f64 = 20.0;

/// The choice `none` of wall damping and midrange chamber.
const NONE: usize = 0;

/// Below this a wall mode is worth a remark, Hz.
const PANEL_LOW_HZ: f64 = 200.0;
/// Where hearing is acute, Hz (after Harwood, from memory).
const ACUTE_HZ: (f64, f64) = (300.0, 800.0);
/// Above this Q a standing wave is worth a remark.
const CAVITY_Q_HIGH: f64 = 20.0;
/// From this many ways on there is a midrange.
const WAYS_WITH_MIDRANGE: f64 = 3.0;

/// What is known of one product.
struct Cabinet {
    ways: Option<f64>,
    panel_f_hz: Option<f64>,
    cavity_f_hz: Option<f64>,
    cavity_q: Option<f64>,
    wall_damping: Option<usize>,
    mid_chamber: Option<usize>,
    leak_found: Option<bool>,
    gasket: Option<usize>,
}

impl Cabinet {
    fn read(batch: &Batch<'_>, row: usize) -> Self {
        // An infinity would read as "not applicable" in the scores.
        let number = |input| batch.scalar(input, row).filter(|it| it.is_finite());
        Cabinet {
            ways: number(input::WAYS),
            panel_f_hz: number(input::PANEL_F_HZ),
            cavity_f_hz: number(input::CAVITY_F_HZ),
            cavity_q: number(input::CAVITY_Q),
            wall_damping: batch.choice(input::WALL_DAMPING, row),
            mid_chamber: batch.choice(input::MID_CHAMBER, row),
            leak_found: batch.flag(input::LEAK_FOUND, row),
            gasket: batch.choice(input::GASKET, row),
        }
    }

    /// Measures in the order of the manifest's criteria; `None` where something is missing.
    fn measures(&self) -> [Option<f64>; 5] {
        [
            self.panel_f_hz,
            self.wall_damping.and_then(|it| DAMPING_POINTS.get(it).copied()),
            self.cavity_q,
            self.mid_chamber_points(),
            self.leak_points(),
        ]
    }

    fn mid_chamber_points(&self) -> Option<f64> {
        if self.ways? < WAYS_WITH_MIDRANGE {
            return Some(NOT_APPLICABLE);
        }
        CHAMBER_POINTS.get(self.mid_chamber?).copied()
    }

    fn leak_points(&self) -> Option<f64> {
        if self.leak_found? {
            return Some(LEAK_POINTS);
        }
        GASKET_POINTS.get(self.gasket?).copied()
    }

    fn remark(&self, mut say: impl FnMut(usize, &[f64])) {
        if let Some(f_hz) = self.panel_f_hz {
            if f_hz < PANEL_LOW_HZ {
                say(remark::PANEL_MODE_LOW, &[f_hz]);
            }
            let (from, to) = ACUTE_HZ;
            if (from..=to).contains(&f_hz) && self.wall_damping == Some(NONE) {
                say(remark::PANEL_MODE_AUDIBLE, &[f_hz, from, to]);
            }
        }
        if let (Some(f_hz), Some(q)) = (self.cavity_f_hz, self.cavity_q)
            && q > CAVITY_Q_HIGH
        {
            say(remark::STANDING_WAVE_UNDAMPED, &[f_hz, q]);
        }
        if let Some(ways) = self.ways
            && ways >= WAYS_WITH_MIDRANGE
            && self.mid_chamber == Some(NONE)
        {
            say(remark::MIDRANGE_OPEN, &[ways]);
        }
        if self.leak_found == Some(true) {
            say(remark::LEAK_FOUND, &[]);
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
            let cabinet = Cabinet::read(batch, row);
            for (criterion, measure) in cabinet.measures().into_iter().enumerate() {
                if let Some(measure) = measure {
                    sink.score(row, criterion, measure);
                }
            }
            cabinet.remark(|code, numbers| sink.remark(row, code, numbers));
        }
        Ok(())
    }
}

export_plugins!(Plugin);

#[cfg(test)]
mod tests;
