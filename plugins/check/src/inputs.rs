//! Rows to score, made from the manifest alone. The same manifest gives the same rows, so that a report can be repeated.

use bw_sdk::manifest::{Input as Declared, InputKind, Manifest};
use host::{Evaluate, Input};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

/// Points of the grid of a curve.
const N_POINTS: usize = 32;
/// Highest count.
const MAX_COUNT: usize = 6;
/// A number among this many is 0, where that is plausible.
const ZERO_IN: usize = 16;

/// What the numbers of the rows are like.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Like {
    /// As on a bench, all given.
    Plausible,
    /// As on a bench, each missing with a chance of one in eight.
    Patchy,
    /// All missing.
    Missing,
    /// Infinite numbers of both signs among plausible ones.
    Infinite,
    /// Numbers just above 0, and both zeros.
    Denormal,
    /// Numbers near the greatest, with room for a change of unit.
    Huge,
    /// Numbers below 0, as large as plausible ones.
    Negative,
}

/// A batch with the default parameters.
pub(crate) fn batch(manifest: &Manifest, like: Like, n_rows: usize) -> Evaluate {
    let inputs = manifest.inputs.iter().enumerate();
    let inputs = inputs.map(|(i, it)| input(manifest, it, i, like, n_rows)).collect();
    Evaluate { params: manifest.default_params(), n_rows, inputs }
}

/// Some rows of a batch, in the order given.
pub(crate) fn pick(batch: &Evaluate, rows: &[usize]) -> Evaluate {
    let inputs = batch.inputs.iter().map(|it| match it {
        Input::Scalar(values) => Input::Scalar(rows.iter().map(|&row| values[row]).collect()),
        Input::Curve { grid, values } => {
            let n = grid.len();
            let values = rows.iter().flat_map(|&row| values[row * n..(row + 1) * n].to_vec());
            Input::Curve { grid: grid.clone(), values: values.collect() }
        }
    });
    Evaluate { params: batch.params.clone(), n_rows: rows.len(), inputs: inputs.collect() }
}

/// Makes all inputs of a row missing.
pub(crate) fn blank(batch: &mut Evaluate, row: usize) {
    for it in &mut batch.inputs {
        match it {
            Input::Scalar(values) => values[row] = f64::NAN,
            Input::Curve { grid, values } => {
                values[row * grid.len()..(row + 1) * grid.len()].fill(f64::NAN);
            }
        }
    }
}

fn input(manifest: &Manifest, it: &Declared, place: usize, like: Like, n_rows: usize) -> Input {
    let mut draw = Draw(ChaCha8Rng::seed_from_u64(place as u64));
    if it.kind != InputKind::Curve {
        let values = (0..n_rows).map(|row| scalar(manifest, it, like, row, &mut draw));
        return Input::Scalar(values.collect());
    }
    let grid = grid(it.x_unit.as_deref().unwrap_or("1"));
    let mut values = Vec::with_capacity(n_rows * grid.len());
    for row in 0..n_rows {
        let level = scalar(manifest, it, like, row, &mut draw);
        // A curve that rises or falls by up to a half around its level.
        let slope = draw.unit() - 0.5;
        values.extend((0..N_POINTS).map(|i| level * (1.0 + slope * i as f64 / N_POINTS as f64)));
    }
    Input::Curve { grid, values }
}

fn scalar(manifest: &Manifest, it: &Declared, like: Like, row: usize, draw: &mut Draw) -> f64 {
    let plausible = plausible(manifest, it, draw);
    let coin = draw.below(8);
    let is_number = matches!(it.kind, InputKind::Number | InputKind::Curve);
    // Indices, counts and flags have no extremes: the app never sends others than those declared.
    match like {
        Like::Missing => f64::NAN,
        Like::Patchy if coin == 0 => f64::NAN,
        Like::Infinite if is_number => match (row + coin) % 4 {
            0 => plausible,
            1 => f64::NEG_INFINITY,
            _ => f64::INFINITY,
        },
        Like::Denormal if is_number => {
            let smallest = f64::from_bits(1);
            [smallest, f64::MIN_POSITIVE / 2.0, 0.0, -0.0][coin % 4]
        }
        Like::Huge if is_number => [1e300, 1e100, 1e30][coin % 3],
        Like::Negative if is_number => -plausible,
        _ => plausible,
    }
}

