//! Systems on which the host shares no memory.

use std::fs::File;
use std::io;

use super::Memory;

/// There is none.
pub(crate) fn receive(_input: &File) -> io::Result<Option<Memory>> {
    Ok(None)
}
