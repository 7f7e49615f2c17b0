//! The whole circuit of a driver in its box, and the box read back from its impedance.

use physics::box_vented::QL_ASSUMED;
use physics::humps::{Humps, box_from_humps};
use physics::lumped::{Drive, Enclosure, MountedDriver};

use crate::answer::Answer;
use crate::fault::Fault;
use crate::fields::{AIR, DRIVER, FREQS, NUMBERS, air, driver};
use crate::input::Input;
use crate::names::boxes::each;
use crate::shape::{Calculation, Choice, Keys, Shape, defaulted, gives, needed, optional};

pub(crate) static BOX_CIRCUIT: Calculation = Calculation {
    name: "box-circuit",
    title: "impedance, excursion, port velocity and level of a driver in its box",
    input: Keys {
        fields: &[
            needed("driver", Shape::Object(&DRIVER), "", "the driver"),
            needed("vb", Shape::POSITIVE, "m³", "net volume of the box"),
            optional("fb", Shape::POSITIVE, "Hz", "tuning of a vented box"),
            optional("port_area", Shape::POSITIVE, "m²", "area of all its ports together"),
            optional(
                "ql",
                Shape::POSITIVE,
                "",
                "leakage Q; 7 when absent and the box is vented, none when it is closed",
            ),
            defaulted("rg", Shape::NON_NEGATIVE, "ohm", 0.0, "resistance in series"),
            defaulted("volts", Shape::POSITIVE, "V", 2.83, "voltage at the source, rms"),
            defaulted("distance", Shape::POSITIVE, "m", 1.0, "distance of the listener"),
            FREQS,
            AIR,
        ],
        choices: &[Choice { required: false, sets: &[&["fb", "port_area"]] }],
    },
    output: &[
        needed("z_mag", NUMBERS, "ohm", "magnitude of the impedance, rg included"),
        needed("z_phase", NUMBERS, "°", "its phase"),
        needed("x_peak", NUMBERS, "m", "peak excursion one way"),
        needed(
            "port_velocity_peak",
            Shape::Nullable(&NUMBERS),
            "m/s",
            "peak velocity of the air in the port; null when the box is closed",
        ),
        needed("spl", NUMBERS, "dB", "level at the distance into half space"),
    ],
    formula: "Cab = vb/(ρ·c²); Ral = ql/(w0·Cab); 1/Zab = jω·Cab + 1/Ral + w0²·Cab/(jω)
        w0 = 2π·fb; closed: w0 of the resonance in the box, and no last term
        Ze = rg + re + jω·le or k·(jω)ⁿ; Zm = jω·mms + rms + 1/(jω·cms)
        u = (bl·volts/Ze)/(Zm + bl²/Ze + sd²·Zab); p = sd·u·Zab; Z = Ze + bl²/(Zm + sd²·Zab)
        x_peak = √2·|u|/ω; port_velocity_peak = √2·|p|·w0²·Cab/(ω·port_area)
        spl = 20·log10(ω²·ρ·Cab·|p|/(2π·distance)/20 µPa)",
    valid: "small signals, below about 300 Hz",
    source: "R. H. Small, Vented-Box Loudspeaker Systems, JAES 21(5), 1973 (from memory for \
        equations); the lossy coil after W. M. Leach Jr., JAES 50(6) 442-450, 2002",
    example: r#"{"driver": {"re": 5.6, "mms": 0.0142, "cms": 0.00098, "rms": 0.85, "bl": 6.1,
        "sd": 0.0133}, "vb": 0.024, "fb": 42, "ql": 7, "port_area": 0.001963495408,
        "freqs": [20, 30, 42, 60, 100]}"#,
    run,
};

