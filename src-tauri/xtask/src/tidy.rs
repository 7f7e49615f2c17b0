//! `cargo xtask tidy`: the rules of this repository that no other tool checks.
//!
//! Words that a rule forbids are put together from parts here, or the rule would find itself.

use crate::pins;
use crate::shell::{Failure, Shell};
use std::fs;

/// A file longer than this holds more than one concept.
const LONGEST: usize = 600;

/// What may stand at the top, besides names that begin with a dot.
const TOP: &[&str] = &[
    "Cargo.toml",
    "Cargo.lock",
    "README.md",
    "DEVELOPERS.md",
    "src-tauri",
    "ui",
    "plugins",
    "tests",
    "seed-catalog",
];

/// Files that people write as code.
const CODE: &[&str] = &["rs", "ts", "js", "svelte", "css", "html", "sql", "c", "h", "cpp", "sh"];

/// Other text. Tables and snapshots are left out: there, a space at the end can be data.
const TEXT: &[&str] = &["md", "toml", "json", "yml", "yaml"];

/// Work put off, in words; found as whole words.
const PUT_OFF: &[&str] = &[concat!("TO", "DO"), concat!("FIX", "ME"), concat!("XX", "X")];

/// Work put off, in Rust.
const STUBS: &[&str] =
    &[concat!("#[ig", "nore"), concat!("to", "do!"), concat!("unimpl", "emented!")];

/// Tests left out, or others left out for one, in the tests of `ui`.
const SKIPS: &[&str] = &[
    concat!("it.sk", "ip"),
    concat!("test.sk", "ip"),
    concat!("describe.sk", "ip"),
    "it.only",
    "test.only",
    "describe.only",
    concat!("it.to", "do"),
];

const HEADER: &str = "plugins/api/include/bw_plugin.h";
const HEADER_LOG: &str = "plugins/api/CHANGELOG.md";

/// Checks every file that git knows or would take, and fails with one line for each breach.
pub(crate) fn tidy(shell: &Shell) -> Result<(), Failure> {
    let mut list = shell.program("git");
    list.args(["ls-files", "-z", "--cached", "--others", "--exclude-standard"]);
    let names = shell.output(list)?;
    let mut breaches = Vec::new();
    for name in names.split(|byte| *byte == 0).filter(|it| !it.is_empty()) {
        let name = std::str::from_utf8(name)
            .map_err(|_| Failure::new("git lists a name that is not UTF-8"))?;
        let path = shell.root().join(name);
        // Removed, but git has not been told yet.
        if !path.is_file() {
            continue;
        }
        breaches.extend(misplaced(name));
        if is_text(name) {
            let bytes = fs::read(&path).map_err(Failure::at(&path))?;
            match std::str::from_utf8(&bytes) {
                Ok(text) => breaches.extend(in_text(name, text)),
                Err(_) => breaches.push(format!("{name}:1: not UTF-8")),
            }
        }
    }
    let header = shell.root().join(HEADER);
    if header.is_file() {
        let hash = pins::sha256(shell, &header)?;
        let log = fs::read_to_string(shell.root().join(HEADER_LOG)).unwrap_or_default();
        breaches.extend(unlogged_header(&log, &hash));
    }
    if breaches.is_empty() { Ok(()) } else { Err(Failure::new(breaches.join("\n"))) }
}

fn extension(name: &str) -> &str {
    let file = name.rsplit('/').next().unwrap_or(name);
    file.rsplit_once('.').map_or("", |(_, extension)| extension)
}

fn is_text(name: &str) -> bool {
    let extension = extension(name);
    // Fixtures are wrong on purpose.
    let fixture = name.split('/').any(|it| it == "fixtures");
    !fixture && (CODE.contains(&extension) || TEXT.contains(&extension) || name == ".ci/run")
}

fn misplaced(name: &str) -> Option<String> {
    let top = name.split('/').next().unwrap_or(name);
    let allowed = TOP.contains(&top) || top.starts_with('.') || top.starts_with("LICENSE");
    (!allowed).then(|| format!("{name}:1: `{top}` does not belong at the top of the repository"))
}

/// The breaches in one file, each as `file:line: rule`.
fn in_text(name: &str, text: &str) -> Vec<String> {
    let mut breaches = Vec::new();
    let mut breach = |line: usize, rule: String| breaches.push(format!("{name}:{line}: {rule}"));
    let kind = extension(name);
    if kind == "rs" && !text.starts_with("//!") {
        breach(1, "a file opens with `//!` and what it is for".to_owned());
    }
    let length = text.lines().count();
    if CODE.contains(&kind) && LONGEST < length {
        breach(length, format!("{length} lines, more than {LONGEST}; split it by concept"));
    }
    for (at, line) in text.lines().enumerate() {
        let at = at + 1;
        if line.ends_with([' ', '\t']) {
            breach(at, "white space at the end of the line".to_owned());
        }
        for word in PUT_OFF.iter().filter(|it| has_word(line, it)) {
            breach(at, format!("`{word}`: do it now, or write down a limit where users read it"));
        }
        if kind == "rs" {
            for stub in STUBS.iter().filter(|it| line.contains(**it)) {
                breach(at, format!("`{stub}`: no stubs, no tests left out"));
            }
        }
        if matches!(kind, "ts" | "js") {
            for skip in SKIPS.iter().filter(|it| has_word(line, it)) {
                breach(at, format!("`{skip}`: no tests left out"));
            }
        }
        if let Some(path) = machine_path(line) {
            breach(at, format!("`{path}` is a path of one machine"));
        }
    }
    breaches
}

fn is_word(character: char) -> bool {
    character.is_alphanumeric() || character == '_'
}

