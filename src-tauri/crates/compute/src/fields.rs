//! Values that several calculations read: the air, frequencies, and the driver.

use physics::Air;
use physics::driver::{DriverEntry, DriverParams};
use physics::lumped::Coil;

use crate::fault::Fault;
use crate::input::Input;
use crate::shape::{Choice, Default, Field, Keys, Need, Range, Shape, needed, optional};

/// The most frequencies of one call.
pub(crate) const FREQS_MAX: usize = 100_000;

const AIR_KEYS: Keys = Keys::plain(&[
    needed("rho", Shape::POSITIVE, "kg/m³", "density"),
    needed("c", Shape::POSITIVE, "m/s", "speed of sound"),
]);
static AIR_SHAPE: Keys = AIR_KEYS;

/// The air, wherever it matters.
pub(crate) const AIR: Field = optional(
    "air",
    Shape::Object(&AIR_SHAPE),
    "",
    "the air; 1.204 kg/m³ and 343.2 m/s (20 °C, 101325 Pa) when absent",
);

/// Reads [`AIR`].
pub(crate) fn air(input: &Input) -> Result<Air, Fault> {
    if !input.has("air") {
        return Ok(Air::default());
    }
    let given = input.object("air", &AIR_SHAPE)?;
    Air::new(given.number("rho")?, given.number("c")?)
        .map_err(|why| Fault::from(why).under(given.path()))
}

/// A list of frequencies.
pub(crate) const FREQS_SHAPE: Shape = Shape::List { of: &Shape::POSITIVE, min: 1, max: FREQS_MAX };

/// Frequencies that must be given.
pub(crate) const FREQS: Field = needed("freqs", FREQS_SHAPE, "Hz", "frequencies to compute at");

/// A list of numbers of an answer, one a frequency or row.
pub(crate) const NUMBERS: Shape = Shape::List { of: &Shape::ANY, min: 0, max: usize::MAX };

/// The same, with null where a number does not apply.
pub(crate) const NUMBERS_OR_NULL: Shape =
    Shape::List { of: &Shape::Nullable(&Shape::ANY), min: 0, max: usize::MAX };

/// The two ends of an interval of an answer, low and high.
pub(crate) const LIMITS: Shape = Shape::List { of: &Shape::ANY, min: 2, max: 2 };

/// The keys of a driver, with the air or without.
macro_rules! driver_fields {
    ($($more:expr),*) => {
        &[
            needed("re", Shape::POSITIVE, "ohm", "resistance of the voice coil"),
            needed("sd", Shape::POSITIVE, "m²", "effective area of the cone"),
            optional("mms", Shape::POSITIVE, "kg", "moving mass with its air load"),
            optional("cms", Shape::POSITIVE, "m/N", "compliance of the suspension"),
            optional("rms", Shape::POSITIVE, "kg/s", "mechanical resistance"),
            optional("bl", Shape::POSITIVE, "T·m", "force factor"),
            optional("fs", Shape::POSITIVE, "Hz", "resonance in free air"),
            optional("qms", Shape::POSITIVE, "", "mechanical Q at fs"),
            optional("qes", Shape::POSITIVE, "", "electrical Q at fs"),
            optional("vas", Shape::POSITIVE, "m³", "volume of air as compliant as the suspension"),
            optional("le", Shape::POSITIVE, "H", "inductance of the voice coil"),
            optional("k", Shape::POSITIVE, "ohm·sⁿ", "factor K of the lossy coil K·(jω)ⁿ"),
            optional("n", Shape::Number(Range::Closed(0.5, 1.0)), "", "its exponent n"),
            optional("xmax", Shape::NON_NEGATIVE, "m", "linear excursion one way, peak"),
            $($more),*
        ]
    };
}

const DRIVER_CHOICES: &[Choice] = &[
    Choice { required: true, sets: &[&["mms", "cms", "rms", "bl"], &["fs", "qms", "qes", "vas"]] },
    Choice { required: false, sets: &[&["le"], &["k", "n"]] },
];

/// A driver as an object of its own.
pub(crate) static DRIVER: Keys = Keys { fields: driver_fields!(), choices: DRIVER_CHOICES };

/// A driver as the whole input.
pub(crate) const DRIVER_WITH_AIR: Keys =
    Keys { fields: driver_fields!(AIR), choices: DRIVER_CHOICES };

/// What a driver is read as.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Driver {
    pub(crate) params: DriverParams,
    pub(crate) coil: Coil,
}

/// Reads the keys of a driver.
pub(crate) fn driver(input: &Input, air: &Air) -> Result<Driver, Fault> {
    let (re_ohm, sd_m2) = (input.number("re")?, input.number("sd")?);
    let (le_h, xmax_m) = (input.number_if_given("le"), input.number_if_given("xmax"));
    let params = if input.has("mms") {
        DriverParams {
            re_ohm,
            mms_kg: input.number("mms")?,
            cms_m_n: input.number("cms")?,
            rms_kg_s: input.number("rms")?,
            bl_tm: input.number("bl")?,
            sd_m2,
            le_h,
            xmax_m,
        }
    } else {
        DriverEntry {
            re_ohm,
            fs_hz: input.number("fs")?,
            qms: input.number("qms")?,
            qes: input.number("qes")?,
            vas_m3: input.number("vas")?,
            sd_m2,
            le_h,
            xmax_m,
        }
        .params(air)
        .map_err(|why| Fault::from(why).under(input.path()))?
    };
    let coil = match (le_h, input.number_if_given("k"), input.number_if_given("n")) {
        (Some(le_h), ..) => Coil::Inductance { le_h },
        (None, Some(k), Some(n)) => Coil::Lossy { k, n },
        _ => Coil::Ideal,
    };
    Ok(Driver { params, coil })
}

/// The outer and the inner end of a port, when nothing is said about them.
pub(crate) const ENDS: Field = Field {
    key: "ends",
    shape: Shape::List { of: &Shape::Word(&["flanged", "free"]), min: 2, max: 2 },
    unit: "",
    need: Need::Default(Default::Words(&["flanged", "free"])),
    doc: "how the two ends open: in a wide wall, or as a tube's end in free air",
};
