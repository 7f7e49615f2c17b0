//! Compiles plugins written in C and finds the worker. Needs `cc` and, for the worker, cargo.
//!
//! Cargo gives a test the path of programs of its own package only, so the worker is asked for once by a cargo of its
//! own; while tests run, the outer one holds no lock.

use std::env;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::OnceLock;
use std::time::Duration;

use host::{Deadlines, HostOptions, PluginFile, WORKER_VARIABLE, sha256_file};

/// Root of the repository.
pub(crate) fn repository() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../..")
}

/// The worker program, built with the profile of the test.
///
/// # Panics
/// When cargo cannot build it.
pub(crate) fn worker() -> PathBuf {
    static WORKER: OnceLock<PathBuf> = OnceLock::new();
    WORKER
        .get_or_init(|| env::var_os(WORKER_VARIABLE).map_or_else(build_worker, PathBuf::from))
        .clone()
}

fn build_worker() -> PathBuf {
    let cargo = env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let mut arguments = vec!["build", "--quiet", "--package", "worker", "--message-format", "json"];
    if !cfg!(debug_assertions) {
        arguments.push("--release");
    }
    let lines = output(&cargo.to_string_lossy(), &arguments, &repository());
    let executable = lines.lines().find_map(|line| {
        let message: serde_json::Value = serde_json::from_str(line).ok()?;
        let is_worker = message["target"]["name"] == "boxworth-worker";
        is_worker.then(|| message["executable"].as_str().map(PathBuf::from)).flatten()
    });
    let Some(executable) = executable else { panic!("cargo built no boxworth-worker") };
    executable
}

/// Host options for tests: the worker of this build, and little patience.
pub(crate) fn options() -> HostOptions {
    let deadlines = Deadlines {
        call: Duration::from_millis(400),
        row: Duration::ZERO,
        grace: Duration::from_millis(200),
        ..Deadlines::default()
    };
    HostOptions { worker_path: Some(worker()), require_sandbox: false, deadlines }
}

/// Compiles a C file against the plugin header into a library in `dir`, and pins it.
///
/// # Panics
/// When the file does not compile without warnings.
pub(crate) fn compile_c(source: &Path, defines: &[&str], dir: &Path) -> PluginFile {
    let stem = source.file_stem().unwrap_or_default().to_string_lossy();
    let name = format!("lib{stem}{}.so", defines.concat());
    let include = repository().join("plugins/api/include");
    let defines: Vec<String> = defines.iter().map(|it| format!("-D{it}")).collect();
    let (source, include) = (source.to_string_lossy(), format!("-I{}", include.display()));
    let mut arguments =
        vec!["-std=c99", "-Wall", "-Wextra", "-Werror", "-O1", "-fPIC", "-shared", "-pthread"];
    arguments.extend(defines.iter().map(String::as_str));
    arguments.extend([include.as_str(), "-o", name.as_str(), &source, "-lm"]);
    output("cc", &arguments, dir);
    let path = dir.join(name);
    match sha256_file(&path) {
        Ok(sha256) => PluginFile { path, sha256 },
        Err(error) => panic!("{}: {error}", path.display()),
    }
}

/// Compiles the misbehaving plugin in one of its modes, e.g. `MODE_SEGV`.
///
/// # Panics
/// When it does not compile.
pub(crate) fn misbehave(mode: &str, dir: &Path) -> PluginFile {
    compile_c(&repository().join("plugins/testing/misbehave/misbehave.c"), &[mode], dir)
}

#[expect(clippy::disallowed_methods, reason = "tests run compilers")]
fn output(program: &str, arguments: &[&str], dir: &Path) -> String {
    let output = Command::new(program).args(arguments).current_dir(dir).output();
    match output {
        Ok(output) if output.status.success() => {
            String::from_utf8_lossy(&output.stdout).into_owned()
        }
        Ok(output) => {
            panic!("{program} {arguments:?}: {}", String::from_utf8_lossy(&output.stderr))
        }
        Err(error) => panic!("{program} does not start: {error}"),
    }
}
