//! Runs plugins, each in a worker process of its own, and believes nothing they say.
//!
//! A library is loaded only when its bytes have the hash that the caller expects; which hashes to trust is the
//! caller's decision. Every call has a deadline. A crash, an exit, a hang or a bad answer is a [`Fault`] with one
//! sentence for people; the next call starts a fresh worker. Nothing is ever evaluated in this process.
//!
//! A [`Session`] shows one worker as it is, unmended: with it a file is checked before anybody decides to trust it.
//!
//! [`Host`] is for async callers, [`Blocking`] for the rest.
#![forbid(unsafe_code)]

mod bisect;
mod blocking;
mod child;
mod evaluation;
mod fault;
mod hash;
mod link;
mod options;
pub mod policy;
mod run;
mod session;
mod supervisor;
mod validate;

pub use blocking::Blocking;
pub use evaluation::{Evaluate, Evaluation, Input, RemarkAt, RowFault};
pub use fault::{Counts, Fault, FaultKind};
pub use hash::{Sha256Sum, sha256_file};
pub use options::{Deadlines, HostOptions, WORKER_VARIABLE};
pub use session::{Answer, Session};
pub use supervisor::{Host, Loaded, PluginFile};
pub use validate::check_answer;
pub use wire::{Done, LogLine, Probe, Probed, Sandbox, Stage};
pub use wire::{MAX_LOG_BYTES, MAX_REMARKS, MAX_ROWS};
