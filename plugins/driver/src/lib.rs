//! Scores the drivers: bass in their box, output, sensitivity, how they suit the crossover, construction.
//!
//! What is read, the points, the weights and all other numbers of the judgement stand in `manifest.json`; here is how
//! findings go together.

use bw_sdk::{Row, RowScorer, RowSink, abi::NOT_APPLICABLE, export_plugins, places};

places! {
    /// Inputs by their place in the manifest.
    input {
        WAYS = "whole.ways",
        F3_HZ = "system.f3_hz",
        RIPPLE_DB = "system.ripple_db",
        SPL_50HZ_DB = "system.spl_50hz_db",
        SENS_DB = "system.sens_2v83_db",
        FB_HZ = "system.fb_hz",
        BOX_TYPE = "cabinet.box_type",
        F_LE_RATIO = "woofer.f_le_ratio",
        OFF_AXIS_DB = "woofer.off_axis_db",
        TWEETER_MARGIN = "crossover.tweeter_margin_oct",
        NETWORK = "crossover.present",
        BASKET = "woofer.basket",
        VENT_POLE = "woofer.vent_pole",
        VENT_SPIDER = "woofer.vent_spider",
        SURROUND = "woofer.surround",
        SHORTING = "woofer.shorting",
        COIL_N = "woofer.coil_n",
        MIDRANGE_SURROUND = "midrange.surround",
    }
    /// Parameters by their place in the manifest.
    param {
        FRAME_CAST = "frame.cast",
        FRAME_STAMPED_STEEL = "frame.stamped_steel",
        FRAME_PLASTIC = "frame.plastic",
        FRAME_VENT = "frame.vent",
        SURROUND_RUBBER = "surround.rubber",
        SURROUND_CLOTH = "surround.cloth",
        SURROUND_FOAM = "surround.foam",
        STEADY_COIL_N = "shorting.coil_n",
        F3_HIGH = "remark.f3_high",
        RIPPLE_HIGH = "remark.ripple_high",
        OUTPUT_LOW = "remark.output_low",
        SENSITIVITY_LOW = "remark.sensitivity_low",
        TUNING_HIGH = "remark.tuning_high",
    }
    /// Criteria by their place in the manifest.
    criterion {
        BASS_LIMIT = "bass_limit",
        BASS_RIPPLE = "bass_ripple",
        OUTPUT_50HZ = "output_50hz",
        SENSITIVITY = "sensitivity",
        INDUCTANCE = "inductance",
        OFF_AXIS = "off_axis",
        TWEETER_MARGIN = "tweeter_margin",
        CONSTRUCTION = "construction",
        SHORTING = "shorting",
    }
    /// Remarks by their place in the manifest.
    remark {
        BASS_NOT_MODELLED = "bass_not_modelled",
        BASS_LIMIT_HIGH = "bass_limit_high",
        BASS_PEAK = "bass_peak",
        OUTPUT_LOW = "output_low",
        SENSITIVITY_LOW = "sensitivity_low",
        CONE_UNLOADS = "cone_unloads",
        WOOFER_SURROUND_FOAM = "woofer_surround_foam",
        MIDRANGE_SURROUND_FOAM = "midrange_surround_foam",
    }
}

/// The choice `foam` of a surround.
const FOAM: usize = 2;
/// The choice `vented` of a box.
const VENTED: usize = 1;
/// The choices `passive radiator` and `line` of a box.
const NOT_MODELLED: [usize; 2] = [2, 3];
/// The choice `none` of copper in the motor.
const NONE: usize = 0;
/// The choice `full` of a network.
const FULL: usize = 2;
/// From this many ways on there is a crossover.
const WAYS_WITH_CROSSOVER: f64 = 2.0;

/// What is known of one product.
struct Drivers {
    ways: Option<f64>,
    f3_hz: Option<f64>,
    ripple_db: Option<f64>,
    spl_50hz_db: Option<f64>,
    sens_db: Option<f64>,
    fb_hz: Option<f64>,
    box_type: Option<usize>,
    f_le_ratio: Option<f64>,
    off_axis_db: Option<f64>,
    tweeter_margin_oct: Option<f64>,
    network: Option<usize>,
    basket: Option<usize>,
    vents: [Option<bool>; 2],
    surround: Option<usize>,
    shorting: Option<usize>,
    coil_n: Option<f64>,
    midrange_surround: Option<usize>,
}

impl Drivers {
    fn read(row: &Row<'_>) -> Self {
        Drivers {
            ways: row.number(input::WAYS),
            f3_hz: row.number(input::F3_HZ),
            ripple_db: row.number(input::RIPPLE_DB),
            spl_50hz_db: row.number(input::SPL_50HZ_DB),
            sens_db: row.number(input::SENS_DB),
            fb_hz: row.number(input::FB_HZ),
            box_type: row.choice(input::BOX_TYPE),
            f_le_ratio: row.number(input::F_LE_RATIO),
            off_axis_db: row.number(input::OFF_AXIS_DB),
            tweeter_margin_oct: row.number(input::TWEETER_MARGIN),
            network: row.choice(input::NETWORK),
            basket: row.choice(input::BASKET),
            vents: [input::VENT_POLE, input::VENT_SPIDER].map(|it| row.flag(it)),
            surround: row.choice(input::SURROUND),
            shorting: row.choice(input::SHORTING),
            coil_n: row.number(input::COIL_N),
            midrange_surround: row.choice(input::MIDRANGE_SURROUND),
        }
    }

