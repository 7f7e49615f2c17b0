//! Sweep files in many forms, what is refused in them, and texts of any kind.

use proptest::prelude::*;

use super::*;

/// Twenty rows made from `form`, in which `F` and `Z` and `P` stand for the numbers.
fn rows(form: &str) -> String {
    (1..=20)
        .map(|i| {
            let row =
                form.replace('F', &(10 * i).to_string()).replace('Z', &format!("{}.5", 5 + i));
            row.replace('P', &format!("-{}.25", i)) + "\n"
        })
        .collect()
}

fn read(text: &str) -> SweepText {
    parse(text).unwrap_or_else(|why| panic!("{why:?}\n{text}"))
}

/// `line: column: message; accepted`.
fn refused(text: &str) -> Vec<String> {
    let shown = |it: &BadRow| {
        let line = it.line.map_or("file".to_owned(), |it| it.to_string());
        format!("{line}: {it}; {}", it.accepted)
    };
    parse(text).unwrap_err().iter().map(shown).collect()
}

fn remarks(text: &str) -> Vec<String> {
    read(text).remarks.into_iter().map(|it| it.text).collect()
}

fn same(found: &[Point], wanted: &[Point]) {
    assert_eq!(found.len(), wanted.len());
    for (a, b) in found.iter().zip(wanted) {
        let near = |a: f64, b: f64| (a - b).abs() <= 1e-12 * b.abs().max(1.0);
        assert!(near(a.f_hz, b.f_hz) && near(a.z_ohm, b.z_ohm), "{a:?} {b:?}");
        let (a, b) = (a.phase_deg.unwrap_or(0.0), b.phase_deg.unwrap_or(0.0));
        assert!(near(a, b), "{a} {b}");
    }
}

#[test]
fn the_plain_form_reads_without_a_remark() {
    let it = read(&format!("f_hz,z_ohm,phase_deg\n{}", rows("F,Z,P")));
    assert_eq!((it.separator, it.remarks.len(), it.points.len()), (Separator::Comma, 0, 20));
    assert_eq!(it.points[2], Point { f_hz: 30.0, z_ohm: 8.5, phase_deg: Some(-3.25) });
    let it = read(&format!("f_hz,z_ohm\n{}", rows("F,Z")));
    assert_eq!(it.points[2], Point { f_hz: 30.0, z_ohm: 8.5, phase_deg: None });
}

#[test]
fn each_separator_and_each_dressing_gives_the_same_points() {
    let wanted = read(&format!("f_hz,z_ohm,phase_deg\n{}", rows("F,Z,P"))).points;
    let comma = |form: &str| rows(form).replace('.', ",");
    for (text, separator) in [
        (rows("F;Z;P"), Separator::Semicolon),
        (rows("F\tZ\tP"), Separator::Tab),
        (rows("  F  Z \t P"), Separator::Blanks),
        (rows("| F | Z | P |"), Separator::Bar),
        (rows("F|Z|P"), Separator::Bar),
        (rows("F, Z, P,"), Separator::Comma),
        (rows("\"F\",\"Z\",\"P\""), Separator::Comma),
        (comma("F;Z;P"), Separator::Semicolon),
        (comma("F Z P"), Separator::Blanks),
        (comma("F\tZ\tP"), Separator::Tab),
        (rows("\"F\";\"Z\";\"P\"").replace('.', ","), Separator::Semicolon),
        (
            format!("\u{feff}\"f\";\"z\";\"phase\"\r\n{}", rows("F;Z;P").replace('\n', "\r\n")),
            Separator::Semicolon,
        ),
        (rows("F Z P").replace('\n', "\r"), Separator::Blanks),
        (
            format!("# a, b\n* c\n; d; e\n// f\n\" g 7\n\"h, 8\"\n\n{}#end", rows("F,Z,P")),
            Separator::Comma,
        ),
        (format!("| f | |Z| | phase |\n|---|---|---|\n{}", rows("| F | Z | P |")), Separator::Bar),
        (rows("F,Z,P").replace('-', "\u{2212}"), Separator::Comma),
        (format!("arg °\tf [Hz]\tΩ\n{}", rows("P\tF\tZ")), Separator::Tab),
        (format!("n,ok,phase,z,f\n{}", rows("1,yes,P,Z,F")), Separator::Comma),
    ] {
        let it = read(&text);
        assert_eq!(it.separator, separator, "{text}");
        same(&it.points, &wanted);
    }
}

