//! The bytes of a library: read once, hashed, and kept where nobody can change them before they are loaded.

#[cfg_attr(target_os = "linux", path = "image/linux.rs")]
#[cfg_attr(not(target_os = "linux"), path = "image/copy.rs")]
mod place;

use std::fmt::Write as _;
use std::fs::File;
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use sha2::{Digest, Sha256};

pub(crate) use place::Image;

/// Longest library accepted, in bytes.
const MAX_BYTES: u64 = 256 << 20;

/// Why a file was not taken.
#[derive(Debug, thiserror::Error)]
pub(crate) enum ImageError {
    #[error("cannot read {}: {source}", path.display())]
    Read { path: PathBuf, source: io::Error },
    #[error("{} is over the limit of {MAX_BYTES} bytes", path.display())]
    TooLong { path: PathBuf },
    #[error("{} has changed: its SHA-256 is {found}, expected {expected}", path.display())]
    Changed { path: PathBuf, found: String, expected: String },
    #[error("cannot keep a copy of {}: {source}", path.display())]
    Keep { path: PathBuf, source: io::Error },
}

/// Reads a file and keeps its bytes if their hash is the expected one.
pub(crate) fn read(path: &Path, expected: [u8; 32]) -> Result<Image, ImageError> {
    let read_error = |source| ImageError::Read { path: path.to_owned(), source };
    let mut bytes = Vec::new();
    File::open(path)
        .and_then(|file| file.take(MAX_BYTES + 1).read_to_end(&mut bytes))
        .map_err(read_error)?;
    if MAX_BYTES < bytes.len() as u64 {
        return Err(ImageError::TooLong { path: path.to_owned() });
    }
    let found: [u8; 32] = Sha256::digest(&bytes).into();
    if found != expected {
        let (found, expected) = (hex(&found), hex(&expected));
        return Err(ImageError::Changed { path: path.to_owned(), found, expected });
    }
    Image::keep(&bytes).map_err(|source| ImageError::Keep { path: path.to_owned(), source })
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().fold(String::new(), |mut text, byte| {
        // Writing to a String cannot fail.
        let _ = write!(text, "{byte:02x}");
        text
    })
}
