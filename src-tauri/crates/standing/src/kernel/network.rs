//! Sorting many lists side by side: each lane of a vector is a list of its own.
//!
//! The bitonic network (K. E. Batcher, *Sorting networks and their applications*, AFIPS Conference Proceedings 32 (1968) 307-314) in
//! the form whose comparisons all point the same way, for any length: what would stand beyond the end is lower than everything and
//! stays there. No branch depends on the values, so eight or more lists take the time of one. Up to three stages that stay within a
//! few rows are done in registers, since storing would take longer than comparing.

/// Rows that are sorted and merged in registers.
pub(crate) const UNIT: usize = 8;

/// Puts two vectors in order, lane by lane: the larger numbers first.
pub(crate) trait Order<V>: Copy {
    /// The larger and the smaller numbers.
    fn order(self, a: V, b: V) -> (V, V);
}

impl<V, F: Fn(V, V) -> (V, V) + Copy> Order<V> for F {
    #[inline(always)]
    fn order(self, a: V, b: V) -> (V, V) {
        self(a, b)
    }
}

macro_rules! exchange {
    ($order:ident, $rows:ident: $($a:literal $b:literal),+) => {
        $( ($rows[$a], $rows[$b]) = $order.order($rows[$a], $rows[$b]); )+
    };
}

/// Sorts each lane, the largest first. The number of rows is a multiple of [`UNIT`].
#[inline(always)]
pub(crate) fn sort<V: Copy>(rows: &mut [V], order: impl Order<V>) {
    let (units, _) = rows.as_chunks_mut::<UNIT>();
    for rows in units {
        let mut it = *rows;
        // 19 comparisons, the fewest possible for eight (R. W. Floyd, in Knuth, The Art of Computer Programming 3, 5.3.4).
        exchange!(order, it: 0 1, 2 3, 4 5, 6 7, 0 2, 1 3, 4 6, 5 7, 1 2, 5 6, 0 4, 3 7, 1 5, 2 6, 1 4, 3 6, 2 4, 3 5, 3 4);
        *rows = it;
    }
    let mut size = 2 * UNIT;
    while size / 2 < rows.len() {
        let mut k = size / 4;
        let folded = k >= 2 * UNIT && rows.len() >= size;
        if folded {
            k /= 4;
        }
        for block in rows.chunks_mut(size) {
            if folded && block.len() == size {
                fold(block, order);
            } else {
                flip(block, size / 2, order);
                if folded {
                    one(block, size / 4, order);
                    one(block, size / 8, order);
                }
            }
        }
        while k >= UNIT {
            let stages = match k {
                8 => 1,
                16 | 64 => 2,
                _ => 3,
            };
            for block in rows.chunks_mut(2 * k) {
                match stages {
                    2 if block.len() == 2 * k => two(block, order),
                    3 if block.len() == 2 * k => three(block, order),
                    _ => (0..stages).for_each(|it| one(block, k >> it, order)),
                }
            }
            k >>= stages;
        }
        let (units, _) = rows.as_chunks_mut::<UNIT>();
        for rows in units {
            let mut it = *rows;
            exchange!(order, it: 0 4, 1 5, 2 6, 3 7, 0 2, 1 3, 4 6, 5 7, 0 1, 2 3, 4 5, 6 7);
            *rows = it;
        }
        size *= 2;
    }
}

/// Compares the first half with the second half read backwards.
#[inline(always)]
fn flip<V: Copy>(block: &mut [V], half: usize, order: impl Order<V>) {
    if let Some((high, low)) = block.split_at_mut_checked(half) {
        for (a, b) in high.iter_mut().rev().zip(low) {
            (*a, *b) = order.order(*a, *b);
        }
    }
}

/// [`flip`], and then rows that are a quarter and an eighth of the block apart.
#[inline(always)]
fn fold<V: Copy>(block: &mut [V], order: impl Order<V>) {
    let (low, high) = block.split_at_mut(block.len() / 2);
    let [(a, b), (c, d), (e, f), (g, h)] = {
        let (ab, cd) = low.split_at_mut(low.len() / 2);
        let (ef, gh) = high.split_at_mut(high.len() / 2);
        [ab, cd, ef, gh].map(|it| it.split_at_mut(it.len() / 2))
    };
    // The second half backwards, so that its first rows meet those of the first half.
    let low = a.iter_mut().zip(b).zip(c.iter_mut().zip(d));
    let high =
        h.iter_mut().rev().zip(g.iter_mut().rev()).zip(f.iter_mut().rev().zip(e.iter_mut().rev()));
    for (((a, b), (c, d)), ((h, g), (f, e))) in low.zip(high) {
        let mut it = [*a, *b, *c, *d, *e, *f, *g, *h];
        exchange!(order, it: 0 7, 1 6, 2 5, 3 4, 0 2, 1 3, 4 6, 5 7, 0 1, 2 3, 4 5, 6 7);
        [*a, *b, *c, *d, *e, *f, *g, *h] = it;
    }
}

/// Compares rows that are `k` apart, in blocks of `2 k`.
#[inline(always)]
fn one<V: Copy>(rows: &mut [V], k: usize, order: impl Order<V>) {
    for block in rows.chunks_mut(2 * k) {
        if let Some((high, low)) = block.split_at_mut_checked(k) {
            for (a, b) in high.iter_mut().zip(low) {
                (*a, *b) = order.order(*a, *b);
            }
        }
    }
}

/// Compares rows that are a half and then a quarter of the block apart.
#[inline(always)]
fn two<V: Copy>(block: &mut [V], order: impl Order<V>) {
    let (ab, cd) = block.split_at_mut(block.len() / 2);
    let (a, b) = ab.split_at_mut(ab.len() / 2);
    let (c, d) = cd.split_at_mut(cd.len() / 2);
    for (((a, b), c), d) in a.iter_mut().zip(b).zip(c).zip(d) {
        let mut it = [*a, *b, *c, *d];
        exchange!(order, it: 0 2, 1 3, 0 1, 2 3);
        [*a, *b, *c, *d] = it;
    }
}

/// Compares rows that are a half, a quarter and an eighth of the block apart.
#[inline(always)]
fn three<V: Copy>(block: &mut [V], order: impl Order<V>) {
    let (low, high) = block.split_at_mut(block.len() / 2);
    let [(a, b), (c, d), (e, f), (g, h)] = {
        let (ab, cd) = low.split_at_mut(low.len() / 2);
        let (ef, gh) = high.split_at_mut(high.len() / 2);
        [ab, cd, ef, gh].map(|it| it.split_at_mut(it.len() / 2))
    };
    let low = a.iter_mut().zip(b).zip(c.iter_mut().zip(d));
    let high = e.iter_mut().zip(f).zip(g.iter_mut().zip(h));
    for (((a, b), (c, d)), ((e, f), (g, h))) in low.zip(high) {
        let mut it = [*a, *b, *c, *d, *e, *f, *g, *h];
        exchange!(order, it: 0 4, 1 5, 2 6, 3 7, 0 2, 1 3, 4 6, 5 7, 0 1, 2 3, 4 5, 6 7);
        [*a, *b, *c, *d, *e, *f, *g, *h] = it;
    }
}
