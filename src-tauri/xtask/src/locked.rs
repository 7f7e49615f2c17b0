//! What the lock files pin, with licences, hashes and who needs whom: crates, packages of `ui`, and what is vendored.
//!
//! A component is *shipped* if code of it may be in a program of a release; the others only build or test.

use crate::app::PLUGINS;
use crate::json::Json;
use crate::shell::{Failure, Shell};
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

/// The crates whose programs and libraries are installed, besides the plugins.
const PROGRAMS: [&str; 3] = ["boxworth", "boxworth-app", "worker"];

/// The packages of `ui/package-lock.json` that the pages carry, though they are listed for building: Svelte's runtime
/// and what it imports. The rest of what Svelte asks for is its compiler.
const IN_PAGES: [&str; 3] = ["svelte", "clsx", "esm-env"];

/// One library, at the version that is locked.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Component {
    /// A package URL, or `own:NAME` for a crate of this repository.
    pub(crate) reference: String,
    pub(crate) name: String,
    pub(crate) version: String,
    /// An SPDX expression.
    pub(crate) licence: String,
    pub(crate) authors: Vec<String>,
    /// The algorithm by its CycloneDX name, and the digits, of the archive that the registry serves.
    pub(crate) hash: Option<(&'static str, String)>,
    pub(crate) shipped: bool,
    /// Where its source is unpacked, if it is.
    pub(crate) folder: Option<PathBuf>,
    /// References of what it needs, whether in a program or to build.
    pub(crate) needs: BTreeSet<String>,
}

/// All components, sorted by reference, for the system of this machine.
pub(crate) fn components(shell: &Shell) -> Result<Vec<Component>, Failure> {
    let host = host(shell)?;
    let metadata =
        shell.cargo(&["metadata", "--locked", "--format-version", "1", "--filter-platform", &host]);
    let metadata = parsed("cargo metadata", &text_of(shell.output(metadata)?)?)?;
    let lock = shell.root().join("Cargo.lock");
    let sums = checksums(&fs::read_to_string(&lock).map_err(Failure::at(&lock))?);
    let mut all = crates(&metadata, &sums);
    vendored(&mut all)?;
    let ui = shell.root().join("ui");
    let lock = ui.join("package-lock.json");
    let lock = fs::read_to_string(&lock).map_err(Failure::at(&lock))?;
    all.extend(packages(&parsed("ui/package-lock.json", &lock)?, &ui)?);
    all.sort_by(|a, b| a.reference.cmp(&b.reference));
    Ok(all)
}

/// The system that is built for, as rustc calls it.
pub(crate) fn host(shell: &Shell) -> Result<String, Failure> {
    let mut rustc = shell.program("rustc");
    rustc.arg("-vV");
    let told = text_of(shell.output(rustc)?)?;
    let host = told.lines().find_map(|it| it.strip_prefix("host: "));
    host.map(str::to_owned).ok_or_else(|| Failure::new("`rustc -vV` names no host"))
}

fn text_of(bytes: Vec<u8>) -> Result<String, Failure> {
    String::from_utf8(bytes).map_err(|_| Failure::new("a program printed text that is not UTF-8"))
}

fn parsed(name: &str, text: &str) -> Result<Json, Failure> {
    Json::read(text).map_err(|fault| Failure::new(format!("{name}: {fault}")))
}

/// SHA-256 of each crate by name and version, from the text of `Cargo.lock`.
fn checksums(lock: &str) -> BTreeMap<(String, String), String> {
    let mut sums = BTreeMap::new();
    for package in lock.split("[[package]]").skip(1) {
        let value = |key: &str| {
            let start = format!("{key} = \"");
            let line = package.lines().find_map(|it| it.strip_prefix(start.as_str()));
            line.and_then(|it| it.strip_suffix('"')).map(str::to_owned)
        };
        if let (Some(name), Some(version), Some(sum)) =
            (value("name"), value("version"), value("checksum"))
        {
            sums.insert((name, version), sum);
        }
    }
    sums
}

