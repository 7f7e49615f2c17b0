//! The number at the front of a reading: whole, decimal, exponent form, fraction or mixed fraction.

use super::Why;

/// The largest power of ten; keeps every accepted number finite in any unit.
pub(super) const LARGEST_EXPONENT: i32 = 30;

#[derive(Debug, Clone, Copy)]
pub(super) struct Number {
    pub(super) value: f64,
    /// The size of one step of the last digit, or 1 / denominator.
    pub(super) step: f64,
    /// Typed as digits only.
    pub(super) is_whole: bool,
}

/// Takes one number off the front: whole, decimal, exponent form, fraction or mixed fraction.
pub(super) fn number(text: &str) -> Result<(Number, &str), Why> {
    let (run, rest) = split_run(text, |c| c.is_ascii_digit() || c == '.' || c == ',');
    if run.is_empty() {
        return Err(Why::NoNumber);
    }
    let several = || {
        let (numbers, _) = split_run(text, |c| c.is_ascii_digit() || ". ,/-".contains(c));
        Why::SeveralNumbers { numbers: numbers.trim_end().to_owned() }
    };
    let (number, rest) = if let Some(after) = rest.strip_prefix('/') {
        let (denominator, rest) = split_run(after, |c| c.is_ascii_digit());
        (fraction(None, run, denominator)?, rest)
    } else if is_digits(run)
        && let Some((numerator, denominator, rest)) = fraction_after_whole(rest)
    {
        (fraction(Some(run), numerator, denominator)?, rest)
    } else {
        decimal(run, rest)?
    };
    if rest.starts_with(['-', '/', '.', ','])
        || rest.trim_start().starts_with(|c: char| c.is_ascii_digit())
    {
        return Err(several());
    }
    Ok((number, rest))
}

/// The numerator, denominator and rest of ` 1/2…` or `-1/2…`.
fn fraction_after_whole(text: &str) -> Option<(&str, &str, &str)> {
    let (numerator, rest) = split_run(text.strip_prefix([' ', '-'])?, |c| c.is_ascii_digit());
    let (denominator, rest) = split_run(rest.strip_prefix('/')?, |c| c.is_ascii_digit());
    (!numerator.is_empty()).then_some((numerator, denominator, rest))
}

fn fraction(whole: Option<&str>, numerator: &str, denominator: &str) -> Result<Number, Why> {
    let fraction = format!("{numerator}/{denominator}");
    let digits = |text: &str| if is_digits(text) { text.parse::<f64>().ok() } else { None };
    let (Some(n), Some(d)) = (digits(numerator), digits(denominator)) else {
        return Err(Why::NotANumber { number: fraction });
    };
    if d < 1.0 {
        return Err(Why::ZeroDenominator { fraction });
    }
    let value = match whole {
        None => n / d,
        Some(whole) => {
            let Some(whole) = digits(whole) else {
                return Err(Why::NotANumber { number: format!("{whole} {fraction}") });
            };
            if n >= d {
                return Err(Why::ImproperMixed { fraction });
            }
            whole + n / d
        }
    };
    Ok(Number { value, step: 1.0 / d, is_whole: false })
}

/// Reads a run of digits and separators, with the power of ten that may stand at the start of `rest`.
fn decimal<'a>(run: &str, rest: &'a str) -> Result<(Number, &'a str), Why> {
    if run.matches(['.', ',']).count() > 1 {
        return Err(Why::Separators { number: run.to_owned() });
    }
    let bad = || Why::NotANumber { number: run.to_owned() };
    let (head, tail) = run.split_once(['.', ',']).unwrap_or((run, ""));
    let has_comma = run.contains(',');
    if run.ends_with(['.', ',']) || (has_comma && head.is_empty()) {
        return Err(bad());
    }
    // Three digits after the comma and one to three before it is also how thousands are grouped.
    if has_comma && tail.len() == 3 && head.len() <= 3 && !head.starts_with('0') {
        let decimal = format!("{head}.{tail}");
        return Err(Why::AmbiguousComma {
            number: run.to_owned(),
            decimal: decimal.trim_end_matches('0').trim_end_matches('.').to_owned(),
            whole: format!("{head}{tail}"),
        });
    }
    let (exponent, rest) = match exponent(rest) {
        Some((text, rest)) => (text.parse::<i32>().map_err(|_| Why::Exponent)?, rest),
        None => (0, rest),
    };
    if exponent.abs() > LARGEST_EXPONENT {
        return Err(Why::Exponent);
    }
    let value = format!("{head}.{tail}e{exponent}").parse::<f64>().map_err(|_| bad())?;
    let decimals = i32::try_from(tail.len()).map_err(|_| bad())?;
    let step = 10_f64.powi(exponent - decimals);
    Ok((Number { value, step, is_whole: is_digits(run) && exponent == 0 }, rest))
}

/// Splits `e-3…` into `-3` and what follows.
fn exponent(text: &str) -> Option<(&str, &str)> {
    let after = text.strip_prefix(['e', 'E'])?;
    let sign = usize::from(after.starts_with(['-', '+']));
    let (digits, rest) = split_run(&after[sign..], |c| c.is_ascii_digit());
    (!digits.is_empty()).then(|| (&after[..sign + digits.len()], rest))
}

pub(super) fn is_digits(text: &str) -> bool {
    !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit())
}

fn split_run(text: &str, belongs: impl Fn(char) -> bool) -> (&str, &str) {
    text.split_at(text.find(|c| !belongs(c)).unwrap_or(text.len()))
}
