//! Readings as typed: what they are worth, what is refused and with which words.

use proptest::prelude::*;

use super::*;

fn si(text: &str, dimension: Dimension) -> f64 {
    parse(text, dimension).unwrap_or_else(|why| panic!("{why}")).si
}

fn close(found: f64, wanted: f64) -> bool {
    (found - wanted).abs() <= 1e-12 * wanted.abs()
}

#[test]
fn bench_spellings_have_their_values() {
    use Dimension::*;
    // Values follow from the definitions in NIST SP 811 Appendix B (from memory) by exact arithmetic.
    let rows = [
        ("11/16 in", Length, 17.4625e-3),
        ("11/16\"", Length, 17.4625e-3),
        ("3/4 in", Length, 19.05e-3),
        ("7/16 in", Length, 11.1125e-3),
        ("1/64 in", Length, 0.396_875e-3),
        ("0.625 in", Length, 15.875e-3),
        (".625in", Length, 15.875e-3),
        ("1 1/2in", Length, 38.1e-3),
        ("1-1/2 in", Length, 38.1e-3),
        ("2 ft 3 1/2 in", Length, 698.5e-3),
        ("2'3-1/2\"", Length, 698.5e-3),
        ("2 \u{2032} 3 \u{2033}", Length, 685.8e-3),
        ("18 mm", Length, 18e-3),
        ("18mm", Length, 18e-3),
        ("18\u{a0}mm", Length, 18e-3),
        ("18\u{202f}mm", Length, 18e-3),
        ("  18  mm ", Length, 18e-3),
        ("0 mm", Length, 0.0),
        ("25 um", Length, 25e-6),
        ("1 m 20 cm", Length, 1.2),
        ("1 lb 6 oz", Mass, 0.623_689_508_75),
        ("1lb6oz", Mass, 0.623_689_508_75),
        ("2 lb 11.5 oz", Mass, 1.233_204_255_937_5),
        ("1 g", Mass, 1e-3),
        ("0.47 mH", Inductance, 0.47e-3),
        ("0,47 mH", Inductance, 0.47e-3),
        ("0,470 mH", Inductance, 0.47e-3),
        ("4.7e-4 H", Inductance, 0.47e-3),
        ("47E-2mH", Inductance, 0.47e-3),
        ("3.3uF", Capacitance, 3.3e-6),
        ("3.3 mfd", Capacitance, 3.3e-6),
        ("3.3 MFD", Capacitance, 3.3e-6),
        ("4,7 µF", Capacitance, 4.7e-6),
        ("4,7 \u{3bc}F", Capacitance, 4.7e-6),
        ("1234,567 nF", Capacitance, 1.234_567e-6),
        ("5.6 Ω", Resistance, 5.6),
        ("5.6R", Resistance, 5.6),
        ("47 mohm", Resistance, 0.047),
        ("1 L", Volume, 1e-3),
        ("14,5 l", Volume, 14.5e-3),
        ("900 cu in", Volume, 900.0 * 16.387_064e-6),
        ("133 cm2", Area, 133e-4),
        ("42 Hz", Frequency, 42.0),
        ("2.5khz", Frequency, 2500.0),
        ("0.98 mm/N", Compliance, 0.98e-3),
        ("0.85 N·s/m", MechanicalLoss, 0.85),
        ("6.1 T m", ForceFactor, 6.1),
        ("6.1 N/A", ForceFactor, 6.1),
        ("86 dB", Level, 86.0),
        ("-3 dB", Level, -3.0),
        ("\u{2212}2.5dB", Level, -2.5),
        ("35 %", Fraction, 0.35),
        ("35%", Fraction, 0.35),
        ("0.35", Fraction, 0.35),
        ("1", Fraction, 1.0),
        ("0.38", One, 0.38),
        ("3/8", One, 0.375),
        ("50 V", Voltage, 50.0),
        ("5 W", Power, 5.0),
        ("0.75 mm²", WireSize, 0.75e-6),
    ];
    for (text, dimension, wanted) in rows {
        let found = si(text, dimension);
        assert!(close(found, wanted), "{text} gave {found}, not {wanted}");
    }
}

