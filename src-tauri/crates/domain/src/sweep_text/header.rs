//! The header of a sweep file: which column is which, and in what unit.

use std::f64::consts::PI;

use crate::unit::{Dimension, one_spelling};

use super::cells::Separator;

/// What is accepted as a header.
pub(super) const HEADER: &str = "names of the columns, such as f_hz,z_ohm,phase_deg; \
    frequency: f, freq, frequency in Hz or kHz; \
    magnitude: z, impedance, magnitude in ohm, mohm, kohm or dB ohm; phase: phase, arg, angle in deg or rad";

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Quantity {
    Frequency,
    Magnitude,
    Phase,
}

impl Quantity {
    pub(super) const ALL: [Quantity; 3] =
        [Quantity::Frequency, Quantity::Magnitude, Quantity::Phase];

    pub(super) fn word(self) -> &'static str {
        match self {
            Quantity::Frequency => "frequency",
            Quantity::Magnitude => "magnitude",
            Quantity::Phase => "phase",
        }
    }

    /// The unit in which points are kept.
    pub(super) fn unit(self) -> Unit {
        let (symbol, scale) = match self {
            Quantity::Frequency => ("Hz", Scale::Factor(1.0)),
            Quantity::Magnitude => ("ohm", Scale::Factor(1.0)),
            Quantity::Phase => ("degrees", Scale::Factor(1.0)),
        };
        Unit { symbol, quantity: self, scale }
    }

    fn names(self) -> &'static [&'static str] {
        match self {
            Quantity::Frequency => &["f", "freq", "frequency", "frequencies"],
            Quantity::Magnitude => {
                &["z", "zmag", "zabs", "impedance", "magnitude", "mag", "modulus", "mod", "abs"]
            }
            Quantity::Phase => {
                &["phase", "phi", "φ", "ϕ", "theta", "θ", "arg", "argument", "angle", "zphase"]
            }
        }
    }
}

/// How the numbers of a unit become those that are kept.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Scale {
    /// By a factor.
    Factor(f64),
    /// 20·log10 of ohm.
    DecibelOhm,
}

/// A unit of a column.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Unit {
    pub(super) symbol: &'static str,
    pub(super) quantity: Quantity,
    pub(super) scale: Scale,
}

impl Unit {
    /// The unit that a word of a header spells.
    fn spelt(word: &str) -> Option<Self> {
        let lower = word.to_lowercase();
        // `R` heads a column of resistances, that is of real parts, sooner than one in ohm.
        if lower == "r" {
            return None;
        }
        let factor =
            |symbol, quantity, by| Some(Unit { symbol, quantity, scale: Scale::Factor(by) });
        match lower.as_str() {
            "deg" | "degs" | "degree" | "degrees" | "°" => return Some(Quantity::Phase.unit()),
            "rad" | "rads" | "radian" | "radians" => {
                return factor("rad", Quantity::Phase, 180.0 / PI);
            }
            "dbohm" | "dbohms" | "dbω" => return Some(Unit::DECIBEL_OHM),
            _ => {}
        }
        let of = |dimension: Dimension, quantity| {
            dimension.unit(word).and_then(|it| factor(it.symbol, quantity, it.to_si))
        };
        of(Dimension::Frequency, Quantity::Frequency)
            .or_else(|| of(Dimension::Resistance, Quantity::Magnitude))
    }

    const DECIBEL_OHM: Unit =
        Unit { symbol: "dB ohm", quantity: Quantity::Magnitude, scale: Scale::DecibelOhm };
}

/// One column that is wanted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Column {
    /// Its place, from 0.
    pub(super) place: usize,
    /// Its unit, where the header names one.
    pub(super) unit: Option<Unit>,
}

/// What a header says.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Header {
    /// How many cells each row has.
    pub(super) count: usize,
    /// Frequency, magnitude, phase.
    pub(super) columns: [Option<Column>; 3],
    /// The names of columns that are not wanted.
    pub(super) ignored: Vec<String>,
}

impl Header {
    /// What a file without a header has: two or three columns in the usual order and units.
    pub(super) fn absent(count: usize) -> Option<Self> {
        let column = |place| (place < count).then_some(Column { place, unit: None });
        let columns = [column(0), column(1), column(2)];
        matches!(count, 2 | 3).then_some(Header { count, columns, ignored: Vec::new() })
    }

