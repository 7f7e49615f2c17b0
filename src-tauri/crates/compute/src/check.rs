//! Holds an input against its description: unknown keys, missing keys, types, ranges and lengths.

use domain::price::PriceDate;

use crate::fault::{Code, Fault};
use crate::shape::{Choice, Keys, MAP_MAX, Need, Shape, TEXT_MAX};
use crate::value::{Value, joined};

/// The length of `YYYY-MM`.
const MONTH_LEN: usize = 7;

/// Checks an object. Unknown keys are named first, since a mistyped key also leaves one missing.
///
/// # Errors
/// The first fault, with its path.
pub(crate) fn object(entries: &[(String, Value)], keys: &Keys, path: &str) -> Result<(), Fault> {
    for (key, _) in entries {
        if !keys.fields.iter().any(|it| it.key == key) {
            let known: Vec<_> = keys.fields.iter().map(|it| it.key).collect();
            return Err(Fault::new(
                Code::UnknownKey,
                joined(path, key),
                format!("{key:?} is no key here; accepted are {}", known.join(", ")),
            ));
        }
    }
    for choice in keys.choices {
        one_set(entries, choice, path)?;
    }
    for field in keys.fields {
        match entries.iter().find(|(key, _)| key == field.key) {
            Some((key, given)) => value(given, &field.shape, &|| joined(path, key))?,
            None if matches!(field.need, Need::Required) => {
                return Err(missing(path, field.key, &field.shape.words()));
            }
            None => {}
        }
    }
    Ok(())
}

fn missing(path: &str, key: &str, wanted: &str) -> Fault {
    let field = joined(path, key);
    Fault::new(Code::Missing, &field, format!("{field} is missing: {wanted}"))
}

/// Exactly one set of keys, and that one whole.
fn one_set(entries: &[(String, Value)], choice: &Choice, path: &str) -> Result<(), Fault> {
    let given = |key: &&&str| entries.iter().any(|(it, _)| it == **key);
    let mut begun = choice.sets.iter().filter(|set| set.iter().any(|key| given(&key)));
    let sets = || choice.sets.iter().map(|set| set.join(", ")).collect::<Vec<_>>().join("; or ");
    let Some(first) = begun.next() else {
        let all_missing = choice.sets.first().and_then(|set| set.first());
        return match all_missing {
            Some(key) if choice.required => Err(missing(path, key, &format!("give {}", sets()))),
            _ => Ok(()),
        };
    };
    if let Some(second) = begun.next() {
        let one_of = |set: &&[&'static str]| set.iter().find(given).copied().unwrap_or_default();
        let (one, other) = (one_of(first), one_of(second));
        return Err(Fault::inconsistent(
            joined(path, other),
            format!("{one} and {other} exclude each other; give {}", sets()),
        ));
    }
    match first.iter().find(|key| !given(key)) {
        Some(key) => Err(missing(path, key, &format!("it belongs with {}", first.join(", ")))),
        None => Ok(()),
    }
}

fn value(given: &Value, shape: &Shape, path: &dyn Fn() -> String) -> Result<(), Fault> {
    let refused = |what: &str| {
        Err(Fault::out_of_domain(
            path(),
            format!("{what} stands where {} is needed", shape.words()),
        ))
    };
    match (shape, given) {
        (Shape::Number(range), _) => match given.number() {
            Some(number) if range.holds(number) => Ok(()),
            Some(number) => refused(&number.to_string()),
            None => refused(given.kind()),
        },
        (Shape::Integer(low, high), _) => match given.number() {
            Some(number) if is_whole_between(number, *low, *high) => Ok(()),
            Some(number) => refused(&number.to_string()),
            None => refused(given.kind()),
        },
        (Shape::Boolean, Value::Bool(_)) | (Shape::Nullable(_), Value::Null) => Ok(()),
        (Shape::Word(words), Value::Text(text)) => {
            if words.contains(&text.as_str()) {
                Ok(())
            } else {
                refused(&format!("{text:?}"))
            }
        }
        (Shape::Text, Value::Text(text)) => match text.chars().take(TEXT_MAX + 1).count() {
            1..=TEXT_MAX => Ok(()),
            0 => refused("an empty text"),
            _ => refused("a longer text"),
        },
        (Shape::Month, Value::Text(text)) => match text.parse::<PriceDate>() {
            Ok(_) if text.len() <= MONTH_LEN => Ok(()),
            _ => refused(&format!("{text:?}")),
        },
        (Shape::List { of, min, max }, Value::List(items)) => {
            if !(min..=max).contains(&&items.len()) {
                return refused(&format!("a list of {}", items.len()));
            }
            for (at, item) in items.iter().enumerate() {
                value(item, of, &|| format!("{}[{at}]", path()))?;
            }
            Ok(())
        }
        (Shape::Map(of), Value::Object(entries)) => {
            if entries.len() > MAP_MAX {
                return refused(&format!("an object of {} names", entries.len()));
            }
            for (key, item) in entries {
                value(item, of, &|| joined(&path(), key))?;
            }
            Ok(())
        }
        (Shape::Object(keys), Value::Object(entries)) => object(entries, keys, &path()),
        (Shape::Tagged { tag, cases }, Value::Object(entries)) => {
            tagged(entries, tag, cases, &path())
        }
        (Shape::Nullable(of), _) => value(given, of, path),
        (Shape::Any(shapes), _) => match shapes.iter().any(|it| value(given, it, path).is_ok()) {
            true => Ok(()),
            false => refused(given.kind()),
        },
        _ => refused(given.kind()),
    }
}

fn tagged(
    entries: &[(String, Value)],
    tag: &str,
    cases: &[(&str, Keys)],
    path: &str,
) -> Result<(), Fault> {
    let words: Vec<_> = cases.iter().map(|(word, _)| *word).collect();
    let Some((_, given)) = entries.iter().find(|(key, _)| key == tag) else {
        return Err(missing(path, tag, &format!("one of {}", words.join(", "))));
    };
    let case = match given {
        Value::Text(text) => cases.iter().find(|(word, _)| word == text),
        _ => None,
    };
    match case {
        Some((_, keys)) => object(entries, keys, path),
        None => Err(Fault::out_of_domain(
            joined(path, tag),
            format!("{} is none of {}", given.to_line(), words.join(", ")),
        )),
    }
}

#[expect(clippy::cast_precision_loss, reason = "limits are far below 2^53")]
fn is_whole_between(number: f64, low: i64, high: i64) -> bool {
    number.fract() == 0.0 && (low as f64..=high as f64).contains(&number)
}
