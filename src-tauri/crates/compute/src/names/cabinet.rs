//! The cabinet: walls, braces, the air inside, its lining, a midrange's chamber.

use physics::cavity::{MODES_MAX, modes};
use physics::chamber::shared_chamber;
use physics::lining::{Lining, axial_mode_q};
use physics::panel::Panel;

use crate::answer::Answer;
use crate::fault::Fault;
use crate::fields::{AIR, FREQS, NUMBERS, air};
use crate::input::Input;
use crate::names::boxes::each;
use crate::shape::{Calculation, Field, Keys, Range, Shape, gives, needed};
use crate::value::Value;

const A: Field = needed("a", Shape::POSITIVE, "m", "clear span along the first side");
const B: Field = needed("b", Shape::POSITIVE, "m", "clear span along the second side");
const H: Field = needed("h", Shape::POSITIVE, "m", "thickness");
const E: Field = needed("e", Shape::POSITIVE, "Pa", "modulus of elasticity in bending");
const RHO: Field = needed("rho", Shape::POSITIVE, "kg/m³", "density of the wall");
const NU: Field = needed("nu", Shape::Number(Range::HalfOpen(0.0, 0.5)), "", "Poisson's ratio");
const THICK: &str = "thick: the wall is not below a tenth of its shorter span, and the figures are \
too high";
const PANEL_SOURCE: &str = "A. W. Leissa, Vibration of Plates, NASA SP-160, 1969; G. B. Warburton, \
Proc. IMechE 168, 371-384, 1954 (from memory); the estimate is an editorial choice";
const PANEL_VALID: &str =
    "thin, uniform, isotropic walls without cut-outs; a tap test overrides it";

pub(crate) static PANEL: Calculation = Calculation {
    name: "panel",
    title: "the lowest bending mode of a wall",
    input: Keys::plain(&[A, B, H, E, RHO, NU, AIR]),
    output: &[
        gives("d", "N·m", "bending stiffness"),
        gives("f_hinged", "Hz", "lowest mode with hinged edges"),
        gives("f_clamped", "Hz", "lowest mode with clamped edges, 0.2 to 0.5 % high"),
        gives("f_est", "Hz", "the estimate between the two"),
        gives("f_coincidence", "Hz", "frequency above which the wall radiates well"),
    ],
    formula: "d = e·h³/(12·(1 − nu²)); f = λ/(2π·a²)·√(d/(rho·h)), r = a/b
        hinged: λ = π²·(1 + r²); clamped: λ = π²·√(1.506⁴·(1 + r⁴) + 2·(1.248·r)²·1.248²)
        f_est = √(f_hinged·f_clamped); f_coincidence = c²/(2π)·√(rho·h/d)",
    valid: PANEL_VALID,
    source: PANEL_SOURCE,
    example: r#"{"a": 0.3, "b": 0.2, "h": 0.012, "e": 3.0e9, "rho": 740, "nu": 0.25}"#,
    run: |input| {
        let modes = panel(input)?.modes(&air(input)?)?;
        Ok(Answer::new()
            .with("d", modes.d_nm)
            .with("f_hinged", modes.f_hinged_hz)
            .with("f_clamped", modes.f_clamped_hz)
            .with("f_est", modes.f_est_hz)
            .with("f_coincidence", modes.f_coincidence_hz)
            .flag_if(modes.thick, THICK))
    },
};

