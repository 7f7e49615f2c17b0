//! Where the programs under test are, and how they are run.

use std::{
    ffi::OsStr,
    path::{Path, PathBuf},
    process::Command,
};

use crate::Outcome;

/// The root of the repository.
pub fn root() -> Outcome<PathBuf> {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    let root = here.ancestors().nth(2).ok_or("the tests are not inside the repository")?;
    Ok(root.to_owned())
}

/// Cargo's target folder.
pub(crate) fn target() -> Outcome<PathBuf> {
    let root = root()?;
    // A relative folder counts from the root, where `cargo xtask` runs cargo.
    let named = std::env::var_os("CARGO_TARGET_DIR").filter(|it| !it.is_empty());
    Ok(named.map_or_else(|| root.join("target"), |it| root.join(it)))
}

/// A program that was built before the tests; `BOXWORTH_BUILD=release` takes those of a release build, to be measured.
pub(crate) fn built(name: &str) -> Outcome<PathBuf> {
    let build = std::env::var("BOXWORTH_BUILD").unwrap_or_else(|_| "debug".to_owned());
    let path = target()?.join(build).join(format!("{name}{}", std::env::consts::EXE_SUFFIX));
    if path.is_file() {
        return Ok(path);
    }
    Err(format!("{} is not there; build it with: cargo xtask build --window", path.display())
        .into())
}

/// A command that starts at the root of the repository.
#[expect(clippy::disallowed_methods, reason = "tests of processes start processes")]
pub(crate) fn command(program: impl AsRef<OsStr>) -> Outcome<Command> {
    let mut command = Command::new(program);
    command.current_dir(root()?);
    Ok(command)
}
