//! Workers that are killed, replaced, run side by side, and never outlive their host.
#![cfg(unix)]

use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Command, Stdio};
use std::sync::Arc;
use std::thread;
use std::time::{Duration, Instant};

use host::{
    Blocking, Deadlines, Evaluate, FaultKind, HostOptions, Input, Loaded, PluginFile, Sha256Sum,
};
use rustix::process::{Pid, Signal, kill_process};

use crate::testing::{misbehave, options, worker};

fn rows(n_rows: usize) -> Evaluate {
    Evaluate { params: vec![1.0], n_rows, inputs: vec![Input::Scalar(vec![0.5; n_rows])] }
}

fn patient() -> HostOptions {
    // Long enough that a busy machine does not reach it before the test kills the worker.
    let deadlines = Deadlines { call: Duration::from_secs(30), ..Deadlines::default() };
    HostOptions { deadlines, ..options() }
}

fn kill(pid: u32) {
    let pid = Pid::from_raw(i32::try_from(pid).unwrap()).unwrap();
    kill_process(pid, Signal::KILL).unwrap();
}

/// Waits until a condition holds; a minute stands for never.
fn wait_until(what: &str, mut condition: impl FnMut() -> bool) {
    let end = Instant::now() + Duration::from_secs(60);
    while !condition() {
        assert!(Instant::now() < end, "never came: {what}");
        thread::sleep(Duration::from_millis(2));
    }
}

/// State and processor time, in ticks, of a process; `None` when it is gone.
#[cfg(target_os = "linux")]
fn state(pid: u32) -> Option<(char, u64)> {
    let stat = std::fs::read_to_string(format!("/proc/{pid}/stat")).ok()?;
    let fields: Vec<&str> = stat.rsplit_once(')')?.1.split_whitespace().collect();
    Some((fields[0].chars().next()?, fields[11].parse().ok()?))
}

/// Waits until a worker is in the middle of an endless call, which alone uses so much processor time, and kills it.
#[cfg(target_os = "linux")]
fn kill_mid_call(host: &Blocking, plugin: &Loaded, but_not: Option<u32>) -> u32 {
    let mut pid = None;
    wait_until("a worker in a call", || {
        pid = host.worker_pid(plugin).filter(|&it| Some(it) != but_not);
        pid.and_then(state).is_some_and(|(_, ticks)| 20 <= ticks)
    });
    let pid = pid.unwrap();
    kill(pid);
    pid
}

#[cfg(target_os = "linux")]
#[test]
fn worker_killed_mid_call_is_replaced_and_all_rows_scored() {
    let dir = tempfile::tempdir().unwrap();
    let host = Arc::new(Blocking::new(patient()).unwrap());
    // Endless with two rows, well-behaved with one: the halves that follow the kill are scored.
    let plugin = host.load(&misbehave("MODE_CROWD_LOOP", dir.path())).unwrap();
    let call = thread::spawn({
        let (host, plugin) = (Arc::clone(&host), plugin.clone());
        move || host.evaluate(&plugin, rows(2))
    });
    let killed = kill_mid_call(&host, &plugin, None);
    let evaluation = call.join().unwrap().unwrap();
    assert!(evaluation.scores.iter().all(|it| (it - 50.0).abs() < 1e-9), "{:?}", evaluation.scores);
    assert_eq!(
        evaluation.incidents.iter().map(|it| it.kind).collect::<Vec<_>>(),
        [FaultKind::Killed]
    );
    assert_ne!(host.worker_pid(&plugin), Some(killed));
}

#[cfg(target_os = "linux")]
#[test]
fn worker_killed_twice_on_one_row_is_a_fault() {
    let dir = tempfile::tempdir().unwrap();
    let host = Arc::new(Blocking::new(patient()).unwrap());
    let plugin = host.load(&misbehave("MODE_LOOP", dir.path())).unwrap();
    let call = thread::spawn({
        let (host, plugin) = (Arc::clone(&host), plugin.clone());
        move || host.evaluate(&plugin, rows(1))
    });
    let first = kill_mid_call(&host, &plugin, None);
    kill_mid_call(&host, &plugin, Some(first));
    assert_eq!(call.join().unwrap().unwrap_err().kind, FaultKind::Killed);
}

#[test]
fn worker_killed_between_calls_is_replaced() {
    let dir = tempfile::tempdir().unwrap();
    let host = Blocking::new(patient()).unwrap();
    let plugin = host.load(&misbehave("MODE_NONE", dir.path())).unwrap();
    kill(plugin.pid);
    let evaluation = host.evaluate(&plugin, rows(3)).unwrap();
    assert!(evaluation.scores.iter().all(|it| (it - 50.0).abs() < 1e-9));
    assert_ne!(host.worker_pid(&plugin), Some(plugin.pid));
}

#[test]
fn host_goes_on_after_each_crash() {
    let dir = tempfile::tempdir().unwrap();
    let host = Blocking::new(patient()).unwrap();
    let bad = host.load(&misbehave("MODE_SEGV", dir.path())).unwrap();
    let good = host.load(&misbehave("MODE_NONE", dir.path())).unwrap();
    for _ in 0..3 {
        assert_eq!(host.evaluate(&bad, rows(1)).unwrap_err().kind, FaultKind::Crash);
        assert_eq!(host.evaluate(&good, rows(1)).unwrap().row_faults, []);
    }
    assert_eq!(host.worker_pid(&good), Some(good.pid), "the good plugin keeps its worker");
}

