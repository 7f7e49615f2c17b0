//! A claim put to the test in one state of knowledge: the products and their draws gathered, the test of its kind made.

use domain::{
    claim::{Claim, Family, Kind, Population as Whom},
    key::ProductKey,
};
use standing::{
    association::Association,
    claim::{
        self, Comparison, Count, Drawn, End, Gate, Population, Quantifier, Reading, Superlative,
        Test, Trend, Typical, World,
    },
    confidence::Limits,
    gates::{self, DELTA_S},
    index::Subsystem,
    prevalence::Quantity,
    profile::Profile,
    verdict::{self, Lean},
    weighting::Weightings,
};

use super::{
    read::{self, Asked, Attribute},
    world::State,
};
use crate::{
    Error,
    band::{self, Draws, numbers},
    drawn::{Deck, Fill, Filled},
};
use numbers::internal;

/// A claim with all its words understood. Products are places in the scores.
pub(super) struct Meant<'c> {
    pub(super) claim: &'c Claim,
    pub(super) product: Option<usize>,
    pub(super) than: Option<usize>,
    pub(super) of: Attribute,
    pub(super) having: Option<Asked>,
    pub(super) limit: Option<f64>,
}

impl<'c> Meant<'c> {
    pub(super) fn of(claim: &'c Claim, scored: &crate::scoring::Scored) -> Result<Self, Error> {
        let place =
            |key: &Option<ProductKey>| key.as_ref().map(|key| scored.place(key)).transpose();
        let (product, than) = (place(&claim.product)?, place(&claim.than)?);
        if product.is_some() && product == than {
            return Err(Error::request(
                "than",
                claim.than.as_ref().map_or("", |it| it.as_str()),
                "is the product itself",
                "another product",
            ));
        }
        let of = Attribute::of(&claim.of, scored)?;
        let limit = claim.limit.as_deref().map(|it| of.limit(it)).transpose()?;
        let having = claim.having.as_ref().map(|it| Asked::of(it, scored)).transpose()?;
        Ok(Meant { claim, product, than, of, having, limit })
    }

    /// Whether it needs the drawn scores of products.
    pub(super) fn needs_scores(&self) -> bool {
        match self.claim.kind.family() {
            Family::Value => true,
            Family::Prevalence => false,
            _ => self.having.is_none() && !matches!(self.of, Attribute::Number { .. }),
        }
    }
}

/// How a test came out. Products are places in the scores.
#[derive(Debug, Clone)]
pub(super) struct Tried {
    pub(super) world: World,
    pub(super) n: usize,
    pub(super) p: Option<f64>,
    pub(super) interval: Option<Limits>,
    pub(super) deciding: Vec<usize>,
    pub(super) lean: Lean,
    pub(super) borderline: bool,
    pub(super) said: Said,
}

/// What a sentence needs beside.
#[derive(Debug, Clone)]
pub(super) enum Said {
    /// The subject has no place in the scope, or too little was seen of it.
    Nothing(String),
    Superlative {
        it: Superlative,
        own: f64,
        rival: Option<(usize, f64)>,
    },
    Comparison(Comparison),
    Count(Count),
    Threshold(Option<Reading>),
    Typical {
        it: Typical,
        median: f64,
    },
    Value(String),
    Association(Option<Association>),
}

/// The products of a scope with their draws.
struct Lineup {
    places: Vec<usize>,
    prices: Vec<f64>,
    drawn: Drawn,
}

/// What stands in the way of a lineup.
enum NoLineup {
    /// These cannot be told.
    Undetermined(Vec<usize>),
    /// Nobody is in it.
    Empty,
}

/// How to fill gaps and draw.
#[derive(Clone, Copy)]
pub(super) struct Way<'a> {
    pub(super) fill: Fill<'a>,
    pub(super) draws: Draws,
}

