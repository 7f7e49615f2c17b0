//! Systems without sealed files in memory: everything goes through a pipe.

use std::io;
use std::ops::Range;
use std::process::Stdio;

use tokio::process::{Child, ChildStdin, Command};

use crate::evaluation::Evaluate;

/// What is written to a worker.
pub(crate) type Writer = ChildStdin;

/// A link whose worker is not started yet.
#[derive(Debug)]
pub(crate) struct Draft;

impl Draft {
    /// Makes the link the standard input of a program.
    pub(crate) fn of(command: &mut Command) -> io::Result<Draft> {
        command.stdin(Stdio::piped());
        Ok(Draft)
    }

    /// The pipe of the worker.
    pub(crate) fn finish(self, child: &mut Child) -> io::Result<(Writer, Option<Memory>)> {
        let pipe = child.stdin.take().ok_or_else(|| io::Error::other("a worker has no pipe"))?;
        Ok((pipe, None))
    }
}

/// There is none here.
#[derive(Debug)]
pub(crate) enum Memory {}

impl Memory {
    pub(crate) fn write_inputs(
        &self,
        _half: u32,
        _request: &Evaluate,
        _rows: &Range<usize>,
    ) -> io::Result<()> {
        match *self {}
    }

    pub(crate) fn read_scores(&self, _half: u32, _scores: &mut [f64]) -> io::Result<()> {
        match *self {}
    }
}
