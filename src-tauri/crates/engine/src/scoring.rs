//! From findings to scores: quantities, plugin inputs, one batch a plugin, criteria.

mod bounds;
mod judge;
mod points;

use std::{
    collections::{BTreeMap, HashMap},
    ops::Deref,
    sync::{Arc, OnceLock},
    thread,
};

use bw_sdk::manifest::{self, Manifest};
use catalog::Trusted;
use domain::{dossier::Dossier, key::ProductKey};
use host::Evaluation;
use physics::{
    air::AIR20,
    cross_check::{CrossCheck, READS, cross_checks},
    quantity::{Fits, Known, Quantity, some_quantities, values},
    spread::Spreads,
};
use standing::index::{Criterion, Score, Subsystem, subsystem};

use crate::{
    Error,
    declared::Declarations,
    dto::{CapDto, PluginUsed, Remark},
    inputs::{Cell, cell},
    plugins::{Candidate, Plugins, Said, sandbox_word},
    rubric::{self, Changes},
    scope::unknown,
};
pub(crate) use judge::Judge;

/// All products with their quantities and scores.
#[derive(Debug)]
pub(crate) struct Scored {
    pub(crate) products: Vec<ScoredProduct>,
    pub(crate) plugins: Vec<PluginUsed>,
    pub(crate) rubric: String,
    /// What the findings mean, those of plugins included.
    pub(crate) declarations: Arc<Declarations>,
    /// The weights of subsystems that the catalogue sets.
    pub(crate) weights: BTreeMap<String, f64>,
    /// How far findings without a stated uncertainty may be off in this catalogue.
    pub(crate) spreads: Spreads,
    /// Subsystems in the order of results.
    pub(crate) subsystems: Vec<String>,
    /// The plugins that scored, to be asked again about other findings.
    pub(crate) judges: Vec<Judge>,
    /// What was not scored, as sentences.
    pub(crate) remarks: Vec<Remark>,
}

impl Scored {
    /// Whether all plugins did their work, so that the scores may be kept.
    pub(crate) fn is_complete(&self) -> bool {
        self.remarks.iter().all(|it| it.code == rubric::UNUSED)
    }

    /// The place of a product.
    ///
    /// # Errors
    /// [`Error::UnknownProduct`] when it is not among those scored.
    pub(crate) fn place(&self, key: &ProductKey) -> Result<usize, Error> {
        let known = || self.products.iter().map(|it| it.dossier.product.key.as_str());
        let found = self.products.iter().position(|it| it.dossier.product.key == *key);
        found.ok_or_else(|| unknown(key.as_str(), known()))
    }

    /// A product; the errors of [`Scored::place`].
    pub(crate) fn product(&self, key: &ProductKey) -> Result<&ScoredProduct, Error> {
        Ok(&self.products[self.place(key)?])
    }

    /// Whether the same findings would be judged in the same way.
    pub(crate) fn judges_like(&self, other: &Scored) -> bool {
        self.plugins == other.plugins
            && self.rubric == other.rubric
            && self.subsystems == other.subsystems
            && self.spreads == other.spreads
    }
}

/// What follows from the findings of one product before anybody judges it.
#[derive(Debug)]
pub(crate) struct Examined {
    pub(crate) dossier: Dossier,
    /// What was fitted to its sweeps.
    pub(crate) fits: Fits,
    /// What plugins read.
    pub(crate) known: Vec<Known>,
    /// What only a sheet shows, made when it is asked for.
    quantities: OnceLock<Vec<Quantity>>,
    cross_checks: OnceLock<Vec<CrossCheck>>,
}

impl Examined {
    /// The quantities with their uncertainties, which take ten times as long as their values.
    pub(crate) fn quantities(&self) -> &[Quantity] {
        self.quantities.get_or_init(|| some_quantities(&self.dossier, &AIR20, &self.fits, |_| true))
    }

