//! The text of a new plugin: the files of `plugins/examples` and of the SDK, as they are in this repository.

/// A language in which a plugin can be begun.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Lang {
    Rust,
    C,
}

impl Lang {
    pub(super) const ALL: [Lang; 2] = [Lang::Rust, Lang::C];

    /// What it is called in a request.
    pub(super) fn word(self) -> &'static str {
        match self {
            Lang::Rust => "rust",
            Lang::C => "c",
        }
    }

    /// The commands that test and build.
    pub(super) fn build(self) -> &'static [&'static str] {
        match self {
            Lang::Rust => &["cargo test", "cargo build"],
            Lang::C => &["make check"],
        }
    }

    /// The folder of the library, inside the plugin's.
    pub(super) fn output(self) -> &'static str {
        match self {
            Lang::Rust => "target/debug/",
            Lang::C => "",
        }
    }
}

/// What the author calls things.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Names {
    pub(super) name: String,
    pub(super) domain: String,
}

impl Names {
    pub(super) fn id(&self) -> String {
        format!("{}.{}", self.domain, self.name)
    }

    /// The name as people write it: `grille_cloth` is `Grille cloth`.
    fn title(&self) -> String {
        let mut title = self.name.replace('_', " ");
        title[..1].make_ascii_uppercase();
        title
    }

    /// The text of an example with these names in the place of its own.
    pub(super) fn fit(&self, text: &str) -> String {
        let title = self.title();
        let places = [
            ("../../api", "sdk"),
            ("../rust/manifest.json", "manifest.json"),
            (EXAMPLE_DOMAIN, self.domain.as_str()),
            (EXAMPLE_NAME, self.name.as_str()),
            (EXAMPLE_TITLE, title.as_str()),
        ];
        // In one pass, so that nothing is looked for in what was put in.
        let mut fitted = String::with_capacity(text.len());
        let mut rest = text;
        while let Some((at, from, to)) = places
            .iter()
            .filter_map(|(from, to)| Some((rest.find(from)?, *from, *to)))
            .min_by_key(|(at, ..)| *at)
        {
            fitted.push_str(&rest[..at]);
            fitted.push_str(to);
            rest = &rest[at + from.len()..];
        }
        fitted + rest
    }
}

/// What stands in the examples for the author's names; they use these words for nothing else.
const EXAMPLE_DOMAIN: &str = "org.example";
const EXAMPLE_NAME: &str = "finish";
const EXAMPLE_TITLE: &str = "Finish";

/// Pairs of a path and the text of a file of this repository, below a folder.
macro_rules! files {
    ($folder:literal: $($path:literal),+ $(,)?) => {
        &[$((
            $path,
            include_str!(concat!(env!("CARGO_MANIFEST_DIR"), "/../../../", $folder, "/", $path)),
        )),+]
    };
}

pub(super) type Files = &'static [(&'static str, &'static str)];

pub(super) const RUST: Files = files!["plugins/examples/rust": ".gitignore", "Cargo.toml", "README.md", "manifest.json", "src/lib.rs"];

pub(super) const C: Files =
    files!["plugins/examples/c": ".gitignore", "Makefile", "README.md", "check.c", "plugin.c"];

/// The contract, for every language.
pub(super) const CONTRACT: Files =
    files!["plugins/api": "README.md", "include/bw_plugin.h", "manifest.schema.json"];

/// The crate of the SDK.
pub(super) const CRATE: Files = files![
    "plugins/api":
    "Cargo.toml",
    "src/abi.rs",
    "src/lib.rs",
    "src/manifest.rs",
    "src/manifest/check.rs",
    "src/manifest/text.rs",
    "src/sdk.rs",
    "src/sdk/batch.rs",
    "src/sdk/row.rs",
    "src/sdk/shim.rs",
    "src/sdk/sink.rs",
    "src/sdk/testing.rs",
];

/// The terms under which the SDK may be used.
const LICENCES: Files = files![".": "LICENSE-APACHE", "LICENSE-MIT"];

/// All files of a new plugin, by their path in its folder.
pub(super) fn files(lang: Lang, names: &Names) -> Vec<(String, String)> {
    let mut files: Vec<(String, String)> = match lang {
        Lang::Rust => RUST,
        Lang::C => C,
    }
    .iter()
    .map(|(path, text)| ((*path).to_owned(), names.fit(text)))
    .collect();
    match lang {
        Lang::Rust => {
            for (path, text) in &mut files {
                if path == "Cargo.toml" {
                    text.push_str(STANDS_ALONE);
                }
            }
        }
        // Both languages have one manifest.
        Lang::C => {
            let manifest = RUST.iter().find(|(path, _)| *path == "manifest.json");
            files.extend(manifest.map(|(path, text)| ((*path).to_owned(), names.fit(text))));
        }
    }
    let of_crate: Files = if lang == Lang::Rust { CRATE } else { &[] };
    for (path, text) in CONTRACT.iter().chain(LICENCES).chain(of_crate) {
        let text = if *path == "Cargo.toml" { standalone(text) } else { (*text).to_owned() };
        files.push((format!("sdk/{path}"), text));
    }
    files.sort();
    files
}

/// Without it cargo takes a plugin inside the folder of another workspace for a part of that.
const STANDS_ALONE: &str =
    "\n# A workspace of its own, also inside the folder of another.\n[workspace]\n";

/// The SDK's `Cargo.toml` without what it takes from this repository's workspace and without what only its tests
/// outside `src` need.
pub(super) fn standalone(text: &str) -> String {
    let mut out = String::new();
    let mut is_left_out = false;
    for line in text.lines() {
        if line.starts_with('[') {
            is_left_out = matches!(line, "[lints]" | "[dev-dependencies]");
        }
        if is_left_out {
            continue;
        }
        match line.strip_suffix(".workspace = true") {
            Some("version") => {
                out.push_str(concat!("version = \"", env!("CARGO_PKG_VERSION"), "\""))
            }
            Some("edition") => out.push_str("edition = \"2024\""),
            Some("rust-version") => {
                out.push_str(concat!("rust-version = \"", env!("CARGO_PKG_RUST_VERSION"), "\""));
            }
            Some("license") => {
                out.push_str(concat!("license = \"", env!("CARGO_PKG_LICENSE"), "\""))
            }
            Some("publish") => out.push_str("publish = false"),
            _ => out.push_str(line),
        }
        out.push('\n');
    }
    out.truncate(out.trim_end().len());
    out.push('\n');
    out
}
