//! Claims about the twelve invented products, and what holds of all claims.

use std::collections::HashMap;

use domain::draw::Stream;
use proptest::prelude::*;

use super::*;
use crate::{
    dominance::beaten,
    fixture::{TWELVE, WEIGHTS, near, place},
    gates::DELTA_S,
    offered::made::{around, offer, twelve},
    prevalence::Quantity,
    profile::Profile,
    value::drawn_value,
    verdict::{Case, unbeaten},
    weighting::Weightings,
};

const DRAWS: usize = 10_000;

/// The index of the twelve, weights around the user's.
fn index() -> Drawn {
    let profiles: Vec<Profile<'_>> = twelve().iter().map(|it| it.profile).collect();
    Drawn::of_profiles(&profiles, &around(DRAWS, "claims"), &WEIGHTS, DELTA_S)
}

/// Values with a normal doubt of `u` each, independent of each other.
fn with_doubt(values: &[f64], u: f64) -> Drawn {
    let mut stream = Stream::named("doubt");
    let profiles: Vec<Profile<'_>> = values
        .iter()
        .map(|value| {
            let draws: Vec<f64> =
                (0..DRAWS).map(|_| (value + u * stream.normal()).clamp(0.0, 100.0)).collect();
            offer("", 100.0, &[draws]).profile
        })
        .collect();
    let weights = Weightings::fixed(&[1.0], DRAWS).unwrap();
    Drawn::of_profiles(&profiles, &weights, &[1.0], DELTA_S)
}

fn crossovers(u: f64) -> Drawn {
    with_doubt(&TWELVE.map(|it| it.2[2]), u)
}

fn best(drawn: &Drawn, name: &str) -> Test<Superlative> {
    superlative(drawn, place(name), End::Best, 2).unwrap()
}

/// Yes, undetermined and no, so many of each.
fn answers(yes: usize, unknown: usize, no: usize) -> Vec<Answer> {
    let of = std::iter::repeat_n;
    of(Answer::Yes, yes)
        .chain(of(Answer::Undetermined, unknown))
        .chain(of(Answer::No, no))
        .collect()
}

fn count(yes: usize, unknown: usize, no: usize, it: Quantifier, of: Population) -> Test<Count> {
    prevalence(&answers(yes, unknown, no), it, of).unwrap()
}

const MOST: Quantifier = Quantifier::Share(Quantity::Most);

/// P by numpy 2.4.6 with 200,000 draws of Dirichlet(40 w); the lead from the weighted means of scikit-criteria.
#[test]
fn check_9_5_best_l_in_all_is_supported() {
    let it = best(&index(), "L");
    assert_eq!(it.world, World::Holds);
    near(it.p.unwrap(), 0.9999, 0.001);
    near(it.detail.lead, 6.7, 1e-9);
    assert_eq!((it.n, it.detail.among, it.detail.rival), (12, 1, Some(place("J"))));
}

/// By hand: crossover 52 against 81.
#[test]
fn check_9_5_best_j_crossover_is_contradicted_by_k() {
    let it = best(&crossovers(0.0), "J");
    assert_eq!((it.world, it.detail.rival), (World::Fails, Some(place("K"))));
    assert_eq!(it.p, Some(0.0));
}

/// Exact quadrature in scipy 1.17.1; 10,000 draws are good to four standard errors, 0.009 and 0.018.
#[test]
fn check_9_5_best_k_crossover_depends_on_the_doubt() {
    let it = best(&crossovers(3.0), "K");
    near(it.p.unwrap(), 0.946_471_393_2, 0.009);
    near(it.detail.lead, 7.0, 1.0);
    assert_eq!((it.world, it.detail.rival), (World::Holds, Some(place("I"))));
    let pair = comparative(&crossovers(3.0), place("K"), place("I")).unwrap();
    near(pair.p.unwrap(), 0.950_519_923_0, 0.009);
    near(pair.detail.difference, 7.0, 0.2);

    let it = best(&crossovers(6.0), "K");
    near(it.p.unwrap(), 0.710_592_677_7, 0.018);
    assert_eq!(it.world, World::Open);
}

/// By hand: 72.05 and 71.5 differ by 0.55, less than 2.
#[test]
fn check_9_5_j_and_i_are_level() {
    let it = comparative(&index(), place("J"), place("I")).unwrap();
    assert!(it.detail.level);
    near(it.detail.difference, 0.55, 1e-9);
    assert_eq!(it.world, World::Open);
    let it = comparative(&index(), place("L"), place("E")).unwrap();
    assert_eq!(it.world, World::Holds);
    let it = comparative(&index(), place("E"), place("L")).unwrap();
    assert_eq!(it.world, World::Fails);
}

