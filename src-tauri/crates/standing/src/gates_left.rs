//! What a band still lacks: which statements its number of products does not allow yet, where on the price line another
//! product would say most, and which products lack least to be ranked.

use crate::{
    band::Band,
    gates::{
        COVERAGE_GATE, MIN_BCA, MIN_CURVE, MIN_FEW, MIN_FLAT, MIN_HALF, MIN_LOWESS, MIN_MEDIAN_90,
        MIN_MEDIAN_95, MIN_MOST, MIN_PERCENTILE, MIN_QUARTILES, MIN_RANK, MIN_SHIFT,
        MIN_SUPERLATIVE, MIN_TAU_INTERVAL, MIN_TAU_P, MIN_VALUE, covered,
    },
};

/// A product of the band.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Member {
    /// Its real price for a pair.
    pub price: f64,
    /// The share of the weight that was observed, 0 to 1; from [`COVERAGE_GATE`] up it is ranked.
    pub coverage: f64,
    /// Its kind, from 0.
    pub kind: usize,
}

/// A statement that takes a number of ranked products.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Gate {
    /// Ranks.
    Ranks,
    /// Best and other superlatives.
    Superlative,
    /// What score to expect, from the median of the others.
    ExpectedScore,
    /// Unbeaten, good value, overpriced and best value.
    ValueVerdicts,
    /// A line of score on price.
    PriceLine,
    /// A curve of score on price.
    PriceCurve,
    /// What most of the market has.
    Most,
    /// What few or nearly all of the market have.
    Few,
    /// What about half of the market has.
    Half,
    /// A 90 % interval of a median.
    Median90,
    /// A 95 % interval of a median.
    Median95,
    /// Quartiles.
    Quartiles,
    /// A percentile rank.
    Percentile,
    /// The p value of a rank correlation.
    Correlation,
    /// The interval of a rank correlation.
    CorrelationInterval,
    /// A bootstrap interval.
    Bootstrap,
}

impl Gate {
    /// All of them, with how many ranked products each takes.
    fn all() -> [(Gate, usize); 16] {
        let count = |n: u32| usize::try_from(n).unwrap_or(usize::MAX);
        [
            (Gate::Ranks, MIN_RANK),
            (Gate::Superlative, MIN_SUPERLATIVE),
            (Gate::ExpectedScore, MIN_FLAT),
            (Gate::ValueVerdicts, MIN_VALUE),
            (Gate::PriceLine, MIN_CURVE),
            (Gate::PriceCurve, MIN_LOWESS),
            (Gate::Most, count(MIN_MOST)),
            (Gate::Few, count(MIN_FEW)),
            (Gate::Half, count(MIN_HALF)),
            (Gate::Median90, MIN_MEDIAN_90),
            (Gate::Median95, MIN_MEDIAN_95),
            (Gate::Quartiles, MIN_QUARTILES),
            (Gate::Percentile, MIN_PERCENTILE),
            (Gate::Correlation, MIN_TAU_P),
            (Gate::CorrelationInterval, MIN_TAU_INTERVAL),
            (Gate::Bootstrap, MIN_BCA),
        ]
    }
}

/// A gate that is not reached.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Left {
    /// What it would allow.
    pub gate: Gate,
    /// How many ranked products it takes.
    pub needed: usize,
    /// How many more that is.
    pub more: usize,
    /// Whether the products of the band that are not ranked yet would be enough, without another one.
    pub on_hand: bool,
}

/// How many products of one kind the band has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Kind {
    /// The kind.
    pub kind: usize,
    /// How many are ranked.
    pub ranked: usize,
    /// How many are not.
    pub unranked: usize,
    /// How many more must be ranked until this kind can be held against another.
    pub more: usize,
}

/// A stretch of prices without a ranked product.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gap {
    /// Where it begins: the price of a ranked product, or the low edge of the band.
    pub low: f64,
    /// Where it ends: the price of a ranked product, or the high edge of the band.
    pub high: f64,
    /// Its middle on a logarithmic scale, `sqrt(low high)`.
    pub middle: f64,
}

/// A product that is not ranked.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unranked {
    /// Its place among the members.
    pub place: usize,
    /// What its coverage lacks, a fraction of the weight.
    pub short: f64,
}

/// What a band lacks.
#[derive(Debug, Clone, PartialEq)]
pub struct GatesLeft {
    /// How many of its products are ranked.
    pub ranked: usize,
    /// The gates not reached, the nearest first.
    pub left: Vec<Left>,
    /// Its kinds, the one with the fewest ranked products first.
    pub kinds: Vec<Kind>,
    /// The widest gap between ranked products, by the ratio of its ends: where another product says most about how
    /// score goes with price. The cheapest of several. An edge that the band does not have (no low edge, or 0; no
    /// high edge) ends no gap. `None` where there are no two ends.
    pub gap: Option<Gap>,
    /// The products that are not ranked, the one that lacks least first.
    pub nearest: Vec<Unranked>,
}

