//! Where things are on this computer.

use std::path::PathBuf;

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
