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

#[test]
fn a_file_that_nobody_trusts_is_never_loaded() {
    let bench = Bench::seeded();
    let (list, report) = (bench.run(&["plugin", "list", "--json"]).answer(), band(&bench));
    let folder = plugin_folder(&bench);
    let stranger = misbehave(&bench, "MODE_NONE", "stranger.so");
    fs::copy(&stranger, folder.join("libstranger.so")).unwrap();
    assert_eq!(run_in(&bench, &folder, &["plugin", "list", "--json"]), list);
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

    let list = bench.run(&["plugin", "list", "--json"]).answer();
    let row = list["plugins"].as_array().unwrap().iter().find(|it| it["file"] == "changes.so");
    let row = row.unwrap();
    assert!(row["fault"].as_str().unwrap().contains("has changed"), "{row}");
    assert_eq!(row["id"], Value::Null, "it was loaded");
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
