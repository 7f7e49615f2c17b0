//! Memory that starts at a cache line.
//!
//! Vectors as wide as a line that do not start at one take two lines each, and so twice the time.

/// Bytes of a line.
const LINE: usize = 64;

/// Numbers, of which the first is at the start of a line.
pub(super) struct Lines<T> {
    memory: Vec<T>,
    len: usize,
}

impl<T: Copy + Default> Lines<T> {
    pub(super) fn new(len: usize) -> Self {
        Lines { memory: vec![T::default(); len + LINE / size_of::<T>()], len }
    }

    pub(super) fn as_mut_slice(&mut self) -> &mut [T] {
        // What cannot be aligned is slower, not wrong.
        let from = self.memory.as_ptr().align_offset(LINE).min(LINE / size_of::<T>());
        &mut self.memory[from..from + self.len]
    }
}
