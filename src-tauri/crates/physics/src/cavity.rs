//! Standing waves of a rectangular cabinet with hard walls.
//!
//! Source: H. Kuttruff, Room Acoustics, on the rectangular room (from memory).

use std::cmp::{Ordering, Reverse};
use std::collections::{BinaryHeap, HashSet};

use crate::air::Air;
use crate::error::{PhysicsError, Result, positive, positive_result};

/// The most modes one call lists.
pub const MODES_MAX: usize = 10_000;

/// Modes this close in frequency, relatively, count as equal and are ordered by their indices.
const TIE: f64 = 1e-12;

/// One standing wave.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CavityMode {
    /// Half waves along x.
    pub i: u32,
    /// Half waves along y.
    pub j: u32,
    /// Half waves along z.
    pub k: u32,
    /// Frequency, Hz.
    pub f_hz: f64,
}

/// The `count` lowest modes of a cavity lx × ly × lz (m), lowest first, ties by i, j, k:
/// f = (c/2)·√((i/lx)² + (j/ly)² + (k/lz)²).
///
/// # Errors
/// `OutOfDomain` when a dimension is not positive and finite or `count` is not from 1 to
/// [`MODES_MAX`].
///
/// ```
/// use physics::{air::AIR20, cavity::modes};
/// let lowest = modes(0.32, 0.19, 0.24, 1, &AIR20)?;
/// assert!((lowest[0].f_hz - 536.25).abs() < 1e-9);
/// # Ok::<(), physics::PhysicsError>(())
/// ```
pub fn modes(lx_m: f64, ly_m: f64, lz_m: f64, count: usize, air: &Air) -> Result<Vec<CavityMode>> {
    if !(1..=MODES_MAX).contains(&count) {
        return Err(PhysicsError::out_of_domain(
            "count",
            format!("{count} is not from 1 to {MODES_MAX}"),
        ));
    }
    let base = [
        air.c_m_s() / 2.0 / positive("lx_m", lx_m)?,
        air.c_m_s() / 2.0 / positive("ly_m", ly_m)?,
        air.c_m_s() / 2.0 / positive("lz_m", lz_m)?,
    ];
    // Raising an index always raises the frequency, so the next mode is always among the neighbours
    // of those taken already: a best-first search lists them in order without a bound on the
    // indices.
    let mut open = BinaryHeap::new();
    let mut seen = HashSet::new();
    let mut found: Vec<CavityMode> = Vec::with_capacity(count + 1);
    push_neighbours([0, 0, 0], &base, &mut open, &mut seen)?;
    while let Some(Reverse(Ranked(mode))) = open.pop() {
        if let Some(last) = found.get(count - 1)
            && mode.f_hz > last.f_hz * (1.0 + TIE)
        {
            break;
        }
        found.push(mode);
        push_neighbours([mode.i, mode.j, mode.k], &base, &mut open, &mut seen)?;
    }
    order_ties(&mut found);
    found.truncate(count);
    Ok(found)
}

/// A mode ordered by frequency alone; equal ones are put in order at the end.
struct Ranked(CavityMode);

impl Ord for Ranked {
    fn cmp(&self, other: &Self) -> Ordering {
        self.0.f_hz.total_cmp(&other.0.f_hz)
    }
}

impl PartialOrd for Ranked {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Ranked {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other).is_eq()
    }
}

impl Eq for Ranked {}

fn push_neighbours(
    at: [u32; 3],
    base: &[f64; 3],
    open: &mut BinaryHeap<Reverse<Ranked>>,
    seen: &mut HashSet<[u32; 3]>,
) -> Result<()> {
    for axis in 0..3 {
        let mut next = at;
        next[axis] += 1;
        if seen.insert(next) {
            let [fx, fy, fz] = [0, 1, 2].map(|n| f64::from(next[n]) * base[n]);
            let f_hz = positive_result("modes", fx.hypot(fy).hypot(fz))?;
            let [i, j, k] = next;
            open.push(Reverse(Ranked(CavityMode { i, j, k, f_hz })));
        }
    }
    Ok(())
}

/// Rounding can separate modes that are equal; put such runs in the order of their indices.
fn order_ties(modes: &mut [CavityMode]) {
    let runs = modes.chunk_by_mut(|a, b| b.f_hz <= a.f_hz * (1.0 + TIE));
    for run in runs {
        run.sort_by_key(|mode| (mode.i, mode.j, mode.k));
    }
}
