//! Readings as the bench types them: `1 lb 6 oz`, `11/16 in`, `0.47 mH`, `18 AWG`, `4,7 µF`.
//!
//! A text that could mean two numbers is refused; the error shows the text and the accepted forms.
//! The last digit or the denominator typed says how finely the instrument was read.

mod number;

use crate::unit::{AWG, Case, Dimension, Unit, awg_area_m2, awg_of_area, one_spelling};
use number::{LARGEST_EXPONENT, Number, is_digits, number};

/// The longest text that is read, in characters.
const LONGEST: usize = 64;
const NO_BREAK_SPACE: char = '\u{a0}';

/// A number in SI units with the unit it was typed in.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// The value in the SI unit of the dimension; finite.
    pub si: f64,
    /// The symbols of the units typed, large to small: `in`, `lb oz`, `AWG`; empty for a plain number.
    pub unit: String,
    /// Standard uncertainty from rounding, in SI units: half a step of the last digit or of the denominator,
    /// taken as rectangular (JCGM 100:2008 4.3.7), so divided by √3.
    ///
    /// A reduced fraction hides a finer scale (`1/2` may have been read to 1/16), so this can be too large.
    /// `None` for a wire gauge: it names a size and rounds nothing.
    pub rounding_u_si: Option<f64>,
}

/// A text that is not a reading.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("cannot read {text:?}: {why}; accepted: {accepted}")]
pub struct ReadingError {
    /// The text as typed, shortened when it is too long.
    pub text: String,
    /// What is wrong with it.
    pub why: Why,
    /// What can be written instead.
    pub accepted: String,
}

