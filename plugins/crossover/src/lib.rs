//! Scores the passive network: the load it makes, the tweeter's capacitor, how the coils stand.
//!
//! What is read, the points and the weights stand in `manifest.json`. Filter orders, attenuation, ripple and losses are not
//! scored, and nothing stands in for them: they need the network to be solved, which is not done.

use bw_sdk::{Batch, Scorer, Sink, abi::NOT_APPLICABLE, export_plugins};

/// Inputs by their place in the manifest.
mod input {
    pub(super) const WAYS: usize = 0;
    pub(super) const RATED_Z: usize = 1;
    pub(super) const Z_MIN_OHM: usize = 2;
    pub(super) const Z_MIN_RATIO: usize = 3;
    pub(super) const R_PD_MIN_OHM: usize = 4;
    pub(super) const PRESENT: usize = 5;
    pub(super) const TWEETER_CAP: usize = 6;
    pub(super) const COIL_ORIENT: usize = 7;
}

/// Remarks by their place in the manifest.
mod remark {
    pub(super) const RATING_NOT_MET: usize = 0;
    pub(super) const RATING_THAT_HOLDS: usize = 1;
    pub(super) const BELOW_FOUR_OHM_RATING: usize = 2;
    pub(super) const PEAK_DISSIPATION_LOW: usize = 3;
    pub(super) const NO_NETWORK: usize = 4;
    pub(super) const CAPACITOR_ONLY: usize = 5;
    pub(super) const TWEETER_CAP_ELECTROLYTIC: usize = 6;
    pub(super) const NETWORK_CONTRADICTED: usize = 7;
}

/// Points for a tweeter capacitor of polypropylene, polyester, electrolytic.
const CAPACITOR_POINTS: [f64; 3] = [95.0, 80.0, 45.0];
/// Points for two or more ways without any capacitor.
const NO_CAPACITOR_POINTS: f64 = 0.0;
/// Points for coils that stand well, badly.
const COIL_POINTS: [f64; 2] = [100.0, 40.0];

/// The choice `electrolytic` of the tweeter's capacitor.
const ELECTROLYTIC: usize = 2;

/// The usual ratings, ohm, falling.
const RATINGS_OHM: [f64; 3] = [8.0, 6.0, 4.0];
/// Below this a peak-dissipation load is worth a remark, ohm.
const R_PD_LOW_OHM: f64 = 2.0;
/// From this many ways on there is a tweeter path.
const WAYS_WITH_TWEETER: f64 = 2.0;

/// The least impedance that a rating allows, ohm (IEC 60268-5:2003, clause 16.1, from memory).
fn limit_ohm(rated_ohm: f64) -> f64 {
    // In this order 4.8 ohm passes as 6 ohm; 0.8 · 6 rounds up.
    rated_ohm * 4.0 / 5.0
}

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
}

/// What is known of one product.
struct Crossover {
    ways: Option<f64>,
    rated_ohm: Option<f64>,
    z_min_ohm: Option<f64>,
    z_min_ratio: Option<f64>,
    r_pd_ohm: Option<f64>,
    network: Option<Network>,
    tweeter_cap: Option<usize>,
    coil_orient: Option<usize>,
}

impl Crossover {
    fn read(batch: &Batch<'_>, row: usize) -> Self {
        // An infinity would read as "not applicable" in the scores.
        let number = |input| batch.scalar(input, row).filter(|it| it.is_finite());
        Crossover {
            ways: number(input::WAYS),
            rated_ohm: number(input::RATED_Z),
            z_min_ohm: number(input::Z_MIN_OHM),
            z_min_ratio: number(input::Z_MIN_RATIO),
            r_pd_ohm: number(input::R_PD_MIN_OHM),
            network: batch.choice(input::PRESENT, row).and_then(Network::of),
            tweeter_cap: batch.choice(input::TWEETER_CAP, row),
            coil_orient: batch.choice(input::COIL_ORIENT, row),
        }
    }

    /// Measures in the order of the manifest's criteria; `None` where something is missing or contradicted.
    fn measures(&self) -> [Option<f64>; 4] {
        [self.z_min_ratio, self.r_pd_ohm, self.capacitor_points(), self.coil_points()]
    }

    fn capacitor_points(&self) -> Option<f64> {
        if self.ways? < WAYS_WITH_TWEETER {
            return Some(NOT_APPLICABLE);
        }
        if self.capacitor_contradicted() {
            return None;
        }
        match (self.network, self.tweeter_cap) {
            (Some(Network::None), _) => Some(NO_CAPACITOR_POINTS),
            // A kind that was seen is that of a capacitor that is there, also where the network was not described.
            (_, kind) => CAPACITOR_POINTS.get(kind?).copied(),
        }
    }

    fn coil_points(&self) -> Option<f64> {
        match self.network? {
            Network::Full => COIL_POINTS.get(self.coil_orient?).copied(),
            _ if self.coils_contradicted() => None,
            _ => Some(NOT_APPLICABLE),
        }
    }

    fn capacitor_contradicted(&self) -> bool {
        self.network == Some(Network::None) && self.tweeter_cap.is_some()
    }

    fn coils_contradicted(&self) -> bool {
        self.network.is_some_and(|it| it != Network::Full) && self.coil_orient.is_some()
    }

    fn remark(&self, mut say: impl FnMut(usize, &[f64])) {
        self.remark_on_load(&mut say);
        if let Some(ways) = self.ways.filter(|&it| it >= WAYS_WITH_TWEETER) {
            match self.network {
                Some(Network::None) if !self.capacitor_contradicted() => {
                    say(remark::NO_NETWORK, &[ways]);
                }
                Some(Network::CapacitorOnly) => say(remark::CAPACITOR_ONLY, &[ways]),
                _ => {}
            }
            if self.tweeter_cap == Some(ELECTROLYTIC) {
                say(remark::TWEETER_CAP_ELECTROLYTIC, &[]);
            }
        }
        if self.capacitor_contradicted() || self.coils_contradicted() {
            say(remark::NETWORK_CONTRADICTED, &[]);
        }
    }

    fn remark_on_load(&self, say: &mut impl FnMut(usize, &[f64])) {
        if let Some(z_ohm) = self.z_min_ohm {
            let holds = RATINGS_OHM.into_iter().find(|&it| z_ohm >= limit_ohm(it));
            if let Some(rated_ohm) = self.rated_ohm.filter(|&it| z_ohm < limit_ohm(it)) {
                say(remark::RATING_NOT_MET, &[z_ohm, rated_ohm, limit_ohm(rated_ohm)]);
                if let Some(holds_ohm) = holds {
                    say(remark::RATING_THAT_HOLDS, &[holds_ohm]);
                }
            }
            if holds.is_none() {
                say(remark::BELOW_FOUR_OHM_RATING, &[z_ohm]);
            }
        }
        if let Some(r_pd_ohm) = self.r_pd_ohm.filter(|&it| it < R_PD_LOW_OHM) {
            say(remark::PEAK_DISSIPATION_LOW, &[r_pd_ohm]);
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
            let crossover = Crossover::read(batch, row);
            for (criterion, measure) in crossover.measures().into_iter().enumerate() {
                if let Some(measure) = measure {
                    sink.score(row, criterion, measure);
                }
            }
            crossover.remark(|code, numbers| sink.remark(row, code, numbers));
        }
        Ok(())
    }
}

export_plugins!(Plugin);

#[cfg(test)]
mod tests;
