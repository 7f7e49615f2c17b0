//! Streams of random numbers that depend on their names alone.
//!
//! A stream is named by a seed and by what it is drawn for (a purpose, a product, a finding), so that adding a product,
//! another order or another number of threads changes no other number, and two questions share the draws of what they
//! have in common. The generator is ChaCha with 8 rounds (D. J. Bernstein, 2008), named and pinned, since a library's
//! default generator may change.

use rand_chacha::{
    ChaCha8Rng,
    rand_core::{Rng, SeedableRng},
};

/// A stream of random numbers.
#[derive(Debug, Clone)]
pub struct Stream(ChaCha8Rng);

impl Stream {
    /// The stream of a seed for a purpose, a product and a source; either of the last two may be empty.
    #[must_use]
    pub fn of(seed: u64, purpose: &str, product: &str, source: &str) -> Self {
        let mut key = [0; 32];
        let words = [seed, hash(purpose), hash(product), hash(source)];
        for (bytes, word) in key.chunks_exact_mut(8).zip(words) {
            bytes.copy_from_slice(&word.to_le_bytes());
        }
        Stream(ChaCha8Rng::from_seed(key))
    }

    /// The stream of a name alone.
    #[must_use]
    pub fn named(name: &str) -> Self {
        Stream(ChaCha8Rng::seed_from_u64(hash(name)))
    }

    /// 64 random bits.
    pub fn bits(&mut self) -> u64 {
        self.0.next_u64()
    }

    /// From 0 up to but not including 1, with 53 random bits.
    pub fn unit(&mut self) -> f64 {
        const SCALE: f64 = 1.0 / (1_u64 << 53) as f64;
        (self.bits() >> 11) as f64 * SCALE
    }

    /// A whole number below `n`, which is at least 1; all are equally likely (to n / 2^64).
    pub fn below(&mut self, n: usize) -> usize {
        let wide = u128::from(self.bits()) * n as u128;
        usize::try_from(wide >> 64).unwrap_or_default()
    }

    /// The same for a small `n`, from half as many bits (to n / 2^32).
    fn below_small(&mut self, n: u32) -> usize {
        let wide = u64::from(self.0.next_u32()) * u64::from(n);
        usize::try_from(wide >> 32).unwrap_or_default()
    }

    /// A standard normal deviate (G. E. P. Box, M. E. Muller, Annals of Mathematical Statistics 29 (1958) 610-611).
    pub fn normal(&mut self) -> f64 {
        // The logarithm never sees 0.
        let radius = (-2.0 * (1.0 - self.unit()).ln()).sqrt();
        radius * (std::f64::consts::TAU * self.unit()).cos()
    }

    /// Puts a list into random order (R. Durstenfeld, Communications of the ACM 7 (1964) 420).
    pub fn shuffle<T>(&mut self, list: &mut [T]) {
        for last in (1..list.len()).rev() {
            let other = match u32::try_from(last + 1) {
                Ok(n) => self.below_small(n),
                Err(_) => self.below(last + 1),
            };
            list.swap(last, other);
        }
    }
}

/// FNV-1a, 64 bits: the same for a name on every machine.
#[must_use]
pub fn hash(name: &str) -> u64 {
    name.bytes().fold(0xcbf2_9ce4_8422_2325, |hash, it| {
        (hash ^ u64::from(it)).wrapping_mul(0x0100_0000_01b3)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Test vectors of the FNV reference distribution (from memory): the empty text, "a" and "foobar".
    #[test]
    fn the_hash_is_fnv_1a() {
        for (text, wanted) in [
            ("", 0xcbf2_9ce4_8422_2325),
            ("a", 0xaf63_dc4c_8601_ec8c),
            ("foobar", 0x8594_4171_f739_67e8),
        ] {
            assert_eq!(hash(text), wanted, "{text}");
        }
    }

    #[test]
    fn each_part_of_a_name_makes_another_stream() {
        let first = |mut it: Stream| it.bits();
        let all = [
            first(Stream::of(1, "w", "", "")),
            first(Stream::of(2, "w", "", "")),
            first(Stream::of(1, "f", "", "")),
            first(Stream::of(1, "w", "a", "")),
            first(Stream::of(1, "w", "", "a")),
        ];
        for (at, it) in all.iter().enumerate() {
            assert!(!all[at + 1..].contains(it), "{all:?}");
        }
        assert_eq!(all[0], first(Stream::of(1, "w", "", "")));
    }

    /// Mean, variance and fourth moment of 100,000 normal deviates, within four standard errors of 0, 1 and 3.
    #[test]
    fn normal_deviates_have_the_moments_of_the_normal_distribution() {
        let mut stream = Stream::named("moments");
        let n = 100_000;
        let list: Vec<f64> = (0..n).map(|_| stream.normal()).collect();
        let moment = |power: i32| list.iter().map(|it| it.powi(power)).sum::<f64>() / f64::from(n);
        let root = f64::from(n).sqrt();
        assert!(moment(1).abs() < 4.0 / root);
        assert!((moment(2) - 1.0).abs() < 4.0 * 2_f64.sqrt() / root);
        assert!((moment(4) - 3.0).abs() < 4.0 * 96_f64.sqrt() / root);
    }

    #[test]
    fn a_shuffle_keeps_the_members_and_reaches_every_order() {
        let mut stream = Stream::named("orders");
        let mut seen = std::collections::BTreeSet::new();
        for _ in 0..200 {
            let mut list = [1, 2, 3];
            stream.shuffle(&mut list);
            seen.insert(list);
        }
        assert_eq!(seen.len(), 6);
    }
}
