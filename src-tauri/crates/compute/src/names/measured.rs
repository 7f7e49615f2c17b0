//! What a second measurement of a driver adds.

use physics::added_mass::{added_mass, known_volume_vas_m3};

use crate::answer::Answer;
use crate::fields::{AIR, air};
use crate::shape::{Calculation, Keys, Shape, gives, needed};

pub(crate) static ADDED_MASS: Calculation = Calculation {
    name: "added-mass",
    title: "the mechanics of a driver from a mass on its cone",
    input: Keys::plain(&[
        needed("fs", Shape::POSITIVE, "Hz", "resonance in free air"),
        needed("fs_loaded", Shape::POSITIVE, "Hz", "resonance with the mass; below fs"),
        needed("added_mass", Shape::POSITIVE, "kg", "the mass on the dust cap"),
        needed("re", Shape::POSITIVE, "ohm", "resistance of the voice coil"),
        needed("qes", Shape::POSITIVE, "", "electrical Q in free air"),
        needed("sd", Shape::POSITIVE, "m²", "effective area of the cone"),
        AIR,
    ]),
    output: &[
        gives("mms", "kg", "moving mass with its air load"),
        gives("cms", "m/N", "compliance of the suspension"),
        gives("bl", "T·m", "force factor"),
        gives("vas", "m³", "equivalent volume"),
    ],
    formula: "mms = added_mass/((fs/fs_loaded)² − 1); cms = 1/((2π·fs)²·mms)
        bl = √(2π·fs·mms·re/qes); vas = ρ·c²·sd²·cms",
    valid: "a mass that lowers fs by 10 to 40 %, best 20 to 30 % (common practice, no source)",
    source: "R. H. Small, Direct-Radiator Loudspeaker System Analysis, JAES 20(5), 1972 (from memory)",
    example: r#"{"fs": 42.6641327, "fs_loaded": 32.6813066, "added_mass": 0.010, "re": 5.6,
        "qes": 0.5728745, "sd": 0.0133}"#,
    run: |input| {
        let it = added_mass(
            input.number("fs")?,
            input.number("fs_loaded")?,
            input.number("added_mass")?,
            input.number("re")?,
            input.number("qes")?,
            input.number("sd")?,
            &air(input)?,
        )?;
        Ok(Answer::new()
            .with("mms", it.mms_kg)
            .with("cms", it.cms_m_n)
            .with("bl", it.bl_tm)
            .with("vas", it.vas_m3))
    },
};

pub(crate) static KNOWN_VOLUME: Calculation = Calculation {
    name: "known-volume",
    title: "the equivalent volume of a driver from a closed test box",
    input: Keys::plain(&[
        needed("fs", Shape::POSITIVE, "Hz", "resonance in free air"),
        needed("qes", Shape::POSITIVE, "", "electrical Q in free air"),
        needed("fc", Shape::POSITIVE, "Hz", "resonance in the box; above fs"),
        needed("qec", Shape::POSITIVE, "", "electrical Q in the box"),
        needed("vb", Shape::POSITIVE, "m³", "net volume with the space inside the cone"),
    ]),
    output: &[gives("vas", "m³", "equivalent volume")],
    formula: "vas = vb·(fc·qec/(fs·qes) − 1)",
    valid: "an airtight box; the air load of the mounted driver drops out",
    source: "R. H. Small, Closed-Box Loudspeaker Systems Part I, JAES 20(10), 1972 (from memory)",
    example: r#"{"fs": 42.6641327, "qes": 0.5728745, "fc": 79.3413838, "qec": 1.06535989,
        "vb": 0.010}"#,
    run: |input| {
        let vas = known_volume_vas_m3(
            input.number("fs")?,
            input.number("qes")?,
            input.number("fc")?,
            input.number("qec")?,
            input.number("vb")?,
        )?;
        Ok(Answer::new().with("vas", vas))
    },
};
