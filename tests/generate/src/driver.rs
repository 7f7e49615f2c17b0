//! Drivers whose parameters hang together: all follow from area, moving mass, resonance and the two Q (R. H. Small,
//! *Direct-Radiator Loudspeaker System Analysis*, Journal of the Audio Engineering Society 20 (1972) 383-395).

use std::f64::consts::TAU;

use domain::{
    part::{Part, Role},
    sweep::{Point, Sweep},
};

use crate::{Design, Dice, sheet::Sheet};

/// Speed of sound and density of air at 20 °C, m/s and kg/m³: ISO 9613-1:1993 gives 343.2 m/s.
const C: f64 = 343.2;
const RHO: f64 = 1.204;

/// A driver as it is, before anybody measures it. SI units.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Driver {
    pub(crate) role: Role,
    pub(crate) nominal_in: f64,
    pub(crate) re_ohm: f64,
    pub(crate) fs_hz: f64,
    pub(crate) qms: f64,
    pub(crate) qes: f64,
    pub(crate) mms_kg: f64,
    pub(crate) sd_m2: f64,
    pub(crate) le_h: f64,
}

/// Nominal size in inches, area in cm², moving mass in g, resonance in Hz.
const WOOFERS: [(f64, f64, f64, f64); 4] = [
    (4.5, 64.0, 6.8, 58.0),
    (5.25, 90.0, 9.5, 56.0),
    (6.5, 135.0, 14.5, 47.0),
    (8.0, 214.0, 26.0, 38.0),
];
const MIDRANGES: [(f64, f64, f64, f64); 2] = [(3.0, 30.0, 2.6, 130.0), (4.0, 54.0, 4.6, 95.0)];
const TWEETERS: [(f64, f64, f64, f64); 2] = [(0.75, 4.5, 0.25, 1500.0), (1.0, 7.0, 0.33, 1050.0)];

impl Driver {
    pub(crate) fn drawn(role: Role, design: &Design, dice: &mut Dice) -> Self {
        let table: &[(f64, f64, f64, f64)] = match role {
            Role::Midrange => &MIDRANGES,
            Role::Tweeter => &TWEETERS,
            _ => &WOOFERS,
        };
        let upper = if design.floor_standing { table.len() } else { table.len().max(2) - 1 };
        let (nominal_in, sd_cm2, mms_g, fs_hz) = table[dice.0.below(upper)];
        let le_h = match role {
            Role::Tweeter => 0.05e-3,
            Role::Midrange => 0.25e-3,
            _ => 0.45e-3,
        };
        let (qms, qes) = match role {
            Role::Tweeter => (dice.about(2.2, 0.2), dice.about(1.2, 0.15)),
            Role::Midrange => (dice.about(3.0, 0.2), dice.about(0.6, 0.15)),
            _ => (
                dice.about(2.6 + 2.0 * design.quality, 0.1),
                dice.about(0.65 - 0.25 * design.quality, 0.1),
            ),
        };
        let re_ohm =
            if design.low_impedance { dice.between(3.3, 3.9) } else { dice.between(5.3, 6.3) };
        Driver {
            role,
            nominal_in,
            re_ohm,
            fs_hz: dice.about(fs_hz, 0.04),
            qms,
            // A coil of less resistance has less wire in the gap.
            qes: if design.low_impedance { 0.8 * qes } else { qes },
            mms_kg: dice.about(mms_g, 0.05) * 1e-3,
            sd_m2: dice.about(sd_cm2, 0.02) * 1e-4,
            le_h: dice.about(le_h, 0.15),
        }
    }

    fn cms(&self) -> f64 {
        1.0 / ((TAU * self.fs_hz).powi(2) * self.mms_kg)
    }

    fn bl(&self) -> f64 {
        (TAU * self.fs_hz * self.mms_kg * self.re_ohm / self.qes).sqrt()
    }

    fn rms(&self) -> f64 {
        TAU * self.fs_hz * self.mms_kg / self.qms
    }

    pub(crate) fn qts(&self) -> f64 {
        self.qms * self.qes / (self.qms + self.qes)
    }

    pub(crate) fn vas_m3(&self) -> f64 {
        RHO * C * C * self.sd_m2 * self.sd_m2 * self.cms()
    }

