//! `cargo xtask bundle`: a Debian package, laid out here and closed by dpkg-deb.
//!
//! A folder and dpkg-deb need nothing that has to be fetched, give the same bytes for the same programs, and show in one
//! list (`layout`) what is installed where. Tauri's bundler knows nothing of worker, plugins, manual and completions,
//! computes no dependencies, and fetches its tools; it is left for the systems where only it can make a package
//! (`src-tauri/packaging`).

mod clean_root;
mod control;
#[cfg(test)]
mod elsewhere;
mod layout;
mod licences;
mod validate;

use crate::app::{self, Profile};
use crate::shell::{Failure, Shell};
use crate::{locked, moment, packages, pins, sbom, setup};
use layout::{Content, Entry};
use std::fs;
use std::path::{Path, PathBuf};

/// Makes the package and has validators read it; with `check` also makes it a second time and compares, and installs it
/// in a clean Debian.
pub(crate) fn bundle(shell: &Shell, profile: Profile, check: bool) -> Result<(), Failure> {
    if !cfg!(target_os = "linux") {
        return Err(Failure::refused(
            "a Debian package is made on Linux; for other systems see src-tauri/packaging/README.md",
        ));
    }
    setup::setup(shell, true, true)?;
    let mut wanted: Vec<_> = packages::BUNDLE.iter().collect();
    if check {
        wanted.extend(packages::CLEAN_ROOT);
    }
    setup::system_packages(shell, &wanted, true)?;
    // Unoptimized programs are taken as they are: they are for trying the package out.
    if profile == Profile::Release {
        app::build(shell, profile, true)?;
    }
    let package = make(shell, profile, "deb")?;
    shell.say(format!("{}  {}", pins::sha256(shell, &package)?, package.display()))?;
    validate::all(shell, &package, &folder(shell).join("deb/debian/boxworth"))?;
    if check {
        let again = make(shell, profile, "again")?;
        if fs::read(&package).map_err(Failure::at(&package))?
            != fs::read(&again).map_err(Failure::at(&again))?
        {
            return Err(Failure::new("the package made twice is not the same"));
        }
        shell.say("made twice: the same bytes")?;
        clean_root::check(shell, &package)?;
    }
    Ok(())
}

fn folder(shell: &Shell) -> PathBuf {
    shell.target().join("bundle")
}

/// Lays the package out in the folder `name` and closes it.
fn make(shell: &Shell, profile: Profile, name: &str) -> Result<PathBuf, Failure> {
    let place = folder(shell).join(name);
    // Where dpkg-shlibdeps expects the files of a package.
    let root = place.join("debian/boxworth");
    if root.exists() {
        fs::remove_dir_all(&root).map_err(Failure::at(&root))?;
    }
    let entries = entries(shell, profile)?;
    for entry in &entries {
        lay(shell, &root, entry)?;
    }
    strip(shell, &root)?;
    let about = root.join("DEBIAN");
    fs::create_dir_all(&about).map_err(Failure::at(&about))?;
    let control = control::Control {
        version: env!("CARGO_PKG_VERSION"),
        architecture: &line(shell, "dpkg", &["--print-architecture"])?,
        maintainer: &control::maintainer(),
        installed_kib: layout::size_kib(&root).map_err(Failure::at(&root))?,
        depends: &control::depends(shell, &place, &root.join(layout::FOLDER))?,
    };
    write(&about.join("control"), &control.text())?;
    let mut sums = shell.program("md5sum");
    sums.args(entries.iter().filter(|it| !it.is_link()).map(|it| it.path.as_str()));
    sums.current_dir(&root);
    let sums = shell.output(sums)?;
    write(&about.join("md5sums"), &String::from_utf8_lossy(&sums))?;
    // Whatever the umask of whoever makes it.
    shell.run(chmod(shell, "u=rwX,go=rX", &root, &["-R"]))?;
    for entry in entries.iter().filter(|it| !it.is_link()) {
        shell.run(chmod(shell, entry.mode(), &root.join(&entry.path), &[]))?;
    }
    let package = place.join(control.file_name());
    let mut close = shell.program("dpkg-deb");
    close.args(["--root-owner-group", "-Zxz", "--build"]).arg(&root).arg(&package);
    // dpkg-deb turns later dates back to this one.
    close.env("SOURCE_DATE_EPOCH", moment::of_source(shell)?.to_string());
    shell.output(close)?;
    Ok(package)
}

