//! Each way in which `plugins/testing/misbehave` misbehaves, and what the host must make of it.

use bw_sdk::manifest::Manifest;
use host::{Blocking, Evaluate, Evaluation, Fault, FaultKind, HostOptions, Input, Loaded};

use crate::testing::{compile_c, misbehave, options, repository};

/// Loads the plugin in a mode and scores heights.
fn score(mode: &str, heights_m: &[f64]) -> Result<Evaluation, Fault> {
    let dir = tempfile::tempdir().unwrap();
    let host = Blocking::new(options()).unwrap();
    let plugin = host.load(&misbehave(mode, dir.path()))?;
    host.evaluate(&plugin, heights(heights_m))
}

fn heights(heights_m: &[f64]) -> Evaluate {
    Evaluate {
        params: vec![1.0],
        n_rows: heights_m.len(),
        inputs: vec![Input::Scalar(heights_m.to_vec())],
    }
}

/// Scores as text, which also holds NaN and infinity.
fn shown(evaluation: &Evaluation) -> Vec<String> {
    evaluation.scores.iter().map(|it| format!("{it:.1}")).collect()
}

#[test]
fn plugin_that_cannot_be_loaded_is_a_fault() {
    let cases = [
        ("MODE_BAD_MANIFEST", FaultKind::Manifest, "missing field `subsystem`"),
        ("MODE_MANIFEST_NOT_UTF8", FaultKind::Manifest, "not UTF-8"),
        ("MODE_NO_ENTRY", FaultKind::Refused, "does not export bw_plugin_v1"),
        ("MODE_NEXT_ABI", FaultKind::Table, "made for plugin interface 2; this program speaks 1"),
        ("MODE_WRONG_MAJOR", FaultKind::Table, "made for plugin interface 7"),
        ("MODE_NO_PLUGIN", FaultKind::Table, "bw_plugin_v1(0) is null"),
        ("MODE_SHORT_TABLE", FaultKind::Table, "table of 16 bytes"),
        ("MODE_NO_EVALUATE", FaultKind::Table, "no evaluate function"),
        ("MODE_UNDEFINED", FaultKind::Refused, "undefined symbol: defined_nowhere"),
        ("MODE_CONSTRUCTOR", FaultKind::Crash, "SIGABRT"),
    ];
    for (mode, kind, text) in cases {
        let fault = score(mode, &[1.0]).expect_err(mode);
        assert_eq!(fault.kind, kind, "{mode}: {fault}");
        assert!(fault.text.contains(text), "{mode}: {fault}");
    }
}

#[test]
fn plugin_that_hangs_while_loading_is_killed() {
    let dir = tempfile::tempdir().unwrap();
    let mut options = options();
    options.deadlines.load = std::time::Duration::from_millis(300);
    let host = Blocking::new(options).unwrap();
    let fault = host.load(&misbehave("MODE_ENTRY_LOOP", dir.path())).unwrap_err();
    assert_eq!(
        (fault.kind, fault.text.as_str()),
        (FaultKind::Timeout, "did not answer within 0.3 s and was killed")
    );
}

#[test]
fn call_that_goes_wrong_is_a_fault() {
    let cases = [
        ("MODE_SEGV", FaultKind::Crash, "SIGSEGV"),
        ("MODE_ABORT", FaultKind::Crash, "SIGABRT"),
        ("MODE_FPE", FaultKind::Crash, "SIGFPE"),
        ("MODE_STACK", FaultKind::Crash, "SIG"),
        ("MODE_ALLOCATE", FaultKind::Crash, "SIGABRT"),
        ("MODE_RELATIVE_SEGV", FaultKind::Crash, "SIGSEGV"),
        ("MODE_CREATE_SEGV", FaultKind::Crash, "SIGSEGV"),
        ("MODE_EXIT_0", FaultKind::Exit, "code 0"),
        ("MODE_EXIT_3", FaultKind::Exit, "code 3"),
        ("MODE_LOOP", FaultKind::Timeout, "within 0.4 s and was killed"),
        ("MODE_SLEEP", FaultKind::Timeout, "within 0.4 s and was killed"),
        ("MODE_STOPS", FaultKind::Timeout, "stopped when asked"),
        ("MODE_STATUS", FaultKind::Failed, "failed: not in the mood"),
        ("MODE_CREATE_FAILS", FaultKind::Input, "parameters: no parameters today"),
        ("MODE_GARBAGE", FaultKind::BadReply, "broke the protocol"),
        ("MODE_HUGE_FRAME", FaultKind::BadReply, "over the limit"),
        ("MODE_CLOSE", FaultKind::Exit, "code 70"),
        ("MODE_REMARK_CODE", FaultKind::BadReply, "made remark 1; the manifest has 1"),
        ("MODE_REMARK_ROW", FaultKind::BadReply, "`tall` about row 1 of 1"),
        ("MODE_REMARK_ARGS", FaultKind::BadReply, "`tall` with 2 numbers instead of 1"),
        ("MODE_INFINITE", FaultKind::BadReply, "scored `height` with inf"),
        ("MODE_OUT_OF_RANGE", FaultKind::BadReply, "with 200.5, outside its range 0 to 200"),
    ];
    for (mode, kind, text) in cases {
        let fault = score(mode, &[1.0]).expect_err(mode);
        assert_eq!(fault.kind, kind, "{mode}: {fault}");
        assert!(fault.text.contains(text), "{mode}: {fault}");
        assert_eq!(fault.plugin, "org.example.misbehave", "{mode}");
    }
}

