//! What goes in with a place and a serial number comes out with neither, upright, and no bomb goes off.
//!
//! Metadata are written, and looked for afterwards, by `little_exif`, which shares no code with what reads and writes
//! photos here; and the segments that are left are walked by ITU-T T.81, table B.1.

use image::{GenericImageView, Rgb, RgbImage, Rgba, RgbaImage};
use little_exif::{exif_tag::ExifTag, filetype::FileExtension, metadata::Metadata, rational::uR64};

use super::*;

const SERIAL: &str = "SN-0042-INVENTED";

fn degrees(whole: u32, minutes: u32, seconds: u32) -> Vec<uR64> {
    [whole, minutes, seconds].map(|nominator| uR64 { nominator, denominator: 1 }).into()
}

/// A picture that is red on the left and blue on the right.
fn halves(width: u32, height: u32) -> RgbImage {
    RgbImage::from_fn(width, height, |x, _| {
        if x < width / 2 { Rgb([220, 20, 20]) } else { Rgb([20, 20, 220]) }
    })
}

fn coded(picture: &DynamicImage, format: ImageFormat) -> Vec<u8> {
    let mut out = Cursor::new(Vec::new());
    picture.write_to(&mut out, format).unwrap();
    out.into_inner()
}

/// As a phone writes it: place, serial number, time, and lying on its side.
fn of_a_phone(mut file: Vec<u8>) -> Vec<u8> {
    let mut data = Metadata::new();
    data.set_tag(ExifTag::GPSLatitudeRef("N".into()));
    data.set_tag(ExifTag::GPSLatitude(degrees(54, 27, 11)));
    data.set_tag(ExifTag::GPSLongitudeRef("W".into()));
    data.set_tag(ExifTag::GPSLongitude(degrees(3, 5, 19)));
    data.set_tag(ExifTag::Make("Invented".into()));
    data.set_tag(ExifTag::SerialNumber(SERIAL.into()));
    data.set_tag(ExifTag::DateTimeOriginal("2026:11:20 10:00:00".into()));
    // Exif 2.32, 4.6.4: 6 is to be turned right by a quarter to be upright.
    data.set_tag(ExifTag::Orientation(vec![6]));
    data.write_to_vec(&mut file, FileExtension::JPEG).unwrap();
    file
}

/// The same block in a PNG file, and a text (PNG 3rd edition, 11.3.4.5 and 11.3.3.2); IHDR ends at byte 33.
fn png_of_a_phone(file: &[u8]) -> Vec<u8> {
    let jpeg = of_a_phone(coded(&halves(8, 8).into(), ImageFormat::Jpeg));
    let at = jpeg.windows(6).position(|it| it == b"Exif\0\0").unwrap();
    let length = usize::from(u16::from_be_bytes([jpeg[at - 2], jpeg[at - 1]]));
    let mut out = file[..33].to_vec();
    for (kind, data) in
        [(b"eXIf", &jpeg[at + 6..at - 2 + length]), (b"tEXt", &b"Comment\0kitchen"[..])]
    {
        let chunk = [&kind[..], data].concat();
        out.extend(u32::try_from(data.len()).unwrap().to_be_bytes());
        out.extend(&chunk);
        out.extend(crc(&chunk).to_be_bytes());
    }
    out.extend(&file[33..]);
    out
}

/// The markers of a JPEG file up to its picture.
fn segments(file: &[u8]) -> Vec<u8> {
    assert_eq!(file[..2], [0xff, 0xd8]);
    let (mut at, mut found) = (2, Vec::new());
    loop {
        assert_eq!(file[at], 0xff);
        let marker = file[at + 1];
        found.push(marker);
        if marker == 0xda {
            return found;
        }
        at += 2 + usize::from(u16::from_be_bytes([file[at + 2], file[at + 3]]));
    }
}

fn holds(file: &[u8], what: &str) -> bool {
    file.windows(what.len()).any(|it| it == what.as_bytes())
}

/// How many entries another reader finds.
fn tags(file: &Vec<u8>) -> usize {
    Metadata::new_from_vec(file, FileExtension::JPEG).map_or(0, |it| (&it).into_iter().count())
}