/// The products whose ranks an attribute gives, by what all findings say.
pub(super) fn lined_up(state: &State<'_>, of: &Attribute) -> Vec<usize> {
    match of {
        Attribute::Score => state.field.ranked.iter().map(|it| it.place).collect(),
        Attribute::Subsystem { place, .. } => state
            .field
            .ranked
            .iter()
            .filter(|it| match it.product.subsystems.get(*place).map(|it| it.score) {
                Some(Subsystem::Scored(it)) => gates::covered(it.coverage),
                _ => false,
            })
            .map(|it| it.place)
            .collect(),
        Attribute::Number { .. } => state.opened.clone(),
    }
}

fn lineup(
    state: &State<'_>,
    of: &Attribute,
    keep: &[usize],
    way: Way<'_>,
) -> Result<Result<Lineup, NoLineup>, Error> {
    let draws = way.draws;
    if keep.is_empty() {
        return Ok(Err(NoLineup::Empty));
    }
    let one = Weightings::fixed(&[1.0], draws.draws).map_err(internal)?;
    if let Attribute::Number { id, .. } = of {
        return Ok(of_numbers(state, id, keep, draws, &one));
    }
    let mut places = Vec::new();
    let mut filled: Vec<Filled> = Vec::new();
    let mut prices = Vec::new();
    let weighed: Vec<usize> = state.field.weighed().iter().map(|(_, place, _)| *place).collect();
    for (member, drawn) in state.field.ranked.iter().zip(&state.drawn) {
        if !keep.contains(&member.place) {
            continue;
        }
        places.push(member.place);
        prices.push(member.price.real_pair);
        filled.push(match of {
            Attribute::Subsystem { place, .. } => {
                Filled::new(member.product, drawn, &[*place], way.fill).uncapped()
            }
            _ => Filled::new(member.product, drawn, &weighed, way.fill),
        });
    }
    let slices: Vec<_> = filled.iter().map(Filled::slices).collect();
    let profiles: Vec<Option<Profile<'_>>> =
        filled.iter().zip(&slices).map(|(it, slices)| it.profile(slices)).collect();
    let senseless: Vec<usize> = places
        .iter()
        .zip(&profiles)
        .filter(|(_, it)| it.is_none())
        .map(|(place, _)| *place)
        .collect();
    if !senseless.is_empty() {
        return Ok(Err(NoLineup::Undetermined(senseless)));
    }
    let profiles: Vec<Profile<'_>> = profiles.into_iter().flatten().collect();
    let drawn = if let Attribute::Subsystem { .. } = of {
        Drawn::of_profiles(&profiles, &one, &[1.0], DELTA_S)
    } else {
        let asked: Vec<f64> = state.field.weighed().iter().map(|(_, _, it)| *it).collect();
        let seed = u64::from(draws.seed);
        let near = Weightings::around(&asked, draws.kappa, draws.draws, seed).map_err(internal)?;
        Drawn::of_profiles(&profiles, &near, &asked, DELTA_S)
    };
    Ok(Ok(Lineup { places, prices, drawn }))
}

fn of_numbers(
    state: &State<'_>,
    id: &str,
    keep: &[usize],
    draws: Draws,
    one: &Weightings,
) -> Result<Lineup, NoLineup> {
    let scored = state.scored;
    let rows = crate::cores::on_all_cores(keep, |&at| {
        read::draws(&scored.products[at], id, &scored.spreads, draws.seed)
    });
    let without = |it: &&Option<Vec<f64>>| it.is_none();
    if rows.iter().any(|it| it.is_none()) {
        let of = keep.iter().zip(&rows).filter(|(_, it)| without(it)).map(|(at, _)| *at);
        return Err(NoLineup::Undetermined(of.collect()));
    }
    let mut rows: Vec<Vec<f64>> = rows.into_iter().flatten().collect();
    let all = || rows.iter().flatten().copied();
    let (low, high) =
        (all().fold(f64::INFINITY, f64::min), all().fold(f64::NEG_INFINITY, f64::max));
    let width = if high > low { (high - low) / 100.0 } else { 1.0 };
    rows.iter_mut().flatten().for_each(|it| *it = ((*it - low) / width).clamp(0.0, 100.0));
    let slices: Vec<[Option<&[f64]>; 1]> = rows.iter().map(|it| [Some(it.as_slice())]).collect();
    let profiles: Vec<Profile<'_>> = keep
        .iter()
        .zip(&slices)
        .filter_map(|(at, it)| {
            let key = domain::draw::hash(scored.products[*at].dossier.product.key.as_str());
            Profile::new(it, key, None).ok()
        })
        .collect();
    let price = |at: &usize| {
        let all = state.field.all().chain(state.field.not_ranked.iter().map(|(it, _)| it));
        let mut found = all.filter(|it| it.place == *at);
        found.next().map_or(f64::NAN, |it| it.price.real_pair)
    };
    Ok(Lineup {
        places: keep.to_vec(),
        prices: keep.iter().map(price).collect(),
        drawn: Drawn::of_profiles(&profiles, one, &[1.0], 0.0).scaled(low, width),
    })
}

