//! The sentence that may be printed of a claim, and why its verdict is the one it is.
//!
//! Each names how many products it rests on and the date, and has no adjective that the test did not earn.

use domain::claim::{Family, Kind, Population};
use standing::{
    claim::{Gate, Verdict, World},
    too_few::place_of,
    verdict::Lean,
};

use super::{
    read::Attribute,
    tried::{Meant, Said, Tried},
    world::{Scope, State},
};
use crate::{band::percent, error::count, naming::named_list};

/// Everything that sentences are made of.
pub(super) struct Words<'a> {
    pub(super) meant: &'a Meant<'a>,
    pub(super) scope: &'a Scope,
    pub(super) state: &'a State<'a>,
    pub(super) tried: &'a Tried,
    pub(super) verdict: Verdict,
    /// The soft findings behind it, as addresses.
    pub(super) inferred: &'a [String],
}

impl Words<'_> {
    fn name(&self, place: usize) -> String {
        self.state.scored.products[place].label()
    }

    fn subject(&self) -> String {
        self.meant.product.map_or_else(|| "every product".to_owned(), |it| self.name(it))
    }

    /// `at 200 to 500 USD a pair`, or nothing.
    fn price(&self) -> String {
        let band = self.scope.question.band_dto();
        let text = match (band.low, band.high) {
            (None, None) => return String::new(),
            (Some(low), None) => format!("from {low:.0}"),
            (None, Some(high)) => format!("below {high:.0}"),
            (Some(low), Some(high)) => format!("at {low:.0} to {high:.0}"),
        };
        format!(" {text} {} a pair", band.currency)
    }

    /// `the 12 stand-mount speakers at 200 to 500 USD a pair that we opened`.
    fn all(&self, n: usize) -> String {
        let kind =
            self.meant.claim.scope.kind.map(|it| format!("{} ", it.word())).unwrap_or_default();
        let noun = if n == 1 { "speaker" } else { "speakers" };
        let among = match &self.scope.among {
            Some(it) => format!(" with {}", it.words(self.state.scored)),
            None => String::new(),
        };
        format!("the {n} {kind}{noun}{}{among} that we opened", self.price())
    }

    fn date(&self) -> String {
        self.scope.question.terms.as_of.to_string()
    }

    fn of(&self) -> String {
        self.meant.of.label()
    }

    fn value(&self, value: f64) -> String {
        match self.meant.of {
            Attribute::Number { .. } => self.meant.of.shown(value, None),
            _ => format!("{value:.0} of 100"),
        }
    }

    /// The sentence that may be printed.
    pub(super) fn sentence(&self) -> String {
        let base = match (self.verdict, &self.tried.said) {
            (Verdict::TooFew, _) => self.too_few(),
            (_, Said::Nothing(_)) => self.too_few(),
            (_, Said::Superlative { it, own, rival }) => {
                self.superlative(it.among, it.joint, *own, *rival)
            }
            (_, Said::Comparison(it)) => self.comparison(it.difference, it.level),
            (_, Said::Count(it)) if self.meant.claim.kind == Kind::Only => self.only(it),
            (_, Said::Count(it)) => self.share(it),
            (_, Said::Threshold(it)) => self.threshold(*it),
            (_, Said::Typical { it, median }) => self.typical(it.from_bottom, *median),
            (_, Said::Value(text)) => format!(
                "{} ({}, {})",
                text.trim_end_matches('.'),
                count(self.tried.n, "speaker"),
                self.date()
            ),
            (_, Said::Association(it)) => {
                self.association(it.as_ref().map(|it| (it.tau_b, it.concordance, it.n)))
            }
        };
        let base = capital(&base);
        let base = if base.ends_with('.') { base } else { format!("{base}.") };
        if self.verdict == Verdict::DependsOnInferred {
            let names = named_list(&self.state.scored.declarations.dictionary, self.inferred);
            let rests = match self.inferred.len() {
                0 => "This rests on findings that the maker claims or that we inferred".to_owned(),
                n => format!(
                    "This rests on {} that we did not see for ourselves ({names})",
                    count(n, "finding")
                ),
            };
            return format!("{base} {rests}; what we saw alone does not settle it.");
        }
        base
    }

    fn holds(&self) -> bool {
        self.tried.world == World::Holds
    }

    fn fails(&self) -> bool {
        self.tried.world == World::Fails
    }

    fn superlative(
        &self,
        among: usize,
        joint: bool,
        own: f64,
        rival: Option<(usize, f64)>,
    ) -> String {
        let (name, n) = (self.subject(), self.tried.n);
        let word = if self.meant.claim.kind == Kind::Worst { "lowest" } else { "highest" };
        let of = self.of();
        let all = self.all(n);
        let next = rival.map(|(at, value)| (self.name(at), self.value(value)));
        match next {
            Some((rival, value)) if self.fails() => {
                let more = if word == "lowest" { "lower" } else { "higher" };
                format!(
                    "{rival} has the {more} {of}: {value} against {} ({})",
                    self.value(own),
                    self.date()
                )
            }
            Some((rival, value)) if self.holds() => format!(
                "Of {all}, {name} has the {word} {of}: {}, before {rival} at {value}; that holds in {} of the draws ({})",
                self.value(own),
                percent(self.tried.p.unwrap_or(0.0)),
                self.date()
            ),
            Some((rival, _)) if joint => {
                format!(
                    "{name} and {rival} have the {word} {of} of {all}; they are level ({})",
                    self.date()
                )
            }
            _ => format!(
                "{name} is among the {among} with the {word} {of} of {all} ({})",
                self.date()
            ),
        }
    }

    fn comparison(&self, difference: f64, level: bool) -> String {
        let claim = self.meant.claim;
        let (one, other) =
            (self.subject(), self.meant.than.map_or_else(String::new, |it| self.name(it)));
        let (a, b) = if claim.kind == Kind::More { (one, other) } else { (other, one) };
        let turned = difference < 0.0;
        let (a, b, difference) = if turned { (b, a, -difference) } else { (a, b, difference) };
        let of = self.of();
        if level || !(self.holds() || self.fails()) {
            return format!(
                "{a} and {b} are level in {of}, as far as we can tell ({})",
                self.date()
            );
        }
        let interval = self.tried.interval.map(|it| {
            let (low, high) = if turned { (-it.high, -it.low) } else { (it.low, it.high) };
            format!(" ({} to {} in 90 % of the draws)", self.amount(low), self.amount(high))
        });
        let interval = interval.unwrap_or_default();
        match self.meant.of {
            Attribute::Number { .. } => {
                format!(
                    "{of} of {a} is greater than that of {b} by {}{interval}, {}",
                    self.amount(difference),
                    self.date()
                )
            }
            _ => format!(
                "The {of} of {a} is about {difference:.0} points higher than that of {b}{interval}, {}",
                self.date()
            ),
        }
    }

    /// A difference with its unit.
    fn amount(&self, it: f64) -> String {
        match self.meant.of {
            Attribute::Number { .. } => self.meant.of.shown(it, None),
            _ => super::read::points(it),
        }
    }

    fn property(&self) -> String {
        let it = self.meant.having.as_ref().map(|it| it.words(self.state.scored));
        it.map(|it| format!("“{it}”")).unwrap_or_default()
    }

    fn only(&self, it: &standing::claim::Count) -> String {
        let (name, property, n) = (self.subject(), self.property(), self.tried.n);
        let others: Vec<usize> = self.tried.deciding.clone();
        let date = self.date();
        if self.holds() {
            return format!("{name} is the only one of {} with {property} ({date})", self.all(n));
        }
        match others.first() {
            Some(at) if Some(*at) == self.meant.product => {
                format!("{name} does not have {property} ({date})")
            }
            Some(at) if self.fails() => {
                format!(
                    "{} has {property} too; {} of {} have it ({date})",
                    self.name(*at),
                    it.yes.len(),
                    self.all(n)
                )
            }
            _ => format!(
                "{name} is the only one of {} in which we saw {property} ({date})",
                self.all(n)
            ),
        }
    }

    fn share(&self, it: &standing::claim::Count) -> String {
        let (k, m, n) = (it.yes.len(), it.unknown.len(), self.tried.n);
        let (property, date) = (self.property(), self.date());
        let unknown = match m {
            0 => String::new(),
            _ => format!("; {m} could not be checked"),
        };
        let head = match k {
            0 => format!("None of {} was found to have {property}{unknown} ({date})", self.all(n)),
            _ => format!("{k} of {} have {property}{unknown} ({date})", self.all(n)),
        };
        if self.meant.claim.population == Population::Opened {
            return head;
        }
        let share = |it: f64| format!("{:.0} %", it * 100.0);
        match (it.zero_bound, self.tried.interval) {
            (Some(bound), _) => {
                format!("{head}; up to {} of speakers like these still could", share(bound))
            }
            (None, Some(it)) if self.holds() || self.fails() => format!(
                "{head}; if these are typical, {} to {} of all do (90 % interval)",
                share(it.low),
                share(it.high)
            ),
            _ => format!("{head}; that is too few to speak of the market"),
        }
    }

    fn threshold(&self, reading: Option<standing::claim::Reading>) -> String {
        let limit = self.meant.claim.limit.clone().unwrap_or_default();
        let above = self.meant.claim.kind == Kind::Above;
        let (of, date) = (self.of(), self.date());
        let side = |above: bool| if above { "at least" } else { "at most" };
        match (self.meant.product, reading) {
            (Some(at), Some(it)) => {
                let value = match &self.meant.of {
                    Attribute::Number { dimension, unit, .. } => {
                        domain::reading::shown_with_u(it.value, it.u, *dimension, unit)
                    }
                    _ => format!("{:.0} ± {:.0} points", it.value, it.u),
                };
                let says = match self.tried.world {
                    World::Holds => format!("{} {limit}", side(above)),
                    World::Fails => format!("{} {limit}", if above { "below" } else { "above" }),
                    _ => format!("too close to {limit} to call"),
                };
                format!("{of} of {} is {value}, {says} ({date})", self.name(at))
            }
            _ if self.holds() => {
                format!(
                    "{of} is {} {limit} in all of {} ({date})",
                    side(above),
                    self.all(self.tried.n)
                )
            }
            _ => {
                let which: Vec<String> =
                    self.tried.deciding.iter().take(3).map(|at| self.name(*at)).collect();
                let says = if self.fails() { "is not" } else { "may not be" };
                format!("{of} {says} {} {limit} in {} ({date})", side(above), which.join(", "))
            }
        }
    }

    fn typical(&self, from_bottom: usize, median: f64) -> String {
        let n = self.tried.n;
        let place = place_of(n + 1 - from_bottom, n);
        // Of how many follows by itself.
        let place = place.split(' ').next().unwrap_or_default().to_owned();
        let of = self.of();
        let says = match self.tried.world {
            World::Holds => format!("an ordinary {of}"),
            World::Fails if from_bottom * 2 > n => format!("an uncommonly high {of}"),
            World::Fails => format!("an uncommonly low {of}"),
            _ => "about the middle, which is not settled".to_owned(),
        };
        format!(
            "{} is {place} by {of} of {} ({}): {says}; the median is {}",
            self.subject(),
            self.all(n),
            self.date(),
            self.value(median)
        )
    }

    fn association(&self, found: Option<(f64, f64, usize)>) -> String {
        let (of, date) = (self.of(), self.date());
        let Some((tau, concordance, n)) = found else {
            return format!("Nothing can be said of price and {of} ({date})");
        };
        let share = |it: f64| format!("{:.0} times in 100", it * 100.0);
        let more = if tau >= 0.0 { "the higher" } else { "the lower" };
        let often = if tau >= 0.0 { concordance } else { 1.0 - concordance };
        let tail = if self.holds() || self.fails() { "" } else { "; that is not settled" };
        format!(
            "Of two of {}, the dearer has {more} {of} {}{tail} ({date})",
            self.all(n),
            share(often)
        )
    }

    fn too_few(&self) -> String {
        let claim = self.meant.claim;
        match (&self.tried.said, self.tried.world) {
            (Said::Nothing(why), _) if !why.is_empty() => {
                format!("Nothing can be said: {why} ({})", self.date())
            }
            (Said::Count(it), _) if claim.kind == Kind::Only => format!(
                "{} is the only one of {} in which we saw {}; {} could not be checked ({})",
                self.subject(),
                self.all(self.tried.n),
                self.property(),
                it.unknown.len(),
                self.date()
            ),
            (Said::Count(it), _) if self.tried.n > 0 => format!(
                "{} of {} have {} ({}); that is too few to speak of the market",
                it.yes.len(),
                self.all(self.tried.n),
                self.property(),
                self.date()
            ),
            (Said::Superlative { .. }, World::Gated(Gate::Count { .. })) => format!(
                "Only {} can be ranked here; a first of so few says more about what we opened than about the market ({})",
                count(self.tried.n, "speaker"),
                self.date()
            ),
            _ => format!("Nothing can be said: {} ({})", self.gate(), self.date()),
        }
    }

    /// What stands in the way.
    fn gate(&self) -> String {
        let World::Gated(gate) = self.tried.world else { return "the data do not allow it".into() };
        match gate {
            Gate::Count { found, needed } => {
                format!("there are {found} products for it, and it takes {needed}")
            }
            Gate::Coverage => "too little was seen of it".into(),
            Gate::StalePrice => "its price is older than 180 days".into(),
            Gate::Undetermined { count: n } => {
                format!("{} could not be told of {}", self.undetermined(), count(n, "product"))
            }
            Gate::Constant => "all values are alike".into(),
        }
    }

    fn undetermined(&self) -> String {
        match &self.meant.having {
            Some(_) => self.property(),
            None => self.of(),
        }
    }

    /// Why the verdict is this one.
    pub(super) fn why(&self) -> String {
        let p = self.tried.p.map(percent);
        let agree = p.map(|it| format!("{it} of the draws agree")).unwrap_or_default();
        let found = self.tried.n;
        match self.verdict {
            Verdict::TooFew => match &self.tried.said {
                Said::Nothing(why) if !why.is_empty() => format!("{}.", capital(why)),
                _ => {
                    format!("{}.", capital(&self.gate()))
                }
            },
            Verdict::DependsOnInferred => {
                "What was seen, measured or read settles nothing; with what is claimed or inferred it does.".into()
            }
            Verdict::NotSupported => {
                let lean = match self.tried.lean {
                    Lean::For => ", and the data lean towards it",
                    Lean::Against => ", and the data lean against it",
                    Lean::Neither => "",
                };
                if agree.is_empty() {
                    format!("The count of {found} does not settle it{lean}.")
                } else {
                    format!("{agree}{lean}.")
                }
            }
            Verdict::Supported | Verdict::Contradicted if agree.is_empty() => {
                format!("It follows from the findings of {}.", count(found, "product"))
            }
            Verdict::Supported | Verdict::Contradicted => {
                let limit = if self.meant.claim.kind.family() == Family::Threshold { "95 %" } else { "90 %" };
                format!("{agree}; {limit} decide.")
            }
        }
    }
}

/// With a capital at the start.
fn capital(text: &str) -> String {
    let mut letters = text.chars();
    let first = letters.next().map(|it| it.to_uppercase().to_string());
    format!("{}{}", first.unwrap_or_default(), letters.as_str())
}
