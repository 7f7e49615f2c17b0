//! The answers about entering, taking back, and what was.

use super::{Remark, answer};

answer! {
    /// What became of a finding that was typed.
    pub struct RecordReport {
        /// Which: `part.key`.
        pub finding: String,
        /// What stood in its place; null for nothing.
        pub before: Option<String>,
        /// What stands there now; null for nothing.
        pub after: Option<String>,
        /// How a number was understood, in the unit of screens.
        pub read: Option<String>,
        /// Whether anything changed.
        pub changed: bool,
        /// What is worth a second look.
        pub remarks: Vec<Remark>,
    }
}

answer! {
    /// All that ever changed of a product.
    pub struct HistoryReport {
        /// The product's key.
        pub product: String,
        /// The actions, newest first.
        pub actions: Vec<ActionDto>,
    }
}

answer! {
    /// One action with what it changed.
    pub struct ActionDto {
        /// Its number in this catalogue.
        pub number: u32,
        /// When, UTC.
        pub at: String,
        /// `import`, `record`, `undo` or `redo`.
        pub action: String,
        /// Why; may be empty.
        pub reason: String,
        /// The number of the action that it takes back or does again.
        pub reverts: Option<u32>,
        /// What changed.
        pub changes: Vec<FactChange>,
    }
}

answer! {
    /// One fact that holds otherwise since.
    pub struct FactChange {
        /// Which: a finding's address, a price with its date, a sweep, the parts list.
        pub what: String,
        /// What held before; null for nothing.
        pub before: Option<String>,
        /// What holds since; null for nothing.
        pub after: Option<String>,
    }
}

answer! {
    /// What was taken back or done again.
    pub struct RevertReport {
        /// What it was: `import` or `record`; null when there was nothing.
        pub action: Option<String>,
        /// When it was done, UTC.
        pub at: Option<String>,
        /// Why it was done; may be empty.
        pub reason: String,
        /// How many facts hold otherwise now.
        pub changes: u32,
    }
}

answer! {
    /// A whole history, written to a file or gone through again.
    pub struct ChronicleReport {
        /// The file.
        pub file: String,
        /// Actions in it: imports, entries, undo and redo.
        pub actions: u32,
        /// Rows in it.
        pub rows: u32,
        /// What is said of photos, which no history holds; empty where there are none.
        pub photos: String,
    }
}
