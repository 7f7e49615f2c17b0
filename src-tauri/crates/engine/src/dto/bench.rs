//! The answers of the bench: what is asked of a teardown, what is known, what is left.

use super::{CrossCheckDto, FactChange, QuantityDto, Remark, answer};

answer! {
    /// A product on the bench with one teardown of it.
    pub struct BenchReport {
        /// The product's key.
        pub product: String,
        /// The maker.
        pub maker: String,
        /// The model.
        pub model: String,
        /// `stand-mount` or `floor-standing`.
        pub kind: String,
        /// The number of ways.
        pub ways: u32,
        /// Whether it has an amplifier of its own.
        pub powered: bool,
        /// The year it came out.
        pub year: i32,
        /// Its specimens with the days of their teardowns, the oldest first.
        pub specimens: Vec<BenchSpecimen>,
        /// The specimen of the teardown; null while there is no teardown.
        pub specimen: Option<String>,
        /// The day of the teardown; null while there is none.
        pub date: Option<String>,
        /// How many of the expected findings have a value, over all teardowns.
        pub found: u32,
        /// How many findings a complete teardown holds.
        pub expected: u32,
        /// The parts, in the order of the bench.
        pub parts: Vec<BenchPart>,
        /// What is left, what is worth most first.
        pub left: Vec<BenchLeft>,
        /// How that list is ordered, in a sentence.
        pub left_order: String,
        /// Quantities with their uncertainties, as on the sheet.
        pub quantities: Vec<QuantityDto>,
        /// Findings held against each other and against what was promised, the gravest first.
        pub cross_checks: Vec<CrossCheckDto>,
        /// What undo would take back; null when there is nothing.
        pub undo: Option<BenchStep>,
        /// What redo would do again; null when there is nothing.
        pub redo: Option<BenchStep>,
        /// The grades of evidence, with the key that stands for each.
        pub grades: Vec<BenchGrade>,
        /// What is asked to be careful of, whatever the part.
        pub cautions: Vec<String>,
    }
}

answer! {
    /// A specimen on the bench.
    pub struct BenchSpecimen {
        /// The reviewer's label.
        pub label: String,
        /// How it was come by.
        pub acquired: String,
        /// The serial number, or empty.
        pub serial: String,
        /// The days on which it was worked on, the oldest first.
        pub teardowns: Vec<String>,
    }
}

answer! {
    /// A grade of evidence.
    pub struct BenchGrade {
        /// The word.
        pub word: String,
        /// The key that stands for it: a letter of the word.
        pub key: String,
        /// What it means, in a clause.
        pub means: String,
    }
}

answer! {
    /// One part with what is asked about it.
    pub struct BenchPart {
        /// The part, as in addresses.
        pub part: String,
        /// What it does, as in addresses; several drivers may do the same.
        pub role: String,
        /// How many of its expected findings have a value.
        pub found: u32,
        /// How many are expected.
        pub expected: u32,
        /// What a further driver of this role would be called; null where there can be none.
        pub another: Option<String>,
        /// What can hurt or break while this part is at hand.
        pub cautions: Vec<String>,
        /// The points of the impedance sweep that this teardown holds of it, 0 for none; null where a sweep says nothing.
        pub sweep: Option<u32>,
        /// The rows, in the order of the bench.
        pub rows: Vec<BenchRow>,
    }
}

answer! {
    /// One place for a finding.
    pub struct BenchRow {
        /// `part.key`.
        pub address: String,
        /// Which of the places of that address: `found`, `label` (the maker's word on this specimen), `stated` (the maker's
        /// word elsewhere).
        pub place: String,
        /// The label.
        pub label: String,
        /// `number`, `numbers`, `choice`, `count`, `flag` or `text`.
        pub kind: String,
        /// The unit of screens, or empty.
        pub unit: String,
        /// The words of a closed list, in its order; empty for other kinds.
        pub choices: Vec<String>,
        /// The usual range in that unit, as text, or empty.
        pub usual: String,
        /// What may be typed.
        pub accepted: String,
        /// Why it matters, or empty.
        pub why: String,
        /// The plugin that asks for it; null for the dictionary of the program.
        pub plugin: Option<String>,
        /// Whether a complete teardown of this product holds it.
        pub expected: bool,
        /// `open` (nothing recorded), `value`, `absent` (looked for, and not there), `not inspected`, `could not tell` or
        /// `not applicable`.
        pub state: String,
        /// The text as typed, or empty.
        pub typed: String,
        /// The value in the unit of screens, or empty where it is no number.
        pub shown: String,
        /// The value in SI with its unit, or empty where it is no number.
        pub si: String,
        /// How it is known; the grade that a value would get, where there is none.
        pub evidence: String,
        /// A remark of the writer, or empty.
        pub note: String,
        /// The day it was found, or empty.
        pub date: String,
        /// What is worth a second look; it never refuses.
        pub remarks: Vec<String>,
        /// What other teardowns say of the same, a line each.
        pub elsewhere: Vec<String>,
        /// Why nothing can be typed here; null where it can.
        pub locked: Option<String>,
    }
}

answer! {
    /// Something that is left to find.
    pub struct BenchLeft {
        /// `part.key`.
        pub address: String,
        /// What it is called, with its part.
        pub what: String,
        /// The points of the index, of 100, that wait for it.
        pub points: f64,
        /// The same in a few words, or empty where no score waits for it.
        pub worth: String,
    }
}

answer! {
    /// What undo or redo would do.
    pub struct BenchStep {
        /// `import` or `record`.
        pub action: String,
        /// The product, where it is one.
        pub product: Option<String>,
        /// The sentence for the button.
        pub text: String,
        /// The facts that it would change; of an import the first few.
        pub changes: Vec<FactChange>,
        /// Whether the bench may do it: an import is taken back by the command line alone.
        pub allowed: bool,
    }
}

answer! {
    /// How a text would be read, before anything is saved.
    pub struct BenchEcho {
        /// The finding: `part.key`.
        pub address: String,
        /// The text as it was given.
        pub typed: String,
        /// What would be recorded: the text with beginnings and signs written out.
        pub value: String,
        /// Whether it is understood.
        pub understood: bool,
        /// As in a row; `open` for an empty text.
        pub state: String,
        /// The unit as typed, or empty.
        pub unit: String,
        /// The value in the unit of screens, or empty where it is no number.
        pub shown: String,
        /// The value in SI with its unit, or empty where it is no number.
        pub si: String,
        /// What is worth a second look.
        pub remarks: Vec<String>,
        /// What is wrong, or empty.
        pub fault: String,
        /// What may be typed instead, or empty.
        pub accepted: String,
    }
}

answer! {
    /// What became of a field that was saved, and the bench since.
    pub struct BenchSaved {
        /// What stood in its place; null for nothing.
        pub before: Option<String>,
        /// What stands there now; null for nothing.
        pub after: Option<String>,
        /// Whether anything changed.
        pub changed: bool,
        /// The place where it is now: a value that turns out to be the maker's word moves.
        pub place: String,
        /// The bench as it is now.
        pub bench: BenchReport,
    }
}

answer! {
    /// Something new on the shelf.
    pub struct AddReport {
        /// `product`, `specimen` or `teardown`.
        pub added: String,
        /// The product's key.
        pub product: String,
        /// The specimen's label; null for a product.
        pub specimen: Option<String>,
        /// The day of the teardown; null for other things.
        pub date: Option<String>,
        /// What is worth knowing.
        pub remarks: Vec<Remark>,
    }
}
