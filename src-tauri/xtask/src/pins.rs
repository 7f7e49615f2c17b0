//! The pins: which plugin libraries the application loads without asking, by SHA-256.
//!
//! `engine` embeds this file when it is compiled, so it must be written after the plugins and before the engine.

use crate::app::{PLUGINS, Profile};
use crate::shell::{Failure, Shell};
use std::env::consts::{DLL_PREFIX, DLL_SUFFIX};
use std::fs;
use std::path::{Path, PathBuf};

const FILE: &str = "plugin-pins.txt";

/// Writes the pins of every profile that has all plugins. An unchanged file is left alone: a newer date would make
/// cargo compile the engine again.
pub(crate) fn write(shell: &Shell) -> Result<(), Failure> {
    let mut pins = Vec::new();
    for profile in [Profile::Dev, Profile::Release] {
        let folder = shell.target().join(profile.folder());
        let libraries: Vec<(&str, PathBuf)> =
            PLUGINS.iter().map(|name| (*name, folder.join(library_name(name)))).collect();
        if libraries.iter().all(|(_, path)| path.is_file()) {
            for (name, path) in libraries {
                pins.push((sha256(shell, &path)?, name));
            }
        }
    }
    let path = shell.target().join(FILE);
    let text = text(&pins);
    if fs::read_to_string(&path).is_ok_and(|it| it == text) {
        return Ok(());
    }
    fs::write(&path, text).map_err(Failure::at(&path))
}

fn library_name(plugin: &str) -> String {
    format!("{DLL_PREFIX}{plugin}{DLL_SUFFIX}")
}

/// One line a library: the hash, two spaces, the plugin's name.
fn text(pins: &[(String, &str)]) -> String {
    pins.iter().map(|(hash, name)| format!("{hash}  {name}\n")).collect()
}

/// SHA-256 of a file in lower-case hexadecimal digits. The system's own program does it: this crate has no
/// dependencies, and a hash of one's own making is no place to save one.
pub(crate) fn sha256(shell: &Shell, path: &Path) -> Result<String, Failure> {
    let mut command = if cfg!(target_os = "macos") {
        let mut command = shell.program("shasum");
        command.args(["-a", "256"]);
        command
    } else {
        shell.program("sha256sum")
    };
    command.arg(path);
    let printed = shell.output(command)?;
    first_hash(&String::from_utf8_lossy(&printed))
        .ok_or_else(|| Failure::new(format!("{}: the SHA-256 could not be read", path.display())))
}

/// The hash that `sha256sum` prints before the file's name. A backslash leads the line if the name holds odd
/// characters.
fn first_hash(printed: &str) -> Option<String> {
    let word = printed.split_whitespace().next()?.trim_start_matches('\\');
    let is_hash =
        word.len() == 64 && word.bytes().all(|it| matches!(it, b'0'..=b'9' | b'a'..=b'f'));
    is_hash.then(|| word.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// SHA-256 of "abc": FIPS 180-2, appendix B.1.
    const ABC: &str = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";

    #[test]
    fn a_pin_is_a_hash_and_a_name() {
        let pins = [(ABC.to_owned(), "cabinet"), (ABC.to_owned(), "wiring")];
        assert_eq!(text(&pins), format!("{ABC}  cabinet\n{ABC}  wiring\n"));
        assert_eq!(text(&[]), "");
    }

    #[test]
    fn the_hash_is_read_from_the_programs_line() {
        assert_eq!(first_hash(&format!("{ABC}  a/b.so\n")), Some(ABC.to_owned()));
        assert_eq!(first_hash(&format!("\\{ABC}  a\\nb.so\n")), Some(ABC.to_owned()));
        assert_eq!(first_hash("sha256sum: a/b.so: No such file or directory\n"), None);
        assert_eq!(first_hash(&ABC[1..]), None);
        assert_eq!(first_hash(""), None);
    }
}
