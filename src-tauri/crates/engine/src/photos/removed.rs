//! What a picture file says besides its picture, in words that a reviewer knows.
//!
//! Exif 2.32 (CIPA DC-008) is read by a library; the others are named by their blocks. The list is what is told, not what is
//! taken out: that is everything but the picture, whether it is understood or not.

use std::{collections::BTreeSet, io::Cursor};

use exif::{Context, Exif, In, Reader, Tag};
use image::ImageDecoder;

/// What is told first, and is the reason for all of it.
pub(super) const LOCATION: &str = "location";

/// The rest, in the order in which it is told.
const CAMERA: &str = "camera and lens";
const OWNER: &str = "owner or serial number";
const TIME: &str = "time taken";
const WORDS: &str = "comments";
const PREVIEW: &str = "preview picture";
const OTHER: &str = "other camera data";
const XMP: &str = "XMP block";
const IPTC: &str = "IPTC block";
const ORDER: [&str; 9] = [LOCATION, OWNER, CAMERA, TIME, WORDS, PREVIEW, OTHER, XMP, IPTC];

/// Beginnings of names in XMP that say where a picture was taken (IPTC Photo Metadata Standard, section 10).
const XMP_PLACES: [&str; 5] =
    ["exif:GPS", "photoshop:City", "photoshop:Country", "Iptc4xmpCore:Location", "LocationCreated"];

/// What a file says besides its picture.
#[derive(Debug, Default)]
pub(super) struct Besides {
    /// In words, the location first.
    pub(super) words: Vec<String>,
    /// How it is to be turned to be upright (Exif 2.32, 4.6.4), where it says so.
    pub(super) orientation: Option<u8>,
}

/// What the file says besides its picture.
pub(super) fn besides(file: &[u8], decoder: &mut impl ImageDecoder) -> Besides {
    let mut found = BTreeSet::new();
    let mut orientation = None;
    // The library looks at the whole file: a block may stand behind the picture, where decoders do not look.
    match Reader::new()
        .continue_on_error(true)
        .read_from_container(&mut Cursor::new(file))
        .or_else(|why| why.distill_partial_result(|_| {}))
    {
        Ok(read) => {
            orientation = read
                .get_field(Tag::Orientation, In::PRIMARY)
                .and_then(|it| it.value.get_uint(0))
                .and_then(|it| u8::try_from(it).ok());
            found.extend(words(&read));
        }
        Err(exif::Error::NotFound(_)) => {}
        Err(_) => {
            found.insert(OTHER);
        }
    }
    if let Ok(Some(raw)) = decoder.xmp_metadata() {
        found.insert(XMP);
        let text = String::from_utf8_lossy(&raw);
        if XMP_PLACES.iter().any(|it| text.contains(it)) {
            found.insert(LOCATION);
        }
    }
    if let Ok(Some(_)) = decoder.iptc_metadata() {
        found.insert(IPTC);
    }
    if has_png_text(file) {
        found.insert(WORDS);
    }
    let words = ORDER.into_iter().filter(|it| found.contains(it)).map(str::to_owned).collect();
    Besides { words, orientation }
}

/// Whether a PNG file has chunks of text (PNG 3rd edition, 11.3.3), which may hold anything.
fn has_png_text(file: &[u8]) -> bool {
    let Some(mut rest) = file.strip_prefix(b"\x89PNG\r\n\x1a\n") else { return false };
    while let Some(([a, b, c, d], after)) = rest.split_first_chunk::<4>() {
        if [&b"tEXt"[..], b"zTXt", b"iTXt"].iter().any(|it| after.starts_with(it)) {
            return true;
        }
        // A chunk is its kind, its data and a checksum of four bytes.
        let length = u32::from_be_bytes([*a, *b, *c, *d]) as usize;
        rest = after.get(length.saturating_add(8)..).unwrap_or_default();
    }
    false
}

fn words(read: &Exif) -> BTreeSet<&'static str> {
    read.fields()
        .filter_map(|it| match (it.ifd_num, it.tag) {
            (In::THUMBNAIL, _) => Some(PREVIEW),
            (_, tag) if tag.context() == Context::Gps => Some(LOCATION),
            // How the picture is turned is not lost: its pixels are.
            (_, Tag::Orientation) => None,
            (_, Tag::Make | Tag::Model | Tag::LensMake | Tag::LensModel | Tag::Software) => {
                Some(CAMERA)
            }
            (
                _,
                Tag::Artist
                | Tag::Copyright
                | Tag::CameraOwnerName
                | Tag::BodySerialNumber
                | Tag::LensSerialNumber
                | Tag::ImageUniqueID,
            ) => Some(OWNER),
            (_, Tag::DateTime | Tag::DateTimeOriginal | Tag::DateTimeDigitized) => Some(TIME),
            (_, Tag::ImageDescription | Tag::UserComment) => Some(WORDS),
            _ => Some(OTHER),
        })
        .collect()
}
