//! Makes the machine ready: system packages, Node, and the packages of `ui`. Silent when nothing is to do.

use crate::packages::{self, Package, Probe};
use crate::shell::{Failure, Shell, is_on_path};
use std::fs;
use std::io::IsTerminal;

/// Vite asks for this one.
const OLDEST_NODE: (u32, u32) = (20, 19);

/// Prepares for the terminal, or for the window and the tests too. With `install` off, nothing is installed on the
/// machine; what is missing is then an error.
pub(crate) fn setup(shell: &Shell, window: bool, install: bool) -> Result<(), Failure> {
    let mut wanted: Vec<&Package> = packages::TERMINAL.iter().collect();
    if window {
        wanted.extend(packages::WINDOW);
    }
    // Elsewhere the web view belongs to the system, and the compiler came with Rust.
    if cfg!(target_os = "linux") {
        system_packages(shell, &wanted, install)?;
    }
    if window {
        node(shell)?;
        npm_packages(shell)?;
    }
    Ok(())
}

/// Sees to packages of the system that are not there, as its kind allows.
pub(crate) fn system_packages(
    shell: &Shell,
    wanted: &[&Package],
    install: bool,
) -> Result<(), Failure> {
    if is_on_path("dpkg-query") && is_on_path("apt-get") {
        debian(shell, wanted, install)
    } else {
        elsewhere(shell, wanted)
    }
}

fn debian(shell: &Shell, wanted: &[&Package], install: bool) -> Result<(), Failure> {
    let names: Vec<&'static str> = wanted.iter().map(|it| it.debian).collect();
    let missing = missing_on_debian(shell, &names)?;
    if missing.is_empty() {
        return Ok(());
    }
    let root = shell.printed(shell.program("id").arg("-u"))?.0.trim() == "0";
    let line = packages::install_line(&missing, !root);
    let sudo = !root && is_on_path("sudo") && {
        // Without a terminal nobody can type a password.
        std::io::stdin().is_terminal()
            || shell.printed(shell.program("sudo").args(["-n", "true"]))?.1
    };
    if !install || !(root || sudo) {
        return Err(Failure::refused(format!("system packages are missing. Type:\n{line}")));
    }
    shell.say(format!("system packages are missing; installing them with:\n{line}"))?;
    let apt = |arguments: &[&str]| {
        let mut command = shell.program(if sudo { "sudo" } else { "env" });
        // Only as an argument does it pass through sudo, which clears the environment.
        command.args(if sudo { &["env"][..] } else { &[] });
        command.arg("DEBIAN_FRONTEND=noninteractive").arg("apt-get").args(arguments);
        shell.run(command)
    };
    let installed = apt(&["update"]).and_then(|()| {
        let mut arguments = vec!["install", "-y", "--no-install-recommends"];
        arguments.extend(&missing);
        apt(&arguments)
    });
    installed.map_err(|failure| Failure::refused(format!("{}. Type:\n{line}", failure.text)))?;
    match missing_on_debian(shell, &missing)?.as_slice() {
        [] => Ok(()),
        still => Err(Failure::refused(format!(
            "apt-get ran, but these are still missing: {}",
            still.join(" ")
        ))),
    }
}

fn missing_on_debian(shell: &Shell, names: &[&'static str]) -> Result<Vec<&'static str>, Failure> {
    let mut query = shell.program("dpkg-query");
    query.args(["-W", "-f", "${Package} ${db:Status-Status}\n"]).args(names);
    // The exit status is 1 as soon as one name is unknown, so the text alone counts.
    let (report, _) = shell.printed(&mut query)?;
    Ok(packages::missing(names, &report))
}

fn elsewhere(shell: &Shell, wanted: &[&Package]) -> Result<(), Failure> {
    let mut missing = Vec::new();
    for package in wanted {
        match package.probe {
            Probe::None => {}
            Probe::Program(name) if is_on_path(name) => {}
            Probe::Program(name) => missing.push(format!("the program {name}")),
            Probe::Library(name) => {
                let mut query = shell.program("pkg-config");
                query.args(["--exists", name]);
                if !is_on_path("pkg-config") || !shell.printed(&mut query)?.1 {
                    missing.push(format!("the library {name} with its headers"));
                }
            }
        }
    }
    if missing.is_empty() {
        return Ok(());
    }
    Err(Failure::refused(format!(
        "packages are installed by this program on Debian and its kin only. Missing here:\n  {}",
        missing.join("\n  ")
    )))
}

fn node(shell: &Shell) -> Result<(), Failure> {
    let (major, minor) = OLDEST_NODE;
    let advice = format!("the window and its tests need Node {major}.{minor} or later, with npm");
    if !is_on_path("node") || !is_on_path("npm") {
        return Err(Failure::refused(format!("{advice}; node or npm is not on the search path")));
    }
    let (version, _) = shell.printed(shell.program("node").arg("--version"))?;
    if is_enough(&version) {
        return Ok(());
    }
    Err(Failure::refused(format!("{advice}; `node --version` says {}", version.trim())))
}

fn is_enough(version: &str) -> bool {
    node_version(version).is_some_and(|found| OLDEST_NODE <= found)
}

/// Major and minor of a text such as `v20.19.0`.
fn node_version(text: &str) -> Option<(u32, u32)> {
    let mut parts = text.trim().strip_prefix('v')?.split('.');
    Some((parts.next()?.parse().ok()?, parts.next()?.parse().ok()?))
}

/// `npm ci`, unless the packages there were installed from the same lock file.
fn npm_packages(shell: &Shell) -> Result<(), Failure> {
    let lock = shell.root().join("ui/package-lock.json");
    // A copy says more than its hash, and needs no hash. npm empties this folder, and so the copy goes with it.
    let installed = shell.root().join("ui/node_modules/.installed-package-lock.json");
    let wanted = fs::read(&lock).map_err(Failure::at(&lock))?;
    if fs::read(&installed).is_ok_and(|it| it == wanted) {
        return Ok(());
    }
    shell.run(shell.npm(&["ci", "--no-audit", "--no-fund", "--no-update-notifier"]))?;
    fs::write(&installed, wanted).map_err(Failure::at(&installed))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn node_versions_are_read() {
        assert_eq!(node_version("v20.19.0\n"), Some((20, 19)));
        assert_eq!(node_version("v24.1.0-rc.1"), Some((24, 1)));
        assert_eq!(node_version("20.19.0"), None);
        assert_eq!(node_version(""), None);
    }

    #[test]
    fn node_versions_are_compared_as_numbers() {
        for enough in ["v20.19.0", "v20.100.0", "v22.1.0"] {
            assert!(is_enough(enough), "{enough}");
        }
        for too_old in ["v20.9.0", "v20.18.3", "v18.20.8", "Node"] {
            assert!(!is_enough(too_old), "{too_old}");
        }
    }
}
