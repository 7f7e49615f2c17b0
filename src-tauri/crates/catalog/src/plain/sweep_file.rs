//! Impedance sweeps: `[[teardown.sweep]]` and the CSV file that it names.
//!
//! The lines are split by hand: the format has neither quotes nor escapes, and a fault must have the line that an editor shows.

use std::collections::HashSet;

use domain::{
    part::Part,
    sweep::{BadSweep, Point, Sweep},
};

use super::{
    cursor::{Report, Table},
    fault::{Refusal, shortened},
    folder::{Base, Unreadable},
};

/// The accepted header.
const HEADER: &str = "f_hz,z_ohm or f_hz,z_ohm,phase_deg";

/// The accepted form of the file.
const FILE: &str = "a path below the folder, such as \"sweeps/maker/model-system.csv\"";

/// The most bad rows of one file that are listed; a wrong separator makes all rows bad.
const MOST_BAD_ROWS: usize = 10;

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

/// The points of a sweep file.
fn points(report: &mut Report<'_>, file: &str, text: &str) -> Option<Vec<Point>> {
    let number = |place: usize| u32::try_from(place + 1).ok();
    let mut lines =
        text.lines().enumerate().filter(|(_, it)| !it.trim().is_empty() && !it.starts_with('#'));
    let columns = match lines.next() {
        Some((_, "f_hz,z_ohm")) => 2,
        Some((_, "f_hz,z_ohm,phase_deg")) => 3,
        Some((place, other)) => {
            let message = format!("{:?} is not the header", shortened(other, 60));
            report.faults.add(file, number(place), "", Refusal::new(message, HEADER));
            return None;
        }
        None => {
            report.faults.add(file, None, "", Refusal::new("the file holds no header", HEADER));
            return None;
        }
    };
    let mut points = Vec::new();
    let mut line_of_point = Vec::new();
    let mut bad = 0_usize;
    for (place, line) in lines {
        match row(line, columns) {
            Ok(it) => {
                points.push(it);
                line_of_point.push(number(place));
            }
            Err((column, why)) => {
                bad += 1;
                if bad <= MOST_BAD_ROWS {
                    report.faults.add(file, number(place), column, why);
                }
            }
        }
    }
    if bad > MOST_BAD_ROWS {
        let message = format!("{} more rows cannot be read", bad - MOST_BAD_ROWS);
        report.faults.add(file, None, "", Refusal::new(message, ""));
    }
    if bad > 0 {
        return None;
    }
    if let Err(why) = Sweep::check(&points) {
        let place = match why {
            BadSweep::NotRising { number, .. }
            | BadSweep::OutOfDomain { number, .. }
            | BadSweep::MixedPhase { number } => number.checked_sub(1),
            _ => None,
        };
        let line = place.and_then(|it| line_of_point.get(it).copied().flatten());
        let accepted =
            "at least 20 rows of rising frequency, magnitudes above 0, phases from -180 to 180";
        report.faults.add(file, line, "", Refusal::new(why.to_string(), accepted));
        return None;
    }
    Some(points)
}

