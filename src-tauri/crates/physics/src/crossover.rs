//! What a crossover does, by solving it: where the ways meet, how steeply they part, what the
//! amplifier sees, and how well the tweeter is kept from its resonance.
//!
//! All levels are electrical, at the drivers' terminals; what a driver adds by its own roll-off is not
//! in them, so no acoustic order is claimed. Ways are known by the names of their drivers: `woofer`,
//! `mid` and `tweeter`. Minima and crossings are searched over 20 Hz to 20 kHz.

use std::collections::BTreeMap;

use crate::air::Air;
use crate::driver::resonance_hz;
use crate::error::{PhysicsError, Result, finite, positive};
use crate::load::{highest_rating_ohm, rating_verdict};
use crate::network::{Load, Network, Part};

pub mod landmarks;
mod loss;
mod order;
mod search;
mod survey;
pub mod tolerance;

pub use loss::{attenuation_db, capacitor_loss_db, series_loss_db};
pub use order::{Order, electrical_order, slope_db_per_octave};
pub use survey::{RANGE_HZ, Survey};

/// The names of the ways, from the lowest.
pub const WAYS: [&str; 3] = ["woofer", "mid", "tweeter"];
/// Drop at the half-power point, dB: 10·log10 2.
pub const HALF_POWER_DB: f64 = 10.0 * std::f64::consts::LOG10_2;
/// Drop at half the voltage, dB: 20·log10 2.
pub const HALF_VOLTAGE_DB: f64 = 20.0 * std::f64::consts::LOG10_2;

/// What to assume of the drivers.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Options {
    /// Frequency of a driver's passband level, Hz. Woofer 200 Hz and tweeter 10 kHz where absent;
    /// other drivers then have no passband, and no crossings.
    pub passband_hz: BTreeMap<String, f64>,
    /// Level of a driver at 1 m for 2.83 V, dB. Where one of two ways lacks it, their voltages alone
    /// say where they cross.
    pub sensitivity_db: BTreeMap<String, f64>,
    /// The rated impedance that is claimed, ohm.
    pub rated_z_ohm: Option<f64>,
    /// Resonance of the tweeter, Hz; that of its parameters where absent.
    pub tweeter_fs_hz: Option<f64>,
}

/// Where a driver's level has dropped from its passband's; every passage, rising in frequency.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Crossings {
    /// By 10·log10 2 dB, Hz.
    pub db3: Vec<f64>,
    /// By 20·log10 2 dB, Hz.
    pub db6: Vec<f64>,
}

/// Where two neighbouring ways are equally loud.
#[derive(Debug, Clone, PartialEq)]
pub struct CrossoverPoint {
    /// Crossover frequency, Hz.
    pub f_hz: f64,
    /// Level of the lower way's voltage there, dB re the source.
    pub level_db: f64,
    /// Slopes there with real parts and drivers, dB per octave: of the lower way from 2 to 4 times
    /// the frequency, of the upper from a quarter to a half of it.
    pub slopes_db_per_octave: [f64; 2],
    /// The lower and the upper way.
    pub between: [String; 2],
}

/// What a network does, in figures.
#[derive(Debug, Clone, PartialEq)]
pub struct Crossover {
    /// Lowest |Z|, ohm.
    pub z_min_ohm: f64,
    /// Where, Hz.
    pub f_z_min_hz: f64,
    /// The claimed rating stands; none without a claim.
    pub rated_pass: Option<bool>,
    /// The highest of 4, 6 and 8 ohm that may be claimed.
    pub highest_rating_ohm: Option<f64>,
    /// Electrical order of each driver's network.
    pub orders: BTreeMap<String, Order>,
    /// Points 10·log10 2 and 20·log10 2 dB below the passband of each driver that has one.
    pub crossings: BTreeMap<String, Crossings>,
    /// Crossover points of neighbouring ways, from the lowest; pairs that never meet are absent.
    pub points: Vec<CrossoverPoint>,
    /// Octaves from the tweeter's resonance up to its crossover: log2(fx/fs).
    pub tweeter_margin_octaves: Option<f64>,
    /// Level at the tweeter's resonance re its passband, dB; the more negative the safer.
    pub tweeter_attenuation_at_fs_db: Option<f64>,
    /// Smallest equivalent peak-dissipation resistance, ohm.
    pub r_pd_min_ohm: f64,
    /// Where, Hz.
    pub f_r_pd_min_hz: f64,
    /// Peak above the passband level of each driver that has one, dB.
    pub ripple_db: BTreeMap<String, f64>,
    /// What a reader should know: ideal parts, unusual values, several crossings, none.
    pub flags: Vec<String>,
}

