//! What is asked about photos.

use serde::Deserialize;

/// Whose photos.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[cfg_attr(feature = "types", derive(ts_rs::TS), ts(export))]
#[serde(deny_unknown_fields, default)]
pub struct PhotosRequest {
    /// The product's key, `maker/model`.
    pub product: String,
}

/// A photo to keep.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[cfg_attr(feature = "types", derive(ts_rs::TS), ts(export))]
#[serde(deny_unknown_fields, default)]
pub struct PhotoAddRequest {
    /// The product's key, `maker/model`.
    pub product: String,
    /// The label of the specimen; without it that of the newest teardown.
    pub specimen: Option<String>,
    /// The day of the teardown; without it the newest one.
    pub date: Option<String>,
    /// What it shows: a part such as `woofer`, a finding such as `woofer.basket`; empty for the product.
    pub of: String,
    /// What it shows, in words.
    pub caption: String,
    /// The name of the file, for refusals.
    pub name: String,
    /// The bytes of the file, as base64 (RFC 4648).
    pub data: Option<String>,
    /// Or where the file lies.
    pub file: Option<String>,
    /// Why; kept with the change.
    pub reason: String,
}

/// What is to become of a photo.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[cfg_attr(feature = "types", derive(ts_rs::TS), ts(export))]
#[serde(deny_unknown_fields, default)]
pub struct PhotoEditRequest {
    /// The product's key, `maker/model`.
    pub product: String,
    /// The photo: its hash, or so much of the beginning as only it has.
    pub photo: String,
    /// Another caption; null to leave it.
    pub caption: Option<String>,
    /// What it shows instead, a part or a finding of the same teardown; null to leave it.
    pub of: Option<String>,
    /// Whether it is taken out.
    pub remove: bool,
    /// Why; kept with the change.
    pub reason: String,
}

/// Which picture.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[cfg_attr(feature = "types", derive(ts_rs::TS), ts(export))]
#[serde(deny_unknown_fields, default)]
pub struct PhotoRequest {
    /// The product's key, `maker/model`.
    pub product: String,
    /// The photo: its hash, or so much of the beginning as only it has.
    pub photo: String,
    /// Whether the small picture is wanted.
    pub small: bool,
}
