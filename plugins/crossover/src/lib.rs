//! Scores the passive network: how it divides and protects, the load it makes, what it loses, how its coils stand.
//!
//! What is read, the points, the weights and all other numbers of the judgement stand in `manifest.json`; here is how
//! findings go together.

use bw_sdk::{Row, RowScorer, RowSink, abi::NOT_APPLICABLE, export_plugins, places};

places! {
    /// Inputs by their place in the manifest.
    input {
        WAYS = "whole.ways",
        RATED_Z = "whole.rated_z",
        Z_MIN_OHM = "load.z_min_ohm",
        Z_MIN_RATIO = "load.z_min_ratio",
        R_PD_MIN_OHM = "load.r_pd_min_ohm",
        Z_MIN_COMPUTED_OHM = "crossover.z_min_ohm",
        PRESENT = "crossover.present",
        ATTENUATION_DB = "crossover.tweeter_attenuation_db",
        WOOFER_ORDER = "crossover.woofer_order",
        TWEETER_ORDER = "crossover.tweeter_order",
        RIPPLE_DB = "crossover.ripple_db",
        WOOFER_LOSS_DB = "crossover.woofer_loss_db",
        CAP_LOSS_DB = "crossover.tweeter_cap_loss_db",
        TWEETER_CAP = "crossover.tweeter_cap",
        COIL_ORIENT = "crossover.coil_orient",
    }
    /// Parameters by their place in the manifest.
    param {
        LOSS_POLYPROPYLENE = "capacitor.loss_polypropylene",
        LOSS_POLYESTER = "capacitor.loss_polyester",
        LOSS_ELECTROLYTIC = "capacitor.loss_electrolytic",
        R_PD_LOW = "remark.r_pd_low",
        RIPPLE_HIGH = "remark.ripple_high",
        WOOFER_LOSS_HIGH = "remark.woofer_loss_high",
    }
    /// Criteria by their place in the manifest.
    criterion {
        TWEETER_ATTENUATION = "tweeter_attenuation",
        Z_MIN_RATIO = "z_min_ratio",
        PEAK_DISSIPATION = "peak_dissipation",
        WOOFER_ORDER = "woofer_order",
        TWEETER_ORDER = "tweeter_order",
        RIPPLE = "ripple",
        WOOFER_LOSS = "woofer_loss",
        TWEETER_CAPACITOR = "tweeter_capacitor",
        COIL_ORIENTATION = "coil_orientation",
    }
    /// Remarks by their place in the manifest.
    remark {
        BELOW_FOUR_OHM_RATING = "impedance_below_four_ohm_rating",
        PEAK_DISSIPATION_LOW = "peak_dissipation_low",
        NO_NETWORK = "no_network",
        CAPACITOR_ONLY = "capacitor_only",
        RIPPLE_HIGH = "network_ripple",
        WOOFER_LOSS_HIGH = "woofer_loss",
        TWEETER_CAP_ELECTROLYTIC = "tweeter_capacitor_electrolytic",
        NETWORK_CONTRADICTED = "network_contradicted",
    }
}

/// The choice `electrolytic` of the tweeter's capacitor.
const ELECTROLYTIC: usize = 2;
/// From this many ways on there is a tweeter path.
const WAYS_WITH_TWEETER: f64 = 2.0;
/// The least impedance that the lowest usual rating, 4 ohm, allows: 0.8 of it (IEC 60268-5:2003, clause 16.1, from
/// memory).
const LEAST_OHM: f64 = 3.2;

/// What kind of network there is, by its place in the manifest.
#[derive(Clone, Copy, PartialEq)]
enum Network {
    None,
    CapacitorOnly,
    Full,
}

impl Network {
    fn of(choice: usize) -> Option<Self> {
        [Network::None, Network::CapacitorOnly, Network::Full].get(choice).copied()
    }

    /// Orders of the woofer's and the tweeter's filter where the kind alone fixes them.
    fn orders(self) -> [Option<f64>; 2] {
        match self {
            Network::None => [Some(0.0); 2],
            Network::CapacitorOnly => [Some(0.0), Some(1.0)],
            Network::Full => [None; 2],
        }
    }
}