fn crates(metadata: &Json, sums: &BTreeMap<(String, String), String>) -> Vec<Component> {
    let mut references: BTreeMap<&str, String> = BTreeMap::new();
    let mut compiler_only: BTreeSet<&str> = BTreeSet::new();
    let mut roots: Vec<&str> = Vec::new();
    for it in metadata.list("packages") {
        let (Some(id), Some(name), Some(version)) =
            (it.text("id"), it.text("name"), it.text("version"))
        else {
            continue;
        };
        let own = it.text("source").is_none();
        let reference =
            if own { format!("own:{name}") } else { package_url("cargo", name, version) };
        references.insert(id, reference);
        let is_macro = |it: &Json| it.list("kind").contains(&Json::Text("proc-macro".into()));
        if it.list("targets").iter().any(is_macro) {
            compiler_only.insert(id);
        }
        if own && (PROGRAMS.contains(&name) || PLUGINS.contains(&name)) {
            roots.push(id);
        }
    }
    // Who needs whom, and whether as a part of itself.
    let mut needs: BTreeMap<&str, Vec<(&str, bool)>> = BTreeMap::new();
    for node in metadata.get("resolve").map_or(&[][..], |it| it.list("nodes")) {
        let Some(id) = node.text("id") else { continue };
        let own = references.get(id).is_some_and(|it| it.starts_with("own:"));
        for it in node.list("deps") {
            let Some(package) = it.text("pkg") else { continue };
            let kinds = it.list("dep_kinds");
            let of_kind = |wanted: Option<&str>| kinds.iter().any(|it| it.text("kind") == wanted);
            // What a crate of others needs for its own tests is not resolved; ours is, and is no part of a release.
            if of_kind(None) || of_kind(Some("build")) || own {
                needs.entry(id).or_default().push((package, of_kind(None)));
            }
        }
    }
    let mut shipped: BTreeSet<&str> = BTreeSet::new();
    while let Some(id) = roots.pop() {
        if !compiler_only.contains(id) && shipped.insert(id) {
            let parts = needs.get(id).into_iter().flatten().filter(|(_, part)| *part);
            roots.extend(parts.map(|(id, _)| *id));
        }
    }
    let component = |it: &Json| {
        let (id, name, version) = (it.text("id")?, it.text("name")?, it.text("version")?);
        let sum = sums.get(&(name.to_owned(), version.to_owned()));
        let needed = needs.get(id).into_iter().flatten();
        Some(Component {
            reference: references.get(id)?.clone(),
            name: name.to_owned(),
            version: version.to_owned(),
            licence: expression(it.text("license").unwrap_or("NONE")),
            authors: texts(it.list("authors")),
            hash: sum.map(|it| ("SHA-256", it.clone())),
            shipped: shipped.contains(id),
            folder: it.text("manifest_path").and_then(|it| Some(Path::new(it).parent()?.into())),
            needs: needed.filter_map(|(id, _)| references.get(id).cloned()).collect(),
        })
    };
    metadata.list("packages").iter().filter_map(component).collect()
}

/// What lies inside crates as source or data of others: SQLite in its binding, and the typeface of pictures and PDF.
fn vendored(all: &mut Vec<Component>) -> Result<(), Failure> {
    let binding = all.iter_mut().find(|it| it.name == "libsqlite3-sys");
    let binding = binding.ok_or_else(|| Failure::new("libsqlite3-sys is not among the crates"))?;
    let header = binding.folder.clone().unwrap_or_default().join("sqlite3/sqlite3.h");
    let text = fs::read_to_string(&header).map_err(Failure::at(&header))?;
    let version = sqlite_version(&text)
        .ok_or_else(|| Failure::new(format!("{}: no SQLITE_VERSION", header.display())))?;
    let sqlite = part("sqlite", &version, "blessing");
    binding.needs.insert(sqlite.reference.clone());
    // `export/src/typeface.rs` says which part of it, and from where.
    let typeface = part("noto-sans", "2.004", "OFL-1.1");
    if let Some(it) = all.iter_mut().find(|it| it.reference == "own:export") {
        it.needs.insert(typeface.reference.clone());
    }
    all.extend([sqlite, typeface]);
    Ok(())
}

fn part(name: &str, version: &str, licence: &str) -> Component {
    Component {
        reference: package_url("generic", name, version),
        name: name.to_owned(),
        version: version.to_owned(),
        licence: licence.to_owned(),
        authors: Vec::new(),
        hash: None,
        shipped: true,
        folder: None,
        needs: BTreeSet::new(),
    }
}

fn sqlite_version(header: &str) -> Option<String> {
    let line = header.lines().find_map(|it| it.strip_prefix("#define SQLITE_VERSION "))?;
    Some(line.trim().trim_matches('"').to_owned())
}

