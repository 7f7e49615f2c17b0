//! A sweep as marks: magnitude, what the fit leaves over, and phase where it was measured.

use domain::sweep::{Point, Sweep};

use super::fitted::Fitted;
use crate::{
    chart::Scale,
    dto::{Axis, PlotPoint, SweepChart, SweepDot, SweepPanel, Tick},
};

/// The most points that are drawn; more would lie on each other.
const MOST_DOTS: usize = 400;

/// Through how many places a curve goes.
const CURVE: u16 = 300;

/// Frequencies that an axis names.
const NAMED: [f64; 3] = [1.0, 2.0, 5.0];

/// Draws a sweep with the curve fitted to it, if there is one.
pub(super) fn chart(sweep: &Sweep, fitted: Option<&Fitted>) -> SweepChart {
    let points = &sweep.points;
    let ends = points.first().zip(points.last());
    let (low, high) = ends.map_or((10.0, 20_000.0), |(a, b)| (a.f_hz, b.f_hz.max(1.01 * a.f_hz)));
    let x = Scale { low, high, log: true };
    let drawn: Vec<&Point> = points.iter().step_by(points.len().div_ceil(MOST_DOTS)).collect();
    let mut panels = vec![magnitude(points, &drawn, &x, fitted)];
    if let Some(it) = fitted {
        panels.push(residual(&drawn, &x, it));
    }
    if points.iter().any(|it| it.phase_deg.is_some()) {
        panels.push(phase(&drawn, &x, fitted));
    }
    let about = match fitted {
        Some(it) => format!(
            "the curve is fitted from {:.0} to {:.0} Hz, and the panel below shows what it leaves over",
            it.from_hz, it.to_hz
        ),
        None => "no curve could be fitted".into(),
    };
    SweepChart {
        title: format!("Impedance of the {}", named(sweep)),
        description: format!(
            "{} points from {} to {}; {about}",
            points.len(),
            hertz(low),
            hertz(high)
        ),
        x: Axis { title: "frequency, logarithmic".into(), ticks: frequencies(&x) },
        panels,
    }
}

fn named(sweep: &Sweep) -> String {
    match sweep.part.to_string().as_str() {
        "whole" => "whole loudspeaker".into(),
        part => part.into(),
    }
}

fn magnitude(points: &[Point], drawn: &[&Point], x: &Scale, fitted: Option<&Fitted>) -> SweepPanel {
    let top = points.iter().map(|it| it.z_ohm).fold(0.0, f64::max);
    let (y, axis) = from_zero(1.05 * top, "magnitude, ohm");
    let dots = drawn.iter().map(|it| SweepDot {
        x: x.at(it.f_hz),
        y: 1.0 - y.at(it.z_ohm),
        sentence: format!("{}: {:.2} ohm{}", hertz(it.f_hz), it.z_ohm, at_phase(it)),
    });
    SweepPanel {
        shows: "magnitude".into(),
        y: axis,
        zero: None,
        dots: dots.collect(),
        curve: fitted
            .map(|it| curve(it, x, |f_hz| y.at(it.impedance(f_hz).norm())))
            .unwrap_or_default(),
    }
}

fn at_phase(it: &Point) -> String {
    it.phase_deg.map(|it| format!(" at {it:.1}°")).unwrap_or_default()
}

/// What the fit leaves over, in per cent of the magnitude, where it was fitted.
fn residual(drawn: &[&Point], x: &Scale, fitted: &Fitted) -> SweepPanel {
    let left: Vec<(f64, f64)> = drawn
        .iter()
        .filter(|it| (fitted.from_hz..=fitted.to_hz).contains(&it.f_hz))
        .map(|it| (it.f_hz, 100.0 * (it.z_ohm / fitted.impedance(it.f_hz).norm() - 1.0)))
        .collect();
    let most = left.iter().map(|it| it.1.abs()).fold(0.0, f64::max);
    let step = step(most.max(0.1), 1.0);
    let reach = step * (most / step).ceil().max(1.0);
    let y = Scale { low: -reach, high: reach, log: false };
    let ticks = [-reach, 0.0, reach]
        .map(|it| Tick { at: 1.0 - y.at(it), label: signed(it, step) })
        .into_iter()
        .rev()
        .collect();
    let dots = left.iter().map(|(f_hz, it)| SweepDot {
        x: x.at(*f_hz),
        y: 1.0 - y.at(*it),
        sentence: format!(
            "{}: {:.2} % {} the curve",
            hertz(*f_hz),
            it.abs(),
            if *it < 0.0 { "below" } else { "above" }
        ),
    });
    SweepPanel {
        shows: "residual".into(),
        y: Axis { title: "measured above fitted, %".into(), ticks },
        zero: Some(0.5),
        dots: dots.collect(),
        curve: Vec::new(),
    }
}

