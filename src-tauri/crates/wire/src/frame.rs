//! Frames: a length, then a message. The length is checked before anything is allocated.

use std::io::{self, Read, Write};

use serde::Serialize;
use serde::de::DeserializeOwned;

/// Longest message, in bytes.
pub const MAX_FRAME_BYTES: usize = 64 * 1024 * 1024;

/// Bytes of the length before a message.
const PREFIX: usize = 4;

/// Why a frame could not be read or written.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum FrameError {
    /// The message is longer than [`MAX_FRAME_BYTES`].
    #[error("a message of {bytes} bytes is over the limit of {MAX_FRAME_BYTES}")]
    TooLong {
        /// Its length, claimed or real.
        bytes: usize,
    },
    /// The stream ended inside a frame.
    #[error("the stream ended inside a message")]
    Truncated,
    /// The bytes are no message.
    #[error("not a message: {what}")]
    Garbage {
        /// What is wrong.
        what: String,
    },
    /// The stream failed.
    #[error("cannot pass a message on")]
    Io(#[from] io::Error),
}

/// A message as a whole frame, length included.
///
/// # Errors
/// [`FrameError::TooLong`], or [`FrameError::Garbage`] for a value that has no encoding (a path that is not UTF-8).
pub fn encode<T: Serialize>(message: &T) -> Result<Vec<u8>, FrameError> {
    let mut frame = postcard::to_extend(message, vec![0; PREFIX]).map_err(garbage)?;
    let bytes = frame.len() - PREFIX;
    let prefix = u32::try_from(bytes).ok().filter(|_| bytes <= MAX_FRAME_BYTES);
    let prefix = prefix.ok_or(FrameError::TooLong { bytes })?;
    frame[..PREFIX].copy_from_slice(&prefix.to_le_bytes());
    Ok(frame)
}

/// The length of the message after a prefix.
///
/// # Errors
/// [`FrameError::TooLong`].
pub fn body_len(prefix: [u8; PREFIX]) -> Result<usize, FrameError> {
    let bytes = usize::try_from(u32::from_le_bytes(prefix)).unwrap_or(usize::MAX);
    if MAX_FRAME_BYTES < bytes { Err(FrameError::TooLong { bytes }) } else { Ok(bytes) }
}

/// A message from the bytes after the prefix. All of them must be used up.
///
/// # Errors
/// [`FrameError::Garbage`].
pub fn decode<T: DeserializeOwned>(body: &[u8]) -> Result<T, FrameError> {
    let (message, rest) = postcard::take_from_bytes(body).map_err(garbage)?;
    if rest.is_empty() {
        return Ok(message);
    }
    Err(FrameError::Garbage { what: format!("{} bytes too many", rest.len()) })
}

/// Writes a message and flushes.
///
/// # Errors
/// As [`encode`], or what the stream gives.
pub fn write<T: Serialize>(stream: &mut impl Write, message: &T) -> Result<(), FrameError> {
    stream.write_all(&encode(message)?)?;
    Ok(stream.flush()?)
}

/// Reads a message; `None` when the stream ends between two frames.
///
/// # Errors
/// As [`body_len`] and [`decode`], [`FrameError::Truncated`], or what the stream gives.
pub fn read<T: DeserializeOwned>(stream: &mut impl Read) -> Result<Option<T>, FrameError> {
    let mut prefix = [0; PREFIX];
    match fill(stream, &mut prefix)? {
        0 => return Ok(None),
        PREFIX => {}
        _ => return Err(FrameError::Truncated),
    }
    let mut body = vec![0; body_len(prefix)?];
    if fill(stream, &mut body)? < body.len() {
        return Err(FrameError::Truncated);
    }
    decode(&body).map(Some)
}

/// Fills a buffer as far as the stream goes.
fn fill(stream: &mut impl Read, buffer: &mut [u8]) -> io::Result<usize> {
    let mut filled = 0;
    while filled < buffer.len() {
        match stream.read(&mut buffer[filled..]) {
            Ok(0) => break,
            Ok(n) => filled += n,
            Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
            Err(error) => return Err(error),
        }
    }
    Ok(filled)
}

fn garbage(error: postcard::Error) -> FrameError {
    FrameError::Garbage { what: error.to_string() }
}

#[cfg(test)]
mod tests;
