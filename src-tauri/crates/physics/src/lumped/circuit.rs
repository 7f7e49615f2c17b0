//! The circuit of a mounted driver, with everything that does not depend on frequency worked out.

use std::f64::consts::TAU;

use num_complex::Complex64;

use super::{Coil, Enclosure, MountedDriver};
use crate::air::Air;

/// A mounted driver ready to be solved at many frequencies.
#[derive(Debug, Clone, Copy)]
pub struct Circuit {
    re_ohm: f64,
    coil: Coil,
    bl_tm: f64,
    mms_kg: f64,
    rms_kg_s: f64,
    stiffness_n_m: f64,
    sd_m2: f64,
    air: Option<BoxAir>,
    /// Resonance in the closed box, rad/s.
    wc_rad_s: f64,
}

/// The air of a box as acoustic elements in parallel.
#[derive(Debug, Clone, Copy)]
struct BoxAir {
    /// Compliance Cab, m³/Pa.
    cab: f64,
    /// 1/Ral, m³/(Pa·s); 0 without a leak.
    leak: f64,
    /// 1/Map, m³/(Pa·s²); 0 without a port.
    inverse_mass: f64,
}

/// The circuit at one frequency, all flows and pressures for one volt at the source.
#[derive(Debug, Clone, Copy)]
pub(super) struct Solved {
    /// Impedance at the source, series resistance included, ohm.
    pub(super) z: Complex64,
    /// Cone velocity, m/s.
    pub(super) cone: Complex64,
    /// Pressure in the box, Pa.
    pub(super) pressure: Complex64,
    /// Flow through the port, m³/s.
    pub(super) port_flow: Complex64,
    /// Flow that radiates: cone, port and leak together, m³/s.
    pub(super) radiated: Complex64,
}

impl Circuit {
    /// Works the constants out; values out of their domain give no meaningful ones.
    #[must_use]
    pub(super) fn new(driver: &MountedDriver, air: &Air) -> Self {
        let it = &driver.params;
        let stiffness_n_m = 1.0 / it.cms_m_n;
        let (vb, tuning, ql) = match driver.enclosure {
            Enclosure::Free => (None, None, None),
            Enclosure::Closed { vb_m3, ql } => (Some(vb_m3), None, ql),
            Enclosure::Vented { vb_m3, fb_hz, ql } => (Some(vb_m3), Some(TAU * fb_hz), ql),
        };
        let cab = vb.map(|vb| vb / air.bulk_modulus_pa());
        let added = cab.map_or(0.0, |cab| it.sd_m2 * it.sd_m2 / cab);
        let wc_rad_s = ((stiffness_n_m + added) / it.mms_kg).sqrt();
        let air = cab.map(|cab| BoxAir {
            cab,
            leak: ql.map_or(0.0, |ql| tuning.unwrap_or(wc_rad_s) * cab / ql),
            inverse_mass: tuning.map_or(0.0, |wb| wb * wb * cab),
        });
        Self {
            re_ohm: it.re_ohm,
            coil: driver.coil,
            bl_tm: it.bl_tm,
            mms_kg: it.mms_kg,
            rms_kg_s: it.rms_kg_s,
            stiffness_n_m,
            sd_m2: it.sd_m2,
            air,
            wc_rad_s,
        }
    }

    /// Resonance in the closed box, Hz; the free-air one without a box.
    pub(super) fn fc_hz(&self) -> f64 {
        self.wc_rad_s / TAU
    }

    /// Impedance at the terminals, ohm: Re + coil + BL²/(Zm + Sd²·Zab).
    #[must_use]
    pub fn impedance(&self, f_hz: f64) -> Complex64 {
        let w = TAU * f_hz;
        let (yab, moving) = self.moving(w);
        self.electrical(w) + self.bl_tm * self.bl_tm * yab / moving
    }

    /// The whole circuit at `w_rad_s` with `rg_ohm` in series.
    pub(super) fn solve(&self, w_rad_s: f64, rg_ohm: f64) -> Solved {
        let w = w_rad_s;
        let ze = rg_ohm + self.electrical(w);
        let (yab, moving) = self.moving(w);
        let motional = self.bl_tm * self.bl_tm * yab;
        let force = self.bl_tm / (ze * moving + motional);
        let cone = force * yab;
        let (pressure, port_flow, radiated) = match self.air {
            // Without a box the front of the cone radiates alone, as from an infinite baffle.
            None => (Complex64::ZERO, Complex64::ZERO, self.sd_m2 * cone),
            Some(air) => {
                let pressure = self.sd_m2 * force;
                let port_flow = pressure * Complex64::new(0.0, -air.inverse_mass / w);
                (pressure, port_flow, pressure * Complex64::new(0.0, w * air.cab))
            }
        };
        Solved { z: ze + motional / moving, cone, pressure, port_flow, radiated }
    }

    fn electrical(&self, w: f64) -> Complex64 {
        self.re_ohm + self.coil.impedance(w)
    }

    /// What moves: Yab and (Zm + Sd²·Zab)·Yab. Written with the admittance Yab of compliance, leak and
    /// port mass in parallel, which is 0 at the tuning of a box without a leak, where Zab is not a
    /// number. Without a box Zab is 0 and Yab stands for 1.
    fn moving(&self, w: f64) -> (Complex64, Complex64) {
        let zm = Complex64::new(self.rms_kg_s, w * self.mms_kg - self.stiffness_n_m / w);
        match self.air {
            None => (Complex64::ONE, zm),
            Some(air) => {
                let yab = Complex64::new(air.leak, w * air.cab - air.inverse_mass / w);
                (yab, zm * yab + self.sd_m2 * self.sd_m2)
            }
        }
    }
}
