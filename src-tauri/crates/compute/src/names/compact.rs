//! Compact results: output at full travel, Doppler distortion, the baffle's step, a piston's beam.

use std::f64::consts::PI;

use physics::baffle::{KA_MAX, half_rise_hz, step_gain_db};
use physics::displacement::displacement_limit;
use physics::doppler::doppler;
use physics::piston::directivity;

use crate::answer::Answer;
use crate::fault::Fault;
use crate::fields::{AIR, FREQS, NUMBERS, air};
use crate::names::boxes::each;
use crate::shape::{Calculation, Keys, Range, Shape, gives, may_give, needed};

pub(crate) static DISPLACEMENT_LIMIT: Calculation = Calculation {
    name: "displacement-limit",
    title: "level and power of a cone at its full travel",
    input: Keys::plain(&[
        needed("sd", Shape::POSITIVE, "m²", "effective area of the cone"),
        needed("xmax", Shape::POSITIVE, "m", "linear excursion one way, peak"),
        needed("freq", Shape::POSITIVE, "Hz", "frequency"),
        AIR,
    ]),
    output: &[
        gives("spl_1m", "dB", "level at 1 m into half space"),
        gives("power_acoustic", "W", "acoustic power"),
    ],
    formula: "V = sd·xmax; p = ρ·(2π·freq)²·V/(2π·√2); spl_1m = 20·log10(p/20 µPa)
        power_acoustic = 4π³·ρ/c·freq⁴·V²",
    valid: "half space, a cone small against the wavelength",
    source: "R. H. Small, Direct-Radiator Loudspeaker System Analysis, JAES 20(5), 1972 (constant \
        from memory, derived again)",
    example: r#"{"sd": 0.0133, "xmax": 0.004, "freq": 50}"#,
    run: |input| {
        let (sd, xmax) = (input.number("sd")?, input.number("xmax")?);
        let limit = displacement_limit(sd, xmax, input.number("freq")?, &air(input)?)?;
        Ok(Answer::new()
            .with("spl_1m", limit.spl_1m_db)
            .with("power_acoustic", limit.power_acoustic_w))
    },
};

pub(crate) static DOPPLER: Calculation = Calculation {
    name: "doppler",
    title: "frequency modulation of a high tone by a low one",
    input: Keys::plain(&[
        needed("x_peak", Shape::POSITIVE, "m", "peak excursion at the low tone"),
        needed("f_high", Shape::POSITIVE, "Hz", "frequency of the high tone"),
        AIR,
    ]),
    output: &[
        gives("index", "", "modulation index, radians"),
        gives("distortion", "", "sidebands as a fraction of the carrier, to first order"),
        may_give("distortion_exact", "", "the same exactly; null from an index of 2.4048 up"),
    ],
    formula: "index = 2π·f_high·x_peak/c; distortion = index/√2
        distortion_exact = √(2·Σ Jₙ(index)²)/J₀(index), n from 1",
    valid: "one low and one high tone; whether it is heard is disputed: information only",
    source: "G. L. Beers and H. Belar, Frequency-Modulation Distortion in Loudspeakers, Proc. IRE \
        31(4) 132-138, 1943",
    example: r#"{"x_peak": 0.004, "f_high": 1000}"#,
    run: |input| {
        let it = doppler(input.number("x_peak")?, input.number("f_high")?, &air(input)?)?;
        Ok(Answer::new()
            .with("index", it.index)
            .with("distortion", it.distortion)
            .with("distortion_exact", it.distortion_exact))
    },
};

/// The most terms of one `baffle-step`, the sum of ka over its frequencies: some seconds.
const TERMS_MAX: f64 = 1e8;

pub(crate) static BAFFLE_STEP: Calculation = Calculation {
    name: "baffle-step",
    title: "the rise from full space to half space",
    input: Keys::plain(&[
        needed("diameter", Shape::POSITIVE, "m", "diameter of the sphere that stands for the box"),
        FREQS,
        AIR,
    ]),
    output: &[
        needed("gain_db", NUMBERS, "dB", "level against the same source in free space"),
        gives("f_half", "Hz", "frequency at which half of the step, 10·log10 2 dB, is done"),
    ],
    formula: "gain_db = 20·log10 |Σ (2n + 1)·(−j)ⁿ/hₙ'(ka)|/(ka)², ka = π·f·diameter/c, \
        hₙ = jₙ + j·yₙ",
    valid: "a small source on a rigid sphere, ka up to 10,000; a box with edges ripples about it",
    source: "P. M. Morse, Vibration and Sound; H. F. Olson, JAES 17(1), 1969 (both from memory)",
    example: r#"{"diameter": 0.2, "freqs": [100, 541.879, 2000]}"#,
    run: |input| {
        let air = air(input)?;
        let diameter = input.number("diameter")?;
        let freqs = input.numbers("freqs")?;
        // A ka beyond the series is refused below, by its place.
        let ka = freqs.iter().map(|f| PI * f * diameter / air.c_m_s());
        let terms: f64 = ka.filter(|ka| *ka <= KA_MAX).sum();
        if terms > TERMS_MAX {
            return Err(Fault::out_of_domain(
                "freqs",
                format!(
                    "{} frequencies take {terms:.0} terms of the series; at most {TERMS_MAX:.0} are \
                     summed in one call",
                    freqs.len()
                ),
            ));
        }
        let gain = each(input, &freqs, |f| step_gain_db(diameter, f, &air))?;
        Ok(Answer::new().with("gain_db", gain).with("f_half", half_rise_hz(diameter, &air)?))
    },
};

pub(crate) static PISTON: Calculation = Calculation {
    name: "piston",
    title: "how a flat round cone narrows its beam",
    input: Keys::plain(&[
        needed("sd", Shape::POSITIVE, "m²", "effective area of the cone"),
        needed("freq", Shape::POSITIVE, "Hz", "frequency"),
        needed("angle_deg", Shape::Number(Range::Closed(-90.0, 90.0)), "°", "angle off the axis"),
        AIR,
    ]),
    output: &[
        gives("ka", "", "wavenumber times radius"),
        gives("directivity_db", "dB", "level against the axis"),
    ],
    formula: "ka = 2π·freq/c·√(sd/π); x = ka·sin(angle_deg); \
        directivity_db = 20·log10 |2·J₁(x)/x|",
    valid: "a rigid piston in an infinite baffle",
    source: "L. Kinsler and A. Frey, Fundamentals of Acoustics (from memory)",
    example: r#"{"sd": 0.0133, "freq": 3000, "angle_deg": 30}"#,
    run: |input| {
        let (sd, freq) = (input.number("sd")?, input.number("freq")?);
        let it = directivity(sd, freq, input.number("angle_deg")?, &air(input)?)?;
        Ok(Answer::new().with("ka", it.ka).with("directivity_db", it.level_db()?))
    },
};
