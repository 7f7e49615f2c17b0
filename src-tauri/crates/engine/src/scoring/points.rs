//! What a measure is worth: the points of a criterion's manifest, 0 to 100.

use bw_sdk::manifest::{Bonus, Criterion, Manifest, Utility};
use standing::{
    rank::Interval,
    utility::{self, Scale},
};

/// A criterion's way from measure to points.
#[derive(Debug)]
pub(super) struct Points {
    scale: Map,
    bonus: Option<(f64, Vec<Option<usize>>)>,
}

#[derive(Debug)]
enum Map {
    /// The measure already is a utility.
    Own,
    Curve(utility::Utility),
    /// By index of the choice.
    Table(Vec<f64>),
}

impl Points {
    /// The manifest was checked on the way in: rising points, all words of a choice, everything inside 0..100.
    pub(super) fn of(manifest: &Manifest, of: &Criterion) -> Self {
        let curve = |scale, points: &[[f64; 2]]| {
            let points = points.iter().map(|[x, u]| (*x, *u)).collect();
            utility::Utility::new(scale, points).map_or(Map::Own, Map::Curve)
        };
        let scale = match &of.utility {
            None => Map::Own,
            Some(Utility::Linear { points }) => curve(Scale::Linear, points),
            Some(Utility::Log { points }) => curve(Scale::Log, points),
            Some(Utility::Choice { points, .. }) => {
                let words = manifest.words(of).unwrap_or_default().iter();
                Map::Table(words.map(|it| points.get(it).copied().unwrap_or(f64::NAN)).collect())
            }
        };
        let bonus = of.bonus.as_ref().map(|Bonus { points, inputs }| {
            (*points, inputs.iter().map(|id| manifest.input_index(id)).collect())
        });
        Points { scale, bonus }
    }

    /// The points of a measure that the host let through, given the plugin's inputs by their place.
    pub(super) fn at(&self, measure: f64, input: impl Fn(usize) -> Option<f64>) -> f64 {
        let points = match &self.scale {
            Map::Own => measure,
            Map::Curve(it) => it.at(measure),
            Map::Table(it) => {
                let mut places = (0_u32..).zip(it);
                let found = places.find(|(place, _)| (f64::from(*place) - measure).abs() < 0.5);
                found.map_or(f64::NAN, |(_, points)| *points)
            }
        };
        let extra = self.bonus.as_ref().map_or(0.0, |(points, inputs)| {
            let is_above = |it: &Option<usize>| it.and_then(&input).is_some_and(|it| it > 0.0);
            if inputs.iter().all(is_above) { *points } else { 0.0 }
        });
        (points + extra).clamp(0.0, 100.0)
    }
}

impl Points {
    /// The worst and the best that any measure is worth.
    pub(super) fn range(&self) -> Interval {
        let ends = |points: &mut dyn Iterator<Item = f64>| {
            points.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), it| {
                (low.min(it), high.max(it))
            })
        };
        let (low, high) = match &self.scale {
            Map::Own => (0.0, 100.0),
            Map::Curve(it) => ends(&mut it.points().iter().map(|(_, points)| *points)),
            Map::Table(it) => ends(&mut it.iter().copied()),
        };
        let extra = self.bonus.as_ref().map_or(0.0, |(points, _)| *points);
        Interval::new(low, (high + extra).min(100.0)).unwrap_or(Interval::UNKNOWN)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn manifest() -> Manifest {
        Manifest::parse(
            r#"{
            "abi": {"major": 1, "minor": 0}, "id": "org.example.port", "subsystem": "port", "version": "1.0.0",
            "name": "Port", "vendor": "Example", "licence": "MIT", "rubric": "port 1",
            "inputs": [{"id": "v", "kind": "number", "unit": "m/s"}, {"id": "in", "kind": "number", "unit": "m"},
                       {"id": "out", "kind": "number", "unit": "m"},
                       {"id": "wall", "kind": "choice", "choices": ["bare", "lined", "sheet"]}],
            "criteria": [
                {"id": "velocity", "title": "Velocity", "unit": "m/s", "better": "lower", "range": [0, null],
                 "weight": 1, "inputs": ["v", "in", "out"], "doc": "d", "source": "editorial",
                 "utility": {"scale": "linear", "points": [[10, 100], [17, 70], [25, 40]]},
                 "bonus": {"points": 10, "inputs": ["in", "out"]}},
                {"id": "wall", "title": "Wall", "unit": "1", "better": "higher", "range": [0, 2], "weight": 1,
                 "inputs": ["wall"], "doc": "d", "source": "editorial",
                 "utility": {"scale": "choice", "points": {"sheet": 100, "lined": 60, "bare": 30}}},
                {"id": "own", "title": "Own", "unit": "1", "better": "higher", "range": [0, 100], "weight": 1,
                 "inputs": ["v"], "doc": "d", "source": "editorial"}],
            "batch": "independent", "deterministic": true}"#,
        )
        .unwrap()
    }

    fn at(criterion: usize, measure: f64, inputs: [f64; 3]) -> f64 {
        let manifest = manifest();
        let points = Points::of(&manifest, &manifest.criteria[criterion]);
        points.at(measure, |it| inputs.get(it).copied())
    }

    #[test]
    fn choices_are_looked_up_by_their_word_not_by_the_order_of_the_table() {
        for (measure, points) in [(0.0, 30.0), (1.0, 60.0), (2.0, 100.0)] {
            assert!((at(1, measure, [0.0; 3]) - points).abs() < 1e-12, "{measure}");
        }
    }

    #[test]
    fn a_bonus_wants_all_its_inputs_above_zero_and_ends_at_100() {
        for (measure, inputs, points) in [
            (25.0, [25.0, 0.01, 0.01], 50.0),
            (25.0, [25.0, 0.01, 0.0], 40.0),
            (25.0, [25.0, f64::NAN, 0.01], 40.0),
            (11.0, [11.0, 0.01, 0.01], 100.0),
        ] {
            let found = at(0, measure, inputs);
            assert!((found - points).abs() < 1e-9, "{measure} {inputs:?}: {found}");
        }
    }

    #[test]
    fn the_range_is_the_least_and_the_most_that_can_be_had() {
        let manifest = manifest();
        for (criterion, low, high) in [(0, 40.0, 100.0), (1, 30.0, 100.0), (2, 0.0, 100.0)] {
            let range = Points::of(&manifest, &manifest.criteria[criterion]).range();
            assert_eq!((range.low(), range.high()), (low, high), "{criterion}");
        }
    }

    #[test]
    fn a_measure_without_a_utility_is_its_points() {
        assert!((at(2, 62.5, [0.0; 3]) - 62.5).abs() < 1e-12);
    }
}
