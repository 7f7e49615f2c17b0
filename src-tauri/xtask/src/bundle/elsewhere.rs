//! The configurations for packages of other systems, which Tauri's bundler reads: nothing here makes one, so all that
//! can be seen from outside is held by these tests.

use crate::app::PLUGINS;
use crate::json::Json;
use std::collections::BTreeSet;
use std::fs;
use std::path::PathBuf;

fn folder() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("..")
}

fn read(name: &str) -> Json {
    let text = fs::read_to_string(folder().join(name)).expect(name);
    Json::read(&text).expect(name)
}

fn at<'a>(json: &'a Json, path: &[&str]) -> &'a Json {
    path.iter().fold(json, |it, key| it.get(key).unwrap_or_else(|| panic!("{path:?}")))
}

fn text(json: &Json) -> &str {
    if let Json::Text(it) = json { it } else { panic!("{json:?} is no text") }
}

/// What lies beside the window: command line, worker and plugins, as that system calls them.
fn beside(program: &str, prefix: &str, library: &str) -> BTreeSet<String> {
    let libraries = PLUGINS.map(|it| format!("{prefix}{it}{library}"));
    ["boxworth", "boxworth-worker"]
        .map(|it| format!("{it}{program}"))
        .into_iter()
        .chain(libraries)
        .collect()
}

/// Each pair is where a file goes and where it is from; both must end with the same name.
fn names<'a>(pairs: impl Iterator<Item = (&'a str, &'a str)>, to: &str) -> BTreeSet<String> {
    let name = |(place, from): (&str, &str)| {
        let name = place.strip_prefix(to).unwrap_or_else(|| panic!("{place} is not in {to}"));
        assert_eq!(from, format!("../target/release/{name}"));
        name.to_owned()
    };
    pairs.map(name).collect()
}

#[test]
fn each_package_has_worker_and_plugins_beside_the_window() {
    let linux = read("packaging/appimage.json");
    let files = at(&linux, &["bundle", "linux", "appimage"]);
    let pairs = files.members("files").map(|(place, from)| (place.as_str(), text(from)));
    assert_eq!(names(pairs, "/usr/bin/"), beside("", "lib", ".so"));

    let mac = read("packaging/macos.json");
    let files = at(&mac, &["bundle", "macOS"]);
    let pairs = files.members("files").map(|(place, from)| (place.as_str(), text(from)));
    assert_eq!(names(pairs, "MacOS/"), beside("", "lib", ".dylib"));

    let windows = read("packaging/windows.json");
    let files = at(&windows, &["bundle"]);
    let pairs = files.members("resources").map(|(from, place)| (text(place), from.as_str()));
    assert_eq!(names(pairs, ""), beside(".exe", "", ".dll"));
}

#[test]
fn a_catalogue_is_the_same_kind_of_file_everywhere() {
    for name in ["packaging/appimage.json", "packaging/windows.json"] {
        let config = read(name);
        let kinds = at(&config, &["bundle"]).list("fileAssociations");
        let kinds: Vec<Option<&str>> = kinds.iter().map(|it| it.text("mimeType")).collect();
        assert_eq!(kinds, [Some("application/x-boxworth-catalogue")], "{name}");
    }
    let metainfo = fs::read_to_string(folder().join("packaging/org.boxworth.app.metainfo.xml"));
    let id = format!("<id>{}</id>", text(at(&read("tauri.conf.json"), &["identifier"])));
    assert!(metainfo.expect("metainfo").contains(&id));
}

/// The icons of Windows and macOS are the PNG files, put behind each other in a frame.
#[test]
fn every_icon_is_there_and_the_framed_ones_hold_the_same_pictures() {
    let config = read("tauri.conf.json");
    let mut there = Vec::new();
    for name in at(&config, &["bundle"]).list("icon") {
        there.push(fs::read(folder().join(text(name))).unwrap_or_else(|_| panic!("{name:?}")));
    }
    let [small, middle, large, mac, windows] = &there[..] else { panic!("five icons") };
    let holds = |frame: &[u8], picture: &[u8]| frame.windows(picture.len()).any(|it| it == picture);
    for picture in [small, middle, large] {
        assert!(picture.starts_with(b"\x89PNG"));
        assert!(holds(mac, picture) && holds(windows, picture));
    }
    // Windows: reserved, kind 1, three pictures. macOS: its mark, then its length.
    assert_eq!(windows[..6], [0, 0, 1, 0, 3, 0]);
    assert!(mac.starts_with(b"icns"));
    assert_eq!(mac[4..8], u32::try_from(mac.len()).expect("a small file").to_be_bytes());
}
