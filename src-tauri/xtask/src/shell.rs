//! Running other programs from the root of the repository, with their output shown or kept.

use std::ffi::{OsStr, OsString};
use std::fmt::Display;
use std::fs::File;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, ExitStatus, Stdio};

/// Why a task ended early, and the exit status that says so.
#[derive(Debug)]
pub(crate) struct Failure {
    pub(crate) status: u8,
    pub(crate) text: String,
}

impl Failure {
    /// Something did not work.
    pub(crate) fn new(text: impl Display) -> Self {
        Failure { status: 1, text: text.to_string() }
    }

    /// Nothing was done: the request or the machine must change first.
    pub(crate) fn refused(text: impl Display) -> Self {
        Failure { status: 2, text: text.to_string() }
    }

    /// A file operation failed at `path`.
    pub(crate) fn at(path: &Path) -> impl Fn(std::io::Error) -> Failure {
        move |error| Failure::new(format!("{}: {error}", path.display()))
    }
}

/// Where programs run, and where their output goes.
pub(crate) struct Shell {
    root: PathBuf,
    target: PathBuf,
    log: Option<File>,
    environment: Vec<(&'static str, OsString)>,
}

impl Shell {
    /// A shell at the root of the repository; programs talk to the terminal.
    pub(crate) fn at_root() -> Result<Shell, Failure> {
        let package = std::env::var_os("CARGO_MANIFEST_DIR").map(PathBuf::from);
        let root = package.as_deref().and_then(|it| it.ancestors().nth(2));
        let Some(root) = root else {
            return Err(Failure::refused("start this as `cargo xtask`"));
        };
        let mut environment = Vec::new();
        let target = match std::env::var_os("CARGO_TARGET_DIR").filter(|it| !it.is_empty()) {
            None => root.join("target"),
            Some(given) => {
                // A relative one is relative to where the user stands, but programs start at the root.
                let target = std::path::absolute(&given).map_err(Failure::at(Path::new(&given)))?;
                environment.push(("CARGO_TARGET_DIR", target.clone().into_os_string()));
                target
            }
        };
        Ok(Shell { root: root.to_owned(), target, log: None, environment })
    }

    /// The same shell, but everything that programs print goes to the file `path`.
    pub(crate) fn logging_to(&self, path: &Path) -> Result<Shell, Failure> {
        let log = File::create(path).map_err(Failure::at(path))?;
        Ok(Shell {
            root: self.root.clone(),
            target: self.target.clone(),
            log: Some(log),
            environment: self.environment.clone(),
        })
    }

    /// The same shell with one more environment variable for the programs it starts.
    pub(crate) fn with(mut self, name: &'static str, value: impl Into<OsString>) -> Shell {
        self.environment.push((name, value.into()));
        self
    }

    /// The root of the repository.
    pub(crate) fn root(&self) -> &Path {
        &self.root
    }

    /// Cargo's target folder.
    pub(crate) fn target(&self) -> &Path {
        &self.target
    }

    /// `program`, to be started at the root.
    #[expect(clippy::disallowed_methods, reason = "the one place in `xtask` that starts programs")]
    pub(crate) fn program(&self, program: impl AsRef<OsStr>) -> Command {
        let mut command = Command::new(program);
        command.current_dir(&self.root);
        command.envs(self.environment.iter().map(|(name, value)| (name, value)));
        // `cargo run` describes the package `xtask` to us in these. Build scripts that watch one of them would run
        // again each time a person calls cargo directly.
        for (name, _) in std::env::vars_os() {
            let name = name.to_string_lossy();
            if name.starts_with("CARGO_PKG_") || name.starts_with("CARGO_MANIFEST_") {
                command.env_remove(name.as_ref());
            }
        }
        command
    }

    /// The cargo that started us, so that both use one toolchain.
    pub(crate) fn cargo(&self, arguments: &[&str]) -> Command {
        let mut command = self.program(std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into()));
        command.args(arguments);
        command
    }

    /// npm in the folder `ui`.
    pub(crate) fn npm(&self, arguments: &[&str]) -> Command {
        let mut command = self.program("npm");
        command.args(arguments).current_dir(self.root.join("ui"));
        if self.log.is_some() {
            // Some tools colour whatever they write to.
            command.env("NO_COLOR", "1");
        }
        command
    }

