//! A private copy in a directory that only this user may enter, for systems without sealed files in memory.

use std::io;
use std::path::PathBuf;
use std::{env, fs, process};

/// A library in a private directory.
#[derive(Debug)]
pub(crate) struct Image {
    path: PathBuf,
}

impl Image {
    /// Writes the bytes to a new file in a new directory.
    pub(crate) fn keep(bytes: &[u8]) -> io::Result<Image> {
        let dir = env::temp_dir().join(format!("boxworth-worker-{}", process::id()));
        let mut builder = fs::DirBuilder::new();
        #[cfg(unix)]
        std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
        builder.create(&dir)?;
        let path = dir.join("plugin");
        fs::write(&path, bytes)?;
        Ok(Image { path })
    }

    /// Where it is.
    pub(crate) fn path(&self) -> PathBuf {
        self.path.clone()
    }
}