/// Puts a claim to the test. `keep` are the products of [`lined_up`] by all findings.
pub(super) fn tried(
    meant: &Meant<'_>,
    state: &State<'_>,
    keep: &[usize],
    way: Way<'_>,
) -> Result<Tried, Error> {
    match meant.claim.kind.family() {
        Family::Prevalence => counted(meant, state, way.draws),
        Family::Superlative if meant.having.is_some() => Ok(alone(meant, state, way.draws)),
        Family::Value => worth(meant, state, way),
        Family::Threshold if matches!(meant.of, Attribute::Number { .. }) => {
            limited(meant, state, way.draws)
        }
        _ => ranked(meant, state, keep, way),
    }
}

fn ranked(
    meant: &Meant<'_>,
    state: &State<'_>,
    keep: &[usize],
    way: Way<'_>,
) -> Result<Tried, Error> {
    for at in [meant.product, meant.than].into_iter().flatten() {
        if !keep.contains(&at) {
            return Ok(outside(meant, state, at, keep.len()));
        }
    }
    // Two products are compared by what is known of them alone.
    let pair: Vec<usize> = [meant.product, meant.than].into_iter().flatten().collect();
    let keep = if meant.claim.kind.family() == Family::Comparative { &pair[..] } else { keep };
    let line = match lineup(state, &meant.of, keep, way)? {
        Ok(it) => it,
        Err(NoLineup::Empty) => {
            let gate = Gate::Count { found: 0, needed: gates::MIN_SUPERLATIVE };
            return Ok(Tried::gated(gate, 0, Vec::new(), "nothing in scope can be ranked"));
        }
        Err(NoLineup::Undetermined(which)) => {
            let gate = Gate::Undetermined { count: which.len() };
            return Ok(Tried::gated(gate, keep.len(), which, ""));
        }
    };
    let at =
        |place: Option<usize>| line.places.iter().position(|it| Some(*it) == place).unwrap_or(0);
    let (i, drawn) = (at(meant.product), &line.drawn);
    let place = |it: usize| line.places[it];
    Ok(match meant.claim.kind {
        Kind::Best | Kind::Worst => {
            let end = if meant.claim.kind == Kind::Best { End::Best } else { End::Worst };
            let test = claim::superlative(drawn, i, end, way.draws.threads).map_err(internal)?;
            let middle = |at: usize| drawn.span(at).map(|it| it.1).map_err(internal);
            let rival =
                test.detail.rival.map(|it| Ok::<_, Error>((place(it), middle(it)?))).transpose()?;
            let own = middle(i)?;
            Tried::of(test, &place, |it| Said::Superlative { it, own, rival })
        }
        Kind::More | Kind::Less => {
            let (a, b) = if meant.claim.kind == Kind::More {
                (i, at(meant.than))
            } else {
                (at(meant.than), i)
            };
            Tried::of(claim::comparative(drawn, a, b).map_err(internal)?, &place, Said::Comparison)
        }
        Kind::Typical => {
            let test = claim::typical(drawn, i).map_err(internal)?;
            let mut middles: Vec<f64> = (0..drawn.n())
                .map(|at| drawn.span(at).map(|it| it.1).map_err(internal))
                .collect::<Result<_, _>>()?;
            middles.sort_by(f64::total_cmp);
            let median = standing::summary::quantiles(&middles, &[0.5])
                .map_err(internal)?
                .and_then(|it| it.first().copied())
                .unwrap_or(0.0);
            Tried::of(test, &place, |it| Said::Typical { it, median })
        }
        Kind::Rises | Kind::Falls => {
            let trend = if meant.claim.kind == Kind::Rises { Trend::Rises } else { Trend::Falls };
            let priced: Vec<usize> =
                (0..line.places.len()).filter(|at| line.prices[*at].is_finite()).collect();
            let prices: Vec<f64> = priced.iter().map(|at| line.prices[*at]).collect();
            let of = drawn.only(&priced);
            let test = claim::association(&of, &prices, trend).map_err(internal)?;
            Tried::of(test, &place, Said::Association)
        }
        // A limit of a score.
        _ => {
            let readings: Vec<Option<Reading>> = (0..drawn.n())
                .map(|at| drawn.reading(at).map(Some).map_err(internal))
                .collect::<Result<_, _>>()?;
            limit(meant, &line.places, &readings)?
        }
    })
}