/// A product that is no member of the band. Places count from 1.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum BadMember {
    /// A price that is none, or lies outside the band.
    #[error("the price of product {place} is {price}; give a number above 0 inside the band")]
    Price {
        /// Which product.
        place: usize,
        /// The price found.
        price: f64,
    },
    /// A coverage that is no fraction.
    #[error("the coverage of product {place} is {coverage}; give a fraction from 0 to 1")]
    Coverage {
        /// Which product.
        place: usize,
        /// The coverage found.
        coverage: f64,
    },
}

/// What the band lacks. `kinds` is the number of kinds, so that a kind without a product is counted too; a member of
/// a kind beyond it adds one.
///
/// # Errors
/// [`BadMember`] for a price that is not above 0 or lies outside the band, and for a coverage outside 0 to 1.
pub fn gates_left(members: &[Member], band: Band, kinds: usize) -> Result<GatesLeft, BadMember> {
    for (place, it) in (1..).zip(members) {
        let price = it.price;
        if !(price.is_finite() && price > 0.0 && band.contains(price)) {
            return Err(BadMember::Price { place, price });
        }
        if !(0.0..=1.0).contains(&it.coverage) {
            return Err(BadMember::Coverage { place, coverage: it.coverage });
        }
    }
    let ranked = members.iter().filter(|it| covered(it.coverage)).count();
    let on_hand = members.len() - ranked;
    let mut left: Vec<Left> = Gate::all()
        .into_iter()
        .filter(|(_, needed)| *needed > ranked)
        .map(|(gate, needed)| {
            let more = needed - ranked;
            Left { gate, needed, more, on_hand: more <= on_hand }
        })
        .collect();
    left.sort_by_key(|it| it.more);
    let mut nearest: Vec<Unranked> = members
        .iter()
        .enumerate()
        .filter(|(_, it)| !covered(it.coverage))
        .map(|(place, it)| Unranked { place, short: COVERAGE_GATE - it.coverage })
        .collect();
    nearest.sort_by(|a, b| a.short.total_cmp(&b.short));
    Ok(GatesLeft { ranked, left, kinds: by_kind(members, kinds), gap: gap(members, band), nearest })
}

fn by_kind(members: &[Member], kinds: usize) -> Vec<Kind> {
    let mut named: Vec<usize> = (0..kinds).chain(members.iter().map(|it| it.kind)).collect();
    named.sort_unstable();
    named.dedup();
    let mut found: Vec<Kind> = named
        .into_iter()
        .map(|kind| {
            let of_kind = || members.iter().filter(move |it| it.kind == kind);
            let ranked = of_kind().filter(|it| covered(it.coverage)).count();
            let unranked = of_kind().count() - ranked;
            Kind { kind, ranked, unranked, more: MIN_SHIFT.saturating_sub(ranked) }
        })
        .collect();
    found.sort_by_key(|it| it.ranked);
    found
}

