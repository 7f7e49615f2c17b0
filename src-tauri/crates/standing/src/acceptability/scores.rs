//! The score of every product in every draw.

use crate::profile::Profile;
use crate::weighting::Weightings;

/// Scores in millionths of a point, all draws of the first product first. Points are within the scale.
pub(super) fn scores(profiles: &[Profile<'_>], weights: &Weightings, threads: usize) -> Vec<u32> {
    let draws = weights.draws();
    let mut all = vec![0; profiles.len() * draws];
    let share = profiles.len().div_ceil(threads);
    std::thread::scope(|scope| {
        for (profiles, rows) in profiles.chunks(share).zip(all.chunks_mut(share * draws)) {
            scope.spawn(move || {
                for (profile, row) in profiles.iter().zip(rows.chunks_exact_mut(draws)) {
                    for (d, score) in row.iter_mut().enumerate() {
                        let micro = profile.micropoints(weights.row(d), profile.place(d));
                        // At most 10^8 on the scale; a hair below 0 counts as 0.
                        *score = u32::try_from(micro).unwrap_or_default();
                    }
                }
            });
        }
    });
    all
}