/// What is known of one product.
struct Crossover {
    ways: Option<f64>,
    rated_ohm: Option<f64>,
    z_min_ohm: Option<f64>,
    z_min_ratio: Option<f64>,
    r_pd_ohm: Option<f64>,
    z_min_computed_ohm: Option<f64>,
    network: Option<Network>,
    attenuation_db: Option<f64>,
    /// Of the woofer's and the tweeter's filter, from the parts list.
    solved_orders: [Option<f64>; 2],
    ripple_db: Option<f64>,
    woofer_loss_db: Option<f64>,
    cap_loss_db: Option<f64>,
    tweeter_cap: Option<usize>,
    coil_orient: Option<usize>,
}

impl Crossover {
    fn read(row: &Row<'_>) -> Self {
        Crossover {
            ways: row.number(input::WAYS),
            rated_ohm: row.number(input::RATED_Z),
            z_min_ohm: row.number(input::Z_MIN_OHM),
            z_min_ratio: row.number(input::Z_MIN_RATIO),
            r_pd_ohm: row.number(input::R_PD_MIN_OHM),
            z_min_computed_ohm: row.number(input::Z_MIN_COMPUTED_OHM),
            network: row.choice(input::PRESENT).and_then(Network::of),
            attenuation_db: row.number(input::ATTENUATION_DB),
            solved_orders: [input::WOOFER_ORDER, input::TWEETER_ORDER].map(|it| row.number(it)),
            ripple_db: row.number(input::RIPPLE_DB),
            woofer_loss_db: row.number(input::WOOFER_LOSS_DB),
            cap_loss_db: row.number(input::CAP_LOSS_DB),
            tweeter_cap: row.choice(input::TWEETER_CAP),
            coil_orient: row.choice(input::COIL_ORIENT),
        }
    }

    fn is_one_way(&self) -> bool {
        self.ways.is_some_and(|it| it < WAYS_WITH_TWEETER)
    }

    fn capacitor_contradicted(&self) -> bool {
        self.network == Some(Network::None) && self.tweeter_cap.is_some()
    }

    fn coils_contradicted(&self) -> bool {
        self.network.is_some_and(|it| it != Network::Full) && self.coil_orient.is_some()
    }

    /// Whether the parts list has filters that the recorded kind of network does not have.
    fn filter_contradicted(&self) -> bool {
        let fixed = self.network.map_or([None; 2], Network::orders);
        let pairs = fixed.into_iter().zip(self.solved_orders);
        pairs.into_iter().any(|it| matches!(it, (Some(fixed), Some(solved)) if solved > fixed))
    }

    /// Orders of the woofer's and the tweeter's filter.
    fn orders(&self) -> [Option<f64>; 2] {
        if self.is_one_way() {
            return [Some(NOT_APPLICABLE); 2];
        }
        // It may be a one-way, for which the question has no meaning.
        if self.ways.is_none() || self.filter_contradicted() {
            return [None; 2];
        }
        let [woofer, tweeter] = self.network.map_or([None; 2], Network::orders);
        [self.solved_orders[0].or(woofer), self.solved_orders[1].or(tweeter)]
    }

    fn attenuation(&self) -> Option<f64> {
        if self.ways? < WAYS_WITH_TWEETER {
            return Some(NOT_APPLICABLE);
        }
        if self.filter_contradicted() || self.capacitor_contradicted() {
            return None;
        }
        match self.network {
            Some(Network::None) => Some(0.0),
            _ => self.attenuation_db,
        }
    }

    fn ripple(&self) -> Option<f64> {
        match self.network {
            _ if self.filter_contradicted() => None,
            Some(Network::None) => Some(NOT_APPLICABLE),
            _ => self.ripple_db,
        }
    }

    fn woofer_loss(&self) -> Option<f64> {
        match self.network {
            _ if self.filter_contradicted() || self.coils_contradicted() => None,
            Some(Network::None | Network::CapacitorOnly) => Some(NOT_APPLICABLE),
            _ => self.woofer_loss_db,
        }
    }

    fn coils(&self) -> Option<f64> {
        match self.network? {
            Network::Full => self.coil_orient.map(|it| it as f64),
            _ if self.coils_contradicted() => None,
            _ => Some(NOT_APPLICABLE),
        }
    }

    /// Measured lowest impedance over the rating, else the computed one.
    fn z_min_ratio(&self) -> Option<f64> {
        self.z_min_ratio.or_else(|| {
            let rated_ohm = self.rated_ohm.filter(|&it| it > 0.0)?;
            Some(self.z_min_computed_ohm? / rated_ohm)
        })
    }
}

