//! What host and worker say to each other: frames over a byte stream, and the messages in them.
//!
//! A frame is a length (`u32`, little-endian) and one postcard message. Both ends come from one build, which
//! [`Hello`] proves, so the format needs no tolerance between versions.
//!
//! This crate starts no process and knows nothing of plugins.
#![forbid(unsafe_code)]

mod frame;
mod message;
mod region;
mod version;

pub use frame::{FrameError, MAX_FRAME_BYTES, body_len, decode, encode, read, write};
pub use message::{
    Done, Evaluate, FromWorker, Input, Limits, Load, Loaded, LogLine, MAX_LOG_BYTES,
    MAX_LOG_LINE_BYTES, MAX_REMARKS, MAX_ROWS, MAX_SILENT_ROWS, Part, Probe, Probed, Remark,
    Sandbox, Stage, ToWorker,
};
pub use region::{HALVES, INPUT_BYTES, SCORE_BYTES, WITH_MEMORY, WITHOUT_MEMORY};
pub use version::{BUILD, Hello, HelloError, MAGIC, START_MARK, WIRE_VERSION};
