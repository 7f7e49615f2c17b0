//! Products, the specimens that were opened, and bench jobs.

use crate::{
    Date,
    key::{ProductKey, word_enum},
};

word_enum! {
    /// How the speaker stands.
    pub enum ProductKind: "kind of product" {
        /// On a stand or shelf.
        StandMount = "stand-mount",
        /// On the floor.
        FloorStanding = "floor-standing",
    }
}

word_enum! {
    /// How the specimen was come by, which a publication must disclose.
    pub enum Acquired: "way to come by a specimen" {
        /// Bought at retail.
        Retail = "retail",
        /// Lent by maker or dealer.
        Lent = "lent",
        /// A gift.
        Gift = "gift",
        /// Bought second hand.
        SecondHand = "second hand",
    }
}

/// A loudspeaker model.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Product {
    /// `maker/model`.
    pub key: ProductKey,
    /// The maker's name as printed.
    pub maker: String,
    /// The model's name as printed.
    pub model: String,
    /// How it stands.
    pub kind: ProductKind,
    /// The number of ways, 1 to 4.
    pub ways: u8,
    /// Whether it has an amplifier of its own. The bench is for passive products; a powered one is listed, never scored.
    pub powered: bool,
    /// The year it came out.
    pub year: i16,
    /// A remark, empty where there is none.
    pub note: String,
}

/// The unit that was opened.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Specimen {
    /// The reviewer's own label, unique within a product.
    pub label: String,
    /// How it was come by.
    pub acquired: Acquired,
    /// The serial number, empty where it was not read.
    pub serial: String,
}

/// A dated bench job on a specimen.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Teardown {
    /// The specimen's label.
    pub specimen: String,
    /// The day.
    pub date: Date,
    /// A remark, empty where there is none.
    pub note: String,
}