/// The judgement with its parameters.
struct Plugin {
    params: [f64; param::IDS.len()],
}

impl Plugin {
    /// Loss in the tweeter's capacitors, else what their kind is taken for.
    fn capacitor_loss_db(&self, it: &Crossover) -> Option<f64> {
        if it.ways? < WAYS_WITH_TWEETER {
            return Some(NOT_APPLICABLE);
        }
        if it.capacitor_contradicted() || it.filter_contradicted() {
            return None;
        }
        if it.network == Some(Network::None) {
            return Some(NOT_APPLICABLE);
        }
        // A kind that was seen is that of a capacitor that is there, also where the network was not described.
        let kinds = [param::LOSS_POLYPROPYLENE, param::LOSS_POLYESTER, param::LOSS_ELECTROLYTIC];
        it.cap_loss_db.or_else(|| kinds.get(it.tweeter_cap?).map(|&it| self.params[it]))
    }

    fn remark(&self, it: &Crossover, out: &mut RowSink<'_, '_>) {
        self.remark_on_load(it, out);
        if let Some(ways) = it.ways.filter(|&it| it >= WAYS_WITH_TWEETER) {
            match it.network {
                Some(Network::None)
                    if !it.capacitor_contradicted() && !it.filter_contradicted() =>
                {
                    out.remark(remark::NO_NETWORK, &[ways]);
                }
                Some(Network::CapacitorOnly) if !it.filter_contradicted() => {
                    out.remark(remark::CAPACITOR_ONLY, &[ways]);
                }
                _ => {}
            }
            self.remark_on_filters(it, out);
            if it.tweeter_cap == Some(ELECTROLYTIC) {
                out.remark(remark::TWEETER_CAP_ELECTROLYTIC, &[]);
            }
        }
        if it.capacitor_contradicted() || it.coils_contradicted() || it.filter_contradicted() {
            out.remark(remark::NETWORK_CONTRADICTED, &[]);
        }
    }

    fn remark_on_filters(&self, it: &Crossover, out: &mut RowSink<'_, '_>) {
        for (measure, limit, code) in [
            (it.ripple(), param::RIPPLE_HIGH, remark::RIPPLE_HIGH),
            (it.woofer_loss(), param::WOOFER_LOSS_HIGH, remark::WOOFER_LOSS_HIGH),
        ] {
            if let Some(db) = measure.filter(|&it| it > self.params[limit]) {
                out.remark(code, &[db]);
            }
        }
    }

    fn remark_on_load(&self, it: &Crossover, out: &mut RowSink<'_, '_>) {
        if let Some(z_ohm) = it.z_min_ohm.filter(|&it| it < LEAST_OHM) {
            out.remark(remark::BELOW_FOUR_OHM_RATING, &[z_ohm]);
        }
        let low = self.params[param::R_PD_LOW];
        if let Some(r_pd_ohm) = it.r_pd_ohm.filter(|&it| it < low) {
            out.remark(remark::PEAK_DISSIPATION_LOW, &[r_pd_ohm]);
        }
    }
}

impl RowScorer for Plugin {
    const MANIFEST: &'static str = include_str!("../manifest.json");

    fn new(params: &[f64]) -> Result<Self, String> {
        Ok(Plugin { params: bw_sdk::params(params)? })
    }

    fn row(&self, row: &Row<'_>, out: &mut RowSink<'_, '_>) {
        let it = Crossover::read(row);
        let [woofer_order, tweeter_order] = it.orders();
        out.score(criterion::TWEETER_ATTENUATION, it.attenuation());
        out.score(criterion::Z_MIN_RATIO, it.z_min_ratio());
        out.score(criterion::PEAK_DISSIPATION, it.r_pd_ohm);
        out.score(criterion::WOOFER_ORDER, woofer_order);
        out.score(criterion::TWEETER_ORDER, tweeter_order);
        out.score(criterion::RIPPLE, it.ripple());
        out.score(criterion::WOOFER_LOSS, it.woofer_loss());
        out.score(criterion::TWEETER_CAPACITOR, self.capacitor_loss_db(&it));
        out.score(criterion::COIL_ORIENTATION, it.coils());
        self.remark(&it, out);
    }
}

export_plugins!(Plugin);

#[cfg(test)]
mod tests;
