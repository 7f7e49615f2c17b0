//! Driver parameters from a measured impedance.

use physics::fit::{Fixed, ImpedanceFit, fit};
use physics::sweep::SweepRow;

use crate::answer::Answer;
use crate::fault::Fault;
use crate::input::Input;
use crate::shape::{Calculation, Field, Keys, Range, Shape, gives, needed, optional};
use crate::value::Value;

/// The fewest and the most rows of a sweep.
const ROWS_MIN: usize = 20;
const ROWS_MAX: usize = 20_000;

static FIX: Keys = Keys::plain(&[
    optional("re", Shape::POSITIVE, "ohm", "resistance from a direct-current reading"),
    optional("n", Shape::Number(Range::Closed(0.5, 1.0)), "", "exponent of the coil"),
]);

const PARAMETERS: &[Field] = &[
    gives("re", "ohm", "resistance of the voice coil"),
    gives("res", "ohm", "height of the impedance peak above re"),
    gives("fs", "Hz", "resonance"),
    gives("qms", "", "mechanical Q"),
    gives("k", "ohm·sⁿ", "factor of the lossy coil"),
    gives("n", "", "exponent of the lossy coil"),
    gives("qes", "", "electrical Q"),
    gives("qts", "", "total Q"),
];
static UNCERTAINTIES: Keys = Keys::plain(PARAMETERS);

static CORRELATIONS: Keys = Keys::plain(&[
    needed("k,n", Shape::Nullable(&Shape::ANY), "", "of k and n; null when n is fixed"),
    needed("res,qms", Shape::Nullable(&Shape::ANY), "", "of res and qms"),
]);

pub(crate) static IMPEDANCE_FIT: Calculation = Calculation {
    name: "impedance-fit",
    title: "driver parameters from an impedance sweep, with uncertainties",
    input: Keys::plain(&[
        needed(
            "sweep",
            Shape::List {
                of: &Shape::List { of: &Shape::ANY, min: 2, max: 3 },
                min: ROWS_MIN,
                max: ROWS_MAX,
            },
            "Hz, ohm, °",
            "rows of frequency, magnitude and, in all or none, phase; from fs/3 to 3·fs at least",
        ),
        optional("fix", Shape::Object(&FIX), "", "parameters that are known and not fitted"),
    ]),
    output: &[
        gives("re", "ohm", "resistance of the voice coil"),
        gives("res", "ohm", "height of the impedance peak above re"),
        gives("fs", "Hz", "resonance"),
        gives("qms", "", "mechanical Q"),
        gives("qes", "", "electrical Q"),
        gives("qts", "", "total Q"),
        gives("k", "ohm·sⁿ", "factor of the lossy coil"),
        gives("n", "", "exponent of the lossy coil"),
        gives("le_1k", "H", "inductance that the coil shows at 1 kHz"),
        gives("le_10k", "H", "inductance that the coil shows at 10 kHz"),
        gives("rss", "", "sum of the squared residuals, each a share of the measured magnitude"),
        needed("u", Shape::Object(&UNCERTAINTIES), "", "standard uncertainties; 0 of a fixed one"),
        needed("corr", Shape::Object(&CORRELATIONS), "", "correlations"),
    ],
    formula: "Z = re + res/(1 + j·qms·(f/fs − fs/f)) + k·(jω)ⁿ; qes = qms·re/res
        qts = qms·re/(re + res); le = k·ω^(n−1)·sin(n·π/2)
        least squares of (|Z| − measured)/measured, with phase of real and imaginary part
        covariance = rss/(N − p)·(JᵀJ)⁻¹",
    valid: "one peak, small signals, noise of a constant percentage; 0.5 ≤ n ≤ 1",
    source: "W. M. Leach Jr., Loudspeaker Voice-Coil Inductance Losses, JAES 50(6) 442-450, 2002; \
        J. R. Wright, JAES 38(10) 749-754, 1990 (from memory)",
    example: include_str!("fit_example.json"),
    run,
};

fn run(input: &Input) -> Result<Answer, Fault> {
    let rows = rows(input)?;
    let fixed = if input.has("fix") {
        let fix = input.object("fix", &FIX)?;
        Fixed { re_ohm: fix.number_if_given("re"), n: fix.number_if_given("n") }
    } else {
        Fixed::default()
    };
    let found = fit(&rows, &fixed).map_err(|why| Fault::from(why).or_of("sweep"))?;
    let model = &found.model;
    Ok(Answer::new()
        .with("re", model.re_ohm)
        .with("res", model.res_ohm)
        .with("fs", model.fs_hz)
        .with("qms", model.qms)
        .with("qes", model.qes())
        .with("qts", model.qts())
        .with("k", model.k)
        .with("n", model.n)
        .with("le_1k", model.le_h(1000.0))
        .with("le_10k", model.le_h(10_000.0))
        .with("rss", found.rss)
        .with("u", uncertainties(&found))
        .with("corr", correlations(&found)))
}

/// Rows of two or three numbers, all of them alike. A frequency or magnitude that is none is named here,
/// by its column; what is wrong between rows `physics` finds.
fn rows(input: &Input) -> Result<Vec<SweepRow>, Fault> {
    let rows = input.rows("sweep")?;
    let columns = rows.first().map_or(0, Vec::len);
    let row = |(at, row): (usize, &Vec<f64>)| match row.as_slice() {
        [f_hz, z_ohm, phase @ ..] if row.len() == columns => {
            for (column, number) in [f_hz, z_ohm].into_iter().enumerate() {
                if !Range::Positive.holds(*number) {
                    return Err(Fault::out_of_domain(
                        format!("sweep[{at}][{column}]"),
                        format!("{number} stands where {} is needed", Range::Positive.words()),
                    ));
                }
            }
            Ok(SweepRow { f_hz: *f_hz, z_ohm: *z_ohm, phase_deg: phase.first().copied() })
        }
        _ => Err(Fault::inconsistent(
            format!("sweep[{at}]"),
            format!("a row of {} stands among rows of {columns}", row.len()),
        )),
    };
    rows.iter().enumerate().map(row).collect()
}

fn uncertainties(found: &ImpedanceFit) -> Value {
    let [re, res, fs, qms, k, n] = found.u;
    let all = [re, res, fs, qms, k, n, found.u_qes, found.u_qts];
    let entries = PARAMETERS.iter().zip(all).map(|(it, u)| (it.key.to_owned(), u.into()));
    Value::Object(entries.collect())
}

/// Places of the parameters: re, res, fs, qms, k, n.
fn correlations(found: &ImpedanceFit) -> Value {
    Value::Object(vec![
        ("k,n".to_owned(), found.correlation(4, 5).into()),
        ("res,qms".to_owned(), found.correlation(1, 3).into()),
    ])
}
