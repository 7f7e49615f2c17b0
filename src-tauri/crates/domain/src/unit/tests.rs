//! Units against definitions from outside, and against each other.

use proptest::prelude::*;

use super::*;

fn close(found: f64, wanted: f64, relative: f64) -> bool {
    (found - wanted).abs() <= relative * wanted.abs()
}

/// Source: NIST SP 811 (2008) Appendix B.8, the factors printed in bold as exact; values from memory.
#[test]
fn inch_pound_units_have_their_defined_sizes() {
    let exact = [
        (Dimension::Length, "in", 25.4e-3),
        (Dimension::Length, "ft", 304.8e-3),
        (Dimension::Length, "mil", 25.4e-6),
        (Dimension::Mass, "lb", 0.453_592_37),
        (Dimension::Mass, "oz", 28.349_523_125e-3),
        (Dimension::Area, "in²", 6.4516e-4),
        (Dimension::Volume, "in³", 1.638_706_4e-5),
        (Dimension::Volume, "ft³", 2.831_684_659_2e-2),
        (Dimension::Volume, "L", 1e-3),
    ];
    for (dimension, symbol, si) in exact {
        let found = dimension.unit(symbol).unwrap().to_si;
        assert!(close(found, si, 1e-15), "{symbol}: {found} is not {si}");
    }
}

#[test]
fn derived_inch_pound_units_follow_from_inch_and_pound() {
    let size = |dimension: Dimension, symbol: &str| dimension.unit(symbol).unwrap().to_si;
    let inch = size(Dimension::Length, "in");
    let derived = [
        (size(Dimension::Length, "ft"), 12.0 * inch),
        (size(Dimension::Length, "mil"), inch / 1000.0),
        (size(Dimension::Area, "in²"), inch.powi(2)),
        (size(Dimension::Volume, "in³"), inch.powi(3)),
        (size(Dimension::Volume, "ft³"), (12.0 * inch).powi(3)),
        (size(Dimension::Mass, "oz"), size(Dimension::Mass, "lb") / 16.0),
    ];
    for (found, wanted) in derived {
        assert!(close(found, wanted, 1e-15), "{found} is not {wanted}");
    }
}

/// Source: ASTM B258, nominal diameters in mil as tabulated; values from memory. 4/0 and 36 define the series.
#[test]
fn gauges_have_the_tabulated_diameters() {
    let rows = [
        (-3, 460.0),
        (-2, 409.6),
        (-1, 364.8),
        (0, 324.9),
        (10, 101.9),
        (12, 80.8),
        (14, 64.1),
        (16, 50.8),
        (18, 40.3),
        (20, 32.0),
        (22, 25.3),
        (24, 20.1),
        (36, 5.0),
        (40, 3.1),
    ];
    for (gauge, mil) in rows {
        let d = (4.0 * awg_area_m2(gauge) / PI).sqrt() / 25.4e-6;
        assert!((d - mil).abs() <= 0.05, "{gauge} AWG is {d} mil, the table has {mil}");
    }
    for (gauge, inch) in [(-3, 0.46), (36, 0.005)] {
        let d = (4.0 * awg_area_m2(gauge) / PI).sqrt() / 0.0254;
        assert!(close(d, inch, 1e-12), "{gauge} AWG is {d} in");
    }
}

/// Cross sections in mm² worked from the ASTM B258 formula to seven figures.
/// Resistances of annealed copper in ohm/1000 ft as printed in NBS Handbook 100 (1966), from memory, with
/// 0.017241 ohm·mm²/m (IEC 60028).
#[test]
fn gauges_have_the_handbook_cross_sections_and_resistances() {
    let rows = [
        (22, 0.325_533_9, 16.14, 0.005),
        (20, 0.517_619_2, 10.15, 0.005),
        (18, 0.823_046_8, 6.385, 0.0005),
        (16, 1.308_696, 4.016, 0.001),
        (14, 2.080_908, 2.525, 0.0005),
        (12, 3.308_773, 1.588, 0.0005),
    ];
    for (gauge, mm2, ohm_per_1000_ft, last_digit) in rows {
        let area = awg_area_m2(gauge) * 1e6;
        assert!(close(area, mm2, 3e-7), "{gauge} AWG is {area} mm²");
        let r = 0.017_241 * 304.8 / area;
        assert!((r - ohm_per_1000_ft).abs() <= last_digit, "{gauge} AWG has {r} ohm/1000 ft");
    }
}

