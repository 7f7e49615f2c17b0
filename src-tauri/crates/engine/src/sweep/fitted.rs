//! Which model a sweep is held against, and what the fit says.

use domain::{part::Role, reading, sweep::Sweep, unit::Dimension};
use num_complex::Complex64;
use physics::fit::{
    Fixed, ImpedanceFit, fit,
    vented::{VentedFit, VentedOptions, fit_vented},
};

use crate::dto::{FitDto, FitParameter};

/// A model with its parameters.
#[derive(Debug)]
pub(super) enum Model {
    /// A driver in free air.
    Driver(Box<ImpedanceFit>),
    /// A driver in its vented box, at the terminals of the loudspeaker.
    Vented(Box<VentedFit>),
}

/// A fitted sweep.
#[derive(Debug)]
pub(super) struct Fitted {
    model: Model,
    /// The frequencies that it was fitted to, Hz.
    pub(super) from_hz: f64,
    pub(super) to_hz: f64,
}

impl Fitted {
    /// The fit that the quantities rest on: of a driver in free air, or of a vented box at the terminals of the whole.
    ///
    /// Without one, why there is none.
    pub(super) fn of(sweep: &Sweep) -> Result<Self, String> {
        let (model, to_hz) = if sweep.part.role == Role::Whole {
            let it = fit_vented(&sweep.points, &VentedOptions::default());
            let it = it.map_err(|why| why.to_string())?;
            let to_hz = it.f_max_hz;
            (Model::Vented(Box::new(it)), to_hz)
        } else {
            let it = fit(&sweep.points, &Fixed::default()).map_err(|why| why.to_string())?;
            (Model::Driver(Box::new(it)), f64::INFINITY)
        };
        let first = sweep.points.first().map_or(0.0, |it| it.f_hz);
        let last = sweep.points.last().map_or(0.0, |it| it.f_hz);
        Ok(Fitted { model, from_hz: first, to_hz: to_hz.min(last) })
    }

    /// The fitted impedance, ohm.
    pub(super) fn impedance(&self, f_hz: f64) -> Complex64 {
        match &self.model {
            Model::Driver(it) => it.model.impedance(f_hz),
            Model::Vented(it) => it.impedance(f_hz),
        }
    }

    /// The fit in words.
    pub(super) fn told(&self) -> FitDto {
        let ohm = |sign: &str, label: &str, value, u| {
            told(sign, label, value, u, Dimension::Resistance, "ohm")
        };
        let hz = |sign: &str, label: &str, value, u| {
            told(sign, label, value, u, Dimension::Frequency, "Hz")
        };
        let plain =
            |sign: &str, label: &str, value, u| told(sign, label, value, u, Dimension::One, "");
        let (model, parameters, rss, free, assumed) = match &self.model {
            Model::Driver(it) => {
                let [re, res, fs, qms, _, n] = it.u;
                let list = vec![
                    hz("fs", "resonance", it.model.fs_hz, fs),
                    plain("Qms", "mechanical Q", it.model.qms, qms),
                    plain("Qes", "electrical Q", it.model.qes(), it.u_qes),
                    plain("Qts", "total Q", it.model.qts(), it.u_qts),
                    ohm("Re", "resistance of the coil", it.model.re_ohm, re),
                    ohm("Res", "height of the resonance", it.model.res_ohm, res),
                    plain("n", "exponent of the coil's impedance", it.model.n, n),
                ];
                ("one driver in free air", list, it.rss, it.degrees_of_freedom, Vec::new())
            }
            Model::Vented(it) => {
                let [re, res, fs, qms, alpha, fb, ql, _, n] = it.u;
                let mut list = vec![
                    hz("fB", "tuning of the box", it.fb_hz, fb),
                    plain("QL", "losses of the box", it.ql, ql),
                    plain("α", "compliance ratio", it.alpha, alpha),
                    hz("fs", "resonance of the driver", it.fs_hz, fs),
                    plain("Qms", "mechanical Q", it.qms, qms),
                    ohm("Re", "resistance at the terminals", it.re_ohm, re),
                    ohm("Res", "height of the resonance", it.res_ohm, res),
                ];
                let assumed = if it.n_assumed {
                    vec!["coil exponent 0.7, since the sweep shows too little of the coil".into()]
                } else {
                    list.push(plain("n", "exponent of the coil's impedance", it.n, n));
                    Vec::new()
                };
                ("a driver in a vented box", list, it.rss, it.degrees_of_freedom, assumed)
            }
        };
        let free = u32::try_from(free).map_or(1.0, |it| f64::from(it.max(1)));
        FitDto {
            model: model.into(),
            parameters,
            scatter: format!("{:.2} %", 100.0 * (rss / free).sqrt()),
            range: format!("{:.0} to {:.0} Hz", self.from_hz, self.to_hz),
            assumed,
        }
    }
}

fn told(
    sign: &str,
    label: &str,
    value: f64,
    u: f64,
    dimension: Dimension,
    unit: &str,
) -> FitParameter {
    // Below this an uncertainty is the rounding of the computer and says nothing of the sweep.
    let shown = if u > 1e-6 * value.abs() {
        reading::shown_with_u(value, u, dimension, unit)
    } else {
        reading::shown(value, None, dimension, unit)
    };
    FitParameter { sign: sign.into(), label: label.into(), shown }
}