    /// What does not agree.
    pub(crate) fn cross_checks(&self) -> &[CrossCheck] {
        self.cross_checks.get_or_init(|| {
            let read = some_quantities(&self.dossier, &AIR20, &self.fits, |id| READS.contains(&id));
            cross_checks(&self.dossier, &read, &AIR20)
        })
    }
}

/// One product.
#[derive(Debug)]
pub(crate) struct ScoredProduct {
    pub(crate) examined: Arc<Examined>,
    /// One a subsystem, in the order of [`Scored::subsystems`].
    pub(crate) subsystems: Vec<ScoredSubsystem>,
    /// Limits that remarks of plugins set to the index.
    pub(crate) caps: Vec<CapDto>,
    pub(crate) remarks: Vec<Remark>,
}

impl Deref for ScoredProduct {
    type Target = Examined;

    fn deref(&self) -> &Examined {
        &self.examined
    }
}

impl ScoredProduct {
    fn new(examined: Arc<Examined>) -> Self {
        ScoredProduct { examined, subsystems: Vec::new(), caps: Vec::new(), remarks: Vec::new() }
    }

    /// Whether nothing that was found or judged of it differs.
    pub(crate) fn is_as(&self, other: &ScoredProduct) -> bool {
        Arc::ptr_eq(&self.examined, &other.examined) && self.subsystems == other.subsystems
    }

    /// Maker and model, as a sentence names it.
    pub(crate) fn label(&self) -> String {
        let it = &self.dossier.product;
        format!("{} {}", it.maker, it.model)
    }

    /// The lowest limit of the index, if there is one.
    pub(crate) fn cap(&self) -> Option<f64> {
        self.caps.iter().map(|it| it.limit).min_by(f64::total_cmp)
    }
}

/// One subsystem of one product.
#[derive(Debug, PartialEq)]
pub(crate) struct ScoredSubsystem {
    pub(crate) score: Subsystem,
    pub(crate) criteria: Vec<ScoredCriterion>,
}

/// One criterion of one product.
#[derive(Debug, PartialEq)]
pub(crate) struct ScoredCriterion {
    pub(crate) id: String,
    pub(crate) title: String,
    pub(crate) weight: f64,
    pub(crate) unit: String,
    pub(crate) source: String,
    pub(crate) measure: Option<f64>,
    pub(crate) score: Score,
    /// The findings that would settle it.
    pub(crate) missing: Vec<String>,
}

/// What a plugin did: itself, what it was given, its answer and what missing findings leave open; or why there is none.
struct Work {
    candidate: Candidate,
    outcome: Result<Done, String>,
}

struct Done {
    judge: Judge,
    unused: Vec<String>,
    cells: Vec<Vec<Cell>>,
    evaluation: Evaluation,
    bounds: bounds::Bounds,
}

/// The quantities of the last scoring, by product.
pub(crate) struct Last<'s>(HashMap<&'s ProductKey, &'s Arc<Examined>>);

impl<'s> Last<'s> {
    pub(crate) fn of(scored: Option<&'s Scored>) -> Self {
        let products = scored.into_iter().flat_map(|it| &it.products);
        Last(products.map(|it| (&it.dossier.product.key, &it.examined)).collect())
    }

    /// The quantities of a product, which depend on no other; kept where it is as it was.
    pub(crate) fn examined(&self, dossier: Dossier) -> Arc<Examined> {
        match self.0.get(&dossier.product.key) {
            Some(same) if same.dossier == dossier => Arc::clone(same),
            _ => examine(dossier),
        }
    }
}

/// The quantities of one product.
pub(crate) fn examine(dossier: Dossier) -> Arc<Examined> {
    let fits = Fits::default();
    let known = values(&dossier, &AIR20, &fits);
    Arc::new(Examined {
        dossier,
        fits,
        known,
        quantities: OnceLock::new(),
        cross_checks: OnceLock::new(),
    })
}