#[test]
fn an_area_without_a_gauge_has_none() {
    for bad in [0.0, -1e-6, f64::NAN, f64::INFINITY] {
        assert_eq!(awg_of_area(bad), None, "{bad}");
    }
}

#[test]
fn every_spelling_means_one_unit() {
    for &dimension in Dimension::ALL {
        for unit in dimension.units() {
            for spelling in std::iter::once(&unit.symbol).chain(unit.aliases) {
                assert_eq!(
                    dimension.unit(spelling),
                    Some(unit),
                    "{spelling:?} of {}",
                    dimension.name()
                );
            }
        }
    }
}

#[test]
fn the_si_unit_has_size_one() {
    for &dimension in Dimension::ALL {
        let unit = dimension.unit(dimension.si_symbol()).unwrap();
        assert!(close(unit.to_si, 1.0, 0.0), "{}", dimension.name());
    }
}

#[test]
fn all_lists_every_dimension_once() {
    let names: std::collections::HashSet<&str> =
        Dimension::ALL.iter().map(|it| it.name()).collect();
    assert_eq!(names.len(), Dimension::ALL.len());
    assert_eq!(Dimension::ALL.len(), Dimension::WireSize as usize + 1);
}

#[test]
fn case_is_free_where_it_says_nothing() {
    let same = [
        (Dimension::Frequency, "hz", "Hz"),
        (Dimension::Frequency, "KHZ", "kHz"),
        (Dimension::Mass, "KG", "kg"),
        (Dimension::Volume, "l", "L"),
        (Dimension::Volume, "ml", "mL"),
        (Dimension::Capacitance, "UF", "µF"),
        (Dimension::Capacitance, "MFD", "µF"),
        (Dimension::Resistance, "Ohms", "ohm"),
        (Dimension::Resistance, "\u{2126}", "ohm"),
        (Dimension::Capacitance, "\u{3bc}F", "µF"),
        (Dimension::ForceFactor, "T\u{22c5}m", "T·m"),
        (Dimension::Length, "MIL", "mil"),
    ];
    for (dimension, typed, symbol) in same {
        assert_eq!(dimension.unit(typed).map(|it| it.symbol), Some(symbol), "{typed}");
    }
}

#[test]
fn a_capital_m_is_never_milli() {
    let mega = [
        (Dimension::Inductance, "MH"),
        (Dimension::Resistance, "Mohm"),
        (Dimension::Resistance, "MΩ"),
        (Dimension::Volume, "ML"),
        (Dimension::Length, "MM"),
        (Dimension::Mass, "MG"),
        (Dimension::Voltage, "MV"),
        (Dimension::Frequency, "MHz"),
        (Dimension::Frequency, "mHz"),
    ];
    for (dimension, typed) in mega {
        assert_eq!(dimension.unit(typed), None, "{typed}");
    }
}

#[test]
fn accepted_units_are_listed_for_messages() {
    assert_eq!(Dimension::Length.accepted(), "mm, cm, m, µm, mil, in, ft");
    assert_eq!(Dimension::Fraction.accepted(), "%, plain number");
    assert_eq!(Dimension::WireSize.accepted(), "mm², m², AWG");
}

proptest! {
    #[test]
    fn gauge_and_area_undo_each_other(gauge in -3_i8..=40) {
        let back = awg_of_area(awg_area_m2(gauge)).unwrap();
        prop_assert!((back - f64::from(gauge)).abs() < 1e-10, "{gauge} came back as {back}");
    }
}
