//! `cargo xtask bench`: the benches, with worker and plugins of the same profile.

use crate::app::{self, Profile};
use crate::setup;
use crate::shell::{Failure, Shell};

/// Builds in release and runs each bench; they print their own tables.
pub(crate) fn bench(shell: &Shell) -> Result<(), Failure> {
    setup::setup(shell, false, true)?;
    app::terminal(shell, Profile::Release)?;
    let worker = app::program(shell, Profile::Release, "boxworth-worker");
    let mut command = shell
        .cargo(&["bench", "-p", "catalog", "-p", "engine", "--bench", "import", "--bench", "band"]);
    // A bench lives in another folder than the programs it starts.
    if let Some(folder) = worker.parent() {
        command.env("BOXWORTH_PLUGINS", folder);
    }
    command.env("BOXWORTH_WORKER", &worker);
    shell.run(command)
}
