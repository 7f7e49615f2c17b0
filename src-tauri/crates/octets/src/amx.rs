//! The sieve on processors that multiply whole matrices of eight-bit numbers (AMX).
//!
//! Sixteen draws times sixteen products are one instruction, up to 64 criteria at a time. The standard library offers these
//! instructions in unstable form only, so they stand here in assembly; what follows them are its safe vectors: scores are taken from
//! a number below the least one that serves, so that a sign says who reaches it.

use std::arch::asm;
use std::arch::x86_64::{
    __cpuid_count, __m512i, _mm512_max_epi32, _mm512_movepi8_mask, _mm512_packs_epi16,
    _mm512_packs_epi32, _mm512_set1_epi32, _mm512_sub_epi32,
};
use std::sync::OnceLock;

use pulp::bytemuck::cast;

use crate::list::list;
use crate::points::{Group, LANES, Points, TALL};
use crate::sieve::{DRAWS, Held, Reached};
use crate::vnni::{LEADING, threshold};

/// The most fours of criteria: rows of a matrix.
const QUADS: usize = 16;
/// Rows and columns of a matrix of scores.
const SIDE: usize = 16;
/// Draws whose signs fill a word.
const PACKED: usize = 4;
/// Words of the signs of a group in a block of draws.
const WORDS: usize = DRAWS / PACKED;
const _: () =
    assert!(DRAWS == 4 * SIDE && LANES == SIDE && TALL == 6, "as the assembly below has it");
/// No whole score comes near it, nor the sum of both.
const FAR: i32 = 1 << 30;

/// Numbers of some products in each draw of a block.
#[derive(Debug, Clone)]
#[repr(align(64))]
struct Block([[i32; LANES]; DRAWS]);

/// Memory of a thread.
#[derive(Debug, Clone)]
pub(crate) struct Matrices {
    /// Scores of the groups of a tile.
    scores: Box<[Block; TALL]>,
    /// The highest scores of leading products, a tile.
    maxima: Box<[Block; TALL]>,
}

impl Matrices {
    /// `None` where they are of no use for these points.
    pub(crate) fn new(points: &Points) -> Option<Self> {
        let block = || Block([[0; LANES]; DRAWS]);
        let tile = || Box::new(std::array::from_fn(|_| block()));
        let serve = points.quads <= QUADS && is_there();
        serve.then(|| Matrices { scores: tile(), maxima: tile() })
    }
}

/// Whether the processor has matrices and the system lends them.
pub(crate) fn is_there() -> bool {
    static IS_THERE: OnceLock<bool> = OnceLock::new();
    *IS_THERE.get_or_init(|| {
        // Intel 64 and IA-32 Architectures Software Developer's Manual, volume 2A, CPUID, leaf 7: AMX-TILE, AMX-INT8.
        let has = __cpuid_count(7, 0).edx;
        has >> 24 & 1 == 1
            && has >> 25 & 1 == 1
            && std::arch::is_x86_feature_detected!("avx512bw")
            && is_lent()
    })
}

/// Asks the system for the registers, which are so large that no program has them unasked.
#[cfg(target_os = "linux")]
fn is_lent() -> bool {
    /// `ARCH_REQ_XCOMP_PERM`, for `XFEATURE_XTILEDATA` (Linux, Documentation/arch/x86/xstate.rst).
    const ASK: libc::c_int = 0x1023;
    const MATRICES: libc::c_ulong = 18;
    #[expect(unsafe_code, reason = "a call of the system")]
    // SAFETY: it takes two numbers and touches no memory.
    let refused = unsafe { libc::syscall(libc::SYS_arch_prctl, ASK, MATRICES) };
    refused == 0
}

#[cfg(not(target_os = "linux"))]
fn is_lent() -> bool {
    false
}