/// The packages of a `package-lock.json` whose packages are unpacked in `ui/node_modules`; the root is `own:ui`.
fn packages(lock: &Json, ui: &Path) -> Result<Vec<Component>, Failure> {
    let places: BTreeMap<&str, &Json> =
        lock.members("packages").map(|(place, it)| (place.as_str(), it)).collect();
    let name_at = |place: &str| match place.rsplit_once("node_modules/") {
        Some((_, name)) => name.to_owned(),
        None => "ui".to_owned(),
    };
    let reference_at = |place: &str| {
        let version = places.get(place).and_then(|it| it.text("version")).unwrap_or_default();
        if place.is_empty() {
            "own:ui".to_owned()
        } else {
            package_url("npm", &name_at(place), version)
        }
    };
    // A package may lie at several places; it is one component that needs what each of them finds.
    let mut all: BTreeMap<String, Component> = BTreeMap::new();
    for (place, it) in &places {
        let name = name_at(place);
        let is_built_in = place.is_empty()
            || it.get("dev").is_none()
            || (IN_PAGES.contains(&name.as_str()) && place.matches("node_modules/").count() == 1);
        let kinds = ["dependencies", "devDependencies", "optionalDependencies"];
        let wanted = kinds.iter().flat_map(|kind| it.members(kind)).map(|(name, _)| name.as_str());
        let found = wanted.filter_map(|name| resolved(&places, place, name));
        let hash = match it.text("integrity") {
            None => None,
            Some(integrity) => Some(sha512(integrity).ok_or_else(|| {
                Failure::new(format!("ui/package-lock.json: {place}: {integrity} is no SHA-512"))
            })?),
        };
        let component = all.entry(reference_at(place)).or_insert_with(|| Component {
            reference: reference_at(place),
            name,
            version: it.text("version").unwrap_or_default().to_owned(),
            licence: expression(it.text("license").unwrap_or("NONE")),
            authors: Vec::new(),
            hash: hash.map(|it| ("SHA-512", it)),
            shipped: false,
            folder: Some(ui.join(place)),
            needs: BTreeSet::new(),
        });
        component.shipped |= is_built_in;
        component.needs.extend(found.map(reference_at));
    }
    Ok(all.into_values().collect())
}

/// Where Node finds a package that is asked for at `place`: below it, or below a folder above.
fn resolved<'a>(places: &BTreeMap<&'a str, &Json>, place: &str, name: &str) -> Option<&'a str> {
    let mut above = place;
    loop {
        let inside = if above.is_empty() { String::new() } else { format!("{above}/") };
        let candidate = format!("{inside}node_modules/{name}");
        if let Some((found, _)) = places.get_key_value(candidate.as_str()) {
            return Some(found);
        }
        if above.is_empty() {
            return None;
        }
        above = above.rsplit_once("/node_modules/").map_or("", |(above, _)| above);
    }
}

/// The hexadecimal digits of `sha512-BASE64` (W3C Subresource Integrity).
fn sha512(integrity: &str) -> Option<String> {
    const LETTERS: &[u8] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let encoded = integrity.strip_prefix("sha512-")?.trim_end_matches('=');
    let (mut digits, mut held, mut bits) = (String::new(), 0_usize, 0);
    for letter in encoded.bytes() {
        held = (held << 6 | LETTERS.iter().position(|it| *it == letter)?) & 0xffff;
        bits += 6;
        while bits >= 4 {
            bits -= 4;
            digits.push_str(&format!("{:x}", held >> bits & 0xf));
        }
    }
    // 64 bytes end within a letter; what is left over of it is no half byte.
    (digits.len() >= 128).then(|| digits[..128].to_owned())
}

/// A package URL (ECMA-427) without qualifiers.
fn package_url(kind: &str, name: &str, version: &str) -> String {
    let escaped = |text: &str| text.replace('@', "%40").replace('+', "%2B");
    format!("pkg:{kind}/{}@{}", escaped(name), escaped(version))
}

/// An SPDX expression; older crates write `/` for `OR`.
fn expression(licence: &str) -> String {
    licence.split('/').map(str::trim).collect::<Vec<_>>().join(" OR ")
}