pub(crate) static PANEL_BRACED: Calculation = Calculation {
    name: "panel-braced",
    title: "the lowest bending mode of a wall held along lines",
    input: Keys::plain(&[
        A,
        B,
        H,
        E,
        RHO,
        NU,
        needed(
            "braces",
            Shape::List { of: &Shape::POSITIVE, min: 0, max: 1000 },
            "m",
            "places along a of the lines, which run parallel to b",
        ),
    ]),
    output: &[
        gives("f_hinged", "Hz", "lowest mode with hinged edges"),
        gives("f_clamped", "Hz", "lowest mode with clamped edges, 0.2 to 0.5 % high"),
        gives("f_est", "Hz", "the estimate between the two"),
        needed(
            "governing",
            Shape::List { of: &Shape::POSITIVE, min: 2, max: 2 },
            "m",
            "spans of the part whose estimate is lowest, along a and along b",
        ),
    ],
    formula: "each part between lines is a wall of its own, as in the calculation panel, all four \
        edges hinged or clamped; the lowest f_est governs",
    valid: "braces stiff enough to hold their line; otherwise as the calculation panel",
    source: PANEL_SOURCE,
    example: r#"{"a": 0.9, "b": 0.25, "h": 0.015, "e": 3.0e9, "rho": 740, "nu": 0.25,
        "braces": [0.35]}"#,
    run: |input| {
        let wall = panel(input)?;
        // Coincidence is not among the results, so the air does not matter.
        let held = wall.braced(&input.numbers("braces")?, &physics::Air::default())?;
        Ok(Answer::new()
            .with("f_hinged", held.modes.f_hinged_hz)
            .with("f_clamped", held.modes.f_clamped_hz)
            .with("f_est", held.modes.f_est_hz)
            .with("governing", vec![held.span_m, held.b_m])
            .flag_if(held.modes.thick, THICK))
    },
};

fn panel(input: &Input) -> Result<Panel, Fault> {
    Ok(Panel {
        a_m: input.number("a")?,
        b_m: input.number("b")?,
        h_m: input.number("h")?,
        e_pa: input.number("e")?,
        rho_kg_m3: input.number("rho")?,
        nu: input.number("nu")?,
    })
}

static MODE: Keys = Keys::plain(&[
    needed("i", Shape::Integer(0, u32::MAX as i64), "", "half waves along lx"),
    needed("j", Shape::Integer(0, u32::MAX as i64), "", "half waves along ly"),
    needed("k", Shape::Integer(0, u32::MAX as i64), "", "half waves along lz"),
    gives("f", "Hz", "frequency"),
]);

#[expect(clippy::cast_possible_wrap, reason = "far below the limit")]
const COUNT_MAX: i64 = MODES_MAX as i64;

pub(crate) static CAVITY: Calculation = Calculation {
    name: "cavity",
    title: "standing waves of a rectangular cabinet",
    input: Keys::plain(&[
        needed("lx", Shape::POSITIVE, "m", "inside dimension"),
        needed("ly", Shape::POSITIVE, "m", "inside dimension"),
        needed("lz", Shape::POSITIVE, "m", "inside dimension"),
        needed("count", Shape::Integer(1, COUNT_MAX), "", "how many modes to list"),
        AIR,
    ]),
    output: &[needed(
        "modes",
        Shape::List { of: &Shape::Object(&MODE), min: 1, max: MODES_MAX },
        "",
        "lowest first, equal ones by i, j, k",
    )],
    formula: "f = c/2·√((i/lx)² + (j/ly)² + (k/lz)²)",
    valid: "a rectangular cavity with hard walls",
    source: "H. Kuttruff, Room Acoustics (from memory)",
    example: r#"{"lx": 0.32, "ly": 0.19, "lz": 0.24, "count": 6}"#,
    run: |input| {
        let list = modes(
            input.number("lx")?,
            input.number("ly")?,
            input.number("lz")?,
            input.integer("count")?,
            &air(input)?,
        )?;
        let count = |n: u32| Value::Integer(n.into());
        let rows = list.iter().map(|mode| {
            Value::Object(vec![
                ("i".to_owned(), count(mode.i)),
                ("j".to_owned(), count(mode.j)),
                ("k".to_owned(), count(mode.k)),
                ("f".to_owned(), mode.f_hz.into()),
            ])
        });
        Ok(Answer::new().with("modes", Value::List(rows.collect())))
    },
};

