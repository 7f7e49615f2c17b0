//! `cargo xtask sbom`: what the program is made of, as CycloneDX 1.6 JSON.
//!
//! All of both lock files is in it: what may be in a program of a release has the scope `required`, what only builds or
//! tests has `excluded`. Crates for other systems than this one are left out. The same commit gives the same bytes.

use crate::json::{Json, object, text};
use crate::locked::{self, Component};
use crate::moment;
use crate::shell::{Failure, Shell};
use crate::verify;
use std::collections::BTreeSet;
use std::fs;
use std::path::PathBuf;

const FILE: &str = "boxworth.cdx.json";
/// Reads the file with the schema of the standard, and checks what a schema cannot.
const READER: &str = "tests/verify/sbom.py";

/// Writes the file into the target folder, and with `check` has a library of others read it.
pub(crate) fn sbom(shell: &Shell, check: bool) -> Result<(), Failure> {
    let all = locked::components(shell)?;
    let path = write(shell, &all)?;
    shell.say(format!("{} components: {}", all.len(), path.display()))?;
    if check {
        let python = verify::outside_tools(shell)?;
        let mut reader = shell.program(python);
        reader.args(["-B", READER]).arg(&path);
        shell.run(reader)?;
    }
    Ok(())
}

/// Writes the components as `target/xtask/boxworth.cdx.json`, and gives its path.
pub(crate) fn write(shell: &Shell, all: &[Component]) -> Result<PathBuf, Failure> {
    let folder = shell.target().join("xtask");
    fs::create_dir_all(&folder).map_err(Failure::at(&folder))?;
    let made = moment::shown(shell, moment::of_source(shell)?, "%Y-%m-%dT%H:%M:%SZ")?;
    let written = document(all, &made, &locked::host(shell)?).written();
    let path = folder.join(FILE);
    fs::write(&path, written).map_err(Failure::at(&path))?;
    Ok(path)
}

fn document(all: &[Component], made: &str, host: &str) -> Json {
    let version = env!("CARGO_PKG_VERSION");
    let whole = "boxworth";
    let program = object([
        ("type", text("application")),
        ("bom-ref", text(whole)),
        ("name", text("Boxworth")),
        ("version", text(version)),
        ("licenses", licences("MIT OR Apache-2.0")),
    ]);
    let platform = object([("name", text("boxworth:platform")), ("value", text(host))]);
    let tool = object([
        ("type", text("application")),
        ("name", text("boxworth-xtask")),
        ("version", text(version)),
    ]);
    let metadata = object([
        ("timestamp", text(made)),
        ("tools", object([("components", Json::List(vec![tool]))])),
        ("component", program),
        ("properties", Json::List(vec![platform])),
    ]);
    // The program as a whole is all crates of this repository; who needs them is no secret of theirs.
    let own = all.iter().filter(|it| it.reference.starts_with("own:") && it.shipped);
    let own: BTreeSet<String> = own.map(|it| it.reference.clone()).collect();
    let mut edges = vec![edge(whole, &own)];
    edges.extend(all.iter().map(|it| edge(&it.reference, &it.needs)));
    object([
        ("bomFormat", text("CycloneDX")),
        ("specVersion", text("1.6")),
        ("version", Json::Number("1".into())),
        ("metadata", metadata),
        ("components", Json::List(all.iter().map(component).collect())),
        ("dependencies", Json::List(edges)),
    ])
}

fn component(it: &Component) -> Json {
    let mut members = vec![
        ("type", text("library")),
        ("bom-ref", text(&it.reference)),
        ("name", text(&it.name)),
        ("version", text(&it.version)),
        ("scope", text(if it.shipped { "required" } else { "excluded" })),
        ("licenses", licences(&it.licence)),
    ];
    if it.reference.starts_with("pkg:") {
        members.push(("purl", text(&it.reference)));
    }
    if let Some((algorithm, digits)) = &it.hash {
        let hash = object([("alg", text(*algorithm)), ("content", text(digits))]);
        members.push(("hashes", Json::List(vec![hash])));
    }
    object(members)
}

fn licences(expression: &str) -> Json {
    Json::List(vec![object([("expression", text(expression))])])
}

fn edge(from: &str, to: &BTreeSet<String>) -> Json {
    let to = to.iter().map(text).collect();
    object([("ref", text(from)), ("dependsOn", Json::List(to))])
}

#[cfg(test)]
mod tests {
    use super::*;

    fn library(reference: &str, needs: &[&str]) -> Component {
        Component {
            reference: reference.to_owned(),
            name: "a".to_owned(),
            version: "1.0.0".to_owned(),
            licence: "MIT".to_owned(),
            authors: Vec::new(),
            hash: Some(("SHA-256", "ab".repeat(32))),
            shipped: true,
            folder: None,
            needs: needs.iter().map(|it| (*it).to_owned()).collect(),
        }
    }

    #[test]
    fn the_program_needs_its_crates_and_they_need_the_rest() {
        let all = [library("own:a", &["pkg:cargo/b@1.0.0"]), library("pkg:cargo/b@1.0.0", &[])];
        let made = document(&all, "2026-01-02T03:04:05Z", "some-linux");
        let edges: Vec<String> = made
            .list("dependencies")
            .iter()
            .map(|it| {
                format!("{:?} {:?}", it.text("ref").unwrap_or_default(), it.list("dependsOn"))
            })
            .collect();
        assert_eq!(
            edges,
            [
                r#""boxworth" [Text("own:a")]"#,
                r#""own:a" [Text("pkg:cargo/b@1.0.0")]"#,
                r#""pkg:cargo/b@1.0.0" []"#
            ]
        );
    }

    #[test]
    fn only_what_a_registry_has_carries_its_address() {
        assert_eq!(component(&library("own:a", &[])).text("purl"), None);
        let other = component(&library("pkg:cargo/a@1.0.0", &[]));
        assert_eq!(other.text("purl"), Some("pkg:cargo/a@1.0.0"));
        assert_eq!(other.list("hashes").len(), 1);
    }
}
