//! Where things are on this computer.

use std::path::{Path, PathBuf};

use catalog::durable;

use crate::Error;

/// The catalogue that is opened when none is named: `shelf.boxworth` in the user's data folder.
///
/// # Errors
/// When the system names no home folder.
pub fn default_catalogue() -> Result<PathBuf, Error> {
    let dirs = project().ok_or_else(|| Error::Request {
        place: "--catalogue",
        text: String::new(),
        why: "no home folder is known, so the catalogue must be named".into(),
        accepted: "--catalogue FILE".into(),
    })?;
    Ok(dirs.data_dir().join("shelf.boxworth"))
}

/// Makes the folder of the default catalogue, if that is where a file is to be; any other folder must be there. What goes
/// wrong here is said by the attempt to make the file.
pub(crate) fn make_data_folder(file: &Path) {
    let folder = default_catalogue().ok().and_then(|it| it.parent().map(Path::to_owned));
    if let Some(folder) = folder.filter(|it| file.parent() == Some(it)) {
        drop(durable::make_folder(&folder));
    }
}

/// Where the window keeps what it remembers, such as the catalogues that were opened; `None` without a home folder.
#[must_use]
pub fn settings_folder() -> Option<PathBuf> {
    Some(project()?.config_dir().to_owned())
}

/// The user's folder for what can be made again; `None` when the system names no home folder.
#[must_use]
pub fn cache_folder() -> Option<PathBuf> {
    Some(project()?.cache_dir().to_owned())
}

fn project() -> Option<directories::ProjectDirs> {
    directories::ProjectDirs::from("org", "Boxworth", "Boxworth")
}
