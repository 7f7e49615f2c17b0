//! Large batches, which go through shared memory where there is any: the same answers, the same faults, the same rows.

use host::{Blocking, Counts, Evaluate, FaultKind, Input};

use crate::testing::{misbehave, options};

/// Enough for several pieces in both halves of the memory.
const N_ROWS: usize = 50_000;

fn heights() -> Vec<f64> {
    (0..N_ROWS).map(|it| f64::from(u32::try_from(it).unwrap_or(0)) / 25_000.0).collect()
}

fn request(heights_m: Vec<f64>) -> Evaluate {
    Evaluate { params: vec![1.0], n_rows: heights_m.len(), inputs: vec![Input::Scalar(heights_m)] }
}

/// With remarks and without, in pieces of other lengths.
#[test]
fn each_row_gets_its_own_score() {
    let dir = tempfile::tempdir().unwrap();
    let host = Blocking::new(options()).unwrap();
    let plugin = host.load(&misbehave("MODE_NONE", dir.path())).unwrap();
    let bits = |scores: &[f64]| scores.iter().map(|it| it.to_bits()).collect::<Vec<_>>();
    let wanted: Vec<f64> = heights().iter().map(|it| it * 100.0).collect();
    for _ in 0..2 {
        let scores = host.scores(&plugin, request(heights())).unwrap().scores;
        assert!(bits(&scores) == bits(&wanted));
        let scores = host.evaluate(&plugin, request(heights())).unwrap().scores;
        assert!(bits(&scores) == bits(&wanted));
    }
    assert_eq!(host.worker_pid(&plugin), Some(plugin.pid), "one worker did it all");
}

#[test]
fn guilty_rows_are_found_among_very_many() {
    let dir = tempfile::tempdir().unwrap();
    for (mode, kind) in
        [("MODE_ROW_SEGV", FaultKind::Crash), ("MODE_ROW_OUT_OF_RANGE", FaultKind::BadReply)]
    {
        let host = Blocking::new(options()).unwrap();
        let plugin = host.load(&misbehave(mode, dir.path())).unwrap();
        // None of the plain heights is the one at which it misbehaves.
        let mut heights_m: Vec<f64> = heights().iter().map(|it| it * 0.3).collect();
        let guilty = [17, N_ROWS - 1];
        guilty.iter().for_each(|&row| heights_m[row] = 0.666);
        let scored = host.scores(&plugin, request(heights_m.clone())).unwrap();
        let found: Vec<_> = scored.row_faults.iter().map(|it| (it.row, it.fault.kind)).collect();
        assert_eq!(found, guilty.map(|row| (row, kind)), "{mode}");
        for (row, (score, height_m)) in scored.scores.iter().zip(&heights_m).enumerate() {
            let wanted = if guilty.contains(&row) { f64::NAN } else { height_m * 100.0 };
            assert!(
                score.to_bits() == wanted.to_bits() || score.is_nan() && wanted.is_nan(),
                "{mode}: {row}"
            );
        }
    }
}

#[test]
fn fault_in_a_large_batch_counts_once() {
    let dir = tempfile::tempdir().unwrap();
    let host = Blocking::new(options()).unwrap();
    let file = misbehave("MODE_ABORT", dir.path());
    let plugin = host.load(&file).unwrap();
    for _ in 0..3 {
        let fault = host.scores(&plugin, request(heights())).unwrap_err();
        assert_eq!((fault.kind, fault.counts), (FaultKind::Crash, Some(Counts::InCall)));
    }
    let refused =
        [host.scores(&plugin, request(vec![1.0])).unwrap_err(), host.load(&file).unwrap_err()];
    assert!(refused.iter().all(|it| it.kind == FaultKind::Quarantined), "{refused:?}");
    host.release(file.sha256);
    assert_eq!(host.scores(&plugin, request(heights())).unwrap_err().kind, FaultKind::Crash);
}

#[test]
fn one_crash_at_load_is_enough() {
    let dir = tempfile::tempdir().unwrap();
    let host = Blocking::new(options()).unwrap();
    let file = misbehave("MODE_CONSTRUCTOR", dir.path());
    let fault = host.load(&file).unwrap_err();
    assert_eq!((fault.kind, fault.counts), (FaultKind::Crash, Some(Counts::AtLoad)));
    assert_eq!(host.load(&file).unwrap_err().kind, FaultKind::Quarantined);
}
