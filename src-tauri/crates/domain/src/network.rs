//! The parts list of a passive network, as read off the board, and what of it cannot be solved.

pub mod cell;
mod check;

use crate::{
    dictionary::{Kind, element},
    key::word_enum,
    part::Part,
    reading,
};

pub use check::{BadNetwork, check, check_each};

word_enum! {
    /// What an element is.
    pub enum ElementKind: "network element" {
        /// A resistor.
        Resistor = "resistor",
        /// A capacitor.
        Capacitor = "capacitor",
        /// An inductor.
        Inductor = "inductor",
        /// A driver of this product.
        Driver = "driver",
    }
}

/// One element between two nodes. Node `in` is the input, node `0` the return.
#[derive(Debug, Clone, PartialEq)]
pub struct Element {
    /// Its name on the board or in the list, unique within a network.
    pub name: String,
    /// What it is.
    pub kind: ElementKind,
    /// The node of its first (for a driver: positive) terminal.
    pub from: String,
    /// The node of its second terminal.
    pub to: String,
    /// The value as typed, empty for a driver.
    pub typed: String,
    /// The value: ohm, farad or henry; `None` for a driver.
    pub value_si: Option<f64>,
    /// Series loss as typed, empty where unknown.
    pub loss_typed: String,
    /// Series resistance (ESR of a capacitor, DCR of an inductor), ohm.
    pub loss_ohm: Option<f64>,
    /// Printed tolerance as a fraction.
    pub tolerance: Option<f64>,
    /// How it is made, a word of [`dictionary::element`](crate::dictionary::element); empty where unknown.
    pub construction: String,
    /// The printed rating as typed, empty where unknown.
    pub rating_typed: String,
    /// The rating: V of a capacitor, W of a resistor.
    pub rating_si: Option<f64>,
    /// The driver, for an element of that kind.
    pub part: Option<Part>,
    /// What no other field holds, or empty.
    pub note: String,
}

impl Element {
    /// A sentence when the value lies outside the usual range, so that its unit is probably a slip; it never refuses.
    ///
    /// Where the same number in another unit would be usual, that unit is offered.
    #[must_use]
    pub fn unusual(&self) -> Option<String> {
        let entry = element::find(self.kind, "value")?;
        let (Kind::Number(dimension, unit), Some(usual)) = (entry.kind, entry.typical) else {
            return None;
        };
        let is_usual = |si: f64| {
            reading::in_unit(si, dimension, unit)
                // A range that ends at the very value typed must not warn because of the last binary digit.
                .is_some_and(|it| it >= usual.low * (1.0 - 1e-9) && it <= usual.high * (1.0 + 1e-9))
        };
        let si = self.value_si?;
        if is_usual(si) {
            return None;
        }
        let typed = reading::parse(&self.typed, dimension).ok();
        let typed = typed.and_then(|it| dimension.unit(&it.unit));
        let meant = typed.and_then(|typed| {
            dimension.units().iter().find(|it| is_usual(si / typed.to_si * it.to_si))
        });
        let hint = meant.map(|it| format!("; in {} it would be usual", it.symbol));
        Some(format!(
            "{}: {} is outside the usual {} to {} {unit} of {}{}",
            self.name,
            self.typed,
            usual.low,
            usual.high,
            self.kind.with_article(),
            hint.unwrap_or_default()
        ))
    }
}

impl ElementKind {
    /// The word with its article, for messages.
    #[must_use]
    pub fn with_article(self) -> String {
        let article = if self == ElementKind::Inductor { "an" } else { "a" };
        format!("{article} {}", self.word())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn element(kind: ElementKind, typed: &str, value_si: f64) -> Element {
        Element {
            name: "X1".into(),
            kind,
            from: "in".into(),
            to: "0".into(),
            typed: typed.into(),
            value_si: Some(value_si),
            loss_typed: String::new(),
            loss_ohm: None,
            tolerance: None,
            construction: String::new(),
            rating_typed: String::new(),
            rating_si: None,
            part: None,
            note: String::new(),
        }
    }

    #[test]
    fn a_probable_slip_of_the_unit_is_said() {
        let said = |kind, typed: &str, si| element(kind, typed, si).unusual();
        assert_eq!(
            said(ElementKind::Capacitor, "4.7 nF", 4.7e-9).unwrap(),
            "X1: 4.7 nF is outside the usual 0.1 to 500 µF of a capacitor; in µF it would be usual"
        );
        assert_eq!(
            said(ElementKind::Inductor, "0.47 H", 0.47).unwrap(),
            "X1: 0.47 H is outside the usual 0.02 to 20 mH of an inductor; in mH it would be usual"
        );
        assert_eq!(
            said(ElementKind::Resistor, "0.05 mohm", 5e-5).unwrap(),
            "X1: 0.05 mohm is outside the usual 0.1 to 100 ohm of a resistor; in kohm it would be usual"
        );
        assert_eq!(
            said(ElementKind::Resistor, "2.2 kohm", 2200.0).unwrap().split("; ").nth(1),
            Some("in ohm it would be usual")
        );
        // No unit makes 0.05 pF usual.
        assert!(
            said(ElementKind::Capacitor, "0.05 pF", 5e-14).unwrap().ends_with("of a capacitor")
        );
        for (kind, typed, si) in [
            (ElementKind::Capacitor, "0.1 µF", 1e-7),
            (ElementKind::Capacitor, "500 µF", 500e-6),
            (ElementKind::Inductor, "0.02 mH", 2e-5),
            (ElementKind::Inductor, "20 mH", 2e-2),
            (ElementKind::Resistor, "0.1 ohm", 0.1),
            (ElementKind::Resistor, "100 ohm", 100.0),
        ] {
            assert_eq!(said(kind, typed, si), None, "{typed}");
        }
    }
}
