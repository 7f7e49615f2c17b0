//! What a caller can choose: where the worker is, how strict and how patient the host is.

use std::env;
use std::path::{Path, PathBuf};
use std::time::Duration;

use crate::fault::{FaultKind, Trouble};

/// Environment variable that names another worker program, for tests and packagers.
pub const WORKER_VARIABLE: &str = "BOXWORTH_WORKER";

/// What a [`Host`](crate::Host) is made from.
#[derive(Debug, Clone, Default)]
pub struct HostOptions {
    /// The worker program; when absent, [`WORKER_VARIABLE`], then the file beside the running program.
    pub worker_path: Option<PathBuf>,
    /// Refuse plugins where the sandbox is not complete.
    pub require_sandbox: bool,
    /// How long to wait.
    pub deadlines: Deadlines,
}

/// How long the host waits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Deadlines {
    /// For a worker's greeting.
    pub hello: Duration,
    /// For loading a library.
    pub load: Duration,
    /// For a call, whatever its rows.
    pub call: Duration,
    /// For each row of a call.
    pub row: Duration,
    /// For any call at most.
    pub longest_call: Duration,
    /// For a plugin that was asked to stop; then its process is killed.
    pub grace: Duration,
    /// For the search for guilty rows, counted from the first fault.
    pub search: Duration,
}

impl Default for Deadlines {
    fn default() -> Self {
        Deadlines {
            hello: Duration::from_secs(5),
            load: Duration::from_secs(10),
            call: Duration::from_secs(2),
            row: Duration::from_millis(10),
            longest_call: Duration::from_secs(120),
            grace: Duration::from_secs(2),
            search: Duration::from_secs(60),
        }
    }
}

impl Deadlines {
    /// For a call with this many rows.
    pub(crate) fn for_rows(&self, n_rows: usize) -> Duration {
        let n_rows = u32::try_from(n_rows).unwrap_or(u32::MAX);
        self.call.saturating_add(self.row.saturating_mul(n_rows)).min(self.longest_call)
    }
}

impl HostOptions {
    /// The worker program.
    pub(crate) fn find_worker(&self) -> Result<PathBuf, Trouble> {
        if let Some(path) =
            self.worker_path.clone().or_else(|| env::var_os(WORKER_VARIABLE).map(PathBuf::from))
        {
            return existing(path);
        }
        let own = env::current_exe().map_err(|error| {
            Trouble::new(FaultKind::Start, format!("cannot tell where this program is: {error}"))
        })?;
        let name = format!("boxworth-worker{}", env::consts::EXE_SUFFIX);
        existing(own.parent().unwrap_or(Path::new(".")).join(name))
    }
}

fn existing(path: PathBuf) -> Result<PathBuf, Trouble> {
    if path.is_file() {
        return Ok(path);
    }
    let text =
        format!("the worker program is not at {}; {WORKER_VARIABLE} can name it", path.display());
    Err(Trouble::new(FaultKind::Start, text))
}

#[cfg(test)]
mod tests {
    use std::time::Duration;

    use super::{Deadlines, HostOptions};
    use crate::FaultKind;

    #[test]
    fn time_grows_with_rows_up_to_a_limit() {
        let deadlines = Deadlines::default();
        assert_eq!(deadlines.for_rows(0), Duration::from_secs(2));
        assert_eq!(deadlines.for_rows(1000), Duration::from_secs(12));
        assert_eq!(deadlines.for_rows(usize::MAX), Duration::from_secs(120));
    }

    #[test]
    fn missing_worker_is_named() {
        let options =
            HostOptions { worker_path: Some("no/such/worker".into()), ..HostOptions::default() };
        let trouble = options.find_worker().unwrap_err();
        assert_eq!(trouble.kind, FaultKind::Start);
        assert!(trouble.text.contains("no/such/worker"), "{}", trouble.text);
    }
}