impl Options {
    /// Refuses values out of their domain, and names that no driver has.
    fn check(&self, network: &Network) -> Result<()> {
        for (map, field) in
            [(&self.passband_hz, "passband_hz"), (&self.sensitivity_db, "sensitivity_db")]
        {
            for name in map.keys() {
                if network.drivers().all(|it| it != name) {
                    let field = format!("{field}.{name}");
                    return Err(PhysicsError::inconsistent(field, "no driver has this name"));
                }
            }
        }
        for (name, &f_hz) in &self.passband_hz {
            positive(&format!("passband_hz.{name}"), f_hz)?;
        }
        for (name, &level) in &self.sensitivity_db {
            finite(&format!("sensitivity_db.{name}"), level)?;
        }
        Ok(())
    }

    /// The passband of a driver, Hz, where it has one.
    #[must_use]
    pub fn passband_of(&self, driver: &str) -> Option<f64> {
        self.passband_hz.get(driver).copied().or(match driver {
            "woofer" => Some(200.0),
            "tweeter" => Some(10_000.0),
            _ => None,
        })
    }

    /// How much more sensitive the upper way is, dB, where both are known.
    fn offset_db(&self, [lower, upper]: [&str; 2]) -> Option<f64> {
        Some(self.sensitivity_db.get(upper)? - self.sensitivity_db.get(lower)?)
    }
}

/// The neighbouring pairs of the ways that are there, from the lowest.
#[must_use]
pub fn pairs(network: &Network) -> Vec<[&'static str; 2]> {
    let present: Vec<&str> =
        WAYS.into_iter().filter(|way| network.drivers().any(|it| it == *way)).collect();
    present.windows(2).map(|pair| [pair[0], pair[1]]).collect()
}

/// Every frequency where two ways are equally loud, rising, and the one that counts as their
/// crossover: of a two-way the highest, between three ways the highest where the upper one takes over
/// (the lower of two band-passes may lead again far above both).
#[derive(Debug, Clone, PartialEq)]
pub struct Meeting {
    /// The crossover frequency, Hz.
    pub f_hz: f64,
    /// All of them, Hz.
    pub all_hz: Vec<f64>,
}

/// Where `pair` meets; none when one of them leads throughout.
///
/// # Errors
/// `Missing` for a driver that is not there; `OutOfDomain` when a circuit without any loss resonates
/// where the search looks.
pub fn meeting(
    survey: &mut Survey<'_>,
    pair: [&str; 2],
    options: &Options,
) -> Result<Option<Meeting>> {
    let network = survey.network();
    let [lower, upper] = [network.driver_index(pair[0])?, network.driver_index(pair[1])?];
    let found = survey.equal_levels(lower, upper, options.offset_db(pair).unwrap_or(0.0))?;
    let last = found.last().map(|it| it.0);
    let hand_over = found.iter().rev().find(|it| it.1).map(|it| it.0);
    let f_hz = if pairs(network).len() > 1 { hand_over.or(last) } else { last };
    Ok(f_hz.map(|f_hz| Meeting { f_hz, all_hz: found.into_iter().map(|it| it.0).collect() }))
}

/// Points where a driver's level has dropped by 10·log10 2 and 20·log10 2 dB from that at
/// `passband_hz`.
///
/// # Errors
/// As for [`meeting`].
pub fn crossings(survey: &mut Survey<'_>, driver: &str, passband_hz: f64) -> Result<Crossings> {
    let driver = survey.network().driver_index(driver)?;
    let passband = survey.level_db(driver, passband_hz)?;
    Ok(Crossings {
        db3: survey.passes(driver, passband - HALF_POWER_DB)?,
        db6: survey.passes(driver, passband - HALF_VOLTAGE_DB)?,
    })
}

/// All figures of a network.
///
/// # Errors
/// `Inconsistent` or `OutOfDomain` for options that do not fit it; `OutOfDomain` when a circuit
/// without any loss resonates where a search looks. A figure that does not apply is absent instead.
pub fn crossover(network: &Network, options: &Options, air: &Air) -> Result<Crossover> {
    options.check(network)?;
    let mut survey = Survey::new(network, air)?;
    let lowest = survey.minimum_impedance()?;
    let hardest = survey.worst_peak_dissipation()?;
    let rated_pass = match options.rated_z_ohm {
        Some(rated) => {
            let rated = positive("rated_z_ohm", rated)?;
            Some(rating_verdict(lowest.z_ohm, rated)?.passes)
        }
        None => None,
    };
    let mut it = Crossover {
        z_min_ohm: lowest.z_ohm,
        f_z_min_hz: lowest.f_hz,
        rated_pass,
        highest_rating_ohm: highest_rating_ohm(lowest.z_ohm)?,
        orders: BTreeMap::new(),
        crossings: BTreeMap::new(),
        points: Vec::new(),
        tweeter_margin_octaves: None,
        tweeter_attenuation_at_fs_db: None,
        r_pd_min_ohm: hardest.r_pd_ohm,
        f_r_pd_min_hz: hardest.f_hz,
        ripple_db: BTreeMap::new(),
        flags: network.flags(),
    };
    it.add_drivers(&mut survey, options, air)?;
    it.add_points(&mut survey, options, air)?;
    it.add_tweeter(&mut survey, options)?;
    Ok(it)
}