#[test]
fn what_is_odd_but_allowed_is_scored() {
    let cases = [
        ("MODE_NONE", "50.0"),
        ("MODE_NAN", "NaN"),
        ("MODE_NOT_APPLICABLE", "-inf"),
        ("MODE_PRINT", "50.0"),
        ("MODE_THREAD", "50.0"),
        ("MODE_REMARK_FLOOD", "50.0"),
        ("MODE_LOG_FLOOD", "50.0"),
    ];
    for (mode, expected) in cases {
        let evaluation = score(mode, &[0.5]).unwrap_or_else(|fault| panic!("{mode}: {fault}"));
        assert_eq!(shown(&evaluation), [expected], "{mode}");
        assert_eq!((&evaluation.row_faults, &evaluation.incidents), (&vec![], &vec![]), "{mode}");
    }
}

#[test]
fn floods_are_cut_and_control_characters_removed() {
    let flood = score("MODE_REMARK_FLOOD", &[0.5]).unwrap();
    assert_eq!(flood.remarks.len(), 10_000);
    assert!(flood.log[0].text.contains("10000 remarks over the limit"), "{}", flood.log[0].text);
    let flood = score("MODE_LOG_FLOOD", &[0.5]).unwrap();
    let bytes: usize = flood.log.iter().map(|line| line.text.len()).sum();
    assert!((60_000..=64 * 1024).contains(&bytes), "{bytes}");
    assert_eq!(flood.log[0].text, "and another thing  [31m");
}

#[test]
fn guilty_rows_are_found_and_the_others_scored() {
    let mut heights_m: Vec<f64> = (0..40).map(|it| f64::from(it) / 100.0).collect();
    heights_m[7] = 0.666;
    heights_m[31] = 0.666;
    let cases = [
        ("MODE_ROW_SEGV", FaultKind::Crash, "SIGSEGV"),
        ("MODE_ROW_OUT_OF_RANGE", FaultKind::BadReply, "with -1.0, outside"),
    ];
    for (mode, kind, text) in cases {
        let evaluation = score(mode, &heights_m).unwrap_or_else(|fault| panic!("{mode}: {fault}"));
        let guilty: Vec<usize> = evaluation.row_faults.iter().map(|it| it.row).collect();
        assert_eq!(guilty, [7, 31], "{mode}");
        for it in &evaluation.row_faults {
            assert_eq!(it.fault.kind, kind, "{mode}: {}", it.fault);
            assert!(it.fault.text.contains(text), "{mode}: {}", it.fault);
        }
        for (row, score) in shown(&evaluation).iter().enumerate() {
            let expected =
                if guilty.contains(&row) { "NaN".to_owned() } else { format!("{row}.0") };
            assert_eq!(*score, expected, "{mode}, row {row}");
        }
    }
}

#[test]
fn row_that_never_ends_is_found() {
    let evaluation = score("MODE_ROW_LOOP", &[0.1, 0.666, 0.3, 0.4]).unwrap();
    assert_eq!(shown(&evaluation), ["10.0", "NaN", "30.0", "40.0"]);
    assert_eq!(evaluation.row_faults[0].fault.kind, FaultKind::Timeout);
}

