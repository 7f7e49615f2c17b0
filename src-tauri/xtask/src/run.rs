//! `cargo xtask run`: the seed catalogue, ranked in the terminal and, with a display, in the window.

use crate::app::{self, Profile};
use crate::setup;
use crate::shell::{Failure, Shell};
use std::ffi::OsString;
use std::fs;
use std::path::Path;

pub(crate) fn run(
    shell: &Shell,
    headless: bool,
    profile: Profile,
    band: &str,
) -> Result<(), Failure> {
    let window = !headless && has_display();
    setup::setup(shell, window, true).map_err(|failure| {
        let hint = "\nWithout the window: cargo xtask run --headless";
        Failure { text: format!("{}{}", failure.text, if window { hint } else { "" }), ..failure }
    })?;
    app::build(shell, profile, window)?;

    let folder = shell.target().join("demo");
    fs::create_dir_all(&folder).map_err(Failure::at(&folder))?;
    let catalogue = folder.join("seed.boxworth");
    remove(&catalogue)?;
    let boxworth = |arguments: &[&str]| {
        let mut command = shell.program(app::program(shell, profile, "boxworth"));
        command.arg("--catalogue").arg(&catalogue).args(arguments);
        shell.run(command)
    };
    let mut new = shell.program(app::program(shell, profile, "boxworth"));
    new.arg("new").arg(&catalogue);
    shell.run(new)?;
    boxworth(&["import", "seed-catalog"])?;
    boxworth(&["band", band])?;
    if window {
        let mut command = shell.program(app::program(shell, profile, "boxworth-app"));
        command.arg("--catalogue").arg(&catalogue);
        shell.run(command)?;
    }
    Ok(())
}

fn has_display() -> bool {
    ["DISPLAY", "WAYLAND_DISPLAY"]
        .iter()
        .any(|it| std::env::var_os(it).is_some_and(|it| !it.is_empty()))
}

/// Removes a catalogue and the files that SQLite keeps beside it: a log left behind would be read into the new one.
fn remove(catalogue: &Path) -> Result<(), Failure> {
    for suffix in ["", "-wal", "-shm"] {
        let mut path: OsString = catalogue.into();
        path.push(suffix);
        match fs::remove_file(&path) {
            Err(error) if error.kind() != std::io::ErrorKind::NotFound => {
                return Err(Failure::at(Path::new(&path))(error));
            }
            _ => {}
        }
    }
    Ok(())
}