/// As [`crate::vnni::look`], for points that [`Matrices`] serve.
#[target_feature(enable = "popcnt,avx512f,avx512bw,avx512cd")]
pub(crate) fn look(
    points: &Points,
    depth: usize,
    draws: usize,
    held: &mut Held,
    matrices: &mut Matrices,
) {
    let Held { weights, margins, reached, found } = held;
    let Matrices { scores, maxima } = matrices;
    let shapes = Shapes::new(points.quads);
    let registers = Registers::shaped(&shapes);
    let tiles = points.tiles();
    let weights = weights.as_flattened();
    maxima.iter_mut().for_each(|it| it.0.as_flattened_mut().fill(i32::MIN));
    for tile in tiles.clone().take(LEADING) {
        score(&registers, tile, weights, scores);
        for (maxima, scores) in maxima.iter_mut().zip(scores.iter()) {
            for (most, score) in maxima.0.iter_mut().zip(&scores.0) {
                let both = _mm512_max_epi32(cast(*most), cast(*score));
                *most = cast(both);
            }
        }
    }
    // A number less than what is least, from which scores are taken. Nobody reaches what is asked in a draw that is not there.
    let mut below = [FAR; DRAWS];
    for (draw, below) in below[..draws].iter_mut().enumerate() {
        let maxima: [__m512i; TALL] = std::array::from_fn(|group| cast(maxima[group].0[draw]));
        let least = threshold(&maxima, depth).saturating_sub(margins[draw].saturating_mul(2));
        *below = least.clamp(-FAR, FAR) - 1;
    }
    let (words, _) = reached.as_chunks_mut::<WORDS>();
    let (cells, _) = words.as_chunks_mut::<TALL>();
    let mut count = 0;
    for (tile, cells) in tiles.zip(cells) {
        score(&registers, tile, weights, scores);
        for (four, below) in below.as_chunks::<PACKED>().0.iter().enumerate() {
            let below = below.map(|it| _mm512_set1_epi32(it));
            for (words, scores) in cells.iter_mut().zip(scores.iter()) {
                let rows = &scores.0.as_chunks::<PACKED>().0[four];
                let [a, b, c, d]: [__m512i; PACKED] =
                    std::array::from_fn(|it| _mm512_sub_epi32(below[it], cast(rows[it])));
                let reach = _mm512_packs_epi16(_mm512_packs_epi32(a, b), _mm512_packs_epi32(c, d));
                words[four] = _mm512_movepi8_mask(reach);
            }
        }
        count += TALL * WORDS;
    }
    list(&reached[..count], found);
}

/// Which product and draw a bit is of: four numbers of one draw lie beside four of the next, as packing leaves them.
#[inline(always)]
pub(crate) fn of_bit(bit: usize) -> Reached {
    let (word, bit) = (bit / 64, bit % 64);
    let (group, four) = (word / WORDS, word % WORDS);
    let (part, row, column) = (bit / 16, bit / 4 % PACKED, bit % 4);
    Reached { draw: four * PACKED + row, product: group * LANES + part * 4 + column }
}

/// Shapes of the matrices, in the form that the processor reads.
#[repr(C, align(64))]
struct Shapes {
    /// The only set of shapes there is.
    palette: u8,
    start_row: u8,
    reserved: [u8; 14],
    row_bytes: [u16; 16],
    rows: [u8; 16],
    quads: usize,
}

impl Shapes {
    fn new(quads: usize) -> Self {
        let (mut row_bytes, mut rows) = ([0; 16], [0; 16]);
        #[expect(clippy::cast_possible_truncation, reason = "at most 64")]
        for matrix in 0..8 {
            // Four are scores, then two weights, then two points.
            row_bytes[matrix] = if matches!(matrix, 4 | 5) { (quads * 4) as u16 } else { 64 };
            rows[matrix] = if matrix < 6 { SIDE as u8 } else { quads as u8 };
        }
        Shapes { palette: 1, start_row: 0, reserved: [0; 14], row_bytes, rows, quads }
    }
}

/// The registers of this thread, with shapes until this goes. Nothing else in a program that was compiled without these
/// instructions touches them.
struct Registers<'s>(&'s Shapes);