/// Limits by statsmodels 0.15.0 `proportion_confint(method="beta")`, p by scipy 1.17.1 `binomtest`.
#[test]
fn check_9_5_most_of_a_market_and_of_those_opened() {
    let it = count(9, 0, 3, MOST, Population::Market);
    assert_eq!(it.world, World::Open);
    near(it.interval.unwrap().low, 0.472_673_396_4, 1e-9);
    near(it.interval.unwrap().high, 0.928_129_744_5, 1e-9);
    assert_eq!(count(9, 0, 3, MOST, Population::Opened).world, World::Holds);
    assert_eq!(count(10, 0, 2, MOST, Population::Market).world, World::Holds);
    let it = count(13, 1, 1, MOST, Population::Market);
    assert_eq!(it.world, World::Holds);
    near(it.interval.unwrap().low, 0.636_558_234_5, 1e-9);
}

/// The bound is 1 - 0.05^(1/12) = 0.2209.
#[test]
fn check_9_5_none_of_twelve() {
    assert_eq!(count(0, 0, 12, Quantifier::None, Population::Opened).world, World::Holds);
    let it = count(0, 0, 12, Quantifier::None, Population::Market);
    assert_eq!(it.world, World::Open);
    near(it.detail.zero_bound.unwrap(), 0.220_922_191_9, 1e-9);
    let it = count(1, 0, 11, Quantifier::None, Population::Market);
    assert_eq!((it.world, it.deciding), (World::Fails, vec![0]));
}

/// scipy 1.17.1 `percentileofscore(kind="mean")`.
#[test]
fn check_9_5_typical_g() {
    let it = typical(&index(), place("G")).unwrap();
    assert_eq!(it.detail.from_bottom, 7);
    near(it.detail.percentile, 54.166_666_666_7, 1e-9);
    assert_eq!(typical(&index(), place("L")).unwrap().world, World::Fails);
}

/// Probabilities by numpy 2.4.6, see the verdicts of [`crate::verdict`].
#[test]
fn check_9_5_unbeaten() {
    let (offers, weights) = (twelve(), around(DRAWS, "claims"));
    let beaten = beaten(&offers, &weights, DRAWS, 2).unwrap();
    let values = drawn_value(&offers, &weights, 4000, 1, 2).unwrap().unwrap();
    let of = |name: &str| {
        let product = place(name);
        let it = values.iter().find(|it| it.product == product);
        let case = Case {
            product,
            n_band: 12,
            coverage: 1.0,
            price_is_stale: false,
            value: it,
            beaten: &beaten,
        };
        value(&case, unbeaten)
    };
    assert_eq!(of("F").world, World::Holds);
    assert_eq!(of("L").world, World::Open);
    assert_eq!(of("K").world, World::Fails);
    assert_eq!(of("K").deciding, [place("K"), place("F")]);
    assert_eq!(of("E").world, World::Fails);
}

#[test]
fn check_9_5_only_with_one_undetermined_is_too_few() {
    let mut nine = answers(1, 1, 7);
    let it = only(&nine, 0);
    assert_eq!(it.world, World::Gated(Gate::Undetermined { count: 1 }));
    assert_eq!((it.n, it.deciding), (9, vec![1]));
    nine[1] = Answer::No;
    assert_eq!(only(&nine, 0).world, World::Holds);
    assert_eq!(only(&nine, 5).world, World::Fails);
    nine[3] = Answer::Yes;
    assert_eq!((only(&nine, 0).world, only(&nine, 0).deciding), (World::Fails, vec![3]));
}

/// Normal distribution function of scipy 1.17.1.
#[test]
fn check_5_3_thresholds() {
    let of = |u| threshold(Some(Reading { value: 42.0, u }), Side::AtLeast, 40.0).unwrap();
    near(of(1.0).p.unwrap(), 0.977_249_868_1, 1e-9);
    assert_eq!(of(1.0).world, World::Holds);
    near(of(1.5).p.unwrap(), 0.908_788_780_3, 1e-9);
    assert_eq!(of(1.5).world, World::Open);
    let below = threshold(Some(Reading { value: 42.0, u: 1.0 }), Side::AtMost, 40.0).unwrap();
    assert_eq!(below.world, World::Fails);
    assert_eq!(
        threshold(None, Side::AtLeast, 1.0).unwrap().world,
        World::Gated(Gate::Undetermined { count: 1 })
    );
    let all = |list: &[Option<Reading>]| threshold_of_all(list, Side::AtLeast, 40.0).unwrap().world;
    let at = |value| Some(Reading { value, u: 0.5 });
    assert_eq!(all(&[at(42.0), at(50.0)]), World::Holds);
    assert_eq!(all(&[at(42.0), at(40.0)]), World::Open);
    assert_eq!(all(&[at(42.0), None]), World::Gated(Gate::Undetermined { count: 1 }));
    assert_eq!(all(&[at(42.0), None, at(30.0)]), World::Fails);
}