/// Cross sections in mm² worked from the ASTM B258 formula to seven figures.
#[test]
fn gauges_are_read_as_cross_sections() {
    let rows = [
        ("22 AWG", 0.325_533_9),
        ("AWG 20", 0.517_619_2),
        ("18 AWG", 0.823_046_8),
        ("AWG18", 0.823_046_8),
        ("18ga", 0.823_046_8),
        ("18 ga", 0.823_046_8),
        ("18 gauge", 0.823_046_8),
        ("16awg", 1.308_696),
        ("14 AWG", 2.080_908),
        ("12 AWG", 3.308_773),
    ];
    for (text, mm2) in rows {
        let reading = parse(text, Dimension::WireSize).unwrap();
        assert!((reading.si * 1e6 - mm2).abs() <= 3e-7 * mm2, "{text} gave {}", reading.si);
        assert_eq!((reading.unit.as_str(), reading.rounding_u_si), (AWG, None));
    }
    // 4/0 is 0.46 in across by definition.
    let wanted = std::f64::consts::PI / 4.0 * (0.46 * 0.0254_f64).powi(2);
    for text in ["4/0 AWG", "0000 AWG", "AWG 4/0"] {
        assert!(close(si(text, Dimension::WireSize), wanted), "{text}");
    }
    assert!(close(si("1/0 AWG", Dimension::WireSize), si("0 AWG", Dimension::WireSize)));
}

#[test]
fn the_units_typed_are_kept() {
    let rows = [
        ("1 pound 6 ounces", Dimension::Mass, "lb oz"),
        ("11/16\"", Dimension::Length, "in"),
        ("3.3uF", Dimension::Capacitance, "µF"),
        ("0.35", Dimension::One, ""),
        ("5 Ω", Dimension::Resistance, "ohm"),
    ];
    for (text, dimension, unit) in rows {
        assert_eq!(parse(text, dimension).unwrap().unit, unit);
    }
}

/// Half a step is the half-width of a rectangle, whose standard deviation is half-width/√3: JCGM 100:2008 4.3.7.
#[test]
fn the_last_digit_sets_the_rounding() {
    let rows = [
        // Read to 1/16 in: ±1/32 in = ±0.793 75 mm.
        ("11/16 in", Dimension::Length, 0.793_75e-3),
        ("2 ft 3 1/2 in", Dimension::Length, 6.35e-3),
        ("18 mm", Dimension::Length, 0.5e-3),
        ("18.0 mm", Dimension::Length, 0.05e-3),
        ("1 lb 6 oz", Dimension::Mass, 14.174_761_562_5e-3),
        ("0,47 mH", Dimension::Inductance, 0.005e-3),
        ("4.7e-4 H", Dimension::Inductance, 0.05e-4),
        ("35 %", Dimension::Fraction, 0.005),
        ("-3 dB", Dimension::Level, 0.5),
    ];
    for (text, dimension, half_width) in rows {
        let u = parse(text, dimension).unwrap().rounding_u_si.unwrap();
        assert!(close(u, half_width / 3_f64.sqrt()), "{text} gave {u}");
    }
}

