//! Photos of a product: taken in without anything but their picture, shown, described, taken out.

use std::fs;

use base64::{Engine as _, engine::general_purpose::STANDARD as BASE64};
use catalog::photo::files;
use domain::{
    dossier::Dossier,
    part::Part,
    photo::{Photo, PhotoFormat, PhotoOf},
    text,
};

use crate::{
    Engine, Error, clock,
    declared::Declarations,
    dto::{PhotoClean, PhotoDto, PhotoList, PhotoPicture, PhotoSaved},
    job::At,
    naming,
};

mod intake;
mod removed;
mod request;

pub use request::{PhotoAddRequest, PhotoEditRequest, PhotoRequest, PhotosRequest};

/// The accepted form of what a photo shows.
const OF: &str =
    "a part such as woofer, a finding such as woofer.basket, or nothing for the product";

impl Engine {
    /// The photos of a product.
    ///
    /// # Errors
    /// [`Error::UnknownProduct`], or when the catalogue cannot be read.
    pub fn photos(&self, request: &PhotosRequest) -> Result<PhotoList, Error> {
        let (declarations, dossier) = self.known_product(&request.product)?;
        let photos = self.reader().photos(&dossier.product.key)?;
        Ok(PhotoList {
            product: dossier.product.key.to_string(),
            photos: photos.iter().map(|it| self.told(it, &dossier, &declarations)).collect(),
            folder: files::folder(self.catalogue()).display().to_string(),
            accepted: intake::ACCEPTED.into(),
            most_bytes: u32::try_from(intake::MOST_BYTES).unwrap_or(u32::MAX),
        })
    }

    /// Keeps a photo, written anew with nothing but its picture. One that the product has already gets the new place, and
    /// the new caption if there is one.
    ///
    /// # Errors
    /// [`Error::UnknownProduct`]; [`Error::Request`] for a place, a caption or a file that is not understood; when file or
    /// catalogue cannot be written. The catalogue is then as before.
    pub fn add_photo(&self, request: &PhotoAddRequest) -> Result<PhotoSaved, Error> {
        let (declarations, dossier) = self.known_product(&request.product)?;
        let of = self.shows(request, &dossier, &declarations)?;
        let caption = caption(&request.caption)?;
        let name = file_name(request);
        let refused = |why: String| Error::request("photo", &name, why, intake::ACCEPTED);
        let taken = intake::taken(&read(request)?).map_err(refused)?;
        // The writer first: it makes the copy of the day, without which nothing is written.
        let mut catalog = self.writer()?;
        let sha256 = files::keep(self.catalogue(), &taken.bytes, taken.format)?;
        files::keep_small(self.catalogue(), &sha256, &taken.small)?;
        let before = catalog.reader().photos(&dossier.product.key)?;
        let before = before.into_iter().find(|it| it.sha256 == sha256);
        let photo = Photo {
            of,
            sha256,
            format: taken.format,
            width: taken.width,
            height: taken.height,
            bytes: taken.bytes.len() as u64,
            caption: match &before {
                Some(it) if caption.is_empty() => it.caption.clone(),
                _ => caption,
            },
            removed: taken.removed,
        };
        let reason = request.reason.trim();
        let changed = catalog.record_photo(&dossier.product.key, &photo, reason, &clock::now())?;
        Ok(PhotoSaved {
            product: dossier.product.key.to_string(),
            photo: Some(self.told(&photo, &dossier, &declarations)),
            was_there: before.is_some(),
            changed,
        })
    }

    /// Gives a photo another caption or place, or takes it out. Its file stays, so that undo can bring it back.
    ///
    /// # Errors
    /// [`Error::UnknownProduct`]; [`Error::Request`] for a photo, place or caption that is not understood; when the catalogue
    /// cannot be written.
    pub fn edit_photo(&self, request: &PhotoEditRequest) -> Result<PhotoSaved, Error> {
        let (declarations, dossier) = self.known_product(&request.product)?;
        let mut photo = self.photo_of(&dossier, &request.photo)?;
        if let Some(text) = &request.caption {
            photo.caption = caption(text)?;
        }
        if let Some(text) = &request.of {
            photo.of = match &photo.of {
                PhotoOf::Teardown { specimen, date, .. } if !text.trim().is_empty() => {
                    let (part, key) = address(text, &declarations)?;
                    PhotoOf::Teardown { specimen: specimen.clone(), date: *date, part, key }
                }
                _ => {
                    let asked = PhotoAddRequest { of: text.clone(), ..PhotoAddRequest::default() };
                    self.shows(&asked, &dossier, &declarations)?
                }
            };
        }
        let (key, reason) = (&dossier.product.key, request.reason.trim());
        let mut catalog = self.writer()?;
        let changed = if request.remove {
            catalog.withdraw_photo(key, &photo.sha256, reason, &clock::now())?
        } else {
            catalog.record_photo(key, &photo, reason, &clock::now())?
        };
        Ok(PhotoSaved {
            product: key.to_string(),
            photo: (!request.remove).then(|| self.told(&photo, &dossier, &declarations)),
            was_there: true,
            changed,
        })
    }

