//! Answers about copies of a catalogue.

use super::answer;

answer! {
    /// A copy beside the catalogue.
    pub struct CopyDto {
        /// The file.
        pub file: String,
        /// Why it was made: `daily`, `format`, `restore` or `asked`.
        pub occasion: String,
        /// When, `YYYY-MM-DDTHH-MM-SSZ`; before a new format `from-N`.
        pub stamp: String,
        /// Its size, kB.
        pub kilobytes: u32,
    }
}

answer! {
    /// The copies of a catalogue.
    pub struct CopyList {
        /// Where they are.
        pub folder: String,
        /// The one that was just made, if any; it was opened and checked.
        pub made: Option<CopyDto>,
        /// All of them.
        pub copies: Vec<CopyDto>,
        /// What is said of photos, which no copy holds; empty where there are none.
        pub photos: String,
    }
}

answer! {
    /// What a restore did.
    pub struct RestoreReport {
        /// The catalogue.
        pub catalogue: String,
        /// The copy that is in its place now.
        pub from: String,
        /// The last change that the catalogue holds now, UTC.
        pub last_change: Option<String>,
        /// Where the state before is kept; `None` when there was no file.
        pub kept: Option<String>,
    }
}
