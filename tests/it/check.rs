//! The conformance check: what it finds in each way of misbehaving, and that it finds nothing in what is well made.

use std::{
    collections::{BTreeMap, BTreeSet},
    fs,
    path::{Path, PathBuf},
    sync::Mutex,
    thread,
};

use serde_json::Value;
use tests::{Bench, Ran, cargo, command, programs, repository, succeed};

/// Libraries checked at once.
const AT_ONCE: usize = 3;

fn misbehave(bench: &Bench, mode: &str) -> PathBuf {
    let library = bench.path(&format!("{mode}.so"));
    let plugins = repository().join("plugins");
    let mut cc = command("cc");
    cc.args(["-std=c99", "-O1", "-fPIC", "-shared", "-pthread"]).arg(format!("-D{mode}"));
    cc.arg("-I").arg(plugins.join("api/include")).arg("-o").arg(&library);
    let _ = succeed(cc.arg(plugins.join("testing/misbehave/misbehave.c")).arg("-lm"));
    library
}

/// All ways of misbehaving, as the source has them, and the well-behaved one.
fn modes() -> BTreeSet<String> {
    let file = repository().join("plugins/testing/misbehave/misbehave.c");
    let source = fs::read_to_string(file).unwrap();
    let part = |c: char| c.is_ascii_uppercase() || c.is_ascii_digit() || c == '_';
    let words = source.split(|c: char| !part(c)).filter(|it| it.starts_with("MODE_"));
    words.chain(["MODE_NONE"]).map(str::to_owned).collect()
}

fn check(bench: &Bench, library: &Path, further: &[&str]) -> Ran {
    let file = library.to_str().unwrap();
    bench.run(&[&["plugin", "check", "--json", file], further].concat())
}

/// A report whose exit status says what it says.
fn report(ran: &Ran) -> Value {
    assert_eq!(ran.err, "");
    let report: Value = serde_json::from_str(&ran.out).unwrap();
    let bad = ["failed", "crashed", "timed_out"].iter().any(|it| report[it] != 0);
    assert_eq!(report["conforms"], !bad, "{report}");
    assert_eq!(ran.status, i32::from(bad), "{report}");
    report
}

/// Id and outcome of each check, in the order made.
fn outcomes(report: &Value) -> Vec<(&str, &str)> {
    let word = |it: &'_ Value| -> &'static str {
        match it.as_str().unwrap() {
            "passed" => "passed",
            "failed" => "failed",
            "crashed" => "crashed",
            "timed out" => "timed out",
            "skipped" => "skipped",
            "warned" => "warned",
            other => panic!("{other}"),
        }
    };
    let checks = report["checks"].as_array().unwrap();
    checks.iter().map(|it| (it["id"].as_str().unwrap(), word(&it["outcome"]))).collect()
}

/// One line: what did not pass, and how many checks were skipped for it.
fn line(name: &str, report: &Value) -> String {
    let mut outcomes = outcomes(report);
    if name != "MODE_SLOW_LOAD" {
        // A busy computer makes any load slow.
        outcomes.retain(|it| *it != ("load-time", "warned"));
    }
    let found: Vec<String> = outcomes
        .iter()
        .filter(|(_, outcome)| !["passed", "skipped"].contains(outcome))
        .map(|(id, outcome)| format!("{id} {outcome}"))
        .collect();
    let n_skipped = outcomes.iter().filter(|(_, outcome)| *outcome == "skipped").count();
    let found = if found.is_empty() { "nothing".to_owned() } else { found.join(", ") };
    let skipped = if n_skipped == 0 { String::new() } else { format!("; {n_skipped} skipped") };
    format!("{name}: {found}{skipped}\n")
}

/// What came of all modes, several at once, since some of them do nothing but wait.
fn reports(bench: &Bench) -> BTreeMap<String, Value> {
    let pending = Mutex::new(modes().into_iter().collect::<Vec<_>>());
    let done = Mutex::new(BTreeMap::new());
    let _ = programs();
    thread::scope(|scope| {
        for _ in 0..AT_ONCE {
            scope.spawn(|| {
                loop {
                    let Some(mode) = pending.lock().unwrap().pop() else { return };
                    let report = report(&check(bench, &misbehave(bench, &mode), &[]));
                    done.lock().unwrap().insert(mode, report);
                }
            });
        }
    });
    done.into_inner().unwrap()
}

/// The snapshot has a line for each mode, so that a mode or a check that is added shows. Beside it: each check finds
/// something in some mode, and whatever it finds comes with words.
#[test]
fn each_way_of_misbehaving_is_found() {
    let bench = Bench::empty();
    let reports = reports(&bench);
    assert!(30 <= reports.len(), "{} modes", reports.len());
    let text: String = reports.iter().map(|(mode, report)| line(mode, report)).collect();
    crate::same_as_kept("misbehave", &text);

    let well = outcomes(&reports["MODE_NONE"]);
    assert!(well.iter().all(|(id, it)| *it == "passed" || *id == "load-time"), "{well:?}");
    let mut silent: BTreeSet<&str> = well.iter().map(|(id, _)| *id).collect();
    for (mode, report) in &reports {
        for it in report["checks"].as_array().unwrap() {
            let (id, advice) = (it["id"].as_str().unwrap(), it["advice"].as_str().unwrap());
            match it["outcome"].as_str().unwrap() {
                "passed" => assert_eq!(advice, "", "{mode}: {id}"),
                "skipped" => assert!(!advice.is_empty(), "{mode}: {id}"),
                _ => {
                    silent.remove(id);
                    assert!(advice.len() >= 20, "{mode}: {id}: {advice:?}");
                }
            }
        }
    }
    assert!(silent.is_empty(), "no mode fails {silent:?}");
}