pub(crate) static LINING: Calculation = Calculation {
    name: "lining",
    title: "absorption of a porous layer on a hard wall",
    input: Keys::plain(&[
        needed("sigma", Shape::POSITIVE, "Pa·s/m²", "flow resistivity"),
        needed("thickness", Shape::POSITIVE, "m", "thickness"),
        FREQS,
        AIR,
    ]),
    output: &[
        needed("absorption", NUMBERS, "", "fraction of the energy that does not come back"),
        needed(
            "in_range",
            Shape::List { of: &Shape::Boolean, min: 0, max: usize::MAX },
            "",
            "whether f/sigma lies in the range that the model was fitted to",
        ),
    ],
    formula: "X = f/sigma; Zc = ρ·c·(1 + 0.0699·X^−0.632 − j·0.107·X^−0.632)
        k = ω/c·(1 + 0.109·X^−0.618 − j·0.160·X^−0.618); Zs = −j·Zc·cot(k·thickness)
        absorption = 1 − |(Zs − ρ·c)/(Zs + ρ·c)|²",
    valid: "0.01 < X < 1, normal incidence; outside it is computed and in_range is false",
    source: "M. E. Delany and E. N. Bazley, Appl. Acoust. 3, 105-116, 1970; Y. Miki, J. Acoust. \
        Soc. Jpn (E) 11(1) 19-24, 1990",
    example: r#"{"sigma": 5000, "thickness": 0.05, "freqs": [250, 500, 1000, 2000]}"#,
    run: |input| {
        let air = air(input)?;
        let layer = Lining {
            sigma_pa_s_m2: input.number("sigma")?,
            thickness_m: input.number("thickness")?,
        };
        let all = each(input, &input.numbers("freqs")?, |f| layer.absorption(f, &air))?;
        Ok(Answer::new()
            .with("absorption", all.iter().map(|it| it.alpha).collect::<Vec<_>>())
            .with("in_range", all.iter().map(|it| it.in_range).collect::<Vec<_>>()))
    },
};

const FRACTION: Shape = Shape::Number(Range::HalfOpen(0.0, 1.0));

pub(crate) static CAVITY_Q: Calculation = Calculation {
    name: "cavity-q",
    title: "Q of a standing wave between two walls that absorb",
    input: Keys::plain(&[
        needed("order", Shape::Integer(1, u32::MAX as i64), "", "half waves between the walls"),
        needed("alpha_1", FRACTION, "", "absorption of one wall"),
        needed("alpha_2", FRACTION, "", "absorption of the other; not both are 0"),
    ]),
    output: &[gives("q", "", "Q of the mode")],
    formula: "q = π·order/(−ln √((1 − alpha_1)·(1 − alpha_2)))",
    valid: "an axial mode between parallel walls",
    source: "derived from the energy lost at each reflection",
    example: r#"{"order": 1, "alpha_1": 0.5, "alpha_2": 0.02}"#,
    run: |input| {
        let (one, two) = (input.number("alpha_1")?, input.number("alpha_2")?);
        Ok(Answer::new().with("q", axial_mode_q(input.integer("order")?, one, two)?))
    },
};

pub(crate) static CHAMBER: Calculation = Calculation {
    name: "chamber",
    title: "what the woofer does to a midrange in the same air",
    input: Keys::plain(&[
        needed("woofer_sd", Shape::POSITIVE, "m²", "area of the woofer"),
        needed("excursion", Shape::POSITIVE, "m", "peak excursion of the woofer"),
        needed("vb", Shape::POSITIVE, "m³", "net volume of the box"),
        needed("mid_sd", Shape::POSITIVE, "m²", "area of the midrange"),
        needed("mid_cms", Shape::POSITIVE, "m/N", "compliance of the midrange"),
        AIR,
    ]),
    output: &[
        gives("pressure_peak", "Pa", "peak pressure in the box"),
        gives("spl_peak", "dB", "rms level of the sinusoid with that peak"),
        gives("mid_excursion", "m", "peak excursion forced on the midrange"),
    ],
    formula: "pressure_peak = ρ·c²·woofer_sd·excursion/vb
        spl_peak = 20·log10(pressure_peak/√2/20 µPa)
        mid_excursion = pressure_peak·mid_sd/(1/mid_cms + ρ·c²·mid_sd²/vb)",
    valid: "below the resonance of the midrange, an airtight box",
    source: "derived from the stiffness of the enclosed air",
    example: r#"{"woofer_sd": 0.0133, "excursion": 0.004, "vb": 0.024, "mid_sd": 0.0055,
        "mid_cms": 0.0007}"#,
    run: |input| {
        let shared = shared_chamber(
            input.number("woofer_sd")?,
            input.number("excursion")?,
            input.number("vb")?,
            input.number("mid_sd")?,
            input.number("mid_cms")?,
            &air(input)?,
        )?;
        Ok(Answer::new()
            .with("pressure_peak", shared.pressure_peak_pa)
            .with("spl_peak", shared.spl_peak_db)
            .with("mid_excursion", shared.mid_excursion_m))
    },
};
