//! A photo on its way in: checked, turned upright, and written anew with nothing but its picture.
//!
//! The pixels are decoded and coded again, so that nothing else of the file can come along: no place, no serial numbers, no
//! second picture behind the first. What the file said besides is told, so that a reviewer sees what was taken out.
//! The colour profile stays, since colours would shift without it.

use std::io::Cursor;

use domain::photo::PhotoFormat;
use image::{
    DynamicImage, ExtendedColorType, ImageDecoder, ImageEncoder, ImageError, ImageFormat,
    ImageReader, Limits,
    codecs::{jpeg::JpegEncoder, png::PngEncoder},
    error::LimitErrorKind,
    imageops::FilterType,
    metadata::Orientation,
};

use super::removed;

/// The largest file that is read, in bytes.
pub(super) const MOST_BYTES: usize = 40 << 20;

/// The most pixels that are decoded. A small file can claim any size; this is twice what large cameras make.
const MOST_PIXELS: u64 = 100_000_000;

/// The most memory that decoding may take, in bytes: four bytes a pixel and room to work in.
const MOST_MEMORY: u64 = 512 << 20;

/// The longest side of a small picture, in pixels.
const SMALL_SIDE: u32 = 320;

/// Of 100. Kept photos are looked at, and enlarged, so little may be lost; small ones only have to be known again.
const QUALITY: u8 = 92;
const SMALL_QUALITY: u8 = 80;

/// The accepted form.
pub(super) const ACCEPTED: &str = "a JPEG, PNG or WebP picture of at most 40 MiB and 100 million pixels; a camera or a phone can save one of these";

/// A photo with nothing but its picture.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Taken {
    /// The file to keep.
    pub(super) bytes: Vec<u8>,
    pub(super) format: PhotoFormat,
    /// Upright, in pixels.
    pub(super) width: u32,
    pub(super) height: u32,
    /// A small JPEG.
    pub(super) small: Vec<u8>,
    /// What the file said besides.
    pub(super) removed: Vec<String>,
}

/// Takes a photo in; without one, why it is none that can be kept.
pub(super) fn taken(bytes: &[u8]) -> Result<Taken, String> {
    if bytes.len() > MOST_BYTES {
        return Err(format!("takes {} MiB", bytes.len().div_ceil(1 << 20)));
    }
    let format = format(bytes)?;
    let mut decoder = ImageReader::with_format(Cursor::new(bytes), format)
        .into_decoder()
        .map_err(|it| unreadable(&it))?;
    let (width, height) = decoder.dimensions();
    if u64::from(width) * u64::from(height) > MOST_PIXELS {
        return Err(format!("says that it has {width} × {height} pixels"));
    }
    let mut limits = Limits::no_limits();
    limits.max_alloc = Some(MOST_MEMORY);
    decoder.set_limits(limits).map_err(|it| unreadable(&it))?;
    let besides = removed::besides(bytes, &mut decoder);
    let turned = besides.orientation.and_then(Orientation::from_exif);
    let profile = decoder.icc_profile().ok().flatten();
    let mut picture = DynamicImage::from_decoder(decoder).map_err(|it| unreadable(&it))?;
    picture.apply_orientation(turned.unwrap_or(Orientation::NoTransforms));
    // What can be seen through is rare in photos, and JPEG cannot hold it.
    let keeps_all = format == ImageFormat::Png || picture.color().has_alpha();
    let (format, bytes) = if keeps_all {
        (PhotoFormat::Png, png(&picture, profile)?)
    } else {
        (PhotoFormat::Jpeg, jpeg(&picture, QUALITY, profile)?)
    };
    Ok(Taken {
        bytes,
        format,
        width: picture.width(),
        height: picture.height(),
        small: small(&picture)?,
        removed: besides.words,
    })
}

/// The small picture of one that is kept.
pub(super) fn small_of(bytes: &[u8]) -> Result<Vec<u8>, String> {
    Ok(taken(bytes)?.small)
}

fn format(bytes: &[u8]) -> Result<ImageFormat, String> {
    match image::guess_format(bytes) {
        Ok(it @ (ImageFormat::Jpeg | ImageFormat::Png | ImageFormat::WebP)) => Ok(it),
        // ISO/IEC 14496-12: the box `ftyp` stands first.
        _ if bytes.get(4..8) == Some(b"ftyp") => {
            Err("is HEIC, AVIF or a film, which are not read".into())
        }
        Ok(it) => Err(format!("is {}, which is not read", it.extensions_str()[0].to_uppercase())),
        Err(_) => Err("is no picture that is known".into()),
    }
}

fn small(picture: &DynamicImage) -> Result<Vec<u8>, String> {
    let small = if picture.width().max(picture.height()) > SMALL_SIDE {
        picture.resize(SMALL_SIDE, SMALL_SIDE, FilterType::Triangle)
    } else {
        picture.clone()
    };
    jpeg(&small, SMALL_QUALITY, None)
}

fn jpeg(picture: &DynamicImage, quality: u8, profile: Option<Vec<u8>>) -> Result<Vec<u8>, String> {
    let rgb = picture.to_rgb8();
    let mut out = Vec::new();
    let mut encoder = JpegEncoder::new_with_quality(&mut out, quality);
    with_profile(&mut encoder, profile);
    let (width, height) = rgb.dimensions();
    encoder
        .write_image(&rgb, width, height, ExtendedColorType::Rgb8)
        .map_err(|it| unwritable(&it))?;
    Ok(out)
}

fn png(picture: &DynamicImage, profile: Option<Vec<u8>>) -> Result<Vec<u8>, String> {
    let mut out = Vec::new();
    let mut encoder = PngEncoder::new(&mut out);
    with_profile(&mut encoder, profile);
    picture.write_with_encoder(encoder).map_err(|it| unwritable(&it))?;
    Ok(out)
}

/// A profile that the encoder does not take is left out: the picture matters more.
fn with_profile(encoder: &mut impl ImageEncoder, profile: Option<Vec<u8>>) {
    if let Some(it) = profile {
        drop(encoder.set_icc_profile(it));
    }
}

fn unreadable(why: &ImageError) -> String {
    match why {
        ImageError::Limits(it) if matches!(it.kind(), LimitErrorKind::InsufficientMemory) => {
            format!("would take more than {} MiB of memory", MOST_MEMORY >> 20)
        }
        _ => format!("cannot be read as a picture ({why})"),
    }
}

fn unwritable(why: &ImageError) -> String {
    format!("cannot be written anew ({why})")
}

#[cfg(test)]
mod tests;