fn signed(it: f64, step: f64) -> String {
    let digits = if step < 0.1 { 2 } else { usize::from(step < 1.0) };
    if it > 0.0 {
        format!("+{it:.digits$}")
    } else if it < 0.0 {
        format!("−{:.digits$}", -it)
    } else {
        "0".into()
    }
}

fn phase(drawn: &[&Point], x: &Scale, fitted: Option<&Fitted>) -> SweepPanel {
    let most = drawn.iter().filter_map(|it| it.phase_deg).map(f64::abs).fold(0.0, f64::max);
    let reach = if most <= 90.0 { 90.0 } else { 180.0 };
    let y = Scale { low: -reach, high: reach, log: false };
    let ticks = [reach, 0.0, -reach].map(|it| Tick { at: 1.0 - y.at(it), label: signed(it, 90.0) });
    let dots = drawn.iter().filter_map(|it| {
        let phase = it.phase_deg?;
        Some(SweepDot {
            x: x.at(it.f_hz),
            y: 1.0 - y.at(phase),
            sentence: format!("{}: {phase:.1}°", hertz(it.f_hz)),
        })
    });
    let arg = |it: &Fitted, f_hz: f64| it.impedance(f_hz).arg().to_degrees();
    SweepPanel {
        shows: "phase".into(),
        y: Axis { title: "phase, degrees".into(), ticks: ticks.into() },
        zero: Some(0.5),
        dots: dots.collect(),
        curve: fitted.map(|it| curve(it, x, |f_hz| y.at(arg(it, f_hz)))).unwrap_or_default(),
    }
}

/// The fitted curve over what it was fitted to.
fn curve(fitted: &Fitted, x: &Scale, at: impl Fn(f64) -> f64) -> Vec<PlotPoint> {
    let steps = (fitted.to_hz / fitted.from_hz).ln();
    (0..=CURVE)
        .map(|i| {
            let f_hz = fitted.from_hz * (steps * f64::from(i) / f64::from(CURVE)).exp();
            PlotPoint { x: x.at(f_hz), y: 1.0 - at(f_hz) }
        })
        .collect()
}

/// A linear axis from 0 with about five ticks.
fn from_zero(top: f64, title: &str) -> (Scale, Axis) {
    let step = step(top, 4.0);
    let y = Scale { low: 0.0, high: top, log: false };
    let mut ticks = Vec::new();
    let mut it = 0.0;
    while it <= top {
        ticks.push(Tick { at: 1.0 - y.at(it), label: format!("{it}") });
        it += step;
    }
    ticks.reverse();
    (y, Axis { title: title.into(), ticks })
}

/// A round step that goes into a range about so many times.
fn step(range: f64, times: f64) -> f64 {
    let rough = range / times;
    let decade = 10_f64.powf(rough.log10().floor());
    let round = [1.0, 2.0, 5.0, 10.0].into_iter().find(|it| it * decade >= rough * 0.999);
    decade * round.unwrap_or(10.0)
}

fn frequencies(x: &Scale) -> Vec<Tick> {
    let mut ticks = Vec::new();
    // Frequencies are often computed, and end a hair short of the round one.
    let (low, high) = (x.low * (1.0 - 1e-6), x.high * (1.0 + 1e-6));
    let mut decade = 10_f64.powf(low.log10().floor());
    while decade <= high {
        let inside = NAMED.iter().map(|it| it * decade).filter(|it| (low..=high).contains(it));
        ticks.extend(inside.map(|it| Tick { at: x.at(it), label: hertz(it) }));
        decade *= 10.0;
    }
    ticks
}

