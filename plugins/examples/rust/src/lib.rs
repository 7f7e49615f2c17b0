//! Scores how flat a response is: the standard deviation of its level, in dB. A whole plugin.

use bw_sdk::{Row, RowScorer, RowSink, export_plugins};

#[derive(Debug)]
struct Flatness {
    limit_db: f64,
}

impl RowScorer for Flatness {
    const MANIFEST: &'static str = include_str!("../manifest.json");

    fn new(params: &[f64]) -> Result<Self, String> {
        let [limit_db] = bw_sdk::params(params)?;
        Ok(Flatness { limit_db })
    }

    fn row(&self, row: &Row<'_>, out: &mut RowSink<'_, '_>) {
        let Some((_, level_db)) = row.curve(0) else { return }; // Stays unscored.
        let n = level_db.len() as f64;
        let mean_db = level_db.iter().sum::<f64>() / n;
        let deviation_db =
            (level_db.iter().map(|it| (it - mean_db).powi(2)).sum::<f64>() / n).sqrt();
        out.score(0, deviation_db);
        if self.limit_db < deviation_db {
            out.remark(0, &[deviation_db, self.limit_db]);
        }
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
