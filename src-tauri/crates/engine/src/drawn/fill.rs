//! Drawn products with their gaps filled, ready to be weighed.
//!
//! A missing criterion is never guessed in silence: its worst and best bound the index, and these fills only serve
//! probabilities. Evenly over what it can be worth is one; like the products of the band in which it is known the other.
//! Where the two lead to different statements, that is said.

use std::collections::BTreeMap;

use standing::{index::Score, profile::Profile};

use super::{Drawn, Gap, Part};
use crate::scoring::ScoredProduct;

/// What a missing criterion is drawn from.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Fill<'a> {
    /// Evenly over what it can be worth.
    Even,
    /// What it is worth in other products.
    Deck(&'a Deck),
}

/// The known points of each criterion among some products, sorted.
#[derive(Debug, Default)]
pub(crate) struct Deck(BTreeMap<(usize, usize), Vec<f64>>);

impl Deck {
    pub(crate) fn of<'s>(products: impl Iterator<Item = &'s ScoredProduct>) -> Self {
        let mut deck: BTreeMap<(usize, usize), Vec<f64>> = BTreeMap::new();
        for product in products {
            for (place, subsystem) in product.subsystems.iter().enumerate() {
                for (criterion, it) in subsystem.criteria.iter().enumerate() {
                    if let Score::Known { value, .. } = it.score {
                        deck.entry((place, criterion)).or_default().push(value);
                    }
                }
            }
        }
        deck.values_mut().for_each(|it| it.sort_unstable_by(f64::total_cmp));
        Deck(deck)
    }
}

impl Fill<'_> {
    fn points(self, place: usize, gap: &Gap, at: f64) -> f64 {
        let (low, high) = (gap.within.low(), gap.within.high());
        let even = low + at * (high - low);
        match self {
            Fill::Even => even,
            Fill::Deck(deck) => {
                let known = gap.criterion.and_then(|it| deck.0.get(&(place, it)));
                #[expect(
                    clippy::cast_possible_truncation,
                    clippy::cast_sign_loss,
                    reason = "from 0 to below the number of cards"
                )]
                let card = |known: &Vec<f64>| (at * known.len() as f64) as usize;
                let drawn = known.and_then(|known| known.get(card(known).min(known.len() - 1)));
                drawn.map_or(even, |points| points.clamp(low, high))
            }
        }
    }
}

/// The drawn points of a product's subsystems, without gaps.
#[derive(Debug, Clone)]
pub(crate) struct Filled {
    key: u64,
    cap: Option<f64>,
    parts: Vec<Option<Vec<f64>>>,
}

impl Filled {
    /// The subsystems at `places`, in that order.
    pub(crate) fn new(
        product: &ScoredProduct,
        drawn: &Drawn,
        places: &[usize],
        fill: Fill<'_>,
    ) -> Self {
        Filled {
            key: domain::draw::hash(product.dossier.product.key.as_str()),
            cap: product.cap(),
            parts: places.iter().map(|&place| part(drawn.parts.get(place)?, place, fill)).collect(),
        }
    }

    /// The same without the limit of the index, for a subsystem alone.
    pub(crate) fn uncapped(self) -> Self {
        Filled { cap: None, ..self }
    }

    /// The parts as a profile borrows them.
    pub(crate) fn slices(&self) -> Vec<Option<&[f64]>> {
        self.parts.iter().map(Option::as_deref).collect()
    }

    /// The profile over such [`Filled::slices`]; a product of which no weighed subsystem applies has none.
    pub(crate) fn profile<'a>(&self, slices: &'a [Option<&'a [f64]>]) -> Option<Profile<'a>> {
        Profile::new(slices, self.key, self.cap).ok()
    }
}

fn part(part: &Part, place: usize, fill: Fill<'_>) -> Option<Vec<f64>> {
    let Part::Present { known, gaps } = part else { return None };
    let mut points = known.clone();
    for gap in gaps {
        if points.len() == 1 {
            points = vec![points[0]; gap.at.len()];
        }
        for (sum, &at) in points.iter_mut().zip(&gap.at) {
            *sum += gap.share * fill.points(place, gap, at);
        }
    }
    // Shares sum to 1 but for a last digit.
    points.iter_mut().for_each(|it| *it = it.clamp(0.0, 100.0));
    Some(points)
}

#[cfg(test)]
mod tests {
    use standing::rank::Interval;

    use super::*;

    fn open(known: f64, share: f64, low: f64, high: f64) -> Part {
        let gap = Gap {
            criterion: Some(0),
            share,
            within: Interval::new(low, high).unwrap(),
            at: vec![0.0, 0.25, 0.5, 0.999],
            missing: vec!["cabinet.gasket".into()],
        };
        Part::Present { known: vec![known], gaps: vec![gap] }
    }

    #[test]
    fn a_gap_is_filled_evenly_between_its_ends() {
        let points = part(&open(30.0, 0.5, 40.0, 80.0), 0, Fill::Even).unwrap();
        for (got, wanted) in points.iter().zip([50.0, 55.0, 60.0, 69.98]) {
            assert!((got - wanted).abs() < 1e-9, "{points:?}");
        }
    }

    #[test]
    fn a_gap_is_filled_from_the_other_products_within_its_ends() {
        let deck = Deck(BTreeMap::from([((0, 0), vec![20.0, 50.0, 60.0, 100.0])]));
        let points = part(&open(30.0, 0.5, 40.0, 80.0), 0, Fill::Deck(&deck)).unwrap();
        // 20 and 100 cannot be: 40 and 80 are the ends of what it can be worth.
        for (got, wanted) in points.iter().zip([50.0, 55.0, 60.0, 70.0]) {
            assert!((got - wanted).abs() < 1e-9, "{points:?}");
        }
    }

    #[test]
    fn a_criterion_that_nobody_knows_is_filled_evenly() {
        let empty = Deck::default();
        let deck = part(&open(30.0, 0.5, 40.0, 80.0), 0, Fill::Deck(&empty));
        assert_eq!(deck, part(&open(30.0, 0.5, 40.0, 80.0), 0, Fill::Even));
    }

    #[test]
    fn what_does_not_apply_stays_out_and_what_is_known_stays_one_number() {
        assert_eq!(part(&Part::Absent, 0, Fill::Even), None);
        let known = Part::Present { known: vec![72.5], gaps: Vec::new() };
        assert_eq!(part(&known, 0, Fill::Even), Some(vec![72.5]));
    }
}