impl Tried {
    fn of<D>(
        test: Test<D>,
        place: &impl Fn(usize) -> usize,
        said: impl FnOnce(D) -> Said,
    ) -> Tried {
        Tried {
            world: test.world,
            n: test.n,
            p: test.p,
            interval: test.interval,
            deciding: test.deciding.into_iter().map(place).collect(),
            lean: test.lean,
            borderline: test.borderline,
            said: said(test.detail),
        }
    }

    fn gated(gate: Gate, n: usize, deciding: Vec<usize>, why: &str) -> Tried {
        Tried {
            world: World::Gated(gate),
            n,
            p: None,
            interval: None,
            deciding,
            lean: Lean::Neither,
            borderline: false,
            said: Said::Nothing(why.to_owned()),
        }
    }
}

/// The subject is none of those that are compared.
fn outside(meant: &Meant<'_>, state: &State<'_>, at: usize, n: usize) -> Tried {
    let label = state.scored.products[at].label();
    let thin = state.field.not_ranked.iter().find(|(it, _)| it.place == at);
    let within = state.field.ranked.iter().any(|it| it.place == at) || state.opened.contains(&at);
    let why = match thin {
        Some((_, why)) => format!("{label} is not ranked: {why}"),
        None if within => format!("too little was seen of the {} of {label}", meant.of.label()),
        None => format!("{label} is not among the products spoken of"),
    };
    Tried::gated(Gate::Coverage, n, vec![at], &why)
}

fn counted(meant: &Meant<'_>, state: &State<'_>, draws: Draws) -> Result<Tried, Error> {
    let answers = answers(meant, state, draws);
    let count = meant.claim.count.unwrap_or(0);
    let quantifier = match meant.claim.kind {
        Kind::All => Quantifier::All,
        Kind::None => Quantifier::None,
        Kind::NearlyAll => Quantifier::Share(Quantity::NearlyAll),
        Kind::AboutHalf => Quantifier::Share(Quantity::AboutHalf),
        Kind::Few => Quantifier::Share(Quantity::Few),
        Kind::AtLeast => Quantifier::AtLeast(count),
        Kind::AtMost => Quantifier::AtMost(count),
        Kind::Exactly => Quantifier::Exactly(count),
        _ => Quantifier::Share(Quantity::Most),
    };
    let population = match meant.claim.population {
        Whom::Opened => Population::Opened,
        Whom::Market => Population::Market,
    };
    let test = claim::prevalence(&answers, quantifier, population).map_err(internal)?;
    Ok(Tried::of(test, &|it| state.opened[it], Said::Count))
}

fn answers(meant: &Meant<'_>, state: &State<'_>, draws: Draws) -> Vec<claim::Answer> {
    let scored = state.scored;
    let Some(having) = &meant.having else { return Vec::new() };
    crate::cores::on_all_cores(&state.opened, |&at| {
        having.answer(&scored.products[at], &scored.spreads, draws.seed)
    })
}

