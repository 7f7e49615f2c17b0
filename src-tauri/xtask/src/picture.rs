//! `cargo xtask screenshot`: remakes the pictures that README.md shows, from the real window.

use crate::app::{self, Profile};
use crate::setup;
use crate::shell::{Failure, Shell};
use std::fs;

/// Opens the window on the seed catalogue under a virtual screen and has the tests' `screenshots` write what they see.
pub(crate) fn screenshot(shell: &Shell) -> Result<(), Failure> {
    setup::setup(shell, true, true)?;
    app::build(shell, Profile::Dev, true)?;
    // An empty folder, so that a picture from an earlier day is not taken for a new one.
    let shots = shell.target().join("xtask").join("shots");
    if shots.exists() {
        fs::remove_dir_all(&shots).map_err(Failure::at(&shots))?;
    }
    fs::create_dir_all(&shots).map_err(Failure::at(&shots))?;
    let mut command = shell.cargo_on_virtual_screen(&[
        "test",
        "-p",
        "e2e",
        "screenshots",
        "--",
        "--test-threads=1",
    ]);
    command.env("BOXWORTH_SHOTS", &shots);
    shell.run(command)?;

    let folder = shell.root().join("ui").join("docs");
    fs::create_dir_all(&folder).map_err(Failure::at(&folder))?;
    let mut names = Vec::new();
    for entry in fs::read_dir(&shots).map_err(Failure::at(&shots))? {
        let entry = entry.map_err(Failure::at(&shots))?;
        let picture = folder.join(entry.file_name());
        fs::copy(entry.path(), &picture).map_err(Failure::at(&picture))?;
        names.push(entry.file_name().to_string_lossy().into_owned());
    }
    if names.is_empty() {
        return Err(Failure::new(
            "no test named `screenshots` in the package `e2e` wrote a picture",
        ));
    }
    names.sort();
    shell.say(format!(
        "written to ui/docs: {}. Look at them before you commit them.",
        names.join(" ")
    ))
}
