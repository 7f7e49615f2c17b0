//! How rank sums are distributed when there is nothing to find.

/// `P(U <= u)` for u from 0 to `top`, for the Mann-Whitney count U of two groups of `n` and `m` without ties.
///
/// `P_nm(u) = n/(n+m) P_(n-1)m(u - m) + m/(n+m) P_n(m-1)(u)` (H. B. Mann, D. R. Whitney, Annals of Mathematical Statistics 18
/// (1947) 50-60). Only sums of positive terms, so that small probabilities keep their relative accuracy. Takes `n m top` steps.
pub(crate) fn mann_whitney(n: usize, m: usize, top: usize) -> Vec<f64> {
    // At the group sizes i and j, j from 0 to m: without members on a side, U is 0.
    let start: Vec<f64> = std::iter::once(1.0).chain(std::iter::repeat_n(0.0, top)).collect();
    let mut rows: Vec<Vec<f64>> = vec![start; m + 1];
    for i in 1..=n {
        let mut before: &[f64] = &[];
        for (j, row) in rows.iter_mut().enumerate() {
            let (from_i, from_j) = (i as f64 / (i + j) as f64, j as f64 / (i + j) as f64);
            // `row` holds the sizes i - 1 and j, `before` holds i and j - 1; U is at most i j.
            let used = (i * j).min(top) + 1;
            let kept = used.saturating_sub(j);
            row.copy_within(..kept, used - kept);
            row.iter_mut().take(used - kept).for_each(|p| *p = 0.0);
            row.iter_mut().take(used).for_each(|p| *p *= from_i);
            for (p, q) in row.iter_mut().zip(before).take(used) {
                *p += q * from_j;
            }
            before = row;
        }
    }
    cumulated(rows.pop().unwrap_or_default())
}

/// `P(T <= t)` for t from 0 to `top`, for Wilcoxon's signed-rank sum T of `n` values without ties.
///
/// Each of the ranks 1 to n is in the sum or not, with even chances (F. Wilcoxon, Biometrics Bulletin 1 (1945) 80-83).
pub(crate) fn signed_rank(n: usize, top: usize) -> Vec<f64> {
    let mut p: Vec<f64> = std::iter::once(1.0).chain(std::iter::repeat_n(0.0, top)).collect();
    for rank in 1..=n {
        let with: Vec<f64> = std::iter::repeat_n(0.0, rank).chain(p.iter().copied()).collect();
        for (p, with) in p.iter_mut().zip(with) {
            *p = f64::midpoint(*p, with);
        }
    }
    cumulated(p)
}

/// The share of all choices of `k` out of `ranks` whose sum is at least as far from `middle` as `far`, all in whole numbers.
pub(crate) fn regroupings(ranks: &[i64], k: usize, middle: i64, far: i64) -> f64 {
    fn count(ranks: &[i64], k: usize, sum: i64, reached: &impl Fn(i64) -> bool) -> (u64, u64) {
        if k == 0 {
            return (u64::from(reached(sum)), 1);
        }
        let (mut hits, mut all, mut rest) = (0, 0, ranks);
        while let Some((first, after)) = rest.split_first().filter(|_| rest.len() >= k) {
            let (more, counted) = count(after, k - 1, sum + first, reached);
            hits += more;
            all += counted;
            rest = after;
        }
        (hits, all)
    }
    let (hits, all) = count(ranks, k, 0, &|sum| (sum - middle).abs() >= far);
    hits as f64 / all as f64
}

fn cumulated(mut p: Vec<f64>) -> Vec<f64> {
    let mut sum = 0.0_f64;
    for p in &mut p {
        sum += *p;
        *p = sum.min(1.0);
    }
    p
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::near;

    /// By hand: of the 6 choices of 2 of 4, U is 0, 1, 2, 2, 3, 4.
    #[test]
    fn two_and_two_are_counted_by_hand() {
        for (got, want) in mann_whitney(2, 2, 4).into_iter().zip([1.0, 2.0, 4.0, 5.0, 6.0]) {
            near(got, want / 6.0, 1e-15);
        }
    }

    /// By hand: of the 252 choices of 5 of 10, 1 + 1 + 2 have U at most 2; of the 1024 sets of the ranks 1 to 10, 25 have a sum of
    /// at most 8, the sets of distinct numbers that add up to 0 to 8: 1, 1, 1, 2, 2, 3, 4, 5 and 6.
    #[test]
    fn tables_of_the_two_sums() {
        near(mann_whitney(5, 5, 2)[2], 4.0 / 252.0, 1e-15);
        near(mann_whitney(3, 3, 0)[0], 1.0 / 20.0, 1e-15);
        near(signed_rank(10, 8)[8], 25.0 / 1024.0, 1e-15);
        near(signed_rank(3, 6)[6], 1.0, 1e-15);
    }

    #[test]
    fn both_sums_are_symmetric_and_the_sizes_may_be_swapped() {
        for (n, m) in [(1, 1), (4, 7), (9, 3)] {
            let (one, other) = (mann_whitney(n, m, n * m), mann_whitney(m, n, n * m));
            for u in 0..=n * m {
                near(one[u], other[u], 1e-14);
                let above = if u == 0 { 1.0 } else { 1.0 - one[u - 1] };
                near(one[n * m - u], above, 1e-14);
            }
        }
        let t = signed_rank(7, 28);
        // The middle of 0 to 28 is 14.
        near(f64::midpoint(t[13], t[14]), 0.5, 1e-14);
    }

    /// Without ties, choosing again gives the same tails as the recursion.
    #[test]
    fn regroupings_without_ties_are_the_distribution() {
        let ranks: Vec<i64> = (1..=9).map(|it| 2 * it).collect();
        let u = mann_whitney(4, 5, 20);
        for (at, low) in u.iter().enumerate().take(10) {
            let far = i64::try_from(20 - 2 * at).unwrap();
            near(regroupings(&ranks, 4, 40, far), 2.0 * low, 1e-14);
        }
    }
}
