//! The moment that what is made here is dated by: that of the source, so that the same source gives the same bytes.

use crate::shell::{Failure, Shell};

/// Seconds since 1970: `SOURCE_DATE_EPOCH` where it is set (reproducible-builds.org), else the last commit.
pub(crate) fn of_source(shell: &Shell) -> Result<u64, Failure> {
    let (name, told) = match std::env::var("SOURCE_DATE_EPOCH") {
        Ok(given) => ("SOURCE_DATE_EPOCH", given),
        Err(_) => {
            let mut git = shell.program("git");
            git.args(["log", "-1", "--format=%ct"]);
            let told = shell.output(git)?;
            ("the last commit", String::from_utf8_lossy(&told).into_owned())
        }
    };
    let told = told.trim();
    told.parse().map_err(|_| Failure::refused(format!("{name}: `{told}` is no count of seconds")))
}

/// The moment in UTC, in a format of the system's `date`.
pub(crate) fn shown(shell: &Shell, moment: u64, format: &str) -> Result<String, Failure> {
    let mut date = shell.program("date");
    // BSD's takes the seconds otherwise.
    if cfg!(target_os = "linux") {
        date.args(["-u", "-d", &format!("@{moment}")]);
    } else {
        date.args(["-u", "-r", &moment.to_string()]);
    }
    // Names of days and months in the tongue that Debian's files are written in.
    date.arg(format!("+{format}")).env("LC_ALL", "C");
    let shown = shell.output(date)?;
    Ok(String::from_utf8_lossy(&shown).trim_end().to_owned())
}