#[test]
fn what_is_no_reading_is_refused_with_the_accepted_form() {
    use Dimension::*;
    let units = "mm, cm, m, µm, mil, in, ft";
    let length = |text: &str, why: &str| {
        (
            text.to_owned(),
            Length,
            format!(
                "cannot read {text:?}: {why}; accepted: a number, such as 12.5, 0,47 or 1 1/2, with a unit: {units}"
            ),
        )
    };
    let other = |text: &str, dimension, rest: &str| {
        (text.to_owned(), dimension, format!("cannot read {text:?}: {rest}"))
    };
    let separators = "has more than one separator; accepted: one decimal point and no thousands separators, such as 1234.5";
    let several = "is not one number; accepted: one number, such as 1200, 12.5 or 1 1/2";
    let gauges = "is not a wire gauge; accepted: 0 AWG to 40 AWG, 1/0 AWG to 4/0 AWG";
    let rows = [
        other("1,200 mm", Length, "\"1,200\" could be 1.2 or 1200; accepted: 1.2 or 1200"),
        other(
            "12,345 mm",
            Length,
            "\"12,345\" could be 12.345 or 12345; accepted: 12.345 or 12345",
        ),
        other("1,234.5 mm", Length, &format!("\"1,234.5\" {separators}")),
        other("1.234,5 mm", Length, &format!("\"1.234,5\" {separators}")),
        other("1,234,567 mm", Length, &format!("\"1,234,567\" {separators}")),
        other("1 200 mm", Length, &format!("\"1 200\" {several}")),
        other("10-12 mm", Length, &format!("\"10-12\" {several}")),
        other("1.5 1/2 in", Length, &format!("\"1.5 1/2\" {several}")),
        other("1/2/3 in", Length, &format!("\"1/2/3\" {several}")),
        other("12", Length, &format!("length needs a unit after \"12\"; accepted: {units}")),
        other("5'6", Length, &format!("length needs a unit after \"6\"; accepted: {units}")),
        other("12 kg", Length, &format!("\"kg\" is not a unit of length; accepted: {units}")),
        other("12 mmm", Length, &format!("\"mmm\" is not a unit of length; accepted: {units}")),
        other("47k", Resistance, "\"k\" is not a unit of resistance; accepted: ohm, mohm, kohm"),
        other("4R7", Resistance, "resistance needs a unit after \"7\"; accepted: ohm, mohm, kohm"),
        other(
            "0.47 MH",
            Inductance,
            "\"MH\" starts with a capital M, which means mega; accepted: mH",
        ),
        other(
            "0.35 x",
            One,
            "\"x\" does not belong to the reading; accepted: a plain number, such as 0.35 or 1/2",
        ),
        other(
            "35",
            Fraction,
            "35 without a unit is more than the whole; accepted: a plain number from 0 to 1, or a number with %",
        ),
        other("41 AWG", WireSize, &format!("\"41\" {gauges}")),
        other("18.5 AWG", WireSize, &format!("\"18.5\" {gauges}")),
        other("5/0 AWG", WireSize, &format!("\"5/0\" {gauges}")),
        other("AWG", WireSize, &format!("\"\" {gauges}")),
        length("", "nothing is written"),
        length(" \u{a0}", "nothing is written"),
        length("12 mm\n", "a control character, such as a tab or a line break"),
        length("12\tmm", "a control character, such as a tab or a line break"),
        length("mm", "no number at the start"),
        length("about 12 mm", "no number at the start"),
        length("inf mm", "no number at the start"),
        length("NaN mm", "no number at the start"),
        length("±3 mm", "no number at the start"),
        length("-3 mm", "length takes no sign"),
        length("+3 mm", "length takes no sign"),
        length("5. mm", "\"5.\" is not a number"),
        length(",5 mm", "\",5\" is not a number"),
        length(". mm", "\".\" is not a number"),
        length("1/ in", "\"1/\" is not a number"),
        length("1.5/2 in", "\"1.5/2\" is not a number"),
        length("3/0 in", "\"3/0\" divides by zero"),
        length("1 3/00 in", "\"3/00\" divides by zero"),
        length("1 3/2 in", "the fraction after a whole number must be less than 1, not 3/2"),
        length("1e31 mm", "the power of ten is outside -30 to 30"),
        length("1e-99999999999 mm", "the power of ten is outside -30 to 30"),
        length("12 mm x", "\"x\" does not belong to the reading"),
        other(
            "12 mm, 3 mm",
            Length,
            &format!("\"mm,\" is not a unit of length; accepted: {units}"),
        ),
        length("3 in 2 ft", "units of a sum go from large to small, ft does not come after in"),
        length("2 in 3 in", "units of a sum go from large to small, in does not come after in"),
        length("1.5 ft 3 in", "only the last number of a sum may have a fraction"),
        length("1 ft 12 in", "\"12 in\" is not less than 1 ft"),
    ];
    for (text, dimension, message) in rows {
        let found = parse(&text, dimension).expect_err(&text).to_string();
        assert_eq!(found, message);
    }
}

