//! Scores the box: how its walls bend and ring, the air inside, the port, leaks.
//!
//! What is read, the points, the weights and all other numbers of the judgement stand in `manifest.json`; here is how
//! findings go together.

use bw_sdk::{Row, RowScorer, RowSink, abi::NOT_APPLICABLE, export_plugins, places};

places! {
    /// Inputs by their place in the manifest.
    input {
        WAYS = "whole.ways",
        BOX_TYPE = "cabinet.box_type",
        PANEL_F_HZ = "cabinet.panel_f_hz",
        CAVITY_F_HZ = "cabinet.cavity_f_hz",
        CAVITY_Q = "cabinet.cavity_q",
        WALL_DAMPING = "cabinet.wall_damping",
        PORT_VELOCITY = "port.velocity_m_s",
        FLARE_IN = "cabinet.port_flare.in",
        FLARE_OUT = "cabinet.port_flare.out",
        MID_CHAMBER = "cabinet.mid_chamber",
        QL = "system.ql",
        LEAK_FOUND = "cabinet.leak_found",
        GASKET = "cabinet.gasket",
    }
    /// Parameters by their place in the manifest.
    param {
        QL_LEAK_FOUND = "leak.ql_leak_found",
        QL_GASKET_NONE = "leak.ql_gasket_none",
        QL_GASKET_FOAM = "leak.ql_gasket_foam",
        QL_GASKET_CAULK = "leak.ql_gasket_caulk",
        PANEL_LOW = "remark.panel_low",
        ACUTE_FROM = "remark.acute_from",
        ACUTE_TO = "remark.acute_to",
        CAVITY_Q_HIGH = "remark.cavity_q_high",
        PORT_FAST = "remark.port_fast",
        QL_LOW = "remark.ql_low",
    }
    /// Criteria by their place in the manifest.
    criterion {
        PANEL_MODE = "panel_mode",
        WALL_DAMPING = "wall_damping",
        CAVITY_Q = "cavity_q",
        PORT_VELOCITY = "port_velocity",
        MID_CHAMBER = "mid_chamber",
        LEAK = "leak",
    }
    /// Remarks by their place in the manifest.
    remark {
        PANEL_MODE_LOW = "panel_mode_low",
        PANEL_MODE_AUDIBLE = "panel_mode_audible",
        STANDING_WAVE_UNDAMPED = "standing_wave_undamped",
        PORT_FAST = "port_fast",
        MIDRANGE_OPEN = "midrange_open",
        LEAK_FOUND = "leak_found",
        QL_LOW = "ql_low",
    }
}

/// The choice `none` of wall damping and midrange chamber.
const NONE: usize = 0;
/// The choices `closed` and `passive radiator` of a box.
const WITHOUT_PORT: [usize; 2] = [0, 2];
/// From this many ways on there is a midrange.
const WAYS_WITH_MIDRANGE: f64 = 3.0;

/// What is known of one product.
struct Cabinet {
    ways: Option<f64>,
    box_type: Option<usize>,
    panel_f_hz: Option<f64>,
    cavity_f_hz: Option<f64>,
    cavity_q: Option<f64>,
    wall_damping: Option<usize>,
    port_velocity_m_s: Option<f64>,
    flares_m: [Option<f64>; 2],
    mid_chamber: Option<usize>,
    ql: Option<f64>,
    leak_found: Option<bool>,
    gasket: Option<usize>,
}

impl Cabinet {
    fn read(row: &Row<'_>) -> Self {
        Cabinet {
            ways: row.number(input::WAYS),
            box_type: row.choice(input::BOX_TYPE),
            panel_f_hz: row.number(input::PANEL_F_HZ),
            cavity_f_hz: row.number(input::CAVITY_F_HZ),
            cavity_q: row.number(input::CAVITY_Q),
            wall_damping: row.choice(input::WALL_DAMPING),
            port_velocity_m_s: row.number(input::PORT_VELOCITY),
            flares_m: [input::FLARE_IN, input::FLARE_OUT].map(|it| row.number(it)),
            mid_chamber: row.choice(input::MID_CHAMBER),
            ql: row.number(input::QL),
            leak_found: row.flag(input::LEAK_FOUND),
            gasket: row.choice(input::GASKET),
        }
    }

