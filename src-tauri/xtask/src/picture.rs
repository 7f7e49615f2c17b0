//! `cargo xtask screenshot`: remakes the pictures that README.md shows, from the real window.

use crate::app::{self, Profile};
use crate::setup;
use crate::shell::{Failure, Shell};
use std::fs;

/// Where the pictures of README.md are.
const PICTURES: &str = "ui/pictures";
/// Which of the pictures that the tests write README.md shows; the others are for looking at while building.
const NAMES: [&str; 2] = ["band-light.png", "catalogue-dark.png"];

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

    let folder = shell.root().join(PICTURES);
    fs::create_dir_all(&folder).map_err(Failure::at(&folder))?;
    for name in NAMES {
        let (made, picture) = (shots.join(name), folder.join(name));
        fs::copy(&made, &picture).map_err(Failure::at(&made))?;
    }
    shell.say(format!(
        "written to {PICTURES}: {}. Look at them before you commit them.",
        NAMES.join(" ")
    ))
}
