//! A plugin that misbehaves costs what it would have scored, never the run.

use std::{
    collections::BTreeSet,
    fs,
    path::{Path, PathBuf},
    thread,
    time::{Duration, Instant},
};

use rustix::process::{Pid, Signal, kill_process};
use serde_json::Value;
use tests::{Bench, Ran, command, programs, repository, succeed};

/// Processor time, in ticks of a hundredth of a second, that a worker uses only in an endless call.
const BUSY: u64 = 40;

/// Compiles the misbehaving plugin in one of its modes.
fn misbehave(bench: &Bench, mode: &str, name: &str) -> PathBuf {
    let library = bench.path(name);
    let plugins = repository().join("plugins");
    let mut cc = command("cc");
    cc.args(["-std=c99", "-O1", "-fPIC", "-shared", "-pthread"]).arg(format!("-D{mode}"));
    cc.arg("-I").arg(plugins.join("api/include")).arg("-o").arg(&library);
    let _ = succeed(cc.arg(plugins.join("testing/misbehave/misbehave.c")).arg("-lm"));
    library
}

fn trust(bench: &Bench, library: &Path) {
    let ran = bench.run(&["plugin", "trust", library.to_str().unwrap()]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    assert!(ran.err.contains("native code"), "trust comes with a caution: {}", ran.err);
}

fn band(bench: &Bench) -> Value {
    bench.run(&["band", "200..500", "--json"]).answer()
}

/// All but the remarks about the run.
fn without_remarks(mut report: Value) -> Value {
    report["remarks"] = Value::Null;
    report
}

/// The texts of remarks on what was not scored.
fn not_scored(report: &Value) -> Vec<&str> {
    let remarks = report["remarks"].as_array().unwrap().iter();
    remarks.filter(|it| it["code"] == "not_scored").map(|it| it["text"].as_str().unwrap()).collect()
}

#[test]
fn a_trusted_plugin_takes_part() {
    let bench = Bench::seeded();
    let library = misbehave(&bench, "MODE_NONE", "behaves.so");
    trust(&bench, &library);
    let report = band(&bench);
    assert_eq!(not_scored(&report), [""; 0]);
    let ids: Vec<&Value> =
        report["plugins"].as_array().unwrap().iter().map(|it| &it["id"]).collect();
    assert!(ids.contains(&&Value::from("org.example.misbehave")), "{ids:?}");
}

#[test]
fn a_plugin_that_crashes_costs_only_its_own_scores() {
    let bench = Bench::seeded();
    let without = band(&bench);
    trust(&bench, &misbehave(&bench, "MODE_SEGV", "crashes.so"));
    let with = band(&bench);
    let remarks = not_scored(&with);
    let [remark] = &remarks[..] else { panic!("{remarks:?}") };
    assert!(remark.contains("crashes.so") && remark.contains("SIGSEGV"), "{remark}");
    assert_eq!(without_remarks(with), without_remarks(without));

    let text = bench.run(&["band", "200..500"]).done();
    assert!(text.contains("crashes.so: not scored"), "{text}");
}

/// Its constructor ends the process that loads it.
#[test]
fn a_plugin_that_dies_while_it_is_loaded_is_not_trusted() {
    let bench = Bench::seeded();
    let before = bench.files();
    let library = misbehave(&bench, "MODE_CONSTRUCTOR", "dies.so");
    let errors = bench.run(&["plugin", "trust", "--json", library.to_str().unwrap()]).refusals();
    assert_eq!(errors[0]["code"], "plugin", "{}", errors[0]);
    assert!(bench.files() == before, "the catalogue was changed");
}

/// A folder with the plugins of this build and others.
fn plugin_folder(bench: &Bench) -> PathBuf {
    let folder = bench.path("plugins");
    fs::create_dir(&folder).unwrap();
    for name in ["cabinet", "driver", "crossover", "wiring"] {
        let file = format!("lib{name}.so");
        fs::copy(programs().join(&file), folder.join(file)).unwrap();
    }
    folder
}

fn run_in(bench: &Bench, folder: &Path, arguments: &[&str]) -> Value {
    let output = bench.command(arguments).env("BOXWORTH_PLUGINS", folder).output().unwrap();
    Ran::from(output).answer()
}

/// The list but for the folder that the plugins are in.
fn without_paths(mut list: Value) -> Value {
    list["plugins"].as_array_mut().unwrap().iter_mut().for_each(|it| it["path"] = Value::Null);
    list
}

#[test]
fn a_file_that_nobody_trusts_is_never_loaded() {
    let bench = Bench::seeded();
    let (list, report) = (bench.run(&["plugin", "list", "--json"]).answer(), band(&bench));
    let folder = plugin_folder(&bench);
    let stranger = misbehave(&bench, "MODE_NONE", "stranger.so");
    fs::copy(&stranger, folder.join("libstranger.so")).unwrap();
    let elsewhere = run_in(&bench, &folder, &["plugin", "list", "--json"]);
    assert_eq!(without_paths(elsewhere), without_paths(list));
    assert_eq!(run_in(&bench, &folder, &["band", "200..500", "--json"]), report);
}

#[test]
fn a_stranger_in_the_place_of_an_own_plugin_is_refused() {
    let bench = Bench::seeded();
    let folder = plugin_folder(&bench);
    let stranger = misbehave(&bench, "MODE_NONE", "stranger.so");
    fs::copy(&stranger, folder.join("libwiring.so")).unwrap();
    let report = run_in(&bench, &folder, &["band", "200..500", "--json"]);
    let remarks = not_scored(&report);
    let [remark] = &remarks[..] else { panic!("{remarks:?}") };
    assert!(remark.starts_with("wiring: not scored"), "{remark}");
    let ids: Vec<&str> =
        report["plugins"].as_array().unwrap().iter().filter_map(|it| it["id"].as_str()).collect();
    assert_eq!(ids, ["org.boxworth.cabinet", "org.boxworth.driver", "org.boxworth.crossover"]);
}

#[test]
fn a_file_that_changed_after_it_was_trusted_is_refused() {
    let bench = Bench::seeded();
    let without = band(&bench);
    let library = misbehave(&bench, "MODE_NONE", "changes.so");
    trust(&bench, &library);
    let mut bytes = fs::read(&library).unwrap();
    bytes.push(0);
    fs::write(&library, bytes).unwrap();

    let with = band(&bench);
    let remarks = not_scored(&with);
    let [remark] = &remarks[..] else { panic!("{remarks:?}") };
    assert!(remark.contains("changes.so") && remark.contains("has changed"), "{remark}");
    assert_eq!(without_remarks(with), without_remarks(without));

    let row = row(&bench, "changes.so");
    let fault = row["fault"].as_str().unwrap();
    let trusted = row["sha256"].as_str().unwrap();
    let bytes = fs::metadata(&library).unwrap().len().to_string();
    let now = sha256sum(&library);
    let named = [library.to_str().unwrap(), "has changed", &bytes, &now, trusted];
    assert!(named.iter().all(|it| fault.contains(it)), "{named:?} in {fault}");
    assert_eq!(row["id"], Value::Null, "it was loaded");
    assert_eq!(row["faults"], Value::Array(Vec::new()), "another file is no fault of the old one");
}

/// A plugin as `plugin list` shows it.
fn row(bench: &Bench, file: &str) -> Value {
    let list = bench.run(&["plugin", "list", "--json"]).answer();
    let row = list["plugins"].as_array().unwrap().iter().find(|it| it["file"] == file);
    row.unwrap().clone()
}

/// The sum as the system's own program computes it.
fn sha256sum(file: &Path) -> String {
    let text = succeed(command("sha256sum").arg(file));
    text.split_whitespace().next().unwrap().to_owned()
}

/// As `PRAGMA integrity_check` of the program sees the file.
fn assert_intact(bench: &Bench) {
    // The plugin in quarantine is among what it finds, so its verdict on the whole is no.
    let report: Value = serde_json::from_str(&bench.run(&["doctor", "--json"]).out).unwrap();
    let checks = report["checks"].as_array().unwrap();
    let file = checks.iter().find(|it| it["name"] == "pages, indices and references");
    assert_eq!(file.unwrap()["passed"], true, "{report}");
}

#[test]
fn a_plugin_that_fails_three_times_is_in_quarantine_until_it_is_released() {
    let bench = Bench::seeded();
    let without = band(&bench);
    let library = misbehave(&bench, "MODE_SEGV", "crashes.so");
    trust(&bench, &library);
    for count in 1..=3 {
        let with = band(&bench);
        let remarks = not_scored(&with);
        let [remark] = &remarks[..] else { panic!("{remarks:?}") };
        assert!(remark.contains("SIGSEGV") && !remark.contains("quarantined"), "{count}: {remark}");
        let row = row(&bench, "crashes.so");
        let faults = row["faults"].as_array().unwrap();
        assert_eq!(faults.len(), count, "{row}");
        assert_eq!(faults[0]["kind"], "crash");
        assert_eq!(row["quarantined_since"].is_string(), count == 3, "{row}");
    }
    // Another process knows, loads nothing, and says how to go on.
    let with = band(&bench);
    let remarks = not_scored(&with);
    let [remark] = &remarks[..] else { panic!("{remarks:?}") };
    let lift = format!("lift it with `boxworth plugin release {}`", library.display());
    let parts =
        ["crashes.so: not scored: quarantined after 3 faults", "SIGSEGV", "since 20", &lift];
    assert!(parts.iter().all(|it| remark.contains(it)), "{remark}");
    assert_eq!(without_remarks(with), without_remarks(without));
    let quiet = row(&bench, "crashes.so");
    assert_eq!((&quiet["id"], &quiet["sandbox"]), (&Value::Null, &Value::Null), "it was loaded");
    assert!(bench.run(&["plugin", "list"]).done().contains("quarantined after 3 faults"));
    assert_intact(&bench);

    let hash = quiet["sha256"].as_str().unwrap();
    let released = bench.run(&["plugin", "release", hash, "--json"]).answer();
    assert_eq!(released["id"], "org.example.misbehave");
    assert_eq!(released["sandbox"], "full");
    assert_eq!(
        (&released["quarantined_since"], &released["faults"]),
        (&Value::Null, &Value::Array(Vec::new()))
    );
    let remark = not_scored(&band(&bench)).join("; ");
    assert!(remark.contains("SIGSEGV") && !remark.contains("quarantined"), "{remark}");
    let refused = bench.run(&["plugin", "release", hash, "--json"]).refusals();
    assert!(
        refused[0]["message"].as_str().unwrap().contains("is not in quarantine"),
        "{refused:?}"
    );
}

/// A new version of a file has a clean record: quarantine goes by the hash.
#[test]
fn a_changed_file_that_is_trusted_anew_is_in_no_quarantine() {
    let bench = Bench::seeded();
    let library = misbehave(&bench, "MODE_SEGV", "mended.so");
    trust(&bench, &library);
    for _ in 0..3 {
        band(&bench);
    }
    assert!(row(&bench, "mended.so")["quarantined_since"].is_string());
    let refused = bench.run(&["plugin", "trust", "--json", library.to_str().unwrap()]).refusals();
    assert!(refused[0]["message"].as_str().unwrap().contains("quarantined"), "{refused:?}");
    misbehave(&bench, "MODE_NONE", "mended.so");
    let _ = bench.run(&["plugin", "revoke", library.to_str().unwrap()]).done();
    trust(&bench, &library);
    assert_eq!(not_scored(&band(&bench)), [""; 0]);
}

#[test]
fn a_listed_plugin_shows_where_it_is_and_who_decided_when() {
    let bench = Bench::seeded();
    let library = misbehave(&bench, "MODE_NONE", "behaves.so");
    let ran = bench.run(&["plugin", "trust", library.to_str().unwrap()]);
    let hash = sha256sum(&library);
    let bytes = fs::metadata(&library).unwrap().len();
    assert!(ran.out.contains(&hash) && ran.out.contains(&bytes.to_string()), "{}", ran.out);
    let row = row(&bench, "behaves.so");
    assert_eq!(row["path"], library.canonicalize().unwrap().to_str().unwrap());
    assert_eq!((&row["size_bytes"], &row["sha256"]), (&Value::from(bytes), &Value::from(hash)));
    assert_eq!((&row["trusted_by"], &row["sandbox"]), (&Value::from("you"), &Value::from("full")));
    assert!(row["trusted_at"].as_str().unwrap().starts_with("20"), "{row}");
}

#[test]
fn a_plugin_that_is_trusted_no_longer_takes_no_part() {
    let bench = Bench::seeded();
    let without = band(&bench);
    let library = misbehave(&bench, "MODE_SEGV", "revoked.so");
    trust(&bench, &library);
    let _ = bench.run(&["plugin", "revoke", library.to_str().unwrap()]).done();
    assert_eq!(band(&bench), without);
}

/// Waits until a condition holds; a minute stands for never.
fn wait_until(what: &str, mut condition: impl FnMut() -> bool) {
    let end = Instant::now() + Duration::from_secs(60);
    while !condition() {
        assert!(Instant::now() < end, "never came: {what}");
        thread::sleep(Duration::from_millis(2));
    }
}

/// The processes that a running program has started: proc_pid_task_children(5).
fn children(of: u32) -> BTreeSet<u32> {
    let Ok(tasks) = fs::read_dir(format!("/proc/{of}/task")) else { return BTreeSet::new() };
    tasks
        .filter_map(|it| fs::read_to_string(it.ok()?.path().join("children")).ok())
        .flat_map(|it| it.split_whitespace().map(|it| it.parse().unwrap()).collect::<Vec<_>>())
        .collect()
}

/// The name of a process and the processor time that it has used, in ticks; `None` when it is gone: proc_pid_stat(5).
fn process(pid: u32) -> Option<(String, u64)> {
    let stat = fs::read_to_string(format!("/proc/{pid}/stat")).ok()?;
    let (head, tail) = stat.rsplit_once(')')?;
    let ticks = tail.split_whitespace().nth(11)?.parse().ok()?;
    Some((head.split_once('(')?.1.to_owned(), ticks))
}

#[test]
fn a_worker_that_is_killed_mid_call_costs_only_its_own_scores() {
    let bench = Bench::seeded();
    let without = band(&bench);
    trust(&bench, &misbehave(&bench, "MODE_LOOP", "loops.so"));

    let program = bench.start(&["band", "200..500", "--json"]);
    let id = program.id();
    // It is read while it runs: an answer is longer than a pipe holds.
    let end = thread::spawn(move || program.wait_with_output().unwrap());
    let (mut workers, mut killed) = (BTreeSet::new(), BTreeSet::new());
    wait_until("the end of the program", || {
        for pid in children(id) {
            let Some((_, ticks)) = process(pid) else { continue };
            workers.insert(pid);
            if ticks >= BUSY && killed.insert(pid) {
                let pid = Pid::from_raw(i32::try_from(pid).unwrap()).unwrap();
                // It may have ended by itself since.
                let _ = kill_process(pid, Signal::KILL);
            }
        }
        end.is_finished()
    });
    assert!(!killed.is_empty(), "no worker was caught in a call");
    assert!(workers.len() >= 5, "a worker for each plugin: {workers:?}");

    let with = Ran::from(end.join().unwrap()).answer();
    let remarks = not_scored(&with);
    let [remark] = &remarks[..] else { panic!("{remarks:?}") };
    assert!(remark.contains("loops.so") && remark.contains("killed"), "{remark}");
    assert_eq!(without_remarks(with), without_remarks(without));

    wait_until("the end of all workers", || {
        workers.iter().all(|it| process(*it).is_none_or(|(name, _)| !name.starts_with("boxworth")))
    });
}
