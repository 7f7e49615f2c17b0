//! Tests of `plugin new`: what is written, and what is refused. That it builds is tried by `tests/it/authoring.rs`.

use std::{collections::BTreeSet, fs, path::Path};

use bw_sdk::manifest::Manifest;

use super::template::{C, CONTRACT, CRATE, Files, RUST, files, standalone};
use super::*;
use crate::Code;

fn request(name: &str, lang: &str, into: &Path) -> NewPluginRequest {
    NewPluginRequest {
        name: name.into(),
        lang: lang.into(),
        domain: "org.example".into(),
        into: Some(into.to_owned()),
    }
}

fn names_of(name: &str, domain: &str) -> Names {
    names(name, domain).unwrap()
}

/// The paths of all files below a folder of this repository, without what a build leaves there.
fn below(folder: &str) -> BTreeSet<String> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../..").join(folder);
    let mut found = BTreeSet::new();
    let mut pending = vec![root.clone()];
    while let Some(at) = pending.pop() {
        for entry in fs::read_dir(&at).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                pending.push(path);
            } else {
                found.insert(path.strip_prefix(&root).unwrap().to_str().unwrap().to_owned());
            }
        }
    }
    let made = ["checks", "manifest.inc", "libfinish.so", "libfinish.dylib"];
    found.retain(|it| !it.starts_with("target/") && !made.contains(&it.as_str()));
    found
}

fn paths(files: Files) -> BTreeSet<String> {
    files.iter().map(|(path, _)| (*path).to_owned()).collect()
}

#[test]
fn nothing_of_the_examples_and_of_the_sdk_is_left_out() {
    assert_eq!(paths(RUST), below("plugins/examples/rust"));
    assert_eq!(paths(C), below("plugins/examples/c"));
    let mut sdk = below("plugins/api");
    sdk.retain(|it| !it.starts_with("tests/") && it != "CHANGELOG.md");
    assert_eq!(&paths(CONTRACT) | &paths(CRATE), sdk);
}

/// Were a word of an example taken for the name where it is none, another name would spoil the text.
#[test]
fn the_examples_use_their_names_for_nothing_else() {
    for (path, text) in RUST.iter().chain(C) {
        for word in ["finish", "Finish"] {
            for (at, _) in text.match_indices(word) {
                let after = text[at + word.len()..].chars().next();
                assert!(!after.is_some_and(|it| it.is_alphanumeric() || it == '_'), "{path}: {at}");
                let before = &text[..at];
                let is_name = before.ends_with("lib")
                    || !before.ends_with(|it: char| it.is_alphanumeric() || it == '_');
                assert!(is_name, "{path}: {at}");
            }
        }
    }
}

#[test]
fn with_the_names_of_the_examples_their_text_is_unchanged() {
    let kept = |text: &str| {
        text.replace("../../api", "sdk").replace("../rust/manifest.json", "manifest.json")
    };
    for (lang, of) in [(Lang::Rust, RUST), (Lang::C, C)] {
        let written = files(lang, &names_of("finish", "org.example"));
        for (path, text) in of {
            let (_, found) = written.iter().find(|(it, _)| it == path).unwrap();
            assert!(found.starts_with(&kept(text)), "{path}");
        }
    }
}

#[test]
fn both_languages_have_one_manifest_with_the_names_in_it() {
    for (name, domain) in [
        ("finish", "org.example"),
        ("my_finish", "org.example.finishing"),
        ("x234567890123456789012y4", "x23456789.x23456789.x23456789.x234567890"),
    ] {
        let of = |lang| {
            let written = files(lang, &names_of(name, domain));
            written.into_iter().find(|(path, _)| path == "manifest.json").unwrap().1
        };
        assert_eq!(of(Lang::Rust), of(Lang::C));
        let manifest = Manifest::parse(&of(Lang::C)).unwrap();
        assert_eq!(manifest.id, format!("{domain}.{name}"));
        assert_eq!(manifest.subsystem, name);
        for it in &manifest.findings {
            assert!(manifest.input_index(&format!("cabinet.{}", it.key)).is_some(), "{}", it.key);
        }
    }
    let title = files(Lang::C, &names_of("grille_cloth", "org.example"));
    let (_, readme) = title.iter().find(|(path, _)| path == "README.md").unwrap();
    assert!(readme.starts_with("# Grille cloth\n"), "{readme}");
}