/// What is wrong with a text that should be a reading.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[expect(missing_docs, reason = "the message of each variant says what it and its text mean")]
pub enum Why {
    #[error("nothing is written")]
    Empty,
    #[error("longer than {LONGEST} characters")]
    TooLong,
    #[error("a control character, such as a tab or a line break")]
    ControlCharacter,
    #[error("no number at the start")]
    NoNumber,
    #[error("{dimension} takes no sign")]
    Sign { dimension: &'static str },
    #[error("{number:?} is not a number")]
    NotANumber { number: String },
    #[error("{number:?} could be {decimal} or {whole}")]
    AmbiguousComma { number: String, decimal: String, whole: String },
    #[error("{number:?} has more than one separator")]
    Separators { number: String },
    #[error("{numbers:?} is not one number")]
    SeveralNumbers { numbers: String },
    #[error("{fraction:?} divides by zero")]
    ZeroDenominator { fraction: String },
    #[error("the fraction after a whole number must be less than 1, not {fraction}")]
    ImproperMixed { fraction: String },
    #[error("the power of ten is outside -{LARGEST_EXPONENT} to {LARGEST_EXPONENT}")]
    Exponent,
    #[error("{dimension} needs a unit after {number:?}")]
    MissingUnit { number: String, dimension: &'static str },
    #[error("{unit:?} is not a unit of {dimension}")]
    UnknownUnit { unit: String, dimension: &'static str },
    #[error("{unit:?} starts with a capital M, which means mega")]
    Mega { unit: String, meant: &'static str },
    #[error("{rest:?} does not belong to the reading")]
    Trailing { rest: String },
    #[error("units of a sum go from large to small, {after} does not come after {before}")]
    Order { before: &'static str, after: &'static str },
    #[error("only the last number of a sum may have a fraction")]
    FractionInSum,
    #[error("{part:?} is not less than 1 {unit}")]
    PartTooLarge { part: String, unit: &'static str },
    #[error("{gauge:?} is not a wire gauge")]
    Gauge { gauge: String },
    #[error("{number} without a unit is more than the whole")]
    AboveWhole { number: String },
    #[error("not a count")]
    NotACount,
}

impl Why {
    fn accepted(&self, dimension: Dimension) -> String {
        match self {
            Why::AmbiguousComma { decimal, whole, .. } => format!("{decimal} or {whole}"),
            Why::Separators { .. } => {
                "one decimal point and no thousands separators, such as 1234.5".to_owned()
            }
            Why::SeveralNumbers { .. } => "one number, such as 1200, 12.5 or 1 1/2".to_owned(),
            Why::Mega { meant, .. } => (*meant).to_owned(),
            Why::MissingUnit { .. } | Why::UnknownUnit { .. } => dimension.accepted(),
            Why::Gauge { .. } => "0 AWG to 40 AWG, 1/0 AWG to 4/0 AWG".to_owned(),
            Why::AboveWhole { .. } => "a plain number from 0 to 1, or a number with %".to_owned(),
            _ if dimension == Dimension::One => "a plain number, such as 0.35 or 1/2".to_owned(),
            _ => format!(
                "a number, such as 12.5, 0,47 or 1 1/2, with a unit: {}",
                dimension.accepted()
            ),
        }
    }
}

fn error(text: &str, why: Why, accepted: String) -> ReadingError {
    let mut shown: String = text.chars().take(LONGEST).collect();
    if shown.len() < text.len() {
        shown.push('…');
    }
    ReadingError { text: shown, why, accepted }
}

/// Reads one quantity.
///
/// # Errors
/// [`ReadingError`] when the text is not one unambiguous reading of the dimension.
pub fn parse(text: &str, dimension: Dimension) -> Result<Reading, ReadingError> {
    read(text, dimension).map_err(|why| {
        let accepted = why.accepted(dimension);
        error(text, why, accepted)
    })
}

/// Reads quantities separated by `;`.
///
/// # Errors
/// [`ReadingError`] for the first entry that is not a reading; an empty entry is none.
pub fn parse_list(text: &str, dimension: Dimension) -> Result<Vec<Reading>, ReadingError> {
    text.split(';').map(|it| parse(it, dimension)).collect()
}

/// Reads a whole number of things.
///
/// # Errors
/// [`ReadingError`] unless the text is digits only and fits.
pub fn parse_count(text: &str) -> Result<u32, ReadingError> {
    let count = |text: &str| {
        let clean = clean(text)?;
        // `u32::parse` alone would let a plus sign through.
        if is_digits(&clean) {
            clean.parse().map_err(|_| Why::NotACount)
        } else {
            Err(Why::NotACount)
        }
    };
    count(text).map_err(|why| error(text, why, format!("a whole number from 0 to {}", u32::MAX)))
}

fn clean(text: &str) -> Result<String, Why> {
    // Blanks at the ends are no part of what was typed; a line break is, since two lines are two readings.
    let text = text.trim_matches(|it: char| it.is_whitespace() && !it.is_control());
    if text.chars().nth(LONGEST).is_some() {
        return Err(Why::TooLong);
    }
    if text.chars().any(char::is_control) {
        return Err(Why::ControlCharacter);
    }
    let clean = one_spelling(text);
    if clean.is_empty() { Err(Why::Empty) } else { Ok(clean) }
}

fn read(text: &str, dimension: Dimension) -> Result<Reading, Why> {
    let clean = clean(text)?;
    if dimension == Dimension::WireSize
        && let Some(text) = gauge_text(&clean)
    {
        let gauge = gauge(text).ok_or_else(|| Why::Gauge { gauge: text.to_owned() })?;
        return Ok(Reading { si: awg_area_m2(gauge), unit: AWG.to_owned(), rounding_u_si: None });
    }
    let unsigned = clean.strip_prefix(['-', '+']);
    if unsigned.is_some() && dimension != Dimension::Level {
        return Err(Why::Sign { dimension: dimension.name() });
    }
    let sign = if clean.starts_with('-') { -1.0 } else { 1.0 };
    let (magnitude, units, step) = sum(unsigned.unwrap_or(&clean), dimension)?;
    Ok(Reading {
        si: sign * magnitude,
        unit: units.join(" "),
        rounding_u_si: Some(step / 2.0 / 3_f64.sqrt()),
    })
}

/// Reads `number unit` once or, with ever smaller units, several times: SI value, symbols, SI size of the last step.
fn sum(text: &str, dimension: Dimension) -> Result<(f64, Vec<&'static str>, f64), Why> {
    let mut rest = text;
    let mut si = 0.0;
    let mut symbols = Vec::new();
    let mut larger: Option<(&'static Unit, Number)> = None;
    loop {
        let (number, after) = number(rest).map_err(|why| match why {
            Why::NoNumber if larger.is_some() => Why::Trailing { rest: rest.to_owned() },
            other => other,
        })?;
        let typed = &rest[..rest.len() - after.len()];
        let (unit, after) = leading_unit(after.trim_start(), typed, dimension)?;
        if dimension == Dimension::Fraction && unit.symbol.is_empty() && number.value > 1.0 {
            return Err(Why::AboveWhole { number: typed.to_owned() });
        }
        let part_si = number.value * unit.to_si;
        if let Some((before, whole)) = larger {
            if unit.to_si >= before.to_si {
                return Err(Why::Order { before: before.symbol, after: unit.symbol });
            }
            if !whole.is_whole {
                return Err(Why::FractionInSum);
            }
            // 12 in is 1 ft, though 12 × 0.0254 rounds to a little less.
            if part_si >= before.to_si * (1.0 - 1e-12) {
                let part = rest[..rest.len() - after.len()].trim_end().to_owned();
                return Err(Why::PartTooLarge { part, unit: before.symbol });
            }
        }
        si += part_si;
        symbols.push(unit.symbol);
        rest = after.trim_start();
        if rest.is_empty() {
            return Ok((si, symbols, number.step * unit.to_si));
        }
        larger = Some((unit, number));
    }
}

fn leading_unit<'a>(
    text: &'a str,
    number: &str,
    dimension: Dimension,
) -> Result<(&'static Unit, &'a str), Why> {
    if text.is_empty() {
        return dimension.unit("").map(|it| (it, text)).ok_or_else(|| Why::MissingUnit {
            number: number.to_owned(),
            dimension: dimension.name(),
        });
    }
    if let Some((unit, len)) = dimension.leading_unit(text, Case::Kept) {
        return Ok((unit, &text[len..]));
    }
    if let Some((unit, len)) = dimension.leading_unit(text, Case::Free) {
        return Err(Why::Mega { unit: text[..len].to_owned(), meant: unit.symbol });
    }
    if dimension == Dimension::One {
        return Err(Why::Trailing { rest: text.to_owned() });
    }
    let unit = text.split(' ').next().unwrap_or(text).to_owned();
    Err(Why::UnknownUnit { unit, dimension: dimension.name() })
}

/// What stands beside `AWG`, `ga` or `gauge`, if one of them opens or closes the text.
fn gauge_text(text: &str) -> Option<&str> {
    let front =
        text.get(..AWG.len()).filter(|it| it.eq_ignore_ascii_case(AWG)).map(|it| &text[it.len()..]);
    let back = |word: &str| {
        let at = text.len().checked_sub(word.len())?;
        text.get(at..).filter(|it| it.eq_ignore_ascii_case(word)).map(|_| &text[..at])
    };
    front.or_else(|| [AWG, "gauge", "ga"].into_iter().find_map(back)).map(str::trim)
}

/// The gauge number: 0 to 40; 0, -1, -2, -3 for 1/0 to 4/0, which are also written 0 to 0000.
fn gauge(text: &str) -> Option<i8> {
    match text {
        "0" | "1/0" => Some(0),
        "00" | "2/0" => Some(-1),
        "000" | "3/0" => Some(-2),
        "0000" | "4/0" => Some(-3),
        _ if is_digits(text) => text.parse().ok().filter(|it| (1..=40).contains(it)),
        _ => None,
    }
}

/// An SI value in another unit, AWG included; `None` when the unit is not of the dimension or has no such value.
#[must_use]
pub fn in_unit(si: f64, dimension: Dimension, symbol: &str) -> Option<f64> {
    if dimension == Dimension::WireSize && symbol == AWG {
        return awg_of_area(si);
    }
    dimension.unit(symbol).map(|it| si / it.to_si).filter(|it| it.is_finite())
}

/// The value as people read it: `17.46 mm`, with a no-break space and a true minus sign.
///
/// Rounded to the second significant figure of the standard uncertainty `u` (JCGM 100:2008 7.2.6); without one,
/// to four significant figures. What has no value in the wanted unit is shown in the SI unit.
#[must_use]
pub fn shown(si: f64, u: Option<f64>, dimension: Dimension, symbol: &str) -> String {
    if !si.is_finite() {
        return "not a number".to_owned();
    }
    let (value, symbol) = match in_unit(si, dimension, symbol) {
        Some(value) => (value, symbol),
        None => (si, dimension.si_symbol()),
    };
    let is_gauge = dimension == Dimension::WireSize && symbol == AWG;
    // A gauge is a logarithm of the area, so its uncertainty goes with the relative one of the area.
    let per_unit =
        if is_gauge { 2.0 * si * 92_f64.ln() / 39.0 } else { si_size(dimension, symbol) };
    let u = u.map(|it| it / per_unit).filter(|it| it.is_finite() && *it > 0.0);
    let figure = match whole_gauge(value) {
        Some(label) if is_gauge => label,
        _ => figure(value, u),
    };
    // A person at a keyboard writes ohm; print takes the symbol of the SI brochure.
    let printed = dimension.unit(symbol).map_or(symbol, |it| it.symbol).replace("ohm", "Ω");
    if printed.is_empty() { figure } else { format!("{figure}{NO_BREAK_SPACE}{printed}") }
}

/// The value with its standard uncertainty: `17.46 ± 0.29 mm`, both to the second figure of the uncertainty.
#[must_use]
pub fn shown_with_u(si: f64, u: f64, dimension: Dimension, symbol: &str) -> String {
    let text = shown(si, Some(u), dimension, symbol);
    let unit =
        if in_unit(si, dimension, symbol).is_some() { symbol } else { dimension.si_symbol() };
    // A gauge is no linear scale, so that a spread in gauges would mislead.
    if unit == AWG || !(u.is_finite() && u > 0.0) {
        return text;
    }
    let spread = u / si_size(dimension, unit);
    let (number, unit) = match text.split_once(NO_BREAK_SPACE) {
        Some((number, unit)) if !unit.starts_with('×') => {
            (number, format!("{NO_BREAK_SPACE}{unit}"))
        }
        Some(_) => return text,
        None => (text.as_str(), String::new()),
    };
    format!("{number}{NO_BREAK_SPACE}±{NO_BREAK_SPACE}{}{unit}", figure(spread, Some(spread)))
}

/// What a typed text means in another unit, with no more digits than were typed; the text itself where the unit is the same.
#[must_use]
pub fn shown_as_typed(typed: &str, dimension: Dimension, symbol: &str) -> String {
    /// Turns the half step's uncertainty into a spread whose second figure is the last digit that the text supports.
    const DIGITS: f64 = 20.0;
    let same_unit = |it: &Reading| dimension.unit(&it.unit).map(|it| it.symbol) == Some(symbol);
    match parse(typed, dimension) {
        Ok(it) if dimension != Dimension::One && !same_unit(&it) && it.rounding_u_si.is_some() => {
            shown(it.si, it.rounding_u_si.map(|u| u * DIGITS), dimension, symbol)
        }
        _ => typed.to_owned(),
    }
}

fn si_size(dimension: Dimension, symbol: &str) -> f64 {
    dimension.unit(symbol).map_or(1.0, |it| it.to_si)
}

/// `18`, or `2/0` for -1, when the gauge is one that is made.
fn whole_gauge(gauge: f64) -> Option<String> {
    let whole = gauge.round();
    if (gauge - whole).abs() > 1e-6 || !(-3.0..=40.0).contains(&whole) {
        return None;
    }
    Some(if whole > 0.0 { format!("{whole:.0}") } else { format!("{:.0}/0", 1.0 - whole) })
}

/// Digits down to the second figure of `u`, or four figures without it.
fn figure(value: f64, u: Option<f64>) -> String {
    let power =
        |it: String| it.split_once('e').and_then(|(_, e)| e.parse::<i32>().ok()).unwrap_or(0);
    // Taken from the rounded text, so that 0.0996 counts as 0.10 and 9.9996 as 10.00.
    let top = power(format!("{value:.3e}"));
    let last = match u {
        Some(u) => power(format!("{u:.1e}")) - 1,
        None if value.abs() > 0.0 => top - 3,
        None => 0,
    };
    // An f64 holds 15 figures.
    let last = last.max(top - 14);
    let figures = |count: i32| usize::try_from(count).unwrap_or(0);
    let text = if value.abs() < 10_f64.powi(last) / 2.0 && (top > 9 || last < -9) {
        "0".to_owned()
    } else if top > 9 || last < -9 {
        let text = format!("{:.*e}", figures(top - last), value);
        let (digits, power) = text.split_once('e').unwrap_or((&text, "0"));
        format!(
            "{digits}{NO_BREAK_SPACE}×{NO_BREAK_SPACE}10{}",
            power.chars().map(superscript).collect::<String>()
        )
    } else if last > 0 {
        let step = 10_f64.powi(last);
        format!("{:.0}", (value / step).round() * step)
    } else {
        format!("{:.*}", figures(-last), value)
    };
    match text.strip_prefix('-') {
        Some(zero) if !zero.contains(|c: char| ('1'..='9').contains(&c)) => zero.to_owned(),
        Some(magnitude) => format!("−{magnitude}"),
        None => text,
    }
}

fn superscript(c: char) -> char {
    const DIGITS: [char; 10] = ['⁰', '¹', '²', '³', '⁴', '⁵', '⁶', '⁷', '⁸', '⁹'];
    match c {
        '-' => '⁻',
        _ => c.to_digit(10).and_then(|it| DIGITS.get(it as usize)).copied().unwrap_or(c),
    }
}

#[cfg(test)]
mod tests;
