//! What a few opened products say about all: shares and quantiles.

use standing::confidence::{Level, Limits};
use standing::order::median_interval;
use standing::prevalence::{BadPrevalence, Prevalence, Quantity};
use standing::proportion::MAX_COUNT;
use standing::summary::quantiles;

use crate::answer::Answer;
use crate::fault::Fault;
use crate::fields::{LIMITS, NUMBERS};
use crate::input::Input;
use crate::shape::{Calculation, Field, Keys, Range, Shape, may_give, needed};

const COUNT: Shape = Shape::Integer(0, MAX_COUNT as i64);
const VERDICT: Shape = Shape::Word(&["supported", "contradicted", "not_supported", "too_few"]);
const OUTPUT: &[Field] = &[
    needed("wilson", LIMITS, "", "score limits of the share of the market"),
    needed("jeffreys", LIMITS, "", "the same from the beta distribution with halves"),
    needed("exact", LIMITS, "", "the same so that they cover at least as often as level says"),
    needed("most", VERDICT, "", "whether more than a half of the market has it"),
    needed("few", VERDICT, "", "whether less than a quarter has it"),
    needed("nearly_all", VERDICT, "", "whether more than three quarters have it"),
    may_give("zero_bound", "", "largest share not ruled out at 5 % by none; null unless none"),
];

pub(crate) static PREVALENCE: Calculation = Calculation {
    name: "prevalence",
    title: "the share of a market, from how many of those opened have it",
    input: Keys::plain(&[
        needed("yes", COUNT, "", "how many surely have it"),
        needed("unknown", COUNT, "", "how many may have it"),
        needed("opened", Shape::Integer(1, MAX_COUNT as i64), "", "how many were opened"),
        needed(
            "level",
            Shape::Number(Range::HalfOpen(0.0, 1.0)),
            "",
            "two-sided confidence level of the limits, above 0, such as 0.9",
        ),
    ]),
    output: OUTPUT,
    formula: "low ends with k = yes, high ends with k = yes + unknown; n = opened, p = k/n
        wilson = (p + z²/2n ± z·√(p·(1 − p)/n + z²/4n²))/(1 + z²/n)
        jeffreys: quantiles of Beta(k + ½, n − k + ½); 0 for none, 1 for all
        exact: quantiles of Beta(k, n − k + 1) and Beta(k + 1, n − k); 0 for none, 1 for all
        verdicts by exact 90 % limits whatever level is, supported when all of the interval lies in \
        the range of the word and contradicted when all lies outside
        too_few: below 5 opened for most, below 11 for few and nearly_all
        zero_bound = 1 − 0.05^(1/n)",
    valid: "products picked without regard to what is asked, of a market much larger than the pick",
    source: "L. D. Brown, T. T. Cai and A. DasGupta, Statistical Science 16 (2001) 101-133; C. J. \
        Clopper and E. S. Pearson, Biometrika 26 (1934) 404-413; J. A. Hanley and A. Lippman-Hand, \
        JAMA 249 (1983) 1743-1745; the quarters are editorial",
    example: r#"{"yes": 9, "unknown": 2, "opened": 14, "level": 0.9}"#,
    run: |input| {
        let of = prevalence(input)?;
        let level = Level::new(input.number("level")?)
            .map_err(|why| Fault::out_of_domain("level", why.to_string()))?;
        let verdict = |quantity| of.verdict(quantity).word();
        Ok(Answer::new()
            .with("wilson", ends(of.wilson(level)))
            .with("jeffreys", ends(of.jeffreys(level)))
            .with("exact", ends(of.exact(level)))
            .with("most", verdict(Quantity::Most))
            .with("few", verdict(Quantity::Few))
            .with("nearly_all", verdict(Quantity::NearlyAll))
            .with("zero_bound", of.zero_bound()))
    },
};

pub(crate) static QUANTILES: Calculation = Calculation {
    name: "quantiles",
    title: "quantiles of a list, and between which limits the median of all lies",
    input: Keys::plain(&[
        needed(
            "values",
            Shape::List { of: &Shape::ANY, min: 1, max: MAX_COUNT as usize },
            "",
            "in any order",
        ),
        needed(
            "at",
            Shape::List {
                of: &Shape::Number(Range::Closed(0.0, 1.0)),
                min: 0,
                max: MAX_COUNT as usize,
            },
            "",
            "the probabilities asked for",
        ),
    ]),
    output: &[
        needed("quantiles", NUMBERS, "", "one for each probability, in the unit of the values"),
        needed(
            "median_interval_90",
            Shape::Nullable(&LIMITS),
            "",
            "limits of the median, two-sided 90 %; null below 5 values",
        ),
        needed(
            "median_interval_95",
            Shape::Nullable(&LIMITS),
            "",
            "limits of the median, two-sided 95 %; null below 6 values",
        ),
    ],
    formula: "h = (n + 1/3)·p + 1/3; Q = x₍⌊h⌋₎ + (h − ⌊h⌋)·(x₍⌊h⌋₊₁₎ − x₍⌊h⌋₎), held to the ends
        limits: the r-th smallest and r-th largest value, r the largest with \
        P(Bin(n, ½) ≤ r − 1) ≤ (1 − level)/2",
    valid: "values of independent products; the limits hold for any distribution",
    source: "R. J. Hyndman and Y. Fan, The American Statistician 50 (1996) 361-365, type 8; H. A. \
        David and H. N. Nagaraja, Order Statistics, 2003, 7.1 (from memory)",
    example: r#"{"values": [52.45, 52.25, 61.3, 62.35, 44.05, 69.95, 68.2], "at": [0.25, 0.5, 0.75]}"#,
    run: |input| {
        let values = input.numbers("values")?;
        let refuse = |field: &str, why: &dyn ToString| Fault::out_of_domain(field, why.to_string());
        let found = quantiles(&values, &input.numbers("at")?).map_err(|why| refuse("at", &why))?;
        let median = |level| {
            let limits = median_interval(&values, level).map_err(|why| refuse("values", &why))?;
            Ok::<_, Fault>(limits.map(ends))
        };
        Ok(Answer::new()
            .with("quantiles", found)
            .with("median_interval_90", median(Level::NINETY)?)
            .with("median_interval_95", median(Level::NINETY_FIVE)?))
    },
};

fn prevalence(input: &Input) -> Result<Prevalence, Fault> {
    let (yes, unknown) = (input.integer("yes")?, input.integer("unknown")?);
    Prevalence::new(yes, unknown, input.integer("opened")?).map_err(|why| match why {
        BadPrevalence::TooMany { .. } => Fault::inconsistent("opened", why.to_string()),
        BadPrevalence::Share(_) => Fault::out_of_domain("opened", why.to_string()),
    })
}

/// Two limits as a list.
pub(crate) fn ends(limits: Limits) -> Vec<f64> {
    vec![limits.low, limits.high]
}