/// tau-b by scipy 1.17.1 `kendalltau`.
#[test]
fn check_8_price_and_index_rise_together() {
    let prices = TWELVE.map(|it| it.1);
    let it = association(&index(), &prices, Trend::Rises).unwrap();
    assert_eq!(it.world, World::Holds);
    assert_eq!(association(&index(), &prices, Trend::Falls).unwrap().world, World::Fails);
    let it = association(&crossovers(0.0), &prices, Trend::Rises).unwrap();
    near(it.detail.unwrap().tau_b, 0.461_593_091_2, 1e-9);
    let few = with_doubt(&[10.0, 20.0, 30.0, 40.0, 50.0, 60.0, 70.0], 0.0);
    let it = association(&few, &prices[..7], Trend::Rises).unwrap();
    assert_eq!(it.world, World::Gated(Gate::Count { found: 7, needed: 8 }));
}

#[test]
fn gates_come_first_then_hard_findings_then_all() {
    use World::{Fails, Gated, Holds, Open};
    let gate = Gated(Gate::Coverage);
    let table = HashMap::from([
        ((Holds, Holds), Verdict::Supported),
        ((Holds, Open), Verdict::Supported),
        ((Fails, Holds), Verdict::Contradicted),
        ((Open, Holds), Verdict::DependsOnInferred),
        ((Open, Fails), Verdict::DependsOnInferred),
        ((Open, Open), Verdict::NotSupported),
        ((gate, Holds), Verdict::DependsOnInferred),
        ((gate, Open), Verdict::NotSupported),
        ((Holds, gate), Verdict::TooFew),
        ((gate, gate), Verdict::TooFew),
    ]);
    for ((hard, all), verdict) in table {
        assert_eq!(settle(hard, all), verdict, "{hard:?} {all:?}");
    }
    assert_eq!(less_favourable(Holds, Holds), Holds);
    assert_eq!(less_favourable(Holds, Open), Open);
    assert_eq!(less_favourable(Holds, Fails), Open);
    assert_eq!(less_favourable(Open, gate), gate);
}

#[test]
fn few_products_make_no_superlative_and_nobody_ordinary() {
    let four = with_doubt(&[80.0, 60.0, 40.0, 20.0], 0.0);
    let gate = World::Gated(Gate::Count { found: 4, needed: 5 });
    assert_eq!(superlative(&four, 0, End::Best, 1).unwrap().world, gate);
    let seven = with_doubt(&[80.0, 60.0, 40.0, 20.0, 10.0, 5.0, 1.0], 0.0);
    assert_eq!(superlative(&seven, 6, End::Worst, 1).unwrap().world, World::Holds);
    let gate = World::Gated(Gate::Count { found: 7, needed: 8 });
    assert_eq!(typical(&seven, 3).unwrap().world, gate);
    let close = with_doubt(&[81.0, 80.0, 40.0, 20.0, 10.0], 0.0);
    let it = superlative(&close, 0, End::Best, 1).unwrap();
    assert!(it.detail.joint && it.world == World::Open);
}

/// Draws around some middles, each with the same deviates on both sides of 0, spread by a factor.
fn spread(middles: &[f64], factor: f64) -> Drawn {
    let mut stream = Stream::named("spread");
    let profiles: Vec<Profile<'_>> = middles
        .iter()
        .map(|middle| {
            let mut z: Vec<f64> = (0..150).map(|_| stream.unit()).collect();
            z.extend(z.clone().iter().map(|it| -it));
            stream.shuffle(&mut z);
            let draws = z.iter().map(|z| middle + factor * z).collect();
            offer("", 100.0, &[draws]).profile
        })
        .collect();
    Drawn::of_profiles(&profiles, &Weightings::fixed(&[1.0], 300).unwrap(), &[1.0], DELTA_S)
}