    /// Reads a line as header of rows with `count` cells that `separator` parts.
    ///
    /// # Errors
    /// What is wrong with it.
    pub(super) fn read(line: &str, separator: Separator, count: usize) -> Result<Self, String> {
        let without_bars = line.replace("|Z|", "Z").replace("|z|", "z");
        let own = separator.split(&without_bars);
        if separator != Separator::Blanks && own.len() > 1 {
            return Self::of(&own);
        }
        // Names with blanks in them, or names that are parted otherwise than the rows.
        let merged = merged(&own);
        let mut all: Vec<Vec<&str>> = vec![own];
        all.push(without_bars.trim().split("  ").filter(|it| !it.trim().is_empty()).collect());
        all.extend(
            Separator::ALL.iter().filter(|it| **it != separator).map(|it| it.split(&without_bars)),
        );
        let mut why = format!("this is no header for rows of {count} values");
        for cells in all.into_iter().chain([merged.iter().map(String::as_str).collect()]) {
            if cells.len() == count {
                match Self::of(&cells) {
                    Ok(it) => return Ok(it),
                    Err(it) => why = it,
                }
            }
        }
        Err(why)
    }

    fn of(cells: &[&str]) -> Result<Self, String> {
        let mut columns = [None; 3];
        let mut ignored = Vec::new();
        for (place, cell) in cells.iter().enumerate() {
            let Some((quantity, unit)) = column(cell)? else {
                ignored.push((*cell).to_owned());
                continue;
            };
            let known = Quantity::ALL.iter().zip(&mut columns).find(|(it, _)| **it == quantity);
            if let Some((_, known)) = known {
                if known.is_some() {
                    return Err(format!("the header names two columns of {}", quantity.word()));
                }
                *known = Some(Column { place, unit });
            }
        }
        let [frequency, magnitude, phase] = columns;
        for (quantity, found) in
            [(Quantity::Frequency, frequency), (Quantity::Magnitude, magnitude)]
        {
            if found.is_none() {
                return Err(format!("the header names no column of {}", quantity.word()));
            }
        }
        // An unknown column beside two known ones may be the phase under another name.
        if let (None, Some(other)) = (phase, ignored.first()) {
            let other: String = other.chars().take(40).collect();
            return Err(format!("the header has the column {other:?} and names none of phase"));
        }
        Ok(Header { count: cells.len(), columns, ignored })
    }
}

/// Cells parted by blanks, with what stands in brackets or is a unit alone put to the name before it.
fn merged(cells: &[&str]) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    let mut is_open = false;
    for it in cells {
        let belongs = is_open
            || it.starts_with(['(', '[', '/'])
            || words(it).all(|word| Unit::spelt(word).is_some());
        match out.last_mut() {
            Some(last) if belongs => {
                last.push(' ');
                last.push_str(it);
            }
            _ => out.push((*it).to_owned()),
        }
        is_open = it.rfind(['(', '[']) > it.rfind([')', ']']);
    }
    out
}

/// What the name of one column says; `None` when it is none of those wanted.
fn column(cell: &str) -> Result<Option<(Quantity, Option<Unit>)>, String> {
    let cell = one_spelling(cell).replace('º', "°").replace('∠', " angle ");
    let mut named = [false; 3];
    let mut unit: Option<Unit> = None;
    let mut is_decibel = false;
    for word in words(&cell) {
        let lower = word.to_lowercase();
        let name = Quantity::ALL
            .iter()
            .zip(&mut named)
            .find(|(it, _)| it.names().contains(&lower.as_str()));
        if let Some((_, it)) = name {
            *it = true;
        } else if lower == "db" {
            is_decibel = true;
        } else if let Some(it) = Unit::spelt(word) {
            if unit.is_some_and(|before| before != it) {
                return Ok(None);
            }
            unit = Some(it);
        } else if !(matches!(lower.as_str(), "in" | "of") || is_decibel && lower == "re") {
            return Ok(None);
        }
    }
    let quantity = match named {
        [true, false, false] => Quantity::Frequency,
        // The phase of the impedance.
        [false, _, true] => Quantity::Phase,
        [false, true, false] => Quantity::Magnitude,
        [false, false, false] => match unit {
            Some(it) => it.quantity,
            None => return Ok(None),
        },
        [true, ..] => return Ok(None),
    };
    if is_decibel {
        unit = match unit {
            Some(it) if it == Quantity::Magnitude.unit() => Some(Unit::DECIBEL_OHM),
            _ => return Err(format!("{:?} does not say dB of what", shown(&cell))),
        };
    }
    match unit {
        Some(it) if it.quantity != quantity => {
            Err(format!("{:?}: {} is no unit of {}", shown(&cell), it.symbol, quantity.word()))
        }
        _ => Ok(Some((quantity, unit))),
    }
}

