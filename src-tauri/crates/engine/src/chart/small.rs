//! The rank strip and the small plots of subsystems.

use super::{Scale, axis, band_text, label};
use crate::{
    band::percent,
    dto::{BandReport, Panel, PanelMark, RankCell, RankRow, RankStrip, Standing},
};

/// More ranks than this are shown as the last one and all below.
const RANKS: usize = 12;
/// A share below this has no label.
const LEAST_LABEL: f64 = 0.0005;

/// The share of draws at each rank.
pub(crate) fn rank_strip(report: &BandReport) -> RankStrip {
    let n = report.standings.len();
    let shown = n.min(RANKS);
    let mut ranks: Vec<String> = (1..=shown).map(|it| it.to_string()).collect();
    if n > shown
        && let Some(last) = ranks.last_mut()
    {
        *last = format!("{shown} and below");
    }
    let rows = report.standings.iter().map(|it| row(it, shown)).collect();
    RankStrip {
        title: format!("How often at which rank, in the band {}", band_text(&report.band)),
        description: format!(
            "{n} products down, ranks across; each cell is the share of {} draws of weights and findings",
            report.draws
        ),
        ranks,
        rows,
    }
}

fn row(it: &Standing, shown: usize) -> RankRow {
    let cells: Vec<RankCell> = (0..shown)
        .map(|at| {
            let below = at + 1 == shown;
            let share: f64 = match it.acceptability.get(at..) {
                Some(rest) if below => rest.iter().sum(),
                Some([share, ..]) => *share,
                _ => 0.0,
            };
            let label = if share < LEAST_LABEL {
                String::new()
            } else {
                percent(share).trim_end_matches(" %").to_owned()
            };
            RankCell { rank: u32::try_from(at + 1).unwrap_or(u32::MAX), share, label }
        })
        .collect();
    let best = it
        .acceptability
        .iter()
        .enumerate()
        .max_by(|a, b| a.1.total_cmp(b.1).then_with(|| b.0.cmp(&a.0)))
        .map(|(at, share)| format!(", most often rank {} ({})", at + 1, percent(*share)))
        .unwrap_or_default();
    let sentence = format!(
        "{}: first in {} of the draws near these weights, in {} of all weights{best}",
        label(it),
        percent(it.p_first),
        percent(it.p_first_any)
    );
    RankRow { product: it.product.clone(), label: label(it), cells, sentence }
}

/// One small plot a subsystem that counts, the weightiest first.
pub(crate) fn multiples(report: &BandReport) -> Vec<Panel> {
    let scale = Scale { low: 0.0, high: 100.0, log: false };
    let mut weighed: Vec<(&String, f64)> = report
        .weights
        .iter()
        .filter(|(_, share)| **share > 0.0)
        .map(|(name, share)| (name, *share))
        .collect();
    weighed.sort_by(|a, b| b.1.total_cmp(&a.1).then_with(|| a.0.cmp(b.0)));
    weighed
        .into_iter()
        .map(|(name, share)| Panel {
            subsystem: name.clone(),
            title: format!("{name}, {:.0} %", share * 100.0),
            description: format!(
                "points of {name}, 0 to 100, of each product in the order of the standings; lines span what missing findings leave open"
            ),
            x: axis("points".into(), &scale, &[0.0, 50.0, 100.0], false),
            marks: report.standings.iter().map(|it| mark(it, name, &scale)).collect(),
        })
        .collect()
}

fn mark(it: &Standing, name: &str, scale: &Scale) -> PanelMark {
    let score = it.subsystems.get(name);
    let said = match score {
        None => "does not apply".to_owned(),
        Some(it) => match it.value {
            Some(value) => format!("{value:.0} points"),
            None => format!("{:.0} to {:.0} points", it.low, it.high),
        },
    };
    PanelMark {
        product: it.product.clone(),
        value: score.and_then(|it| it.value).map(|it| scale.at(it)),
        low: score.map(|it| scale.at(it.low)),
        high: score.map(|it| scale.at(it.high)),
        sentence: format!("{}, {name}: {said}", label(it)),
    }
}