#[test]
fn units_of_the_header_are_converted_and_said() {
    let text = format!("f [kHz];Z/mohm;phase [rad]\n{}", rows("F;Z;-1.25"));
    let it = read(&text);
    same(
        &it.points[..1],
        &[Point { f_hz: 10_000.0, z_ohm: 0.0065, phase_deg: Some(-1.25_f64.to_degrees()) }],
    );
    assert_eq!(
        remarks(&text),
        [
            "frequency converted from kHz to Hz",
            "magnitude converted from mohm to ohm",
            "phase converted from rad to degrees",
        ]
    );
    // 20·log10(100) is 40.
    let it = read(&format!("f_hz,|Z| (dB ohm)\n{}", rows("F,40")));
    assert!(it.points.iter().all(|it| (it.z_ohm - 100.0).abs() < 1e-12), "{it:?}");
    assert_eq!(it.remarks[0].text, "magnitude converted from dB ohm to ohm");
}

#[test]
fn what_is_assumed_is_said() {
    assert_eq!(
        remarks(&rows("F Z P").replace('.', ",")),
        [
            "there is no header: the columns are taken as frequency in Hz, magnitude in ohm, phase in degrees",
            "commas are read as decimal signs",
        ]
    );
    assert_eq!(
        remarks(&format!("Rig A\nBench of May\nf,z_ohm,phase,x\n{}", rows("F,Z,0.1,9"))),
        [
            "2 lines above the header are passed over, from \"Rig A\"",
            "columns that are not read: x",
            "the header names no unit of frequency: taken as Hz",
            "the header names no unit of phase: taken as degrees",
            "no phase is above 3.15: if these are radians, the header must say so",
        ]
    );
    let it = read(&format!("* a b c\n* freq(kHz) Z(ohm) phase(deg)\n{}", rows("F Z P")));
    assert_eq!(
        it.remarks[0],
        Remark { line: Some(2), text: "this comment is taken as the header".into() }
    );
    assert_eq!(it.remarks[1].text, "frequency converted from kHz to Hz");
    let small: String = (1..=20).map(|i| format!("{},6\n", f64::from(i))).collect();
    assert_eq!(
        remarks(&small)[1],
        "no frequency is above 100 Hz: if these are kHz, the header must say so"
    );
}

#[test]
fn falling_frequencies_are_turned_round_and_phases_wrapped() {
    let text: String = (1..=20).rev().map(|i| format!("{},6,{}\n", 10 * i, 18 * i)).collect();
    let it = read(&text);
    assert_eq!(it.points[0], Point { f_hz: 10.0, z_ohm: 6.0, phase_deg: Some(18.0) });
    assert_eq!(it.points[9].phase_deg, Some(180.0));
    assert_eq!(it.points[10].phase_deg, Some(-162.0));
    assert_eq!(
        remarks(&text)[1..],
        [
            "the phase of 10 rows was wrapped into -180 to 180 degrees",
            "the frequency falls from row to row: the rows were turned round",
        ]
    );
}

#[test]
fn each_bad_row_has_its_line_and_column() {
    let text = format!(
        "f_hz,z_ohm,phase_deg\n{}# x\n210,6,5,1\n220,six,1\n230,6,nan\n0,6,1\n240,1e999,1\n250,-6,1\n260,6,9000\n270,6\n",
        rows("F,Z,P")
    );
    assert_eq!(
        refused(&text),
        [
            "23: 4 values stand here, not 3; 3 values",
            "24: magnitude: \"six\" is not a number; a number, such as 6.28",
            "25: phase: \"nan\" is not a number; a number, such as 6.28",
            "26: frequency: \"0\" is out of range; a frequency above 0",
            "27: magnitude: \"1e999\" is too large; a number, such as 6.28",
            "28: magnitude: \"-6\" is out of range; a magnitude above 0",
            "29: phase: \"9000\" is no phase; within ten turns of 0, that is 3600 degrees",
            "30: 2 values stand here, not 3; 3 values",
        ]
    );
    let all = refused(&format!("f_hz,z_ohm\n{}", rows("F,Z,P").repeat(3)));
    assert_eq!((all.len(), all[10].as_str()), (11, "file: 50 more rows cannot be read; "));
    // An empty first cell is no comment.
    assert_eq!(
        refused(&format!("{};7;7\n", rows("F;Z;P"))),
        ["21: frequency: \"\" is not a number; a number, such as 6.28"]
    );
}

#[test]
fn what_could_mean_two_things_is_refused() {
    let why = |text: &str| refused(text)[0].clone();
    assert_eq!(
        why(&rows("F;6,500")),
        "1: magnitude: \"6,500\" has a comma that may part decimals or thousands; a number, such as 6.28"
    );
    assert_eq!(
        why(&format!("{}210;7,5\n", rows("F;Z"))),
        "21: magnitude: \"7,5\" has a comma, where the file writes decimal points; a number, such as 6.28"
    );
    assert!(
        why(&rows("F,Z,P,9"))
            .starts_with("1: 4 values stand here, and no header says which is which;")
    );
    assert!(
        why(&rows("F,Z,P").replacen("10,", "x,y\n10,", 1))
            .starts_with("1: the header names no column of frequency;")
    );
    assert!(
        why(&format!("f,Z (dB)\n{}", rows("F,Z")))
            .starts_with("1: \"Z (dB)\" does not say dB of what;")
    );
    assert!(
        why(&format!("f,z\njunk\n{}", rows("F,Z")))
            .starts_with("2: this is no header for rows of 2 values;")
    );
}

