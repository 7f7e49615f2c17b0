//! Quantities of a product: computed once from its findings, offered to screens and plugins.
//!
//! Each says which findings and relations it rests on, the weakest evidence among them, what was assumed, and how
//! uncertain it is; or, when it cannot be computed, which findings are missing.

mod bench;
mod box_sweep;
mod cabinet;
mod circuit;
mod driver;
mod enclosure;
mod fits;
mod ledger;
mod load;
mod network;
mod propagate;
mod response;
mod strata;
mod wiring;

use std::ops::Deref;

use domain::{dossier::Dossier, evidence::Evidence, unit::Dimension};

use crate::Air;
use bench::{Bench, Inputs};
pub use fits::Fits;
use ledger::{Account, Ledger, Stop};
use propagate::{Nominal, Spread};
pub use response::{Law, Responses, Source, responses};

/// What is known of one quantity of one product before its uncertainty is asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct Known {
    /// What it is.
    pub spec: &'static Spec,
    /// Its value in SI (levels in dB), or why there is none.
    pub value: Result<f64, NoValue>,
    /// The findings it rests on, as addresses, sorted.
    pub from: Vec<String>,
    /// The relations by which it was found, in the order used.
    pub relations: Vec<&'static str>,
    /// The weakest evidence among the findings; `None` when it rests on none.
    pub evidence: Option<Evidence>,
    /// What was assumed, one clause each.
    pub assumed: Vec<String>,
}

/// One quantity of one product, with its uncertainty.
#[derive(Debug, Clone, PartialEq)]
pub struct Quantity {
    /// What it is, and what it rests on.
    pub known: Known,
    /// Standard uncertainty (k = 1) in the unit of the value; `None` where the value is exact, or where there is none.
    pub u: Option<f64>,
    /// How the uncertainty was found.
    pub method: Method,
    /// What each source alone contributes to the uncertainty, the greatest first.
    pub shares: Vec<Share>,
}

impl Deref for Quantity {
    type Target = Known;

    fn deref(&self) -> &Known {
        &self.known
    }
}

/// How an uncertainty was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Method {
    /// Nothing uncertain enters.
    Exact,
    /// Law of propagation (JCGM 100:2008).
    FirstOrder,
    /// Random draws of all inputs (JCGM 101:2008), where the function is not smooth.
    MonteCarlo,
}

/// What one source contributes to an uncertainty.
#[derive(Debug, Clone, PartialEq)]
pub struct Share {
    /// A finding's address, or what is assumed.
    pub source: String,
    /// The standard uncertainty that this source alone would give, in the unit of the value.
    pub u: f64,
}

/// Why a quantity has no value.
#[derive(Debug, Clone, PartialEq)]
pub enum NoValue {
    /// Findings are missing; their addresses, sorted.
    Missing(Vec<String>),
    /// The question does not apply to this product.
    NotApplicable(String),
    /// The findings do not allow it.
    Refused(String),
}

/// What a quantity is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spec {
    /// The id that plugins read.
    pub id: &'static str,
    /// The label on screens.
    pub label: &'static str,
    /// Its dimension.
    pub dimension: Dimension,
    /// The unit on screens.
    pub unit: &'static str,
}

const fn spec(
    id: &'static str,
    label: &'static str,
    dimension: Dimension,
    unit: &'static str,
) -> Spec {
    Spec { id, label, dimension, unit }
}

/// A quantity and how it is computed.
type Line = (Spec, Compute);
type Compute = for<'d, 's> fn(&mut Ledger<'d, 's>) -> Result<f64, Stop>;

use Dimension::{Frequency, Level, MechanicalLoss, One, Resistance, Speed, Voltage, Volume};

