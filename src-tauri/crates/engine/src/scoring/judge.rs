//! A plugin with the manifest as the catalogue has it: asks about rows, and says what the answers are worth.

use std::collections::BTreeSet;

use bw_sdk::manifest::{BatchKind, InputKind, Manifest};
use host::{Evaluate, Evaluation, Input, Loaded};
use standing::{index::Score, rank::Interval};

use super::{ScoredCriterion, points::Points};
use crate::inputs::Cell;
use crate::plugins::{Plugins, Said};

/// A plugin that scores one subsystem.
#[derive(Debug)]
pub(crate) struct Judge {
    pub(crate) loaded: Loaded,
    pub(crate) manifest: Manifest,
    /// Its subsystem among those of the results.
    pub(crate) place: usize,
    points: Vec<Points>,
}

impl Judge {
    pub(super) fn new(loaded: Loaded, manifest: Manifest) -> Self {
        let points = manifest.criteria.iter().map(|it| Points::of(&manifest, it)).collect();
        Judge { loaded, manifest, place: 0, points }
    }

    /// Whether a row's scores depend on no other row, so that rows may be made up.
    pub(crate) fn is_independent(&self) -> bool {
        self.manifest.batch == BatchKind::Independent
    }

    /// Asks about rows; one column an input, in the order of the manifest. No finding is a curve over a shared grid, so a
    /// plugin that wants one is told that it is missing.
    pub(crate) fn ask(
        &self,
        plugins: &Plugins,
        said: Said,
        columns: Vec<Vec<f64>>,
        n_rows: usize,
    ) -> Result<Evaluation, String> {
        let inputs = self
            .manifest
            .inputs
            .iter()
            .zip(columns)
            .map(|(input, column)| match input.kind {
                InputKind::Curve => Input::Curve { grid: Vec::new(), values: Vec::new() },
                _ => Input::Scalar(column),
            })
            .collect();
        let request = Evaluate { params: self.manifest.default_params(), n_rows, inputs };
        plugins.ask(&self.loaded, request, said)
    }

    /// The points of a measure, given the row's inputs.
    pub(crate) fn points(&self, criterion: usize, measure: f64, row: impl Fn(usize) -> f64) -> f64 {
        self.points[criterion].at(measure, |input| Some(row(input)))
    }

    /// The worst and the best that a criterion can be worth.
    pub(super) fn range(&self, criterion: usize) -> Interval {
        self.points[criterion].range()
    }

    /// The places of the inputs that a criterion reads.
    pub(crate) fn reads(&self, criterion: usize) -> impl Iterator<Item = usize> {
        let ids = self.manifest.criteria[criterion].inputs.iter();
        ids.filter_map(|id| self.manifest.input_index(id))
    }

    /// What a measure makes of a criterion.
    pub(super) fn criterion(
        &self,
        place: usize,
        cells: &[Cell],
        measure: f64,
        within: Interval,
    ) -> ScoredCriterion {
        let of = &self.manifest.criteria[place];
        let read: Vec<&Cell> = self.reads(place).filter_map(|at| cells.get(at)).collect();
        let applies = measure > f64::NEG_INFINITY || measure.is_nan();
        let score = if !applies {
            Score::NotApplicable
        } else if measure.is_nan() {
            Score::Missing { within }
        } else {
            let value =
                self.points(place, measure, |it| cells.get(it).map_or(f64::NAN, |it| it.number));
            let hard =
                read.iter().all(|it| it.evidence.is_none_or(domain::evidence::Evidence::is_hard));
            Score::Known { value, hard }
        };
        let missing: BTreeSet<String> = match score {
            Score::Missing { .. } => {
                read.iter().flat_map(|it| it.missing.iter().cloned()).collect()
            }
            _ => BTreeSet::new(),
        };
        ScoredCriterion {
            id: of.id.clone(),
            title: of.title.clone(),
            weight: of.weight,
            unit: of.unit.clone(),
            source: of.source.clone(),
            measure: (measure.is_finite() && !of.is_choice()).then_some(measure),
            score,
            missing: missing.into_iter().collect(),
        }
    }
}
