//! The texts by which Debian knows a package: control fields, what it depends on, changelog, overrides.

use super::layout::PROGRAMS;
use crate::app::PLUGINS;
use crate::shell::{Failure, Shell, is_on_path};
use std::fs;
use std::path::Path;

/// What the programs link, where dpkg-shlibdeps is not there to look: the C library, GTK and the web view. Versions are
/// left out, since only that program knows which ones bring the symbols that are asked for.
const KNOWN: &str = "libc6, libgcc-s1, libgtk-3-0, libwebkit2gtk-4.1-0";

/// The fields of `DEBIAN/control`.
pub(super) struct Control<'a> {
    pub(super) version: &'a str,
    pub(super) architecture: &'a str,
    pub(super) maintainer: &'a str,
    pub(super) installed_kib: u64,
    pub(super) depends: &'a str,
}

impl Control<'_> {
    pub(super) fn text(&self) -> String {
        format!(
            "\
Package: boxworth
Version: {}
Architecture: {}
Maintainer: {}
Installed-Size: {}
Depends: {}
Recommends: fonts-dejavu-core | fonts-noto-core | fonts-liberation
Section: science
Priority: optional
Description: loudspeaker teardowns and the standings of a price band
 For an independent reviewer who opens budget passive loudspeakers and tells
 readers which are worth the money. Findings are recorded at the bench as the
 instruments show them; Boxworth computes from them, scores cabinet, drivers,
 crossover and wiring, and ranks the products of a price band with intervals
 that show what missing findings and uncertain measurements leave open.
 .
 The window is boxworth-app, the command line boxworth. Scoring plugins run in
 processes of their own, each shut in a sandbox.
",
            self.version, self.architecture, self.maintainer, self.installed_kib, self.depends
        )
    }

    pub(super) fn file_name(&self) -> String {
        format!("boxworth_{}_{}.deb", self.version, self.architecture)
    }
}

/// Whoever makes the package, from the variables that Debian's own tools read; else a name without an address.
pub(super) fn maintainer() -> String {
    let given = |name| std::env::var(name).ok().filter(|it| !it.trim().is_empty());
    match (given("DEBFULLNAME"), given("DEBEMAIL")) {
        (Some(name), Some(address)) => format!("{name} <{address}>"),
        _ => "The Boxworth contributors <nobody@boxworth.invalid>".to_owned(),
    }
}

/// The packages that bring the libraries that programs and plugins link.
pub(super) fn depends(shell: &Shell, work: &Path, programs: &Path) -> Result<String, Failure> {
    if !is_on_path("dpkg-shlibdeps") {
        shell.say(format!("dpkg-shlibdeps is not here; what is linked is taken to be: {KNOWN}"))?;
        return Ok(KNOWN.to_owned());
    }
    // It reads a source package's control file, of which it needs no more than that it is there.
    let folder = work.join("debian");
    fs::create_dir_all(&folder).map_err(Failure::at(&folder))?;
    let control = folder.join("control");
    let text = "Source: boxworth\n\nPackage: boxworth\nArchitecture: any\n";
    fs::write(&control, text).map_err(Failure::at(&control))?;
    let mut look = shell.program("dpkg-shlibdeps");
    look.current_dir(work).arg("-O");
    look.args(PROGRAMS.iter().map(|it| programs.join(it)));
    look.args(PLUGINS.iter().map(|it| programs.join(format!("lib{it}.so"))));
    let told = shell.output(look)?;
    linked(&String::from_utf8_lossy(&told))
        .ok_or_else(|| Failure::new("dpkg-shlibdeps names no dependencies"))
}

fn linked(told: &str) -> Option<String> {
    let line = told.lines().find_map(|it| it.strip_prefix("shlibs:Depends="))?;
    Some(line.trim().to_owned()).filter(|it| !it.is_empty())
}

/// One entry: what changed is in the history of the source.
pub(super) fn changelog(version: &str, maintainer: &str, date: &str) -> String {
    format!(
        "boxworth ({version}) unstable; urgency=medium\n\n  * See the history of the source.\n\n -- {maintainer}  {date}\n"
    )
}

/// What lintian finds and why it stays.
pub(super) fn overrides() -> String {
    let mut text =
        "# The program loads these plugins by the hash of their bytes; stripped, they would be others.\n"
            .to_owned();
    for plugin in PLUGINS {
        text.push_str(&format!("boxworth: unstripped-binary-or-object *lib{plugin}.so*\n"));
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_control_file_has_the_fields_that_policy_wants() {
        let control = Control {
            version: "1.2.3",
            architecture: "amd64",
            maintainer: "A <a@b.invalid>",
            installed_kib: 7,
            depends: "libc6 (>= 2.34)",
        };
        assert_eq!(control.file_name(), "boxworth_1.2.3_amd64.deb");
        let text = control.text();
        // Debian Policy 5.3, with Depends and Installed-Size.
        for field in [
            "Package: boxworth",
            "Version: 1.2.3",
            "Architecture: amd64",
            "Maintainer: A <a@b.invalid>",
            "Installed-Size: 7",
            "Depends: libc6 (>= 2.34)",
            "Section: ",
            "Priority: ",
            "Description: ",
        ] {
            assert!(text.lines().any(|it| it.starts_with(field)), "{field}");
        }
        // Policy 5.6.13: lines of the description begin with a space, and a line of 80 is the longest.
        let described = text.split("Description: ").nth(1).unwrap_or_default();
        assert!(described.lines().skip(1).all(|it| it.starts_with(' ') && it.len() <= 80));
    }

    #[test]
    fn what_is_linked_is_read_from_one_line() {
        let told = "shlibs:Depends=libc6 (>= 2.34), libgtk-3-0 (>= 3.24)\n";
        assert_eq!(linked(told), Some("libc6 (>= 2.34), libgtk-3-0 (>= 3.24)".to_owned()));
        assert_eq!(linked("shlibs:Depends=\n"), None);
        assert_eq!(linked("warning\n"), None);
    }
}
