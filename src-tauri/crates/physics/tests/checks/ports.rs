//! Ports: tuning, its inverses, end corrections and flares.

use std::f64::consts::FRAC_PI_2;

use physics::air::AIR20;
use physics::port::{Port, PortEnd, equivalent_radius_m, flare_length_m};

use crate::tolerance::{REL, near, within};

fn port(ends: [PortEnd; 2]) -> Port {
    Port { ends, ..Port::plain(0.025) }
}

#[test]
fn chk_3_8_port_lengths() {
    use PortEnd::{Flanged, Free};
    for (ends, want) in [
        ([Flanged, Free], 102.501625e-3),
        ([Flanged, Flanged], 97.2941255e-3),
        ([Free, Free], 107.709125e-3),
    ] {
        near(port(ends).length_for_m(0.024, 42.0, &AIR20).unwrap(), want, REL);
    }
    let pair = Port { count: 2, ..Port::plain(0.025) };
    near(pair.length_for_m(0.024, 42.0, &AIR20).unwrap(), 240.875751e-3, REL);
    let one = Port::plain(0.025);
    near(one.added_length_m().unwrap(), 1.4349 * 0.025, REL);
    let tuning = one.tuning(0.024, 0.150, &AIR20).unwrap();
    near(tuning.fb_hz, 36.2384126, REL);
    near(tuning.f_pipe_hz, 923.21, 1e-5);
    assert!(tuning.acts_as_mass);
    near(one.volume_for_m3(42.0, 0.120, &AIR20).unwrap(), 21.3057403e-3, REL);
}

#[test]
fn chk_3_9_flares() {
    near(flare_length_m(0.025, 0.0125).unwrap(), 10.4719429e-3, REL);
    let flared = Port { flares_m: [0.0125, 0.0125], ..Port::plain(0.025) };
    near(flared.added_length_m().unwrap(), 0.164858886 - 0.120, REL);
    let tuning = flared.tuning(0.024, 0.120, &AIR20).unwrap();
    near(tuning.l_eff_m, 164.858886e-3, REL);
    near(tuning.fb_hz, 38.4787145, REL);
    // As a plain tube of the same overall length it would seem to tune 4.5 % lower.
    near(Port::plain(0.025).tuning(0.024, 0.145, &AIR20).unwrap().fb_hz, 36.7358814, REL);
}

/// The closed form of the flare against the integral it stands for, by Simpson's rule over x =
/// R·sin θ.
#[test]
fn flare_closed_form_is_its_integral() {
    for (throat, fillet) in [(0.025, 0.0125), (0.01, 0.05), (0.04, 0.001)] {
        let integrand = |theta: f64| {
            let radius: f64 = throat + fillet - fillet * theta.cos();
            (throat / radius).powi(2) * fillet * theta.cos()
        };
        let steps = 2000;
        let h = FRAC_PI_2 / f64::from(steps);
        let sum: f64 = (0..=steps)
            .map(|k| {
                let weight = match k {
                    0 => 1.0,
                    k if k == steps => 1.0,
                    k if k % 2 == 1 => 4.0,
                    _ => 2.0,
                };
                weight * integrand(f64::from(k) * h)
            })
            .sum();
        near(flare_length_m(throat, fillet).unwrap(), sum * h / 3.0, 1e-10);
    }
    within(flare_length_m(0.025, 0.0).unwrap(), 0.0, 0.0);
}

/// The free end from first principles: (1/π)∫ ln[1/(2·I₁(x)·K₁(x))] dx/x² over 0 to ∞ (Levine and
/// Schwinger 1948). mpmath gives 0.612701; the authors print 0.6133, which is the value in use.
#[test]
fn chk_3_7_free_end_correction() {
    // I₁ and K₁ from their integral representations; I₁ scaled by e^(−x) and K₁ by e^x, whose
    // product is unchanged.
    fn i1_scaled(x: f64) -> f64 {
        let n = 400;
        let sum: f64 = (0..n)
            .map(|k| {
                let c = (std::f64::consts::PI * (f64::from(k) + 0.5) / f64::from(n)).cos();
                c * (x * (c - 1.0)).exp()
            })
            .sum();
        sum / f64::from(n)
    }
    fn k1_scaled(x: f64) -> f64 {
        let h = 0.005;
        (0..4000)
            .map(|k| {
                let t = (f64::from(k) + 0.5) * h;
                (-x * (t.cosh() - 1.0)).exp() * t.cosh() * h
            })
            .sum()
    }
    // In u = ln x from 1e-5 to 200. Beyond, 2·I₁·K₁ is 1/x to within 1e-5, which leaves (ln x +
    // 1)/x.
    let (low, high, n) = (1e-5_f64.ln(), 200_f64.ln(), 600);
    let h = (high - low) / f64::from(n);
    let sum: f64 = (0..n)
        .map(|k| {
            let x = (low + (f64::from(k) + 0.5) * h).exp();
            -(2.0 * i1_scaled(x) * k1_scaled(x)).ln() / x * h
        })
        .sum();
    let correction = (sum + (high + 1.0) / high.exp()) / std::f64::consts::PI;
    near(correction, 0.612701, 1e-4);
    near(PortEnd::Free.correction_radii(), correction, 1.5e-3);
}

#[test]
fn a_slot_counts_by_its_area() {
    near(equivalent_radius_m(std::f64::consts::PI * 0.025 * 0.025).unwrap(), 0.025, 1e-12);
}

#[test]
fn a_box_too_large_for_its_port_is_refused() {
    let message = Port::plain(0.025).length_for_m(0.5, 60.0, &AIR20).unwrap_err().to_string();
    assert!(message.contains("box is too large"), "{message}");
}
