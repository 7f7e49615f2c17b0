//! JSON Schema (draft 2020-12) of what a calculation reads and writes.

use crate::answer::FLAGS;
use crate::shape::{
    Calculation, Choice, Default, Field, Keys, MAP_MAX, Need, Range, Shape, TEXT_MAX,
};
use crate::value::Value;

const DRAFT: &str = "https://json-schema.org/draft/2020-12/schema";

type Entries = Vec<(String, Value)>;

/// `{"$schema", "title", "input": schema, "output": schema}`; both parts stand alone.
pub(crate) fn of(it: &Calculation) -> Value {
    let mut input = vec![("$schema".to_owned(), DRAFT.into())];
    input.push(("title".to_owned(), format!("input of {}", it.name).into()));
    input.extend(object(&it.input));
    if let Ok(example) = Value::object_from(it.example.as_bytes()) {
        input.push(("examples".to_owned(), Value::List(vec![example])));
    }
    let mut output = vec![("$schema".to_owned(), DRAFT.into())];
    output.push(("title".to_owned(), format!("output of {}", it.name).into()));
    output.extend(answer(it.output));
    Value::Object(vec![
        ("$schema".to_owned(), DRAFT.into()),
        ("title".to_owned(), it.name.into()),
        ("description".to_owned(), it.title.into()),
        ("input".to_owned(), Value::Object(input)),
        ("output".to_owned(), Value::Object(output)),
    ])
}

fn answer(output: &'static [Field]) -> Entries {
    let mut entries = object(&Keys::plain(output));
    let flags = Value::Object(vec![
        ("description".to_owned(), "remarks".into()),
        ("type".to_owned(), "array".into()),
        ("items".to_owned(), typed("string")),
    ]);
    if let Some((_, Value::Object(properties))) =
        entries.iter_mut().find(|(key, _)| key == "properties")
        && !properties.iter().any(|(key, _)| key == FLAGS)
    {
        properties.push((FLAGS.to_owned(), flags));
    }
    entries
}

fn typed(name: &str) -> Value {
    Value::Object(vec![("type".to_owned(), name.into())])
}

fn object(keys: &Keys) -> Entries {
    let properties = keys.fields.iter().map(|it| (it.key.to_owned(), property(it))).collect();
    let required: Vec<&str> = keys
        .fields
        .iter()
        .filter(|it| matches!(it.need, Need::Required))
        .map(|it| it.key)
        .collect();
    let mut entries = vec![
        ("type".to_owned(), "object".into()),
        ("properties".to_owned(), Value::Object(properties)),
        ("required".to_owned(), required.into()),
        ("additionalProperties".to_owned(), false.into()),
    ];
    if !keys.choices.is_empty() {
        let all = keys.choices.iter().map(choice).collect();
        entries.push(("allOf".to_owned(), Value::List(all)));
    }
    entries
}

/// One branch a set: its keys are there, those of the other sets are not.
fn choice(choice: &Choice) -> Value {
    let without = |sets: &mut dyn Iterator<Item = &&[&str]>| {
        let keys = sets.flat_map(|set| set.iter());
        Value::Object(keys.map(|key| ((*key).to_owned(), Value::Bool(false))).collect())
    };
    let mut branches = Vec::new();
    for (at, set) in choice.sets.iter().enumerate() {
        let mut others = choice.sets.iter().enumerate().filter(|it| it.0 != at).map(|it| it.1);
        branches.push(Value::Object(vec![
            ("required".to_owned(), set.to_vec().into()),
            ("properties".to_owned(), without(&mut others)),
        ]));
    }
    if !choice.required {
        branches
            .push(Value::Object(vec![("properties".to_owned(), without(&mut choice.sets.iter()))]));
    }
    Value::Object(vec![("oneOf".to_owned(), Value::List(branches))])
}

fn property(field: &Field) -> Value {
    let doc = match field.unit {
        "" => field.doc.to_owned(),
        unit => format!("{}, {unit}", field.doc),
    };
    let mut entries = vec![("description".to_owned(), doc.into())];
    entries.extend(shape(&field.shape));
    if let Need::Default(value) = field.need {
        entries.push(("default".to_owned(), default_value(value)));
    }
    Value::Object(entries)
}

/// The default as JSON.
pub(crate) fn default_value(value: Default) -> Value {
    match value {
        Default::Number(number) => number.into(),
        Default::Numbers(numbers) => numbers.to_vec().into(),
        Default::Words(words) => words.to_vec().into(),
    }
}

fn shape(shape_of: &Shape) -> Entries {
    let mut entries = Entries::new();
    let mut put = |key: &str, value: Value| entries.push((key.to_owned(), value));
    match shape_of {
        Shape::Number(range) => {
            put("type", "number".into());
            match *range {
                Range::Any => {}
                Range::Positive => put("exclusiveMinimum", 0.0.into()),
                Range::NonNegative => put("minimum", 0.0.into()),
                Range::Closed(low, high) => {
                    put("minimum", low.into());
                    put("maximum", high.into());
                }
                Range::HalfOpen(low, high) => {
                    put("minimum", low.into());
                    put("exclusiveMaximum", high.into());
                }
            }
        }
        Shape::Integer(low, high) => {
            put("type", "integer".into());
            put("minimum", Value::Integer(*low));
            put("maximum", Value::Integer(*high));
        }
        Shape::Boolean => put("type", "boolean".into()),
        Shape::Word(words) => put("enum", words.to_vec().into()),
        Shape::Text => {
            put("type", "string".into());
            put("minLength", Value::Integer(1));
            put("maxLength", length(TEXT_MAX));
        }
        Shape::Month => {
            put("type", "string".into());
            put("pattern", "^(19[5-9][0-9]|2[01][0-9]{2})(-(0[1-9]|1[0-2]))?$".into());
        }
        Shape::List { of, min, max } => {
            put("type", "array".into());
            put("items", Value::Object(shape(of)));
            put("minItems", length(*min));
            if *max != usize::MAX {
                put("maxItems", length(*max));
            }
        }
        Shape::Map(of) => {
            put("type", "object".into());
            put("additionalProperties", Value::Object(shape(of)));
            put("maxProperties", length(MAP_MAX));
        }
        Shape::Object(keys) => entries = object(keys),
        Shape::Tagged { tag, cases } => {
            let branches = cases.iter().map(|(word, keys)| {
                let mut branch = object(keys);
                fix_tag(&mut branch, tag, word);
                Value::Object(branch)
            });
            put("oneOf", Value::List(branches.collect()));
        }
        Shape::Nullable(of) => {
            put("anyOf", Value::List(vec![Value::Object(shape(of)), typed("null")]));
        }
        Shape::Any(shapes) => {
            let branches = shapes.iter().map(|it| Value::Object(shape(it)));
            put("anyOf", Value::List(branches.collect()));
        }
    }
    entries
}

/// The tag of a branch is its own word alone.
fn fix_tag(branch: &mut Entries, tag: &str, word: &str) {
    if let Some((_, Value::Object(properties))) =
        branch.iter_mut().find(|(key, _)| key == "properties")
        && let Some((_, property)) = properties.iter_mut().find(|(key, _)| key == tag)
    {
        *property = Value::Object(vec![("const".to_owned(), word.into())]);
    }
}

fn length(count: usize) -> Value {
    Value::Integer(i64::try_from(count).unwrap_or(i64::MAX))
}
