//! From findings to scores: quantities, plugin inputs, one batch a plugin, criteria.

mod points;

use std::{
    collections::{BTreeMap, BTreeSet},
    num::NonZero,
    thread,
};

use bw_sdk::manifest::{self, InputKind, Manifest};
use catalog::Trusted;
use domain::dossier::Dossier;
use host::{Blocking, Evaluate, Evaluation, Input, Loaded};
use physics::{
    air::AIR20,
    cross_check::{CrossCheck, cross_checks},
    quantity::{Quantity, quantities},
};
use standing::index::{Criterion, Score, Subsystem, subsystem};

use crate::{
    dto::{PluginUsed, Remark},
    inputs::{Cell, cell},
    plugins::{Candidate, Plugins, sandbox_word},
    rubric::{self, Applied, Changes},
};
use points::Points;

/// All products with their quantities and scores.
#[derive(Debug)]
pub(crate) struct Scored {
    pub(crate) products: Vec<ScoredProduct>,
    pub(crate) plugins: Vec<PluginUsed>,
    pub(crate) rubric: String,
    /// The weights of subsystems that the catalogue sets.
    pub(crate) weights: BTreeMap<String, f64>,
    /// Subsystems in the order of results.
    pub(crate) subsystems: Vec<String>,
    /// What was not scored, as sentences.
    pub(crate) remarks: Vec<Remark>,
}

impl Scored {
    /// Whether all plugins did their work, so that the scores may be kept.
    pub(crate) fn is_complete(&self) -> bool {
        self.remarks.iter().all(|it| it.code == rubric::UNUSED)
    }
}

/// One product.
#[derive(Debug)]
pub(crate) struct ScoredProduct {
    pub(crate) dossier: Dossier,
    pub(crate) quantities: Vec<Quantity>,
    pub(crate) cross_checks: Vec<CrossCheck>,
    /// One a subsystem, in the order of [`Scored::subsystems`].
    pub(crate) subsystems: Vec<ScoredSubsystem>,
    pub(crate) remarks: Vec<Remark>,
}

/// One subsystem of one product.
#[derive(Debug)]
pub(crate) struct ScoredSubsystem {
    pub(crate) score: Subsystem,
    pub(crate) criteria: Vec<ScoredCriterion>,
}

/// One criterion of one product.
#[derive(Debug)]
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

/// A plugin, its manifest as the catalogue has it, what it was given, and its answer.
type Done = (Loaded, Applied, Vec<Vec<Cell>>, Evaluation);

/// What a plugin did: its manifest and answer, or why there is none.
struct Work {
    candidate: Candidate,
    outcome: Result<Done, String>,
}

/// Quantities and cross-checks of all products, on all cores: a product depends on no other.
fn computed(dossiers: Vec<Dossier>) -> Vec<ScoredProduct> {
    let cores = thread::available_parallelism().map_or(1, NonZero::get);
    let share = dossiers.len().div_ceil(cores).max(1);
    let mut rest = dossiers;
    let mut shares = Vec::with_capacity(cores);
    while !rest.is_empty() {
        let next = rest.split_off(share.min(rest.len()));
        shares.push(std::mem::replace(&mut rest, next));
    }
    thread::scope(|scope| {
        let threads: Vec<_> = shares
            .into_iter()
            .map(|share| scope.spawn(|| share.into_iter().map(product).collect::<Vec<_>>()))
            .collect();
        // A panic here would be a fault of the program, and goes on as one.
        threads
            .into_iter()
            .flat_map(|it| it.join().unwrap_or_else(|why| std::panic::resume_unwind(why)))
            .collect()
    })
}

fn product(dossier: Dossier) -> ScoredProduct {
    let quantities = quantities(&dossier, &AIR20);
    let cross_checks = cross_checks(&dossier, &quantities, &AIR20);
    ScoredProduct { dossier, quantities, cross_checks, subsystems: Vec::new(), remarks: Vec::new() }
}

/// Scores all products; what cannot be scored is a remark, never an error.
pub(crate) fn score(
    dossiers: Vec<Dossier>,
    plugins: &Plugins,
    trusted: &[Trusted],
    changes: &Changes,
) -> Scored {
    let mut products = computed(dossiers);
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
        weights: BTreeMap::new(),
        subsystems: Vec::new(),
        remarks: Vec::new(),
    };
    for it in works {
        take(it, &rows, &mut products, &mut scored);
    }
    let weights = changes.weights();
    scored.rubric.extend(weights.rubric);
    scored.weights = weights.by_subsystem;
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
        let cells = cells(&applied.manifest, products, rows);
        let params = applied.manifest.default_params();
        let evaluation = evaluate(plugins.host()?, &loaded, params, &cells, rows.len())?;
        Ok((loaded, applied, cells, evaluation))
    });
    Work { candidate, outcome }
}

