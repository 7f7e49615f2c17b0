//! Copies of the catalogue: one before the first change of each day, one whenever somebody asks, and the way back.

use std::path::{Path, PathBuf};

use catalog::{
    Catalog,
    backup::{self, Copy, Extent, Occasion},
    durable,
    photo::files,
};

use crate::{
    Engine, Error, clock,
    dto::{CopyDto, CopyList, RestoreReport},
    error::count,
    photos,
};

impl Engine {
    /// The catalogue for writing. The first change of a day makes a copy of what was before; a catalogue in which nothing
    /// was ever recorded needs none.
    ///
    /// # Errors
    /// As for opening, and when the copy cannot be made: nothing may be written then.
    pub(crate) fn writer(&self) -> Result<Catalog, Error> {
        let writer = Catalog::open_known(self.catalogue(), &self.pages)?;
        let stamp = stamp();
        let day = stamp.split('T').next().unwrap_or(&stamp);
        let has_today = backup::copies(self.catalogue())?
            .iter()
            .any(|it| it.occasion == Occasion::Daily && it.stamp.starts_with(day));
        if !has_today && backup::extent(self.catalogue())?.last_change.is_some() {
            backup::back_up(self.catalogue(), Occasion::Daily, &stamp)?;
        }
        Ok(writer)
    }

    /// Makes a copy now.
    ///
    /// # Errors
    /// When it cannot be written or is not sound; no part of it stays then.
    pub fn back_up(&self) -> Result<CopyList, Error> {
        let made = backup::back_up(self.catalogue(), Occasion::Asked, &stamp())?;
        Ok(CopyList { made: Some(copy(&made)), ..copies(self.catalogue())? })
    }
}

/// The copies of a catalogue, which may be damaged or gone: that is when they are asked for.
///
/// # Errors
/// When their folder cannot be read.
pub fn copies(catalogue: &Path) -> Result<CopyList, Error> {
    let copies = backup::copies(catalogue)?;
    Ok(CopyList {
        folder: backup::folder(catalogue).display().to_string(),
        made: None,
        copies: copies.iter().map(copy).collect(),
        photos: uncopied_photos(catalogue, "the copies", "a copy"),
    })
}

/// A photo never changes and is deleted by nobody but `photo clean` and `doctor --repair`, so that a copy needs none of them
/// to be whole here; daily copies of all of them would fill the disk. Who keeps a copy elsewhere must be told.
pub(crate) fn uncopied_photos(catalogue: &Path, from: &str, one: &str) -> String {
    let (files, bytes) = files::kept(catalogue);
    if files == 0 {
        return String::new();
    }
    format!(
        "Photos are not in {from}: {}, {}, in {}; keep that folder with {one} that goes elsewhere",
        count(files, "file"),
        photos::size(bytes),
        files::folder(catalogue).display()
    )
}

/// Puts a copy in the place of a catalogue. What was there is kept among the copies, also when it is damaged.
///
/// # Errors
/// When the copy is not a sound catalogue; when the catalogue holds later changes than the copy, or cannot be read, and
/// `discard_newer` is false; when something cannot be written. The catalogue is then as it was.
pub fn restore(from: &Path, catalogue: &Path, discard_newer: bool) -> Result<RestoreReport, Error> {
    backup::verify(from)?;
    let copied = backup::extent(from)?;
    let (mut kept, mut aside) = (None, Vec::new());
    if catalogue.exists() {
        let newest = backup::extent(catalogue);
        if !discard_newer {
            refuse_newer(from, catalogue, &copied, &newest)?;
        }
        match backup::back_up(catalogue, Occasion::Restore, &stamp()) {
            Ok(it) => kept = Some(it.path),
            Err(why) if why.is_damage() => {
                aside = set_aside(catalogue)?;
                kept = aside.last().map(|(_, to)| to.clone());
            }
            Err(why) => return Err(why.into()),
        }
    }
    if let Err(why) = backup::restore(from, catalogue) {
        for (place, to) in &aside {
            durable::relocate(to, place)?;
        }
        return Err(why.into());
    }
    Ok(RestoreReport {
        catalogue: catalogue.display().to_string(),
        from: from.display().to_string(),
        last_change: copied.last_change,
        kept: kept.map(|it| it.display().to_string()),
    })
}

fn refuse_newer(
    from: &Path,
    catalogue: &Path,
    copied: &Extent,
    newest: &Result<Extent, catalog::Error>,
) -> Result<(), Error> {
    let why = match newest {
        Ok(newest) if !newest.is_beyond(copied) => return Ok(()),
        Ok(newest) => format!(
            "is older than {}, which was last changed {}",
            catalogue.display(),
            newest.last_change.as_deref().unwrap_or("never")
        ),
        Err(why) => format!("would replace a file whose changes cannot be read ({why})"),
    };
    let accepted = "the newest copy, or --discard-newer; the present state is kept beside the copies either way";
    Err(Error::request("copy", &from.display().to_string(), why, accepted))
}

/// Where a damaged catalogue is kept as it is.
pub(crate) fn aside(catalogue: &Path) -> PathBuf {
    let name = catalogue.file_name().unwrap_or_default().to_string_lossy();
    backup::folder(catalogue).join(format!("damaged.{}.{name}", stamp()))
}

/// Moves a file that cannot even be copied as a catalogue out of the way, with what SQLite keeps beside it: from where and
/// to where, the catalogue itself last.
fn set_aside(catalogue: &Path) -> Result<Vec<(PathBuf, PathBuf)>, Error> {
    let folder = backup::folder(catalogue);
    durable::make_folder(&folder)?;
    let aside = aside(catalogue);
    let mut moved = Vec::new();
    for suffix in ["-wal", "-shm", ""] {
        let mut from = catalogue.as_os_str().to_owned();
        from.push(suffix);
        let from = PathBuf::from(from);
        if from.exists() {
            let mut to = aside.clone().into_os_string();
            to.push(suffix);
            let to = PathBuf::from(to);
            durable::relocate(&from, &to)?;
            moved.push((from, to));
        }
    }
    Ok(moved)
}

/// Now, as it can stand in the name of a file.
fn stamp() -> String {
    clock::now().replace(':', "-")
}

fn copy(of: &Copy) -> CopyDto {
    CopyDto {
        file: of.path.display().to_string(),
        occasion: of.occasion.word().to_owned(),
        stamp: of.stamp.clone(),
        kilobytes: u32::try_from(of.bytes.div_ceil(1024)).unwrap_or(u32::MAX),
    }
}
