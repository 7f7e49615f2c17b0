//! What a Debian package installs, and where.
//!
//! Worker and plugins are looked for beside the program that runs. So all of them lie in one folder, and what is on the
//! search path are links: the system tells a program where its file is, not where the link was.

use crate::app::PLUGINS;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

/// Where programs and plugins lie.
pub(super) const FOLDER: &str = "usr/lib/boxworth";
/// Of which those that a person starts have a link on the search path.
pub(super) const PROGRAMS: [&str; 3] = ["boxworth", "boxworth-app", "boxworth-worker"];
const ON_PATH: [&str; 2] = ["boxworth", "boxworth-app"];

/// A file, or a link.
#[derive(Debug)]
pub(super) struct Entry {
    /// From the root, without a leading `/`.
    pub(super) path: String,
    pub(super) content: Content,
}

#[derive(Debug)]
pub(super) enum Content {
    /// A copy of this file.
    File(PathBuf),
    Text(String),
    /// A text that is installed compressed, with `.gz` in its path.
    Packed(String),
    /// A link to this path.
    Link(String),
}

impl Entry {
    pub(super) fn is_link(&self) -> bool {
        matches!(self.content, Content::Link(_))
    }

    /// Only programs may be executed; a library need not.
    pub(super) fn mode(&self) -> &'static str {
        let name = self.path.strip_prefix(FOLDER).unwrap_or_default().trim_start_matches('/');
        if PROGRAMS.contains(&name) { "0755" } else { "0644" }
    }
}

/// Where things are taken from, and texts that were made.
pub(super) struct Given<'a> {
    /// The folder of programs and plugins.
    pub(super) programs: &'a Path,
    pub(super) icons: &'a Path,
    pub(super) manual: String,
    pub(super) manual_of_window: String,
    pub(super) bash: String,
    pub(super) zsh: String,
    pub(super) fish: String,
    pub(super) desktop: String,
    pub(super) metainfo: String,
    pub(super) mime: String,
    pub(super) changelog: String,
    pub(super) overrides: String,
    pub(super) copyright: String,
    pub(super) third_parties: String,
    /// The bill of materials.
    pub(super) materials: &'a Path,
}

/// Everything, sorted by path.
pub(super) fn entries(given: Given<'_>) -> Vec<Entry> {
    let mut all: Vec<Entry> = Vec::new();
    let mut add = |path: String, content: Content| all.push(Entry { path, content });
    let libraries = PLUGINS.map(|it| format!("lib{it}.so"));
    for name in PROGRAMS.iter().copied().chain(libraries.iter().map(String::as_str)) {
        add(format!("{FOLDER}/{name}"), Content::File(given.programs.join(name)));
    }
    for name in ON_PATH {
        add(format!("usr/bin/{name}"), Content::Link(format!("../lib/boxworth/{name}")));
    }
    let icons = "usr/share/icons/hicolor";
    let id = "org.boxworth.app";
    for (size, name) in
        [("32x32", "32x32.png"), ("128x128", "128x128.png"), ("256x256", "128x128@2x.png")]
    {
        let path = format!("{icons}/{size}/apps/{id}.png");
        add(path, Content::File(given.icons.join(name)));
    }
    let drawn = format!("{icons}/scalable/apps/{id}.svg");
    add(drawn, Content::File(given.icons.join("icon.svg")));
    for (path, text) in [
        ("usr/share/bash-completion/completions/boxworth", given.bash),
        ("usr/share/zsh/vendor-completions/_boxworth", given.zsh),
        ("usr/share/fish/vendor_completions.d/boxworth.fish", given.fish),
        ("usr/share/applications/org.boxworth.app.desktop", given.desktop),
        ("usr/share/metainfo/org.boxworth.app.metainfo.xml", given.metainfo),
        ("usr/share/mime/packages/org.boxworth.app.xml", given.mime),
        ("usr/share/lintian/overrides/boxworth", given.overrides),
        ("usr/share/doc/boxworth/copyright", given.copyright),
    ] {
        add(path.to_owned(), Content::Text(text));
    }
    for (path, text) in [
        ("usr/share/man/man1/boxworth.1.gz", given.manual),
        ("usr/share/man/man1/boxworth-app.1.gz", given.manual_of_window),
        ("usr/share/doc/boxworth/changelog.gz", given.changelog),
        ("usr/share/doc/boxworth/third-parties.txt.gz", given.third_parties),
    ] {
        add(path.to_owned(), Content::Packed(text));
    }
    let materials = "usr/share/doc/boxworth/boxworth.cdx.json".to_owned();
    add(materials, Content::File(given.materials.to_owned()));
    all.sort_by(|a, b| a.path.cmp(&b.path));
    all
}

