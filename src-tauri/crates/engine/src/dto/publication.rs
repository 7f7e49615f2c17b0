//! Answers about publications and editions.

use super::{Remark, answer};

answer! {
    /// What was published, or would be.
    pub struct Publication {
        /// Its number; null for a draft.
        pub edition: Option<u32>,
        /// Whether this edition is new; false when an earlier one says the same.
        pub is_new: bool,
        /// The title.
        pub title: String,
        /// The folder that was written to; null when none was.
        pub folder: Option<String>,
        /// The files.
        pub files: Vec<PublishedFile>,
        /// What changed since the edition before; null for the first of its series.
        pub changes: Option<ChangesDto>,
        /// What a reader of some formats will miss.
        pub remarks: Vec<Remark>,
    }
}

answer! {
    /// A file of a publication.
    pub struct PublishedFile {
        /// Its name.
        pub name: String,
        /// Its format: `md`, `html`, `pdf`, `xlsx`, `csv`, `json`, `jsonld`, `svg` or `png`.
        pub format: String,
        /// Its length in bytes.
        pub bytes: u32,
        /// The SHA-256 of its content.
        pub sha256: String,
    }
}

answer! {
    #[derive(serde::Deserialize)]
    /// What changed since an edition.
    pub struct ChangesDto {
        /// The number of that edition.
        pub since: u32,
        /// The changes, corrections first within a product.
        pub changes: Vec<EditionChange>,
    }
}

answer! {
    #[derive(serde::Deserialize)]
    /// One change between two editions.
    pub struct EditionChange {
        /// `corrected`, `added`, `price`, `rank`, `entered`, `left`, `verdict`, `claim` or `method`.
        pub kind: String,
        /// The product's key; empty for the method.
        pub product: String,
        /// What changed: a finding's address, `price`, `place`, `index`, a fact of the product, a verdict, a claim's number, a
        /// word of the method.
        pub what: String,
        /// What was said before, or empty.
        pub before: String,
        /// What is said now, or empty.
        pub after: String,
        /// The sentence that is printed.
        pub text: String,
    }
}

answer! {
    /// All editions of a catalogue, newest first.
    pub struct EditionList {
        /// The editions.
        pub editions: Vec<EditionRow>,
    }
}

answer! {
    /// One edition.
    pub struct EditionRow {
        /// Its number.
        pub number: u32,
        /// Its title.
        pub title: String,
        /// The band, `LOW..HIGH`.
        pub band: String,
        /// The day for which prices were taken.
        pub as_of: String,
        /// When it was published, UTC.
        pub made_at: String,
        /// Its files.
        pub files: Vec<PublishedFile>,
    }
}

answer! {
    /// Whether an edition, computed anew from what it was made of, comes out as it was.
    pub struct EditionCheck {
        /// Its number.
        pub number: u32,
        /// Whether the bytes that are kept have the hashes that are kept.
        pub is_whole: bool,
        /// Whether all files came out the same.
        pub is_same: bool,
        /// What differs: files, and what of the program or its plugins is other than it was.
        pub differences: Vec<String>,
    }
}

answer! {
    /// A publication to be looked at before it is made.
    pub struct PublicationPreview {
        /// The HTML file as it would be written.
        pub html: String,
        /// The definition it was made by, with all that was left out filled in.
        pub definition: crate::Definition,
        /// The same as the text of a definition file, for the command line.
        pub definition_text: String,
        /// What would change since the edition before; null when there is none.
        pub changes: Option<ChangesDto>,
        /// The formats that can be written.
        pub formats: Vec<String>,
        /// The columns that a comparison may have: id and label.
        pub columns: Vec<ColumnChoice>,
        /// The products that it may show: key and name, in the order of the standings.
        pub products: Vec<ColumnChoice>,
        /// What a reader of some formats will miss.
        pub remarks: Vec<Remark>,
    }
}

answer! {
    /// A column or a product that a comparison may have.
    pub struct ColumnChoice {
        /// What the definition calls it.
        pub id: String,
        /// What stands above it.
        pub label: String,
    }
}
