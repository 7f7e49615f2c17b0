//! Scores how flat a response is: the standard deviation of its level, in dB. A whole plugin.

use bw_sdk::{Batch, Scorer, Sink, export_plugins};

#[derive(Debug)]
struct Flatness {
    limit_db: f64,
}

impl Scorer for Flatness {
    const MANIFEST: &'static str = include_str!("../manifest.json");

    fn new(params: &[f64]) -> Result<Self, String> {
        match params {
            &[limit_db] => Ok(Flatness { limit_db }),
            _ => Err(format!("wants 1 parameter, got {}", params.len())),
        }
    }

    fn evaluate(&mut self, batch: &Batch<'_>, sink: &mut Sink<'_>) -> Result<(), String> {
        for row in 0..batch.n_rows {
            let level_db = batch.inputs[0].row(row);
            if batch.inputs[0].grid.is_empty() || level_db.iter().any(|it| it.is_nan()) {
                continue; // Stays unscored.
            }
            let n = level_db.len() as f64;
            let mean_db = level_db.iter().sum::<f64>() / n;
            let deviation_db =
                (level_db.iter().map(|it| (it - mean_db).powi(2)).sum::<f64>() / n).sqrt();
            sink.score(row, 0, deviation_db);
            if self.limit_db < deviation_db {
                sink.remark(row, 0, &[deviation_db, self.limit_db]);
            }
        }
        Ok(())
    }
}

export_plugins!(Flatness);

#[cfg(test)]
mod tests {
    use bw_sdk::testing::{Curve, run_with_curves};

    use super::Flatness;

    /// Two levels 8 dB apart, equally often, deviate by 4 dB: from the definition of the standard deviation.
    #[test]
    fn deviation_follows_its_definition() {
        let (grid, steps, missing) =
            ([100.0, 200.0, 400.0, 800.0], [80.0, 88.0, 80.0, 88.0], [80.0, f64::NAN, 80.0, 80.0]);
        let curve = Curve { input: "response", grid: &grid, rows: &[&steps, &missing] };
        let outcome = run_with_curves::<Flatness>(&[3.0], &[&[], &[]], &[curve]).unwrap();
        assert!((outcome.score(0, "deviation") - 4.0).abs() < 1e-12);
        assert_eq!(outcome.remarks[0].text, "the level deviates by 4.0 dB, more than 3.0 dB");
        assert!(outcome.score(1, "deviation").is_nan());
    }
}