    fn has_no_port(&self) -> bool {
        self.box_type.is_some_and(|it| WITHOUT_PORT.contains(&it))
    }

    fn port_velocity(&self) -> Option<f64> {
        if self.has_no_port() {
            return Some(NOT_APPLICABLE);
        }
        // The manifest adds points for two flares; without knowing them it would take them for sharp.
        let [Some(_), Some(_)] = self.flares_m else { return None };
        self.port_velocity_m_s
    }

    fn mid_chamber(&self) -> Option<f64> {
        if self.ways? < WAYS_WITH_MIDRANGE {
            return Some(NOT_APPLICABLE);
        }
        self.mid_chamber.map(|it| it as f64)
    }
}

/// The judgement with its parameters.
struct Plugin {
    params: [f64; param::IDS.len()],
}

impl Plugin {
    /// Leakage Q from the sweep, else what the observed signs are taken for.
    fn leakage_q(&self, cabinet: &Cabinet) -> Option<f64> {
        if cabinet.ql.is_some() {
            return cabinet.ql;
        }
        if cabinet.leak_found? {
            return Some(self.params[param::QL_LEAK_FOUND]);
        }
        let by_gasket = [param::QL_GASKET_NONE, param::QL_GASKET_FOAM, param::QL_GASKET_CAULK];
        by_gasket.get(cabinet.gasket?).map(|&it| self.params[it])
    }

    fn remark(&self, cabinet: &Cabinet, out: &mut RowSink<'_, '_>) {
        let params = &self.params;
        if let Some(f_hz) = cabinet.panel_f_hz {
            if f_hz < params[param::PANEL_LOW] {
                out.remark(remark::PANEL_MODE_LOW, &[f_hz]);
            }
            let (from, to) = (params[param::ACUTE_FROM], params[param::ACUTE_TO]);
            if (from..=to).contains(&f_hz) && cabinet.wall_damping == Some(NONE) {
                out.remark(remark::PANEL_MODE_AUDIBLE, &[f_hz, from, to]);
            }
        }
        if let (Some(f_hz), Some(q)) = (cabinet.cavity_f_hz, cabinet.cavity_q)
            && q > params[param::CAVITY_Q_HIGH]
        {
            out.remark(remark::STANDING_WAVE_UNDAMPED, &[f_hz, q]);
        }
        let port_fast = params[param::PORT_FAST];
        if let Some(v_m_s) = cabinet.port_velocity_m_s.filter(|&it| it > port_fast)
            && !cabinet.has_no_port()
        {
            out.remark(remark::PORT_FAST, &[v_m_s, port_fast]);
        }
        if let Some(ways) = cabinet.ways
            && ways >= WAYS_WITH_MIDRANGE
            && cabinet.mid_chamber == Some(NONE)
        {
            out.remark(remark::MIDRANGE_OPEN, &[ways]);
        }
        if cabinet.leak_found == Some(true) {
            out.remark(remark::LEAK_FOUND, &[]);
        }
        let ql_low = params[param::QL_LOW];
        if let Some(ql) = cabinet.ql.filter(|&it| it < ql_low) {
            out.remark(remark::QL_LOW, &[ql, ql_low]);
        }
    }
}

impl RowScorer for Plugin {
    const MANIFEST: &'static str = include_str!("../manifest.json");

    fn new(params: &[f64]) -> Result<Self, String> {
        Ok(Plugin { params: bw_sdk::params(params)? })
    }

    fn row(&self, row: &Row<'_>, out: &mut RowSink<'_, '_>) {
        let cabinet = Cabinet::read(row);
        out.score(criterion::PANEL_MODE, cabinet.panel_f_hz);
        out.score(criterion::WALL_DAMPING, cabinet.wall_damping.map(|it| it as f64));
        out.score(criterion::CAVITY_Q, cabinet.cavity_q);
        out.score(criterion::PORT_VELOCITY, cabinet.port_velocity());
        out.score(criterion::MID_CHAMBER, cabinet.mid_chamber());
        out.score(criterion::LEAK, self.leakage_q(&cabinet));
        self.remark(&cabinet, out);
    }
}

export_plugins!(Plugin);

#[cfg(test)]
mod tests;
