//! What a worker shows of a library, unmended.

use bw_sdk::manifest::Manifest;
use host::{Blocking, Evaluate, FaultKind, Input, Probe, Probed, Stage};

use crate::testing::{misbehave, options};

fn heights(heights_m: &[f64]) -> Evaluate {
    Evaluate {
        params: vec![1.0],
        n_rows: heights_m.len(),
        inputs: vec![Input::Scalar(heights_m.to_vec())],
    }
}

#[test]
fn worker_shows_what_no_job_needs() {
    let dir = tempfile::tempdir().unwrap();
    let host = Blocking::new(options()).unwrap();
    let mut session = host.session(&misbehave("MODE_NONE", dir.path())).unwrap();
    let manifest = Manifest::parse(&session.manifest).unwrap();
    let entry = session.probe(Probe::Entry).unwrap();
    let wanted =
        Probed::Entry { n_plugins: 1, ends: true, table_bytes: 56, abi_minor: 0, has_create: true };
    assert_eq!(entry, wanted);
    let none = session.probe(Probe::Extension { id: "org.example.unknown/1".into() }).unwrap();
    assert_eq!(none, Probed::Extension { found: None });
    let Probed::Create { done: Some(done) } =
        session.probe(Probe::Create { params: vec![f64::NAN] }).unwrap()
    else {
        panic!("no instance")
    };
    assert_eq!((done.stage, done.status), (Stage::Create, 0));
    for probe in [Probe::Swap, Probe::End, Probe::Flush] {
        assert_eq!(session.probe(probe).unwrap(), Probed::Ready);
        let answer = session.evaluate(&manifest, &heights(&[0.5])).unwrap();
        assert_eq!((answer.done.status, answer.fault), (0, None));
        assert!((answer.done.scores[0] - 50.0).abs() < 1e-9);
    }
    assert_eq!(session.close(), "");
}

#[test]
fn answer_comes_as_it_is_with_what_a_host_would_find() {
    let dir = tempfile::tempdir().unwrap();
    let host = Blocking::new(options()).unwrap();
    let mut session = host.session(&misbehave("MODE_OUT_OF_RANGE", dir.path())).unwrap();
    let manifest = Manifest::parse(&session.manifest).unwrap();
    let answer = session.evaluate(&manifest, &heights(&[0.5, 0.6, 0.7])).unwrap();
    assert_eq!(answer.done.scores.iter().map(f64::to_string).collect::<Vec<_>>(), ["200.5"; 3]);
    assert_eq!(answer.fault.unwrap().kind, FaultKind::BadReply);
}

#[test]
fn session_ends_with_its_worker() {
    let dir = tempfile::tempdir().unwrap();
    let host = Blocking::new(options()).unwrap();
    let mut session = host.session(&misbehave("MODE_ABORT", dir.path())).unwrap();
    let manifest = Manifest::parse(&session.manifest).unwrap();
    let kinds = [FaultKind::Crash, FaultKind::Exit];
    for kind in kinds {
        assert_eq!(session.evaluate(&manifest, &heights(&[0.5])).unwrap_err().kind, kind);
    }
    let mut session = host.session(&misbehave("MODE_PRINT", dir.path())).unwrap();
    session.evaluate(&manifest, &heights(&[0.5])).unwrap();
    assert!(session.close().contains("hello"), "what was printed is kept");
}
