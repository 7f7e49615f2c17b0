//! Whose work is in the package, and under which terms: Debian's copyright file, and the texts of all libraries.

use crate::locked::Component;
use crate::shell::{Failure, Shell};
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

/// How names of files with terms begin, in capitals.
const NAMES: [&str; 6] = ["LICENSE", "LICENCE", "COPYING", "COPYRIGHT", "NOTICE", "UNLICENSE"];

/// The copyright file in Debian's format 1.0.
pub(super) fn copyright(shell: &Shell) -> Result<String, Failure> {
    let read = |name: &str| {
        let path = shell.root().join(name);
        fs::read_to_string(&path).map_err(Failure::at(&path))
    };
    let mit = read("LICENSE-MIT")?;
    let (head, terms) =
        mit.split_once("\n\n").and_then(|(_, rest)| rest.split_once("\n\n")).ok_or_else(|| {
            Failure::new("LICENSE-MIT: title, owner and terms are parted by blank lines")
        })?;
    let owner = head.trim().trim_start_matches("Copyright (c)").trim();
    let ofl = read("src-tauri/crates/export/fonts/OFL.txt")?;
    Ok(format!(
        "\
Format: https://www.debian.org/doc/packaging-manuals/copyright-format/1.0/
Upstream-Name: Boxworth
Comment: The programs contain libraries of others. Their names, versions, owners
 and terms are in third-parties.txt.gz beside this file, and for machines in
 boxworth.cdx.json.

Files: *
Copyright: {owner}
License: MIT or Apache-2.0

License: MIT or Apache-2.0
 As you choose, the terms of Apache 2.0, which on Debian are in
 /usr/share/common-licenses/Apache-2.0, or these:
 .
{}
Files: usr/lib/boxworth/boxworth usr/lib/boxworth/boxworth-app
Copyright: The Noto Project Authors, for the typeface of pictures and PDF
License: OFL-1.1

License: OFL-1.1
{}",
        indented(terms),
        indented(&ofl)
    ))
}

/// As continuation lines of a field.
fn indented(text: &str) -> String {
    let line = |it: &str| if it.trim().is_empty() { " .\n".to_owned() } else { format!(" {it}\n") };
    text.trim().lines().map(line).collect()
}

/// Each shipped library with its terms; equal texts stand once, below all who use them.
pub(super) fn third_parties(shell: &Shell, all: &[Component]) -> Result<String, Failure> {
    let fallback = |name: &str| {
        let path = shell.root().join(name);
        fs::read_to_string(&path).map_err(Failure::at(&path))
    };
    let mut by_text: BTreeMap<String, Vec<String>> = BTreeMap::new();
    let mut list = String::new();
    let theirs = all.iter().filter(|it| it.shipped && !it.reference.starts_with("own:"));
    for it in theirs {
        let name = format!("{} {}", it.name, it.version);
        list.push_str(&format!("{name} ({})", it.licence));
        if !it.authors.is_empty() {
            list.push_str(&format!("\n    by {}", it.authors.join(", ")));
        }
        list.push('\n');
        let found = it.folder.as_deref().map_or(Ok(Vec::new()), texts)?;
        if it.licence == "blessing" {
            list.push_str("    in the public domain\n");
        } else if it.licence == "OFL-1.1" {
            list.push_str("    its terms are in the file copyright\n");
        } else if found.is_empty() {
            list.push_str("    no text of its terms is published with it\n");
        }
        for text in found {
            by_text.entry(text).or_default().push(name.clone());
        }
    }
    let mut whole = format!(
        "Libraries in the programs of Boxworth\n\n\
         The source of each crate is on crates.io, that of each package of the window on npmjs.com, under the name and \
         version given here; nothing was changed in them. Of terms joined by OR, one may be chosen. Where a library is \
         under MPL-2.0, its files stay under it.\n\n{list}"
    );
    // A library that brings no text is under one of these, or its text stands with another's.
    for (name, file) in [("MIT", "LICENSE-MIT"), ("Apache-2.0", "LICENSE-APACHE")] {
        let users = by_text.entry(fallback(file)?.trim().to_owned()).or_default();
        users
            .push(format!("those that are under {name} and bring no text, with their own authors"));
    }
    let mut texts: Vec<(&String, &Vec<String>)> = by_text.iter().collect();
    texts.sort_by(|a, b| a.1.cmp(b.1));
    for (text, users) in texts {
        whole.push_str(&format!("\n{}\n{}\n\n{text}\n", "=".repeat(72), users.join(", ")));
    }
    Ok(whole)
}

/// The texts with terms at the top of an unpacked source.
fn texts(folder: &Path) -> Result<Vec<String>, Failure> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).map_err(Failure::at(folder))? {
        let path = entry.map_err(Failure::at(folder))?.path();
        let name = path.file_name().unwrap_or_default().to_string_lossy().to_uppercase();
        if NAMES.iter().any(|it| name.starts_with(it)) && path.is_file() {
            let bytes = fs::read(&path).map_err(Failure::at(&path))?;
            found.push(String::from_utf8_lossy(&bytes).replace("\r\n", "\n").trim().to_owned());
        }
    }
    // The order of a folder is not the same everywhere.
    found.sort();
    found.dedup();
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn blank_lines_of_a_field_are_dots() {
        assert_eq!(indented("a\n\n b\n"), " a\n .\n  b\n");
    }
}
