//! Programs of others that read what a package holds.

use crate::shell::{Failure, Shell, is_on_path};
use std::path::Path;

struct Validator {
    program: &'static str,
    arguments: &'static [&'static str],
    /// The file below the package's root, or the package itself.
    reads: Option<&'static str>,
}

const ALL: [Validator; 4] = [
    Validator {
        program: "desktop-file-validate",
        arguments: &[],
        reads: Some("usr/share/applications/org.boxworth.app.desktop"),
    },
    Validator {
        program: "appstreamcli",
        arguments: &["validate", "--no-net", "--explain"],
        reads: Some("usr/share/metainfo/org.boxworth.app.metainfo.xml"),
    },
    Validator {
        program: "xmllint",
        arguments: &["--noout", "--nonet"],
        reads: Some("usr/share/mime/packages/org.boxworth.app.xml"),
    },
    // As root it warns that it should not be run so; it reads, and runs nothing.
    Validator {
        program: "lintian",
        arguments: &["--allow-root", "--fail-on", "error,warning", "--tag-display-limit", "0"],
        reads: None,
    },
];

/// Runs those that are here and names those that are not; fails if one finds a fault.
pub(super) fn all(shell: &Shell, package: &Path, root: &Path) -> Result<(), Failure> {
    let mut faulty = Vec::new();
    for it in ALL {
        if !is_on_path(it.program) {
            shell.say(format!("not read by {}, which is not here", it.program))?;
            continue;
        }
        let mut command = shell.program(it.program);
        command.args(it.arguments).arg(it.reads.map_or(package.to_owned(), |it| root.join(it)));
        let (told, sound) = shell.printed(&mut command)?;
        shell.say(format!("{}: {}", it.program, if sound { "no fault" } else { "FAULTS" }))?;
        for line in told.lines().filter(|it| !it.trim().is_empty()) {
            shell.say(format!("  {line}"))?;
        }
        if !sound {
            faulty.push(it.program);
        }
    }
    if faulty.is_empty() {
        Ok(())
    } else {
        Err(Failure::new(format!("faults were found by {}", faulty.join(", "))))
    }
}
