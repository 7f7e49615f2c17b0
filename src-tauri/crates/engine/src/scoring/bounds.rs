//! What missing findings leave open, by the plugin's own worst and best.
//!
//! A criterion that was not scored is worth at least the least and at most the most that its utility gives. Where all that
//! it lacks are choices or yes and no, the plugin is asked about each of their combinations, which may allow less; a missing
//! number takes the whole range of the utility, which a measure that rises or falls with that number reaches.

use std::collections::BTreeMap;

use bw_sdk::manifest::{InputKind, Manifest};
use host::Evaluation;
use standing::rank::Interval;

use super::Judge;
use crate::inputs::Cell;
use crate::plugins::{Plugins, Said};

/// More combinations than this are not asked about.
const COMBINATIONS: usize = 64;

/// The limits of the criteria that were not scored, by row and criterion.
#[derive(Debug, Default)]
pub(super) struct Bounds(BTreeMap<(usize, usize), Interval>, Vec<Interval>);

impl Bounds {
    /// What a criterion of a row can be worth.
    pub(super) fn within(&self, row: usize, criterion: usize) -> Interval {
        let whole = self.1.get(criterion).copied().unwrap_or(Interval::UNKNOWN);
        self.0.get(&(row, criterion)).copied().unwrap_or(whole)
    }
}

/// One criterion of one row, asked about in all combinations of what it lacks.
struct Asked {
    row: usize,
    criterion: usize,
    /// The rows of the second batch.
    from: usize,
    to: usize,
}

/// Finds the limits; a second batch goes to the plugin where there is something to ask.
pub(super) fn bounds(
    judge: &Judge,
    plugins: &Plugins,
    cells: &[Vec<Cell>],
    evaluation: &Evaluation,
) -> Result<Bounds, String> {
    let manifest = &judge.manifest;
    let whole = (0..manifest.criteria.len()).map(|it| judge.range(it)).collect();
    let mut columns: Vec<Vec<f64>> = vec![Vec::new(); manifest.inputs.len()];
    let mut asked = Vec::new();
    let mut n_rows = 0;
    for (row, cells) in cells.iter().enumerate().filter(|_| judge.is_independent()) {
        for criterion in 0..manifest.criteria.len() {
            if !evaluation.score(row, criterion).is_some_and(f64::is_nan) {
                continue;
            }
            let missing: Vec<usize> =
                judge.reads(criterion).filter(|&it| cells[it].number.is_nan()).collect();
            let Some(combinations) = combinations(manifest, &missing) else { continue };
            for combination in &combinations {
                for (at, column) in columns.iter_mut().enumerate() {
                    let place = missing.iter().position(|&it| it == at);
                    column.push(place.map_or(cells[at].number, |it| combination[it]));
                }
            }
            asked.push(Asked { row, criterion, from: n_rows, to: n_rows + combinations.len() });
            n_rows += combinations.len();
        }
    }
    if asked.is_empty() {
        return Ok(Bounds(BTreeMap::new(), whole));
    }
    let answer = judge.ask(plugins, Said::Dropped, columns.clone(), n_rows)?;
    let mut found = BTreeMap::new();
    for it in asked {
        let points = |at: usize| {
            let measure = answer.score(at, it.criterion).filter(|it| it.is_finite())?;
            Some(judge.points(it.criterion, measure, |input| columns[input][at]))
        };
        // A combination that gives no points, as where the question then makes no sense, leaves the whole range open.
        let all: Option<Vec<f64>> = (it.from..it.to).map(points).collect();
        let within = all.and_then(|all| {
            let low = all.iter().copied().fold(f64::INFINITY, f64::min);
            let high = all.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            Interval::new(low, high).ok()
        });
        if let Some(within) = within {
            found.insert((it.row, it.criterion), within);
        }
    }
    Ok(Bounds(found, whole))
}

/// All combinations of the values of some inputs; `None` without any, with a number among them, or with too many.
fn combinations(manifest: &Manifest, missing: &[usize]) -> Option<Vec<Vec<f64>>> {
    let mut all: Vec<Vec<f64>> = vec![Vec::new()];
    for &input in missing {
        let input = &manifest.inputs[input];
        let values = match input.kind {
            InputKind::Choice => input.choices.len(),
            InputKind::Bool => 2,
            InputKind::Number | InputKind::Count | InputKind::Curve => return None,
        };
        all = all
            .into_iter()
            .flat_map(|it| {
                (0..u32::try_from(values).unwrap_or(0)).map(move |value| {
                    let mut longer = it.clone();
                    longer.push(f64::from(value));
                    longer
                })
            })
            .collect();
        if all.len() > COMBINATIONS {
            return None;
        }
    }
    (!missing.is_empty()).then_some(all)
}
