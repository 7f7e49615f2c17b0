//! Every product ranked in every draw.

use pulp::bytemuck::{cast_slice, cast_slice_mut};
use pulp::{Arch, Simd, WithSimd};

use super::columns::columns;
use super::keys::{BLOCK, Source};
use super::level::Tie;
use super::pairs::Pairs;
use super::ranking::{PIECE, Piece, Worker};
use crate::chunks::in_chunks_with;

/// How often products take ranks.
#[derive(Debug, Clone, PartialEq)]
pub struct Places {
    n: usize,
    pieces: Vec<Piece>,
    counts: Vec<u32>,
    ties: Vec<(Tie, u32)>,
}

impl Places {
    /// Ranks all products in all draws, on up to `threads` threads.
    #[must_use]
    pub fn of<S: Source>(source: &S, threads: usize) -> Self {
        ranked(source, threads, false)
    }

    /// [`Places::of`], and who is before whom.
    #[must_use]
    pub fn with_pairs<S: Source>(source: &S, threads: usize) -> (Self, Pairs) {
        let mut places = ranked(source, threads, true);
        let planes = places.pieces.iter_mut().map(|it| std::mem::take(&mut it.planes)).collect();
        let ties = places.ties.iter().map(|it| it.0).collect();
        let pairs = Pairs::new([places.n, source.draws()], planes, ties);
        (places, pairs)
    }

    /// The draws in which product `i` has rank 1, 2, ..., n; products that are level share the better rank.
    #[must_use]
    pub fn counts(&self, i: usize) -> &[u32] {
        &self.counts[i * self.n..(i + 1) * self.n]
    }

    /// In how many draws each product was in which tie, in the order of the products.
    #[must_use]
    pub fn ties(&self) -> &[(Tie, u32)] {
        &self.ties
    }

    /// The draws, in their order, each with a product that is first; where several are level, each of them with the draw.
    #[must_use]
    pub fn firsts(&self) -> Vec<(usize, usize)> {
        let mut firsts = Vec::new();
        for (from, piece) in (0..).step_by(PIECE * BLOCK).zip(&self.pieces) {
            firsts.extend((from..).zip(piece.firsts.iter().map(|it| usize::from(*it))));
            let joint = piece.level.iter().filter(|it| it.top == 0);
            firsts.extend(joint.map(|it| (from + usize::from(it.draw), usize::from(it.product))));
        }
        firsts.sort_unstable();
        firsts
    }
}

fn ranked<S: Source>(source: &S, threads: usize, ranks: bool) -> Places {
    let (n, pieces) = (source.n(), source.draws().div_ceil(PIECE * BLOCK));
    let work = |it: &mut Worker, piece| it.piece(source, piece);
    let worker = || Worker::new(n, ranks);
    let (pieces, workers) = in_chunks_with(pieces, threads, worker, work);
    let sum = workers.into_iter().reduce(Worker::add).unwrap_or_else(worker);
    let counts = turned(&sum.counts, n);
    let mut ties: Vec<(Tie, u32)> = sum.ties.into_iter().collect();
    ties.sort_unstable();
    Places { n, pieces, counts, ties }
}

/// Rows and columns of a square table exchanged.
fn turned(table: &[u32], n: usize) -> Vec<u32> {
    let mut turned = vec![0; table.len()];
    Arch::new().dispatch(Turn { table, n, turned: &mut turned });
    turned
}

struct Turn<'a> {
    table: &'a [u32],
    n: usize,
    turned: &'a mut [u32],
}

impl WithSimd for Turn<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) {
        let Turn { table, n, turned } = self;
        let rows: Vec<&[f32]> = table.chunks_exact(n).map(cast_slice).collect();
        let groups = rows.chunks_exact(S::F32_LANES);
        let rest = groups.remainder();
        for (from, rows) in (0..).step_by(S::F32_LANES).zip(groups) {
            columns(simd, rows, cast_slice_mut(&mut turned[from..]), n);
        }
        for (row, from) in (n - rest.len()..).zip(rest) {
            for (to, it) in turned[row..].iter_mut().step_by(n).zip(*from) {
                *to = it.to_bits();
            }
        }
    }
}
