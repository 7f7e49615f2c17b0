//! Installs a package where nothing else is: in a Debian of its smallest size, made for it and thrown away.
//!
//! apt brings what the package depends on, and nothing more; so a dependency that is not named shows as a program that
//! does not start. The kernel is that of this machine, and there is no screen: the window is started for its version
//! alone, which shows that all libraries are found, and not that it opens.

use crate::shell::{Failure, Shell};
use std::fs;
use std::path::Path;

/// What is done there.
const SCRIPT: &str = "src-tauri/packaging/try-installed.sh";

/// Makes the root with mmdebstrap, installs the package and runs the script in it.
pub(super) fn check(shell: &Shell, package: &Path) -> Result<(), Failure> {
    let release = fs::read_to_string("/etc/os-release").unwrap_or_default();
    let suite = suite(&release).ok_or_else(|| {
        Failure::refused("/etc/os-release names no VERSION_CODENAME, so no suite to install in")
    })?;
    // The mirrors that this machine takes its packages from.
    let candidates =
        ["sources.list.d/debian.sources", "sources.list.d/ubuntu.sources", "sources.list"];
    let sources = candidates.map(|it| Path::new("/etc/apt").join(it));
    let sources = sources.iter().find(|it| it.is_file());
    let sources = sources.ok_or_else(|| Failure::refused("/etc/apt has no list of sources"))?;
    shell.say(format!("installing in a new {suite}; this takes some minutes"))?;
    let root = shell.root();
    let mut make = shell.program("mmdebstrap");
    make.args(["--quiet", "--variant=apt", "--format=null"]);
    make.arg("--hook-dir=/usr/share/mmdebstrap/hooks/file-mirror-automount");
    make.arg(format!("--include={}", package.display()));
    for from in ["seed-catalog", SCRIPT] {
        make.arg(format!("--customize-hook=copy-in '{}' /tmp", root.join(from).display()));
    }
    // The hook gives the new root as its first argument.
    make.arg("--customize-hook=chroot \"$1\" sh /tmp/try-installed.sh");
    make.args([suite, "/dev/null"]).arg(sources);
    shell.run(make)?;
    shell.say("installed and started in a clean root: as it should be")
}

fn suite(release: &str) -> Option<&str> {
    let name = release.lines().find_map(|it| it.strip_prefix("VERSION_CODENAME="))?;
    Some(name.trim_matches('"')).filter(|it| !it.is_empty())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_suite_stands_in_os_release() {
        assert_eq!(suite("ID=debian\nVERSION_CODENAME=bookworm\n"), Some("bookworm"));
        assert_eq!(suite("VERSION_CODENAME=\"noble\"\n"), Some("noble"));
        assert_eq!(suite("ID=other\n"), None);
    }
}
