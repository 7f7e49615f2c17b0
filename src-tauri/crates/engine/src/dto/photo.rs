//! Photos of a product.

use super::answer;

answer! {
    /// A kept photo.
    pub struct PhotoDto {
        /// The SHA-256 of its file, which names it.
        pub sha256: String,
        /// The beginning of that, as people read it.
        pub short: String,
        /// What it shows, as an address: a part, a finding, or empty for the product.
        pub of: String,
        /// The same in words.
        pub shows: String,
        /// The specimen; null where the product as such is shown.
        pub specimen: Option<String>,
        /// The day of the teardown.
        pub date: Option<String>,
        /// What it shows in the reviewer's words, or empty.
        pub caption: String,
        /// The text that stands for it.
        pub alt: String,
        /// The width, pixels.
        pub width: u32,
        /// The height, pixels.
        pub height: u32,
        /// The size of the file, as text.
        pub size: String,
        /// What was taken out of the file, as text.
        pub removed: String,
        /// Whether the file said where it was taken.
        pub location_removed: bool,
        /// Whether the file is not where it should be.
        pub missing: bool,
        /// Where the file is.
        pub file: String,
    }
}

answer! {
    /// The photos of a product.
    pub struct PhotoList {
        /// The product's key.
        pub product: String,
        /// The photos, in the order in which they came.
        pub photos: Vec<PhotoDto>,
        /// The folder of their files.
        pub folder: String,
        /// What can be added.
        pub accepted: String,
        /// The largest file that can be added, bytes.
        pub most_bytes: u32,
    }
}

answer! {
    /// What became of a photo.
    pub struct PhotoSaved {
        /// The product's key.
        pub product: String,
        /// The photo as it is now; null when it was taken out.
        pub photo: Option<PhotoDto>,
        /// Whether the product had it before.
        pub was_there: bool,
        /// Whether anything changed.
        pub changed: bool,
    }
}

answer! {
    /// A picture.
    pub struct PhotoPicture {
        /// The photo.
        pub photo: PhotoDto,
        /// The picture as a `data:` address (RFC 2397).
        pub source: String,
    }
}

answer! {
    /// Files of photos that nothing needs.
    pub struct PhotoClean {
        /// The folder.
        pub folder: String,
        /// Whether it was only tried.
        pub dry_run: bool,
        /// The files that were deleted, or would be.
        pub deleted: Vec<String>,
        /// The files of photos that were taken out and stay: undo may bring them back.
        pub idle: Vec<String>,
    }
}
