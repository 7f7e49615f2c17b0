//! The ranks alone, for weights that are being moved: value, verdicts and robustness take ten times as long.

use standing::{acceptability::acceptability, gates, weighting::Weightings};

use crate::{
    BandRequest, Engine, Error,
    band::{interval_dto, numbers, whole},
    drawn::Fill,
    dto::{RankReport, RankedRow},
};

impl Engine {
    /// Who ranks where in a band, by the same draws as [`Engine::band`], best middle first.
    ///
    /// # Errors
    /// As [`Engine::band`].
    pub fn ranks(&self, request: &BandRequest) -> Result<RankReport, Error> {
        let question = self.question(request)?;
        let scored = self.scored()?;
        let field = question.plain_field(&scored)?;
        let draws = question.draws;
        let (drawn, _) = self.drawn_of(&scored, &field, draws.seed);
        let mut report = RankReport {
            rubric: scored.rubric.clone(),
            weights: field.shares.clone(),
            rows: Vec::new(),
        };
        // Fewer have no rank words.
        if field.ranked.len() < gates::MIN_RANK {
            return Ok(report);
        }
        // Only those inside the band are ranked; those around it say what a price buys.
        let filled = numbers::filled_of(&field, &field.ranked, &drawn, Fill::Even);
        let weights: Vec<f64> = field.weighed().iter().map(|(_, _, weight)| *weight).collect();
        let near = Weightings::around(&weights, draws.kappa, draws.draws, u64::from(draws.seed))
            .map_err(numbers::internal)?;
        let near = numbers::with_profiles(&filled, |profiles| {
            acceptability(profiles, &near, draws.threads).map_err(numbers::internal)
        })?;
        report.rows = field
            .ranked
            .iter()
            .enumerate()
            .map(|(at, member)| RankedRow {
                product: member.key().to_owned(),
                label: member.label(),
                index: interval_dto(&member.score),
                low: whole(near.rank_quantile(at, 0.05)),
                median: whole(near.rank_quantile(at, 0.5)),
                high: whole(near.rank_quantile(at, 0.95)),
                p_first: f64::from(near.first(at)) / near.draws() as f64,
            })
            .collect();
        Ok(report)
    }
}