#[test]
fn long_texts_are_refused_and_not_repeated_in_full() {
    let fits = format!("{}1 mm", "0".repeat(60));
    assert!(close(si(&fits, Dimension::Length), 1e-3));
    assert!(close(si(&format!("  {fits}\u{a0}"), Dimension::Length), 1e-3), "blanks do not count");
    let error = parse(&"µ".repeat(1000), Dimension::Length).unwrap_err();
    assert_eq!(error.why, Why::TooLong);
    assert_eq!(error.text, format!("{}…", "µ".repeat(64)));
}

#[test]
fn lists_are_read_in_order_and_fail_at_the_entry() {
    let list = parse_list("100 mm; 7 7/8 in;0.3m", Dimension::Length).unwrap();
    let found: Vec<f64> = list.iter().map(|it| it.si).collect();
    assert!(
        found.iter().zip([0.1, 0.200_025, 0.3]).all(|(found, wanted)| close(*found, wanted)),
        "{found:?}"
    );
    assert_eq!(list[1].unit, "in");
    assert_eq!(parse_list("100 mm; 200", Dimension::Length).unwrap_err().text, " 200");
    assert_eq!(parse_list("100 mm;", Dimension::Length).unwrap_err().why, Why::Empty);
}

#[test]
fn counts_are_whole_and_unsigned() {
    assert_eq!(parse_count(" 2 ").unwrap(), 2);
    assert_eq!(parse_count("4294967295").unwrap(), u32::MAX);
    for bad in ["2.5", "-1", "+1", "two", "2 pcs", "1,200", "4294967296", "0x10", "²"] {
        let message = format!(
            "cannot read {bad:?}: not a count; accepted: a whole number from 0 to 4294967295"
        );
        assert_eq!(parse_count(bad).expect_err(bad).to_string(), message);
    }
    assert_eq!(parse_count("").unwrap_err().why, Why::Empty);
}

#[test]
fn values_come_back_in_any_unit() {
    assert!(close(in_unit(0.0174625, Dimension::Length, "in").unwrap(), 0.6875));
    assert!(close(in_unit(0.35, Dimension::Fraction, "%").unwrap(), 35.0));
    assert!((in_unit(0.823_046_8e-6, Dimension::WireSize, "AWG").unwrap() - 18.0).abs() < 1e-6);
    assert_eq!(in_unit(1.0, Dimension::Length, "kg"), None);
    assert_eq!(in_unit(0.0, Dimension::WireSize, "AWG"), None);
    assert_eq!(in_unit(f64::NAN, Dimension::Length, "mm"), None);
    assert_eq!(in_unit(1e308, Dimension::Capacitance, "pF"), None);
}

#[test]
fn values_are_shown_to_the_second_figure_of_their_uncertainty() {
    use Dimension::*;
    let rows = [
        // JCGM 100:2008 7.2.2 and 7.2.6, from memory: m_s = 100.021 47 g with u = 0.35 mg; R = 10.057 62 ohm with u = 27 mohm.
        (0.100_021_47, Some(0.35e-6), Mass, "g", "100.02147\u{a0}g"),
        (10.057_62, Some(0.027), Resistance, "ohm", "10.058\u{a0}Ω"),
        (17.4625e-3, Some(0.4583e-3), Length, "mm", "17.46\u{a0}mm"),
        (17.4625e-3, Some(0.0996e-3), Length, "mm", "17.46\u{a0}mm"),
        (1234.5, Some(160.0), Frequency, "Hz", "1230\u{a0}Hz"),
        (12.0, Some(0.0), Length, "m", "12.00\u{a0}m"),
        (17.4625e-3, None, Length, "mm", "17.46\u{a0}mm"),
        (9.999_96, None, Voltage, "V", "10.00\u{a0}V"),
        (12_345.6, None, Frequency, "Hz", "12350\u{a0}Hz"),
        (0.0, None, Length, "mm", "0\u{a0}mm"),
        (0.353, None, Fraction, "%", "35.30\u{a0}%"),
        (0.353, None, Fraction, "", "0.3530"),
        (4.7e-6, None, Capacitance, "F", "0.000004700\u{a0}F"),
        (4.7e-9, None, Capacitance, "F", "4.700\u{a0}×\u{a0}10⁻⁹\u{a0}F"),
        (4.7e-12, Some(1e-9), Capacitance, "F", "0\u{a0}F"),
        (-2.5, Some(0.1), Level, "dB", "−2.50\u{a0}dB"),
        (-0.001, Some(1.0), Level, "dB", "0.0\u{a0}dB"),
        (0.047, None, Resistance, "mohm", "47.00\u{a0}mΩ"),
        (1.0, None, Length, "kg", "1.000\u{a0}m"),
        (0.0, None, WireSize, "AWG", "0\u{a0}m²"),
        (f64::NAN, None, Length, "mm", "not a number"),
    ];
    for (si, u, dimension, symbol, wanted) in rows {
        assert_eq!(shown(si, u, dimension, symbol), wanted);
    }
}