/// Scores all products; what cannot be scored is a remark, never an error.
pub(crate) fn score(
    examined: Vec<Arc<Examined>>,
    plugins: &Plugins,
    trusted: &[Trusted],
    changes: &Changes,
    declarations: Arc<Declarations>,
) -> Scored {
    let mut products: Vec<ScoredProduct> = examined.into_iter().map(ScoredProduct::new).collect();
    let rows: Vec<usize> = products
        .iter()
        .enumerate()
        .filter(|(_, it)| !it.dossier.product.powered)
        .map(|(at, _)| at)
        .collect();

    let candidates = Plugins::candidates(trusted);
    let works: Vec<Work> = thread::scope(|scope| {
        let products = &products;
        let rows = &rows;
        let threads: Vec<_> = candidates
            .into_iter()
            .map(|candidate| {
                let copy = candidate.clone();
                (copy, scope.spawn(move || work(candidate, plugins, changes, products, rows)))
            })
            .collect();
        threads
            .into_iter()
            .map(|(candidate, thread)| {
                thread.join().unwrap_or_else(|_| Work {
                    candidate,
                    outcome: Err("the call broke off".into()),
                })
            })
            .collect()
    });

    let mut scored = Scored {
        products: Vec::new(),
        plugins: Vec::new(),
        rubric: String::new(),
        declarations,
        weights: BTreeMap::new(),
        spreads: Spreads::default(),
        subsystems: Vec::new(),
        judges: Vec::new(),
        remarks: Vec::new(),
    };
    for it in works {
        take(it, &rows, &mut products, &mut scored);
    }
    let (weights, spreads) = (changes.weights(), changes.spreads());
    for it in weights.rubric.into_iter().chain(spreads.rubric) {
        scored.rubric.push_str(&it);
        scored.rubric.push('\n');
    }
    scored.weights = weights.by_subsystem;
    scored.spreads = spreads.spreads;
    let rubrics: Vec<&str> = scored.rubric.split_terminator('\n').collect();
    scored.rubric = rubrics.join("; ");
    scored.products = products;
    scored
}

fn work(
    candidate: Candidate,
    plugins: &Plugins,
    changes: &Changes,
    products: &[ScoredProduct],
    rows: &[usize],
) -> Work {
    let outcome = candidate.pinned.clone().and_then(|file| {
        let loaded = plugins.load(&file)?;
        let applied = changes.applied(&loaded.manifest);
        let judge = Judge::new(loaded, applied.manifest);
        let cells = cells(&judge.manifest, products, rows);
        let numbers: Vec<Vec<f64>> = (0..judge.manifest.inputs.len())
            .map(|column| cells.iter().map(|row| row[column].number).collect())
            .collect();
        let evaluation = judge.ask(plugins, Said::Kept, numbers, rows.len())?;
        let bounds = bounds::bounds(&judge, plugins, &cells, &evaluation)?;
        Ok(Done { judge, unused: applied.unused, cells, evaluation, bounds })
    });
    Work { candidate, outcome }
}

/// The cells of each row, in the order of the manifest's inputs.
fn cells(manifest: &Manifest, products: &[ScoredProduct], rows: &[usize]) -> Vec<Vec<Cell>> {
    rows.iter()
        .map(|&at| {
            let it = &products[at];
            manifest.inputs.iter().map(|input| cell(input, &it.dossier, &it.known)).collect()
        })
        .collect()
}

