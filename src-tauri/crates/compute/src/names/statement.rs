//! Values with uncertainties: do they agree, and what follows from them.

use physics::consistency::{Entry, Key, consistency};
use physics::uncertainty::{Term, product};
use standing::sensitivity::propagate;

use crate::answer::Answer;
use crate::fault::Fault;
use crate::fields::{AIR, NUMBERS_OR_NULL, air};
use crate::input::Input;
use crate::shape::{Calculation, Keys, Shape, gives, needed, optional};
use crate::value::Value;

static ENTRY: Keys = Keys::plain(&[
    needed("value", Shape::POSITIVE, "SI", "the value"),
    needed("rel_u", Shape::POSITIVE, "", "its standard uncertainty as a fraction of it"),
]);

static ADJUSTED_ENTRY: Keys = Keys::plain(&[
    needed("value", Shape::POSITIVE, "SI", "the value"),
    needed("rel_u", Shape::NON_NEGATIVE, "", "the uncertainty left to it as a fraction"),
]);

/// The parameters that the relations know, each of one shape.
macro_rules! parameters {
    ($shape:expr) => {
        Keys::plain(&[
            optional("fs", $shape, "Hz", "resonance in free air"),
            optional("qms", $shape, "", "mechanical Q at fs"),
            optional("qes", $shape, "", "electrical Q at fs"),
            optional("qts", $shape, "", "total Q at fs"),
            optional("vas", $shape, "m³", "equivalent volume"),
            optional("re", $shape, "ohm", "resistance of the voice coil"),
            optional("bl", $shape, "T·m", "force factor"),
            optional("mms", $shape, "kg", "moving mass with its air load"),
            optional("cms", $shape, "m/N", "compliance of the suspension"),
            optional("rms", $shape, "kg/s", "mechanical resistance"),
            optional("sd", $shape, "m²", "effective area of the cone"),
        ])
    };
}

static ENTRIES: Keys = parameters!(Shape::Object(&ENTRY));
static ADJUSTED: Keys = parameters!(Shape::Object(&ADJUSTED_ENTRY));

static BY_RELATION: Keys = Keys::plain(&[
    optional("r1", Shape::ANY, "", "of fs, mms, cms"),
    optional("r2", Shape::ANY, "", "of vas, sd, cms"),
    optional("r3", Shape::ANY, "", "of qes, fs, mms, re, bl"),
    optional("r4", Shape::ANY, "", "of qms, fs, mms, rms"),
    optional("r5", Shape::ANY, "", "of qts, qms, qes"),
]);

pub(crate) static CONSISTENCY: Calculation = Calculation {
    name: "consistency",
    title: "whether redundant driver parameters agree, and the set that reconciles them",
    input: Keys::plain(&[needed("values", Shape::Object(&ENTRIES), "", "the entered values"), AIR]),
    output: &[
        needed("residuals", Shape::Object(&BY_RELATION), "", "by how much each relation misses"),
        needed("z", Shape::Object(&BY_RELATION), "", "the misses in standard uncertainties"),
        gives("chi2", "", "chi-square of all relations together"),
        needed("dof", Shape::Integer(1, 5), "", "number of independent relations"),
        gives("p_value", "", "chance of a chi-square at least as large if the entries are right"),
        needed("adjusted", Shape::Object(&ADJUSTED), "", "the set that satisfies all relations"),
    ],
    formula: "r1 = ln fs + ½·ln mms + ½·ln cms + ln 2π; r2 = ln vas − ln ρc² − 2·ln sd − ln cms
        r3 = ln qes − ln 2π − ln fs − ln mms − ln re + 2·ln bl
        r4 = ln qms − ln 2π − ln fs − ln mms + ln rms; r5 = 1/qts − 1/qms − 1/qes, linearised
        z = r/u(r); with S = diag(rel_u²): chi2 = rᵀ(A·S·Aᵀ)⁻¹r
        adjusted: ln y − S·Aᵀ(A·S·Aᵀ)⁻¹r, one step",
    valid: "small uncertainties (below 20 %); values of one data sheet agree without being right; \
        relations with a missing member are absent",
    source: "JCGM 100:2008, clause 5 (number from memory)",
    example: r#"{"values": {
        "fs": {"value": 43.5, "rel_u": 0.01}, "mms": {"value": 0.0142, "rel_u": 0.02},
        "cms": {"value": 0.00098, "rel_u": 0.04}, "sd": {"value": 0.0133, "rel_u": 0.015},
        "vas": {"value": 0.0262, "rel_u": 0.05}, "re": {"value": 5.6, "rel_u": 0.005},
        "bl": {"value": 6.1, "rel_u": 0.02}, "qes": {"value": 0.57, "rel_u": 0.03},
        "rms": {"value": 0.85, "rel_u": 0.05}, "qms": {"value": 4.4, "rel_u": 0.05}}}"#,
    run: run_consistency,
};

