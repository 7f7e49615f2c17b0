//! A driver, and several of them as one.

use physics::driver_group::{Wiring, group, group_coil};
use physics::lumped::Coil;

use crate::answer::Answer;
use crate::fault::Fault;
use crate::fields::{AIR, DRIVER as DRIVER_KEYS, DRIVER_WITH_AIR, air, driver};
use crate::input::Input;
use crate::shape::{Calculation, Keys, Shape, gives, may_give, needed, optional};

const SOURCE: &str = "R. H. Small, Direct-Radiator Loudspeaker System Analysis, JAES 20(5), 1972; \
A. N. Thiele, Loudspeakers in Vented Boxes, JAES 19(5, 6), 1971 (both from memory for equations)";

/// The most drivers of a group.
const COUNT_MAX: i64 = 1_000_000;

pub(crate) static DRIVER: Calculation = Calculation {
    name: "driver",
    title: "the small-signal set of a driver",
    input: DRIVER_WITH_AIR,
    output: &[
        gives("fs", "Hz", "resonance in free air"),
        gives("qms", "", "mechanical Q at fs"),
        gives("qes", "", "electrical Q at fs"),
        gives("qts", "", "total Q at fs"),
        gives("vas", "m³", "volume of air as compliant as the suspension"),
        gives("eta0", "", "reference efficiency into half space, a fraction"),
        gives("spl_1w", "dB", "level at 1 m for 1 W into re, half space"),
        gives("spl_2v83", "dB", "level at 1 m for 2.83 V, half space"),
        gives("ebp", "Hz", "efficiency bandwidth product"),
        gives("motor_strength", "kg/s", "motor strength"),
        may_give("f_le", "Hz", "frequency where the reactance of le equals re; null without le"),
        gives("res", "ohm", "height of the impedance peak above re"),
        gives("mms", "kg", "moving mass with its air load"),
        gives("cms", "m/N", "compliance of the suspension"),
        gives("rms", "kg/s", "mechanical resistance"),
        gives("bl", "T·m", "force factor"),
    ],
    formula: "fs = 1/(2π·√(mms·cms)); qms = 2π·fs·mms/rms; qes = 2π·fs·mms·re/bl²
        qts = qms·qes/(qms + qes); vas = ρ·c²·sd²·cms
        eta0 = ρ/(2π·c)·bl²·sd²/(re·mms²); spl_1w = 10·log10(ρ·c·eta0/(2π)/(20 µPa)²)
        spl_2v83 = spl_1w + 10·log10(2.83²/re); ebp = fs/qes; motor_strength = bl²/re
        f_le = re/(2π·le); res = bl²/rms",
    valid: "small signals, below cone breakup, cone small against the wavelength",
    source: SOURCE,
    example: r#"{"re": 5.6, "mms": 0.0142, "cms": 0.00098, "rms": 0.85, "bl": 6.1, "sd": 0.0133,
        "le": 0.00055, "xmax": 0.004}"#,
    run: |input| {
        let it = driver(input, &air(input)?)?.params;
        let set = it.derive(&air(input)?)?;
        Ok(Answer::new()
            .with("fs", set.fs_hz)
            .with("qms", set.qms)
            .with("qes", set.qes)
            .with("qts", set.qts)
            .with("vas", set.vas_m3)
            .with("eta0", set.eta0)
            .with("spl_1w", set.spl_1w_db)
            .with("spl_2v83", set.spl_2v83_db)
            .with("ebp", set.ebp_hz)
            .with("motor_strength", set.motor_strength_kg_s)
            .with("f_le", set.f_le_hz)
            .with("res", set.res_ohm)
            .with("mms", it.mms_kg)
            .with("cms", it.cms_m_n)
            .with("rms", it.rms_kg_s)
            .with("bl", it.bl_tm))
    },
};

pub(crate) static DRIVER_GROUP: Calculation = Calculation {
    name: "driver-group",
    title: "identical drivers wired together, as one",
    input: Keys::plain(&[
        needed("driver", Shape::Object(&DRIVER_KEYS), "", "one of the drivers"),
        needed("count", Shape::Integer(1, COUNT_MAX), "", "how many"),
        needed("wiring", Shape::Word(&["series", "parallel"]), "", "how they are wired"),
        AIR,
    ]),
    output: &[
        gives("re", "ohm", "resistance of the group"),
        may_give("le", "H", "inductance of the group; null where the driver has none"),
        gives("bl", "T·m", "force factor of the group"),
        gives("mms", "kg", "moving mass of the group"),
        gives("cms", "m/N", "compliance of the group"),
        gives("rms", "kg/s", "mechanical resistance of the group"),
        gives("sd", "m²", "area of the group"),
        gives("fs", "Hz", "resonance, that of one driver"),
        gives("qts", "", "total Q, that of one driver"),
        gives("vas", "m³", "equivalent volume of the group"),
        gives("eta0", "", "reference efficiency of the group, a fraction"),
        gives("spl_2v83", "dB", "level at 1 m for 2.83 V into the group, half space"),
        optional("k", Shape::ANY, "ohm·sⁿ", "factor of the group's lossy coil, where it is given"),
        optional("n", Shape::ANY, "", "exponent of the lossy coil, where it is given"),
    ],
    formula: "mms·N, cms/N, rms·N, sd·N both ways; parallel: re/N, le/N, k/N, bl as it is
        series: re·N, le·N, k·N, bl·N; then as the calculation driver",
    valid: "identical drivers within about a quarter wavelength of each other",
    source: "derived from the circuit; R. H. Small 1972 uses the same equivalence (from memory)",
    example: r#"{"driver": {"re": 5.6, "mms": 0.0142, "cms": 0.00098, "rms": 0.85, "bl": 6.1,
        "sd": 0.0133, "le": 0.00055}, "count": 2, "wiring": "parallel"}"#,
    run: run_group,
};

fn run_group(input: &Input) -> Result<Answer, Fault> {
    let air = air(input)?;
    let one = driver(&input.object("driver", &DRIVER_KEYS)?, &air)?;
    let count = input.integer("count")?;
    let wiring = match input.text("wiring")? {
        "series" => Wiring::Series,
        _ => Wiring::Parallel,
    };
    let all = group(&one.params, count, wiring)?;
    let coil = group_coil(one.coil, count, wiring)?;
    let set = all.derive(&air)?;
    let answer = Answer::new()
        .with("re", all.re_ohm)
        .with("le", all.le_h)
        .with("bl", all.bl_tm)
        .with("mms", all.mms_kg)
        .with("cms", all.cms_m_n)
        .with("rms", all.rms_kg_s)
        .with("sd", all.sd_m2)
        .with("fs", set.fs_hz)
        .with("qts", set.qts)
        .with("vas", set.vas_m3)
        .with("eta0", set.eta0)
        .with("spl_2v83", set.spl_2v83_db);
    Ok(match coil {
        Coil::Lossy { k, n } => answer.with("k", k).with("n", n),
        Coil::Ideal | Coil::Inductance { .. } => answer,
    })
}
