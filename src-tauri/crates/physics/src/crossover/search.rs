//! Refining what a grid has bracketed: a lowest point and a zero of a curve that may fail.

use crate::error::Result;

/// Width in ln f at which a search ends: a minimum is not known better, because the curve is flat
/// there to the square of it.
const NARROW: f64 = 1e-8;
/// A curve this near to zero is zero: levels in dB are meant.
const ZERO: f64 = 1e-11;
/// Steps after which a search takes what it has; halving alone would need half of them.
const MOST_STEPS: u32 = 80;
/// (3 − √5)/2, the smaller part of the golden section.
const GOLDEN: f64 = 0.381_966_011_250_105_1;

/// The lowest point of `curve` within `low..=high`, and its value: parabolas through the three best
/// points, and a golden section where they fail.
///
/// Source: R. P. Brent, "Algorithms for Minimization without Derivatives", 1973, chapter 5 (from
/// memory).
pub(super) fn lowest(
    [mut low, mut high]: [f64; 2],
    mut curve: impl FnMut(f64) -> Result<f64>,
) -> Result<(f64, f64)> {
    let start = low + GOLDEN * (high - low);
    let mut best = (start, curve(start)?);
    let (mut second, mut third) = (best, best);
    let (mut step, mut step_before) = (0.0f64, 0.0f64);
    for _ in 0..MOST_STEPS {
        let middle = f64::midpoint(low, high);
        if (best.0 - middle).abs() + (high - low) / 2.0 <= 2.0 * NARROW {
            break;
        }
        let (r, q) =
            ((best.0 - second.0) * (best.1 - third.1), (best.0 - third.0) * (best.1 - second.1));
        let (above, below) = ((best.0 - third.0) * q - (best.0 - second.0) * r, 2.0 * (q - r));
        let parabola = -above / below;
        let inside = low < best.0 + parabola && best.0 + parabola < high;
        // A parabola whose steps do not halve every second time is not trusted.
        if inside && parabola.abs() < step_before.abs() / 2.0 {
            (step, step_before) = (parabola, step);
        } else {
            step_before = if best.0 < middle { high - best.0 } else { low - best.0 };
            step = GOLDEN * step_before;
        }
        let x = best.0 + if step.abs() >= NARROW { step } else { NARROW.copysign(step) };
        let here = (x, curve(x)?);
        if here.1 <= best.1 {
            *(if x < best.0 { &mut high } else { &mut low }) = best.0;
            (best, second, third) = (here, best, second);
        } else {
            *(if x < best.0 { &mut low } else { &mut high }) = x;
            if here.1 <= second.1 || second == best {
                (second, third) = (here, second);
            } else if here.1 <= third.1 || third == best || third == second {
                third = here;
            }
        }
    }
    Ok(best)
}

/// Where `curve` passes zero between two points with their values, which have unlike signs: the chord
/// with Illinois' halving of an end that stays, and plain halving when that is slow. With like signs it
/// is the end nearer to zero.
///
/// Source: M. Dowell and P. Jarratt, BIT 11, 168-174, 1971 (from memory).
pub(super) fn zero(
    ends: [(f64, f64); 2],
    mut curve: impl FnMut(f64) -> Result<f64>,
) -> Result<f64> {
    let [mut kept, mut last] = ends;
    if kept.1.abs() < ZERO || last.1.abs() < ZERO || kept.1 * last.1 > 0.0 {
        return Ok(if kept.1.abs() < last.1.abs() { kept.0 } else { last.0 });
    }
    let mut width = (last.0 - kept.0).abs();
    for step in 0..MOST_STEPS {
        let chord = (kept.0 * last.1 - last.0 * kept.1) / (last.1 - kept.1);
        let slow = step % 4 == 3 && (last.0 - kept.0).abs() > width / 4.0;
        let x = if slow || !chord.is_finite() { f64::midpoint(kept.0, last.0) } else { chord };
        if step % 4 == 3 {
            width = (last.0 - kept.0).abs();
        }
        let y = curve(x)?;
        if y.abs() < ZERO || (last.0 - kept.0).abs() < f64::EPSILON * x.abs() {
            return Ok(x);
        }
        if y * last.1 < 0.0 {
            kept = last;
        } else {
            kept.1 /= 2.0;
        }
        last = (x, y);
    }
    Ok(last.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_minimum_inside_and_at_an_end_is_found_in_few_steps() {
        let mut calls = 0;
        let (x, y) = lowest([0.0, 1.0], |x| {
            calls += 1;
            Ok((x - 0.3).powi(2) + (x - 0.3).powi(4) + 2.0)
        })
        .unwrap();
        assert!((x - 0.3).abs() < 1e-7 && (y - 2.0).abs() < 1e-14, "{x} {y}");
        assert!(calls <= 16, "{calls}");
        let (x, _) = lowest([0.0, 1.0], |x| Ok(-x)).unwrap();
        assert!(x > 1.0 - 1e-7, "{x}");
        let (x, _) = lowest([0.0, 1.0], |x| Ok((x - 0.2).abs())).unwrap();
        assert!((x - 0.2).abs() < 1e-7, "{x}");
    }

    #[test]
    fn a_zero_is_found_in_few_steps_even_of_a_bent_curve() {
        let bent = |x: f64| (20.0 * (x - 0.9)).exp() - 1.0;
        let mut calls = 0;
        let x = zero([(0.0, bent(0.0)), (1.0, bent(1.0))], |x| {
            calls += 1;
            Ok(bent(x))
        })
        .unwrap();
        assert!((x - 0.9).abs() < 1e-12, "{x}");
        assert!(calls <= 20, "{calls}");
        let step = |x: f64| if x < 0.123 { -1.0 } else { 400.0 };
        let x = zero([(0.0, -1.0), (1.0, 400.0)], |x| Ok(step(x))).unwrap();
        assert!((x - 0.123).abs() < 1e-9, "{x}");
    }
}