impl Crossover {
    fn add_drivers(&mut self, survey: &mut Survey<'_>, options: &Options, air: &Air) -> Result<()> {
        for (place, name) in survey.network().drivers().enumerate() {
            let order = electrical_order(survey.network(), name, air)?;
            if order == Order::Unclear {
                self.flags.push(format!("order of {name} unclear: its far slope is no whole one"));
            }
            self.orders.insert(name.to_owned(), order);
            if let Some(passband_hz) = options.passband_of(name) {
                let crossings = crossings(survey, name, passband_hz)?;
                if crossings.db3.len() > 1 {
                    let points = listed(&crossings.db3);
                    self.flags.push(format!("{name} passes its half-power level at {points} Hz"));
                }
                self.crossings.insert(name.to_owned(), crossings);
                self.ripple_db.insert(name.to_owned(), survey.ripple_db(place, passband_hz)?);
            }
        }
        Ok(())
    }

    fn add_points(&mut self, survey: &mut Survey<'_>, options: &Options, air: &Air) -> Result<()> {
        let network = survey.network();
        for pair in pairs(network) {
            let [lower, upper] = pair;
            let Some(Meeting { f_hz, all_hz }) = meeting(survey, pair, options)? else {
                self.flags.push(format!("{lower} and {upper} are nowhere equally loud"));
                continue;
            };
            if all_hz.len() > 1 {
                let all = listed(&all_hz);
                self.flags.push(format!("{lower} and {upper} are equally loud at {all} Hz"));
            }
            if options.offset_db(pair).is_none() {
                self.flags.push(format!("{lower} to {upper}: crossing of voltages alone"));
            }
            let level_db = survey.level_db(network.driver_index(lower)?, f_hz)?;
            let falling = slope_db_per_octave(network, lower, [2.0 * f_hz, 4.0 * f_hz], air)?;
            let rising = slope_db_per_octave(network, upper, [f_hz / 4.0, f_hz / 2.0], air)?;
            let slopes_db_per_octave = [falling, rising];
            let between = pair.map(str::to_owned);
            self.points.push(CrossoverPoint { f_hz, level_db, slopes_db_per_octave, between });
        }
        Ok(())
    }

    fn add_tweeter(&mut self, survey: &mut Survey<'_>, options: &Options) -> Result<()> {
        let network = survey.network();
        let Ok(tweeter) = network.driver_index("tweeter") else { return Ok(()) };
        let (fs_hz, passband_hz) =
            (tweeter_fs_hz(network, options)?, options.passband_of("tweeter"));
        let (Some(fs_hz), Some(passband_hz)) = (fs_hz, passband_hz) else { return Ok(()) };
        self.tweeter_attenuation_at_fs_db =
            Some(survey.level_db(tweeter, fs_hz)? - survey.level_db(tweeter, passband_hz)?);
        self.tweeter_margin_octaves = self
            .points
            .iter()
            .find(|it| it.between[1] == "tweeter")
            .map(|it| (it.f_hz / fs_hz).log2());
        Ok(())
    }
}

/// Resonance of the tweeter, Hz: as stated, or of its parameters in free air.
///
/// # Errors
/// `OutOfDomain` when the stated one is not positive.
pub fn tweeter_fs_hz(network: &Network, options: &Options) -> Result<Option<f64>> {
    if let Some(fs_hz) = options.tweeter_fs_hz {
        return positive("tweeter_fs_hz", fs_hz).map(Some);
    }
    let tweeter = network.elements().iter().find(|it| it.name == "tweeter").map(|it| it.part);
    match tweeter {
        Some(Part::Driver(Load::Driver(it))) => {
            resonance_hz(it.params.mms_kg, it.params.cms_m_n).map(Some)
        }
        _ => Ok(None),
    }
}

fn listed(frequencies_hz: &[f64]) -> String {
    frequencies_hz.iter().map(|it| format!("{it:.1}")).collect::<Vec<_>>().join(", ")
}
