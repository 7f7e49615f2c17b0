//! How a host speaks to a worker: messages over its standard input, and memory for large batches where there is any.

#[cfg_attr(target_os = "linux", path = "link/linux.rs")]
#[cfg_attr(not(target_os = "linux"), path = "link/pipe.rs")]
mod system;

pub(crate) use system::{Draft, Memory, Writer};