fn gap(members: &[Member], band: Band) -> Option<Gap> {
    let ranked = members.iter().filter(|it| covered(it.coverage)).map(|it| it.price);
    let low = band.low().filter(|it| *it > 0.0);
    let mut ends: Vec<f64> = ranked.chain(low).chain(band.high()).collect();
    ends.sort_by(f64::total_cmp);
    let gaps = ends.iter().zip(ends.iter().skip(1));
    gaps.map(|(&low, &high)| Gap { low, high, middle: (low * high).sqrt() })
        // Equal ratios may differ in the last digit.
        .reduce(
            |widest, it| {
                if it.high / it.low > widest.high / widest.low + 1e-12 { it } else { widest }
            },
        )
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::fixture::{TWELVE, near};

    fn member(price: f64, coverage: f64, kind: usize) -> Member {
        Member { price, coverage, kind }
    }

    fn band(low: u32, high: u32) -> Band {
        Band::new(Some(low), Some(high)).unwrap()
    }

    /// Six of the twelve, D to I, from 179 to 279 in a band of 150 to 400; by hand: the widest ratio is 400/279.
    #[test]
    fn six_ranked_products_lack_two_for_a_verdict_and_four_for_a_line() {
        let mut members: Vec<Member> =
            TWELVE[3..9].iter().zip(0..).map(|(it, at)| member(it.1, 0.9, at % 2)).collect();
        members.push(member(160.0, 0.6, 1));
        members.push(member(350.0, 0.2, 1));
        members.push(member(360.0, 0.6499, 2));
        let it = gates_left(&members, band(150, 400), 4).unwrap();
        assert_eq!(it.ranked, 6);
        let of = |gate| it.left.iter().find(|it| it.gate == gate).copied();
        assert_eq!(of(Gate::Ranks), None);
        assert_eq!(of(Gate::Median95), None);
        let verdicts = Left { gate: Gate::ValueVerdicts, needed: 8, more: 2, on_hand: true };
        assert_eq!(it.left[0], verdicts);
        let line = Left { gate: Gate::PriceLine, needed: 10, more: 4, on_hand: false };
        assert_eq!(of(Gate::PriceLine), Some(line));
        assert!(it.left.is_sorted_by_key(|it| it.more));
        let kinds: Vec<_> =
            it.kinds.iter().map(|it| (it.kind, it.ranked, it.unranked, it.more)).collect();
        assert_eq!(kinds, [(2, 0, 1, 4), (3, 0, 0, 4), (0, 3, 0, 1), (1, 3, 2, 1)]);
        let gap = it.gap.unwrap();
        assert_eq!((gap.low, gap.high), (279.0, 400.0));
        near(gap.middle, 334.065_861_8, 1e-6);
        let places: Vec<usize> = it.nearest.iter().map(|it| it.place).collect();
        assert_eq!(places, [8, 6, 7]);
        near(it.nearest[1].short, 0.05, 1e-12);
    }

    #[test]
    fn a_band_without_products_lacks_everything() {
        let it = gates_left(&[], band(100, 400), 0).unwrap();
        assert_eq!((it.ranked, it.left.len(), it.left[0].more), (0, 16, 5));
        assert!(it.left.iter().all(|it| it.more == it.needed && !it.on_hand));
        assert_eq!(it.gap, Some(Gap { low: 100.0, high: 400.0, middle: 200.0 }));
        assert!(it.kinds.is_empty() && it.nearest.is_empty());
    }

    #[test]
    fn an_edge_that_is_not_there_ends_no_gap() {
        let open = Band::new(None, None).unwrap();
        assert_eq!(gates_left(&[], open, 0).unwrap().gap, None);
        assert_eq!(gates_left(&[member(100.0, 1.0, 0)], open, 0).unwrap().gap, None);
        let two = [member(100.0, 1.0, 0), member(400.0, 1.0, 0), member(200.0, 0.1, 0)];
        let gap = gates_left(&two, open, 0).unwrap().gap;
        assert_eq!(gap, Some(Gap { low: 100.0, high: 400.0, middle: 200.0 }));
    }

    #[test]
    fn of_gaps_alike_the_cheapest_is_named() {
        let members = [member(300.0, 1.0, 0), member(100.0, 1.0, 0), member(900.0, 1.0, 0)];
        let gap = gates_left(&members, band(90, 1000), 0).unwrap().gap.unwrap();
        assert_eq!((gap.low, gap.high), (100.0, 300.0));
    }

    #[test]
    fn enough_products_leave_nothing() {
        let members: Vec<Member> =
            (0..20).map(|at| member(100.0 + f64::from(at), 0.65, 0)).collect();
        let it = gates_left(&members, band(100, 200), 1).unwrap();
        assert_eq!((it.ranked, it.left.as_slice(), it.kinds[0].more), (20, &[][..], 0));
    }

    #[test]
    fn what_is_no_member_is_refused() {
        let of =
            |it: Member| gates_left(&[member(150.0, 1.0, 0), it], band(100, 200), 1).unwrap_err();
        for price in [200.0, 99.0, -1.0, f64::NAN] {
            assert!(matches!(of(member(price, 1.0, 0)), BadMember::Price { place: 2, .. }));
        }
        for coverage in [-0.1, 1.1, f64::NAN] {
            assert!(matches!(of(member(150.0, coverage, 0)), BadMember::Coverage { place: 2, .. }));
        }
    }

    proptest! {
        #[test]
        fn ranking_one_more_product_brings_each_gate_one_nearer(
            list in prop::collection::vec((100.0..400.0_f64, 0.0..1.0_f64, 0_usize..3), 0..25),
            price in 100.0..400.0_f64,
        ) {
            let mut members: Vec<Member> =
                list.into_iter().map(|(price, coverage, kind)| member(price, coverage, kind)).collect();
            let before = gates_left(&members, band(100, 400), 3).unwrap();
            members.push(member(price, 1.0, 0));
            let after = gates_left(&members, band(100, 400), 3).unwrap();
            for it in &before.left {
                let now = after.left.iter().find(|other| other.gate == it.gate).map_or(0, |it| it.more);
                prop_assert_eq!(now + 1, it.more);
            }
            let ratio = |it: &GatesLeft| it.gap.map_or(1.0, |it| it.high / it.low);
            prop_assert!(ratio(&after) <= ratio(&before) + 1e-9);
            prop_assert_eq!(after.ranked + after.nearest.len(), members.len());
        }
    }
}