    /// A picture, as a page can show it.
    ///
    /// # Errors
    /// [`Error::UnknownProduct`]; [`Error::Request`] for a photo that the product does not have; when the file cannot be read
    /// or is no more what it was.
    pub fn photo(&self, request: &PhotoRequest) -> Result<PhotoPicture, Error> {
        let (declarations, dossier) = self.known_product(&request.product)?;
        let photo = self.photo_of(&dossier, &request.photo)?;
        let (bytes, kind) = if request.small {
            (self.small(&photo)?, "jpeg")
        } else {
            let bytes = files::read(self.catalogue(), &photo.sha256, photo.format)?;
            (bytes, if photo.format == PhotoFormat::Png { "png" } else { "jpeg" })
        };
        Ok(PhotoPicture {
            photo: self.told(&photo, &dossier, &declarations),
            source: format!("data:image/{kind};base64,{}", BASE64.encode(bytes)),
        })
    }

    /// Deletes files of photos that neither the catalogue nor a copy of it names; with `idle` also those that were taken
    /// out; with `dry_run` only says which.
    ///
    /// # Errors
    /// When the folder cannot be read or written.
    pub fn clean_photos(&self, idle: bool, dry_run: bool) -> Result<PhotoClean, Error> {
        let named = self.reader().photo_files()?;
        let found = files::audit(self.catalogue(), &named)?;
        let gone = if dry_run {
            found.orphans.iter().chain(found.idle.iter().filter(|_| idle)).cloned().collect()
        } else {
            files::clean(self.catalogue(), &named, idle)?
        };
        let shown = |it: &std::path::PathBuf| it.display().to_string();
        Ok(PhotoClean {
            folder: files::folder(self.catalogue()).display().to_string(),
            dry_run,
            deleted: gone.iter().map(shown).collect(),
            idle: found.idle.iter().filter(|it| !gone.contains(it)).map(shown).collect(),
        })
    }

    /// The small picture; one that is lost is made anew.
    fn small(&self, photo: &Photo) -> Result<Vec<u8>, Error> {
        if let Ok(bytes) = fs::read(files::small_path(self.catalogue(), &photo.sha256)) {
            return Ok(bytes);
        }
        let bytes = files::read(self.catalogue(), &photo.sha256, photo.format)?;
        let refused = |why| Error::request("photo", photo.sha256.short(), why, intake::ACCEPTED);
        let small = intake::small_of(&bytes).map_err(refused)?;
        files::keep_small(self.catalogue(), &photo.sha256, &small)?;
        Ok(small)
    }

    fn photo_of(&self, dossier: &Dossier, typed: &str) -> Result<Photo, Error> {
        let photos = self.reader().photos(&dossier.product.key)?;
        let typed = typed.trim();
        let refuse = |why: &str| {
            let names: Vec<&str> = photos.iter().map(|it| it.sha256.short()).collect();
            let accepted = if names.is_empty() {
                "a photo that was added before".to_owned()
            } else {
                names.join(", ")
            };
            Error::request("photo", typed, why, accepted)
        };
        let mut fitting = photos.iter().filter(|it| it.sha256.as_str().starts_with(typed));
        match (fitting.next(), fitting.next()) {
            (Some(it), None) if !typed.is_empty() => Ok(it.clone()),
            (Some(_), Some(_)) => Err(refuse("fits more than one photo")),
            _ => Err(refuse("is no photo of this product")),
        }
    }

    /// What a new photo shows.
    fn shows(
        &self,
        request: &PhotoAddRequest,
        dossier: &Dossier,
        declarations: &Declarations,
    ) -> Result<PhotoOf, Error> {
        if request.of.trim().is_empty() {
            return Ok(PhotoOf::Product);
        }
        let (part, key) = address(&request.of, declarations)?;
        let at = At {
            product: dossier.product.key.as_str(),
            specimen: request.specimen.as_deref(),
            date: request.date.as_deref(),
            acquired: None,
        };
        let (teardown, _) = self.teardown(&at, dossier)?;
        if crate::job::job(dossier, &teardown.specimen, teardown.date).is_none() {
            let day = teardown.date.to_string();
            let why = "is no teardown of this specimen";
            return Err(Error::request("date", &day, why, "the day of a teardown that was begun"));
        }
        Ok(PhotoOf::Teardown { specimen: teardown.specimen, date: teardown.date, part, key })
    }

