//! Dimensions and the units the bench writes them in.
//!
//! A unit is multiplicative: SI value = number × `to_si`.
//! Wire gauge is not, so AWG has its own pair of functions instead of a row in a table.

use std::f64::consts::PI;

/// The kind of a quantity; two readings compare only within one dimension.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Dimension {
    /// A pure number, such as a quality factor.
    One,
    /// Length, m.
    Length,
    /// Area, m².
    Area,
    /// Volume, m³.
    Volume,
    /// Mass, kg.
    Mass,
    /// Electrical resistance, ohm.
    Resistance,
    /// Inductance, H.
    Inductance,
    /// Capacitance, F.
    Capacitance,
    /// Frequency, Hz.
    Frequency,
    /// Mechanical compliance, m/N.
    Compliance,
    /// Mechanical resistance, kg/s.
    MechanicalLoss,
    /// Force factor, T·m.
    ForceFactor,
    /// Level, dB; the only dimension that may be negative.
    Level,
    /// A share of a whole, 0 to 1.
    Fraction,
    /// Voltage, V.
    Voltage,
    /// Power, W.
    Power,
    /// Speed of air, in m/s.
    Speed,
    /// Cross section of a conductor, m².
    WireSize,
}

/// A unit that converts by a factor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unit {
    /// How the unit is written, typed on any keyboard where custom allows (`ohm`); empty for a plain number.
    pub symbol: &'static str,
    /// Other spellings that are read.
    pub aliases: &'static [&'static str],
    /// The size of one unit in SI units.
    pub to_si: f64,
}

/// The word for American wire gauge, which [`Dimension::WireSize`] reads beside its units.
pub const AWG: &str = "AWG";