#[test]
fn three_guilty_rows_condemn_the_plugin() {
    for mode in ["MODE_ROW_SEGV", "MODE_ROW_OUT_OF_RANGE"] {
        let fault = score(mode, &[0.1, 0.666, 0.666, 0.666, 0.2]).expect_err(mode);
        assert_eq!(fault.plugin, "org.example.misbehave");
    }
}

#[test]
fn large_batches_are_split_and_put_together() {
    let heights_m: Vec<f64> = (0..2500).map(|it| f64::from(it) / 2000.0).collect();
    let evaluation = score("MODE_NONE", &heights_m).unwrap();
    for (row, height_m) in heights_m.iter().enumerate() {
        assert!((evaluation.score(row, 0).unwrap() - height_m * 100.0).abs() < 1e-9, "{row}");
    }
    assert_eq!(evaluation.score(2500, 0), None);
}

#[test]
fn request_that_does_not_fit_the_manifest_is_refused() {
    let dir = tempfile::tempdir().unwrap();
    let host = Blocking::new(options()).unwrap();
    let plugin = host.load(&misbehave("MODE_NONE", dir.path())).unwrap();
    let curve = Input::Curve { grid: vec![1.0], values: vec![1.0] };
    let scalar = |n: usize| vec![Input::Scalar(vec![1.0; n])];
    let cases = [
        (vec![], 1, scalar(1), "wants 1 parameters, got 0"),
        (vec![3.0], 1, scalar(1), "parameter `unused` is 3, outside 0..2"),
        (vec![f64::NAN], 1, scalar(1), "parameter `unused` is NaN"),
        (vec![1.0], 1, vec![], "wants 1 inputs, got 0"),
        (vec![1.0], 2, scalar(1), "`cabinet.outer_h` has 1 values for 2 rows"),
        (vec![1.0], 1, vec![curve], "`cabinet.outer_h` is Number"),
    ];
    for (params, n_rows, inputs, text) in cases {
        let fault = host.evaluate(&plugin, Evaluate { params, n_rows, inputs }).unwrap_err();
        assert_eq!(fault.kind, FaultKind::Input);
        assert!(fault.text.contains(text), "{fault}");
    }
    assert_eq!(host.evaluate(&plugin, heights(&[])).unwrap().scores, [0.0; 0]);
}

/// A plugin that reads a curve: 12 over 4 ohm is 3, a level line is 1 with a remark, a missing point stays unscored.
#[test]
fn curves_are_scored() {
    let dir = tempfile::tempdir().unwrap();
    let host = Blocking::new(options()).unwrap();
    let file =
        compile_c(&repository().join("plugins/testing/flatness/flatness.c"), &[], dir.path());
    let plugin: Loaded = host.load(&file).unwrap();
    let manifest: &Manifest = &plugin.manifest;
    assert_eq!(manifest.criteria[0].id, "spread");
    let values = vec![6.0, 12.0, 4.0, 8.0, 8.0, 8.0, 6.0, f64::NAN, 4.0];
    let inputs = vec![Input::Curve { grid: vec![20.0, 200.0, 2000.0], values }];
    let evaluation =
        host.evaluate(&plugin, Evaluate { params: vec![], n_rows: 3, inputs }).unwrap();
    assert_eq!(shown(&evaluation), ["3.0", "1.0", "NaN"]);
    assert_eq!(evaluation.remarks.iter().map(|it| (it.row, it.code)).collect::<Vec<_>>(), [(1, 0)]);
}

#[test]
fn worker_that_is_none_is_named() {
    let dir = tempfile::tempdir().unwrap();
    let file = misbehave("MODE_NONE", dir.path());
    // `env` prints the variables it is given, whose first letters are no length of a message.
    let cases = [
        ("/bin/true", "code 0"),
        ("/usr/bin/env", "broke the protocol"),
        ("/no/worker", "/no/worker"),
    ];
    for (program, text) in cases {
        let host =
            Blocking::new(HostOptions { worker_path: Some(program.into()), ..options() }).unwrap();
        let fault = host.load(&file).unwrap_err();
        assert_eq!(fault.kind, FaultKind::Start, "{program}: {fault}");
        assert!(fault.text.contains(text), "{program}: {fault}");
    }
}
