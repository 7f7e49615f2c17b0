//! The folder that files are written to: looked at before anything is kept, each file whole or not at all.

use std::{
    collections::BTreeSet,
    fs,
    io::ErrorKind,
    path::{Component, Path, PathBuf},
};

use catalog::durable;

use super::files::Made;
use crate::Error;

/// A folder in which nothing stands in the way.
#[derive(Debug)]
pub(super) struct Folder(PathBuf);

impl Folder {
    /// Looks whether the files can be written.
    ///
    /// # Errors
    /// [`Error::Occupied`] when a file of other content stands there and may not be replaced; [`Error::Unwritable`] when
    /// a name leads out of the folder.
    pub(super) fn ready(to: &Path, files: &[&Made], replace: bool) -> Result<Self, Error> {
        // Names of an edition come from the catalogue's file, which may be anybody's.
        if let Some(bad) = files.iter().find(|it| !stays_inside(&it.name)) {
            return Err(Error::Unwritable {
                path: bad.name.clone(),
                why: "is no name inside the folder, such as guide.md or tables/standings.csv"
                    .into(),
            });
        }
        if to.exists() && !to.is_dir() {
            return Err(Error::Occupied {
                path: to.display().to_string(),
                why: "is no folder".into(),
            });
        }
        if !replace {
            // What stands there and cannot be read is somebody's all the same.
            let other = files.iter().find(|it| match fs::read(to.join(&it.name)) {
                Ok(stands) => stands != it.content,
                Err(why) => why.kind() != ErrorKind::NotFound,
            });
            if let Some(it) = other {
                return Err(Error::Occupied {
                    path: to.join(&it.name).display().to_string(),
                    why: "stands there with other content; choose another folder, or allow to replace".into(),
                });
            }
        }
        Ok(Folder(to.to_owned()))
    }

    /// Writes each file beside its place and then moves it there, so that a power cut leaves the old one or the new one;
    /// once this returns, the new ones. `pass` is told of each before it is written: its place, how many there are, and its
    /// name.
    pub(super) fn write(
        &self,
        files: &[&Made],
        pass: &mut dyn FnMut((usize, usize), &str),
    ) -> Result<(), Error> {
        let mut folders = BTreeSet::new();
        for (at, it) in files.iter().enumerate() {
            pass((at, files.len()), &it.name);
            let place = self.0.join(&it.name);
            let within = place.parent().unwrap_or(&self.0).to_owned();
            durable::make_folder(&within).map_err(unwritable)?;
            let name = place.file_name().unwrap_or_default().to_string_lossy();
            let aside = within.join(format!(".{name}.part"));
            durable::replace(&aside, &place, &it.content).map_err(unwritable)?;
            folders.insert(within);
        }
        folders.iter().try_for_each(|it| durable::settle(it)).map_err(unwritable)
    }
}

fn unwritable(why: catalog::Error) -> Error {
    match why {
        catalog::Error::Io { path, source } => {
            Error::Unwritable { path: path.display().to_string(), why: source.to_string() }
        }
        other => other.into(),
    }
}

/// Whether a name, joined to a folder, leads to a file in it.
fn stays_inside(name: &str) -> bool {
    // What parts a path or names a drive elsewhere must not mean one thing here and another there.
    let is_plain = !name.is_empty() && !name.contains(['\\', ':']);
    is_plain && Path::new(name).components().all(|it| matches!(it, Component::Normal(_)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_that_leads_out_of_the_folder_writes_nothing() {
        let place = tempfile::tempdir().unwrap();
        let to = place.path().join("out");
        for name in
            ["../guide.md", "/tmp/guide.md", "tables/../../guide.md", "..", "", "c:\\guide.md"]
        {
            let made = Made { name: name.into(), content: b"x".to_vec() };
            for replace in [false, true] {
                let refused = Folder::ready(&to, &[&made], replace);
                assert!(matches!(refused, Err(Error::Unwritable { .. })), "{name:?} is accepted");
            }
        }
        for name in ["guide.md", "tables/standings.csv", "charts/index.svg"] {
            let made = Made { name: name.into(), content: b"x".to_vec() };
            Folder::ready(&to, &[&made], false).unwrap().write(&[&made], &mut |_, _| {}).unwrap();
            assert_eq!(fs::read(to.join(name)).unwrap(), b"x");
        }
    }
}
