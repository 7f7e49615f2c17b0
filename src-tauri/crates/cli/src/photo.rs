//! `boxworth photo`: photos are kept without anything but their picture, listed, described, taken out.

use std::{fs, io};

use engine::{PhotoAddRequest, PhotoEditRequest, PhotoRequest, PhotosRequest, text};

use crate::{
    args::{Global, photo::Photo},
    commands::open,
    failure::Failure,
    output::Output,
};

/// Runs one of its commands.
pub(crate) fn run(global: &Global, it: &Photo, output: &mut Output) -> Result<(), Failure> {
    let engine = open(global)?;
    match it {
        Photo::Add { product, file, of, caption, specimen, date, reason } => {
            let request = PhotoAddRequest {
                product: product.clone(),
                specimen: specimen.clone(),
                date: date.clone(),
                of: of.clone(),
                caption: caption.clone(),
                name: file.display().to_string(),
                data: None,
                file: Some(file.display().to_string()),
                reason: reason.clone(),
            };
            output.answer(&engine.add_photo(&request)?, text::photo_saved)
        }
        Photo::List { product } => {
            let request = PhotosRequest { product: product.clone() };
            output.answer(&engine.photos(&request)?, text::photos)
        }
        Photo::Show { product, photo, out } => {
            let request =
                PhotoRequest { product: product.clone(), photo: photo.clone(), small: false };
            let shown = engine.photo(&request)?;
            if let Some(out) = out {
                // A copy never takes the place of another file.
                let copied = fs::File::open(&shown.photo.file).and_then(|mut from| {
                    let mut to = fs::OpenOptions::new().write(true).create_new(true).open(out)?;
                    io::copy(&mut from, &mut to)
                });
                copied.map_err(|why| engine::Error::Unwritable {
                    path: out.display().to_string(),
                    why: why.to_string(),
                })?;
            }
            output.answer(&shown, text::photo)
        }
        Photo::Change { product, photo, caption, of, reason } => {
            let request = PhotoEditRequest {
                product: product.clone(),
                photo: photo.clone(),
                caption: caption.clone(),
                of: of.clone(),
                remove: false,
                reason: reason.clone(),
            };
            output.answer(&engine.edit_photo(&request)?, text::photo_saved)
        }
        Photo::Remove { product, photo, reason } => {
            let request = PhotoEditRequest {
                product: product.clone(),
                photo: photo.clone(),
                remove: true,
                reason: reason.clone(),
                ..PhotoEditRequest::default()
            };
            output.answer(&engine.edit_photo(&request)?, text::photo_saved)
        }
        Photo::Clean { taken_out, dry_run } => {
            output.answer(&engine.clean_photos(*taken_out, *dry_run)?, text::photos_cleaned)
        }
    }
}