/// Spreads a plugin's work over the products.
fn take(work: Work, rows: &[usize], products: &mut [ScoredProduct], scored: &mut Scored) {
    let Done { mut judge, unused, cells, evaluation, bounds } = match work.outcome {
        Ok(it) => it,
        Err(why) => {
            let name = work.candidate.name();
            scored.remarks.push(not_scored(format!("{name}: not scored: {why}")));
            // A subsystem of this build that failed stays in the index as wholly unknown.
            if let Some(own) = work.candidate.own {
                scored.subsystems.push(own.to_owned());
                for it in products {
                    it.subsystems.push(ScoredSubsystem {
                        score: Subsystem::NotScored,
                        criteria: Vec::new(),
                    });
                }
            }
            return;
        }
    };
    let manifest = &judge.manifest;
    if scored.subsystems.contains(&manifest.subsystem) {
        let name = &manifest.id;
        scored.remarks.push(not_scored(format!(
            "{name}: not scored: the subsystem {:?} is scored already",
            manifest.subsystem
        )));
        return;
    }
    judge.place = scored.subsystems.len();
    let manifest = &judge.manifest;
    scored.subsystems.push(manifest.subsystem.clone());
    scored.remarks.extend(unused.iter().map(|it| rubric::unused(&manifest.subsystem, it)));
    scored.rubric.push_str(&manifest.rubric);
    scored.rubric.push('\n');
    scored.plugins.push(PluginUsed {
        id: manifest.id.clone(),
        version: manifest.version.clone(),
        sha256: judge.loaded.file.sha256.to_string(),
        sandbox: sandbox_word(&judge.loaded.sandbox),
    });
    for it in products.iter_mut() {
        it.subsystems.push(ScoredSubsystem { score: Subsystem::NotScored, criteria: Vec::new() });
    }
    for (row, &at) in rows.iter().enumerate() {
        let criteria: Vec<ScoredCriterion> = (0..manifest.criteria.len())
            .map(|column| {
                let measure = evaluation.score(row, column).unwrap_or(f64::NAN);
                judge.criterion(column, &cells[row], measure, bounds.within(row, column))
            })
            .collect();
        let weighed: Vec<Criterion> =
            criteria.iter().map(|it| Criterion { weight: it.weight, score: it.score }).collect();
        let product = &mut products[at];
        if let Some(last) = product.subsystems.last_mut() {
            // Weights and scores were checked on the way in, so a refusal here is ours; the subsystem stays unknown.
            last.score = subsystem(&weighed).unwrap_or(Subsystem::NotScored);
            last.criteria = criteria;
        }
    }
    remarks(manifest, &evaluation, rows, products, scored);
    scored.judges.push(judge);
}

fn remarks(
    manifest: &Manifest,
    evaluation: &Evaluation,
    rows: &[usize],
    products: &mut [ScoredProduct],
    scored: &mut Scored,
) {
    for it in &evaluation.remarks {
        let (Some(&at), Some(of)) = (rows.get(it.row), manifest.remarks.get(it.code)) else {
            continue;
        };
        let text = manifest::render(&of.text, &it.args);
        if let Some(cap) = of.cap {
            products[at].caps.push(CapDto { limit: f64::from(cap), text: text.clone() });
        }
        products[at].remarks.push(Remark {
            source: manifest.id.clone(),
            code: of.code.clone(),
            severity: severity(of.severity).into(),
            text,
        });
    }
    for it in &evaluation.row_faults {
        let Some(&at) = rows.get(it.row) else { continue };
        let product = &products[at].dossier.product;
        let text = format!(
            "{}: {} {} not scored: {}",
            manifest.subsystem, product.maker, product.model, it.fault.text
        );
        products[at]
            .remarks
            .push(not_scored(format!("{}: not scored: {}", manifest.subsystem, it.fault.text)));
        scored.remarks.push(not_scored(text));
    }
    for it in &evaluation.incidents {
        scored.remarks.push(Remark {
            source: "boxworth".into(),
            code: "plugin_restarted".into(),
            severity: "caution".into(),
            text: format!(
                "{}: {}; all other products were scored by a fresh worker",
                manifest.subsystem, it.text
            ),
        });
    }
}

fn severity(it: manifest::Severity) -> &'static str {
    match it {
        manifest::Severity::Info => "info",
        manifest::Severity::Caution => "caution",
        manifest::Severity::Warning => "warning",
    }
}

pub(crate) fn not_scored(text: String) -> Remark {
    Remark {
        source: "boxworth".into(),
        code: "not_scored".into(),
        severity: "warning".into(),
        text,
    }
}
