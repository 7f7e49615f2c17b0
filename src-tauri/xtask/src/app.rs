//! Builds the program in the order that its pins ask for: plugins, pins, then all that embeds the pins.

use crate::pins;
use crate::shell::{Failure, Shell};
use std::fs;
use std::path::{Path, PathBuf};
use std::time::SystemTime;

/// The packages of the scoring plugins that come with the program.
pub(crate) const PLUGINS: [&str; 4] = ["cabinet", "driver", "crossover", "wiring"];

/// A cargo profile that people run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Profile {
    Dev,
    Release,
}

impl Profile {
    /// Its name for `--profile`.
    fn name(self) -> &'static str {
        match self {
            Profile::Dev => "dev",
            Profile::Release => "release",
        }
    }

    /// Its folder in cargo's target folder.
    pub(crate) fn folder(self) -> &'static str {
        match self {
            Profile::Dev => "debug",
            Profile::Release => "release",
        }
    }
}

/// Everything that `boxworth` needs, and with `window` all that `boxworth-app` needs.
pub(crate) fn build(shell: &Shell, profile: Profile, window: bool) -> Result<(), Failure> {
    terminal(shell, profile)?;
    if window {
        self::window(shell, profile)?;
    }
    Ok(())
}

/// Plugins, worker, pins and the terminal program.
pub(crate) fn terminal(shell: &Shell, profile: Profile) -> Result<(), Failure> {
    // No `-p`: both steps, and a plain `cargo build`, then select the default members. Cargo compiles a plugin to other
    // bytes when other packages are selected, since they may ask for other features of what it uses, and a library
    // with other bytes is not the one that was pinned.
    let build = ["build", "--profile", profile.name()];
    shell.run(shell.cargo(&[&build[..], &["--lib"]].concat()))?;
    pins::write(shell)?;
    shell.run(shell.cargo(&build))
}

/// The window, with its pages inside. Needs what `terminal` makes.
pub(crate) fn window(shell: &Shell, profile: Profile) -> Result<(), Failure> {
    pages(shell)?;
    // Without this feature the window asks a development server for its pages.
    let feature = ["--features", "custom-protocol"];
    let package = ["build", "--profile", profile.name(), "-p", "boxworth-app"];
    shell.run(shell.cargo(&[&package[..], &feature].concat()))
}

/// `ui/dist`, unless it is newer than all that it is made from: new files there make cargo link the window again.
pub(crate) fn pages(shell: &Shell) -> Result<(), Failure> {
    let ui = shell.root().join("ui");
    let page = ui.join("dist").join("index.html");
    let built = fs::metadata(&page).and_then(|it| it.modified()).ok();
    if built.is_some_and(|built| newest(&ui).is_ok_and(|it| it < built)) {
        return Ok(());
    }
    shell.run(shell.npm(&["run", "build"]))
}

/// The last change to a file or folder below `ui`, leaving out what is made there.
fn newest(ui: &Path) -> std::io::Result<SystemTime> {
    let mut newest = SystemTime::UNIX_EPOCH;
    let mut folders: Vec<PathBuf> = vec![ui.to_owned()];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(folder)? {
            let entry = entry?;
            if matches!(entry.file_name().to_str(), Some("node_modules" | "dist")) {
                continue;
            }
            let about = entry.metadata()?;
            // A folder's date tells of files taken away.
            newest = newest.max(about.modified()?);
            if about.is_dir() {
                folders.push(entry.path());
            }
        }
    }
    Ok(newest)
}

/// A program that was built, with the suffix of this system.
pub(crate) fn program(shell: &Shell, profile: Profile, name: &str) -> PathBuf {
    let file = format!("{name}{}", std::env::consts::EXE_SUFFIX);
    shell.target().join(profile.folder()).join(file)
}