/// The edition and the version are those of this repository.
#[test]
fn the_sdk_stands_alone() {
    let workspace = include_str!("../../../../../Cargo.toml");
    assert!(workspace.contains("\nedition = \"2024\"\n"));
    let (_, own) = CRATE.iter().find(|(path, _)| *path == "Cargo.toml").unwrap();
    let alone = standalone(own);
    for gone in ["workspace", "dev-dependencies", "tempfile"] {
        assert!(!alone.contains(gone), "{alone}");
    }
    for kept in [
        "name = \"boxworth-plugin-api\"",
        concat!("version = \"", env!("CARGO_PKG_VERSION"), "\""),
        "license = \"MIT OR Apache-2.0\"",
        "rust-version = \"1.",
        "[dependencies]\nserde",
    ] {
        assert!(alone.contains(kept), "{kept}: {alone}");
    }
}

#[test]
fn what_is_written_is_told() {
    let dir = tempfile::tempdir().unwrap();
    for lang in ["rust", "c"] {
        let folder = dir.path().join("deep").join(lang);
        let made = new_plugin(&request("grille", lang, &folder)).unwrap();
        assert_eq!((made.id.as_str(), made.subsystem.as_str()), ("org.example.grille", "grille"));
        for path in &made.files {
            assert!(folder.join(path).is_file(), "{path}");
        }
        assert!(made.files.iter().any(|it| it == "sdk/LICENSE-MIT"), "{:?}", made.files);
        assert!(made.library.ends_with(&format!("grille{}", env::consts::DLL_SUFFIX)));
    }
}

#[test]
fn an_empty_folder_is_taken_and_any_other_is_left_alone() {
    let dir = tempfile::tempdir().unwrap();
    let empty = dir.path().join("empty");
    fs::create_dir(&empty).unwrap();
    assert!(new_plugin(&request("grille", "c", &empty)).is_ok());
    for (path, why) in [("empty", "holds files already"), ("empty/plugin.c", "is no folder")] {
        let path = dir.path().join(path);
        let before = fs::read(empty.join("plugin.c")).unwrap();
        let refused = new_plugin(&request("other", "c", &path)).unwrap_err();
        assert_eq!(refused.code(), Code::Exists, "{refused}");
        assert!(refused.to_string().contains(why), "{refused}");
        assert!(!refused.faults()[0].accepted.is_empty());
        assert!(fs::read(empty.join("plugin.c")).unwrap() == before);
    }
}

#[test]
fn a_failed_write_leaves_nothing_behind() {
    let dir = tempfile::tempdir().unwrap();
    let folder = dir.path().join("a/b");
    // The second path needs a folder where the first one is a file.
    let files = [("one".to_owned(), "text".to_owned()), ("one/two".to_owned(), "text".to_owned())];
    let refused = Writer::default().write(&folder, &files).unwrap_err();
    assert_eq!(refused.code(), Code::Io, "{refused}");
    assert_eq!(fs::read_dir(dir.path()).unwrap().count(), 0);
}

#[test]
fn bad_names_are_refused_with_what_is_accepted() {
    let dir = tempfile::tempdir().unwrap();
    let folder = dir.path().join("plugin");
    let long = "x".repeat(25);
    for name in [
        "", "Finish", "fi nish", "9lives", "_x", "fi-nish", "a.b", "../x", "größe", "wiring", &long,
    ] {
        let refused = new_plugin(&request(name, "rust", &folder)).unwrap_err();
        assert_eq!(refused.faults()[0].r#where, "name", "{name}");
        assert!(!refused.faults()[0].accepted.is_empty());
    }
    let long = "x".repeat(41);
    for domain in ["", ".", "org.", "org..example", "org/example", "Org.example", "org.9", &long] {
        let asked = NewPluginRequest { domain: domain.into(), ..request("grille", "c", &folder) };
        let refused = new_plugin(&asked).unwrap_err();
        assert_eq!(refused.faults()[0].r#where, "domain", "{domain}");
    }
    for lang in ["", "Rust", "cpp"] {
        let refused = new_plugin(&request("grille", lang, &folder)).unwrap_err();
        assert_eq!(refused.faults()[0].accepted, "rust, c", "{lang}");
    }
    assert!(!folder.exists());
}
