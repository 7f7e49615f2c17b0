//! The rows of a network's parts list: which keys an element of each kind has, and what each accepts.
//!
//! Usual values are common practice for passive networks of budget loudspeakers, no source.

use super::{Choices, Kind, Typical, range};
use crate::{network::ElementKind, unit::Dimension};

/// One key of an element.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ElementEntry {
    /// The key; it stands once for each kind of element.
    pub key: &'static str,
    /// The kinds of element that have it in this form.
    pub kinds: &'static [ElementKind],
    /// The label on screens.
    pub label: &'static str,
    /// The kind of value.
    pub kind: Kind<'static>,
    /// The usual range in the entry's own unit; a value outside is probably a slip of the unit.
    pub typical: Option<Typical>,
    /// Why it matters, one clause.
    pub why: &'static str,
}

/// The accepted form of an element's nodes.
pub const NODES: &str = "two different names, such as [\"in\", \"0\"]";

const ALL: &[ElementKind] = ElementKind::ALL;
const PASSIVE: &[ElementKind] =
    &[ElementKind::Resistor, ElementKind::Capacitor, ElementKind::Inductor];
const RESISTOR: &[ElementKind] = &[ElementKind::Resistor];
const CAPACITOR: &[ElementKind] = &[ElementKind::Capacitor];
const INDUCTOR: &[ElementKind] = &[ElementKind::Inductor];
const LOSSY: &[ElementKind] = &[ElementKind::Capacitor, ElementKind::Inductor];
const DRIVER: &[ElementKind] = &[ElementKind::Driver];

const KIND_WORDS: &[&str] = &["resistor", "capacitor", "inductor", "driver"];

static ENTRIES: &[ElementEntry] = &[
    entry("name", ALL, "name", Kind::Text, "names it in messages, once in the network"),
    entry("kind", ALL, "kind", Kind::Choice(Choices::of(KIND_WORDS)), "what it does to a current"),
    entry("nodes", ALL, "nodes", Kind::Text, "what it is joined to: in is the input, 0 the return"),
    entry(
        "value",
        RESISTOR,
        "value",
        Kind::Number(Dimension::Resistance, "ohm"),
        "the network is solved with it",
    )
    .usual(0.1, 100.0),
    entry(
        "value",
        CAPACITOR,
        "value",
        Kind::Number(Dimension::Capacitance, "µF"),
        "the network is solved with it",
    )
    .usual(0.1, 500.0),
    entry(
        "value",
        INDUCTOR,
        "value",
        Kind::Number(Dimension::Inductance, "mH"),
        "the network is solved with it",
    )
    .usual(0.02, 20.0),
    entry(
        "loss",
        LOSSY,
        "series resistance",
        Kind::Number(Dimension::Resistance, "ohm"),
        "level lost in the path",
    ),
    entry(
        "tolerance",
        PASSIVE,
        "printed tolerance",
        Kind::Number(Dimension::Fraction, "%"),
        "how far the crossover may shift",
    ),
    entry(
        "construction",
        CAPACITOR,
        "construction",
        Kind::Choice(Choices::of(&["electrolytic", "polyester", "polypropylene"])),
        "loss, drift and ageing",
    ),
    entry(
        "construction",
        INDUCTOR,
        "construction",
        Kind::Choice(Choices::of(&["air", "ferrite", "iron", "laminated"])),
        "saturation and loss",
    ),
    entry(
        "construction",
        RESISTOR,
        "construction",
        Kind::Choice(Choices::of(&["wirewound", "film", "cement"])),
        "inductance and heat",
    ),
    entry(
        "rating",
        CAPACITOR,
        "rated voltage",
        Kind::Number(Dimension::Voltage, "V"),
        "the voltage it stands",
    ),
    entry(
        "rating",
        RESISTOR,
        "rated power",
        Kind::Number(Dimension::Power, "W"),
        "the heat it stands",
    ),
    entry("part", DRIVER, "driver", Kind::Text, "which driver of the product it is"),
    entry("note", ALL, "note", Kind::Text, "what no other key holds"),
];

const fn entry(
    key: &'static str,
    kinds: &'static [ElementKind],
    label: &'static str,
    kind: Kind<'static>,
    why: &'static str,
) -> ElementEntry {
    ElementEntry { key, kinds, label, kind, typical: None, why }
}

impl ElementEntry {
    const fn usual(self, low: f64, high: f64) -> Self {
        ElementEntry { typical: Some(range(low, high)), ..self }
    }
}

/// All entries, in the order in which a parts list is written.
pub fn entries() -> impl Iterator<Item = &'static ElementEntry> {
    ENTRIES.iter()
}

/// The keys, each once, in the order in which a parts list is written.
#[must_use]
pub fn keys() -> Vec<&'static str> {
    let mut keys: Vec<&str> = ENTRIES.iter().map(|it| it.key).collect();
    keys.dedup();
    keys
}

/// The entry of a key for a kind of element; `None` where that kind has no such key.
#[must_use]
pub fn find(kind: ElementKind, key: &str) -> Option<&'static ElementEntry> {
    ENTRIES.iter().find(|it| it.key == key && it.kinds.contains(&kind))
}

/// Which kinds of element have a key, for messages: `capacitor, inductor`.
#[must_use]
pub fn kinds_with(key: &str) -> String {
    let has = |kind: &&ElementKind| find(**kind, key).is_some();
    ElementKind::ALL.iter().filter(has).map(|it| it.word()).collect::<Vec<_>>().join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_kind_has_each_key_once_at_most() {
        for key in keys() {
            for kind in ElementKind::ALL {
                let has = entries().filter(|it| it.key == key && it.kinds.contains(kind)).count();
                assert!(has <= 1, "{} of {}", key, kind.word());
            }
        }
        assert_eq!(keys().len(), 10);
    }

    #[test]
    fn entries_are_complete_and_their_units_exist() {
        for it in entries() {
            assert!(!it.kinds.is_empty() && !it.label.is_empty() && !it.why.is_empty(), "{it:?}");
            if let Kind::Number(dimension, unit) = it.kind {
                assert!(dimension.unit(unit).is_some(), "{it:?}");
            }
        }
        assert_eq!(KIND_WORDS, ALL.iter().map(|it| it.word()).collect::<Vec<_>>());
    }

    #[test]
    fn the_kinds_of_a_key_read_as_words() {
        assert_eq!(kinds_with("loss"), "capacitor, inductor");
        assert_eq!(kinds_with("part"), "driver");
    }
}
