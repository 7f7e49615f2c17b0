//! No input makes a calculation panic, and what it accepts its schema accepts too.

use std::collections::BTreeMap;
use std::sync::OnceLock;

use jsonschema::Validator;
use proptest::prelude::*;
use serde_json::Value;

fn scalar() -> impl Strategy<Value = Value> {
    prop_oneof![
        Just(Value::Null),
        any::<bool>().prop_map(Value::from),
        any::<f64>().prop_map(Value::from),
        (-400i32..400).prop_map(|exponent| Value::from(10f64.powi(exponent))),
        (-4i64..2000).prop_map(Value::from),
        "[a-z0-9-]{0,8}".prop_map(Value::from),
    ]
}

fn any_json() -> impl Strategy<Value = Value> {
    scalar().prop_recursive(3, 24, 6, |inner| {
        prop_oneof![
            prop::collection::vec(inner.clone(), 0..6).prop_map(Value::from),
            prop::collection::vec(("[a-z_]{1,6}", inner), 0..6)
                .prop_map(|it| Value::Object(it.into_iter().collect())),
        ]
    })
}

/// Every number of a value, in a fixed order.
fn numbers(value: &mut Value) -> Vec<&mut Value> {
    match value {
        Value::Number(_) => vec![value],
        Value::Array(items) => items.iter_mut().flat_map(numbers).collect(),
        Value::Object(entries) => entries.values_mut().flat_map(numbers).collect(),
        _ => Vec::new(),
    }
}

/// The schemas of input and output of each calculation.
fn validators(name: &str) -> &'static [Validator; 2] {
    static ALL: OnceLock<BTreeMap<&str, [Validator; 2]>> = OnceLock::new();
    let all = ALL.get_or_init(|| {
        let both = |name| {
            let schema: Value = serde_json::from_str(&compute::schema(name).unwrap()).unwrap();
            ["input", "output"].map(|side| jsonschema::draft202012::new(&schema[side]).unwrap())
        };
        compute::list().iter().map(|it| (it.name, both(it.name))).collect()
    });
    &all[name]
}

/// Runs an input; a refusal is an answer too, as long as it says what is wrong.
fn holds(name: &str, text: &[u8]) -> Result<(), TestCaseError> {
    match compute::run(name, text) {
        Ok(line) => {
            let [input, output] = validators(name);
            let given: Value = serde_json::from_slice(text).expect("an accepted input is JSON");
            prop_assert!(input.is_valid(&given), "{} accepted {}", name, given);
            let read: Value = serde_json::from_str(&line).expect("an answer is JSON");
            prop_assert!(output.is_valid(&read), "{} answered {}", name, read);
        }
        Err(fault) => prop_assert!(!fault.message.is_empty()),
    }
    Ok(())
}

proptest! {
    #[test]
    fn any_bytes(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        for entry in compute::list() {
            holds(entry.name, &bytes)?;
        }
    }

    #[test]
    fn any_json_value(value in any_json()) {
        for entry in compute::list() {
            holds(entry.name, value.to_string().as_bytes())?;
        }
    }

    /// An example with one of its values replaced by anything.
    #[test]
    fn an_example_with_a_strange_value(at in any::<prop::sample::Index>(), strange in any_json()) {
        for entry in compute::list() {
            let mut input: Value = serde_json::from_str(entry.example).unwrap();
            let keys: Vec<String> = input.as_object().unwrap().keys().cloned().collect();
            let key = &keys[at.index(keys.len())];
            input[key] = strange.clone();
            holds(entry.name, input.to_string().as_bytes())?;
        }
    }

    /// An example with one of its numbers scaled far away.
    #[test]
    fn an_example_with_a_strange_number(
        at in any::<prop::sample::Index>(),
        exponent in -320i32..308,
        negative in any::<bool>(),
    ) {
        for entry in compute::list() {
            let mut input: Value = serde_json::from_str(entry.example).unwrap();
            {
                let mut all = numbers(&mut input);
                let place = at.index(all.len());
                let sign = if negative { -1.0 } else { 1.0 };
                *all[place] = Value::from(sign * 10f64.powi(exponent));
            }
            holds(entry.name, input.to_string().as_bytes())?;
        }
    }
}
