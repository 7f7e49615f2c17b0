//! A photo of a product: what it shows, which file it is, and what was taken out of that file.

use std::{fmt, str::FromStr};

use crate::{Date, key::word_enum, part::Part};

word_enum! {
    /// How a kept photo is coded.
    pub enum PhotoFormat: "photo format" {
        /// JPEG, ITU-T T.81.
        Jpeg = "jpg",
        /// PNG, without loss.
        Png = "png",
    }
}

/// The SHA-256 of a kept file, which is also its name.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PhotoHash(String);

impl PhotoHash {
    /// The accepted form.
    pub const ACCEPTED: &'static str = "64 digits 0-9 and a-f";

    /// The digits.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// As many digits as a person reads.
    #[must_use]
    pub fn short(&self) -> &str {
        &self.0[..8]
    }
}

impl From<[u8; 32]> for PhotoHash {
    fn from(digest: [u8; 32]) -> Self {
        PhotoHash(digest.iter().map(|it| format!("{it:02x}")).collect())
    }
}

impl fmt::Display for PhotoHash {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// What is no hash.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("not the name of a photo; accepted: {}", PhotoHash::ACCEPTED)]
pub struct BadHash;

impl FromStr for PhotoHash {
    type Err = BadHash;

    /// Nothing else can become the name of a file.
    fn from_str(text: &str) -> Result<Self, BadHash> {
        let digits = text.len() == 64
            && text.bytes().all(|it| it.is_ascii_digit() || (b'a'..=b'f').contains(&it));
        if digits { Ok(PhotoHash(text.to_owned())) } else { Err(BadHash) }
    }
}

/// What a photo shows: the product, or something that was seen in a teardown.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PhotoOf {
    /// The product, whichever specimen.
    Product,
    /// Something of a specimen.
    Teardown {
        /// The specimen's label.
        specimen: String,
        /// The day of the teardown.
        date: Date,
        /// The part.
        part: Part,
        /// The key of the finding that it shows; empty for the part as such.
        key: String,
    },
}

impl PhotoOf {
    /// The part or finding as an address: `woofer`, `woofer.basket`; empty for the product.
    #[must_use]
    pub fn address(&self) -> String {
        match self {
            PhotoOf::Product => String::new(),
            PhotoOf::Teardown { part, key, .. } if key.is_empty() => part.to_string(),
            PhotoOf::Teardown { part, key, .. } => format!("{part}.{key}"),
        }
    }
}

/// A photo that a catalogue keeps.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Photo {
    /// What it shows.
    pub of: PhotoOf,
    /// The file.
    pub sha256: PhotoHash,
    /// How it is coded.
    pub format: PhotoFormat,
    /// The width, pixels, as it is looked at.
    pub width: u32,
    /// The height, pixels.
    pub height: u32,
    /// The size of the file.
    pub bytes: u64,
    /// What it shows, in the reviewer's words; may be empty.
    pub caption: String,
    /// What the file said besides its picture, and was taken out: `location`, `camera`.
    pub removed: Vec<String>,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_a_hash_can_name_a_file() {
        let good = "0123456789abcdef".repeat(4);
        assert_eq!(good.parse::<PhotoHash>().unwrap().short(), "01234567");
        assert_eq!(PhotoHash::from([0x0f; 32]).as_str(), "0f".repeat(32));
        for bad in [
            "",
            "../../etc/passwd",
            &good.to_uppercase(),
            &good[1..],
            &format!("{good}0"),
            &format!("/{}", &good[1..]),
            &format!("é{}", &good[2..]),
        ] {
            assert!(bad.parse::<PhotoHash>().is_err(), "{bad} was accepted");
        }
    }
}
