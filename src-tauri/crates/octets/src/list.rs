//! Which bits are set, on processors with AVX-512, eight words at a time.
//!
//! Where a bit is set nobody could foretell, so that a branch for each word would be foreseen wrongly too often. Words without a bit
//! are left out first; then, round by round, each word gives its lowest bit, and only those that have more go on.

use std::arch::x86_64::{
    __m512i, _mm512_add_epi64, _mm512_and_si512, _mm512_cvtepi64_epi32, _mm512_lzcnt_epi64,
    _mm512_mask_test_epi64_mask, _mm512_maskz_compress_epi64, _mm512_set1_epi64, _mm512_setr_epi64,
    _mm512_setzero_si512, _mm512_sub_epi64, _mm512_test_epi64_mask,
};

use pulp::bytemuck::cast;

/// Words of a vector.
const WORDS: usize = 8;
/// Words that are gone through together: what is kept of them fits the nearest cache.
const BATCH: usize = 1024;

/// Words, and whole vectors may be written from each of them on.
type Batch = [u64; BATCH + WORDS];

/// Leaves the numbers of all bits that are set in `found`, in any order. There are whole vectors of words.
#[target_feature(enable = "popcnt,avx512f,avx512cd")]
pub(crate) fn list(words: &[u64], found: &mut Vec<u32>) {
    found.clear();
    let (mut bits, mut lasts): (Batch, Batch) = ([0; _], [0; _]);
    let mut last = _mm512_setr_epi64(63, 127, 191, 255, 319, 383, 447, 511);
    for words in words.chunks(BATCH) {
        let mut count = 0;
        for words in words.as_chunks::<WORDS>().0 {
            let words: __m512i = cast(*words);
            let any = _mm512_test_epi64_mask(words, words);
            put(&mut bits, count, _mm512_maskz_compress_epi64(any, words));
            put(&mut lasts, count, _mm512_maskz_compress_epi64(any, last));
            count += any.count_ones() as usize;
            last = _mm512_add_epi64(last, _mm512_set1_epi64(512));
        }
        while count > 0 {
            count = round(count, &mut bits, &mut lasts, found);
        }
    }
}

/// Appends the lowest bit of each of some words, and leaves those that have more; how many these are.
#[inline]
#[target_feature(enable = "popcnt,avx512f,avx512cd")]
fn round(count: usize, bits: &mut Batch, lasts: &mut Batch, found: &mut Vec<u32>) -> usize {
    let from = found.len();
    found.resize(from + count.next_multiple_of(WORDS), 0);
    let mut left = 0;
    for (at, found) in (0..count).step_by(WORDS).zip(found[from..].as_chunks_mut().0) {
        let (word, last) = (get(bits, at), get(lasts, at));
        let lowest = _mm512_and_si512(word, _mm512_sub_epi64(_mm512_setzero_si512(), word));
        let number = _mm512_sub_epi64(last, _mm512_lzcnt_epi64(lowest));
        *found = cast::<_, [u32; WORDS]>(_mm512_cvtepi64_epi32(number));
        let word = _mm512_and_si512(word, _mm512_sub_epi64(word, _mm512_set1_epi64(1)));
        // Beyond the last one there is what was left of others.
        let there = u8::MAX >> WORDS.saturating_sub(count - at);
        let any = _mm512_mask_test_epi64_mask(there, word, word);
        put(bits, left, _mm512_maskz_compress_epi64(any, word));
        put(lasts, left, _mm512_maskz_compress_epi64(any, last));
        left += any.count_ones() as usize;
    }
    found.truncate(from + count);
    left
}

#[inline]
#[target_feature(enable = "avx512f")]
fn get(words: &Batch, at: usize) -> __m512i {
    let mut vector = [0; WORDS];
    vector.copy_from_slice(&words[at..][..WORDS]);
    cast(vector)
}

#[inline]
#[target_feature(enable = "avx512f")]
fn put(words: &mut Batch, at: usize, vector: __m512i) {
    let vector: [u64; WORDS] = cast(vector);
    words[at..][..WORDS].copy_from_slice(&vector);
}