#[test]
fn gauges_are_shown_as_they_are_sold() {
    for (typed, label) in
        [("18 AWG", "18\u{a0}AWG"), ("0 AWG", "1/0\u{a0}AWG"), ("4/0 AWG", "4/0\u{a0}AWG")]
    {
        assert_eq!(shown(si(typed, Dimension::WireSize), None, Dimension::WireSize, AWG), label);
    }
    // One gauge step is a factor of 92^(2/39) in area, so 2.3 % of the area is 0.1 of a step.
    let area = si("1 mm²", Dimension::WireSize);
    let one_tenth = area * 0.1 * 2.0 * 92_f64.ln() / 39.0;
    assert_eq!(shown(area, Some(one_tenth), Dimension::WireSize, AWG), "17.16\u{a0}AWG");
}

fn any_dimension() -> impl Strategy<Value = Dimension> {
    proptest::sample::select(Dimension::ALL)
}

fn any_unit() -> impl Strategy<Value = (Dimension, &'static Unit, &'static str)> {
    let all: Vec<_> = Dimension::ALL
        .iter()
        .flat_map(|&dimension| dimension.units().iter().map(move |unit| (dimension, unit)))
        .flat_map(|(dimension, unit)| {
            std::iter::once(&unit.symbol)
                .chain(unit.aliases)
                .map(move |&spelling| (dimension, unit, spelling))
        })
        .collect();
    proptest::sample::select(all)
}

