//! One sweep as eight programs would write it: `tests/fixtures/sweep-forms`.

use std::path::Path;

use super::*;

fn folder() -> Folder {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../tests/fixtures/sweep-forms");
    read(&[path], &Dictionary::standard()).unwrap()
}

#[test]
fn all_forms_give_the_same_points() {
    let found = folder();
    let jobs = &found.dossiers[0].jobs;
    assert_eq!(jobs.len(), 8);
    let plain = &jobs[0].sweeps[0].points;
    // Worked out by hand from the first row of the plain file.
    assert_eq!(plain[0], Point { f_hz: 20.0, z_ohm: 7.604, phase_deg: Some(31.19) });
    assert_eq!(plain.len(), 40);
    for job in jobs {
        let points = &job.sweeps[0].points;
        assert_eq!(points.len(), 40, "{}", job.teardown.date);
        for (a, b) in points.iter().zip(plain) {
            let place = format!("{}: {a:?}, {b:?}", job.teardown.date);
            // 20·log10 with five decimals is good to 6 in 10 million, radians with six decimals to 0.00003 degrees.
            assert!((a.f_hz / b.f_hz - 1.0).abs() < 1e-12, "{place}");
            assert!((a.z_ohm / b.z_ohm - 1.0).abs() < 6e-7, "{place}");
            let turn = a.phase_deg.unwrap() - b.phase_deg.unwrap();
            assert!(turn.abs() < 3e-5, "{place}");
        }
    }
}

#[test]
fn what_each_form_left_to_be_understood_is_noted() {
    let notes: Vec<String> = folder()
        .notes
        .iter()
        .map(|it| {
            let line = it.line.map(|it| format!(":{it}")).unwrap_or_default();
            format!("{}{line}: {}", it.file.trim_start_matches("sweeps/"), it.text)
        })
        .collect();
    assert_eq!(
        notes,
        [
            "bars-radians.txt: phase converted from rad to degrees",
            "blanks-no-header.txt: there is no header: the columns are taken as frequency in Hz, magnitude in ohm, phase in degrees",
            "comment-header.txt: frequency converted from kHz to Hz",
            "comment-header.txt:2: this comment is taken as the header",
            "falling-decibel.csv: magnitude converted from dB ohm to ohm",
            "falling-decibel.csv: the frequency falls from row to row: the rows were turned round",
            "more-columns.csv: columns that are not read: Index, Remark",
            "more-columns.csv: the phase of 13 rows was wrapped into -180 to 180 degrees",
            "semicolon-decimal-comma.csv: commas are read as decimal signs",
            "tab-khz-milliohm.txt: frequency converted from kHz to Hz",
            "tab-khz-milliohm.txt: magnitude converted from mohm to ohm",
        ]
    );
}
