//! What holds of every parts list: no panic while its cells are read and its shape is judged; a refusal names a part that is
//! there and says what would be right; what is accepted comes out of the schematic's own rules whatever the order of its parts.
//! The fuzz target and the replay of its corpus share this file.
//!
//! A line is a part: name, kind, from, to, value, loss, separated by `|`.

use domain::network::{Element, ElementKind, cell, check};

/// Parts that are read; a crossover has a tenth of them.
const MOST: usize = 60;

/// Reads one text; bytes that are no UTF-8 never reach the reader.
///
/// # Panics
/// When what must hold does not.
pub(crate) fn holds(data: &[u8]) {
    let Ok(text) = std::str::from_utf8(data) else { return };
    let elements: Vec<Element> = text.lines().take(MOST).filter_map(element).collect();
    let faults = check(&elements);
    for it in &faults {
        assert!(!it.message.is_empty() && !it.accepted.is_empty(), "{it:?}");
        let named = it.place.map_or(Some(""), |at| elements.get(at).map(|it| it.name.as_str()));
        assert_eq!(named, Some(it.element.as_str()), "{it:?}");
    }
    let mut turned = elements;
    turned.reverse();
    assert_eq!(check(&turned).is_empty(), faults.is_empty(), "{text:?}");
}

fn element(line: &str) -> Option<Element> {
    let mut cells = line.split('|').map(str::trim);
    let mut cell_text = || cells.next().unwrap_or_default().to_owned();
    let (name, kind) = (cell_text(), cell_text());
    let kind = ElementKind::parse(&kind).ok()?;
    let (from, to, typed, loss_typed) = (cell_text(), cell_text(), cell_text(), cell_text());
    let number = |key: &str, typed: &str| match cell::quantity(kind, key, typed) {
        Ok(si) => {
            assert!(si.is_finite() && si >= 0.0, "{typed:?} was read as {si}");
            Some(si)
        }
        Err(why) => {
            assert!(!why.to_string().is_empty(), "{typed:?}");
            None
        }
    };
    let part = match kind {
        ElementKind::Driver => Some(cell::driver(None, &typed).ok()?),
        _ => None,
    };
    let value_si = if part.is_some() { None } else { Some(number("value", &typed)?) };
    Some(Element {
        name,
        kind,
        from,
        to,
        value_si,
        loss_ohm: number("loss", &loss_typed),
        typed,
        loss_typed,
        tolerance: None,
        construction: String::new(),
        rating_typed: String::new(),
        rating_si: None,
        part,
        note: String::new(),
    })
}