#[test]
fn place_serial_number_and_all_else_are_gone_and_it_stands_upright() {
    let flat = coded(&halves(64, 32).into(), ImageFormat::Jpeg);
    let file = of_a_phone(flat);
    assert!(holds(&file, SERIAL) && holds(&file, "Exif") && tags(&file) > 5);
    let it = taken(&file).unwrap();
    assert_eq!(it.removed.first().map(String::as_str), Some("location"), "{:?}", it.removed);
    for word in ["camera and lens", "time taken"] {
        assert!(it.removed.iter().any(|it| it == word), "{:?}", it.removed);
    }
    for file in [&it.bytes, &it.small] {
        for word in [SERIAL, "Exif", "GPS", "Invented", "2026"] {
            assert!(!holds(file, word), "{word}");
        }
        // APP1 (e1) holds Exif and XMP, APP13 (ed) IPTC, fe comments.
        let left = segments(file);
        let known = [0xe0, 0xdb, 0xc0, 0xc4, 0xda];
        assert!(left.iter().all(|it| known.contains(it)), "{left:x?}");
        assert_eq!(tags(file), 0);
    }
    // Turned right, what was left is up.
    assert_eq!((it.width, it.height, it.format), (32, 64, PhotoFormat::Jpeg));
    let upright = image::load_from_memory(&it.bytes).unwrap();
    let (up, down) = (upright.get_pixel(16, 8), upright.get_pixel(16, 56));
    assert!(up[0] > 180 && up[2] < 60, "{up:?}");
    assert!(down[2] > 180 && down[0] < 60, "{down:?}");
}

#[test]
fn png_keeps_each_pixel_and_loses_its_texts() {
    let mut picture = RgbaImage::from_pixel(20, 10, Rgba([1, 2, 3, 255]));
    picture.put_pixel(3, 4, Rgba([200, 100, 50, 128]));
    let picture = DynamicImage::from(picture);
    let file = png_of_a_phone(&coded(&picture, ImageFormat::Png));
    let it = taken(&file).unwrap();
    assert_eq!(it.format, PhotoFormat::Png);
    for word in ["location", "comments"] {
        assert!(it.removed.iter().any(|it| it == word), "{word}: {:?}", it.removed);
    }
    let kept = image::load_from_memory(&it.bytes).unwrap();
    assert_eq!(kept.to_rgba8(), picture.rotate90().to_rgba8());
    assert!(!holds(&it.bytes, SERIAL) && !holds(&it.bytes, "eXIf") && !holds(&it.bytes, "kitchen"));
}

#[test]
fn webp_becomes_jpeg_or_keeps_what_is_seen_through() {
    let file = coded(&halves(40, 20).into(), ImageFormat::WebP);
    assert_eq!(taken(&file).unwrap().format, PhotoFormat::Jpeg);
    let clear = DynamicImage::from(RgbaImage::from_pixel(4, 4, Rgba([9, 9, 9, 0])));
    assert_eq!(taken(&coded(&clear, ImageFormat::WebP)).unwrap().format, PhotoFormat::Png);
}

#[test]
fn small_pictures_are_small_and_none_is_enlarged() {
    let large = taken(&coded(&halves(1000, 500).into(), ImageFormat::Jpeg)).unwrap();
    let small = image::load_from_memory(&large.small).unwrap();
    assert_eq!(small.dimensions(), (320, 160));
    let tiny = taken(&coded(&halves(8, 4).into(), ImageFormat::Jpeg)).unwrap();
    assert_eq!(image::load_from_memory(&tiny.small).unwrap().dimensions(), (8, 4));
}

#[test]
fn the_same_file_gives_the_same_bytes() {
    let file = coded(&halves(64, 32).into(), ImageFormat::Jpeg);
    assert_eq!(taken(&file).unwrap(), taken(&file).unwrap());
}

/// A PNG of a few bytes that says it has 60,000 by 60,000 pixels (PNG 3rd edition, 11.2.1: width at byte 16, height at 20).
fn bomb() -> Vec<u8> {
    let mut file = coded(&halves(2, 2).into(), ImageFormat::Png);
    file[16..20].copy_from_slice(&60_000_u32.to_be_bytes());
    file[20..24].copy_from_slice(&60_000_u32.to_be_bytes());
    let sum = crc(&file[12..29]);
    file[29..33].copy_from_slice(&sum.to_be_bytes());
    file
}

/// PNG 3rd edition, annex D.
fn crc(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(!0, |sum, byte| {
        (0..8).fold(sum ^ u32::from(*byte), |it, _| {
            if it & 1 == 1 { 0xedb8_8320 ^ (it >> 1) } else { it >> 1 }
        })
    })
}

#[test]
fn what_is_no_photo_is_refused_in_words() {
    let why = |bytes: &[u8]| taken(bytes).unwrap_err();
    assert_eq!(why(&bomb()), "says that it has 60000 × 60000 pixels");
    assert_eq!(why(&vec![0; MOST_BYTES + 1]), "takes 41 MiB");
    assert_eq!(why(b"not a picture"), "is no picture that is known");
    assert_eq!(why(b"GIF89a......"), "is GIF, which is not read");
    assert_eq!(why(b"\0\0\0\x18ftypheic"), "is HEIC, AVIF or a film, which are not read");
    let whole = coded(&halves(64, 64).into(), ImageFormat::Png);
    assert!(why(&whole[..whole.len() / 2]).starts_with("cannot be read as a picture"));
    assert!(why(&[]).starts_with("is no picture"));
}
