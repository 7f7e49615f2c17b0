//! Normal deviates, many at once, each from its own place in one long list.
//!
//! The generator is Philox4x32 (J. K. Salmon, M. A. Moraes, R. O. Dror, D. E. Shaw, *Parallel random numbers: as easy as 1, 2, 3*, SC
//! 2011) with 7 rounds, the fewest with which it passed all of BigCrush there: a counter is mixed under a key, so any deviate can be
//! made without those before it, in any order and on any thread.
//!
//! The transform is that of G. E. P. Box and M. E. Muller (1958), in f32, with `ln` by the series of the area tangent and sine and
//! cosine by their Taylor series over an eighth of a turn; relative errors stay below 1e-6, and deviates reach to 6.6.

use super::keys::BLOCK;

/// Rounds of mixing.
const ROUNDS: usize = 7;

/// One deviate a draw of a block.
pub(super) type Deviates = [f32; BLOCK];

/// Four sets of deviates: for draw `from + d` those at the counters `(from + d, a, b, c)` under the key.
#[inline(always)]
pub(super) fn deviates(from: u32, [a, b, c]: [u32; 3], key: [u32; 2], sets: &mut [Deviates; 4]) {
    let [first, second, third, fourth] = sets;
    let sets = first.iter_mut().zip(second).zip(third.iter_mut().zip(fourth));
    for (draw, ((first, second), (third, fourth))) in (from..).zip(sets) {
        let bits = philox::<ROUNDS>([draw, a, b, c], key);
        (*first, *second) = pair(bits[0], bits[1]);
        (*third, *fourth) = pair(bits[2], bits[3]);
    }
}

/// 128 random bits of a counter under a key.
#[inline(always)]
fn philox<const ROUNDS: usize>(mut counter: [u32; 4], mut key: [u32; 2]) -> [u32; 4] {
    let mut round = 0;
    while round < ROUNDS {
        let one = u64::from(counter[0]) * 0xd251_1f53;
        let two = u64::from(counter[2]) * 0xcd9e_8d57;
        let [high_one, high_two] = [one >> 32, two >> 32].map(low);
        counter =
            [high_two ^ counter[1] ^ key[0], low(two), high_one ^ counter[3] ^ key[1], low(one)];
        key = [key[0].wrapping_add(0x9e37_79b9), key[1].wrapping_add(0xbb67_ae85)];
        round += 1;
    }
    counter
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
    // 31 bits, which fit a signed number; never 0.
    let unit = ((one >> 1).cast_signed() as f32 + 0.5) * (1.0 / 2_147_483_648.0);
    let radius = (-2.0 * ln(unit)).sqrt();
    // Two bits say which quarter of the turn, the rest where in it.
    let quarter = two >> 30;
    let (sin, cos) = turned((two << 2).cast_signed() as f32 * (1.0 / 4_294_967_296.0));
    let odd = quarter & 1 == 1;
    let (x, y) = if odd { (sin, cos) } else { (cos, sin) };
    // By quarters: (cos, sin), (-sin, cos), (-cos, -sin), (sin, -cos).
    let x = f32::from_bits(x.to_bits() ^ (((quarter + 1) & 2) << 30));
    let y = f32::from_bits(y.to_bits() ^ ((quarter & 2) << 30));
    (radius * x, radius * y)
}

/// Natural logarithm of a normal number above 0.
#[inline(always)]
fn ln(x: f32) -> f32 {
    // x = m 2^e with m between the roots of 1/2 and of 2.
    let bits = x.to_bits().wrapping_sub(std::f32::consts::FRAC_1_SQRT_2.to_bits());
    let e = bits.cast_signed() >> 23;
    let m = f32::from_bits(x.to_bits().wrapping_sub((e << 23).cast_unsigned()));
    // ln m = 2 artanh s; the next term is below 4e-10.
    let s = (m - 1.0) / (m + 1.0);
    let z = s * s;
    let series = 1.0 + z * (1.0 / 3.0 + z * (1.0 / 5.0 + z * (1.0 / 7.0 + z * (1.0 / 9.0))));
    e as f32 * std::f32::consts::LN_2 + 2.0 * s * series
}

/// Sine and cosine of a quarter turn times `t`, which is from -1/2 to 1/2.
#[inline(always)]
fn turned(t: f32) -> (f32, f32) {
    let x = t * std::f32::consts::FRAC_PI_2;
    let z = x * x;
    // The next terms are below 2e-9 and 3e-8.
    let sin = x * (1.0 - z / 6.0 * (1.0 - z / 20.0 * (1.0 - z / 42.0 * (1.0 - z / 72.0))));
    let cos = 1.0 - z / 2.0 * (1.0 - z / 12.0 * (1.0 - z / 30.0 * (1.0 - z / 56.0)));
    (sin, cos)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Known answers that come with Random123, the authors' library (from memory).
    #[test]
    fn philox_gives_the_known_answers() {
        assert_eq!(
            philox::<10>([0; 4], [0; 2]),
            [0x6627_e8d5, 0xe169_c58d, 0xbc57_ac4c, 0x9b00_dbd8]
        );
        assert_eq!(
            philox::<7>([0; 4], [0; 2]),
            [0x5f6f_b709, 0x0d89_3f64, 0x4f12_1f81, 0x4f73_0a48]
        );
        assert_eq!(
            philox::<10>([u32::MAX; 4], [u32::MAX; 2]),
            [0x408f_276d, 0x41c8_3b0e, 0xa20b_c7c6, 0x6d54_51fd]
        );
    }

    fn many() -> Vec<f32> {
        let mut sets = [[0.0; BLOCK]; 4];
        let mut all = Vec::new();
        for block in 0..2000 {
            deviates(block * 128, [3, 1, 4], [1, 5], &mut sets);
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
        // The smallest unit number gives the farthest deviate.
        let farthest = (-2.0 * ln(0.5 / 2_147_483_648.0)).sqrt();
        assert!((6.6..6.7).contains(&farthest), "{farthest}");
    }

    #[test]
    fn functions_agree_with_those_of_the_standard_library() {
        for step in 1..=20_000_u32 {
            let x = step as f32 / 20_000.0;
            assert!((ln(x) - x.ln()).abs() <= 1e-6 * x.ln().abs().max(0.1), "ln {x}");
            let (sin, cos) = turned(x - 0.5);
            let angle = f64::from(x - 0.5) * std::f64::consts::FRAC_PI_2;
            assert!((f64::from(sin) - angle.sin()).abs() < 2e-7, "sin {x}");
            assert!((f64::from(cos) - angle.cos()).abs() < 2e-7, "cos {x}");
        }
    }

    #[test]
    fn a_deviate_depends_on_its_place_alone() {
        let (mut one, mut other) = ([[0.0; BLOCK]; 4], [[0.0; BLOCK]; 4]);
        deviates(100, [1, 2, 3], [7, 8], &mut one);
        deviates(110, [1, 2, 3], [7, 8], &mut other);
        for (one, other) in one.iter().zip(&other) {
            assert_eq!(one[10..], other[..BLOCK - 10]);
        }
        deviates(100, [2, 2, 3], [7, 8], &mut other);
        assert_ne!(one, other);
    }
}