/// One plugin hangs until it is killed, so the other can only have answered beside it.
#[cfg(target_os = "linux")]
#[test]
fn two_plugins_run_side_by_side() {
    let dir = tempfile::tempdir().unwrap();
    let host = Arc::new(Blocking::new(patient()).unwrap());
    let slow = host.load(&misbehave("MODE_CROWD_LOOP", dir.path())).unwrap();
    let quick = host.load(&misbehave("MODE_NONE", dir.path())).unwrap();
    assert_ne!(slow.pid, quick.pid);
    let call = thread::spawn({
        let (host, slow) = (Arc::clone(&host), slow.clone());
        move || host.evaluate(&slow, rows(2))
    });
    wait_until("a worker in a call", || state(slow.pid).is_some_and(|(_, ticks)| 20 <= ticks));
    assert_eq!(host.evaluate(&quick, rows(2)).unwrap().row_faults, []);
    kill(slow.pid);
    assert_eq!(call.join().unwrap().unwrap().incidents.len(), 1);
}

/// Callers may themselves be tasks of a runtime.
#[test]
fn blocking_host_works_inside_a_runtime() {
    let dir = tempfile::tempdir().unwrap();
    let file = misbehave("MODE_NONE", dir.path());
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(1).build().unwrap();
    let scores = runtime.block_on(async move {
        let host = Blocking::new(patient()).unwrap();
        let plugin = host.load(&file).unwrap();
        host.evaluate(&plugin, rows(1)).unwrap().scores
    });
    assert!((scores[0] - 50.0).abs() < 1e-9);
}

#[test]
fn file_that_changed_is_not_loaded() {
    let dir = tempfile::tempdir().unwrap();
    let host = Blocking::new(options()).unwrap();
    let file = misbehave("MODE_NONE", dir.path());
    let plugin = host.load(&file).unwrap();
    std::fs::copy(misbehave("MODE_SEGV", dir.path()).path, &file.path).unwrap();
    let fault = host.load(&file).unwrap_err();
    let now = host::sha256_file(&file.path).unwrap();
    assert_eq!(fault.kind, FaultKind::Refused);
    let hashes = [file.sha256.to_string(), now.to_string()];
    assert!(hashes.iter().all(|it| fault.text.contains(it)), "{fault}");
    // The plugin that was loaded before still runs from its own copy, until it needs a new worker.
    assert!(host.evaluate(&plugin, rows(1)).is_ok());
    kill(host.worker_pid(&plugin).unwrap());
    assert_eq!(host.evaluate(&plugin, rows(1)).unwrap_err().kind, FaultKind::Refused);
    let missing = PluginFile { path: dir.path().join("absent.so"), sha256: Sha256Sum([0; 32]) };
    assert!(host.load(&missing).unwrap_err().text.contains("absent.so"));
}

#[test]
fn worker_does_nothing_by_hand() {
    #[expect(clippy::disallowed_methods, reason = "the worker is started as a person would")]
    let output = Command::new(worker()).env_clear().stdin(Stdio::null()).output().unwrap();
    assert_eq!(output.status.code(), Some(64));
    assert_eq!(output.stdout, b"");
    assert!(String::from_utf8_lossy(&output.stderr).contains("is started by it"));
}

/// The host is another process, which is killed with a worker in an endless call.
#[cfg(target_os = "linux")]
#[test]
fn no_worker_outlives_a_killed_host() {
    let dir = tempfile::tempdir().unwrap();
    let file = misbehave("MODE_LOOP", dir.path());
    let tests = std::env::current_exe().unwrap();
    let program = tests.parent().and_then(Path::parent).unwrap().join("examples/run_plugin");
    #[expect(clippy::disallowed_methods, reason = "the host is a process of its own here")]
    let mut host = Command::new(program)
        .args([file.path.as_os_str(), "1".as_ref()])
        .env(host::WORKER_VARIABLE, worker())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut line = String::new();
    // Kept open, since the host goes on to print.
    let mut printed = BufReader::new(host.stdout.take().unwrap());
    printed.read_line(&mut line).unwrap();
    let pid: u32 = line.trim().strip_prefix("worker ").unwrap().parse().unwrap();
    wait_until("a worker in a call", || state(pid).is_some_and(|(_, ticks)| 20 <= ticks));
    host.kill().unwrap();
    host.wait().unwrap();
    // A zombie is gone, too: whoever inherited it has not looked yet.
    wait_until("the worker's end", || state(pid).is_none_or(|(state, _)| state == 'Z'));
}

/// Dropping the host ends its workers, whatever they are doing.
#[cfg(target_os = "linux")]
#[test]
fn no_worker_outlives_a_dropped_host() {
    let dir = tempfile::tempdir().unwrap();
    let host = Blocking::new(patient()).unwrap();
    let plugin = host.load(&misbehave("MODE_NONE", dir.path())).unwrap();
    let pid = plugin.pid;
    assert!(state(pid).is_some());
    drop((host, plugin));
    wait_until("the worker's end", || state(pid).is_none_or(|(state, _)| state == 'Z'));
}
