//! What is drawn of a product: the points of its subsystems, finding draw by finding draw, and its score at a weighting.
//!
//! Finding draws are made once and kept; a change of weights only mixes them anew. The finding draws of two products are
//! independent, so each product goes through its own in an order of its own ([`Profile::place`]), and a few hundred
//! stratified draws serve any number of weight draws.

use crate::rank::quantise;

/// The drawn points of one product.
#[derive(Debug, Clone, Copy)]
pub struct Profile<'a> {
    parts: &'a [Option<&'a [f64]>],
    draws: usize,
    key: u64,
    cap: Option<f64>,
}

/// Drawn points that make no profile.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum BadProfile {
    /// No subsystem applies.
    #[error("a product needs at least one subsystem that applies")]
    Empty,
    /// Subsystems with different numbers of draws; a subsystem that is certain has one.
    #[error("a subsystem has {found} draws where others have {wanted}; give that many, or 1")]
    Draws {
        /// How many it has.
        found: usize,
        /// How many the others have.
        wanted: usize,
    },
}

impl<'a> Profile<'a> {
    /// The points (0 to 100) of each subsystem in each finding draw; a list of one where nothing is uncertain, `None` where the
    /// subsystem does not apply. `key` sets the order in which the product goes through its draws; `cap` limits its score.
    ///
    /// # Errors
    /// [`BadProfile`] when no subsystem applies, or their numbers of draws differ and are not 1.
    pub fn new(
        parts: &'a [Option<&'a [f64]>],
        key: u64,
        cap: Option<f64>,
    ) -> Result<Self, BadProfile> {
        let counts = || parts.iter().flatten().map(|it| it.len());
        let draws = counts().max().filter(|it| *it > 0).ok_or(BadProfile::Empty)?;
        match counts().find(|it| *it != draws && *it != 1) {
            Some(found) => Err(BadProfile::Draws { found, wanted: draws }),
            None => Ok(Profile { parts, draws, key, cap }),
        }
    }

    /// The subsystems, in the order of the weights.
    #[must_use]
    pub fn parts(&self) -> &'a [Option<&'a [f64]>] {
        self.parts
    }

    /// How many finding draws there are; 1 when nothing is uncertain.
    #[must_use]
    pub fn draws(&self) -> usize {
        self.draws
    }

    /// The limit of the score, points.
    #[must_use]
    pub fn cap(&self) -> Option<f64> {
        self.cap
    }

    /// Which finding draw goes with draw `d` of the weights.
    ///
    /// The first round goes straight through; each further round starts elsewhere, set by the key and the round alone, so that
    /// two products meet in new pairs.
    #[must_use]
    pub fn place(&self, d: usize) -> usize {
        let (round, at) = (d / self.draws, d % self.draws);
        if round == 0 {
            return at;
        }
        // The finaliser of SplitMix64 (G. L. Steele, D. Lea, C. H. Flood, 2014).
        let mut mixed = self.key.wrapping_add((round as u64).wrapping_mul(0x9e37_79b9_7f4a_7c15));
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^= mixed >> 31;
        let shift = usize::try_from(mixed % self.draws as u64).unwrap_or_default();
        (at + shift) % self.draws
    }

    /// The score with weights `w` (one a subsystem, at least 0) in finding draw `place`: `sum w x / sum w` over the subsystems
    /// that apply, not above the cap. Where these have weight 0 altogether they count alike.
    #[must_use]
    pub fn score(&self, w: &[f64], place: usize) -> f64 {
        let (mut sum, mut total, mut plain, mut count) = (0.0, 0.0, 0.0, 0.0);
        for (part, weight) in self.parts.iter().zip(w) {
            let Some(part) = part else { continue };
            let x = if part.len() == 1 { part[0] } else { part[place % part.len()] };
            sum += weight * x;
            total += weight;
            plain += x;
            count += 1.0;
        }
        let score = if total > 0.0 { sum / total } else { plain / count };
        self.cap.map_or(score, |cap| score.min(cap))
    }

    /// [`Profile::score`] in whole millionths ([`quantise`]), by which products are compared.
    #[must_use]
    pub fn micropoints(&self, w: &[f64], place: usize) -> i64 {
        quantise(self.score(w, place))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_subsystem_that_does_not_apply_gives_its_weight_to_the_rest() {
        let (a, b) = ([60.0], [30.0, 90.0]);
        let parts = [Some(&a[..]), None, Some(&b[..])];
        let profile = Profile::new(&parts, 7, None).unwrap();
        assert_eq!(profile.draws(), 2);
        assert_eq!(profile.micropoints(&[0.25, 0.5, 0.25], 0), 45_000_000);
        assert_eq!(profile.micropoints(&[0.25, 0.5, 0.25], 1), 75_000_000);
        assert_eq!(profile.micropoints(&[0.0, 1.0, 0.0], 1), 75_000_000);
    }

    #[test]
    fn a_cap_limits_the_score() {
        let a = [60.0];
        let parts = [Some(&a[..])];
        assert_eq!(Profile::new(&parts, 0, Some(40.0)).unwrap().micropoints(&[1.0], 0), 40_000_000);
    }

    #[test]
    fn each_round_goes_through_all_draws() {
        let b: Vec<f64> = (0..50).map(f64::from).collect();
        let parts = [Some(&b[..])];
        let profile = Profile::new(&parts, 12345, None).unwrap();
        let mut starts = Vec::new();
        for round in 0..20 {
            let mut places: Vec<usize> = (0..50).map(|at| profile.place(round * 50 + at)).collect();
            starts.push(places[0]);
            places.sort_unstable();
            assert!(places.iter().copied().eq(0..50), "{places:?}");
        }
        starts.sort_unstable();
        starts.dedup();
        assert!(starts.len() > 8, "{starts:?}");
    }

    #[test]
    fn what_is_no_profile_is_refused() {
        let (a, b) = ([1.0, 2.0], [1.0, 2.0, 3.0]);
        assert_eq!(Profile::new(&[], 0, None).unwrap_err(), BadProfile::Empty);
        assert_eq!(Profile::new(&[None], 0, None).unwrap_err(), BadProfile::Empty);
        assert_eq!(
            Profile::new(&[Some(&a), Some(&b)], 0, None).unwrap_err(),
            BadProfile::Draws { found: 2, wanted: 3 }
        );
    }
}