fn texts(list: &[Json]) -> Vec<String> {
    let text = |it: &Json| if let Json::Text(it) = it { Some(it.clone()) } else { None };
    list.iter().filter_map(text).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Json {
        Json::read(text).expect("JSON")
    }

    fn of<'a>(all: &'a [Component], reference: &str) -> &'a Component {
        all.iter().find(|it| it.reference == reference).unwrap_or_else(|| panic!("{reference}"))
    }

    /// Invented: a program that needs `used`, builds with `built`, is tested with `tried` and derives with `made`.
    const METADATA: &str = r#"{
      "packages": [
        {"id": "p", "name": "boxworth", "version": "1.0.0", "source": null, "license": "MIT", "targets": []},
        {"id": "u", "name": "used", "version": "1.0.0+x", "source": "r", "license": "MIT/Zlib", "targets": []},
        {"id": "b", "name": "built", "version": "1.0.0", "source": "r", "license": "MIT", "targets": []},
        {"id": "t", "name": "tried", "version": "1.0.0", "source": "r", "license": "MIT", "targets": []},
        {"id": "m", "name": "made", "version": "1.0.0", "source": "r", "license": "MIT",
         "targets": [{"kind": ["proc-macro"]}]},
        {"id": "s", "name": "parser", "version": "1.0.0", "source": "r", "license": "MIT", "targets": []}
      ],
      "resolve": {"nodes": [
        {"id": "p", "deps": [
          {"pkg": "u", "dep_kinds": [{"kind": null}, {"kind": "dev"}]},
          {"pkg": "b", "dep_kinds": [{"kind": "build"}]},
          {"pkg": "t", "dep_kinds": [{"kind": "dev"}]},
          {"pkg": "m", "dep_kinds": [{"kind": null}]}]},
        {"id": "m", "deps": [{"pkg": "s", "dep_kinds": [{"kind": null}]}]}
      ]}
    }"#;

    #[test]
    fn what_only_builds_tests_or_derives_is_not_shipped() {
        let all = crates(&read(METADATA), &BTreeMap::new());
        let shipped: Vec<&str> =
            all.iter().filter(|it| it.shipped).map(|it| it.name.as_str()).collect();
        assert_eq!(shipped, ["boxworth", "used"]);
        assert_eq!(of(&all, "own:boxworth").needs.len(), 4);
        assert_eq!(of(&all, "pkg:cargo/used@1.0.0%2Bx").licence, "MIT OR Zlib");
    }

    #[test]
    fn sums_are_read_from_the_lock_file() {
        let lock = "version = 4\n\n[[package]]\nname = \"a\"\nversion = \"1.0.0\"\n\n\
                    [[package]]\nname = \"b\"\nversion = \"2.0.0\"\nchecksum = \"c0ffee\"\n";
        let sums = checksums(lock);
        assert_eq!(sums.len(), 1);
        assert_eq!(sums[&("b".to_owned(), "2.0.0".to_owned())], "c0ffee");
    }

    #[test]
    fn packages_are_found_as_node_finds_them() {
        let lock = read(
            r#"{"packages": {
              "": {"version": "1.0.0", "license": "MIT", "dependencies": {"a": "1"}, "devDependencies": {"svelte": "1", "t": "1"}},
              "node_modules/a": {"version": "1.0.0", "license": "MIT"},
              "node_modules/svelte": {"version": "5.0.0", "license": "MIT", "dev": true},
              "node_modules/t": {"version": "1.0.0", "license": "ISC", "dev": true, "dependencies": {"a": "2", "@s/d": "1"}},
              "node_modules/t/node_modules/a": {"version": "2.0.0", "license": "MIT", "dev": true, "dependencies": {"@s/d": "1"}},
              "node_modules/@s/d": {"version": "1.0.0", "license": "MIT", "dev": true}
            }}"#,
        );
        let all = packages(&lock, Path::new("ui")).expect("read");
        let needs = |it: &str| of(&all, it).needs.iter().cloned().collect::<Vec<_>>();
        assert_eq!(needs("pkg:npm/t@1.0.0"), ["pkg:npm/%40s/d@1.0.0", "pkg:npm/a@2.0.0"]);
        assert_eq!(needs("pkg:npm/a@2.0.0"), ["pkg:npm/%40s/d@1.0.0"]);
        let shipped: Vec<&str> =
            all.iter().filter(|it| it.shipped).map(|it| it.reference.as_str()).collect();
        assert_eq!(shipped, ["own:ui", "pkg:npm/a@1.0.0", "pkg:npm/svelte@5.0.0"]);
    }

    /// The digest of "abc" is in FIPS 180-2, appendix C.1; its Base64 is from `openssl base64`.
    #[test]
    fn integrity_becomes_hexadecimal_digits() {
        let abc = "sha512-3a81oZNherrMQXNJriBBMRLm+k6JqX6iCp7u5ktV05ohkpkqJ0/BqDa6PCOj/uu9RU1EI2Q86A4qmslPpUyknw==";
        let digits = sha512(abc).expect("digits");
        assert!(digits.starts_with("ddaf35a193617abacc417349ae204131"), "{digits}");
        assert!(digits.ends_with("a54ca49f") && digits.len() == 128, "{digits}");
        assert_eq!(sha512("sha1-abc="), None);
        assert_eq!(sha512("sha512-?"), None);
        assert_eq!(sha512("sha512-abcd"), None);
    }

    #[test]
    fn the_version_of_sqlite_stands_in_its_header() {
        let header =
            "#define SQLITE_VERSION_NUMBER 3001002\n#define SQLITE_VERSION        \"3.1.2\"\n";
        assert_eq!(sqlite_version(header), Some("3.1.2".to_owned()));
        assert_eq!(sqlite_version(""), None);
    }
}
