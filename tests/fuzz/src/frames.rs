//! What holds of every stream between host and worker, whichever side reads it: no panic, no memory taken on the word of
//! a length, messages that come out again as they went in, and answers that are checked before anybody believes them.
//! The fuzz targets and the replay of their corpus share this file.

use std::io::Cursor;

use bw_sdk::manifest::Manifest;
use wire::{FromWorker, ToWorker};

/// Two inputs, two criteria, one of them a choice, and a remark with two numbers.
const MANIFEST: &str = r#"{"abi": {"major": 1, "minor": 0}, "id": "org.example.frames", "subsystem": "frames",
 "version": "1.0.0", "name": "Frames", "vendor": "Example", "licence": "MIT", "rubric": "frames 1",
 "inputs": [{"id": "cabinet.outer_h", "kind": "number", "unit": "m"},
  {"id": "cabinet.gasket", "kind": "choice", "choices": ["none", "foam"]}],
 "criteria": [{"id": "height", "title": "Height", "unit": "cm", "better": "higher", "range": [0, 200], "weight": 60,
  "inputs": ["cabinet.outer_h"], "utility": {"scale": "linear", "points": [[0, 0], [200, 100]]}, "doc": "Invented.",
  "source": "editorial"},
  {"id": "gasket", "title": "Gasket", "unit": "1", "better": "higher", "range": [0, 1], "weight": 40,
  "inputs": ["cabinet.gasket"], "utility": {"scale": "choice", "points": {"none": 0, "foam": 100}}, "doc": "Invented.",
  "source": "editorial"}],
 "remarks": [{"code": "tall", "severity": "info", "text": "{0:.0} of {1:.0} cm",
  "args": [{"id": "height", "unit": "cm"}, {"id": "limit", "unit": "cm"}]}],
 "batch": "independent", "deterministic": true}"#;

/// Reads a stream as the host does.
///
/// # Panics
/// When what must hold does not.
pub(crate) fn hold_for_host(manifest: &Manifest, data: &[u8]) {
    let mut stream = Cursor::new(data);
    while let Ok(Some(message)) = wire::read::<FromWorker>(&mut stream) {
        let again = wire::encode(&message).expect("what was read can be written");
        let twice: FromWorker = wire::decode(&again[4..]).expect("what was written can be read");
        // Numbers that are none differ from themselves; their text does not.
        assert_eq!(format!("{message:?}"), format!("{twice:?}"));
        match message {
            FromWorker::Hello(hello) => {
                let _ = hello.check();
            }
            FromWorker::Done(done) => {
                let n_rows = done.scores.len() / 2;
                let says = format!("{done:?}");
                if let Err(fault) = host::check_answer(manifest, n_rows, done) {
                    assert!(!fault.text.is_empty(), "{says}");
                }
            }
            _ => {}
        }
    }
}

/// Reads a stream as a worker does.
///
/// # Panics
/// When what must hold does not.
pub(crate) fn hold_for_worker(data: &[u8]) {
    let mut stream = Cursor::new(data);
    while let Ok(Some(message)) = wire::read::<ToWorker>(&mut stream) {
        // A path that is no Unicode was never sent.
        let Ok(again) = wire::encode(&message) else { continue };
        let twice: ToWorker = wire::decode(&again[4..]).expect("what was written can be read");
        assert_eq!(format!("{message:?}"), format!("{twice:?}"));
    }
}

/// The manifest against which answers are checked.
///
/// # Panics
/// When the text above is none.
pub(crate) fn manifest() -> Manifest {
    Manifest::parse(MANIFEST).expect("a manifest")
}
