//! Linux: two descriptors come with the first byte, are mapped, and closed before foreign code could get at them.

use std::fs::File;
use std::io::{self, IoSliceMut};
use std::mem::MaybeUninit;
use std::os::fd::OwnedFd;
use std::ptr;

use rustix::mm::{MapFlags, ProtFlags, mmap};
use rustix::net::{RecvAncillaryBuffer, RecvAncillaryMessage, RecvFlags, recvmsg};

use super::{Memory, Room};

/// Takes the first byte and what comes with it.
pub(crate) fn receive(input: &File) -> io::Result<Option<Memory>> {
    let mut byte = [0];
    let mut space = [MaybeUninit::uninit(); rustix::cmsg_space!(ScmRights(2))];
    let mut rights = RecvAncillaryBuffer::new(&mut space);
    let got =
        recvmsg(input, &mut [IoSliceMut::new(&mut byte)], &mut rights, RecvFlags::CMSG_CLOEXEC)?;
    let fds: Vec<OwnedFd> = rights
        .drain()
        .filter_map(|it| match it {
            RecvAncillaryMessage::ScmRights(fds) => Some(fds),
            _ => None,
        })
        .flatten()
        .collect();
    match (got.bytes, byte, &fds[..]) {
        (0, ..) | (1, [wire::WITHOUT_MEMORY], []) => Ok(None),
        (1, [wire::WITH_MEMORY], [inputs, scores]) => map(inputs, scores).map(Some),
        _ => Err(io::Error::other("the host began with something else than its memory")),
    }
}

fn map(inputs: &OwnedFd, scores: &OwnedFd) -> io::Result<Memory> {
    let both = ProtFlags::READ | ProtFlags::WRITE;
    // SAFETY: new mappings, at places that the system chooses. The files are sealed against shrinking, so no page can
    // go missing.
    let (inputs, scores) = unsafe {
        let (none, shared) = (ptr::null_mut(), MapFlags::SHARED);
        (
            mmap(none, wire::HALVES * wire::INPUT_BYTES, ProtFlags::READ, shared, inputs, 0)?,
            mmap(none, wire::HALVES * wire::SCORE_BYTES, both, shared, scores, 0)?,
        )
    };
    let number = size_of::<f64>();
    let room = Room { inputs: wire::INPUT_BYTES / number, scores: wire::SCORE_BYTES / number };
    Ok(Memory { inputs: inputs.cast_const().cast(), scores: scores.cast(), room })
}
