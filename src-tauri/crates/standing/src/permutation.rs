//! How rare a value of a statistic is among all orders of a list.

use domain::draw::Stream;

/// Up to so many entries all orders are tried.
const ALL_ORDERS: usize = 8;
/// How many random orders are tried otherwise.
const SHUFFLES: u32 = 10_000;

/// The share of the orders of `list` at which `statistic` is at least as large as in the order given.
///
/// All orders up to 8 entries. Beyond that 10,000 random ones from the stream `purpose` of seed 0, with the order given counted as
/// one more: `(1 + hits)/10,001` (B. Phipson, G. K. Smyth, Statistical Applications in Genetics and Molecular Biology 9 (2010) 39).
/// The statistic is a whole number, so that equal values compare equal.
pub(crate) fn p_value(list: &[i64], purpose: &str, statistic: impl Fn(&[i64]) -> i64) -> f64 {
    let given = statistic(list);
    let reached = |order: &[i64]| statistic(order) >= given;
    let mut order = list.to_vec();
    if list.len() <= ALL_ORDERS {
        let (mut hits, mut all) = (0_u32, 0_u32);
        each_order(&mut order, list.len(), &mut |order| {
            hits += u32::from(reached(order));
            all += 1;
        });
        return f64::from(hits) / f64::from(all);
    }
    let mut stream = Stream::of(0, purpose, "", "");
    let mut hits = 0;
    for _ in 0..SHUFFLES {
        stream.shuffle(&mut order);
        hits += u32::from(reached(&order));
    }
    f64::from(1 + hits) / f64::from(1 + SHUFFLES)
}

/// Every order of the first `n` entries once (B. R. Heap, The Computer Journal 6 (1963) 293-298).
fn each_order(list: &mut [i64], n: usize, visit: &mut impl FnMut(&[i64])) {
    if n <= 1 {
        visit(list);
        return;
    }
    for i in 0..n {
        each_order(list, n - 1, visit);
        if i + 1 < n {
            list.swap(if n.is_multiple_of(2) { i } else { 0 }, n - 1);
        }
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;
    use crate::fixture::near;

    #[test]
    fn every_order_is_visited_once() {
        for (n, factorial) in [(0, 1), (1, 1), (2, 2), (3, 6), (4, 24), (5, 120), (6, 720)] {
            let mut list: Vec<i64> = (0..n).collect();
            let mut seen = BTreeSet::new();
            let mut visits = 0;
            let len = list.len();
            each_order(&mut list, len, &mut |order| {
                seen.insert(order.to_vec());
                visits += 1;
            });
            assert_eq!((seen.len(), visits), (factorial, factorial));
        }
    }

    /// By hand: one of 120 orders has the largest first entry times 10,000 and so on, and of 9 entries one in 9 begins with the largest.
    #[test]
    fn shares_of_orders_by_hand() {
        let digits = |order: &[i64]| order.iter().fold(0, |sum, it| 10 * sum + it);
        near(p_value(&[5, 4, 3, 2, 1], "check", digits), 1.0 / 120.0, 1e-15);
        near(p_value(&[1, 2, 3, 4, 5], "check", digits), 1.0, 0.0);
        let first = |order: &[i64]| order.first().copied().unwrap_or_default();
        let got = p_value(&[9, 1, 2, 3, 4, 5, 6, 7, 8], "check", first);
        // Four standard errors of 10,000 draws.
        near(got, 1.0 / 9.0, 4.0 * (1.0_f64 / 9.0 * 8.0 / 9.0 / 10_000.0).sqrt());
        near(p_value(&[9, 1, 2, 3, 4, 5, 6, 7, 8], "check", first), got, 0.0);
    }
}
