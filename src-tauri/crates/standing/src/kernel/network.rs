//! Sorting many lists side by side: each lane of a vector is a list of its own.
//!
//! Short runs are put in order in registers, and then merged, two runs of the same length at a time, by the odd-even merge
//! (K. E. Batcher, *Sorting networks and their applications*, AFIPS Conference Proceedings 32 (1968) 307-314), for any length: what
//! would stand beyond the end is lower than everything and stays there. No branch depends on the values, so eight or more lists take
//! the time of one. As many stages as fit are done in registers, since storing takes as long as comparing.

/// Rows that are put in order in registers.
pub(crate) const UNIT: usize = 16;

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
    sort_from(rows, order, 0, |_, it| it);
}

/// [`sort`], where the rows of the first `made` units are what `make` gives for the number of the unit, and what stands there counts
/// for nothing.
#[inline(always)]
pub(crate) fn sort_from<V: Copy>(
    rows: &mut [V],
    order: impl Order<V>,
    made: usize,
    make: impl Fn(usize, [V; UNIT]) -> [V; UNIT],
) {
    let (units, _) = rows.as_chunks_mut::<UNIT>();
    for (at, unit) in units.iter_mut().enumerate() {
        let mut it = if at < made { make(at, *unit) } else { *unit };
        // M. W. Green's 60 comparisons, the fewest known for sixteen (in Knuth, The Art of Computer Programming 3, 5.3.4).
        exchange!(order, it: 0 1, 2 3, 4 5, 6 7, 8 9, 10 11, 12 13, 14 15);
        exchange!(order, it: 0 2, 1 3, 4 6, 5 7, 8 10, 9 11, 12 14, 13 15);
        exchange!(order, it: 0 4, 1 5, 2 6, 3 7, 8 12, 9 13, 10 14, 11 15);
        exchange!(order, it: 0 8, 1 9, 2 10, 3 11, 4 12, 5 13, 6 14, 7 15);
        exchange!(order, it: 5 10, 6 9, 3 12, 13 14, 4 8, 7 11, 1 2, 1 4, 7 13, 2 8, 11 14);
        exchange!(order, it: 2 4, 5 6, 9 10, 11 13, 3 8, 7 12, 6 8, 10 12, 3 5, 7 9);
        exchange!(order, it: 3 4, 5 6, 7 8, 9 10, 11 12, 6 7, 8 9);
        *unit = it;
    }
    let mut half = UNIT;
    while half < rows.len() {
        for block in rows.chunks_mut(2 * half).filter(|it| it.len() > half) {
            columns(block, half, order);
            slide(block, order);
        }
        half *= 2;
    }
}

/// The stages of a merge that compare rows which are a multiple of a unit apart: in each column of the units, a merge of its own.
#[inline(always)]
fn columns<V: Copy>(block: &mut [V], half: usize, order: impl Order<V>) {
    let (units, _) = block.as_chunks_mut::<UNIT>();
    match (units.len(), half / UNIT) {
        (2, 1) => two(units, order),
        (4, 2) => four(units, order),
        (8, 4) => eight(units, order),
        (16, 8) => sixteen(units, order),
        _ => stages(block, half, order),
    }
}

macro_rules! merge {
    ($name:ident, $units:literal, $what:literal: $($a:literal $b:literal),+) => {
        #[doc = $what]
        #[inline(always)]
        fn $name<V: Copy>(units: &mut [[V; UNIT]], order: impl Order<V>) {
            let Some(units) = units.first_chunk_mut::<$units>() else { return };
            for at in 0..UNIT {
                let mut it = units.each_ref().map(|unit| unit[at]);
                exchange!(order, it: $($a $b),+);
                for (unit, it) in units.iter_mut().zip(it) {
                    unit[at] = it;
                }
            }
        }
    };
}

merge!(two, 2, "[`columns`] of two units.": 0 1);
merge!(four, 4, "[`columns`] of four units.": 0 2, 1 3, 1 2);
merge!(eight, 8, "[`columns`] of eight units.": 0 4, 1 5, 2 6, 3 7, 2 4, 3 5, 1 2, 3 4, 5 6);
merge!(sixteen, 16, "[`columns`] of sixteen units.":
    0 8, 1 9, 2 10, 3 11, 4 12, 5 13, 6 14, 7 15, 4 8, 5 9, 6 10, 7 11, 2 4, 3 5, 6 8, 7 9, 10 12, 11 13,
    1 2, 3 4, 5 6, 7 8, 9 10, 11 12, 13 14);

/// [`columns`] of any number of units, stage by stage.
#[inline(always)]
fn stages<V: Copy>(block: &mut [V], half: usize, order: impl Order<V>) {
    let (high, low) = block.split_at_mut(half);
    apart(high, low, order);
    let mut k = half / 2;
    while k >= UNIT {
        for pair in block[k..].chunks_mut(2 * k).filter(|it| it.len() > k) {
            let (high, low) = pair.split_at_mut(k);
            apart(high, low, order);
        }
        k /= 2;
    }
}

#[inline(always)]
fn apart<V: Copy>(high: &mut [V], low: &mut [V], order: impl Order<V>) {
    for (a, b) in high.iter_mut().zip(low) {
        (*a, *b) = order.order(*a, *b);
    }
}

/// The stages of a merge that compare rows which are less than a unit apart, all at once while going through the rows: what still
/// waits for rows that come later is carried along.
#[inline(always)]
fn slide<V: Copy>(block: &mut [V], order: impl Order<V>) {
    // Rows that wait for one, two and four rows beyond them; the first one waits for nobody.
    const CARRIED: usize = 7;
    let Some([first, carried @ ..]) = block.first_chunk::<{ CARRIED + 1 }>() else { return };
    let (first, mut carried) = (*first, *carried);
    let windows = block.len() / UNIT - 1;
    for window in 0..windows {
        let from = window * UNIT + 1;
        let mut it = [first; CARRIED + UNIT];
        it[..CARRIED].copy_from_slice(&carried);
        it[CARRIED..].copy_from_slice(&block[from + CARRIED..][..UNIT]);
        exchange!(order, it: 7 15, 8 16, 9 17, 10 18, 11 19, 12 20, 13 21, 14 22);
        exchange!(order, it: 3 7, 4 8, 5 9, 6 10, 11 15, 12 16, 13 17, 14 18);
        exchange!(order, it: 1 3, 2 4, 5 7, 6 8, 9 11, 10 12, 13 15, 14 16);
        exchange!(order, it: 0 1, 2 3, 4 5, 6 7, 8 9, 10 11, 12 13, 14 15);
        block[from..][..UNIT].copy_from_slice(&it[..UNIT]);
        carried.copy_from_slice(&it[UNIT..]);
    }
    let from = windows * UNIT + 1;
    let mut it = [first; UNIT - 1];
    it[..CARRIED].copy_from_slice(&carried);
    it[CARRIED..].copy_from_slice(&block[from + CARRIED..]);
    exchange!(order, it: 3 7, 4 8, 5 9, 6 10);
    exchange!(order, it: 1 3, 2 4, 5 7, 6 8, 9 11, 10 12);
    exchange!(order, it: 0 1, 2 3, 4 5, 6 7, 8 9, 10 11, 12 13);
    block[from..].copy_from_slice(&it);
}
