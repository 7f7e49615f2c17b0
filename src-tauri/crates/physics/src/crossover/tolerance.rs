//! How far the tolerances of the parts move a crossover.

use std::collections::BTreeMap;

use super::{Meeting, Options, Survey, meeting, pairs};
use crate::air::Air;
use crate::error::{PhysicsError, Result, non_negative};
use crate::network::{Element, Network, Part};

/// A figure and how far tolerances move it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shifted {
    /// With the parts at their values.
    pub nominal: f64,
    /// Root sum square of the shifts that each part makes alone.
    pub shift: f64,
}

/// What tolerances do to a network.
#[derive(Debug, Clone, PartialEq)]
pub struct Shifts {
    /// Crossover frequency of each neighbouring pair that has one, Hz, from the lowest. A pair that
    /// loses its crossover at the end of a tolerance is absent.
    pub fx_hz: Vec<([&'static str; 2], Shifted)>,
    /// Lowest |Z|, ohm.
    pub z_min_ohm: Shifted,
    /// Highest peak above the passband level of any way, dB; none without a passband.
    pub ripple_db: Option<Shifted>,
}

/// The figures that shift.
struct Figures {
    meetings: Vec<([&'static str; 2], Option<Meeting>)>,
    z_min_ohm: f64,
    ripple_db: Option<f64>,
}

/// Shifts of the crossover frequencies, the lowest |Z| and the ripple when each part named in
/// `tolerances` (a fraction, ± 0.1 for ten percent) goes to either end alone. The larger of the two
/// shifts of a part counts, and parts add as root sum square.
///
/// # Errors
/// `Inconsistent` for a name that is no resistor, capacitor or inductor of the network; `OutOfDomain`
/// for a tolerance that is negative or 1 and more; otherwise as for [`super::crossover`].
pub fn shifts(
    network: &Network,
    tolerances: &BTreeMap<String, f64>,
    options: &Options,
    air: &Air,
) -> Result<Shifts> {
    options.check(network)?;
    for (name, &tolerance) in tolerances {
        let field = format!("{name}.tolerance");
        let known = |it: &Element| &it.name == name && !matches!(it.part, Part::Driver(_));
        if !network.elements().iter().any(known) {
            return Err(PhysicsError::inconsistent(field, "no R, L or C has this name"));
        }
        if non_negative(&field, tolerance)? >= 1.0 {
            return Err(PhysicsError::out_of_domain(field, format!("{tolerance} is not below 1")));
        }
    }
    let nominal = figures(network, options, air)?;
    let mut fx_squares = vec![Some(0.0); nominal.meetings.len()];
    let (mut z_min_square, mut ripple_square) = (0.0, 0.0);
    for (name, &tolerance) in tolerances {
        let mut fx = vec![Some(0.0f64); nominal.meetings.len()];
        let (mut z_min, mut ripple) = (0.0f64, 0.0f64);
        for factor in [1.0 - tolerance, 1.0 + tolerance] {
            let scaled =
                |it: &Element| if &it.name == name { it.part.scaled(factor) } else { it.part };
            let shifted = figures(&network.with_parts(scaled)?, options, air)?;
            z_min = z_min.max((shifted.z_min_ohm - nominal.z_min_ohm).abs());
            if let (Some(a), Some(b)) = (shifted.ripple_db, nominal.ripple_db) {
                ripple = ripple.max((a - b).abs());
            }
            let both = nominal.meetings.iter().zip(&shifted.meetings);
            for (fx, ((_, from), (_, to))) in fx.iter_mut().zip(both) {
                *fx = fx.zip(distance_hz(from.as_ref(), to.as_ref())).map(|(a, b)| a.max(b));
            }
        }
        z_min_square += z_min * z_min;
        ripple_square += ripple * ripple;
        for (sum, fx) in fx_squares.iter_mut().zip(fx) {
            *sum = sum.zip(fx).map(|(sum, fx)| sum + fx * fx);
        }
    }
    let fx_hz = nominal.meetings.iter().zip(fx_squares).filter_map(|((pair, meeting), square)| {
        let shifted = Shifted { nominal: meeting.as_ref()?.f_hz, shift: square?.sqrt() };
        Some((*pair, shifted))
    });
    Ok(Shifts {
        fx_hz: fx_hz.collect(),
        z_min_ohm: Shifted { nominal: nominal.z_min_ohm, shift: z_min_square.sqrt() },
        ripple_db: nominal
            .ripple_db
            .map(|nominal| Shifted { nominal, shift: ripple_square.sqrt() }),
    })
}

/// From the nominal crossover to the nearest of the shifted ones: where several are, the one that moved
/// is not always the highest.
fn distance_hz(from: Option<&Meeting>, to: Option<&Meeting>) -> Option<f64> {
    let from = from?.f_hz;
    to?.all_hz.iter().map(|it| (it - from).abs()).min_by(f64::total_cmp)
}

fn figures(network: &Network, options: &Options, air: &Air) -> Result<Figures> {
    let mut survey = Survey::new(network, air)?;
    let mut meetings = Vec::new();
    for pair in pairs(network) {
        meetings.push((pair, meeting(&mut survey, pair, options)?));
    }
    let mut ripple_db: Option<f64> = None;
    for (place, name) in network.drivers().enumerate() {
        if let Some(passband_hz) = options.passband_of(name) {
            let ripple = survey.ripple_db(place, passband_hz)?;
            ripple_db = Some(ripple_db.map_or(ripple, |worst| worst.max(ripple)));
        }
    }
    Ok(Figures { meetings, z_min_ohm: survey.minimum_impedance()?.z_ohm, ripple_db })
}