/// What all files below a folder take, each rounded up, in KiB, as `Installed-Size` counts (Debian Policy 5.6.20).
pub(super) fn size_kib(folder: &Path) -> io::Result<u64> {
    let mut sum = 0;
    for entry in fs::read_dir(folder)? {
        let entry = entry?;
        let kind = entry.file_type()?;
        sum += if kind.is_dir() {
            1 + size_kib(&entry.path())?
        } else if kind.is_symlink() {
            1
        } else {
            entry.metadata()?.len().div_ceil(1024)
        };
    }
    Ok(sum)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn all() -> Vec<Entry> {
        let text = |it: &str| it.to_owned();
        entries(Given {
            programs: Path::new("out"),
            icons: Path::new("icons"),
            manual: text("m"),
            manual_of_window: text("w"),
            bash: text("b"),
            zsh: text("z"),
            fish: text("f"),
            desktop: text("d"),
            metainfo: text("a"),
            mime: text("t"),
            changelog: text("c"),
            overrides: text("o"),
            copyright: text("r"),
            third_parties: text("p"),
            materials: Path::new("s.json"),
        })
    }

    fn parent(path: &str) -> &str {
        path.rsplit_once('/').map_or("", |it| it.0)
    }

    #[test]
    fn what_a_program_looks_for_lies_beside_it() {
        let all = all();
        let folders: Vec<&str> = all
            .iter()
            .filter(|it| it.path.contains("boxworth-worker") || it.path.ends_with(".so"))
            .map(|it| parent(&it.path))
            .collect();
        assert_eq!(folders, [FOLDER; 1 + PLUGINS.len()]);
        for link in all.iter().filter(|it| it.is_link()) {
            let Content::Link(to) = &link.content else { unreachable!("filtered") };
            let up = parent(parent(&link.path));
            let end = format!("{up}/{}", to.trim_start_matches("../"));
            assert!(all.iter().any(|it| it.path == end && parent(&end) == FOLDER), "{end}");
        }
    }

    #[test]
    fn only_programs_may_be_executed() {
        let programs: Vec<String> =
            all().into_iter().filter(|it| it.mode() == "0755").map(|it| it.path).collect();
        assert_eq!(programs, PROGRAMS.map(|it| format!("{FOLDER}/{it}")));
    }

    #[test]
    fn paths_are_sorted_relative_and_say_what_is_compressed() {
        let all = all();
        assert!(all.is_sorted_by(|a, b| a.path < b.path));
        for it in &all {
            assert!(it.path.starts_with("usr/"), "{}", it.path);
            let packed = matches!(it.content, Content::Packed(_));
            assert_eq!(it.path.ends_with(".gz"), packed, "{}", it.path);
        }
    }

    /// The system finds icon, launcher and kind of file by one name.
    #[test]
    fn the_texts_of_the_desktop_name_each_other() {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../packaging");
        let text = |name: &str| fs::read_to_string(folder.join(name)).expect(name);
        let (desktop, metainfo) =
            (text("org.boxworth.app.desktop"), text("org.boxworth.app.metainfo.xml"));
        let mime = text("org.boxworth.app.mime.xml");
        let kind = "application/x-boxworth-catalogue";
        assert!(desktop.contains(&format!("\nMimeType={kind};\n")));
        assert!(metainfo.contains(&format!("<mediatype>{kind}</mediatype>")));
        assert!(mime.contains(&format!("<mime-type type=\"{kind}\">")));
        assert!(desktop.contains("\nIcon=org.boxworth.app\n"));
        assert!(metainfo.contains(">org.boxworth.app.desktop</launchable>"));
        // "BXWT", as the catalogue writes it.
        let schema = Path::new(env!("CARGO_MANIFEST_DIR")).join("../crates/catalog/src/open.rs");
        let schema = fs::read_to_string(schema).expect("open.rs");
        assert!(
            mime.contains("0x42585754") && schema.contains("APPLICATION_ID: i32 = 0x4258_5754")
        );
    }
}