fn kleene() -> impl Strategy<Value = Answer> {
    prop_oneof![Just(Answer::Yes), Just(Answer::No), Just(Answer::Undetermined)]
}

const QUANTIFIERS: [Quantifier; 9] = [
    Quantifier::All,
    Quantifier::None,
    Quantifier::Share(Quantity::Most),
    Quantifier::Share(Quantity::Few),
    Quantifier::Share(Quantity::NearlyAll),
    Quantifier::Share(Quantity::AboutHalf),
    Quantifier::AtLeast(3),
    Quantifier::AtMost(3),
    Quantifier::Exactly(3),
];

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn more_doubt_never_bears_a_claim_out(
        middles in prop::collection::vec(20.0..80.0_f64, 8..12),
        narrow in 0.1..8.0_f64,
        wider in 1.0..2.5_f64,
    ) {
        let (one, other) = (spread(&middles, narrow), spread(&middles, narrow * wider));
        let holds = |it: World| it == World::Holds;
        for i in 0..middles.len() {
            let of = |drawn| superlative(drawn, i, End::Best, 1).unwrap().world;
            prop_assert!(holds(of(&one)) || !holds(of(&other)));
            let j = (i + 1) % middles.len();
            let of = |drawn| comparative(drawn, i, j).unwrap().world;
            prop_assert!(holds(of(&one)) || !holds(of(&other)));
        }
        let prices: Vec<f64> = (0..middles.len()).map(|it| 100.0 + it as f64).collect();
        let of = |drawn| association(drawn, &prices, Trend::Rises).unwrap().world;
        prop_assert!(holds(of(&one)) || !holds(of(&other)));
    }

    #[test]
    fn a_wider_reading_is_never_surer(value in -50.0..50.0_f64, u in 0.0..20.0_f64, more in 0.0..20.0_f64) {
        for side in [Side::AtLeast, Side::AtMost] {
            let of = |u| threshold(Some(Reading { value, u }), side, 0.0).unwrap().world;
            prop_assert!(of(u) == World::Holds || of(u + more) != World::Holds);
        }
    }

    #[test]
    fn not_looking_never_bears_a_count_out(
        mut list in prop::collection::vec(kleene(), 1..30),
        at in any::<prop::sample::Index>(),
    ) {
        let of = |list: &[Answer]| -> Vec<World> {
            let both = [Population::Opened, Population::Market];
            let all = QUANTIFIERS.iter().flat_map(|it| both.map(|of| (*it, of)));
            all.map(|(it, of)| prevalence(list, it, of).unwrap().world)
                .chain([only(list, 0).world])
                .collect()
        };
        let before = of(&list);
        let at = at.index(list.len());
        list[at] = Answer::Undetermined;
        for (before, after) in before.into_iter().zip(of(&list)) {
            prop_assert!(before == World::Holds || after != World::Holds);
            prop_assert!(before == World::Fails || after != World::Fails);
        }
    }

    #[test]
    fn a_count_of_those_opened_holds_exactly_where_counting_does(yes in 0_usize..20, no in 0_usize..20) {
        prop_assume!(yes + no > 0);
        let (k, n) = (yes as f64, (yes + no) as f64);
        for (it, wanted) in [
            (Quantifier::Share(Quantity::Most), k > n / 2.0),
            (Quantifier::Share(Quantity::Few), k < n / 4.0),
            (Quantifier::Share(Quantity::NearlyAll), k > 3.0 * n / 4.0),
            (Quantifier::Share(Quantity::AboutHalf), k >= n / 4.0 && k <= 3.0 * n / 4.0),
        ] {
            let wanted = if wanted { World::Holds } else { World::Fails };
            prop_assert_eq!(count(yes, 0, no, it, Population::Opened).world, wanted);
        }
    }

    #[test]
    fn others_say_nothing_of_two(middles in prop::collection::vec(20.0..80.0_f64, 3..9)) {
        let two = comparative(&spread(&middles[..2], 4.0), 0, 1).unwrap();
        let among = comparative(&spread(&middles, 4.0), 0, 1).unwrap();
        prop_assert_eq!(two, among);
    }

    #[test]
    fn kleene_logic_is_that_of_two_values_where_all_is_known(a in kleene(), b in kleene()) {
        prop_assert_eq!(not(all_of([a, b])), any_of([not(a), not(b)]));
        let known = a != Answer::Undetermined && b != Answer::Undetermined;
        if known {
            let both = a == Answer::Yes && b == Answer::Yes;
            prop_assert_eq!(all_of([a, b]), Answer::from(both));
        }
    }
}
