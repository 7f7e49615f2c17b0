//! macOS has no supported sandbox for files and network in a helper program: only resource limits are set.

use std::io;

use rlimit::Resource;
use wire::{Limits, Sandbox};

use super::Confinement;

/// This system.
#[derive(Debug)]
pub(crate) struct Here;

impl Confinement for Here {
    fn confine(limits: &Limits) -> io::Result<Sandbox> {
        Resource::CORE.set(0, 0)?;
        Resource::NOFILE.set(limits.open_files, limits.open_files)?;
        Resource::FSIZE.set(limits.file_bytes, limits.file_bytes)?;
        Ok(Sandbox::ProcessOnly)
    }

    fn allow_time(_deadline_ms: u64) -> io::Result<()> {
        Ok(())
    }
}
