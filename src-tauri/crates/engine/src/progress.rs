//! Long work: who is told how far it has come, and how it is ended before it is done.

use std::ops::{ControlFlow, RangeInclusive};

use crate::{Error, text};

/// How far a longer piece of work has come.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Progress {
    /// Steps done.
    pub done: usize,
    /// Steps in all; 0 where nobody can tell.
    pub total: usize,
    /// What is done next, such as `guide.pdf`; empty where the work is of one kind.
    pub step: String,
}

/// Who is told before each step, and may end the work there. What was ended has changed nothing.
pub type Watch<'w> = dyn FnMut(Progress) -> ControlFlow<()> + 'w;

/// Hundredths of a piece of work whose stages take their shares of it, whatever each of them consists of.
pub(crate) struct Stages<'w>(&'w mut Watch<'w>);

impl<'w> Stages<'w> {
    pub(crate) fn of(watch: &'w mut Watch<'w>) -> Self {
        Stages(watch)
    }

    /// Says that step `at` of the `of` steps of a stage comes next.
    ///
    /// # Errors
    /// [`Error::Stopped`] when the work is to end here.
    pub(crate) fn reach(
        &mut self,
        stage: &RangeInclusive<usize>,
        (at, of): (usize, usize),
        step: impl Into<String>,
    ) -> Result<(), Error> {
        if self.tell(stage, (at, of), step.into()).is_break() {
            return Err(Error::Stopped);
        }
        Ok(())
    }

    /// The same where the work cannot be ended any more.
    pub(crate) fn pass(
        &mut self,
        stage: &RangeInclusive<usize>,
        (at, of): (usize, usize),
        step: impl Into<String>,
    ) {
        let _too_late = self.tell(stage, (at, of), step.into());
    }

    /// Says that thing `at` of the `of` things of a stage comes next, `file 1,204 of 10,000`, and whether it is to.
    pub(crate) fn count(
        &mut self,
        stage: &RangeInclusive<usize>,
        (at, of): (usize, usize),
        thing: &str,
    ) -> ControlFlow<()> {
        let number = |it: usize| text::money(u32::try_from(it).map_or(f64::INFINITY, f64::from));
        self.tell(stage, (at, of), format!("{thing} {} of {}", number(at + 1), number(of)))
    }

    fn tell(
        &mut self,
        stage: &RangeInclusive<usize>,
        (at, of): (usize, usize),
        step: String,
    ) -> ControlFlow<()> {
        let done = stage.start() + (stage.end() - stage.start()) * at / of.max(1);
        (self.0)(Progress { done, total: 100, step })
    }
}