/// All quantities, in the order of screens.
static ALL: &[Line] = &[
    (spec("whole.ways", "ways", One, ""), |it| Ok(f64::from(it.dossier().product.ways))),
    (spec("woofer.fs_hz", "woofer resonance", Frequency, "Hz"), driver::woofer_fs_hz),
    (
        spec("woofer.qts_system", "woofer total Q with what is in series", One, ""),
        enclosure::qts_system,
    ),
    (spec("woofer.vas_m3", "woofer equivalent volume", Volume, "L"), enclosure::vas_m3),
    (
        spec("woofer.motor_n_s_m", "woofer motor strength", MechanicalLoss, "kg/s"),
        driver::motor_strength,
    ),
    (spec("woofer.coil_n", "exponent of the woofer's coil", One, ""), driver::woofer_coil_n),
    (
        spec("system.sens_2v83_db", "sensitivity, 2.83 V, 1 m, half space", Level, "dB"),
        enclosure::sens_2v83_db,
    ),
    (
        spec("port.fb_hz", "box tuning from the port's shape", Frequency, "Hz"),
        enclosure::port_fb_hz,
    ),
    (spec("system.fb_sweep_hz", "box tuning from the sweep", Frequency, "Hz"), box_sweep::fb_hz),
    (spec("system.fb_hz", "box tuning", Frequency, "Hz"), enclosure::fb_hz),
    (spec("system.ql", "leakage Q of the box from the sweep", One, ""), box_sweep::ql),
    (spec("system.f3_hz", "half-power bass limit", Frequency, "Hz"), enclosure::f3_hz),
    (spec("system.ripple_db", "bass response peak", Level, "dB"), enclosure::ripple_db),
    (spec("system.v_limit_v", "voltage at the excursion limit", Voltage, "V"), circuit::v_limit_v),
    (
        spec("system.spl_50hz_db", "level at 50 Hz at the excursion limit, 1 m", Level, "dB"),
        circuit::spl_50hz_db,
    ),
    (
        spec("port.velocity_m_s", "peak air speed in the port", Speed, "m/s"),
        circuit::port_velocity_m_s,
    ),
    (spec("cabinet.panel_f_hz", "lowest panel mode", Frequency, "Hz"), cabinet::panel_f_hz),
    (spec("cabinet.cavity_f_hz", "first standing wave", Frequency, "Hz"), cabinet::cavity_f_hz),
    (spec("cabinet.cavity_q", "Q of the first standing wave", One, ""), cabinet::cavity_q),
    (
        spec("cabinet.baffle_step_hz", "half rise of the baffle step", Frequency, "Hz"),
        cabinet::baffle_step_hz,
    ),
    (
        spec("crossover.fx_low_hz", "crossover above the woofer", Frequency, "Hz"),
        network::fx_low_hz,
    ),
    (
        spec("crossover.fx_high_hz", "crossover to the tweeter", Frequency, "Hz"),
        network::fx_high_hz,
    ),
    (spec("crossover.woofer_order", "electrical order, woofer", One, ""), network::woofer_order),
    (spec("crossover.tweeter_order", "electrical order, tweeter", One, ""), network::tweeter_order),
    (
        spec("crossover.ripple_db", "peak above the passband, worst way", Level, "dB"),
        network::ripple_db,
    ),
    (
        spec("crossover.woofer_loss_db", "woofer loss in series resistance, 100 Hz", Level, "dB"),
        network::woofer_loss_db,
    ),
    (
        spec(
            "crossover.tweeter_cap_loss_db",
            "tweeter loss in real capacitors, 10 kHz",
            Level,
            "dB",
        ),
        network::tweeter_cap_loss_db,
    ),
    (
        spec(
            "crossover.tweeter_margin_oct",
            "octaves from tweeter resonance to crossover",
            One,
            "",
        ),
        network::tweeter_margin_oct,
    ),
    (
        spec("crossover.tweeter_attenuation_db", "tweeter drive at its resonance", Level, "dB"),
        network::tweeter_attenuation_db,
    ),
    (
        spec("crossover.z_min_ohm", "lowest impedance of the solved network", Resistance, "ohm"),
        network::z_min_ohm,
    ),
    (spec("woofer.f_le_ratio", "coil corner over crossover, woofer", One, ""), network::f_le_ratio),
    (
        spec("woofer.off_axis_db", "level 30° off axis at the crossover, worst way", Level, "dB"),
        network::off_axis_db,
    ),
    (spec("load.z_min_ohm", "lowest impedance", Resistance, "ohm"), load::z_min_ohm),
    (spec("load.z_min_ratio", "lowest over rated impedance", One, ""), load::z_min_ratio),
    (
        spec("load.r_pd_min_ohm", "lowest peak-dissipation load", Resistance, "ohm"),
        load::r_pd_min_ohm,
    ),
    (spec("wiring.loop_ohm", "wiring loop resistance", Resistance, "ohm"), wiring::loop_ohm),
    (
        spec("wiring.loop_loss_db", "wiring loss at the lowest impedance", Level, "dB"),
        wiring::loop_loss_db,
    ),
];

