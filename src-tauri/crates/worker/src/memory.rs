//! The memory that the host shares, in which a plugin finds the inputs of a large batch and leaves its scores.

#[cfg_attr(target_os = "linux", path = "memory/linux.rs")]
#[cfg_attr(not(target_os = "linux"), path = "memory/none.rs")]
mod system;

pub(crate) use system::receive;

/// Mapped memory. It stays mapped until the process ends.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Memory {
    inputs: *const f64,
    scores: *mut f64,
    /// How much there is in a half.
    pub(crate) room: Room,
}

impl Memory {
    /// Where inputs and scores of a half begin.
    pub(crate) fn half(&self, half: u32) -> (*const f64, *mut f64) {
        let half = half as usize;
        let inputs = self.inputs.wrapping_add(half * self.room.inputs);
        (inputs, self.scores.wrapping_add(half * self.room.scores))
    }
}

/// How many numbers find room in half of the memory.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Room {
    pub(crate) inputs: usize,
    pub(crate) scores: usize,
}
