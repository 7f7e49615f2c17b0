//! What holds of every number that is typed: no panic; what is read is finite and reads the same when it is typed
//! with other blanks around it; a refusal says what would be right. The fuzz target and the replay of its corpus share this file.

use domain::{reading, unit::Dimension};

/// One of each shape of unit: none, powers, prefixes, compound, negative, gauge, percent.
const DIMENSIONS: [Dimension; 8] = [
    Dimension::One,
    Dimension::Length,
    Dimension::Volume,
    Dimension::Mass,
    Dimension::Capacitance,
    Dimension::Frequency,
    Dimension::Level,
    Dimension::Fraction,
];

/// Reads one text as each of them; bytes that are no UTF-8 never reach the reader.
///
/// # Panics
/// When what must hold does not.
pub(crate) fn holds(data: &[u8]) {
    let Ok(text) = std::str::from_utf8(data) else { return };
    for dimension in DIMENSIONS {
        match reading::parse(text, dimension) {
            Ok(it) => {
                assert!(it.si.is_finite(), "{text:?} was read as {it:?}");
                let again = reading::parse(&format!("  {} ", text.trim()), dimension);
                assert_eq!(again.map(|it| it.si.to_bits()), Ok(it.si.to_bits()), "{text:?}");
            }
            Err(why) => {
                assert!(!why.to_string().is_empty() && !why.accepted.is_empty(), "{why:?}");
                assert!(why.text.len() <= 4 * 81, "{why:?}");
            }
        }
        let list = reading::parse_list(text, dimension);
        assert!(list.is_err() || text.split(';').count() == list.map_or(0, |it| it.len()));
    }
    if let Ok(count) = reading::parse_count(text) {
        assert_eq!(text.trim().parse(), Ok(count), "{text:?}");
    }
}