/// Standard uncertainty of a number as recorded, SI: the one stated, else that of its last digit read; `None` for what is
/// no number or exact.
#[must_use]
pub fn standard_uncertainty(finding: &domain::finding::Finding) -> Option<f64> {
    bench::standard(finding)
}

/// What can be asked for, in the order of [`quantities`].
pub fn specs() -> impl Iterator<Item = &'static Spec> {
    ALL.iter().map(|(spec, _)| spec)
}

/// All quantities of a product without their uncertainties, which take most of the time of [`quantities`].
///
/// `fits` keeps what was fitted to the sweeps of this product for the next question about it.
#[must_use]
pub fn values(dossier: &Dossier, air: &Air, fits: &Fits) -> Vec<Known> {
    let inputs = Inputs::new(dossier, *air, fits, &bench::uncertainty);
    let bench = Bench::nominal(&inputs);
    let known = |line| {
        let (spec, value, account) = computed(line, &bench);
        known(spec, value, account)
    };
    ALL.iter().map(known).collect()
}

/// All quantities of a product with their uncertainties, in the order of screens, in the given air.
#[must_use]
pub fn quantities(dossier: &Dossier, air: &Air) -> Vec<Quantity> {
    some_quantities(dossier, air, &Fits::default(), |_| true)
}

/// Some quantities of a product with their uncertainties; `wanted` says which, by id.
#[must_use]
pub fn some_quantities(
    dossier: &Dossier,
    air: &Air,
    fits: &Fits,
    wanted: impl Fn(&str) -> bool,
) -> Vec<Quantity> {
    let inputs = Inputs::new(dossier, *air, fits, &bench::uncertainty);
    let bench = Bench::nominal(&inputs);
    let mut nominal = Vec::new();
    let all: Vec<&'static Line> = ALL.iter().filter(|(spec, _)| wanted(spec.id)).collect();
    let mut list: Vec<Quantity> = all
        .iter()
        .enumerate()
        .map(|(place, line)| {
            let (spec, value, account) = computed(line, &bench);
            nominal.extend(Nominal::of(place, &value, &account));
            let known = known(spec, value, account);
            Quantity { known, u: None, method: Method::Exact, shares: Vec::new() }
        })
        .collect();
    let spreads = propagate::propagate(&bench, &computes(&all), &nominal);
    for (of, Spread { u, method, shares }) in nominal.iter().zip(spreads) {
        let it = &mut list[of.quantity];
        it.u = u.filter(|_| method != Method::Exact);
        it.method = method;
        it.shares = shares;
    }
    list
}

fn known(spec: &'static Spec, value: Result<f64, NoValue>, account: Account) -> Known {
    Known {
        spec,
        value,
        from: account.from.into_iter().collect(),
        relations: account.relations,
        evidence: account.evidence,
        assumed: account.assumed.into_iter().map(Into::into).collect(),
    }
}

/// What the nominal pass makes of a quantity, with its account.
fn computed(
    (spec, compute): &'static Line,
    bench: &Bench<'_, '_>,
) -> (&'static Spec, Result<f64, NoValue>, Account) {
    let mut ledger = Ledger::new(bench);
    let value = compute(&mut ledger).map_err(|stop| ledger.no_value(stop));
    (spec, value, ledger.account)
}

fn computes(lines: &[&Line]) -> Vec<Compute> {
    lines.iter().map(|(_, compute)| *compute).collect()
}

#[cfg(test)]
mod tests;