const fn unit(symbol: &'static str, aliases: &'static [&'static str], to_si: f64) -> Unit {
    Unit { symbol, aliases, to_si }
}

// Inch, foot, mil, pound and ounce are exact by definition (international yard and pound, 1959).
static PLAIN: [Unit; 1] = [unit("", &[], 1.0)];
static LENGTH: [Unit; 7] = [
    unit("mm", &[], 1e-3),
    unit("cm", &[], 1e-2),
    unit("m", &["metre", "metres", "meter", "meters", "Metre", "Metres", "Meter", "Meters"], 1.0),
    unit("µm", &["um", "micron", "microns", "Micron", "Microns"], 1e-6),
    unit("mil", &["mils", "Mil", "Mils"], 25.4e-6),
    unit("in", &["\"", "″", "”", "''", "inch", "inches"], 0.0254),
    unit("ft", &["'", "′", "’", "foot", "feet"], 0.3048),
];
static AREA: [Unit; 4] = [
    unit("cm²", &["cm2"], 1e-4),
    unit("mm²", &["mm2"], 1e-6),
    unit("m²", &["m2"], 1.0),
    unit("in²", &["in2", "sq in"], 6.4516e-4),
];
static VOLUME: [Unit; 6] = [
    unit("L", &["litre", "litres", "liter", "liters"], 1e-3),
    unit("mL", &[], 1e-6),
    unit("m³", &["m3"], 1.0),
    unit("cm³", &["cm3", "cc"], 1e-6),
    unit("in³", &["in3", "cu in"], 1.638_706_4e-5),
    unit("ft³", &["ft3", "cu ft"], 0.028_316_846_592),
];
static MASS: [Unit; 5] = [
    unit("kg", &[], 1.0),
    unit("g", &["gram", "grams"], 1e-3),
    unit("mg", &[], 1e-6),
    unit("lb", &["lbs", "pound", "pounds"], 0.453_592_37),
    unit("oz", &["ounce", "ounces"], 0.028_349_523_125),
];
static RESISTANCE: [Unit; 3] = [
    unit("ohm", &["Ω", "R", "ohms"], 1.0),
    unit("mohm", &["mΩ", "milliohm", "milliohms", "Milliohm", "Milliohms"], 1e-3),
    unit("kohm", &["kΩ", "kilohm", "kilohms"], 1e3),
];
static INDUCTANCE: [Unit; 3] =
    [unit("mH", &[], 1e-3), unit("µH", &["uH"], 1e-6), unit("H", &[], 1.0)];
// `mfd` on old prints has always meant microfarad.
static CAPACITANCE: [Unit; 4] = [
    unit("µF", &["uF", "mfd", "Mfd"], 1e-6),
    unit("nF", &[], 1e-9),
    unit("pF", &[], 1e-12),
    unit("F", &[], 1.0),
];
static FREQUENCY: [Unit; 2] = [unit("Hz", &[], 1.0), unit("kHz", &[], 1e3)];
static COMPLIANCE: [Unit; 3] =
    [unit("mm/N", &[], 1e-3), unit("µm/N", &["um/N"], 1e-6), unit("m/N", &[], 1.0)];
static MECHANICAL_LOSS: [Unit; 1] = [unit("kg/s", &["N·s/m", "N s/m", "Ns/m"], 1.0)];
static FORCE_FACTOR: [Unit; 1] = [unit("T·m", &["Tm", "T m", "N/A"], 1.0)];
static LEVEL: [Unit; 1] = [unit("dB", &[], 1.0)];
static FRACTION: [Unit; 2] = [unit("%", &["percent"], 0.01), unit("", &[], 1.0)];
static VOLTAGE: [Unit; 2] = [unit("V", &["volt", "volts"], 1.0), unit("mV", &[], 1e-3)];
static SPEED: [Unit; 1] = [unit("m/s", &[], 1.0)];
static POWER: [Unit; 1] = [unit("W", &["watt", "watts"], 1.0)];
static WIRE_SIZE: [Unit; 2] = [unit("mm²", &["mm2"], 1e-6), unit("m²", &["m2"], 1.0)];

impl Dimension {
    /// All dimensions.
    pub const ALL: &'static [Dimension] = &[
        Dimension::One,
        Dimension::Length,
        Dimension::Area,
        Dimension::Volume,
        Dimension::Mass,
        Dimension::Resistance,
        Dimension::Inductance,
        Dimension::Capacitance,
        Dimension::Frequency,
        Dimension::Compliance,
        Dimension::MechanicalLoss,
        Dimension::ForceFactor,
        Dimension::Level,
        Dimension::Fraction,
        Dimension::Voltage,
        Dimension::Power,
        Dimension::Speed,
        Dimension::WireSize,
    ];

    /// The symbol of the unit that stored values are in; empty for pure numbers.
    #[must_use]
    pub fn si_symbol(self) -> &'static str {
        match self {
            Dimension::One | Dimension::Fraction => "",
            Dimension::Length => "m",
            Dimension::Area | Dimension::WireSize => "m²",
            Dimension::Volume => "m³",
            Dimension::Mass => "kg",
            Dimension::Resistance => "ohm",
            Dimension::Inductance => "H",
            Dimension::Capacitance => "F",
            Dimension::Frequency => "Hz",
            Dimension::Compliance => "m/N",
            Dimension::MechanicalLoss => "kg/s",
            Dimension::ForceFactor => "T·m",
            Dimension::Level => "dB",
            Dimension::Voltage => "V",
            Dimension::Power => "W",
            Dimension::Speed => "m/s",
        }
    }

    /// The units that are read, the usual bench unit first; without AWG, which has no factor.
    #[must_use]
    pub fn units(self) -> &'static [Unit] {
        match self {
            Dimension::One => &PLAIN,
            Dimension::Length => &LENGTH,
            Dimension::Area => &AREA,
            Dimension::Volume => &VOLUME,
            Dimension::Mass => &MASS,
            Dimension::Resistance => &RESISTANCE,
            Dimension::Inductance => &INDUCTANCE,
            Dimension::Capacitance => &CAPACITANCE,
            Dimension::Frequency => &FREQUENCY,
            Dimension::Compliance => &COMPLIANCE,
            Dimension::MechanicalLoss => &MECHANICAL_LOSS,
            Dimension::ForceFactor => &FORCE_FACTOR,
            Dimension::Level => &LEVEL,
            Dimension::Fraction => &FRACTION,
            Dimension::Voltage => &VOLTAGE,
            Dimension::Power => &POWER,
            Dimension::Speed => &SPEED,
            Dimension::WireSize => &WIRE_SIZE,
        }
    }

    /// The unit that `text` spells, if it is one of this dimension.
    ///
    /// Case is free except in a first `m`, where it parts milli from mega; words are listed with both.
    #[must_use]
    pub fn unit(self, text: &str) -> Option<&'static Unit> {
        let text = one_spelling(text);
        if text.is_empty() {
            return self.units().iter().find(|it| it.symbol.is_empty());
        }
        self.leading_unit(&text, Case::Kept).filter(|(_, len)| *len == text.len()).map(|(it, _)| it)
    }

    /// The name as a noun, for messages.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Dimension::One => "plain number",
            Dimension::Length => "length",
            Dimension::Area => "area",
            Dimension::Volume => "volume",
            Dimension::Mass => "mass",
            Dimension::Resistance => "resistance",
            Dimension::Inductance => "inductance",
            Dimension::Capacitance => "capacitance",
            Dimension::Frequency => "frequency",
            Dimension::Compliance => "compliance",
            Dimension::MechanicalLoss => "mechanical loss",
            Dimension::ForceFactor => "force factor",
            Dimension::Level => "level",
            Dimension::Fraction => "fraction",
            Dimension::Voltage => "voltage",
            Dimension::Power => "power",
            Dimension::Speed => "speed",
            Dimension::WireSize => "wire size",
        }
    }

    /// The accepted units in a row, for messages: `mm, cm, m, µm, mil, in, ft`.
    #[must_use]
    pub fn accepted(self) -> String {
        let mut words: Vec<&str> = self
            .units()
            .iter()
            .map(|it| if it.symbol.is_empty() { "plain number" } else { it.symbol })
            .collect();
        if self == Dimension::WireSize {
            words.push(AWG);
        }
        words.join(", ")
    }

    /// The unit with the longest spelling at the start of `text`, and how many bytes it takes.
    ///
    /// `text` must be in [`one_spelling`]. What follows the unit is the end, a space or a digit, so that
    /// `2ft3in` is read and `mmm` is not.
    pub(crate) fn leading_unit(self, text: &str, case: Case) -> Option<(&'static Unit, usize)> {
        self.units()
            .iter()
            .flat_map(|unit| {
                std::iter::once(unit.symbol)
                    .chain(unit.aliases.iter().copied())
                    .filter_map(move |spelling| Some((unit, matched_len(text, spelling, case)?)))
            })
            .filter(|&(_, len)| {
                len > 0 && text[len..].chars().next().is_none_or(|c| c == ' ' || c.is_ascii_digit())
            })
            .max_by_key(|&(_, len)| len)
    }
}