    /// What the bench finds.
    pub(crate) fn measured(&self, sheet: &mut Sheet<'_>, design: &Design, dice: &mut Dice) {
        let part = Part::first(self.role);
        let quality = design.quality;
        sheet.words(part, "qty", "1");
        sheet.words(part, "nominal_d", &format!("{} in", self.nominal_in));
        sheet.number(part, "re", self.re_ohm, 2, "ohm", Some(0.003));
        sheet.number(
            part,
            "fs",
            self.fs_hz,
            if self.role == Role::Tweeter { 0 } else { 1 },
            "Hz",
            Some(0.006),
        );
        sheet.number(part, "qms", self.qms, 2, "", Some(0.03));
        sheet.number(part, "qes", self.qes, 2, "", Some(0.02));
        sheet.number(part, "le_1k", self.le_h * 1e3, 3, "mH", Some(0.04));
        sheet.words(
            part,
            "mount",
            dice.graded(
                quality,
                &["4 wood screws", "4 machine screws", "6 machine screws in inserts"],
            ),
        );
        sheet.number(
            part,
            "driver_mass",
            dice.about(
                if self.role == Role::Tweeter { 0.3 } else { 0.075 * self.nominal_in.powf(1.6) },
                0.15,
            ),
            2,
            "kg",
            None,
        );
        if self.role == Role::Tweeter {
            sheet.words(part, "dome", dice.one(&["silk", "aluminium", "polymer"]));
            sheet.flag(part, "rear_chamber", dice.chance(0.3 + 0.4 * quality));
            return;
        }
        sheet.number(part, "qts", self.qts(), 2, "", Some(0.02));
        sheet.number(part, "mms", self.mms_kg * 1e3, 2, "g", Some(0.03));
        sheet.number(part, "cms", self.cms() * 1e3, 3, "mm/N", Some(0.035));
        sheet.number(part, "rms", self.rms(), 2, "kg/s", Some(0.04));
        sheet.number(part, "bl", self.bl(), 2, "T·m", Some(0.025));
        sheet.number(part, "sd", self.sd_m2 * 1e4, 1, "cm²", Some(0.015));
        let xmax_mm = match self.role {
            Role::Midrange => dice.between(0.9, 2.4),
            _ => 2.1 + dice.between(0.0, 1.0) + 3.0 * quality * self.nominal_in / 8.0,
        };
        sheet.number(part, "xmax", xmax_mm, 1, "mm", None);
        sheet.words(
            part,
            "basket",
            dice.graded(quality, &["plastic", "stamped steel", "stamped steel", "cast"]),
        );
        sheet.words(
            part,
            "cone",
            dice.one(&["paper", "polypropylene", "woven fibre", "aluminium"]),
        );
        sheet.words(part, "surround", dice.graded(quality, &["foam", "cloth", "rubber", "rubber"]));
        sheet.flag(part, "vent_pole", dice.chance(0.2 + 0.6 * quality));
        sheet.flag(part, "vent_spider", dice.chance(0.2 + 0.5 * quality));
        sheet.words(
            part,
            "shorting",
            dice.graded(quality, &["none", "none", "none", "cap", "ring"]),
        );
        if self.role == Role::Woofer {
            sheet.number(part, "vas", self.vas_m3() * 1e3, 1, "L", Some(0.05));
        }
    }

    /// A sweep in free air: the motional branch in series with the coil.
    pub(crate) fn swept(&self, dice: &mut Dice) -> Sweep {
        const POINTS: u32 = 80;
        let res = self.re_ohm * self.qms / self.qes;
        let points = (0..POINTS)
            .map(|at| {
                let f_hz = 10.0 * 100.0_f64.powf(f64::from(at) / f64::from(POINTS - 1));
                let detuned = self.qms * (f_hz / self.fs_hz - self.fs_hz / f_hz);
                let share = res / (1.0 + detuned * detuned);
                let re = self.re_ohm + share;
                let im = TAU * f_hz * self.le_h - share * detuned;
                let noise = 1.0 + 0.002 * dice.0.normal();
                let places = |it: f64, by: f64| (it * by).round() / by;
                Point {
                    f_hz: places(f_hz, 100.0),
                    z_ohm: places(re.hypot(im) * noise, 1000.0),
                    phase_deg: Some(places(im.atan2(re).to_degrees(), 10.0)),
                }
            })
            .collect();
        Sweep { part: Part::first(self.role), points, note: String::new() }
    }
}