/// Whether `word` stands in `line` by itself and not within a longer word.
fn has_word(line: &str, word: &str) -> bool {
    line.match_indices(word).any(|(at, _)| {
        let before = line[..at].chars().next_back();
        let after = line[at + word.len()..].chars().next();
        !before.is_some_and(is_word) && !after.is_some_and(is_word)
    })
}

/// An absolute path into somebody's own folders, such as the home folder.
fn machine_path(line: &str) -> Option<String> {
    ["work", "root", "home", "Users"].iter().find_map(|folder| {
        let prefix = format!("/{folder}/");
        let starts = |at: usize| {
            let before = line[..at].chars().next_back();
            !before.is_some_and(|it| is_word(it) || matches!(it, '.' | '-' | '}' | ')' | '*'))
        };
        line.match_indices(&prefix).any(|(at, _)| starts(at)).then_some(prefix)
    })
}

/// The contract with plugin authors does not change without a word to them.
fn unlogged_header(log: &str, hash: &str) -> Option<String> {
    let line = format!("header sha256: {hash}");
    let logged = log.lines().any(|it| it.trim_start_matches(['-', '*', ' ']).trim_end() == line);
    (!logged)
        .then(|| format!("{HEADER_LOG}:1: say what changed in {HEADER}, with the line `{line}`"))
}

#[cfg(test)]
mod tests {
    use super::*;

    const GOOD: &str = "//! A file.\n\nfn one() {}\n";

    #[test]
    fn a_good_file_has_no_breach() {
        assert_eq!(in_text("a/b.rs", GOOD), Vec::<String>::new());
    }

    #[test]
    fn rust_opens_with_its_purpose() {
        assert_eq!(
            in_text("b.rs", "fn one() {}\n"),
            ["b.rs:1: a file opens with `//!` and what it is for"]
        );
        assert_eq!(in_text("b.ts", "const one = 1;\n"), Vec::<String>::new());
    }

    #[test]
    fn code_is_at_most_600_lines_and_other_text_any_length() {
        let full = "a\n".repeat(600);
        assert_eq!(in_text("b.css", &full), Vec::<String>::new());
        let long = "a\n".repeat(601);
        assert_eq!(
            in_text("b.css", &long),
            ["b.css:601: 601 lines, more than 600; split it by concept"]
        );
        assert_eq!(in_text("b.md", &long), Vec::<String>::new());
    }

    #[test]
    fn space_at_the_end_is_found_on_its_line() {
        let text = "//! A file.\nlet a = 1; \n\t\nlet b = 2;\n";
        let rule = "white space at the end of the line";
        assert_eq!(in_text("b.rs", text), [format!("b.rs:2: {rule}"), format!("b.rs:3: {rule}")]);
    }

    #[test]
    fn work_put_off_is_found_as_a_word() {
        let [later, mend, _] = PUT_OFF else { unreachable!() };
        let found = in_text("b.md", &format!("a\n{later}: more\n{mend}(me)\n"));
        assert_eq!(found.len(), 2, "{found:?}");
        assert!(found[0].starts_with("b.md:2:") && found[1].starts_with("b.md:3:"), "{found:?}");
        assert_eq!(in_text("b.md", &format!("{later}S and a{later}\n")), Vec::<String>::new());
    }

    #[test]
    fn stubs_are_found_in_rust_alone() {
        for stub in STUBS {
            assert_eq!(in_text("b.rs", &format!("{GOOD}{stub}\n")).len(), 1, "{stub}");
            assert_eq!(in_text("b.c", &format!("{stub}\n")), Vec::<String>::new());
        }
    }

    #[test]
    fn tests_left_out_are_found_in_typescript() {
        let call = format!("{}(\"adds\", () => {{}});\n", SKIPS[0]);
        assert_eq!(in_text("b.test.ts", &call).len(), 1);
        assert_eq!(
            in_text("b.test.ts", concat!("const rest = lit.sk", "ip(1);\n")),
            Vec::<String>::new()
        );
    }

    #[test]
    fn paths_of_one_machine_are_found() {
        for folder in ["work", "root", "home", "Users"] {
            let path = format!("/{folder}/");
            let line = format!("open(\"{path}x\")");
            assert_eq!(machine_path(&line), Some(path.clone()), "{line}");
            let inside = format!("https://example.org{path}x and ./a{path}");
            assert_eq!(machine_path(&inside), None, "{inside}");
        }
    }

    #[test]
    fn only_known_names_stand_at_the_top() {
        for name in [
            "Cargo.toml",
            ".ci/run",
            "LICENSE-MIT",
            "ui/src/main.ts",
            "src-tauri/xtask/src/main.rs",
        ] {
            assert_eq!(misplaced(name), None, "{name}");
        }
        assert!(misplaced("notes.txt").is_some() && misplaced("scripts/a.sh").is_some());
    }

    #[test]
    fn fixtures_and_tables_are_not_read() {
        assert!(
            is_text("tests/it/main.rs") && is_text(".ci/run") && is_text("seed-catalog/a.toml")
        );
        assert!(
            !is_text("tests/fixtures/faults/a.toml")
                && !is_text("a.csv")
                && !is_text("ui/docs/a.png")
        );
    }

    #[test]
    fn a_changed_header_needs_its_line() {
        let hash = "ab".repeat(32);
        assert_eq!(unlogged_header(&format!("## 1.0\n- header sha256: {hash}\n"), &hash), None);
        let other = "cd".repeat(32);
        let breach =
            unlogged_header(&format!("header sha256: {other}\n"), &hash).expect("a breach");
        assert!(breach.contains(&hash), "{breach}");
    }
}
