//! Where a plugin puts scores, remarks and log texts.

use crate::abi;

/// How much a log text matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Level {
    /// For the plugin's author.
    Debug,
    /// For the user who looks closely.
    Info,
    /// Something odd that did not stop the call.
    Warn,
    /// The reason of a failure.
    Error,
}

/// Takes what a plugin has to say during one call.
#[derive(Debug)]
pub struct Sink<'a> {
    pub(super) host: &'a abi::Host,
    pub(super) scores: &'a mut [f64],
    pub(super) n_rows: usize,
    pub(super) n_criteria: usize,
}

impl Sink<'_> {
    /// Sets the measure of a criterion for a row, in the unit and range of the manifest. NaN leaves it unscored.
    ///
    /// # Panics
    /// When the row or the criterion does not exist, which is a bug of the plugin: the call fails, the process goes on.
    pub fn score(&mut self, row: usize, criterion: usize, measure: f64) {
        let (n_rows, n_criteria) = (self.n_rows, self.n_criteria);
        assert!(
            row < n_rows && criterion < n_criteria,
            "no score {row}, {criterion} in {n_rows} x {n_criteria}"
        );
        self.scores[row * n_criteria + criterion] = measure;
    }

    /// Says that a criterion has no meaning for a row. Its weight goes to the other criteria.
    ///
    /// # Panics
    /// As [`Sink::score`].
    pub fn not_applicable(&mut self, row: usize, criterion: usize) {
        self.score(row, criterion, abi::NOT_APPLICABLE);
    }

    /// Says something about a row: `code` is the index of a remark in the manifest, `args` are the numbers that it
    /// declares, in its order and units. A remark that the manifest does not have, or with another count of numbers,
    /// makes the row faulty. What passes 10,000 remarks a call is dropped.
    pub fn remark(&mut self, row: usize, code: usize, args: &[f64]) {
        let Some(remark) = self.host.remark else { return };
        let raw = abi::Remark {
            struct_size: abi::size_of_u32::<abi::Remark>(),
            code: u32::try_from(code).unwrap_or(u32::MAX),
            row,
            args: args.as_ptr(),
            n_args: args.len(),
        };
        // SAFETY: `raw` and `args` outlive the call, and the host gave `ctx` for its own function.
        unsafe { remark(self.host.ctx, &raw) }
    }

    /// Logs a text. It is cut after 4 KiB, and after 64 KiB in a call what is no error is dropped.
    pub fn log(&mut self, level: Level, text: &str) {
        log(self.host, level, text);
    }

    /// Whether the host wants the call to end. Ask at least every 100 ms, and return `Ok` or `Err` when it says yes.
    #[must_use]
    pub fn should_stop(&self) -> bool {
        // SAFETY: the host gave `ctx` for its own function.
        self.host.should_stop.is_some_and(|it| unsafe { it(self.host.ctx) } != 0)
    }
}

pub(super) fn log(host: &abi::Host, level: Level, text: &str) {
    let Some(log) = host.log else { return };
    let level = match level {
        Level::Debug => abi::LOG_DEBUG,
        Level::Info => abi::LOG_INFO,
        Level::Warn => abi::LOG_WARN,
        Level::Error => abi::LOG_ERROR,
    };
    // SAFETY: `text` outlives the call, and the host gave `ctx` for its own function.
    unsafe { log(host.ctx, level, abi::Str { ptr: text.as_ptr(), len: text.len() }) }
}