    fn told(&self, it: &Photo, dossier: &Dossier, declarations: &Declarations) -> PhotoDto {
        let address = it.of.address();
        let product = format!("{} {}", dossier.product.maker, dossier.product.model);
        let shows = match &it.of {
            PhotoOf::Product => product.clone(),
            PhotoOf::Teardown { key, part, .. } if key.is_empty() => part.to_string(),
            PhotoOf::Teardown { .. } => naming::named(&declarations.dictionary, &address),
        };
        let (specimen, date) = match &it.of {
            PhotoOf::Product => (None, None),
            PhotoOf::Teardown { specimen, date, .. } => {
                (Some(specimen.clone()), Some(date.to_string()))
            }
        };
        let path = files::path(self.catalogue(), &it.sha256, it.format);
        PhotoDto {
            sha256: it.sha256.to_string(),
            short: it.sha256.short().into(),
            alt: if it.caption.is_empty() {
                format!("Photo without a caption: {shows}")
            } else {
                it.caption.clone()
            },
            of: address,
            shows,
            specimen,
            date,
            caption: it.caption.clone(),
            width: it.width,
            height: it.height,
            size: size(it.bytes),
            removed: removed_text(&it.removed),
            location_removed: it.removed.iter().any(|word| word == removed::LOCATION),
            missing: !path.is_file(),
            file: path.display().to_string(),
        }
    }
}

/// A photo in the journal: `photo of woofer`.
pub(crate) fn named(it: &Photo) -> String {
    match it.of.address() {
        of if of.is_empty() => "photo of the product".into(),
        of => format!("photo of {of}"),
    }
}

/// What the journal says of it.
pub(crate) fn shown(it: &Photo) -> String {
    if it.caption.is_empty() {
        it.sha256.short().into()
    } else {
        format!("{} ({})", it.caption, it.sha256.short())
    }
}

fn removed_text(words: &[String]) -> String {
    if words.is_empty() {
        "nothing but the picture was in the file".into()
    } else {
        format!("{} removed", words.join(", "))
    }
}

/// `3.1 MB`, `84 kB`.
pub(crate) fn size(bytes: u64) -> String {
    #[expect(clippy::cast_precision_loss, reason = "two figures are shown")]
    let kilobytes = bytes as f64 / 1000.0;
    if kilobytes < 1000.0 {
        format!("{kilobytes:.0} kB")
    } else {
        format!("{:.1} MB", kilobytes / 1000.0)
    }
}

fn caption(text: &str) -> Result<String, Error> {
    let one_line = text.split_whitespace().collect::<Vec<_>>().join(" ");
    text::note(&one_line).map_err(|why| Error::Request {
        place: "caption",
        text: text::shortened(&one_line, 40),
        why: why.message,
        accepted: why.accepted,
    })
}

/// A part, and the key of a finding or nothing.
fn address(typed: &str, declarations: &Declarations) -> Result<(Part, String), Error> {
    let typed = typed.trim();
    let refuse = |why: &str| Error::request("of", typed, why, OF);
    let (part, key) = typed.split_once('.').unwrap_or((typed, ""));
    let part: Part = part.parse().map_err(|_| refuse("is no part"))?;
    if !key.is_empty() && declarations.dictionary.find(part.role, key).is_none() {
        return Err(refuse("is no finding"));
    }
    Ok((part, key.to_owned()))
}

fn file_name(request: &PhotoAddRequest) -> String {
    let path = request.file.as_deref().unwrap_or(&request.name);
    let name = path.rsplit(['/', '\\']).next().unwrap_or(path);
    text::shortened(name, 80)
}

/// The bytes of the file; of one that is too large only so much that this is seen.
fn read(request: &PhotoAddRequest) -> Result<Vec<u8>, Error> {
    use std::io::Read as _;

    let name = file_name(request);
    match (&request.data, &request.file) {
        (Some(data), None) => BASE64.decode(data).map_err(|why| {
            Error::request("photo", &name, format!("is not base64: {why}"), intake::ACCEPTED)
        }),
        (None, Some(path)) => {
            let mut bytes = Vec::new();
            let most = intake::MOST_BYTES as u64 + 1;
            fs::File::open(path).and_then(|it| it.take(most).read_to_end(&mut bytes)).map_err(
                |why| {
                    let why = format!("cannot be read: {why}");
                    Error::request("photo", &name, why, "a picture that you may read")
                },
            )?;
            Ok(bytes)
        }
        _ => Err(Error::request("photo", &name, "has no bytes", intake::ACCEPTED)),
    }
}
