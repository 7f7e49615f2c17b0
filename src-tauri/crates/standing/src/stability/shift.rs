//! The least move of weights that brings a rival level.

use super::{LEVEL_POINTS, Lead};
use crate::rank::quantise;

/// Weight that moves until a rival is level with the winner.
#[derive(Debug, Clone, PartialEq)]
pub struct Move {
    /// The weights it comes from, with the fraction that each gives; the one where the winner leads most comes first.
    pub from: Vec<(usize, f64)>,
    /// The weight it goes to: where the rival does best against the winner.
    pub to: usize,
    /// The whole fraction that moves: half the sum of the absolute changes.
    pub total: f64,
}

/// The least weight to move, or `None` when no weights bring the rival level.
///
/// A unit moved from k to the subsystem t with the smallest `d` takes `d_k - d_t` off the lead, so the largest `d_k`
/// give first, each no more than its weight; no move of as much weight takes off more.
pub(super) fn smallest(lead: &Lead, weights: &[f64]) -> Option<Move> {
    let by = &lead.by;
    let to = (0..by.len()).min_by(|a, b| by[*a].total_cmp(&by[*b]))?;
    // All weight there, and the rival is still behind.
    if quantise(by[to]) > 0 {
        return None;
    }
    let mut givers: Vec<usize> = (0..by.len()).filter(|k| by[*k] > by[to]).collect();
    // Stable, so that the earliest of equals gives first.
    givers.sort_by(|a, b| by[*b].total_cmp(&by[*a]));
    let mut found = Move { from: Vec::new(), to, total: 0.0 };
    let mut need = lead.total;
    for k in givers {
        if need <= 0.0 {
            break;
        }
        let gain = by[k] - by[to];
        let enough = need / gain;
        let part = enough.min(weights[k]);
        if part > 0.0 {
            found.from.push((k, part));
            found.total += part;
            need = if part < enough { need - part * gain } else { 0.0 };
        }
    }
    Some(found)
}

/// The length of the shortest move, or `None` when there is none or it leaves a weight below 0.
#[expect(clippy::cast_precision_loss, reason = "a number of weights is small")]
pub(super) fn shortest(lead: &Lead, weights: &[f64]) -> Option<f64> {
    if lead.total <= 0.0 {
        return Some(0.0);
    }
    let mean = lead.by.iter().sum::<f64>() / lead.by.len() as f64;
    let square: f64 = lead.by.iter().map(|d| (d - mean).powi(2)).sum();
    if square <= LEVEL_POINTS * LEVEL_POINTS {
        return None;
    }
    let inside =
        lead.by.iter().zip(weights).all(|(d, w)| w - lead.total * (d - mean) / square >= 0.0);
    inside.then(|| lead.total / square.sqrt())
}