#[test]
fn what_a_sweep_must_be_is_refused_at_its_line() {
    let from =
        |order: &[u32]| -> String { order.iter().map(|i| format!("{},6\n", 10 * i)).collect() };
    let up: Vec<u32> = (1..=25).collect();
    let mut twice = up.clone();
    twice[4] = 4;
    assert_eq!(
        refused(&from(&twice)),
        [format!("5: point 5: 40 Hz does not rise above the point before; {SWEEP}")]
    );
    twice.reverse();
    // Falling: rows 21 and 22 are both 40 Hz.
    assert_eq!(
        refused(&from(&twice)),
        [format!("22: the frequency does not fall below that of the row above; {SWEEP}")]
    );
    assert_eq!(
        refused(&from(&up[..19])),
        [format!("file: 19 points; a sweep has at least 20; {SWEEP}")]
    );
    for nothing in ["", "\u{feff}", "# a\n", "f_hz,z_ohm\n", "a;b\nc;d", "\n\n;;;\n"] {
        assert!(
            refused(nothing)[0].starts_with("file: the file holds no row of at least two numbers;")
        );
    }
}

#[test]
fn limits_hold() {
    assert_eq!(
        refused(&"x".repeat(MAX_BYTES + 1)),
        ["file: the file is larger than 2 MiB; at most 2 MiB"]
    );
    let many: String = (1..=MAX_ROWS + 1).map(|i| format!("{i} 6\n")).collect();
    assert_eq!(refused(&many), ["20001: the file holds more than 20000 rows; at most 20000 rows"]);
    let most: String = (1..=MAX_ROWS).map(|i| format!("{i} 6\n")).collect();
    assert_eq!(read(&most).points.len(), MAX_ROWS);
}

/// Pieces of which files are made, so that random texts come near to files.
fn piece() -> impl Strategy<Value = String> {
    let fixed = [
        "\n",
        "\r\n",
        ",",
        ";",
        "\t",
        " ",
        "|",
        "\"",
        "#",
        "f_hz",
        "Z (ohm)",
        "phase [rad]",
        "|Z|",
        "dB",
        "kHz",
        "(",
        "10",
        "6,5",
        "6.5",
        "-12",
        "1e9",
        "0",
        "nan",
        "Ω",
        "°",
        "\u{feff}",
        "\u{2212}1",
        "20,6.5\n",
        "30;6,5;1\n",
    ];
    prop_oneof![
        8 => proptest::sample::select(fixed.to_vec()).prop_map(str::to_owned),
        1 => any::<char>().prop_map(String::from),
        1 => (0.1..1e5_f64).prop_map(|it| format!("\n{it},")),
    ]
}

/// What holds of each answer.
fn holds(text: &str) {
    match parse(text) {
        Ok(it) => assert_eq!(Sweep::check(&it.points), Ok(())),
        Err(why) => {
            assert!((1..=MAX_BAD_ROWS + 1).contains(&why.len()));
            for it in why {
                assert!(!it.message.is_empty());
                assert!(it.line.is_none_or(|it| it >= 1 && it as usize <= text.len() + 1));
            }
        }
    }
}

proptest! {
    #[test]
    fn any_text_is_read_or_refused(text in any::<String>()) {
        holds(&text);
    }

    #[test]
    fn texts_near_to_files_are_read_or_refused(pieces in proptest::collection::vec(piece(), 0..200)) {
        holds(&pieces.concat());
        holds(&format!("{}{}", rows("F,Z,P"), pieces.concat()));
        holds(&format!("{}{}", pieces.concat(), rows("F;Z;P")));
    }

    /// Whatever is written with a point comes out as it went in, in either order and with each separator.
    #[test]
    fn numbers_come_out_as_they_went_in(
        values in proptest::collection::vec((0.01..1e3_f64, -180.0..180.0_f64), 20..60),
        separator in proptest::sample::select(vec![",", ";", "\t", " ", "|"]),
        falls in any::<bool>(),
    ) {
        let points: Vec<Point> = (1..).zip(&values)
            .map(|(i, (z, phase))| Point { f_hz: 1.5 * f64::from(i), z_ohm: *z, phase_deg: Some(*phase) })
            .collect();
        let mut lines: Vec<String> = points.iter()
            .map(|it| [it.f_hz, it.z_ohm, it.phase_deg.unwrap_or_default()].map(|it| format!("{it:?}")).join(separator))
            .collect();
        if falls {
            lines.reverse();
        }
        let text = format!("f_hz{separator}z_ohm{separator}phase_deg\n{}", lines.join("\n"));
        let found = parse(&text).map(|it| it.points);
        prop_assert_eq!(found, Ok(points));
    }
}