    /// Cargo under a virtual screen, for tests that open the window.
    pub(crate) fn cargo_on_virtual_screen(&self, arguments: &[&str]) -> Command {
        let mut command = self.program("xvfb-run");
        command.args(["-a", "-s", "-screen 0 1280x900x24"]);
        command.arg(self.cargo(&[]).get_program()).args(arguments);
        command
    }

    /// Runs to the end. The failure carries the program's own exit status.
    pub(crate) fn run(&self, mut command: Command) -> Result<(), Failure> {
        if let Some(log) = &self.log {
            let clone = || log.try_clone().map_err(Failure::new);
            command.stdin(Stdio::null()).stdout(clone()?).stderr(clone()?);
        }
        let status = command.status().map_err(|error| cannot_start(&command, &error))?;
        if status.success() { Ok(()) } else { Err(ended(&command, status)) }
    }

    /// What a program prints on standard output, whatever its exit status.
    pub(crate) fn printed(&self, command: &mut Command) -> Result<(String, bool), Failure> {
        let output = command
            .stdin(Stdio::null())
            .stderr(Stdio::null())
            .output()
            .map_err(|error| cannot_start(command, &error))?;
        let text = String::from_utf8(output.stdout).map_err(|_| {
            Failure::new(format!("`{}` printed text that is not UTF-8", shown(command)))
        })?;
        Ok((text, output.status.success()))
    }

    /// The bytes that a program prints on standard output; a failure if it fails.
    pub(crate) fn output(&self, mut command: Command) -> Result<Vec<u8>, Failure> {
        command.stdin(Stdio::null());
        match &self.log {
            Some(log) => command.stderr(log.try_clone().map_err(Failure::new)?),
            None => command.stderr(Stdio::inherit()),
        };
        let output = command.output().map_err(|error| cannot_start(&command, &error))?;
        if output.status.success() {
            Ok(output.stdout)
        } else {
            Err(ended(&command, output.status))
        }
    }

    /// A line of our own, in the same place as the programs' output.
    pub(crate) fn say(&self, text: impl Display) -> Result<(), Failure> {
        match &self.log {
            Some(log) => writeln!(&*log, "{text}").map_err(Failure::new),
            None => {
                eprintln!("{text}");
                Ok(())
            }
        }
    }
}

/// Whether `name` is a program on the search path.
pub(crate) fn is_on_path(name: &str) -> bool {
    let path = std::env::var_os("PATH").unwrap_or_default();
    std::env::split_paths(&path).any(|folder| folder.join(name).is_file())
}

fn cannot_start(command: &Command, error: &std::io::Error) -> Failure {
    Failure::new(format!("cannot start `{}`: {error}", command.get_program().display()))
}

fn ended(command: &Command, status: ExitStatus) -> Failure {
    let code = status.code().and_then(|it| u8::try_from(it).ok()).unwrap_or(1);
    Failure { status: code, text: format!("`{}` failed: {status}", shown(command)) }
}

/// A command as a person would type it: the program's name, then its arguments.
fn shown(command: &Command) -> String {
    let program = Path::new(command.get_program()).file_name().unwrap_or_default();
    let mut text = program.to_string_lossy().into_owned();
    for argument in command.get_args() {
        let argument = argument.to_string_lossy();
        text.push(' ');
        if argument.contains(' ') {
            text.push_str(&format!("\"{argument}\""));
        } else {
            text.push_str(&argument);
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shell() -> Shell {
        let folder = std::env::temp_dir();
        Shell { root: folder.clone(), target: folder, log: None, environment: Vec::new() }
    }

    #[test]
    fn commands_are_shown_as_typed() {
        let mut command = shell().program(Path::new("bin").join("xvfb-run"));
        command.args(["-s", "-screen 0 1280x900x24", "cargo"]);
        assert_eq!(shown(&command), "xvfb-run -s \"-screen 0 1280x900x24\" cargo");
    }

    #[test]
    fn the_exit_status_passes_through() {
        let mut command = shell().program("sh");
        command.args(["-c", "exit 7"]);
        assert_eq!(shell().run(command).map_err(|it| it.status), Err(7));
    }

    #[test]
    fn a_program_that_is_not_there_is_named() {
        let failure = shell().run(shell().program("no-such-program")).expect_err("started");
        assert!(failure.text.starts_with("cannot start `no-such-program`"), "{}", failure.text);
    }
}
