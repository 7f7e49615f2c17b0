//! What is read off the counts.

use super::Acceptability;

impl Acceptability {
    /// How many products were ranked.
    #[must_use]
    pub fn n(&self) -> usize {
        self.n
    }

    /// How many draws were counted.
    #[must_use]
    pub fn draws(&self) -> usize {
        self.draws
    }

    /// The draws in which product `i` has rank 1, 2, ..., n; `rank = 1 + #{k : S_k > S_i}`, so products that are level share the
    /// better rank and a column may sum to more than the draws.
    #[must_use]
    pub fn shared(&self, i: usize) -> &[u32] {
        self.places.counts(i)
    }

    /// The draws in which product `i` has rank 1, 2, ..., n with ties split evenly over the places that they take up: rows and
    /// columns sum to the draws.
    #[must_use]
    pub fn split(&self, i: usize) -> &[f64] {
        &self.split[i * self.n..(i + 1) * self.n]
    }

    /// The draws in which product `i` is first or joint first.
    #[must_use]
    pub fn first(&self, i: usize) -> u32 {
        self.shared(i)[0]
    }

    /// The central weights of product `i`: the mean of the weights of the draws in which it is first or joint first; `None` where
    /// it never is.
    #[must_use]
    pub fn central(&self, i: usize) -> Option<&[f64]> {
        self.central[i].as_deref()
    }

    /// The draws in which product `i` scores more than product `j`.
    #[must_use]
    pub fn wins(&self, i: usize, j: usize) -> u32 {
        self.pairs.wins(i, j)
    }

    /// [`Acceptability::wins`] of all pairs at once, a row a product, on up to `threads` threads.
    #[must_use]
    pub fn all_wins(&self, threads: usize) -> Vec<u32> {
        self.pairs.all_wins(threads)
    }

    /// The holistic index of product `i`: its ranks (ties split) averaged with a worth that falls evenly from 1 for the first place
    /// to 0 for the last; 1 for a single product. The even fall is editorial; Lahdelma and Salminen (2001) leave it open.
    #[must_use]
    pub fn holistic(&self, i: usize) -> f64 {
        if self.n == 1 {
            return 1.0;
        }
        let last = (self.n - 1) as f64;
        let sum: f64 =
            (0..self.n).zip(self.split(i)).map(|(r, count)| count * (last - r as f64) / last).sum();
        sum / self.draws as f64
    }

    /// The share of the draws in which product `i` has rank `r` (from 1) or a better one.
    #[must_use]
    pub fn p_rank_at_most(&self, i: usize, r: usize) -> f64 {
        let count: u64 = self.shared(i).iter().take(r).map(|it| u64::from(*it)).sum();
        count as f64 / self.draws as f64
    }

    /// The quantile at `p` (held to 0 to 1) of the ranks of product `i` over the draws, with shared ranks from 1, by type 8 of
    /// Hyndman and Fan (1996) like [`crate::summary::quantiles`].
    #[must_use]
    pub fn rank_quantile(&self, i: usize, p: f64) -> f64 {
        let draws = self.draws as f64;
        let h = ((draws + 1.0 / 3.0) * p.clamp(0.0, 1.0) + 1.0 / 3.0).clamp(1.0, draws);
        let low = self.rank_in_order(i, h.floor());
        let high = self.rank_in_order(i, (h.floor() + 1.0).min(draws));
        low + (h - h.floor()) * (high - low)
    }

    /// The rank at place `at` (from 1) of the ranks of product `i` in ascending order.
    fn rank_in_order(&self, i: usize, at: f64) -> f64 {
        let mut below = 0.0;
        for (rank, &count) in (1..=self.n).zip(self.shared(i)) {
            below += f64::from(count);
            if below >= at {
                return rank as f64;
            }
        }
        self.n as f64
    }
}
