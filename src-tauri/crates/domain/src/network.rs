//! The parts list of a passive network, as read off the board.

use crate::{key::word_enum, part::Part};

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
    /// The driver, for an element of that kind.
    pub part: Option<Part>,
    /// Make and construction, empty where unknown.
    pub note: String,
}
