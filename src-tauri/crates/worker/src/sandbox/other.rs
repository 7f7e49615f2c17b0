//! Systems, Windows among them, on which nothing but the process boundary holds a plugin back.

use std::io;

use wire::{Limits, Sandbox};

use super::Confinement;

/// This system.
#[derive(Debug)]
pub(crate) struct Here;

impl Confinement for Here {
    fn confine(_limits: &Limits) -> io::Result<Sandbox> {
        Ok(Sandbox::ProcessOnly)
    }

    fn allow_time(_deadline_ms: u64) -> io::Result<()> {
        Ok(())
    }
}
