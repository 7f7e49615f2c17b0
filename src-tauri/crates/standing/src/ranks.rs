//! Ranks in which equal values share the middle of their places.

/// Twice the mid-rank of every value, in the order given: whole numbers, so that sums of ranks compare exactly.
///
/// The smallest value has rank 1; equal values have the mean of the ranks they take up. Values are finite.
pub(crate) fn doubled(values: &[f64]) -> Vec<i64> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    values
        .iter()
        .map(|value| {
            // Comparisons, not `total_cmp`: zero has two signs and is one value.
            let below = sorted.partition_point(|it| it < value);
            let not_above = sorted.partition_point(|it| it <= value);
            // The places below + 1 to not_above; twice their mean.
            i64::try_from(below + 1 + not_above).unwrap_or(i64::MAX)
        })
        .collect()
}

/// The sizes of the groups of equal values, ascending by value; given what [`doubled`] gives.
pub(crate) fn ties(doubled: &[i64]) -> Vec<usize> {
    let mut sorted = doubled.to_vec();
    sorted.sort_unstable();
    sorted.chunk_by(|a, b| a == b).map(<[i64]>::len).collect()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    /// scipy 1.17.1 `rankdata`.
    #[test]
    fn check_13_ranks_agree_with_scipy() {
        let ranks = doubled(&[129.0, 149.0, 149.0, 179.0, 199.0, 199.0]);
        // Twice 1, 2.5, 2.5, 4, 5.5, 5.5.
        assert_eq!(ranks, [2, 5, 5, 8, 11, 11]);
        assert_eq!(ties(&ranks), [1, 2, 1, 2]);
        assert_eq!(doubled(&[0.0, -0.0]), [3, 3]);
        assert!(doubled(&[]).is_empty() && ties(&[]).is_empty());
    }

    proptest! {
        #[test]
        fn ranks_follow_the_definition(values in prop::collection::vec((0_i32..8).prop_map(f64::from), 0..20)) {
            for (value, rank) in values.iter().zip(doubled(&values)) {
                let below = values.iter().filter(|it| *it < value).count();
                let equal = values.iter().filter(|it| *it <= value).count() - below;
                prop_assert_eq!(rank, i64::try_from(2 * below + equal + 1).unwrap());
            }
        }
    }
}
