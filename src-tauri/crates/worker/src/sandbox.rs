//! What holds the process back once foreign code runs. One trait, one implementation for each system.

#[cfg_attr(target_os = "linux", path = "sandbox/linux.rs")]
#[cfg_attr(target_os = "macos", path = "sandbox/macos.rs")]
#[cfg_attr(not(any(target_os = "linux", target_os = "macos")), path = "sandbox/other.rs")]
mod system;

use std::io;

use wire::{Limits, Sandbox};

pub(crate) use system::Here;

/// A way to confine the calling process.
pub(crate) trait Confinement {
    /// Confines the process for good, and says honestly how well.
    fn confine(limits: &Limits) -> io::Result<Sandbox>;

    /// Lets the process compute as long as a call may take, with some slack; the host's own clock is the sharper one.
    fn allow_time(deadline_ms: u64) -> io::Result<()>;
}