fn alone(meant: &Meant<'_>, state: &State<'_>, draws: Draws) -> Tried {
    let answers = answers(meant, state, draws);
    let at = state.opened.iter().position(|it| Some(*it) == meant.product);
    match (at, meant.product) {
        (Some(at), _) => Tried::of(claim::only(&answers, at), &|it| state.opened[it], Said::Count),
        (None, Some(product)) => outside(meant, state, product, answers.len()),
        (None, None) => Tried::gated(Gate::Coverage, 0, Vec::new(), "no product is named"),
    }
}

fn limited(meant: &Meant<'_>, state: &State<'_>, draws: Draws) -> Result<Tried, Error> {
    let Attribute::Number { id, .. } = &meant.of else {
        return Err(internal("a limit of a number is of none"));
    };
    let scored = state.scored;
    if let Some(at) = meant.product.filter(|it| !state.opened.contains(it)) {
        return Ok(outside(meant, state, at, state.opened.len()));
    }
    let places = meant.product.map_or_else(|| state.opened.clone(), |it| vec![it]);
    let readings = crate::cores::on_all_cores(&places, |&at| {
        read::reading_of(&scored.products[at], id, &scored.spreads, draws.seed)
    });
    limit(meant, &places, &readings)
}

/// One product's reading against the limit, or that of all.
fn limit(
    meant: &Meant<'_>,
    places: &[usize],
    readings: &[Option<Reading>],
) -> Result<Tried, Error> {
    let side = match meant.claim.kind {
        Kind::Above => claim::Side::AtLeast,
        _ => claim::Side::AtMost,
    };
    let limit = meant.limit.unwrap_or(0.0);
    let place = |it: usize| places[it];
    match meant.product {
        Some(product) => {
            let at = places.iter().position(|it| *it == product).unwrap_or(0);
            let reading = readings.get(at).copied().flatten();
            let test = claim::threshold(reading, side, limit).map_err(internal)?;
            Ok(Tried::of(test, &|_| product, |()| Said::Threshold(reading)))
        }
        None => {
            let test = claim::threshold_of_all(readings, side, limit).map_err(internal)?;
            Ok(Tried::of(test, &place, |_| Said::Threshold(None)))
        }
    }
}

fn worth(meant: &Meant<'_>, state: &State<'_>, way: Way<'_>) -> Result<Tried, Error> {
    let field = &state.field;
    let Some(at) = field.ranked.iter().position(|it| Some(it.place) == meant.product) else {
        let product = meant.product.unwrap_or_default();
        return Ok(outside(meant, state, product, field.ranked.len()));
    };
    let filled = numbers::filled(field, &state.drawn, way.fill);
    let values = numbers::value_numbers(field, &filled, way.draws)?;
    let (kind, judge): (_, fn(&verdict::Case<'_>) -> verdict::Judgement) = match meant.claim.kind {
        Kind::GoodValue => ("good value", verdict::good_value),
        Kind::BestValue => ("best value", |case| verdict::best_value(case).0),
        Kind::Overpriced => ("overpriced", verdict::overpriced),
        _ => ("unbeaten", verdict::unbeaten),
    };
    let n = field.ranked.len();
    let case = band::case(&field.ranked[at], n, &values, at);
    let test = claim::value(&case, judge);
    let text = band::worded(kind, field, &values, at, &test.detail, None, &case).text;
    Ok(Tried::of(test, &|it| field.ranked[it].place, |_| Said::Value(text)))
}

/// What other products of a state are worth where a finding is missing, if anything is open at all.
pub(super) fn deck(state: &State<'_>) -> Option<Deck> {
    use crate::drawn::Part;
    let open = |it: &Part| matches!(it, Part::Present { gaps, .. } if !gaps.is_empty());
    let any = state.drawn.iter().any(|it| it.parts.iter().any(open));
    (any && state.field.all().count() <= band::LARGE).then(|| band::deck(&state.field))
}
