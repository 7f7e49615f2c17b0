//! Normal deviates, many at once, each from its own place in one of many long lists.
//!
//! The generator is SplitMix64 (G. L. Steele, D. Lea, C. H. Flood, *Fast splittable pseudorandom number generators*, OOPSLA 2014,
//! which passed all of BigCrush there): a number that grows by a constant is mixed, so any word can be made without those before
//! it, in any order and on any thread. A list starts where the mixed key and number of the list say, as there a generator is split.
//!
//! The transform is that of G. E. P. Box and M. E. Muller (1958), in f32 and by polynomials alone, without a branch or a division.
//! Their coefficients come from a least-maximum fit; radii are off by less than 5e-7 of themselves, sines and cosines by less than
//! 1e-6, and deviates reach to 6.6. All multiply-adds round once, so deviates are the same to the last bit on every machine; one without
//! such an instruction computes it in software.

use pulp::bytemuck::cast_slice;

use super::keys::BLOCK;

/// What a list grows by: 2^64 over the golden ratio, made odd.
const STEP: u64 = 0x9e37_79b9_7f4a_7c15;

/// One deviate a draw of a block.
pub(super) type Deviates = [f32; BLOCK];

/// Two sets of deviates of a block of draws, from the list that starts at `start`.
#[inline(always)]
pub(super) fn deviates(start: u64, block: u64, [first, second]: &mut [Deviates; 2]) {
    let start = start.wrapping_add((block * BLOCK as u64).wrapping_mul(STEP));
    let mut words = [0; BLOCK];
    for (at, word) in (1..).zip(&mut words) {
        // Memory holds the lower half first, on every machine.
        *word = mixed(start.wrapping_add(STEP.wrapping_mul(at))).to_le();
    }
    // The halves of the first words say how far from 0 the two deviates of a draw are together, those of the others in which direction.
    let halves: &[u32] = cast_slice(&words);
    let (radii, turns) = halves.split_at(BLOCK);
    for (((first, second), one), two) in first.iter_mut().zip(second).zip(radii).zip(turns) {
        (*first, *second) = pair(u32::from_le(*one), u32::from_le(*two));
    }
}

/// Where list `[a, b]` of a seed starts.
#[inline(always)]
pub(super) fn start(seed: u64, [a, b]: [u32; 2]) -> u64 {
    let list = u64::from(a) << 32 | u64::from(b);
    mixed(mixed(seed.wrapping_add(STEP)).wrapping_add(list.wrapping_mul(STEP)))
}

/// The mixing function of SplitMix64.
#[inline(always)]
fn mixed(mut z: u64) -> u64 {
    z = (z ^ z >> 30).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ z >> 27).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ z >> 31
}

/// The lower half.
#[inline(always)]
pub(super) fn low(it: u64) -> u32 {
    #[expect(clippy::cast_possible_truncation, reason = "the lower half is meant")]
    let low = it as u32;
    low
}

/// Two independent deviates from 64 random bits.
#[inline(always)]
fn pair(one: u32, two: u32) -> (f32, f32) {
    let radius = radius(one);
    let (sin, cos) = half_turn(two);
    // Of the doubled angle: cos = 1 - 2 sin^2, sin = 2 sin cos; the functions bring a root of 2 each.
    let along = radius * sin;
    (along.mul_add(-sin, radius), along * cos)
}

/// `sqrt(-2 ln u)` for the unit number `u = (bits + 1/2) / 2^31`, of 31 bits.
#[inline(always)]
fn radius(bits: u32) -> f32 {
    /// 2^31 times the root of 1/2.
    const FROM: f32 = std::f32::consts::FRAC_1_SQRT_2 * 2_147_483_648.0;
    /// What an exponent is worth, of which the bits are counted in place.
    const EXPONENT: f32 = -2.0 * std::f32::consts::LN_2 / 8_388_608.0;
    let x = (bits & 0x7fff_ffff).cast_signed() as f32 + 0.5;
    // u = m 2^e with m between the roots of 1/2 and of 2, and e from -32 to 0.
    let bits = x.to_bits().wrapping_sub(FROM.to_bits());
    let e = (bits & 0xff80_0000).cast_signed() as f32;
    let m = f32::from_bits((bits & 0x007f_ffff) + std::f32::consts::FRAC_1_SQRT_2.to_bits());
    // -2 ln(1 + t) / t, off by at most 4e-7 before rounding.
    let t = m - 1.0;
    let series = 0.207_574_32_f32;
    let series = series.mul_add(t, -0.326_762_9);
    let series = series.mul_add(t, 0.344_248_53);
    let series = series.mul_add(t, -0.397_684_72);
    let series = series.mul_add(t, 0.499_431_2);
    let series = series.mul_add(t, -0.666_712_16);
    let series = series.mul_add(t, 1.000_006_9);
    let series = series.mul_add(t, -1.999_999_9);
    t.mul_add(series, e * EXPONENT).sqrt()
}

