//! `cargo xtask verify`: the same questions to this program and to tools that know nothing of it.
//!
//! The Python programs of `tests/verify` make random cases, solve them with ngspice, scipy and other libraries, and
//! compare. What they agree on, or a part of it, is kept beside the crate `compute`, so that its tests need none.

use crate::app::{self, Profile};
use crate::packages::{self, Package};
use crate::setup;
use crate::shell::{Failure, Shell, is_on_path};
use std::fs;
use std::path::PathBuf;

const FOLDER: &str = "tests/verify";
const PROGRAMS: [&str; 5] = ["networks", "boxes", "sweeps", "standings", "publications"];

/// Installs what is missing, then compares, or makes the agreed results anew.
pub(crate) fn verify(shell: &Shell, write: bool) -> Result<(), Failure> {
    setup::setup(shell, false, true)?;
    let python = outside_tools(shell)?;
    let boxworth = app::program(shell, Profile::Dev, "boxworth");
    app::terminal(shell, Profile::Dev)?;
    let mut failed = Vec::new();
    let mut cases = 0;
    for program in PROGRAMS {
        // `-B`: no compiled copies beside the sources.
        let mut command = shell.program(&python);
        command.arg("-B").arg(format!("{FOLDER}/{program}.py"));
        command.arg(if write { "--write" } else { "--check" });
        command.arg("--boxworth").arg(&boxworth);
        let (report, agreed) = shell.printed(&mut command)?;
        shell.say(report.trim_end())?;
        cases += count_of_cases(&report);
        if !agreed {
            failed.push(program);
        }
    }
    let done = if write { "written" } else { "compared" };
    let sound = PROGRAMS.len() - failed.len();
    let all = PROGRAMS.len();
    shell.say(format!("verify: {cases} cases {done}, {sound} of {all} programs without a miss"))?;
    if failed.is_empty() { Ok(()) } else { Err(Failure::new(failed.join(", "))) }
}

/// The number before the word `cases` in a report's first line; 0 where a program came to none.
fn count_of_cases(report: &str) -> usize {
    let words: Vec<&str> = report.lines().next().unwrap_or_default().split_whitespace().collect();
    let at = words.iter().position(|it| it.trim_end_matches(',') == "cases");
    at.and_then(|it| words.get(it.checked_sub(1)?)?.parse().ok()).unwrap_or(0)
}

/// Python of the folder that `verify` makes; there or not.
pub(crate) fn python(shell: &Shell) -> PathBuf {
    let (folder, program) =
        if cfg!(windows) { ("Scripts", "python.exe") } else { ("bin", "python") };
    shell.target().join("verify/venv").join(folder).join(program)
}

/// ngspice, and a Python with the packages of `requirements.txt`, whose path it gives.
pub(crate) fn outside_tools(shell: &Shell) -> Result<PathBuf, Failure> {
    let can_make_folders = is_on_path("python3")
        && shell.printed(shell.program("python3").args(["-c", "import ensurepip, venv"]))?.1;
    let mut wanted: Vec<&Package> = Vec::new();
    if !is_on_path("ngspice") {
        wanted.extend(packages::SIMULATOR);
    }
    if !can_make_folders {
        wanted.extend(packages::PYTHON);
    }
    if !wanted.is_empty() {
        setup::system_packages(shell, &wanted, true)?;
    }
    let python = python(shell);
    let venv = shell.target().join("verify/venv");
    let list = shell.root().join(FOLDER).join("requirements.txt");
    let wanted = fs::read(&list).map_err(Failure::at(&list))?;
    // A copy of the list lies beside what was installed from it.
    let installed = venv.join("installed-requirements.txt");
    if !(python.is_file() && fs::read(&installed).is_ok_and(|it| it == wanted)) {
        let mut make = shell.program("python3");
        make.args(["-m", "venv", "--clear"]).arg(&venv);
        shell.run(make)?;
        let mut install = shell.program(&python);
        install.args(["-m", "pip", "install", "--quiet", "--disable-pip-version-check", "-r"]);
        install.arg(&list);
        shell.run(install)?;
        fs::write(&installed, wanted).map_err(Failure::at(&installed))?;
    }
    Ok(python)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cases_are_counted_from_the_first_line() {
        assert_eq!(count_of_cases("boxes: 64 cases, 3000 numbers; 0 misses\n  9 cases\n"), 64);
        assert_eq!(count_of_cases("boxes: 12 cases written, 92 kB\n"), 12);
        assert_eq!(count_of_cases("boxes: ngspice is not on the search path\n"), 0);
        assert_eq!(count_of_cases("cases\n"), 0);
        assert_eq!(count_of_cases(""), 0);
    }
}
