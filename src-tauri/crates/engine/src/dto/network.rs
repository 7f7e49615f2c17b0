//! The parts list of a crossover as it is typed, and its schematic.

use serde::{Deserialize, Serialize};

use super::{PlotPoint, Remark, answer};

/// One row of a parts list, each cell as typed.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "types", derive(ts_rs::TS), ts(export))]
#[serde(deny_unknown_fields, default)]
pub struct PartRow {
    /// Its name on the board, once in the list.
    pub name: String,
    /// `resistor`, `capacitor`, `inductor` or `driver`.
    pub kind: String,
    /// The node of its first (for a driver: positive) terminal; `in` is the input, `0` the return.
    pub from: String,
    /// The node of its second terminal.
    pub to: String,
    /// The value with its unit; for a driver which it is, such as `tweeter`.
    pub value: String,
    /// The series resistance of a capacitor or inductor, or empty.
    pub loss: String,
    /// The printed tolerance, or empty.
    pub tolerance: String,
    /// How it is made, or empty.
    pub construction: String,
    /// The printed rating, or empty.
    pub rating: String,
    /// A remark, or empty.
    pub note: String,
}

answer! {
    /// The parts list of a teardown.
    pub struct NetworkReport {
        /// The product's key.
        pub product: String,
        /// The specimen.
        pub specimen: String,
        /// The day of the teardown.
        pub date: String,
        /// The rows, as recorded or as sent.
        pub parts: Vec<PartRow>,
        /// What cannot be read or solved; nothing is recorded while there is any.
        pub faults: Vec<PartFault>,
        /// Whether the rows are what the catalogue holds.
        pub recorded: bool,
        /// Whether this call changed the catalogue.
        pub changed: bool,
        /// The drawing; null while no row can be drawn.
        pub schematic: Option<Schematic>,
        /// What is worth a second look.
        pub remarks: Vec<Remark>,
        /// What each kind of part takes.
        pub kinds: Vec<PartKind>,
    }
}

answer! {
    /// What is wrong with a row, or with the list as a whole.
    pub struct PartFault {
        /// The row, from 0; null where the list as a whole is meant.
        pub row: Option<u32>,
        /// The cell: a field of the row; empty where the row as a whole is meant.
        pub cell: String,
        /// What is wrong.
        pub message: String,
        /// What would be right.
        pub accepted: String,
    }
}

answer! {
    /// What a kind of part takes, cell by cell.
    pub struct PartKind {
        /// The word.
        pub kind: String,
        /// The cells that it has.
        pub cells: Vec<PartCell>,
    }
}

answer! {
    /// One cell of a kind of part.
    pub struct PartCell {
        /// The field of the row.
        pub cell: String,
        /// The label.
        pub label: String,
        /// The accepted form.
        pub accepted: String,
        /// The words to choose from; empty where any text may be typed.
        pub words: Vec<String>,
        /// Whether it must be filled in.
        pub needed: bool,
        /// Why it matters, one clause.
        pub why: String,
    }
}

answer! {
    /// A schematic. Places are in units of the drawing, 0 at the left and the top; a unit is a pixel at 100 %.
    pub struct Schematic {
        /// A title.
        pub title: String,
        /// What it shows, for screen readers.
        pub description: String,
        /// The width.
        pub width: f64,
        /// The height.
        pub height: f64,
        /// Straight wires, each along one axis.
        pub wires: Vec<WireMark>,
        /// Places where more than two wires meet.
        pub joints: Vec<PlotPoint>,
        /// The parts.
        pub symbols: Vec<SymbolMark>,
        /// Marks that stand for the return node: all of them are joined.
        pub returns: Vec<PlotPoint>,
        /// The two terminals of the input.
        pub terminals: Vec<NamedPlace>,
        /// The names of the nodes.
        pub nodes: Vec<NamedPlace>,
    }
}

answer! {
    /// A straight wire.
    pub struct WireMark {
        /// The node that it belongs to.
        pub node: String,
        /// One end, from the left.
        pub x1: f64,
        /// One end, from the top.
        pub y1: f64,
        /// The other end, from the left.
        pub x2: f64,
        /// The other end, from the top.
        pub y2: f64,
    }
}

answer! {
    /// A part.
    pub struct SymbolMark {
        /// Its place in the list, from 0.
        pub row: u32,
        /// Its name.
        pub name: String,
        /// Its kind.
        pub kind: String,
        /// Whether a core is drawn beside the turns.
        pub core: bool,
        /// The middle, from the left.
        pub x: f64,
        /// The middle, from the top.
        pub y: f64,
        /// Whether it stands upright; else it lies along the line.
        pub upright: bool,
        /// Whether its first terminal is at the right or the bottom.
        pub turned: bool,
        /// The first line beside it, cut to fit.
        pub label: String,
        /// The second line beside it, cut to fit.
        pub detail: String,
        /// Where the first line begins, or its middle where the part lies, from the left.
        pub label_x: f64,
        /// The base of the first line, from the top.
        pub label_y: f64,
        /// The part as a sentence.
        pub sentence: String,
    }
}

answer! {
    /// A name at a place.
    pub struct NamedPlace {
        /// The name, cut to fit.
        pub name: String,
        /// From the left.
        pub x: f64,
        /// From the top.
        pub y: f64,
    }
}
