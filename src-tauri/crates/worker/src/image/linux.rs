//! A sealed file in memory: what was hashed is what is loaded.

use std::fs::File;
use std::io::{self, Write};
use std::os::fd::{AsRawFd, FromRawFd};
use std::path::PathBuf;

/// A library in memory.
#[derive(Debug)]
pub(crate) struct Image {
    file: File,
}

impl Image {
    /// Copies the bytes and seals the copy.
    pub(crate) fn keep(bytes: &[u8]) -> io::Result<Image> {
        let flags = libc::MFD_CLOEXEC | libc::MFD_ALLOW_SEALING;
        // Kernels before 6.3 do not know that a file in memory can be told to be executable.
        let mut fd = create(flags | libc::MFD_EXEC);
        if fd < 0 {
            fd = create(flags);
        }
        if fd < 0 {
            return Err(io::Error::last_os_error());
        }
        // SAFETY: the descriptor is new and belongs to nobody else.
        let mut file = unsafe { File::from_raw_fd(fd) };
        file.write_all(bytes)?;
        let seals =
            libc::F_SEAL_WRITE | libc::F_SEAL_GROW | libc::F_SEAL_SHRINK | libc::F_SEAL_SEAL;
        // SAFETY: plain system call; the result is checked.
        if unsafe { libc::fcntl(file.as_raw_fd(), libc::F_ADD_SEALS, seals) } < 0 {
            return Err(io::Error::last_os_error());
        }
        Ok(Image { file })
    }

    /// The name by which this process, and no other, can load it.
    pub(crate) fn path(&self) -> PathBuf {
        PathBuf::from(format!("/proc/self/fd/{}", self.file.as_raw_fd()))
    }
}

fn create(flags: u32) -> i32 {
    // SAFETY: the name is static and ends with a NUL; the result is checked by the caller.
    unsafe { libc::memfd_create(c"plugin".as_ptr(), flags) }
}