/// One row, or the column that cannot be read.
fn row(line: &str, columns: usize) -> Result<Point, (&'static str, Refusal)> {
    let cells: Vec<&str> = line.split(',').map(str::trim).collect();
    if cells.len() != columns {
        let message = format!("{} values stand here, not {columns}", cells.len());
        return Err((
            "",
            Refusal::new(message, format!("{columns} numbers with a point, parted by commas")),
        ));
    }
    let cell = |place: usize, column: &'static str| {
        let text = cells.get(place).copied().unwrap_or_default();
        let plain = text.bytes().all(|b| b.is_ascii_digit() || b".-+eE".contains(&b));
        match text.parse::<f64>() {
            Ok(it) if plain && it.is_finite() => Ok(it),
            _ => {
                let message = format!("{:?} is not a number", shortened(text, 40));
                Err((column, Refusal::new(message, "a number with a point, such as 6.28")))
            }
        }
    };
    Ok(Point {
        f_hz: cell(0, "f_hz")?,
        z_ohm: cell(1, "z_ohm")?,
        phase_deg: if columns == 3 { Some(cell(2, "phase_deg")?) } else { None },
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plain::fault::Faults;

    fn read(text: &str) -> Result<Vec<Point>, Vec<String>> {
        let mut faults = Faults::default();
        let found = points(&mut Report::new("f", "", &mut faults), "s.csv", text);
        match (faults.finish(), found) {
            (Ok(()), Some(found)) => Ok(found),
            (Ok(()), None) => Err(Vec::new()),
            (Err(all), _) => Err(all.iter().map(ToString::to_string).collect()),
        }
    }

    fn rows(count: u32) -> String {
        (1..=count).map(|i| format!("{},6.5,-12.25\n", 10 * i)).collect()
    }

    #[test]
    fn a_sweep_reads_with_comments_and_without_phase() {
        let found =
            read(&format!("# rig A\nf_hz,z_ohm,phase_deg\n# here\n{}\n", rows(20))).unwrap();
        assert_eq!(found.len(), 20);
        assert_eq!(found[2], Point { f_hz: 30.0, z_ohm: 6.5, phase_deg: Some(-12.25) });
        let without = rows(20).replace(",-12.25", "");
        assert_eq!(read(&format!("f_hz,z_ohm\n{without}")).unwrap()[0].phase_deg, None);
    }

    #[test]
    fn a_header_is_exact() {
        let why = |text: &str| read(text).unwrap_err();
        assert_eq!(
            why("# a\nf;z\n"),
            ["s.csv:2: \"f;z\" is not the header; accepted: f_hz,z_ohm or f_hz,z_ohm,phase_deg"]
        );
        assert_eq!(
            why("# a\n\n"),
            ["s.csv: the file holds no header; accepted: f_hz,z_ohm or f_hz,z_ohm,phase_deg"]
        );
        assert_eq!(why("f_hz, z_ohm\n").len(), 1);
    }

    #[test]
    fn each_bad_row_has_its_line() {
        assert_eq!(
            read(&format!(
                "f_hz,z_ohm,phase_deg\n{}# x\n210,6,5,1\n220,six,1\n230,6,nan\n",
                rows(20)
            ))
            .unwrap_err(),
            [
                "s.csv:23: 4 values stand here, not 3; accepted: 3 numbers with a point, parted by commas",
                "s.csv:24: z_ohm: \"six\" is not a number; accepted: a number with a point, such as 6.28",
                "s.csv:25: phase_deg: \"nan\" is not a number; accepted: a number with a point, such as 6.28",
            ]
        );
        let all_bad = read(&format!("f_hz,z_ohm\n{}", rows(50))).unwrap_err();
        assert_eq!(all_bad.len(), 11);
        assert_eq!(all_bad[0], "s.csv: 40 more rows cannot be read");
    }

    #[test]
    fn what_a_sweep_must_be_is_refused_at_its_line() {
        let accepted = "accepted: at least 20 rows of rising frequency, magnitudes above 0, phases from -180 to 180";
        let why = |rows: String| read(&format!("f_hz,z_ohm,phase_deg\n# x\n{rows}")).unwrap_err();
        assert_eq!(
            why(rows(19)),
            [format!("s.csv: 19 points; a sweep has at least 20; {accepted}")]
        );
        assert_eq!(
            why(rows(25).replace("\n50,", "\n40,")),
            [format!("s.csv:7: point 5: 40 Hz does not rise above the point before; {accepted}")]
        );
        assert_eq!(
            why(rows(25).replace("\n50,6.5", "\n50,-6.5")),
            [format!(
                "s.csv:7: point 5: the magnitude must be a number of ohm above 0; {accepted}"
            )]
        );
        assert_eq!(
            why(rows(25).replace("\n50,6.5,-12.25", "\n50,6.5,181")),
            [format!("s.csv:7: point 5: the phase must be from -180 to 180 degrees; {accepted}")]
        );
    }
}
