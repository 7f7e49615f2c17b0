//! Impedance sweeps: `[[teardown.sweep]]` and the file of columns that it names.

use std::collections::HashSet;

use domain::{
    part::Part,
    sweep::{Point, Sweep},
    sweep_text,
};

use super::{
    cursor::{Report, Table},
    fault::Refusal,
    folder::{Base, Unreadable},
};

/// The accepted form of the file.
const FILE: &str = "a path below the folder, such as \"sweeps/maker/model-system.csv\"";

/// All sweeps of a teardown. `named` holds the files of the product so far: one measurement belongs to one job.
pub(super) fn sweeps(
    report: &mut Report<'_>,
    teardown: &Table<'_>,
    base: &Base,
    named: &mut HashSet<String>,
) -> Vec<Sweep> {
    let mut parts = HashSet::new();
    let mut found = Vec::new();
    for table in teardown.tables(report, "sweep") {
        table.only(report, &["part", "file", "note"]);
        let part = part(report, &table, &mut parts);
        let note = table.note(report);
        let points = table.need(report, "file", FILE).and_then(|field| {
            let file = field.text(report, FILE)?;
            if !named.insert(file.to_owned()) {
                let message = format!("{file:?} is named twice in this product");
                report.fault(field.at, &field.path, Refusal::new(message, "each file once"));
                return None;
            }
            match base.read(file) {
                Ok(text) => points(report, file, &text),
                Err(Unreadable::Path(message)) => {
                    report.fault(field.at, &field.path, Refusal::new(message, FILE));
                    None
                }
                Err(Unreadable::Content { line, why }) => {
                    report.faults.add(file, line, "", why);
                    None
                }
            }
        });
        if let (Some(part), Some(points), Some(note)) = (part, points, note) {
            found.push(Sweep { part, points, note });
        }
    }
    found
}

fn part(report: &mut Report<'_>, table: &Table<'_>, seen: &mut HashSet<Part>) -> Option<Part> {
    let accepted = "whole, woofer, midrange, tweeter; drivers may end in 2 to 9";
    let field = table.need(report, "part", accepted)?;
    let part = field.read(report, accepted, |text| {
        let it = text
            .parse::<Part>()
            .map_err(|why| Refusal { accepted: accepted.to_owned(), ..why.into() })?;
        if it.role.is_driver() || it == Part::first(domain::part::Role::Whole) {
            Ok(it)
        } else {
            Err(Refusal::new(format!("{it} has no impedance of its own"), accepted))
        }
    })?;
    if !seen.insert(part) {
        let why =
            Refusal::new(format!("a second sweep of {part} in this teardown"), "each part once");
        report.fault(field.at, &field.path, why);
    }
    Some(part)
}

/// The points of a sweep file. Columns are named in the messages as they are understood, not as the file heads them.
fn points(report: &mut Report<'_>, file: &str, text: &str) -> Option<Vec<Point>> {
    match sweep_text::parse(text) {
        Ok(it) => {
            for remark in it.remarks {
                report.faults.note(file, remark.line, &remark.text);
            }
            Some(it.points)
        }
        Err(all) => {
            for it in all {
                let why = Refusal::new(it.message, it.accepted);
                report.faults.add(file, it.line, it.column, why);
            }
            None
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plain::fault::{Faults, Note};

    fn read(text: &str) -> Result<(Vec<Point>, Vec<Note>), Vec<String>> {
        let mut faults = Faults::default();
        let found = points(&mut Report::new("f", "", &mut faults), "s.csv", text);
        match (faults.finish(), found) {
            (Ok(notes), Some(found)) => Ok((found, notes)),
            (Ok(_), None) => Err(Vec::new()),
            (Err(all), _) => Err(all.iter().map(ToString::to_string).collect()),
        }
    }

    fn rows(count: u32) -> String {
        (1..=count).map(|i| format!("{},6.5,-12.25\n", 10 * i)).collect()
    }

    #[test]
    fn the_plain_form_gives_points_and_no_note() {
        let (found, notes) =
            read(&format!("# rig A\nf_hz,z_ohm,phase_deg\n# here\n{}\n", rows(20))).unwrap();
        assert_eq!((found.len(), notes.len()), (20, 0));
        assert_eq!(found[2], Point { f_hz: 30.0, z_ohm: 6.5, phase_deg: Some(-12.25) });
    }

    #[test]
    fn what_was_converted_is_noted_at_its_file() {
        let (found, notes) =
            read(&format!("\nf [kHz];|Z| (mohm);arg °\n{}", rows(20).replace(',', ";"))).unwrap();
        assert!((found[2].f_hz - 30_000.0).abs() < 1e-9, "{:?}", found[2]);
        let shown: Vec<&str> = notes.iter().map(|it| it.text.as_str()).collect();
        assert_eq!(
            shown,
            ["frequency converted from kHz to Hz", "magnitude converted from mohm to ohm"]
        );
        assert!(notes.iter().all(|it| it.file == "s.csv"));
    }

    #[test]
    fn each_bad_row_has_its_line_and_column() {
        let text = format!("f_hz,z_ohm,phase_deg\n{}# x\n210,6,5,1\n220,six,1\n", rows(20));
        assert_eq!(
            read(&text).unwrap_err(),
            [
                "s.csv:23: 4 values stand here, not 3; accepted: 3 values",
                "s.csv:24: magnitude: \"six\" is not a number; accepted: a number, such as 6.28",
            ]
        );
        let all_bad = read(&format!("f_hz,z_ohm\n{}", rows(50))).unwrap_err();
        assert_eq!(
            (all_bad.len(), all_bad[0].as_str()),
            (11, "s.csv: 40 more rows cannot be read")
        );
    }

    #[test]
    fn what_a_sweep_must_be_is_refused_at_its_line() {
        let accepted = "accepted: at least 20 rows of rising or falling frequency";
        let why = |rows: String| read(&format!("f_hz,z_ohm,phase_deg\n# x\n{rows}")).unwrap_err();
        assert_eq!(
            why(rows(19)),
            [format!("s.csv: 19 points; a sweep has at least 20; {accepted}")]
        );
        assert_eq!(
            why(rows(25).replace("\n50,", "\n40,")),
            [format!("s.csv:7: point 5: 40 Hz does not rise above the point before; {accepted}")]
        );
    }
}
