//! Prices over time as geometry, from the rows alone.

use domain::{Date, price::Price};
use standing::gates::STALE_DAYS;

use crate::{
    dto::{Axis, PriceChart, PriceDto, PriceMark, PriceRow, Tick},
    pricing::Terms,
};

/// At most so many labels of years fit side by side.
const MOST_YEARS: i32 = 6;

/// The chart; `None` when no price can be converted.
pub(super) fn of(
    prices: &[Price],
    rows: &[PriceRow],
    price: Option<&PriceDto>,
    terms: &Terms,
) -> Option<PriceChart> {
    // Rows are sorted; each finds its day by the text of its date.
    let day_of = |row: &PriceRow| {
        prices.iter().find(|it| it.date.to_string() == row.date).map(|it| it.date.nominal_day())
    };
    let seen: Vec<(f64, f64, &PriceRow)> = rows
        .iter()
        .rev()
        .filter_map(|row| Some((in_years(day_of(row)?), row.real_pair?, row)))
        .collect();
    let (first, ..) = seen.first()?;
    let last = in_years(terms.as_of).max(seen.iter().map(|it| it.0).fold(f64::MIN, f64::max));
    // A year at least, so that one price does not fill the time.
    let (from, to) = (first.floor().min(last - 1.0), last);
    let highest =
        seen.iter().map(|it| it.1).fold(0.0, f64::max).max(price.map_or(0.0, |it| it.real_pair));
    let step = step(highest);
    let top = (highest / step).ceil() * step;
    let x_of = |it: f64| ((it - from) / (to - from)).clamp(0.0, 1.0);
    let marks = seen
        .iter()
        .map(|(day, real, row)| PriceMark {
            x: x_of(*day),
            y: real / top,
            kind: row.kind.clone(),
            counts: row.counts,
            sentence: sentence(row, *real, terms),
        })
        .collect();
    let fresh = in_years(terms.as_of) - f64::from(STALE_DAYS) / 365.25;
    Some(PriceChart {
        description: format!(
            "Real price of a pair over time, {} of {}: {} prices",
            terms.currency.word(),
            terms.base,
            seen.len()
        ),
        x: Axis { title: "asked".into(), ticks: years(from, to, x_of) },
        y: Axis {
            title: format!("a pair, {} of {}", terms.currency.word(), terms.base),
            ticks: amounts(top, step),
        },
        marks,
        level: price.map(|it| it.real_pair / top),
        fresh_from: (fresh < to).then(|| x_of(fresh)),
    })
}

fn in_years(day: Date) -> f64 {
    f64::from(day.year()) + f64::from(day.day_of_year() - 1) / 365.25
}

/// A round step of which two to five lead up to the highest.
fn step(highest: f64) -> f64 {
    let decade = 10_f64.powf((highest / 2.0).max(1.0).log10().floor());
    [1.0, 2.0, 2.5, 5.0]
        .into_iter()
        .rev()
        .map(|it| it * decade)
        .find(|it| *it * 2.0 <= highest)
        .unwrap_or(decade)
}

fn amounts(top: f64, step: f64) -> Vec<Tick> {
    let mut ticks = Vec::new();
    let mut amount = 0.0;
    while amount <= top + step / 2.0 {
        ticks.push(Tick { at: amount / top, label: format!("{amount:.0}") });
        amount += step;
    }
    ticks
}

fn years(from: f64, to: f64, x_of: impl Fn(f64) -> f64) -> Vec<Tick> {
    #[expect(clippy::cast_possible_truncation, reason = "years of the calendar")]
    let (first, last) = (from.ceil() as i32, to.floor() as i32);
    let every = (last - first).div_euclid(MOST_YEARS) + 1;
    (first..=last)
        .rev()
        .step_by(usize::try_from(every).unwrap_or(1))
        .map(|year| Tick { at: x_of(f64::from(year)), label: year.to_string() })
        .collect::<Vec<_>>()
        .into_iter()
        .rev()
        .collect()
}

fn sentence(row: &PriceRow, real: f64, terms: &Terms) -> String {
    let counts =
        if row.counts { "it counts".into() } else { format!("not counted: {}", row.why_not) };
    format!(
        "{}, {} price, {}: {}; a pair is {real:.0} {} of {}; {counts}",
        row.date,
        row.kind,
        row.seller,
        row.asked,
        terms.currency.word(),
        terms.base
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_are_round_and_few() {
        for (highest, wanted) in [(95.0, 25.0), (249.0, 100.0), (510.0, 250.0), (1999.0, 500.0)] {
            let step = step(highest);
            assert!((step - wanted).abs() < 1e-9, "{highest}: {step}");
            assert!((2.0..=6.0).contains(&(highest / step).ceil()));
        }
    }

    #[test]
    fn years_are_labelled_up_to_the_last() {
        let labels = |from, to| -> Vec<String> {
            years(from, to, |it| it).into_iter().map(|it| it.label).collect()
        };
        assert_eq!(labels(2025.0, 2026.9), ["2025", "2026"]);
        assert!(labels(2004.0, 2026.9).len() <= 7);
        assert_eq!(labels(2004.0, 2026.9).last().map(String::as_str), Some("2026"));
    }
}