/// The plugins of this build, and the examples in both languages.
#[test]
fn what_is_well_made_conforms() {
    let bench = Bench::empty();
    let _ = programs();
    let _ = succeed(cargo().args(["build", "-q", "-p", "finish"]));
    let mut text = String::new();
    for name in ["cabinet", "driver", "crossover", "wiring", "finish"] {
        let library = programs().join(format!("lib{name}.so"));
        text.push_str(&line(name, &report(&check(&bench, &library, &[]))));
    }
    text.push_str(&line("finish in C", &report(&check(&bench, &c_example(&bench), &[]))));
    crate::same_as_kept("conforming", &text);
}

/// The example in C, made by its own build file, in a folder of its own.
fn c_example(bench: &Bench) -> PathBuf {
    let (folder, plugins) = (bench.path("c"), repository().join("plugins"));
    fs::create_dir(&folder).unwrap();
    for name in ["Makefile", "plugin.c"] {
        fs::copy(plugins.join("examples/c").join(name), folder.join(name)).unwrap();
    }
    let mut make = command("make");
    make.arg("-C").arg(&folder).arg(format!("SDK={}", plugins.join("api").display()));
    let manifest = plugins.join("examples/rust/manifest.json");
    let _ = succeed(make.arg(format!("MANIFEST={}", manifest.display())).arg("libfinish.so"));
    folder.join("libfinish.so")
}

#[test]
fn what_cannot_be_checked_is_refused() {
    let bench = Bench::empty();
    let text = bench.path("notes.so");
    fs::write(&text, "no library").unwrap();
    // Bytes 18 and 19 of an ELF file name the processor (System V ABI, chapter 4): 183 is AArch64, 62 is x86-64.
    let other = bench.path("other.so");
    let mut bytes = fs::read(misbehave(&bench, "MODE_NONE")).unwrap();
    bytes[18] = if cfg!(target_arch = "x86_64") { 183 } else { 62 };
    bytes[19] = 0;
    fs::write(&other, bytes).unwrap();
    let cases = [
        (bench.path("absent.so"), "cannot be read"),
        (text, "is no dynamic library"),
        (programs().join("boxworth"), ""),
        (other, "another processor"),
    ];
    for (file, why) in cases {
        let ran = check(&bench, &file, &[]);
        if why.is_empty() {
            // A program that can be placed anywhere looks like a library; it is one without the entry.
            assert_ne!(ran.status, 0);
            continue;
        }
        let errors = ran.refusals();
        assert_eq!(errors[0]["code"], "plugin");
        assert!(errors[0]["message"].as_str().unwrap().contains(why), "{}", errors[0]);
    }
    let errors = check(&bench, &misbehave(&bench, "MODE_NONE"), &["--only", "speed"]).refusals();
    assert_eq!(errors[0]["code"], "bad_request");
    assert!(errors[0]["accepted"].as_str().unwrap().contains("entry-symbol"), "{}", errors[0]);
}

#[test]
fn checks_are_made_one_by_one_when_asked_for() {
    let bench = Bench::empty();
    let library = misbehave(&bench, "MODE_LEAK");
    let found = report(&check(&bench, &library, &["--only", "memory", "--only", "quiet"]));
    assert_eq!(outcomes(&found), [("memory", "failed"), ("quiet", "passed")]);
    // Without those that it rests on, a check tells the fault itself.
    let found = report(&check(&bench, &misbehave(&bench, "MODE_SEGV"), &["--only", "stops"]));
    assert_eq!(outcomes(&found), [("stops", "crashed")]);
}

#[test]
fn checking_is_not_trusting_and_shows_what_was_checked() {
    let bench = Bench::empty();
    let before = bench.files();
    let library = misbehave(&bench, "MODE_NONE");
    let found = report(&check(&bench, &library, &[]));
    assert!(bench.files() == before, "the catalogue was changed");
    assert_eq!(found["file"], library.canonicalize().unwrap().to_str().unwrap());
    assert_eq!(found["size_bytes"], fs::metadata(&library).unwrap().len());
    // The sum as the system's own tool gives it (GNU coreutils).
    let sum = succeed(command("sha256sum").arg(&library));
    assert_eq!(found["sha256"], sum.split_whitespace().next().unwrap());
    assert_eq!(
        (&found["sandbox"], &found["id"]),
        (&"full".into(), &"org.example.misbehave".into())
    );

    let text = bench.run(&["plugin", "check", library.to_str().unwrap()]).done();
    assert!(text.contains("Checking is not trusting"), "{text}");
    assert!(text.trim_end().ends_with(&format!("{} passed", found["passed"])), "{text}");
    // The same file gives the same report.
    assert_eq!(report(&check(&bench, &library, &[])), found);
}
