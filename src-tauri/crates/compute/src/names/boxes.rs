//! The closed and the vented box, as alignments.

use physics::box_closed::{BoxDriver, ClosedBox};
use physics::box_vented::{Leak, QL_ASSUMED, VentedBox};

use crate::answer::Answer;
use crate::fault::Fault;
use crate::fields::{FREQS_SHAPE, NUMBERS};
use crate::input::Input;
use crate::shape::{
    Calculation, Choice, Keys, Shape, defaulted, gives, may_give, needed, optional,
};

pub(crate) static CLOSED_BOX: Calculation = Calculation {
    name: "closed-box",
    title: "a driver in a closed box: the second-order response",
    input: Keys {
        fields: &[
            needed("fs", Shape::POSITIVE, "Hz", "resonance in free air"),
            needed("vas", Shape::POSITIVE, "m³", "equivalent volume"),
            needed("vb", Shape::POSITIVE, "m³", "net volume of the box"),
            optional("qts", Shape::POSITIVE, "", "total Q"),
            optional("qms", Shape::POSITIVE, "", "mechanical Q"),
            optional("qes", Shape::POSITIVE, "", "electrical Q of the driver alone"),
            optional("re", Shape::POSITIVE, "ohm", "resistance of the voice coil"),
            defaulted(
                "rg",
                Shape::NON_NEGATIVE,
                "ohm",
                0.0,
                "resistance in series with the driver; needs qms, qes and re",
            ),
        ],
        choices: &[Choice { required: true, sets: &[&["qts"], &["qms", "qes", "re"]] }],
    },
    output: &[
        gives("alpha", "", "compliance ratio"),
        gives("fc", "Hz", "resonance in the box"),
        gives("qtc", "", "total Q in the box"),
        gives("f3", "Hz", "frequency at half power"),
        may_give("peak_db", "dB", "height of the peak; null when qtc is at most 1/√2"),
        may_give("f_peak", "Hz", "where the peak stands; null without one"),
    ],
    formula: "alpha = vas/vb; fc = fs·√(1 + alpha); qtc = qts·√(1 + alpha)
        qts from qms and qes·(re + rg)/re; f3 = fc·√((k + √(k² + 4))/2), k = 1/qtc² − 2
        peak_db = 20·log10(qtc²/√(qtc² − 1/4)) at fc/√(1 − 1/(2·qtc²))",
    valid: "small signals, an airtight box, an inductance that does not matter at resonance",
    source: "R. H. Small, Closed-Box Loudspeaker Systems Part I, JAES 20(10), 1972 (from memory)",
    example: r#"{"fs": 42.6641327, "qms": 4.47828995, "qes": 0.5728745, "re": 5.6,
        "vas": 0.0245838786, "vb": 0.012, "rg": 0.4}"#,
    run: |input| {
        let (fs, vas, vb) = (input.number("fs")?, input.number("vas")?, input.number("vb")?);
        let rg = input.number("rg")?;
        let boxed = match input.number_if_given("qts") {
            Some(_) if rg > 0.0 => {
                return Err(Fault::inconsistent(
                    "rg",
                    "qts alone does not say how rg acts; give qms, qes, re in place of qts",
                ));
            }
            Some(qts) => ClosedBox::new(fs, qts, vas, vb)?,
            None => {
                let driver = BoxDriver {
                    fs_hz: fs,
                    qms: input.number("qms")?,
                    qes: input.number("qes")?,
                    re_ohm: input.number("re")?,
                    vas_m3: vas,
                };
                ClosedBox::with_series_resistance(&driver, vb, rg)?
            }
        };
        Ok(Answer::new()
            .with("alpha", boxed.alpha)
            .with("fc", boxed.fc_hz)
            .with("qtc", boxed.qtc)
            .with("f3", boxed.f3_hz)
            .with("peak_db", boxed.peak.map(|it| it.level_db))
            .with("f_peak", boxed.peak.map(|it| it.f_hz)))
    },
};

pub(crate) static VENTED_BOX: Calculation = Calculation {
    name: "vented-box",
    title: "a driver in a vented box: the fourth-order response",
    input: Keys::plain(&[
        needed("fs", Shape::POSITIVE, "Hz", "resonance in free air"),
        needed("qts", Shape::POSITIVE, "", "total Q, with any series resistance in it"),
        needed("vas", Shape::POSITIVE, "m³", "equivalent volume"),
        needed("vb", Shape::POSITIVE, "m³", "net volume of the box"),
        needed("fb", Shape::POSITIVE, "Hz", "tuning of the box"),
        defaulted("ql", Shape::POSITIVE, "", QL_ASSUMED, "leakage Q at fb"),
        optional("freqs", FREQS_SHAPE, "Hz", "frequencies for gain_db"),
    ]),
    output: &[
        gives("alpha", "", "compliance ratio"),
        gives("h", "", "tuning ratio"),
        gives("a1", "", "coefficient of S³"),
        gives("a2", "", "coefficient of S²"),
        gives("a3", "", "coefficient of S"),
        gives("f3", "Hz", "highest frequency at half power"),
        gives("ripple_db", "dB", "greatest gain above the passband; 0 when there is none"),
        needed("gain_db", NUMBERS, "dB", "gain against the passband, one a frequency"),
    ],
    formula: "alpha = vas/vb; h = fb/fs; G = S⁴/(S⁴ + a1·S³ + a2·S² + a3·S + 1), S = jf/(fs·√h)
        a1 = (ql + h·qts)/(√h·ql·qts); a2 = (h + (alpha + 1 + h²)·ql·qts)/(h·ql·qts)
        a3 = (h·ql + qts)/(√h·ql·qts)",
    valid: "a box small against the wavelength, a port that acts as a mass, ql of 3 to 20",
    source: "R. H. Small, Vented-Box Loudspeaker Systems Part I, JAES 21(5), 1973 (from memory)",
    example: r#"{"fs": 42.6641327, "qts": 0.507902315, "vas": 0.0245838786, "vb": 0.024, "fb": 42,
        "ql": 7, "freqs": [20, 30, 40, 50, 80, 200]}"#,
    run: |input| {
        let boxed = VentedBox::new(
            input.number("fs")?,
            input.number("qts")?,
            input.number("vas")?,
            input.number("vb")?,
            input.number("fb")?,
            Leak::Ql(input.number("ql")?),
        )?;
        let freqs = input.numbers("freqs")?;
        let gain = each(input, &freqs, |f| boxed.gain_db(f))?;
        Ok(Answer::new()
            .with("alpha", boxed.alpha)
            .with("h", boxed.h)
            .with("a1", boxed.a1)
            .with("a2", boxed.a2)
            .with("a3", boxed.a3)
            .with("f3", boxed.f3_hz)
            .with("ripple_db", boxed.ripple_db)
            .with("gain_db", gain)
            .flag_if(!input.has("ql"), "assumed: ql = 7"))
    },
};

/// One result a frequency; a fault names which one.
pub(crate) fn each<T>(
    input: &Input,
    freqs: &[f64],
    result: impl Fn(f64) -> physics::Result<T>,
) -> Result<Vec<T>, Fault> {
    freqs
        .iter()
        .enumerate()
        .map(|(at, &f)| {
            result(f).map_err(|why| {
                let mut fault = Fault::from(why);
                fault.field = format!("{}[{at}]", input.path_of("freqs"));
                fault
            })
        })
        .collect()
}