/// The cells of each row, in the order of the manifest's inputs.
fn cells(manifest: &Manifest, products: &[ScoredProduct], rows: &[usize]) -> Vec<Vec<Cell>> {
    rows.iter()
        .map(|&at| {
            let it = &products[at];
            manifest.inputs.iter().map(|input| cell(input, &it.dossier, &it.quantities)).collect()
        })
        .collect()
}

fn evaluate(
    host: &Blocking,
    plugin: &Loaded,
    params: Vec<f64>,
    cells: &[Vec<Cell>],
    n_rows: usize,
) -> Result<Evaluation, String> {
    let manifest = &plugin.manifest;
    let inputs = manifest
        .inputs
        .iter()
        .enumerate()
        .map(|(column, input)| match input.kind {
            // No finding is a curve over a shared grid; a plugin that wants one is told that it is missing.
            InputKind::Curve => Input::Curve { grid: Vec::new(), values: Vec::new() },
            _ => Input::Scalar(cells.iter().map(|row| row[column].number).collect()),
        })
        .collect();
    let request = Evaluate { params, n_rows, inputs };
    host.evaluate(plugin, request).map_err(|fault| fault.text)
}

/// Spreads a plugin's work over the products.
fn take(work: Work, rows: &[usize], products: &mut [ScoredProduct], scored: &mut Scored) {
    let (loaded, applied, cells, evaluation) = match work.outcome {
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
    let manifest = &applied.manifest;
    if scored.subsystems.contains(&manifest.subsystem) {
        let name = &manifest.id;
        scored.remarks.push(not_scored(format!(
            "{name}: not scored: the subsystem {:?} is scored already",
            manifest.subsystem
        )));
        return;
    }
    scored.subsystems.push(manifest.subsystem.clone());
    scored.remarks.extend(applied.unused.iter().map(|it| rubric::unused(&manifest.subsystem, it)));
    scored.rubric.push_str(&manifest.rubric);
    scored.rubric.push('\n');
    scored.plugins.push(PluginUsed {
        id: manifest.id.clone(),
        version: manifest.version.clone(),
        sha256: loaded.file.sha256.to_string(),
        sandbox: sandbox_word(&loaded.sandbox),
    });
    let points: Vec<Points> = manifest.criteria.iter().map(|it| Points::of(manifest, it)).collect();
    for it in products.iter_mut() {
        it.subsystems.push(ScoredSubsystem { score: Subsystem::NotScored, criteria: Vec::new() });
    }
    for (row, &at) in rows.iter().enumerate() {
        let criteria: Vec<ScoredCriterion> = manifest
            .criteria
            .iter()
            .zip(&points)
            .enumerate()
            .map(|(column, (of, points))| {
                criterion(
                    manifest,
                    of,
                    points,
                    &cells[row],
                    evaluation.score(row, column).unwrap_or(f64::NAN),
                )
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
        products[at].remarks.push(Remark {
            source: manifest.id.clone(),
            code: of.code.clone(),
            severity: severity(of.severity).into(),
            text: manifest::render(&of.text, &it.args),
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

fn criterion(
    manifest: &Manifest,
    of: &manifest::Criterion,
    points: &Points,
    cells: &[Cell],
    measure: f64,
) -> ScoredCriterion {
    let read: Vec<&Cell> = of
        .inputs
        .iter()
        .filter_map(|id| manifest.input_index(id))
        .filter_map(|at| cells.get(at))
        .collect();
    let applies = measure > f64::NEG_INFINITY || measure.is_nan();
    let score = if !applies {
        Score::NotApplicable
    } else if measure.is_nan() {
        Score::Missing
    } else {
        let value = points.at(measure, |input| cells.get(input).map(|it| it.number));
        let hard =
            read.iter().all(|it| it.evidence.is_none_or(domain::evidence::Evidence::is_hard));
        Score::Known { value, hard }
    };
    let missing: BTreeSet<String> = match score {
        Score::Missing => read.iter().flat_map(|it| it.missing.iter().cloned()).collect(),
        _ => BTreeSet::new(),
    };
    ScoredCriterion {
        id: of.id.clone(),
        title: of.title.clone(),
        weight: of.weight,
        unit: of.unit.clone(),
        source: of.source.clone(),
        measure: (measure.is_finite() && !of.is_choice()).then_some(measure),
        score,
        missing: missing.into_iter().collect(),
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
