//! In how many draws each product is ranked before each other one.

use pulp::{Arch, Simd, WithSimd};

use super::level::Tie;
use super::planes::{Plane, SIDE, Side, WORDS, depth};
use crate::chunks::in_chunks;

/// Pieces whose wins are added up bit by bit: a bit of each makes a number of three bits.
const GROUP: usize = 7;
/// Pairs that are counted in one piece.
const PAIRS: usize = 256;

/// The ranks of products, draw by draw.
#[derive(Debug, Clone, PartialEq)]
pub struct Pairs {
    n: usize,
    draws: usize,
    /// The planes of each piece.
    pieces: Vec<Vec<Side>>,
    /// Who was ever level with others.
    ties: Vec<Tie>,
}

impl Pairs {
    pub(super) fn new([n, draws]: [usize; 2], pieces: Vec<Vec<Side>>, ties: Vec<Tie>) -> Self {
        Pairs { n, draws, pieces, ties }
    }

    /// The planes of each piece.
    #[cfg(test)]
    pub(super) fn pieces(&self) -> &[Vec<Side>] {
        &self.pieces
    }

    /// The draws in which product `i` scores more than product `j`.
    #[must_use]
    pub fn wins(&self, i: usize, j: usize) -> u32 {
        Arch::new().dispatch(Pair { pieces: &self.pieces, depth: depth(self.n), i, j })
    }

    /// [`Pairs::wins`] of all pairs, a row a product, on up to `threads` threads.
    #[must_use]
    pub fn all_wins(&self, threads: usize) -> Vec<u32> {
        let (n, depth) = (self.n, depth(self.n));
        let sides = n.div_ceil(SIDE);
        // All sides of the first pieces, then of the next ones, so that the planes of some pieces stay in the cache.
        let parts = in_chunks(sides * self.pieces.len().div_ceil(GROUP), threads, |chunk| {
            let pieces = self.pieces.chunks(GROUP).nth(chunk / sides).unwrap_or_default();
            let count = Count { pieces, depth, side: chunk % sides };
            #[cfg(target_arch = "x86_64")]
            if let Some(simd) = pulp::x86::V4::try_new() {
                return simd.vectorize(Joined(simd, count));
            }
            Arch::new().dispatch(count)
        });
        let mut wins = vec![0; n * n];
        for (chunk, part) in parts.iter().enumerate() {
            let from = chunk % sides * SIDE;
            for (i, part) in part.iter().enumerate().take(n) {
                for (j, count) in (from..n).zip(part) {
                    if i < j {
                        wins[i * n + j] += count;
                    }
                }
            }
        }
        self.losses(&mut wins, threads);
        wins
    }

    /// Fills in the other half: who does not win loses, unless the two were ever level.
    fn losses(&self, wins: &mut [u32], threads: usize) {
        let n = self.n;
        let draws = u32::try_from(self.draws).unwrap_or(u32::MAX);
        for i in 0..n {
            for j in i + 1..n {
                wins[j * n + i] = draws - wins[i * n + j];
            }
        }
        let level = self.perhaps_level();
        let counted = in_chunks(level.len().div_ceil(PAIRS), threads, |chunk| {
            let some = level.chunks(PAIRS).nth(chunk).unwrap_or_default();
            some.iter().map(|(i, j)| self.wins(*j, *i)).collect::<Vec<u32>>()
        });
        for ((i, j), count) in level.iter().zip(counted.iter().flatten()) {
            wins[j * n + i] = *count;
        }
    }

    /// All pairs that may have been level in some draw, the smaller number first: each was in a group of the same size at the same
    /// place.
    fn perhaps_level(&self) -> Vec<(usize, usize)> {
        let group = |tie: &Tie| (tie.top, tie.size);
        let mut ties = self.ties.clone();
        ties.sort_unstable_by_key(|it| (group(it), it.product));
        let mut level = vec![false; self.n * self.n];
        for group in ties.chunk_by(|a, b| group(a) == group(b)) {
            for (at, a) in group.iter().enumerate() {
                let row = usize::from(a.product) * self.n;
                for b in &group[at + 1..] {
                    level[row + usize::from(b.product)] = true;
                }
            }
        }
        let pairs = (0..level.len()).filter(|at| level[*at]);
        pairs.map(|at| (at / self.n, at % self.n)).collect()
    }
}

/// The draws in which one product is before another.
struct Pair<'a> {
    pieces: &'a [Vec<Side>],
    depth: usize,
    i: usize,
    j: usize,
}

impl WithSimd for Pair<'_> {
    type Output = u32;

    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) -> u32 {
        let Pair { pieces, depth, i, j } = self;
        let mut sum = 0;
        for piece in pieces {
            let [a, b] = [i, j].map(|it| &piece[it / SIDE * depth..][..depth]);
            let mut less = [0; WORDS];
            for (a, b) in a.iter().zip(b) {
                for ((less, a), b) in less.iter_mut().zip(a[i % SIDE].0).zip(b[j % SIDE].0) {
                    *less = (a ^ b) & b | !(a ^ b) & *less;
                }
            }
            for less in less {
                sum += less.count_ones();
            }
        }
        sum
    }
}

