//! What the sandbox keeps a plugin from doing. The plugin scores the error number of its attempt, 0 if it succeeded.
//!
//! These tests demand a full sandbox and fail on a kernel without it (Linux before 6.12), rather than pass in silence.
#![cfg(target_os = "linux")]

use host::{Blocking, Evaluate, HostOptions, Input, Sandbox};

use crate::testing::{misbehave, options};

/// `EPERM` and `EACCES` of Linux.
const EPERM: f64 = 1.0;
const EACCES: f64 = 13.0;

fn attempt(mode: &str) -> f64 {
    let dir = tempfile::tempdir().unwrap();
    let host = Blocking::new(HostOptions { require_sandbox: true, ..options() }).unwrap();
    let plugin = host.load(&misbehave(mode, dir.path())).unwrap();
    assert_eq!(plugin.sandbox, Sandbox::Full);
    let inputs = vec![Input::Scalar(vec![1.0])];
    let evaluation = host.evaluate(&plugin, Evaluate { params: vec![1.0], n_rows: 1, inputs });
    evaluation.unwrap_or_else(|fault| panic!("{mode}: {fault}")).scores[0]
}

#[test]
fn forbidden_things_are_refused() {
    let cases = [
        ("MODE_CONNECT", EPERM),
        ("MODE_READ_FILE", EACCES),
        ("MODE_WRITE_FILE", EACCES),
        ("MODE_FORK", EPERM),
        ("MODE_EXEC", EPERM),
        ("MODE_SYSTEM", EPERM),
        ("MODE_SIGNAL_PARENT", EPERM),
        ("MODE_CHMOD", EPERM),
    ];
    for (mode, expected) in cases {
        let errno = attempt(mode);
        assert!((errno - expected).abs() < 0.5, "{mode} got error {errno} instead of {expected}");
    }
}