    /// A measure that is taken at a crossover frequency: without one the question has no meaning. Where nothing is before
    /// the woofer the ways may not cross at all, so only a computed value counts.
    fn at_crossover(&self, measure: Option<f64>) -> Option<f64> {
        if self.ways.is_some_and(|it| it < WAYS_WITH_CROSSOVER) {
            return Some(NOT_APPLICABLE);
        }
        let is_woofer_unfiltered = self.network.is_some_and(|it| it != FULL);
        measure.or_else(|| is_woofer_unfiltered.then_some(NOT_APPLICABLE))
    }
}

/// The judgement with its parameters.
struct Plugin {
    params: [f64; param::IDS.len()],
}

impl Plugin {
    /// Mean of frame and surround.
    fn construction(&self, drivers: &Drivers) -> Option<f64> {
        let kinds = [param::SURROUND_RUBBER, param::SURROUND_CLOTH, param::SURROUND_FOAM];
        let surround = kinds.get(drivers.surround?).map(|&it| self.params[it])?;
        Some(f64::midpoint(self.frame(drivers)?, surround))
    }

    /// Points of the frame, also with vents unknown when they cannot change them.
    fn frame(&self, drivers: &Drivers) -> Option<f64> {
        let kinds = [param::FRAME_CAST, param::FRAME_STAMPED_STEEL, param::FRAME_PLASTIC];
        let bare = kinds.get(drivers.basket?).map(|&it| self.params[it])?;
        let with_unknown = |vented| {
            let vents = drivers.vents.iter().filter(|it| it.unwrap_or(vented));
            vents.fold(bare, |points, _| points + self.params[param::FRAME_VENT]).min(100.0)
        };
        let (least, most) = (with_unknown(false), with_unknown(true));
        (most <= least).then_some(least)
    }

    /// 1 where copper or a flat coil keeps the inductance steady, 0 where what was looked at says that nothing does.
    fn shorting(&self, drivers: &Drivers) -> Option<f64> {
        let by_copper = drivers.shorting.map(|it| it != NONE);
        let by_coil = drivers.coil_n.map(|it| it < self.params[param::STEADY_COIL_N]);
        let is_steady = match (by_copper, by_coil) {
            (Some(a), Some(b)) => a || b,
            (one, other) => one.or(other)?,
        };
        Some(f64::from(u8::from(is_steady)))
    }

    fn remark(&self, drivers: &Drivers, out: &mut RowSink<'_, '_>) {
        let bass = [drivers.f3_hz, drivers.ripple_db, drivers.spl_50hz_db];
        if bass.iter().all(Option::is_none)
            && drivers.box_type.is_some_and(|it| NOT_MODELLED.contains(&it))
        {
            out.remark(remark::BASS_NOT_MODELLED, &[]);
        }
        let tuning_hz = drivers.fb_hz.filter(|_| drivers.box_type == Some(VENTED));
        for (measure, limit, is_above, code) in [
            (drivers.f3_hz, param::F3_HIGH, true, remark::BASS_LIMIT_HIGH),
            (drivers.ripple_db, param::RIPPLE_HIGH, true, remark::BASS_PEAK),
            (drivers.spl_50hz_db, param::OUTPUT_LOW, false, remark::OUTPUT_LOW),
            (drivers.sens_db, param::SENSITIVITY_LOW, false, remark::SENSITIVITY_LOW),
            (tuning_hz, param::TUNING_HIGH, true, remark::CONE_UNLOADS),
        ] {
            let limit = self.params[limit];
            let is_past = |it: &f64| if is_above { *it > limit } else { *it < limit };
            if let Some(measure) = measure.filter(is_past) {
                out.remark(code, &[measure]);
            }
        }
        if drivers.surround == Some(FOAM) {
            out.remark(remark::WOOFER_SURROUND_FOAM, &[]);
        }
        if drivers.midrange_surround == Some(FOAM) {
            out.remark(remark::MIDRANGE_SURROUND_FOAM, &[]);
        }
    }
}

impl RowScorer for Plugin {
    const MANIFEST: &'static str = include_str!("../manifest.json");

    fn new(params: &[f64]) -> Result<Self, String> {
        Ok(Plugin { params: bw_sdk::params(params)? })
    }

    fn row(&self, row: &Row<'_>, out: &mut RowSink<'_, '_>) {
        let drivers = Drivers::read(row);
        out.score(criterion::BASS_LIMIT, drivers.f3_hz);
        out.score(criterion::BASS_RIPPLE, drivers.ripple_db);
        out.score(criterion::OUTPUT_50HZ, drivers.spl_50hz_db);
        out.score(criterion::SENSITIVITY, drivers.sens_db);
        out.score(criterion::INDUCTANCE, drivers.at_crossover(drivers.f_le_ratio));
        out.score(criterion::OFF_AXIS, drivers.at_crossover(drivers.off_axis_db));
        out.score(criterion::TWEETER_MARGIN, drivers.at_crossover(drivers.tweeter_margin_oct));
        out.score(criterion::CONSTRUCTION, self.construction(&drivers));
        out.score(criterion::SHORTING, self.shorting(&drivers));
        self.remark(&drivers, out);
    }
}

export_plugins!(Plugin);

#[cfg(test)]
mod tests;