/// All that is installed, with the texts that programs print and that are computed.
fn entries(shell: &Shell, profile: Profile) -> Result<Vec<Entry>, Failure> {
    let program = app::program(shell, profile, "boxworth");
    if !program.is_file() {
        return Err(Failure::refused(format!(
            "{} is not there. Type:\ncargo xtask build --window",
            program.display()
        )));
    }
    let said = |arguments: &[&str]| {
        let mut command = shell.program(&program);
        command.args(arguments);
        Ok::<_, Failure>(String::from_utf8_lossy(&shell.output(command)?).into_owned())
    };
    let moment = moment::of_source(shell)?;
    let all = locked::components(shell)?;
    let version = env!("CARGO_PKG_VERSION");
    let source = |name: &str| {
        let path = shell.root().join("src-tauri/packaging").join(name);
        let text = fs::read_to_string(&path).map_err(Failure::at(&path))?;
        let day = moment::shown(shell, moment, "%Y-%m-%d")?;
        Ok::<_, Failure>(text.replace("@VERSION@", version).replace("@DATE@", &day))
    };
    let date = moment::shown(shell, moment, "%a, %d %b %Y %H:%M:%S +0000")?;
    let given = layout::Given {
        programs: &shell.target().join(profile.folder()),
        icons: &shell.root().join("src-tauri/icons"),
        manual: said(&["man"])?,
        manual_of_window: source("boxworth-app.1")?,
        bash: said(&["completions", "bash"])?,
        zsh: said(&["completions", "zsh"])?,
        fish: said(&["completions", "fish"])?,
        desktop: source("org.boxworth.app.desktop")?,
        metainfo: source("org.boxworth.app.metainfo.xml")?,
        mime: source("org.boxworth.app.mime.xml")?,
        changelog: control::changelog(version, &control::maintainer(), &date),
        overrides: control::overrides(),
        copyright: licences::copyright(shell)?,
        third_parties: licences::third_parties(shell, &all)?,
        materials: &sbom::write(shell, &all)?,
    };
    Ok(layout::entries(given))
}

fn lay(shell: &Shell, root: &Path, entry: &Entry) -> Result<(), Failure> {
    let path = root.join(&entry.path);
    if let Some(parent) = path.parent() {
        fs::create_dir_all(parent).map_err(Failure::at(parent))?;
    }
    match &entry.content {
        Content::File(from) => fs::copy(from, &path).map(drop).map_err(Failure::at(from)),
        Content::Text(text) => write(&path, text),
        Content::Packed(text) => {
            write(&path, text)?;
            let mut gzip = shell.program("gzip");
            // `-n`: neither name nor date.
            gzip.args(["-9", "-n", "--stdout"]).arg(&path);
            let packed = shell.output(gzip)?;
            fs::write(&path, packed).map_err(Failure::at(&path))
        }
        Content::Link(to) => {
            let mut link = shell.program("ln");
            link.args(["-s", to]).arg(&path);
            shell.run(link)
        }
    }
}

/// Takes the symbol tables out of programs. Not out of plugins: the programs know them by their hash.
fn strip(shell: &Shell, root: &Path) -> Result<(), Failure> {
    for name in layout::PROGRAMS {
        let mut strip = shell.program("strip");
        strip
            .args(["--strip-unneeded", "--remove-section=.comment"])
            .arg(root.join(layout::FOLDER).join(name));
        shell.run(strip)?;
    }
    Ok(())
}

fn chmod(shell: &Shell, mode: &str, path: &Path, options: &[&str]) -> std::process::Command {
    let mut command = shell.program("chmod");
    command.args(options).arg(mode).arg(path);
    command
}

fn write(path: &Path, text: &str) -> Result<(), Failure> {
    fs::write(path, text).map_err(Failure::at(path))
}

fn line(shell: &Shell, program: &str, arguments: &[&str]) -> Result<String, Failure> {
    let mut command = shell.program(program);
    command.args(arguments);
    Ok(String::from_utf8_lossy(&shell.output(command)?).trim_end().to_owned())
}