/// Whether a leading `m` must be typed in the right case.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Case {
    /// `mH` is not `MH`.
    Kept,
    /// `mH` and `MH` alike, to say what was probably meant.
    Free,
}

/// How many bytes of `text` the spelling takes if `text` starts with it.
fn matched_len(text: &str, spelling: &str, case: Case) -> Option<usize> {
    let mut typed = text.char_indices();
    for (place, wanted) in spelling.chars().enumerate() {
        let (_, found) = typed.next()?;
        let prefix_differs = place == 0 && wanted.eq_ignore_ascii_case(&'m') && case == Case::Kept;
        if found != wanted && (prefix_differs || !found.eq_ignore_ascii_case(&wanted)) {
            return None;
        }
    }
    Some(typed.next().map_or(text.len(), |(at, _)| at))
}

/// One code point for each sign that has several, one space for any run of spaces, none at the ends.
pub(crate) fn one_spelling(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        let c = match c {
            // No-break, figure, thin and narrow no-break space.
            '\u{a0}' | '\u{2007}' | '\u{2009}' | '\u{202f}' => ' ',
            // Greek mu for the micro sign.
            '\u{3bc}' => 'µ',
            // Ohm sign for Greek omega.
            '\u{2126}' => 'Ω',
            // Dot operator for the middle dot.
            '\u{22c5}' => '·',
            // Minus sign for the hyphen.
            '\u{2212}' => '-',
            other => other,
        };
        if c != ' ' || !(out.is_empty() || out.ends_with(' ')) {
            out.push(c);
        }
    }
    out.truncate(out.trim_end_matches(' ').len());
    out
}

/// The diameter of 36 AWG, m: 5 mil by definition.
const AWG_36_M: f64 = 0.127e-3;

/// Diameter in m of a solid conductor of a gauge; 0 is 1/0, and -1, -2, -3 are 2/0, 3/0, 4/0.
///
/// ASTM B258: 4/0 is 0.46 in, 36 is 0.005 in, the 39 steps between are geometric.
#[must_use]
pub fn awg_diameter_m(gauge: i8) -> f64 {
    AWG_36_M * 92_f64.powf((36.0 - f64::from(gauge)) / 39.0)
}

/// Cross section in m² of a solid conductor of a gauge: π·d²/4, with the diameter of [`awg_diameter_m`].
#[must_use]
pub fn awg_area_m2(gauge: i8) -> f64 {
    let d = awg_diameter_m(gauge);
    PI / 4.0 * d * d
}

/// The gauge, not rounded, of a cross section in m²; `None` unless the area is positive and finite.
#[must_use]
pub fn awg_of_area(area_m2: f64) -> Option<f64> {
    let d = (4.0 * area_m2 / PI).sqrt();
    (d.is_finite() && d > 0.0).then(|| 36.0 - 39.0 * (d / AWG_36_M).ln() / 92_f64.ln())
}

#[cfg(test)]
mod tests;