fn shown(cell: &str) -> String {
    cell.chars().take(40).collect()
}

/// The words of a name; all else parts them.
fn words(cell: &str) -> impl Iterator<Item = &str> {
    cell.split(|c: char| !(c.is_alphabetic() || c == '°')).filter(|it| !it.is_empty())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Quantity and unit symbol of a name.
    fn of(cell: &str) -> Option<(Quantity, &'static str)> {
        column(cell).unwrap().map(|(it, unit)| (it, unit.map_or("", |it| it.symbol)))
    }

    #[test]
    fn names_and_units_are_known_in_many_spellings() {
        for (cell, quantity, unit) in [
            ("f_hz", Quantity::Frequency, "Hz"),
            ("f [kHz]", Quantity::Frequency, "kHz"),
            ("freq_hz", Quantity::Frequency, "Hz"),
            ("Frequency, Hz", Quantity::Frequency, "Hz"),
            ("Hz", Quantity::Frequency, "Hz"),
            ("frequency", Quantity::Frequency, ""),
            ("|Z| (ohm)", Quantity::Magnitude, "ohm"),
            ("Z/mohm", Quantity::Magnitude, "mohm"),
            ("Z (mΩ)", Quantity::Magnitude, "mohm"),
            ("\u{2126}", Quantity::Magnitude, "ohm"),
            ("Impedance magnitude in Ohms", Quantity::Magnitude, "ohm"),
            ("Z [dB ohm]", Quantity::Magnitude, "dB ohm"),
            ("|Z| (dBΩ)", Quantity::Magnitude, "dB ohm"),
            ("Z (dB re 1 ohm)", Quantity::Magnitude, "dB ohm"),
            ("phase (deg)", Quantity::Phase, "degrees"),
            ("phase [rad]", Quantity::Phase, "rad"),
            ("arg °", Quantity::Phase, "degrees"),
            ("arg(Z) / º", Quantity::Phase, "degrees"),
            ("∠Z", Quantity::Phase, ""),
        ] {
            assert_eq!(of(cell), Some((quantity, unit)), "{cell}");
        }
    }

    #[test]
    fn what_is_not_wanted_is_not_taken_for_it() {
        for cell in
            ["", "R", "Re(Z)", "Z real (ohm)", "X", "Z (Mohm)", "f (rad/s)", "f or z", "Z ohm kohm"]
        {
            assert_eq!(of(cell), None, "{cell}");
        }
        let why = |cell| column(cell).unwrap_err();
        assert_eq!(why("Z (dB)"), "\"Z (dB)\" does not say dB of what");
        assert_eq!(why("f (ohm)"), "\"f (ohm)\": ohm is no unit of frequency");
        assert_eq!(why("phase (dB ohm)"), "\"phase (dB ohm)\": dB ohm is no unit of phase");
    }

    #[test]
    fn a_header_is_read_whatever_parts_it() {
        for line in [
            "Frequency (Hz) Impedance (ohm) Phase (deg)",
            "Frequency (Hz)   Impedance   Phase (deg)",
            "f z phase",
            "f_hz, z_ohm, phase_deg",
            "f_hz,z_ohm,phase_deg",
            "f | |Z| | phase",
            "f [ Hz ] Z [ ohm ] phase [ deg ]",
        ] {
            let it = Header::read(line, Separator::Blanks, 3).unwrap();
            assert_eq!(
                it.columns.map(|it| it.map(|it| it.place)),
                [Some(0), Some(1), Some(2)],
                "{line}"
            );
        }
        let bar = Header::read("|f|phase|\u{7c}Z\u{7c}|", Separator::Bar, 3).unwrap();
        assert_eq!(bar.columns.map(|it| it.map(|it| it.place)), [Some(0), Some(2), Some(1)]);
    }

    #[test]
    fn further_columns_need_all_three_names() {
        let read = |line| Header::read(line, Separator::Comma, 4);
        let it = read("n,phase,z,f").unwrap();
        assert_eq!(it.ignored, ["n"]);
        assert_eq!(
            read("f,z,re,im").unwrap_err(),
            "the header has the column \"re\" and names none of phase"
        );
        assert_eq!(read("f,z,phase,z").unwrap_err(), "the header names two columns of magnitude");
        assert_eq!(read("x,y,phase,z").unwrap_err(), "the header names no column of frequency");
        assert_eq!(read("f,y,phase,x").unwrap_err(), "the header names no column of magnitude");
        assert_eq!(read("title").unwrap_err(), "this is no header for rows of 4 values");
    }
}
