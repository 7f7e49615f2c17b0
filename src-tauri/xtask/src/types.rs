//! `cargo xtask types`: what is generated from Rust and committed, written or compared.

use crate::app::{self, Profile};
use crate::shell::{Failure, Shell};
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::io;
use std::path::Path;

/// The TypeScript types of the engine's messages.
const TYPES: &str = "ui/src/lib/types";
/// The JSON Schema of a product file.
const SCHEMA: &str = "seed-catalog/product.schema.json";

/// Files by path, with `/` between folders.
type Files = BTreeMap<String, Vec<u8>>;

/// Writes the generated files, or with `check` fails with the list of those that differ.
pub(crate) fn types(shell: &Shell, check: bool) -> Result<(), Failure> {
    let generated = generate(shell)?;
    let committed = committed(shell)?;
    if !check {
        return apply(shell, &generated, &committed);
    }
    let differences = differences(&generated, &committed);
    if differences.is_empty() {
        return Ok(());
    }
    Err(Failure::new(format!(
        "generated files are not what Rust says now:\n  {}\nTo write them: cargo xtask types",
        differences.join("\n  ")
    )))
}

fn generate(shell: &Shell) -> Result<Files, Failure> {
    let folder = shell.target().join("xtask").join("types");
    // Types that no longer exist must not be found again.
    if folder.exists() {
        fs::remove_dir_all(&folder).map_err(Failure::at(&folder))?;
    }
    fs::create_dir_all(&folder).map_err(Failure::at(&folder))?;
    let mut export = shell.cargo(&[
        "run",
        "-q",
        "-p",
        "engine",
        "--features",
        "types",
        "--example",
        "export_types",
        "--",
    ]);
    export.arg(&folder);
    shell.run(export)?;
    let mut files = Files::new();
    collect(&folder, TYPES, &mut files).map_err(Failure::at(&folder))?;
    for text in files.values_mut() {
        *text = without_trailing_space(text);
    }
    if files.is_empty() {
        return Err(Failure::new("the example `export_types` of `engine` wrote no file"));
    }
    app::terminal(shell, Profile::Dev)?;
    let mut schema = shell.program(app::program(shell, Profile::Dev, "boxworth"));
    schema.arg("schema");
    let schema = shell.output(schema)?;
    if schema.is_empty() {
        return Err(Failure::new("`boxworth schema` printed nothing"));
    }
    files.insert(SCHEMA.to_owned(), schema);
    Ok(files)
}

fn committed(shell: &Shell) -> Result<Files, Failure> {
    let mut files = Files::new();
    let folder = shell.root().join(TYPES);
    if folder.exists() {
        collect(&folder, TYPES, &mut files).map_err(Failure::at(&folder))?;
    }
    let schema = shell.root().join(SCHEMA);
    if schema.exists() {
        files.insert(SCHEMA.to_owned(), fs::read(&schema).map_err(Failure::at(&schema))?);
    }
    Ok(files)
}

/// Reads all files below `folder`, named as if it were `name`.
fn collect(folder: &Path, name: &str, files: &mut Files) -> io::Result<()> {
    for entry in fs::read_dir(folder)? {
        let entry = entry?;
        let name = format!("{name}/{}", entry.file_name().to_string_lossy());
        if entry.file_type()?.is_dir() {
            collect(&entry.path(), &name, files)?;
        } else {
            files.insert(name, fs::read(entry.path())?);
        }
    }
    Ok(())
}

/// The generator leaves a space behind each field, which `tidy` and diffs dislike.
fn without_trailing_space(text: &[u8]) -> Vec<u8> {
    let lines: Vec<&[u8]> = text.split(|it| *it == b'\n').map(<[u8]>::trim_ascii_end).collect();
    lines.join(&b'\n')
}

/// One line for each file that differs, with what is wrong about the committed one.
fn differences(generated: &Files, committed: &Files) -> Vec<String> {
    let names: BTreeSet<&String> = generated.keys().chain(committed.keys()).collect();
    let describe = |name: &&String| match (generated.get(*name), committed.get(*name)) {
        (Some(_), None) => Some(format!("{name}: missing")),
        (None, Some(_)) => Some(format!("{name}: no longer generated")),
        (new, old) if new != old => Some(format!("{name}: out of date")),
        _ => None,
    };
    names.iter().filter_map(describe).collect()
}

fn apply(shell: &Shell, generated: &Files, committed: &Files) -> Result<(), Failure> {
    for name in committed.keys().filter(|it| !generated.contains_key(*it)) {
        let path = shell.root().join(name);
        fs::remove_file(&path).map_err(Failure::at(&path))?;
    }
    for (name, text) in generated.iter().filter(|(name, text)| committed.get(*name) != Some(text)) {
        let path = shell.root().join(name);
        if let Some(folder) = path.parent() {
            fs::create_dir_all(folder).map_err(Failure::at(folder))?;
        }
        fs::write(&path, text).map_err(Failure::at(&path))?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_end_with_their_last_letter() {
        assert_eq!(without_trailing_space(b"a, \n\tb\t\n\n"), b"a,\n\tb\n\n");
    }

    fn files(list: &[(&str, &str)]) -> Files {
        list.iter().map(|(name, text)| ((*name).to_owned(), text.as_bytes().to_vec())).collect()
    }

    #[test]
    fn each_kind_of_difference_is_told_apart() {
        let generated = files(&[("a.ts", "1"), ("b.ts", "2"), ("c.ts", "3")]);
        let committed = files(&[("a.ts", "1"), ("b.ts", "old"), ("d.ts", "4")]);
        assert_eq!(
            differences(&generated, &committed),
            ["b.ts: out of date", "c.ts: missing", "d.ts: no longer generated"]
        );
    }

    #[test]
    fn equal_files_are_no_difference() {
        let generated = files(&[("a.ts", "1")]);
        assert_eq!(differences(&generated, &generated), Vec::<String>::new());
    }
}
