//! What the plugins read of one product, draw by draw.

use std::borrow::Cow;

use bw_sdk::manifest::Input;
use domain::evidence::Evidence;
use physics::{
    air::AIR20,
    quantity::{Law, Responses, responses},
    spread::Spreads,
};

use super::FINDING_DRAWS;
use crate::{
    inputs::{cell, number},
    scoring::{Judge, ScoredProduct},
};

/// One input of one plugin.
#[derive(Debug)]
enum Column {
    Same(f64),
    Drawn(Vec<f64>),
}

/// A source that moves something a plugin reads.
#[derive(Debug)]
pub(super) struct Mover {
    pub(super) source: String,
    pub(super) evidence: Option<Evidence>,
    /// Its draws: deviates of mean 0 and variance 1, or the number of the alternative.
    z: Vec<f64>,
    is_slip: bool,
}

impl Mover {
    #[cfg(test)]
    pub(super) fn of(source: &str, evidence: Option<Evidence>, z: Vec<f64>) -> Self {
        Mover { source: source.to_owned(), evidence, z, is_slip: false }
    }

    /// Its draws with mean 0 and variance 1; for a category whether it is another one.
    pub(super) fn standardised(&self) -> Cow<'_, [f64]> {
        if !self.is_slip {
            return Cow::Borrowed(&self.z);
        }
        let is_other = |it: &f64| f64::from(u8::from(*it > 0.5));
        let n = self.z.len() as f64;
        let mean = self.z.iter().map(is_other).sum::<f64>() / n;
        let sd = (self.z.iter().map(|it| (is_other(it) - mean).powi(2)).sum::<f64>() / n).sqrt();
        Cow::Owned(if sd > 0.0 {
            self.z.iter().map(|it| (is_other(it) - mean) / sd).collect()
        } else {
            vec![0.0; self.z.len()]
        })
    }
}

/// The inputs of all plugins for one product.
#[derive(Debug)]
pub(super) struct Columns {
    /// By plugin, then by input.
    by_judge: Vec<Vec<Column>>,
    movers: Vec<Mover>,
}

impl Columns {
    pub(super) fn of(
        product: &ScoredProduct,
        judges: &[&Judge],
        spreads: &Spreads,
        seed: u64,
    ) -> Self {
        let key = product.dossier.product.key.as_str();
        let is_read = |id: &str| judges.iter().any(|it| it.manifest.input_index(id).is_some());
        let responses = responses(&product.dossier, &AIR20, &product.fits, spreads, is_read);
        let mut z: Vec<Option<Vec<f64>>> = vec![None; responses.sources().len()];
        for judge in judges {
            for input in &judge.manifest.inputs {
                for &source in responses.sources_of(&input.id) {
                    if z[source].is_none() {
                        z[source] =
                            Some(responses.standard_draws(source, seed, key, FINDING_DRAWS));
                    }
                }
            }
        }
        let by_judge = judges
            .iter()
            .map(|judge| {
                judge
                    .manifest
                    .inputs
                    .iter()
                    .map(|input| column(input, product, &responses, &z))
                    .collect()
            })
            .collect();
        let movers = responses
            .sources()
            .iter()
            .zip(z)
            .filter_map(|(source, z)| {
                Some(Mover {
                    source: source.id.clone(),
                    evidence: source.evidence,
                    z: z?,
                    is_slip: matches!(source.law, Law::Slip(_)),
                })
            })
            .collect();
        Columns { by_judge, movers }
    }

    /// Whether anything that a plugin reads moves.
    pub(super) fn moves(&self, judge: usize) -> bool {
        self.by_judge[judge].iter().any(|it| matches!(it, Column::Drawn(_)))
    }

    pub(super) fn is_drawn(&self, judge: usize, input: usize) -> bool {
        matches!(self.by_judge[judge].get(input), Some(Column::Drawn(_)))
    }

    /// Appends all draws of an input.
    pub(super) fn extend(&self, judge: usize, input: usize, to: &mut Vec<f64>) {
        match &self.by_judge[judge][input] {
            Column::Same(it) => to.extend(std::iter::repeat_n(*it, FINDING_DRAWS)),
            Column::Drawn(list) => to.extend_from_slice(list),
        }
    }

    /// One draw of an input.
    pub(super) fn number(&self, judge: usize, input: usize, draw: usize) -> f64 {
        match &self.by_judge[judge][input] {
            Column::Same(it) => *it,
            Column::Drawn(list) => list[draw],
        }
    }

    pub(super) fn movers(&self) -> &[Mover] {
        &self.movers
    }
}

fn column(
    input: &Input,
    product: &ScoredProduct,
    responses: &Responses<'_>,
    z: &[Option<Vec<f64>>],
) -> Column {
    let nominal = cell(input, &product.dossier, &product.known).number;
    if nominal.is_nan() {
        return Column::Same(nominal);
    }
    if let Some((source, values)) = responses.alternatives(&input.id)
        && let Some(z) = &z[source]
    {
        // A neighbour that the plugin has no word for leaves the number as it is.
        let numbers: Vec<f64> =
            values.iter().map(|it| number(input, it).unwrap_or(nominal)).collect();
        let at = |it: &f64| {
            let place = numbers.iter().enumerate().find(|(at, _)| (*at as f64 - it).abs() < 0.5);
            place.map_or(nominal, |(_, number)| *number)
        };
        return Column::Drawn(z.iter().map(at).collect());
    }
    responses.draws(&input.id, z, FINDING_DRAWS).map_or(Column::Same(nominal), Column::Drawn)
}
