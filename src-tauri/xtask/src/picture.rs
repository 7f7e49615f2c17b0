//! `cargo xtask screenshot`: remakes the pictures that README.md shows, from the real window.

use crate::app::{self, Profile};
use crate::setup;
use crate::shell::{Failure, Shell};
use std::fs;

/// Opens the window on the seed catalogue under a virtual screen and has the tests' `screenshots` write what they see.
pub(crate) fn screenshot(shell: &Shell) -> Result<(), Failure> {
    setup::setup(shell, true, true)?;
    app::build(shell, Profile::Dev, true)?;
    let folder = shell.root().join("ui").join("docs");
    fs::create_dir_all(&folder).map_err(Failure::at(&folder))?;
    let mut command = shell.cargo_on_virtual_screen(&[
        "test",
        "-p",
        "e2e",
        "screenshots",
        "--",
        "--test-threads=1",
    ]);
    command.env("BOXWORTH_SHOTS", &folder);
    shell.run(command)?;
    let written = fs::read_dir(&folder).map_err(Failure::at(&folder))?.count();
    if written == 0 {
        return Err(Failure::new("the tests passed, but no picture is in ui/docs"));
    }
    shell.say(format!("{written} pictures in ui/docs; look at them before you commit them"))
}
