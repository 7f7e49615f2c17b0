//! Runs the built program in a fresh folder, and builds it once beforehand.
//!
//! The programs are those of `cargo xtask build`: it makes the plugins, pins them, and only then what embeds the pins.
//! While tests run, the outer cargo holds no lock, so an inner one may build.
#![expect(clippy::unwrap_used, reason = "helpers of tests fail like tests")]

use std::{
    collections::BTreeMap,
    env,
    ffi::OsStr,
    fs,
    path::{Path, PathBuf},
    process::{Child, Command, Output, Stdio},
    sync::OnceLock,
};

use serde_json::Value;
use tempfile::TempDir;

/// The day for which all tests take prices.
pub const AS_OF: &str = "2026-11-25";

/// Root of the repository.
#[must_use]
pub fn repository() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..").canonicalize().unwrap()
}

/// The seed catalogue.
#[must_use]
pub fn seed() -> PathBuf {
    repository().join("seed-catalog")
}

/// A command of the repository's own folder, with which tests start compilers and the program.
#[must_use]
#[expect(clippy::disallowed_methods, reason = "tests run the program as its users do")]
pub fn command(program: impl AsRef<OsStr>) -> Command {
    let mut command = Command::new(program);
    command.current_dir(repository()).stdin(Stdio::null());
    command
}

/// Standard output of a command that must succeed.
///
/// # Panics
/// When it fails.
#[must_use]
pub fn succeed(command: &mut Command) -> String {
    let output = command.output().unwrap();
    let complaints = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{command:?}: {complaints}");
    String::from_utf8(output.stdout).unwrap()
}

/// Cargo, as it was called for these tests.
#[must_use]
pub fn cargo() -> Command {
    command(env::var_os("CARGO").unwrap_or_else(|| "cargo".into()))
}

/// What `cargo metadata` says of this workspace, with these further arguments.
#[must_use]
pub fn metadata(arguments: &[&str]) -> Value {
    let text = succeed(cargo().args(["metadata", "--format-version", "1"]).args(arguments));
    serde_json::from_str(&text).unwrap()
}

/// The folder with the programs and plugins of this build, made when it is asked for first.
///
/// # Panics
/// When they cannot be built.
pub fn programs() -> &'static Path {
    static FOLDER: OnceLock<PathBuf> = OnceLock::new();
    FOLDER.get_or_init(|| {
        let _ = succeed(cargo().args(["run", "-q", "-p", "xtask", "--", "build"]));
        let target = match env::var_os("CARGO_TARGET_DIR") {
            Some(it) => repository().join(it),
            None => metadata(&["--no-deps"])["target_directory"].as_str().unwrap().into(),
        };
        target.join("debug")
    })
}

/// What a run of the program left.
#[derive(Debug)]
pub struct Ran {
    /// The exit status.
    pub status: i32,
    /// Standard output.
    pub out: String,
    /// Standard error.
    pub err: String,
}

impl Ran {
    /// What came of a program that has ended by itself.
    ///
    /// # Panics
    /// When a signal ended it, or when it printed what is not UTF-8.
    #[must_use]
    pub fn from(output: Output) -> Self {
        Ran {
            status: output.status.code().expect("ended by a signal"),
            out: String::from_utf8(output.stdout).unwrap(),
            err: String::from_utf8(output.stderr).unwrap(),
        }
    }

    /// Standard output of a run that must have been done without a complaint.
    ///
    /// # Panics
    /// When it was not.
    #[must_use]
    pub fn done(self) -> String {
        assert_eq!((self.status, self.err.as_str()), (0, ""), "{}", self.out);
        self.out
    }

    /// The same, read as JSON.
    ///
    /// # Panics
    /// When it is not JSON.
    #[must_use]
    pub fn answer(self) -> Value {
        serde_json::from_str(&self.done()).unwrap()
    }

    /// The error objects of a run with `--json` that must have been refused without output.
    ///
    /// # Panics
    /// When it was not.
    #[must_use]
    pub fn refusals(self) -> Vec<Value> {
        assert_eq!((self.status, self.out.as_str()), (2, ""), "{}", self.err);
        self.err.lines().map(|it| serde_json::from_str(it).unwrap()).collect()
    }
}

/// A fresh folder with a catalogue file in it.
#[derive(Debug)]
pub struct Bench {
    folder: TempDir,
}

impl Bench {
    /// A folder without a catalogue.
    #[must_use]
    pub fn bare() -> Self {
        Bench { folder: TempDir::new().unwrap() }
    }

    /// An empty catalogue.
    #[must_use]
    pub fn empty() -> Self {
        let bench = Bench::bare();
        let file = bench.catalogue();
        let new = ["new", file.to_str().unwrap(), "--base-month", "2026-06"];
        let _ = bench.run(&new).done();
        bench
    }

    /// A catalogue with the seed in it.
    #[must_use]
    pub fn seeded() -> Self {
        // Imported once; the others are copies of what the import left: the file, and the log that SQLite keeps beside it.
        static FILES: OnceLock<BTreeMap<String, Vec<u8>>> = OnceLock::new();
        let files = FILES.get_or_init(|| {
            let bench = Bench::empty();
            let _ = bench.run(&["import", seed().to_str().unwrap()]).done();
            bench.files()
        });
        let bench = Bench::bare();
        for (name, bytes) in files {
            fs::write(bench.path(name), bytes).unwrap();
        }
        bench
    }

    /// A file of this folder.
    #[must_use]
    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// The catalogue file.
    #[must_use]
    pub fn catalogue(&self) -> PathBuf {
        self.path("shelf.boxworth")
    }

    /// All that the catalogue consists of: the bytes of its file and, where there is one, of its write-ahead log.
    /// The index of the log is left out: SQLite makes it anew (SQLite file format, section 4.1).
    #[must_use]
    pub fn files(&self) -> BTreeMap<String, Vec<u8>> {
        ["shelf.boxworth", "shelf.boxworth-wal"]
            .into_iter()
            .filter_map(|name| Some((name.to_owned(), fs::read(self.path(name)).ok()?)))
            .collect()
    }

    /// The program with this catalogue, the day of all tests, and nothing from the user's own settings.
    #[must_use]
    pub fn command(&self, arguments: &[&str]) -> Command {
        let mut command = command(programs().join("boxworth"));
        for variable in ["BOXWORTH_PLUGINS", "BOXWORTH_WORKER", "BOXWORTH_REQUIRE_SANDBOX"] {
            command.env_remove(variable);
        }
        command.env("HOME", self.folder.path()).arg("--catalogue").arg(self.catalogue());
        command.args(["--as-of", AS_OF]).args(arguments);
        command
    }

    /// Runs it to its end.
    #[must_use]
    pub fn run(&self, arguments: &[&str]) -> Ran {
        Ran::from(self.command(arguments).output().unwrap())
    }

    /// Starts it with its output kept for later.
    #[must_use]
    pub fn start(&self, arguments: &[&str]) -> Child {
        let mut command = self.command(arguments);
        command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap()
    }
}