impl<'s> Registers<'s> {
    /// # Panics
    /// For no criteria, or too many.
    fn shaped(shapes: &'s Shapes) -> Self {
        assert!((1..=QUADS).contains(&shapes.quads));
        #[expect(
            unsafe_code,
            reason = "an instruction that the standard library has in unstable form only"
        )]
        // SAFETY: `Matrices` are made only where the processor and the system have it, and it reads the 64 bytes before `quads`, which
        // hold shapes that there are.
        unsafe {
            asm!("ldtilecfg [{}]", in(reg) std::ptr::from_ref(shapes), options(nostack, readonly));
        }
        Registers(shapes)
    }
}

impl Drop for Registers<'_> {
    fn drop(&mut self) {
        #[expect(
            unsafe_code,
            reason = "an instruction that the standard library has in unstable form only"
        )]
        // SAFETY: as where they were given shapes.
        unsafe {
            asm!("tilerelease", options(nostack, nomem));
        }
    }
}

/// The whole scores of the products of a tile in all draws of a block.
///
/// # Panics
/// When points or weights are not of these shapes.
#[inline]
fn score(registers: &Registers<'_>, tile: &[Group], weights: &[u8], scores: &mut [Block; TALL]) {
    let quads = registers.0.quads;
    let row = quads * 4;
    assert!(tile.len() == quads * TALL && weights.len() == DRAWS * row);
    #[expect(
        unsafe_code,
        reason = "instructions that the standard library has in unstable form only"
    )]
    // SAFETY: `Matrices` are made only where the processor and the system have these instructions, and the registers have shapes.
    // They read of weights four times 16 rows of `row` bytes; of the points of each group `quads` rows of 64 bytes, each `TALL` groups
    // after the one before; and write for each group four times 16 rows of 64 bytes. The lengths were just looked at, and the types
    // say the others.
    unsafe {
        asm!(
            // Two matrices of weights, then the other two.
            "mov {halves}, 2",
            "2:",
            "tileloadd tmm4, [{weights} + {row}]",
            "add {weights}, {rows}",
            "tileloadd tmm5, [{weights} + {row}]",
            "add {weights}, {rows}",
            // Two groups at a time: four matrices of scores, of which none waits for another.
            "mov {pairs}, 3",
            "3:",
            "tileloadd tmm6, [{points} + {apart}]",
            "tilezero tmm0",
            "tdpbusd tmm0, tmm4, tmm6",
            "tilezero tmm1",
            "tdpbusd tmm1, tmm5, tmm6",
            "tileloadd tmm7, [{points} + {apart} + 64]",
            "tilezero tmm2",
            "tdpbusd tmm2, tmm4, tmm7",
            "tilezero tmm3",
            "tdpbusd tmm3, tmm5, tmm7",
            "tilestored [{scores} + {side}], tmm0",
            "tilestored [{scores} + {side} + 1024], tmm1",
            "tilestored [{scores} + {side} + 4096], tmm2",
            "tilestored [{scores} + {side} + 5120], tmm3",
            "add {points}, 128",
            "add {scores}, 8192",
            "dec {pairs}",
            "jnz 3b",
            "sub {points}, 384",
            "sub {scores}, 22528",
            "dec {halves}",
            "jnz 2b",
            weights = inout(reg) weights.as_ptr() => _,
            row = in(reg) row,
            rows = in(reg) row * SIDE,
            points = inout(reg) tile.as_ptr() => _,
            apart = in(reg) size_of::<[Group; TALL]>(),
            side = in(reg) size_of::<[i32; LANES]>(),
            scores = inout(reg) scores.as_mut_ptr() => _,
            halves = out(reg) _,
            pairs = out(reg) _,
            out("tmm0") _, out("tmm1") _, out("tmm2") _, out("tmm3") _,
            out("tmm4") _, out("tmm5") _, out("tmm6") _, out("tmm7") _,
            options(nostack),
        );
    }
}
