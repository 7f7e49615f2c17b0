//! Linux: a socket for messages, over which a worker also gets two files in memory for large batches.
//!
//! The worker can read the first and write the second, and change the size of neither. This side never maps them: it
//! writes and reads them like files, so nothing that a plugin does to them can reach this process except as numbers.

use std::fs::File;
use std::io::{self, IoSlice};
use std::mem::MaybeUninit;
use std::net::Shutdown;
use std::ops::Range;
use std::os::fd::{AsFd, AsRawFd, OwnedFd};
use std::os::unix::fs::FileExt;
use std::os::unix::net::UnixStream as Socket;

use rustix::fs::{MemfdFlags, SealFlags, fcntl_add_seals, memfd_create};
use rustix::net::{SendAncillaryBuffer, SendAncillaryMessage, SendFlags, sendmsg};
use tokio::net::UnixStream;
use tokio::process::{Child, Command};

use crate::evaluation::Evaluate;

/// What is written to a worker.
pub(crate) type Writer = UnixStream;

/// A link whose worker is not started yet.
#[derive(Debug)]
pub(crate) struct Draft {
    ours: Socket,
}

impl Draft {
    /// Makes the link the standard input of a program.
    pub(crate) fn of(command: &mut Command) -> io::Result<Draft> {
        let (ours, theirs) = Socket::pair()?;
        // Nothing is expected from there, and nothing a plugin sends shall pile up.
        ours.shutdown(Shutdown::Read)?;
        command.stdin(OwnedFd::from(theirs));
        Ok(Draft { ours })
    }

    /// Hands the memory over, once the worker is started. Without memory all goes through the link.
    pub(crate) fn finish(self, _child: &mut Child) -> io::Result<(Writer, Option<Memory>)> {
        let memory = match Memory::new() {
            Ok((memory, read_only)) => {
                let fds = [read_only.as_fd(), memory.scores.as_fd()];
                let mut space = [MaybeUninit::uninit(); rustix::cmsg_space!(ScmRights(2))];
                let mut rights = SendAncillaryBuffer::new(&mut space);
                if !rights.push(SendAncillaryMessage::ScmRights(&fds)) {
                    return Err(io::Error::other("two descriptors do not fit a message"));
                }
                let byte = [IoSlice::new(&[wire::WITH_MEMORY])];
                match sendmsg(&self.ours, &byte, &mut rights, SendFlags::NOSIGNAL) {
                    Ok(_) => Some(memory),
                    // Gone already; its missing greeting tells how.
                    Err(rustix::io::Errno::PIPE) => None,
                    Err(error) => return Err(error.into()),
                }
            }
            Err(_) => {
                io::Write::write_all(&mut &self.ours, &[wire::WITHOUT_MEMORY])?;
                None
            }
        };
        self.ours.set_nonblocking(true)?;
        Ok((UnixStream::from_std(self.ours)?, memory))
    }
}

/// The memory that one worker shares.
#[derive(Debug)]
pub(crate) struct Memory {
    inputs: File,
    scores: File,
}

impl Memory {
    /// The memory, and its inputs as a file that can only be read.
    fn new() -> io::Result<(Memory, File)> {
        let inputs = sealed("inputs", wire::HALVES * wire::INPUT_BYTES)?;
        let scores = sealed("scores", wire::HALVES * wire::SCORE_BYTES)?;
        // Opened anew, since a duplicate would keep the right to write.
        let read_only = File::open(format!("/proc/self/fd/{}", inputs.as_raw_fd()))?;
        Ok((Memory { inputs, scores }, read_only))
    }

    /// Writes some rows of the inputs into a half, one input after the other.
    pub(crate) fn write_inputs(
        &self,
        half: u32,
        request: &Evaluate,
        rows: &Range<usize>,
    ) -> io::Result<()> {
        let mut at = u64::from(half) * wire::INPUT_BYTES as u64;
        for input in &request.inputs {
            let bytes: &[u8] = bytemuck::cast_slice(input.of_rows(rows));
            self.inputs.write_all_at(bytes, at)?;
            at += bytes.len() as u64;
        }
        Ok(())
    }

    /// Copies scores out of a half, once. What is checked afterwards is the copy, which the worker cannot change any more.
    pub(crate) fn read_scores(&self, half: u32, scores: &mut [f64]) -> io::Result<()> {
        let at = u64::from(half) * wire::SCORE_BYTES as u64;
        self.scores.read_exact_at(bytemuck::cast_slice_mut(scores), at)
    }
}

/// A file in memory that keeps its size.
fn sealed(name: &str, bytes: usize) -> io::Result<File> {
    let flags = MemfdFlags::CLOEXEC | MemfdFlags::ALLOW_SEALING;
    // Kernels before 6.3 do not know that a file in memory can be told never to be run.
    let fd = memfd_create(name, flags | MemfdFlags::NOEXEC_SEAL)
        .or_else(|_| memfd_create(name, flags))?;
    let file = File::from(fd);
    file.set_len(bytes as u64)?;
    fcntl_add_seals(&file, SealFlags::GROW | SealFlags::SHRINK | SealFlags::SEAL)?;
    Ok(file)
}

#[cfg(test)]
mod tests {
    use std::io::Write;

    use super::Memory;
    use crate::{Evaluate, Input};

    /// Seals and modes as memfd_create(2), fcntl(2) and open(2) describe them.
    #[test]
    fn worker_can_neither_resize_the_memory_nor_write_its_inputs() {
        let (memory, mut read_only) = Memory::new().unwrap();
        for len in [0, 3 * wire::INPUT_BYTES as u64] {
            assert!(memory.inputs.set_len(len).is_err() && memory.scores.set_len(len).is_err());
        }
        assert!(read_only.write(&[1]).is_err());
    }

    #[test]
    fn rows_lie_one_input_after_the_other() {
        let (memory, _) = Memory::new().unwrap();
        let curve = Input::Curve { grid: vec![1.0, 2.0], values: (0..6).map(f64::from).collect() };
        let inputs = vec![Input::Scalar(vec![10.0, 11.0, 12.0]), curve];
        let request = Evaluate { params: Vec::new(), n_rows: 3, inputs };
        memory.write_inputs(1, &request, &(1..3)).unwrap();
        let mut bytes = [0; 48];
        std::os::unix::fs::FileExt::read_exact_at(
            &memory.inputs,
            &mut bytes,
            wire::INPUT_BYTES as u64,
        )
        .unwrap();
        let numbers: Vec<f64> =
            bytes.chunks(8).map(|it| f64::from_ne_bytes(it.try_into().unwrap())).collect();
        assert_eq!(numbers, [11.0, 12.0, 2.0, 3.0, 4.0, 5.0]);
        let mut scores = vec![1.0; wire::SCORE_BYTES / 8];
        memory.read_scores(1, &mut scores).unwrap();
        assert!(scores.iter().all(|it| it.to_bits() == 0));
        assert!(memory.read_scores(2, &mut scores).is_err());
    }
}