fn plausible(manifest: &Manifest, it: &Declared, draw: &mut Draw) -> f64 {
    match it.kind {
        InputKind::Choice => draw.below(it.choices.len()) as f64,
        InputKind::Count => draw.below(MAX_COUNT + 1) as f64,
        InputKind::Bool => draw.below(2) as f64,
        InputKind::Number | InputKind::Curve => {
            let own = manifest.findings.iter().find(|own| own.key == it.id);
            let (low, high) = match own.and_then(|it| it.typical) {
                Some([low, high]) => (low, high),
                None => span(&it.unit),
            };
            let zero = draw.below(ZERO_IN) == 0 && it.kind == InputKind::Number && low <= 0.0;
            let at = draw.unit();
            match zero {
                true => 0.0,
                false if 0.0 < low => low * (high / low).powf(at),
                false => low + (high - low) * at,
            }
        }
    }
}

/// What a number of a unit may be in and on a loudspeaker: common practice, no source. It need not be exact, since a
/// plugin must take any number.
fn span(unit: &str) -> (f64, f64) {
    match unit {
        "m" => (5e-4, 1.5),
        "mm" => (0.5, 1500.0),
        "m²" => (1e-6, 0.5),
        "m³" => (1e-4, 0.2),
        "kg" => (1e-3, 40.0),
        "ohm" => (0.05, 50.0),
        "H" => (1e-5, 2e-2),
        "F" => (1e-7, 5e-4),
        "Hz" => (20.0, 20_000.0),
        "m/N" => (1e-5, 5e-3),
        "kg/s" => (0.1, 10.0),
        "T·m" => (1.0, 25.0),
        "dB" => (0.0, 110.0),
        "V" => (0.1, 100.0),
        "W" => (0.1, 500.0),
        "m/s" => (0.1, 60.0),
        "s" => (1e-5, 1.0),
        _ => (0.0, 2.0),
    }
}

fn grid(unit: &str) -> Vec<f64> {
    let (low, high) = span(unit);
    let part = |i: usize| i as f64 / (N_POINTS - 1) as f64;
    match 0.0 < low {
        true => (0..N_POINTS).map(|i| low * (high / low).powf(part(i))).collect(),
        false => (0..N_POINTS).map(|i| low + (high - low) * part(i)).collect(),
    }
}

/// Random numbers that do not change with the version of a library.
struct Draw(ChaCha8Rng);

impl Draw {
    /// From 0 up to but not including 1.
    fn unit(&mut self) -> f64 {
        f64::from(self.0.next_u32()) / (f64::from(u32::MAX) + 1.0)
    }

    /// A whole number below `n`, 0 when there is none.
    fn below(&mut self, n: usize) -> usize {
        let wide = u128::from(self.0.next_u64()) * n as u128;
        usize::try_from(wide >> 64).unwrap_or_default()
    }
}

#[cfg(test)]
mod tests {
    use bw_sdk::manifest::Manifest;
    use host::Input;

    use super::{Like, batch, blank, pick};

    fn manifest() -> Manifest {
        let json = include_str!("../../examples/rust/manifest.json");
        Manifest::parse(json).unwrap()
    }

    fn bits(batch: &host::Evaluate) -> Vec<u64> {
        let values = batch.inputs.iter().flat_map(|it| match it {
            Input::Scalar(values) | Input::Curve { values, .. } => values.clone(),
        });
        values.map(f64::to_bits).collect()
    }

    #[test]
    fn the_same_manifest_gives_the_same_rows() {
        for like in [Like::Plausible, Like::Patchy, Like::Infinite] {
            let one = batch(&manifest(), like, 50);
            assert_eq!(bits(&one), bits(&batch(&manifest(), like, 50)));
            // The first rows of a longer batch are those of a shorter one.
            let rows: Vec<usize> = (0..50).collect();
            assert_eq!(bits(&one), bits(&pick(&batch(&manifest(), like, 80), &rows)));
        }
    }

    #[test]
    fn typical_values_of_own_findings_are_kept() {
        let manifest = manifest();
        let rows = batch(&manifest, Like::Plausible, 500);
        for (declared, given) in manifest.inputs.iter().zip(&rows.inputs) {
            let own = manifest.findings.iter().find(|it| it.key == declared.id);
            let (Some([low, high]), Input::Scalar(values)) = (own.and_then(|it| it.typical), given)
            else {
                continue;
            };
            assert!(values.iter().all(|it| (low..=high).contains(it)), "{}", declared.id);
        }
    }

    #[test]
    fn a_row_can_be_made_missing() {
        let mut rows = batch(&manifest(), Like::Plausible, 3);
        blank(&mut rows, 1);
        let Input::Scalar(values) = &rows.inputs[0] else { panic!("a scalar") };
        assert_eq!(values.iter().map(|it| it.is_nan()).collect::<Vec<_>>(), [false, true, false]);
    }
}
