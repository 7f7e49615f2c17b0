//! All that is currently recorded about one product, as it travels between files, catalogue and computation.

use crate::{
    finding::{Answer, Declared, Finding, Value},
    network::Element,
    part::{Part, Role},
    price::Price,
    product::{Product, Specimen, Teardown},
    sweep::Sweep,
};

/// A bench job with what it found.
#[derive(Debug, Clone, PartialEq)]
pub struct Job {
    /// When and on what.
    pub teardown: Teardown,
    /// Findings, each part and key once.
    pub findings: Vec<Finding>,
    /// The network's parts list, empty where none was traced.
    pub network: Vec<Element>,
    /// Sweeps.
    pub sweeps: Vec<Sweep>,
}

/// A product with all that is recorded about it.
#[derive(Debug, Clone, PartialEq)]
pub struct Dossier {
    /// The product.
    pub product: Product,
    /// Price observations.
    pub prices: Vec<Price>,
    /// Specimens.
    pub specimens: Vec<Specimen>,
    /// What the maker says: findings of evidence `claimed` that belong to no bench job.
    pub stated: Vec<Finding>,
    /// Bench jobs, by date.
    pub jobs: Vec<Job>,
}

impl Dossier {
    /// A product of which nothing is recorded yet.
    #[must_use]
    pub fn of(product: Product) -> Self {
        Dossier {
            product,
            prices: Vec::new(),
            specimens: Vec::new(),
            stated: Vec::new(),
            jobs: Vec::new(),
        }
    }

    /// The finding that holds for a part's key: hard evidence before soft, then the newest.
    ///
    /// A gap never hides a value: somebody who did not look again does not undo what was seen. What no plugin declares any
    /// more hides nothing that one does.
    #[must_use]
    pub fn current(&self, part: Part, key: &str) -> Option<&Finding> {
        self.findings().filter(|it| it.part == part && it.key == key).max_by_key(|it| {
            let is_declared = it.declared != Declared::Nowhere;
            (is_declared, it.answer.value().is_some(), it.evidence.is_hard(), it.date)
        })
    }

    /// The finding that holds, if somebody declares what it means: what may be computed from and counted.
    #[must_use]
    pub fn declared(&self, part: Part, key: &str) -> Option<&Finding> {
        self.current(part, key).filter(|it| it.declared != Declared::Nowhere)
    }

    /// The value that holds for a part's key, if there is one.
    #[must_use]
    pub fn value(&self, part: Part, key: &str) -> Option<&Value> {
        self.current(part, key).and_then(|it| it.answer.value())
    }

    /// The choice that holds for a part's key, if there is one.
    #[must_use]
    pub fn choice(&self, part: Part, key: &str) -> Option<&str> {
        match self.value(part, key) {
            Some(Value::Choice(it)) => Some(it),
            _ => None,
        }
    }

    /// All findings: the maker's statements, then those of each job.
    pub fn findings(&self) -> impl Iterator<Item = &Finding> {
        self.stated.iter().chain(self.jobs.iter().flat_map(|it| &it.findings))
    }

    /// The newest traced network, if any.
    #[must_use]
    pub fn network(&self) -> Option<&[Element]> {
        self.jobs
            .iter()
            .filter(|it| !it.network.is_empty())
            .max_by_key(|it| it.teardown.date)
            .map(|it| &it.network[..])
    }

    /// The newest sweep of a part, if any.
    #[must_use]
    pub fn sweep(&self, part: Part) -> Option<&Sweep> {
        self.jobs
            .iter()
            .flat_map(|job| job.sweeps.iter().map(move |it| (job.teardown.date, it)))
            .filter(|(_, it)| it.part == part)
            .max_by_key(|(date, _)| *date)
            .map(|(_, it)| it)
    }

    /// The parts that a complete teardown has findings about: the drivers follow from the number of ways and from what is recorded.
    #[must_use]
    pub fn parts(&self) -> Vec<Part> {
        let mut parts: Vec<Part> =
            [Role::Whole, Role::Cabinet, Role::Woofer].map(Part::first).into();
        if self.product.ways >= 3 {
            parts.push(Part::first(Role::Midrange));
        }
        if self.product.ways >= 2 {
            parts.push(Part::first(Role::Tweeter));
        }
        parts.extend([Role::Crossover, Role::Wiring].map(Part::first));
        for it in self.findings() {
            if matches!(it.answer, Answer::Value(_)) && !parts.contains(&it.part) {
                parts.push(it.part);
            }
        }
        parts.sort_unstable();
        parts
    }
}
