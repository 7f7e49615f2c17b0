//! What a calculation is, for people: formula, values with units and ranges, validity, source, an
//! example.

use std::fmt::Write;

use crate::schema::default_value;
use crate::shape::{Calculation, Field, Keys, Need, Shape};
use crate::value::Value;

/// The text, with a line end.
pub(crate) fn of(it: &Calculation) -> String {
    let mut text = format!("{}: {}\n", it.name, it.title);
    block(&mut text, "Formula", it.formula);
    text.push_str("\nInput\n");
    keys(&mut text, &it.input, 1);
    text.push_str("\nOutput\n");
    for field in it.output {
        line(&mut text, field, 1, false);
    }
    block(&mut text, "Valid", it.valid);
    block(&mut text, "Source", it.source);
    text.push_str("\nExample\n");
    let example = Value::object_from(it.example.as_bytes());
    let _ = writeln!(text, "  {}", example.map_or_else(|why| why.to_json(), |it| it.to_line()));
    text
}

fn block(text: &mut String, title: &str, body: &str) {
    let _ = writeln!(text, "\n{title}");
    for line in body.lines() {
        let _ = writeln!(text, "  {}", line.trim());
    }
}

fn keys(text: &mut String, of: &Keys, depth: usize) {
    for field in of.fields {
        line(text, field, depth, true);
    }
    for choice in of.choices {
        let sets: Vec<_> = choice.sets.iter().map(|set| set.join(", ")).collect();
        let how = if choice.required { "exactly one of" } else { "at most one of" };
        let _ = writeln!(text, "{}{how}: {}", "  ".repeat(depth), sets.join("; "));
    }
}

/// `key [unit]: what it is; accepted; default`, and what stands inside it one step further in.
fn line(text: &mut String, field: &Field, depth: usize, accepted: bool) {
    let _ = write!(text, "{}{}", "  ".repeat(depth), field.key);
    if !field.unit.is_empty() {
        let _ = write!(text, " [{}]", field.unit);
    }
    let _ = write!(text, ": {}", field.doc);
    if accepted {
        let _ = write!(text, "; {}", field.shape.words());
        match field.need {
            Need::Required => {}
            Need::Optional => text.push_str("; may be absent"),
            Need::Default(value) => {
                let _ = write!(text, "; {} when absent", default_value(value).to_line());
            }
        }
    }
    text.push('\n');
    inside(text, &field.shape, depth + 1, accepted);
}

fn inside(text: &mut String, shape: &Shape, depth: usize, accepted: bool) {
    match shape {
        Shape::Object(of) if accepted => keys(text, of, depth),
        Shape::Object(of) => {
            for field in of.fields {
                line(text, field, depth, false);
            }
        }
        Shape::Tagged { tag, cases } => {
            for (word, of) in *cases {
                let _ = writeln!(text, "{}{tag} {word:?}", "  ".repeat(depth));
                keys(text, of, depth + 1);
            }
        }
        Shape::List { of, .. } | Shape::Map(of) | Shape::Nullable(of) => {
            inside(text, of, depth, accepted);
        }
        Shape::Number(_)
        | Shape::Integer(..)
        | Shape::Boolean
        | Shape::Word(_)
        | Shape::Text
        | Shape::Month
        | Shape::Any(_) => {}
    }
}
