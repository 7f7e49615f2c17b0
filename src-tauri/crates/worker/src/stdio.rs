//! Moves the protocol off the descriptors that a plugin might print to.

use std::fs::File;
use std::io;

/// Gives the host's pipes as private descriptors; 0 then reads nothing and 1 leads to 2.
#[cfg(unix)]
pub(crate) fn make_private() -> io::Result<(File, File)> {
    use std::os::fd::{AsRawFd, FromRawFd};

    let private = |fd: i32| {
        // SAFETY: plain system call; the result is checked.
        let copy = unsafe { libc::fcntl(fd, libc::F_DUPFD_CLOEXEC, 3) };
        if copy < 0 {
            return Err(io::Error::last_os_error());
        }
        // SAFETY: the descriptor is new and belongs to nobody else.
        Ok(unsafe { File::from_raw_fd(copy) })
    };
    let replace = |from: i32, to: i32| {
        // SAFETY: plain system call; the result is checked.
        if unsafe { libc::dup2(from, to) } < 0 { Err(io::Error::last_os_error()) } else { Ok(()) }
    };
    let (input, output) = (private(0)?, private(1)?);
    let null = File::open("/dev/null")?;
    replace(null.as_raw_fd(), 0)?;
    replace(2, 1)?;
    Ok((input, output))
}

/// Gives the host's pipes as files of their own. What a plugin prints still goes to the host, which takes it for a
/// bad answer and ends the worker.
#[cfg(windows)]
pub(crate) fn make_private() -> io::Result<(File, File)> {
    use std::os::windows::io::AsHandle;

    let input = io::stdin().as_handle().try_clone_to_owned()?;
    let output = io::stdout().as_handle().try_clone_to_owned()?;
    Ok((File::from(input), File::from(output)))
}