fn run_consistency(input: &Input) -> Result<Answer, Fault> {
    let values = input.object("values", &ENTRIES)?;
    let mut entries = Vec::new();
    for key in Key::ALL {
        if values.has(key.word()) {
            let entry = values.object(key.word(), &ENTRY)?;
            let (value, rel_u) = (entry.number("value")?, entry.number("rel_u")?);
            entries.push(Entry { key, value, rel_u });
        }
    }
    let found = consistency(&entries, &air(input)?)
        .map_err(|why| Fault::from(why).or_of(&input.path_of("values")))?;
    let by_relation = |of: fn(&physics::consistency::Relation) -> f64| {
        let all = found.relations.iter().map(|it| (it.id.to_owned(), of(it).into()));
        Value::Object(all.collect())
    };
    let adjusted = found.adjusted.iter().map(|it| {
        let both =
            vec![("value".to_owned(), it.value.into()), ("rel_u".to_owned(), it.rel_u.into())];
        (it.key.word().to_owned(), Value::Object(both))
    });
    let mut answer = Answer::new()
        .with("residuals", by_relation(|it| it.residual))
        .with("z", by_relation(|it| it.z))
        .with("chi2", found.chi2)
        .with_integer("dof", i64::try_from(found.dof).unwrap_or(i64::MAX))
        .with("p_value", found.p_value)
        .with("adjusted", Value::Object(adjusted.collect()));
    for it in &found.relations {
        if !it.independent {
            answer = answer.flag(format!("{} follows from the relations before it", it.id));
        }
        if it.z.abs() > 3.0 {
            answer = answer.flag(format!("contradiction: {}", it.id));
        } else if it.z.abs() > 2.0 {
            answer = answer.flag(format!("check: {}", it.id));
        }
    }
    Ok(answer)
}

static TERM: Keys = Keys::plain(&[
    needed("value", Shape::ANY, "SI", "the value, not 0"),
    needed("u", Shape::NON_NEGATIVE, "SI", "its standard uncertainty"),
    needed("power", Shape::ANY, "", "the power it enters with; whole for a negative value"),
]);

pub(crate) static UNCERTAIN_PRODUCT: Calculation = Calculation {
    name: "uncertain-product",
    title: "a product of powers with its standard uncertainty",
    input: Keys::plain(&[needed(
        "terms",
        Shape::List { of: &Shape::Object(&TERM), min: 1, max: 1000 },
        "",
        "the factors, independent of each other",
    )]),
    output: &[
        gives("value", "SI", "the product"),
        gives("u", "SI", "its standard uncertainty"),
        gives("rel_u", "", "the uncertainty as a fraction of the value"),
    ],
    formula: "value = Π valueᵢ^powerᵢ; (u/value)² = Σ (powerᵢ·uᵢ/valueᵢ)²",
    valid: "small uncertainties, terms that do not depend on each other",
    source: "JCGM 100:2008, 5.1.6 (clause number from memory)",
    example: r#"{"terms": [{"value": 0.78539816339, "u": 0, "power": 1},
        {"value": 0.13, "u": 0.0013, "power": 2}]}"#,
    run: |input| {
        let mut terms = Vec::new();
        for it in input.objects("terms")? {
            terms.push(Term {
                value: it.number("value")?,
                u: it.number("u")?,
                power: it.number("power")?,
            });
        }
        let it = product(&terms)?;
        Ok(Answer::new().with("value", it.value).with("u", it.u).with("rel_u", it.rel_u))
    },
};

static WEIGHTED: Keys = Keys::plain(&[
    needed("weight", Shape::ANY, "", "what the value counts"),
    needed("u", Shape::NON_NEGATIVE, "", "its standard uncertainty"),
]);

pub(crate) static NORMAL_SUM: Calculation = Calculation {
    name: "normal-sum",
    title: "the standard uncertainty of a weighted sum, and what each term adds to it",
    input: Keys::plain(&[needed(
        "terms",
        Shape::List { of: &Shape::Object(&WEIGHTED), min: 1, max: 100_000 },
        "",
        "the terms, independent of each other",
    )]),
    output: &[
        gives("u", "", "the standard uncertainty of the sum"),
        needed(
            "shares",
            NUMBERS_OR_NULL,
            "",
            "the share of each term in the square of it; null where nothing is uncertain",
        ),
    ],
    formula: "u² = Σ weightᵢ²·uᵢ²; shareᵢ = weightᵢ²·uᵢ²/u²",
    valid: "terms that do not depend on each other; all in one unit, which is that of the sum",
    source: "JCGM 100:2008, 5.1.2 (clause number from memory); shares: M. Saisana, A. Saltelli, S. Tarantola, \
        Journal of the Royal Statistical Society A 168 (2005) 307-323",
    example: r#"{"terms": [{"weight": 0.3, "u": 2}, {"weight": 0.35, "u": 4},
        {"weight": 0.25, "u": 6}, {"weight": 0.1, "u": 10}]}"#,
    run: |input| {
        let mut terms = Vec::new();
        for it in input.objects("terms")? {
            terms.push((it.number("weight")?, it.number("u")?));
        }
        let it = propagate(&terms).map_err(|why| Fault::out_of_domain("terms", why.to_string()))?;
        Ok(Answer::new().with("u", it.u).with("shares", it.shares))
    },
};
