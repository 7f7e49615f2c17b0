//! `cargo xtask bench`: the benches, with worker and plugins of the same profile.

use crate::app::{self, Profile};
use crate::shell::{Failure, Shell, is_on_path};
use crate::{setup, verify};

/// Builds in release and runs each bench; they print their own tables.
pub(crate) fn bench(shell: &Shell) -> Result<(), Failure> {
    setup::setup(shell, false, true)?;
    app::terminal(shell, Profile::Release)?;
    let worker = app::program(shell, Profile::Release, "boxworth-worker");
    let mut command = shell.cargo(&[
        "bench", "-p", "catalog", "-p", "engine", "-p", "host", "-p", "physics", "-p", "standing",
    ]);
    command.args([
        "--bench",
        "import",
        "--bench",
        "band",
        "--bench",
        "product",
        "--bench",
        "peers",
        "--bench",
        "ranking",
        "--bench",
        "isolation",
    ]);
    // A bench lives in another folder than the programs it starts.
    if let Some(folder) = worker.parent() {
        command.env("BOXWORTH_PLUGINS", folder);
    }
    command.env("BOXWORTH_WORKER", &worker);
    let python = verify::python(shell);
    // Without them the bench measures ours alone, and says what to do.
    if python.is_file() && is_on_path("ngspice") {
        command.env("BOXWORTH_VERIFY_PYTHON", python);
    }
    shell.run(command)
}
