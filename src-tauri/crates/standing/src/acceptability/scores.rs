//! The scores of drawn profiles, in millionths of a point.

use pulp::{Arch, Simd, WithSimd};

use crate::chunks::in_chunks;
use crate::kernel::keys::{BLOCK, Keys, Source};
use crate::profile::Profile;
use crate::weighting::Weightings;

/// The scores of profiles in all draws, a list of blocks a product.
///
/// Each product is scored in all draws before the next one, so that its findings are read from afar but once.
pub(super) struct Drawn {
    draws: usize,
    keys: Vec<Vec<Block>>,
}

/// The keys of one product in the draws of a block.
type Block = [u32; BLOCK];

impl Drawn {
    pub(super) fn new(profiles: &[Profile<'_>], given: &Weightings, threads: usize) -> Self {
        let (draws, n_parts) = (given.draws(), given.n_parts());
        // The weights of a subsystem in the draws of a block: all subsystems of the first block, then of the second, ... Beyond the
        // last draw stands some weight, so that what comes out is a number.
        let mut weights = vec![[1.0; BLOCK]; n_parts * draws.div_ceil(BLOCK)];
        for d in 0..draws {
            let block = &mut weights[d / BLOCK * n_parts..][..n_parts];
            for (column, w) in block.iter_mut().zip(given.row(d)) {
                column[d % BLOCK] = *w;
            }
        }
        let keys = in_chunks(profiles.len(), threads, |i| {
            let mut keys = vec![[0; BLOCK]; draws.div_ceil(BLOCK)];
            let score = Score { profile: &profiles[i], weights: &weights, keys: &mut keys };
            Arch::new().dispatch(score);
            keys
        });
        Drawn { draws, keys }
    }
}

impl Source for Drawn {
    fn n(&self) -> usize {
        self.keys.len()
    }

    fn draws(&self) -> usize {
        self.draws
    }

    fn fill(&self, block: usize, keys: &mut [Keys]) {
        for (i, from) in self.keys.iter().enumerate() {
            for (step, from) in from[block].as_chunks().0.iter().enumerate() {
                keys[step * self.keys.len() + i] = *from;
            }
        }
    }
}

struct Score<'a> {
    profile: &'a Profile<'a>,
    weights: &'a [[f64; BLOCK]],
    keys: &'a mut [Block],
}

impl WithSimd for Score<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) {
        let Score { profile, weights, keys } = self;
        let blocks = weights.chunks_exact(profile.parts().len());
        for (from, (weights, keys)) in (0..).step_by(BLOCK).zip(blocks.zip(keys)) {
            score(profile, weights, from, keys);
        }
    }
}

/// [`Profile::micropoints`] of many draws at once: the same operations in the same order, so the same to the last bit.
#[inline(always)]
fn score(profile: &Profile<'_>, weights: &[[f64; BLOCK]], from: usize, keys: &mut Block) {
    let (mut sums, mut totals) = ([0.0; BLOCK], [0.0; BLOCK]);
    let draws = profile.draws();
    let cap = profile.cap().unwrap_or(f64::INFINITY);
    // Runs of neighbours: to the end of the finding draws, or to the end of a round.
    let mut done = 0;
    while done < BLOCK {
        let start = profile.place(from + done);
        let run = (draws - start).min(draws - (from + done) % draws).min(BLOCK - done);
        let at = done..done + run;
        for (part, weights) in profile.parts().iter().zip(weights) {
            let (weights, sums, totals) =
                (&weights[at.clone()], &mut sums[at.clone()], &mut totals[at.clone()]);
            match part {
                Some([certain]) => {
                    for ((sum, total), w) in sums.iter_mut().zip(totals).zip(weights) {
                        *sum += w * certain;
                        *total += w;
                    }
                }
                Some(part) => {
                    let drawn = &part[start..start + run];
                    for (((sum, total), w), x) in
                        sums.iter_mut().zip(totals).zip(weights).zip(drawn)
                    {
                        *sum += w * x;
                        *total += w;
                    }
                }
                None => {}
            }
        }
        done += run;
    }
    let mut all = true;
    for ((key, sum), total) in keys.iter_mut().zip(&sums).zip(&totals) {
        all &= *total > 0.0;
        *key = micropoints((sum / total).min(cap));
    }
    if !all {
        without_weight(profile, weights, from, &totals, keys);
    }
}

/// The draws in which what applies has no weight.
#[cold]
fn without_weight(
    profile: &Profile<'_>,
    weights: &[[f64; BLOCK]],
    from: usize,
    totals: &[f64; BLOCK],
    keys: &mut Block,
) {
    for (d, key) in keys.iter_mut().enumerate().filter(|(d, _)| totals[*d] <= 0.0) {
        let row: Vec<f64> = weights.iter().map(|it| it[d]).collect();
        *key = micropoints(profile.score(&row, profile.place(from + d)));
    }
}

/// [`crate::rank::quantise`] of a score on the scale, in a form that vector units have: halves away from 0.
#[inline(always)]
fn micropoints(score: f64) -> u32 {
    const WHOLE: f64 = (1_u64 << 52) as f64;
    let micro = score * 1e6;
    let whole = micro.trunc();
    let rounded = if micro - whole >= 0.5 { whole + 1.0 } else { whole };
    // Beyond 2^52 the last bits of an f64 count in ones; a hair below 0 counts as 0, and so does NaN, which is not on the scale.
    let bits = (rounded.max(0.0) + WHOLE).to_bits();
    #[expect(clippy::cast_possible_truncation, reason = "at most 10^8 on the scale")]
    let low = bits as u32;
    low
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::kernel::keys::STEP;

    fn check(parts: &[Option<&[f64]>], cap: Option<f64>, rows: &[Vec<f64>]) {
        let profile = Profile::new(parts, 99, cap).unwrap();
        let weights = Weightings::from_rows(rows).unwrap();
        let profiles = [profile];
        let drawn = Drawn::new(&profiles, &weights, 2);
        let mut keys = [[0; STEP]; BLOCK / STEP];
        for d in 0..weights.draws() {
            if d % BLOCK == 0 {
                drawn.fill(d / BLOCK, &mut keys);
            }
            let want = profile.micropoints(weights.row(d), profile.place(d));
            assert_eq!(i64::from(keys.as_flattened()[d % BLOCK]), want, "draw {d}");
        }
    }

    proptest! {
        #[test]
        fn scores_are_those_of_the_profile_to_the_last_bit(
            points in prop::collection::vec(0.0..=100.0_f64, 1..150),
            certain in 0_u8..=100,
            rows in prop::collection::vec((0_u8..=4, 0.0..1.0_f64), 1..300),
            cap in prop::option::of(0.0..100.0_f64),
        ) {
            let certain = [f64::from(certain)];
            let rows: Vec<Vec<f64>> = rows
                .into_iter()
                .map(|(gap, share)| match gap {
                    // Nothing on what applies.
                    0 => vec![0.0, 1.0, 0.0],
                    1 => vec![0.0, 0.0, 1.0],
                    _ => vec![share, (1.0 - share) / 2.0, (1.0 - share) / 2.0],
                })
                .collect();
            check(&[Some(&points), None, Some(&certain)], cap, &rows);
        }
    }

    #[test]
    fn scores_round_as_all_scores_do() {
        for score in [
            0.0,
            62.349_999_999_999_994,
            0.000_000_5,
            0.000_000_499_999_999_9,
            100.0,
            1e-300,
            -1e-12,
        ] {
            assert_eq!(
                i64::from(micropoints(score)),
                crate::rank::quantise(score).max(0),
                "{score}"
            );
        }
    }
}
