//! What holds of every input of `compute`: no panic, and an answer or a refusal that says what is
//! wrong. The fuzz target and the replay of its corpus share this file.
//!
//! The first byte names the calculation, the second the mode. In the raw mode the rest is the JSON
//! text. In the structured mode it is a list of changes to the numbers of the calculation's example,
//! ten bytes each, which gets past the reading of JSON every time.

use serde_json::Value;

/// Bytes of one change: which number, what to do, an operand.
const CHANGE: usize = 10;
/// More changes than this only repeat each other.
const CHANGES_MAX: usize = 8;

/// Runs one input.
///
/// # Panics
/// When what must hold does not.
pub(crate) fn holds(data: &[u8]) {
    let [name, mode, rest @ ..] = data else { return };
    let list = compute::list();
    let entry = list[usize::from(*name) % list.len()];
    if mode % 2 == 0 {
        check(entry.name, rest);
    } else if let Ok(mut input) = serde_json::from_str::<Value>(entry.example) {
        for change in rest.chunks_exact(CHANGE).take(CHANGES_MAX) {
            apply(&mut input, change);
        }
        check(entry.name, input.to_string().as_bytes());
    }
}

fn check(name: &str, input: &[u8]) {
    match compute::run(name, input) {
        Ok(line) => {
            let answer: Value = serde_json::from_str(&line).expect("an answer is JSON");
            assert!(answer.is_object() && !line.contains('\n'), "{line}");
        }
        Err(fault) => {
            assert!(!fault.message.is_empty(), "{fault:?}");
            let object: Value = serde_json::from_str(&fault.to_json()).expect("a fault is JSON");
            assert_eq!(object["code"], fault.code.word());
        }
    }
}

fn apply(input: &mut Value, change: &[u8]) {
    let [which, what, operand @ ..] = change else { return };
    let operand: [u8; 8] = operand.try_into().unwrap_or_default();
    let number = f64::from_le_bytes(operand);
    let mut all = leaves(input);
    let count = all.len().max(1);
    let Some(place) = all.get_mut(usize::from(*which) % count) else { return };
    let old = place.as_f64().unwrap_or(1.0);
    let small = i16::from_le_bytes([operand[0], operand[1]]);
    **place = match what % 8 {
        // Any bits: NaN and infinities become null.
        0 => Value::from(number),
        1 => Value::from(old * 10f64.powi(i32::from(small) % 320)),
        2 => Value::from(old * (1.0 + f64::from(small) / 32768.0)),
        3 => Value::from(small),
        4 => Value::from(-old),
        5 => Value::from(i64::from_le_bytes(operand)),
        6 => Value::from(operand.escape_ascii().to_string()),
        _ => Value::from(old + f64::from(small) * f64::EPSILON * old),
    };
}

/// Everything that is no list and no object.
fn leaves(value: &mut Value) -> Vec<&mut Value> {
    match value {
        Value::Array(items) => items.iter_mut().flat_map(leaves).collect(),
        Value::Object(entries) => entries.values_mut().flat_map(leaves).collect(),
        _ => vec![value],
    }
}
