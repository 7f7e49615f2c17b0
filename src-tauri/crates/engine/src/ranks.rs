//! The ranks alone, for weights that are being moved: value, verdicts and robustness take ten times as long.

use standing::{acceptability::acceptability, frontier::frontier, gates, weighting::Weightings};

use crate::{
    BandRequest, Engine, Error,
    band::{self, interval_dto, numbers, whole},
    drawn::Fill,
    dto::{RankReport, RankedRow, SpanDto},
};

impl Engine {
    /// Who ranks where in a band, by the same draws as [`Engine::band`], best middle first.
    ///
    /// # Errors
    /// As [`Engine::band`].
    pub fn ranks(&self, request: &BandRequest) -> Result<RankReport, Error> {
        let (question, scored) = self.asked(request)?;
        let field = question.plain_field(&scored)?;
        let draws = question.draws;
        let (drawn, _) = self.drawn_of_ranked(&scored, &field, draws.seed);
        let mut report = RankReport {
            rubric: scored.rubric.clone(),
            weights: field.shares.clone(),
            band: question.band_dto(),
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
        let (near, spreads) = numbers::with_profiles(&filled, |profiles| {
            let spreads: Vec<SpanDto> =
                profiles.iter().map(|it| numbers::spread(it, &weights).0).collect();
            let near = acceptability(profiles, &near, draws.threads).map_err(numbers::internal)?;
            Ok((near, spreads))
        })?;
        let share = near.draws() as f64;
        let groups = band::group_of(near.n(), |i, j| f64::from(near.wins(i, j)) / share);
        let unbeaten = frontier(&band::offers(&field.ranked)?).members;
        let equal = band::equal_ranks(&field)?;
        report.rows = field
            .ranked
            .iter()
            .enumerate()
            .map(|(at, member)| RankedRow {
                product: member.key().to_owned(),
                label: member.label(),
                index: interval_dto(&member.score),
                spread: spreads[at].clone(),
                group: groups[at],
                on_frontier: unbeaten.contains(&at),
                rank_equal_weights: whole(equal[at] as f64),
                low: whole(near.rank_quantile(at, 0.05)),
                median: whole(near.rank_quantile(at, 0.5)),
                high: whole(near.rank_quantile(at, 0.95)),
                p_first: f64::from(near.first(at)) / near.draws() as f64,
            })
            .collect();
        Ok(report)
    }
}