proptest! {
    #[test]
    fn no_text_panics_or_gives_what_is_not_finite(
        text in prop_oneof![
            "\\PC{0,80}",
            ".{0,80}",
            "[0-9]{1,3}[0-9./, eE+-]{0,8}(mm|in|ft|lb|oz|AWG|ga|%|dB|m|\"|'|µF|Ω| ){0,2}[0-9./,A-Zaµ² -]{0,8}",
        ],
        dimension in any_dimension(),
    ) {
        match parse(&text, dimension) {
            Ok(reading) => {
                prop_assert!(reading.si.is_finite());
                prop_assert!(reading.si >= 0.0 || dimension == Dimension::Level);
                prop_assert!(reading.rounding_u_si.is_none_or(|u| u.is_finite() && u > 0.0));
            }
            Err(why) => prop_assert!(!why.accepted.is_empty()),
        }
        let count = parse_count(&text);
        prop_assert_eq!(count.is_ok(), text.trim_matches([' ', '\u{a0}', '\u{2007}', '\u{2009}', '\u{202f}']).parse::<u32>().is_ok() && !text.contains('+'));
    }

    #[test]
    fn a_formatted_number_comes_back_in_every_unit(
        (dimension, unit, spelling) in any_unit(),
        x in prop_oneof![0.0..=1.0, 1.0..1e9_f64, 1e-9..1e-3],
        glued in any::<bool>(),
        with_exponent in any::<bool>(),
    ) {
        let x = if dimension == Dimension::Fraction && unit.symbol.is_empty() { f64::min(x, 1.0) } else { x };
        let number = if with_exponent { format!("{x:e}") } else { format!("{x}") };
        let text = format!("{number}{}{spelling}", if glued { "" } else { " " });
        let reading = parse(&text, dimension).map_err(|why| TestCaseError::fail(why.to_string()))?;
        prop_assert!(close(reading.si, x * unit.to_si), "{text}");
        prop_assert_eq!(&reading.unit, unit.symbol);
        prop_assert!(close(in_unit(reading.si, dimension, spelling).unwrap(), x), "{text}");
    }

    #[test]
    fn a_sum_is_the_sum_of_its_parts(feet in 0_u32..1000, inches in 0_u32..12, n in 0_u32..64, pounds in 0_u32..100, ounces in 0.0..15.9_f64) {
        let whole = si(&format!("{feet} ft {inches} {n}/64 in"), Dimension::Length);
        let parts = si(&format!("{feet} ft"), Dimension::Length)
            + si(&format!("{inches} in"), Dimension::Length)
            + si(&format!("{n}/64 in"), Dimension::Length);
        prop_assert!((whole - parts).abs() <= 1e-12 * parts);
        let whole = si(&format!("{pounds} lb {ounces} oz"), Dimension::Mass);
        let parts = f64::from(pounds) * 0.453_592_37 + ounces * 0.028_349_523_125;
        prop_assert!((whole - parts).abs() <= 1e-12 * parts);
    }

    #[test]
    fn what_is_shown_stays_within_the_second_figure(
        (dimension, unit, _) in any_unit(),
        x in 0.0..1000.0_f64,
        u in 1e-4..30.0_f64,
    ) {
        let x = if dimension == Dimension::Fraction && unit.symbol.is_empty() { x / 1001.0 } else { x };
        let text = shown(x * unit.to_si, Some(u * unit.to_si), dimension, unit.symbol);
        let accepts_above_one = !(dimension == Dimension::Fraction && unit.symbol.is_empty() && u >= 1.0);
        if accepts_above_one {
            let back = si(&text, dimension) / unit.to_si;
            // The second figure of u is at least u/99, half of it at most u/20.
            prop_assert!((back - x).abs() <= u / 19.9 + 1e-9, "{x} ± {u} became {text}");
        }
    }
}

#[test]
fn a_spread_stands_beside_its_value() {
    let of =
        |si, u, dimension, symbol| shown_with_u(si, u, dimension, symbol).replace('\u{a0}', " ");
    assert_eq!(of(0.435, 0.0005, Dimension::Length, "mm"), "435.00 ± 0.50 mm");
    assert_eq!(of(5.62, 0.02, Dimension::Resistance, "ohm"), "5.620 ± 0.020 Ω");
    assert_eq!(of(0.4, 0.012, Dimension::One, ""), "0.400 ± 0.012");
    assert_eq!(of(0.435, 0.0, Dimension::Length, "mm"), "435.0 mm");
}

/// The values follow from 1 in = 25.4 mm, 1 lb = 0.45359237 kg and 1 oz = 28.349523125 g, exact by definition.
#[test]
fn digits_that_were_not_typed_are_not_shown() {
    let of =
        |typed, dimension, symbol| shown_as_typed(typed, dimension, symbol).replace('\u{a0}', " ");
    assert_eq!(of("435 mm", Dimension::Length, "mm"), "435 mm");
    assert_eq!(of("11/16 in", Dimension::Length, "mm"), "17.5 mm");
    assert_eq!(of("22 lb 10.5 oz", Dimension::Mass, "kg"), "10.277 kg");
    assert_eq!(of("10.5 oz", Dimension::Mass, "kg"), "0.298 kg");
    assert_eq!(of("25 mm", Dimension::Length, "in"), "0.98 in");
    assert_eq!(of("18 AWG", Dimension::WireSize, "mm²"), "18 AWG");
    assert_eq!(of("0.40", Dimension::One, ""), "0.40");
}
