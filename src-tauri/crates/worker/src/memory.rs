//! The memory that the host shares, in which a plugin finds the inputs of a large batch and leaves its scores.

#[cfg_attr(target_os = "linux", path = "memory/linux.rs")]
#[cfg_attr(not(target_os = "linux"), path = "memory/none.rs")]
mod system;

pub(crate) use system::receive;

/// Mapped memory. It stays mapped until the process ends.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Memory {
    pub(crate) inputs: *const f64,
    pub(crate) scores: *mut f64,
    /// How much there is.
    pub(crate) room: Room,
}

/// How many numbers find room in the memory.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Room {
    pub(crate) inputs: usize,
    pub(crate) scores: usize,
}
