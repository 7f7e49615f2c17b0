//! Other curves of index over price than the one that value is judged by, to be drawn on demand: each assumes something else.

use ::standing::{gates, isotonic::isotonic, lowess::lowess, ols::least_squares};

use super::field::Field;
use crate::dto::{CurvePoint, OtherCurve};

/// The share of the products that a local line is fitted to, and how often strays are weighed down.
const SHARE: f64 = 2.0 / 3.0;
const STEPS: usize = 3;

/// A straight line, steps and a smooth curve through the middles of the indices; what so many products do not allow has no
/// points and says why.
pub(super) fn others(field: &Field<'_>) -> Vec<OtherCurve> {
    let mut offers: Vec<(f64, f64)> =
        field.all().map(|it| (it.price.real_pair, it.middle())).collect();
    offers.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let prices: Vec<f64> = offers.iter().map(|it| it.0).collect();
    let x: Vec<f64> = prices.iter().map(|it| it.ln()).collect();
    let y: Vec<f64> = offers.iter().map(|it| it.1).collect();
    vec![straight(&prices, &x, &y), steps(&prices, &x, &y), smooth(&prices, &x, &y)]
}

fn curve(id: &str, name: &str, text: String, points: Vec<CurvePoint>) -> OtherCurve {
    OtherCurve { id: id.into(), name: name.into(), text, points }
}

fn too_few(needed: usize, found: usize) -> String {
    format!("Needs {needed} products; there are {found}.")
}

fn straight(prices: &[f64], x: &[f64], y: &[f64]) -> OtherCurve {
    let named = |text, points| curve("least_squares", "Least squares", text, points);
    if x.len() < gates::MIN_CURVE {
        return named(too_few(gates::MIN_CURVE, x.len()), Vec::new());
    }
    let Ok(line) = least_squares(x, y) else {
        return named("All prices are equal; no line follows.".into(), Vec::new());
    };
    let explained = line
        .r2
        .map_or_else(String::new, |it| format!(", which explains {:.0} % of it", it * 100.0));
    let strays = line.studentised.iter().flatten().filter(|it| it.abs() > 3.0).count();
    let strays = match strays {
        0 => String::new(),
        1 => " One product lies far off it and pulls it.".into(),
        n => format!(" {n} products lie far off it and pull it."),
    };
    let text = format!(
        "Twice the money, {:.0} points{explained}. One stray product can turn this line; the one that judges yields less.{strays}",
        line.slope * std::f64::consts::LN_2
    );
    let ends = [prices.first(), prices.last()].into_iter().flatten();
    let points = ends
        .map(|price| CurvePoint { price: *price, index: line.intercept + line.slope * price.ln() })
        .collect();
    named(text, points)
}

fn steps(prices: &[f64], x: &[f64], y: &[f64]) -> OtherCurve {
    let named = |text, points| curve("steps", "Rising steps", text, points);
    if x.len() < gates::MIN_CURVE {
        return named(too_few(gates::MIN_CURVE, x.len()), Vec::new());
    }
    let Ok(levels) = isotonic(x, y, None) else {
        return named("Not computed: an index or a price is out of range.".into(), Vec::new());
    };
    let mut points: Vec<CurvePoint> = Vec::new();
    for (price, level) in prices.iter().zip(&levels) {
        if let Some(last) = points.last() {
            let corner = CurvePoint { price: *price, index: last.index };
            points.push(corner);
        }
        points.push(CurvePoint { price: *price, index: *level });
    }
    let text = "Assumes only that more money does not buy less. It follows the cheapest and the dearest product too closely."
        .to_owned();
    named(text, points)
}

fn smooth(prices: &[f64], x: &[f64], y: &[f64]) -> OtherCurve {
    let named = |text, points| curve("smooth", "Smooth curve", text, points);
    if x.len() < gates::MIN_LOWESS {
        return named(too_few(gates::MIN_LOWESS, x.len()), Vec::new());
    }
    let Ok(fit) = lowess(x, y, SHARE, STEPS) else {
        return named("Not computed: an index or a price is out of range.".into(), Vec::new());
    };
    let points =
        prices.iter().zip(fit).map(|(price, index)| CurvePoint { price: *price, index }).collect();
    let text = "Local lines through two thirds of the products each. It may fall where the sample does; shape, not judgement."
        .to_owned();
    named(text, points)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 12 products; the fits themselves are checked in `standing`.
    #[test]
    fn each_curve_has_points_or_says_what_it_needs() {
        let prices: Vec<f64> = (0..12).map(|it| 150.0 + 20.0 * f64::from(it)).collect();
        let x: Vec<f64> = prices.iter().map(|it| it.ln()).collect();
        let y: Vec<f64> = (0..12).map(|it| 50.0 + f64::from(it % 5)).collect();
        assert_eq!(straight(&prices, &x, &y).points.len(), 2);
        let steps = steps(&prices, &x, &y);
        assert!(steps.points.windows(2).all(|it| it[0].index <= it[1].index));
        let smooth = smooth(&prices, &x, &y);
        assert!(smooth.points.is_empty() && smooth.text == "Needs 20 products; there are 12.");
        assert!(straight(&prices[..9], &x[..9], &y[..9]).points.is_empty());
    }
}
