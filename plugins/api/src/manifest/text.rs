//! Texts of remarks: numbers put into templates.

use std::fmt::Write as _;

/// Most decimals a placeholder may ask for.
const MAX_DECIMALS: usize = 9;

/// A template, taken apart.
enum Piece<'t> {
    Text(&'t str),
    Arg { index: usize, decimals: Option<usize> },
}

/// Puts numbers into the text of a remark.
///
/// `{0}` is the first number as short as it is exact, `{1:.2}` the second one with two decimals, `{{` and `}}` are
/// braces. A number that is not known (NaN) or not sent reads `unknown`.
///
/// ```
/// use bw_sdk::manifest::render;
/// assert_eq!(render("panel mode {0:.0} Hz, wall {1} mm", &[412.4, 12.5]), "panel mode 412 Hz, wall 12.5 mm");
/// ```
#[must_use]
pub fn render(template: &str, args: &[f64]) -> String {
    let Ok(pieces) = parse(template) else {
        // Manifest::parse refuses such a text; shown as it stands it hides nothing.
        return template.to_owned();
    };
    let mut out = String::with_capacity(template.len() + 16);
    for piece in pieces {
        match piece {
            Piece::Text(text) => out.push_str(text),
            Piece::Arg { index, decimals } => match args.get(index).filter(|arg| !arg.is_nan()) {
                Some(&arg) => number(&mut out, arg, decimals),
                None => out.push_str("unknown"),
            },
        }
    }
    out
}

fn number(out: &mut String, value: f64, decimals: Option<usize>) {
    // Adding 0 turns a negative zero into a plain one.
    let value = value + 0.0;
    let start = out.len();
    // Writing to a String cannot fail.
    let _ = match decimals {
        Some(decimals) => write!(out, "{value:.decimals$}"),
        None => write!(out, "{value}"),
    };
    if out[start..].starts_with('-')
        && !out[start..].contains(|c: char| ('1'..='9').contains(&c) || c == 'i')
    {
        out.remove(start);
    }
}

/// Checks a template against the number of arguments it comes with.
pub(super) fn check(template: &str, n_args: usize) -> Result<(), String> {
    for piece in parse(template)? {
        if let Piece::Arg { index, .. } = piece
            && n_args <= index
        {
            return Err(format!("placeholder {{{index}}} has no number: args has {n_args}"));
        }
    }
    Ok(())
}

fn parse(template: &str) -> Result<Vec<Piece<'_>>, String> {
    let mut pieces = Vec::new();
    let mut rest = template;
    while let Some(at) = rest.find(['{', '}']) {
        let (before, from) = rest.split_at(at);
        pieces.push(Piece::Text(before));
        if from.starts_with("{{") || from.starts_with("}}") {
            pieces.push(Piece::Text(&from[..1]));
            rest = &from[2..];
        } else if let Some(inner) = from.strip_prefix('{') {
            let end = inner.find('}').ok_or("a `{` is never closed; write `{{` for a brace")?;
            pieces.push(placeholder(&inner[..end])?);
            rest = &inner[end + 1..];
        } else {
            return Err("a `}` was never opened; write `}}` for a brace".to_owned());
        }
    }
    pieces.push(Piece::Text(rest));
    Ok(pieces)
}

fn placeholder(inner: &str) -> Result<Piece<'_>, String> {
    let (index, decimals) = match inner.split_once(":.") {
        Some((index, decimals)) => (index, Some(decimals)),
        None => (inner, None),
    };
    let digits = |text: &str| {
        text.bytes().all(|it| it.is_ascii_digit()).then(|| text.parse::<usize>().ok()).flatten()
    };
    let wrong = || format!("`{{{inner}}}` is not a placeholder such as {{0}} or {{1:.2}}");
    let index = digits(index).ok_or_else(wrong)?;
    let decimals = match decimals {
        Some(text) => Some(digits(text).filter(|&it| it <= MAX_DECIMALS).ok_or_else(wrong)?),
        None => None,
    };
    Ok(Piece::Arg { index, decimals })
}
