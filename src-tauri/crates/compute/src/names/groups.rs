//! Two lists of measured values: by how much one lies above the other, and whether they rise together.

use standing::association::{BadPairs, MAX_PAIRS, associate};
use standing::confidence::Level;
use standing::two_groups::{BadGroups, MAX_GROUP, Method, shift};

use super::market::ends;
use crate::answer::Answer;
use crate::fault::{Code, Fault};
use crate::fields::LIMITS;
use crate::shape::{Calculation, Keys, Shape, gives, may_give, needed};

const GROUP: Shape = Shape::List { of: &Shape::ANY, min: 1, max: MAX_GROUP };
const PAIRS: Shape = Shape::List { of: &Shape::ANY, min: 1, max: MAX_PAIRS };

pub(crate) static SHIFT: Calculation = Calculation {
    name: "shift",
    title: "by how much one group of values lies above another",
    input: Keys::plain(&[
        needed("a", GROUP, "", "values of one group"),
        needed("b", GROUP, "", "values of the other, in the same unit"),
    ]),
    output: &[
        gives(
            "hodges_lehmann",
            "",
            "the median of all differences a − b, in the unit of the values",
        ),
        needed(
            "interval_90",
            Shape::Nullable(&LIMITS),
            "",
            "its limits, two-sided 90 %; null where a group has fewer than 4 values",
        ),
        gives("p_value", "", "two-sided probability of ranks so uneven when both are alike"),
    ],
    formula: "hodges_lehmann = median of aᵢ − bⱼ; U = how many of these are above 0, ties a half
        interval_90: the c-th smallest and c-th largest difference, c the largest with \
        P(U ≤ c − 1) ≤ 0.05 without ties
        p_value = min(1, 2·min(P(U ≤ u), P(U ≥ u))) without ties; with ties the share of all \
        regroupings with |U − nm/2| as large, up to 200,000 of them, beyond that the normal \
        approximation with corrections for ties and for steps of a half",
    valid: "independent products; the limits also ask that the groups differ by a shift alone; \
        beyond 40,000 pairs the normal approximation serves in all cases, and a flag says so",
    source: "J. L. Hodges and E. L. Lehmann, Annals of Mathematical Statistics 34 (1963) 598-611; \
        H. B. Mann and D. R. Whitney, Annals of Mathematical Statistics 18 (1947) 50-60",
    example: r#"{"a": [52.45, 61.3, 62.35, 69.95], "b": [44.05, 52.25, 65.75, 68.2, 71.5]}"#,
    run: |input| {
        let (a, b) = (input.numbers("a")?, input.numbers("b")?);
        let it = shift(&a, &b, Level::NINETY).map_err(|why| {
            let field = match why {
                BadGroups::Size { group, .. } => group.to_string(),
                BadGroups::Value { group, place, .. } => {
                    format!("{group}[{}]", place.saturating_sub(1))
                }
                BadGroups::Range => "hodges_lehmann".to_owned(),
            };
            Fault::out_of_domain(field, why.to_string())
        })?;
        Ok(Answer::new()
            .with("hodges_lehmann", it.shift)
            .with("interval_90", it.interval.map(ends))
            .with("p_value", it.p_value)
            .flag_if(it.method == Method::Normal, "p_value is a normal approximation"))
    },
};

pub(crate) static ASSOCIATION: Calculation = Calculation {
    name: "association",
    title: "whether two things rise together",
    input: Keys::plain(&[
        needed("x", PAIRS, "", "one value a product"),
        needed("y", PAIRS, "", "another value of the same products, in the same order"),
    ]),
    output: &[
        gives("tau_b", "", "Kendall's rank correlation, −1 to 1"),
        may_give("p_value", "", "two-sided probability of one so large by chance; null below 5 pairs"),
        needed(
            "interval_90",
            Shape::Nullable(&LIMITS),
            "",
            "limits of tau_b, two-sided 90 %; null below 8 pairs and at −1 and 1",
        ),
        gives("spearman", "", "the correlation of the mid-ranks, −1 to 1"),
    ],
    formula: "tau_b = (C − D)/√((n₀ − n₁)·(n₀ − n₂)); C pairs in the same order, D in the opposite \
        one, n₀ = n·(n − 1)/2, n₁ and n₂ of equal x and of equal y
        p_value without ties, to 200 pairs: exact, from the orders with so many inversions
        p_value else: of all orders of y to 8 pairs, of 10,000 random ones and this one beyond, the \
        share whose |C − D| is as large; seed 0
        interval_90 = tanh(atanh(tau_b) ± 1.645·√(0.437/(n − 4)))",
    valid: "independent products; within a narrow price band the band itself weakens what hangs on \
        price",
    source: "M. G. Kendall, Biometrika 30 (1938) 81-93 and 33 (1945) 239-251; E. C. Fieller, H. O. \
        Hartley and E. S. Pearson, Biometrika 44 (1957) 470-481 (interval, from memory)",
    example: r#"{"x": [129, 149, 159, 179, 209, 229, 249], "y": [52, 48, 70, 63, 75, 68, 80]}"#,
    run: |input| {
        let (x, y) = (input.numbers("x")?, input.numbers("y")?);
        let it = associate(&x, &y, Level::NINETY).map_err(|why| {
            let message = why.to_string();
            match why {
                BadPairs::Lengths { .. } => Fault::inconsistent("y", message),
                BadPairs::TooFew { .. } => Fault::new(Code::NotApplicable, "x", message),
                BadPairs::Constant { list } => {
                    Fault::new(Code::NotApplicable, list.to_string(), message)
                }
                BadPairs::TooMany { .. } => Fault::out_of_domain("x", message),
                BadPairs::Value { list, place, .. } => {
                    Fault::out_of_domain(format!("{list}[{}]", place.saturating_sub(1)), message)
                }
            }
        })?;
        Ok(Answer::new()
            .with("tau_b", it.tau_b)
            .with("p_value", it.p_value)
            .with("interval_90", it.interval.map(ends))
            .with("spearman", it.spearman))
    },
};