/// Sine and cosine of a random angle between a quarter turn to the right and one to the left, each times the root of 2.
#[inline(always)]
fn half_turn(bits: u32) -> (f32, f32) {
    let t = bits.cast_signed() as f32 * (1.0 / 2_147_483_648.0);
    let z = t * t;
    // sqrt 2 sin(pi t / 2) / t, off by at most 1e-8 before rounding.
    let sin = 0.000_214_505_84_f32;
    let sin = sin.mul_add(z, -0.006_610_257);
    let sin = sin.mul_add(z, 0.112_698_58);
    let sin = sin.mul_add(z, -0.913_530_7);
    let sin = sin.mul_add(z, 2.221_441_5);
    // sqrt 2 cos(pi t / 2), off by at most 7e-8 before rounding.
    let cos = 0.001_213_664_8_f32;
    let cos = cos.mul_add(z, -0.029_430_673);
    let cos = cos.mul_add(z, 0.358_716_3);
    let cos = cos.mul_add(z, -1.744_712_7);
    let cos = cos.mul_add(z, std::f32::consts::SQRT_2);
    (sin * t, cos)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The first words from 1234567 on, as the reference program of the algorithm gives them (Rosetta Code, "Pseudo-random
    /// numbers/Splitmix64").
    #[test]
    fn words_are_the_known_ones() {
        let known = [
            6_457_827_717_110_365_317,
            3_203_168_211_198_807_973,
            9_817_491_932_198_370_423,
            4_593_380_528_125_082_431,
            16_408_922_859_458_223_821,
        ];
        for (at, known) in (1..).zip(known) {
            assert_eq!(mixed(STEP.wrapping_mul(at).wrapping_add(1_234_567)), known);
        }
    }

    fn many() -> Vec<f32> {
        let mut sets = [[0.0; BLOCK]; 2];
        let mut all = Vec::new();
        for block in 0..4000 {
            deviates(start(1, [3, 4]), block, &mut sets);
            all.extend(sets.as_flattened());
        }
        all
    }

    /// A million deviates: the first six moments within four standard errors of 0, 1, 0, 3, 0, 15, and neighbours unrelated.
    #[test]
    fn moments_are_those_of_the_normal_distribution() {
        let all = many();
        let n = all.len() as f64;
        let moment = |power: i32| all.iter().map(|it| f64::from(*it).powi(power)).sum::<f64>() / n;
        // The variance of x^p is the moment of order 2p less the square of that of order p: 1, 2, 15, 96, 945, 10170.
        for (power, want, variance) in [
            (1, 0.0, 1.0),
            (2, 1.0, 2.0),
            (3, 0.0, 15.0),
            (4, 3.0, 96.0),
            (5, 0.0, 945.0),
            (6, 15.0, 10_170.0),
        ] {
            let bound = 4.0 * f64::sqrt(variance / n);
            assert!((moment(power) - want).abs() < bound, "moment {power} is {}", moment(power));
        }
        for lag in [1, 128, 256] {
            let pairs = all.iter().zip(&all[lag..]);
            let related: f64 = pairs.map(|(a, b)| f64::from(*a) * f64::from(*b)).sum::<f64>() / n;
            assert!(related.abs() < 4.0 / n.sqrt(), "{lag} apart: {related}");
        }
    }

    /// The shares of a million deviates beyond 1 to 4, within four standard errors of 2 (1 - Phi(k)): 0.3173105079, 0.0455002639,
    /// 0.0026997961, 0.0000633425 (scipy 1.17.1 `2*norm.sf`), and as many above as below.
    #[test]
    fn tails_are_those_of_the_normal_distribution() {
        let all = many();
        let n = all.len() as f64;
        for (k, share) in [
            (1.0, 0.317_310_507_9),
            (2.0, 0.045_500_263_9),
            (3.0, 0.002_699_796_1),
            (4.0, 0.000_063_342_5),
        ] {
            let count = |beyond: fn(f32, f32) -> bool| {
                all.iter().filter(|it| beyond(**it, k)).count() as f64
            };
            let (above, below) = (count(|it, k| it > k), count(|it, k| it < -k));
            let error = f64::sqrt(n * share);
            assert!(
                (above + below - n * share).abs() < 4.0 * error,
                "beyond {k}: {}",
                above + below
            );
            assert!((above - below).abs() < 4.0 * error, "beyond {k}: {above} and {below}");
        }
        // The smallest unit number gives the farthest deviate, the greatest none.
        assert!((6.6..6.7).contains(&radius(0)), "{}", radius(0));
        assert!((0.0..1e-6).contains(&radius(u32::MAX)), "{}", radius(u32::MAX));
    }

    #[test]
    fn functions_agree_with_those_of_the_standard_library() {
        for step in 0..200_000_u32 {
            // Evenly over the numbers, and once more over their orders of magnitude.
            for bits in [step * 21_474, (1 << 31 | step << 14) >> (step % 31)] {
                let unit =
                    f64::from((bits & 0x7fff_ffff).cast_signed() as f32 + 0.5) / 2_147_483_648.0;
                let want = (-2.0 * unit.ln()).sqrt();
                assert!((f64::from(radius(bits)) - want).abs() <= 5e-7 * want, "radius {bits}");
                let angle = f64::from(bits.cast_signed()) / 2_147_483_648.0 * std::f64::consts::PI;
                let (x, y) = pair(bits, bits);
                let radius = f64::from(radius(bits));
                assert!(
                    (f64::from(x) - radius * angle.cos()).abs() < 1e-6 * radius.max(0.1),
                    "cos {bits}"
                );
                assert!(
                    (f64::from(y) - radius * angle.sin()).abs() < 1e-6 * radius.max(0.1),
                    "sin {bits}"
                );
            }
        }
    }

    #[test]
    fn a_list_depends_on_its_place_alone() {
        let make = |seed, list, block| {
            let mut sets = [[0.0; BLOCK]; 2];
            deviates(start(seed, list), block, &mut sets);
            sets
        };
        let one = make(7, [1, 2], 3);
        assert_eq!(one, make(7, [1, 2], 3));
        for other in
            [make(8, [1, 2], 3), make(7, [2, 2], 3), make(7, [1, 3], 3), make(7, [1, 2], 4)]
        {
            let alike = one.as_flattened().iter().zip(other.as_flattened());
            assert!(alike.filter(|(a, b)| a.to_bits() == b.to_bits()).count() < 3);
        }
    }
}