fn run(input: &Input) -> Result<Answer, Fault> {
    let air = air(input)?;
    let driver = driver(&input.object("driver", &DRIVER)?, &air)?;
    let vb_m3 = input.number("vb")?;
    let ql = input.number_if_given("ql");
    let enclosure = match input.number_if_given("fb") {
        Some(fb_hz) => Enclosure::Vented { vb_m3, fb_hz, ql: ql.or(Some(QL_ASSUMED)) },
        None => Enclosure::Closed { vb_m3, ql },
    };
    let mounted = MountedDriver { params: driver.params, coil: driver.coil, enclosure };
    let drive = Drive {
        volts: input.number("volts")?,
        rg_ohm: input.number("rg")?,
        distance_m: input.number("distance")?,
        port_area_m2: input.number_if_given("port_area"),
    };
    let all = each(input, &input.numbers("freqs")?, |f| mounted.response(f, &drive, &air))?;
    let vented = matches!(enclosure, Enclosure::Vented { .. });
    let velocity: Vec<_> = all.iter().filter_map(|it| it.port_velocity_peak_m_s).collect();
    Ok(Answer::new()
        .with("z_mag", all.iter().map(|it| it.z.norm()).collect::<Vec<_>>())
        .with("z_phase", all.iter().map(|it| it.z.arg().to_degrees()).collect::<Vec<_>>())
        .with("x_peak", all.iter().map(|it| it.x_peak_m).collect::<Vec<_>>())
        .with("port_velocity_peak", vented.then_some(velocity))
        .with("spl", all.iter().map(|it| it.spl_db).collect::<Vec<_>>())
        .flag_if(vented && ql.is_none(), "assumed: ql = 7"))
}

pub(crate) static BOX_FROM_HUMPS: Calculation = Calculation {
    name: "box-from-humps",
    title: "a vented box as the two peaks of its impedance show it",
    input: Keys::plain(&[
        needed("fl", Shape::POSITIVE, "Hz", "lower peak"),
        needed("fm", Shape::POSITIVE, "Hz", "dip between the peaks"),
        needed("fh", Shape::POSITIVE, "Hz", "upper peak; fl < fm < fh"),
        needed("re", Shape::POSITIVE, "ohm", "resistance of the voice coil"),
        needed("z_at_fm", Shape::POSITIVE, "ohm", "impedance at the dip; above re"),
        needed("qes", Shape::POSITIVE, "", "electrical Q at the driver's own resonance"),
        needed("qms", Shape::POSITIVE, "", "mechanical Q at the driver's own resonance"),
    ]),
    output: &[
        gives("fb", "Hz", "tuning of the box"),
        gives("f_sb", "Hz", "resonance of the driver in this box, without its air's stiffness"),
        gives("alpha", "", "compliance ratio"),
        gives("ql", "", "leakage Q at fb"),
    ],
    formula: "fb = fm; f_sb = fl·fh/fb; alpha = (fh² − fb²)·(fb² − fl²)/(fh²·fl²)
        ql = (fb/f_sb)/alpha·(1/(qes·(z_at_fm/re − 1)) − 1/qms)",
    valid: "two clear peaks; the dip is good to 0.3 %, alpha and ql to 2 to 3 %",
    source: "A. N. Thiele, JAES 19(5, 6), 1971; R. H. Small, JAES 21(5), 1973 (both from memory); ql \
        derived again",
    example: r#"{"fl": 25.79404, "fm": 42.07171, "fh": 69.45731, "re": 5.6, "z_at_fm": 6.90202,
        "qes": 0.5728745, "qms": 4.47828995}"#,
    run: |input| {
        let read = box_from_humps(&Humps {
            fl_hz: input.number("fl")?,
            fm_hz: input.number("fm")?,
            fh_hz: input.number("fh")?,
            re_ohm: input.number("re")?,
            z_at_fm_ohm: input.number("z_at_fm")?,
            qes: input.number("qes")?,
            qms: input.number("qms")?,
        })?;
        Ok(Answer::new()
            .with("fb", read.fb_hz)
            .with("f_sb", read.f_sb_hz)
            .with("alpha", read.alpha)
            .with("ql", read.ql))
    },
};
