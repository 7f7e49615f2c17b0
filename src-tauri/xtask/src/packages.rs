//! The one list of system packages, and how it is compared with the machine.

/// How to see, where Debian's package names mean nothing, whether a need is met.
#[derive(Clone, Copy)]
pub(crate) enum Probe {
    /// A program on the search path.
    Program(&'static str),
    /// A library that pkg-config knows.
    Library(&'static str),
    /// Comes with something else in the list, or cannot be seen.
    None,
}

/// A Debian package and the probe that stands for it elsewhere.
#[derive(Clone, Copy)]
pub(crate) struct Package {
    pub(crate) debian: &'static str,
    pub(crate) probe: Probe,
}

const fn package(debian: &'static str, probe: Probe) -> Package {
    Package { debian, probe }
}

/// For the terminal: rustc links through `cc`, and SQLite is compiled from C. Cargo needs certificates to fetch crates.
pub(crate) const TERMINAL: &[Package] = &[
    package("ca-certificates", Probe::None),
    package("gcc", Probe::Program("cc")),
    package("libc6-dev", Probe::None),
];

/// For the window and for the tests, on top of the above.
pub(crate) const WINDOW: &[Package] = &[
    package("pkg-config", Probe::Program("pkg-config")),
    package("libwebkit2gtk-4.1-dev", Probe::Library("webkit2gtk-4.1")),
    package("libgtk-3-dev", Probe::Library("gtk+-3.0")),
    package("librsvg2-dev", Probe::Library("librsvg-2.0")),
    package("webkit2gtk-driver", Probe::Program("WebKitWebDriver")),
    package("xvfb", Probe::Program("xvfb-run")),
    package("xauth", Probe::Program("xauth")),
    package("dbus", Probe::Program("dbus-daemon")),
    // Without any font the window opens and shows no text.
    package("fonts-dejavu-core", Probe::None),
    // The plugin header is compiled as C++ too.
    package("g++", Probe::Program("c++")),
    // The plugin in C brings a makefile.
    package("make", Probe::Program("make")),
    // `tidy` asks it which files belong to the repository.
    package("git", Probe::Program("git")),
];

/// For `bundle`: what makes a Debian package and computes what it depends on, and who reads it for faults.
pub(crate) const BUNDLE: &[Package] = &[
    package("dpkg-dev", Probe::Program("dpkg-shlibdeps")),
    package("binutils", Probe::Program("strip")),
    package("desktop-file-utils", Probe::Program("desktop-file-validate")),
    package("appstream", Probe::Program("appstreamcli")),
    package("libxml2-utils", Probe::Program("xmllint")),
    package("lintian", Probe::Program("lintian")),
];

/// For `bundle --check`: what makes a small Debian to install in.
pub(crate) const CLEAN_ROOT: &[Package] = &[package("mmdebstrap", Probe::Program("mmdebstrap"))];

/// The circuit simulator that `verify` compares with.
pub(crate) const SIMULATOR: &[Package] = &[package("ngspice", Probe::Program("ngspice"))];

/// A Python that can make a folder of packages of its own, where none is on the search path.
pub(crate) const PYTHON: &[Package] =
    &[package("python3", Probe::Program("python3")), package("python3-venv", Probe::None)];

/// The wanted packages that dpkg does not report as installed. `report` has a line `name status` for each it knows.
pub(crate) fn missing(wanted: &[&'static str], report: &str) -> Vec<&'static str> {
    let installed: Vec<&str> = report
        .lines()
        .filter_map(|line| line.split_once(' '))
        .filter(|(_, status)| *status == "installed")
        .map(|(name, _)| name)
        .collect();
    wanted.iter().filter(|it| !installed.contains(it)).copied().collect()
}

/// The line to type, `sudo` in front of each command if that is how one becomes root.
pub(crate) fn install_line(packages: &[&str], sudo: bool) -> String {
    let sudo = if sudo { "sudo " } else { "" };
    format!(
        "{sudo}apt-get update && {sudo}apt-get install -y --no-install-recommends {}",
        packages.join(" ")
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_installed_counts_as_there() {
        let report = "gcc installed\nxvfb config-files\ndbus not-installed\n";
        assert_eq!(missing(&["gcc", "xvfb", "dbus", "xauth"], report), ["xvfb", "dbus", "xauth"]);
    }

    #[test]
    fn a_name_within_another_is_not_the_same_package() {
        assert_eq!(missing(&["gcc"], "gcc-12 installed\n"), ["gcc"]);
    }

    #[test]
    fn the_line_can_be_pasted() {
        assert_eq!(
            install_line(&["gcc", "xvfb"], true),
            "sudo apt-get update && sudo apt-get install -y --no-install-recommends gcc xvfb"
        );
        assert_eq!(
            install_line(&["gcc"], false),
            "apt-get update && apt-get install -y --no-install-recommends gcc"
        );
    }

    #[test]
    fn no_package_is_listed_twice() {
        let mut names: Vec<&str> = [TERMINAL, WINDOW, BUNDLE, CLEAN_ROOT, SIMULATOR, PYTHON]
            .concat()
            .iter()
            .map(|it| it.debian)
            .collect();
        let count = names.len();
        names.sort_unstable();
        names.dedup();
        assert_eq!(names.len(), count);
    }
}