/// `25 Hz`, `1.25 kHz`.
fn hertz(f_hz: f64) -> String {
    let (value, unit) = if f_hz >= 1000.0 { (f_hz / 1000.0, "kHz") } else { (f_hz, "Hz") };
    let text = if value < 100.0 { format!("{value:.2}") } else { format!("{value:.1}") };
    format!("{} {unit}", text.trim_end_matches('0').trim_end_matches('.'))
}

#[cfg(test)]
mod tests {
    use domain::part::{Part, Role};
    use physics::fit::ImpedanceModel;

    use super::*;

    /// A driver without noise, made by the model itself: the fit must leave nothing over.
    fn driver() -> Sweep {
        let model =
            ImpedanceModel { re_ohm: 5.6, res_ohm: 40.0, fs_hz: 42.5, qms: 4.2, k: 0.02, n: 0.67 };
        let points = (0..900)
            .map(|i| {
                let f_hz = 10.0 * (f64::from(i) * 2000_f64.ln() / 899.0).exp();
                let z = model.impedance(f_hz);
                Point { f_hz, z_ohm: z.norm(), phase_deg: Some(z.arg().to_degrees()) }
            })
            .collect();
        Sweep { part: Part::first(Role::Woofer), points, note: String::new() }
    }

    #[test]
    fn a_sweep_is_drawn_with_its_curve_residuals_and_phase() {
        let sweep = driver();
        let fitted = Fitted::of(&sweep).unwrap();
        let it = chart(&sweep, Some(&fitted));
        let shows: Vec<&str> = it.panels.iter().map(|it| it.shows.as_str()).collect();
        assert_eq!(shows, ["magnitude", "residual", "phase"]);
        for panel in &it.panels {
            assert!(panel.dots.len() <= MOST_DOTS && panel.dots.len() > 200, "{}", panel.shows);
            assert!(panel.dots.iter().all(|it| (0.0..=1.0).contains(&it.x)));
            assert!(panel.dots.iter().all(|it| (0.0..=1.0).contains(&it.y)));
            assert!(panel.dots.windows(2).all(|it| it[0].x < it[1].x), "{}", panel.shows);
        }
        // Nothing is left over, so every residual lies on the line of zero.
        assert!(it.panels[1].dots.iter().all(|it| (it.y - 0.5).abs() < 0.01));
        assert_eq!(it.title, "Impedance of the woofer");
        let labels: Vec<&str> = it.x.ticks.iter().map(|it| it.label.as_str()).collect();
        assert_eq!(labels[..4], ["10 Hz", "20 Hz", "50 Hz", "100 Hz"]);
        assert_eq!(labels.last(), Some(&"20 kHz"));
    }

    #[test]
    fn the_fit_tells_the_parameters_of_the_model() {
        let told = Fitted::of(&driver()).unwrap().told();
        let shown =
            |sign: &str| told.parameters.iter().find(|it| it.sign == sign).unwrap().shown.clone();
        // Those from which the sweep was made.
        assert!(shown("fs").starts_with("42.5"), "{}", shown("fs"));
        assert!(shown("Qms").starts_with("4.2"), "{}", shown("Qms"));
        assert!(shown("Re").starts_with("5.6"), "{}", shown("Re"));
        assert_eq!(told.model, "one driver in free air");
    }

    #[test]
    fn without_a_fit_the_points_stand_alone_and_the_reason_is_given() {
        let mut sweep = driver();
        sweep.part = Part::first(Role::Whole);
        let why = Fitted::of(&sweep).unwrap_err();
        assert!(!why.is_empty());
        let it = chart(&sweep, None);
        assert!(it.panels.iter().all(|it| it.curve.is_empty() && it.shows != "residual"));
        assert!(it.description.ends_with("no curve could be fitted"));
    }

    #[test]
    fn steps_are_round() {
        assert_eq!(hertz(1250.0), "1.25 kHz");
        assert_eq!(hertz(25.0), "25 Hz");
        for (range, wanted) in [(48.0, 20.0), (8.4, 5.0), (0.9, 0.5), (100.0, 50.0)] {
            assert!((step(range, 4.0) - wanted).abs() < 1e-9, "{range}: {}", step(range, 4.0));
        }
    }
}