/// Counts, in a group of pieces, the wins of each product over those of a side, for all products up to the end of the side; the wins
/// of these over each other come along, which is as quick as leaving them out.
struct Count<'a> {
    pieces: &'a [Vec<Side>],
    depth: usize,
    side: usize,
}

impl Count<'_> {
    #[inline(always)]
    fn wins<S: Simd>(self, simd: S, less: impl Less<S::u64s>) -> Vec<[u32; SIDE]> {
        let Count { pieces, depth, side } = self;
        let mut wins = vec![[0; SIDE]; (side + 1) * SIDE];
        // Where there are fewer pieces, nobody wins.
        let mut before = [[Side::default(); SIDE]; GROUP];
        for (other, wins) in wins.as_chunks_mut::<SIDE>().0.iter_mut().enumerate() {
            for (piece, before) in pieces.iter().zip(&mut before) {
                let [a, b] = [other, side].map(|it| &piece[it * depth..][..depth]);
                compare(simd, less, a, b, before);
            }
            for (i, wins) in wins.iter_mut().enumerate() {
                for (j, wins) in wins.iter_mut().enumerate() {
                    *wins = ones(before.each_ref().map(|it| &it[i][j]));
                }
            }
        }
        wins
    }
}

impl WithSimd for Count<'_> {
    type Output = Vec<[u32; SIDE]>;

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) -> Vec<[u32; SIDE]> {
        self.wins(simd, |a, b, less| {
            let differ = simd.xor_u64s(a, b);
            simd.xor_u64s(less, simd.and_u64s(differ, simd.xor_u64s(less, b)))
        })
    }
}

/// The same where three vectors are joined in one instruction, which compilers do not find by themselves.
#[cfg(target_arch = "x86_64")]
struct Joined<'a>(pulp::x86::V4, Count<'a>);

#[cfg(target_arch = "x86_64")]
impl pulp::NullaryFnOnce for Joined<'_> {
    type Output = Vec<[u32; SIDE]>;

    #[inline(always)]
    fn call(self) -> Vec<[u32; SIDE]> {
        use pulp::bytemuck::cast;
        let Joined(simd, count) = self;
        count.wins(simd, |a, b, less| {
            // Of `a`, `b` and `less`, the bit in each of the eight cases from 111 down to 000.
            const LESS: i32 = 0b1000_1110;
            cast(simd.avx512f._mm512_ternarylogic_epi64::<LESS>(cast(a), cast(b), cast(less)))
        })
    }
}

/// Goes on comparing with the next higher bits of `a` and `b`: where they differ, they decide; else what the lower bits say stays.
trait Less<V>: Fn(V, V, V) -> V + Copy {}

impl<V, F: Fn(V, V, V) -> V + Copy> Less<V> for F {}

/// In which draws each product of a side with the planes `a` is before each of one with the planes `b`.
#[inline(always)]
fn compare<S: Simd>(
    simd: S,
    step: impl Less<S::u64s>,
    a: &[Side],
    b: &[Side],
    before: &mut [Side; SIDE],
) {
    for word in 0..WORDS / S::U64_LANES {
        let mut less = [[simd.splat_u64s(0); SIDE]; SIDE];
        for (a, b) in a.iter().zip(b) {
            for (less, a) in less.iter_mut().zip(a) {
                let a = S::as_simd_u64s(&a.0).0[word];
                for (less, b) in less.iter_mut().zip(b) {
                    *less = step(a, S::as_simd_u64s(&b.0).0[word], *less);
                }
            }
        }
        for (before, less) in before.iter_mut().zip(less) {
            for (before, less) in before.iter_mut().zip(less) {
                S::as_mut_simd_u64s(&mut before.0).0[word] = less;
            }
        }
    }
}

/// How many bits are set: first added up to numbers of three bits at each place, since counting takes longer than adding.
#[inline(always)]
fn ones([a, b, c, d, e, f, g]: [&Plane; GROUP]) -> u32 {
    let (sum, one) = add(a, b, c);
    let (sum, two) = add(&sum, d, e);
    let (sum, three) = add(&sum, f, g);
    let (twos, fours) = add(&one, &two, &three);
    let mut total = 0_u64;
    for ((one, two), four) in sum.0.iter().zip(&twos.0).zip(&fours.0) {
        // Of 64 bits like the words, so that vectors need not be cut.
        let [one, two, four] = [one, two, four].map(|it| u64::from(it.count_ones()));
        total += one + 2 * two + 4 * four;
    }
    // At most 64 for each word and piece.
    u32::try_from(total).unwrap_or(u32::MAX)
}

/// The sums of three bits, and what they carry.
#[inline(always)]
fn add(a: &Plane, b: &Plane, c: &Plane) -> (Plane, Plane) {
    let (mut sum, mut carry) = (Plane::default(), Plane::default());
    for word in 0..WORDS {
        let (a, b, c) = (a.0[word], b.0[word], c.0[word]);
        sum.0[word] = a ^ b ^ c;
        carry.0[word] = a & b | c & (a ^ b);
    }
    (sum, carry)
}
