//! The host: one worker for each plugin, replaced when it fails.

use std::collections::HashMap;
use std::mem;
use std::path::PathBuf;
use std::sync::atomic::{AtomicU32, AtomicU64, Ordering};
use std::sync::{Arc, Mutex, PoisonError};

use bw_sdk::abi;
use bw_sdk::manifest::{BatchKind, Manifest};
use tokio::sync::Mutex as AsyncMutex;
use tokio::time::Instant;
use wire::{Limits, Load, MAX_ROWS, MAX_SILENT_ROWS, Sandbox, Stage};

use crate::bisect::{Bisect, Piece, Verdict};
use crate::child::Worker;
use crate::evaluation::{Call, Evaluate, Evaluation, RowFault};
use crate::fault::{Fault, FaultKind, Trouble};
use crate::hash::Sha256Sum;
use crate::options::HostOptions;
use crate::policy::{self, Action, Event};
use crate::validate::{self, Checked};

/// Inputs of this many bytes and more go through shared memory: below, a pipe is as quick.
const WORTH_SHARING: usize = 16 << 10;

/// A library, and the hash its bytes must have.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct PluginFile {
    /// Where it is; an absolute path.
    pub path: PathBuf,
    /// The pin: what the caller decided to trust.
    pub sha256: Sha256Sum,
}

/// A plugin that was loaded once and can be evaluated.
#[derive(Debug, Clone)]
pub struct Loaded {
    /// Its library.
    pub file: PluginFile,
    /// Its manifest.
    pub manifest: Arc<Manifest>,
    /// What holds its worker back.
    pub sandbox: Sandbox,
    /// Its worker's process id at the time of loading.
    pub pid: u32,
    slot: Arc<Slot>,
}

/// Runs plugins. Clones share their workers.
#[derive(Debug, Clone)]
pub struct Host {
    inner: Arc<Inner>,
}

#[derive(Debug)]
struct Inner {
    options: HostOptions,
    slots: Mutex<HashMap<PluginFile, Arc<Slot>>>,
    next_job: AtomicU64,
    /// What is remembered of each library, wherever it lies.
    policies: Mutex<HashMap<Sha256Sum, policy::State>>,
    /// From when on the policy counts.
    epoch: Instant,
}

/// The place of a plugin's worker. The worker is taken out for a call and put back only if it ends well, so a call that
/// is dropped half-way cannot leave a worker in an unknown state.
#[derive(Debug, Default)]
struct Slot {
    idle: AsyncMutex<Option<Worker>>,
    pid: AtomicU32,
}

impl Host {
    /// Makes a host. Workers start when they are needed and end with the last clone.
    #[must_use]
    pub fn new(options: HostOptions) -> Host {
        let inner = Inner {
            options,
            slots: Mutex::default(),
            next_job: AtomicU64::new(1),
            policies: Mutex::default(),
            epoch: Instant::now(),
        };
        Host { inner: Arc::new(inner) }
    }

    pub(crate) fn options(&self) -> &HostOptions {
        &self.inner.options
    }

    /// Starts a worker, loads a library into it and reads its manifest.
    ///
    /// # Errors
    /// A [`Fault`]; of kind [`FaultKind::Refused`] with both hashes when the file is not the one that was pinned.
    pub async fn load(&self, file: &PluginFile) -> Result<Loaded, Fault> {
        let name =
            file.path.file_name().map_or_else(String::new, |it| it.to_string_lossy().into_owned());
        let slot = Arc::clone(
            self.inner
                .slots
                .lock()
                .unwrap_or_else(PoisonError::into_inner)
                .entry(file.clone())
                .or_default(),
        );
        let mut idle = slot.idle.lock().await;
        self.may_start(file).await.map_err(|trouble| trouble.of(&name))?;
        let mut opened = self.open(file, &slot).await;
        if let Err(trouble) = &opened
            && self.tell(file, trouble.kind, true) == Action::Retry
        {
            opened = self.open(file, &slot).await;
            if let Err(trouble) = &opened {
                self.tell(file, trouble.kind, true);
            }
        }
        let opened = opened.map_err(|trouble| trouble.of(&name).counted(true))?;
        let (worker, pid) = (opened.worker, opened.pid);
        *idle = Some(worker);
        drop(idle);
        let manifest = Arc::new(opened.manifest);
        Ok(Loaded { file: file.clone(), manifest, sandbox: opened.sandbox, pid, slot })
    }

    /// Scores rows. A batch that fails is split until the guilty rows are known; the others keep their scores.
    ///
    /// # Errors
    /// A [`Fault`] of the plugin as a whole: three rows or all of them are guilty, the search takes too long, or the
    /// rows have no part in the failure.
    pub async fn evaluate(&self, plugin: &Loaded, request: &Evaluate) -> Result<Evaluation, Fault> {
        self.answer(plugin, request, true).await
    }

    /// As [`Host::evaluate`], but what the plugin says about rows is not passed on. For very many rows.
    ///
    /// # Errors
    /// As [`Host::evaluate`].
    pub async fn scores(&self, plugin: &Loaded, request: &Evaluate) -> Result<Evaluation, Fault> {
        self.answer(plugin, request, false).await
    }

    /// Lifts the quarantine of a library.
    pub fn release(&self, sha256: Sha256Sum) {
        self.next(sha256, Event::Released);
    }

    async fn answer(
        &self,
        plugin: &Loaded,
        request: &Evaluate,
        remarks: bool,
    ) -> Result<Evaluation, Fault> {
        request.check(&plugin.manifest).map_err(|trouble| trouble.of(&plugin.manifest.id))?;
        let mut idle = plugin.slot.idle.lock().await;
        let answered = match self.may_start(&plugin.file).await {
            Ok(()) => self.pieces(plugin, &mut idle, request, remarks).await,
            Err(trouble) => return Err(trouble.of(&plugin.manifest.id)),
        };
        match &answered {
            Ok(_) => {
                self.next(plugin.file.sha256, Event::Answered);
            }
            // The search has tried once more already what somebody else may have killed.
            Err(fault) => {
                if self.tell(&plugin.file, fault.kind, false) == Action::Retry {
                    self.tell(&plugin.file, fault.kind, false);
                }
            }
        }
        answered.map_err(|fault| fault.counted(false))
    }

    /// Waits until the plugin may be started again, or says that it is in quarantine.
    async fn may_start(&self, file: &PluginFile) -> Result<(), Trouble> {
        loop {
            match self.next(file.sha256, Event::Wanted) {
                Action::Wait(delay) => tokio::time::sleep(delay).await,
                Action::Refuse => {
                    let text = "is in quarantine, since it failed too often";
                    return Err(Trouble::new(FaultKind::Quarantined, text));
                }
                _ => return Ok(()),
            }
        }
    }

    /// Tells the policy of a failure.
    fn tell(&self, file: &PluginFile, kind: FaultKind, while_loading: bool) -> Action {
        match kind.blame(while_loading) {
            Some(blame) => self.next(file.sha256, Event::Failed(blame)),
            None => Action::Tell,
        }
    }

    fn next(&self, sha256: Sha256Sum, event: Event) -> Action {
        let mut policies = self.inner.policies.lock().unwrap_or_else(PoisonError::into_inner);
        let state = policies.entry(sha256).or_default();
        let (next, action) = policy::next(mem::take(state), event, self.inner.epoch.elapsed());
        *state = next;
        action
    }

    /// Runs a batch in pieces, and searches for the guilty rows of those that fail.
    async fn pieces(
        &self,
        plugin: &Loaded,
        idle: &mut Option<Worker>,
        request: &Evaluate,
        remarks: bool,
    ) -> Result<Evaluation, Fault> {
        let id = &plugin.manifest.id;
        let n_criteria = plugin.manifest.criteria.len();
        let mut evaluation = Evaluation {
            n_rows: request.n_rows,
            n_criteria,
            scores: vec![abi::NOT_SCORED; request.n_rows * n_criteria],
            remarks: Vec::new(),
            log: Vec::new(),
            row_faults: Vec::new(),
            incidents: Vec::new(),
        };
        let fitting = wire::INPUT_BYTES / request.row_bytes().max(1);
        let longest = fitting.clamp(1, if remarks { MAX_ROWS } else { MAX_SILENT_ROWS });
        let may_split = plugin.manifest.batch == BatchKind::Independent;
        let mut bisect = Bisect::new(request.n_rows, longest, may_split);
        let mut search_ends = None;
        while let Some(piece) = bisect.next() {
            let outcome = self.run(plugin, idle, request, &piece, remarks).await;
            let trouble = match outcome {
                Ok(checked) => match evaluation.take(&piece, checked, &mut bisect, id) {
                    Ok(()) => continue,
                    Err(fault) => return Err(fault),
                },
                Err(trouble) => trouble,
            };
            let fault = trouble.of(id);
            let now = Instant::now();
            let ends = *search_ends.get_or_insert(now + self.inner.options.deadlines.search);
            if !fault.kind.depends_on_rows() || ends < now {
                return Err(fault);
            }
            match bisect.failed(&piece, fault.kind == FaultKind::Killed) {
                Verdict::GoOn => evaluation.incidents.push(fault),
                Verdict::Row(row) => evaluation.row_faults.push(RowFault { row, fault }),
                Verdict::Plugin => return Err(fault),
            }
        }
        evaluation.row_faults.sort_by_key(|it| it.row);
        Ok(evaluation)
    }

    /// Process id of a plugin's present worker; `None` when it has none.
    #[must_use]
    pub fn worker_pid(&self, plugin: &Loaded) -> Option<u32> {
        Some(plugin.slot.pid.load(Ordering::Relaxed)).filter(|&pid| pid != 0)
    }

    /// Runs some rows in the plugin's worker, or in a fresh one.
    async fn run(
        &self,
        plugin: &Loaded,
        idle: &mut Option<Worker>,
        request: &Evaluate,
        piece: &Piece,
        remarks: bool,
    ) -> Result<Checked, Trouble> {
        let mut worker = match idle.take().and_then(Worker::alive) {
            Some(worker) => worker,
            None => {
                let opened = self.open(&plugin.file, &plugin.slot).await?;
                if opened.manifest != *plugin.manifest {
                    return Err(Trouble::new(
                        FaultKind::Manifest,
                        "gave another manifest than the first time",
                    ));
                }
                opened.worker
            }
        };
        let deadlines = &self.inner.options.deadlines;
        let deadline = deadlines.for_rows(piece.rows.len());
        let deadline_ms =
            u64::try_from((deadline + deadlines.grace).as_millis()).unwrap_or(u64::MAX);
        let job = self.inner.next_job.fetch_add(1, Ordering::Relaxed);
        let (n_rows, n_criteria) = (piece.rows.len(), plugin.manifest.criteria.len());
        let input_bytes = n_rows.saturating_mul(request.row_bytes());
        let score_bytes = n_rows.saturating_mul(n_criteria * size_of::<f64>());
        let memory = worker.memory.as_ref().filter(|_| {
            (WORTH_SHARING..=wire::INPUT_BYTES).contains(&input_bytes)
                && score_bytes <= wire::SCORE_BYTES
        });
        let shared = memory.is_some();
        if let Some(memory) = memory {
            memory.write_inputs(request, &piece.rows).map_err(no_memory)?;
        }
        let call = Call { job, deadline_ms, shared, remarks };
        let message = request.rows(&plugin.manifest, piece.rows.clone(), &call);
        let mut done = worker.evaluate(message, deadline, deadlines.grace).await;
        if let (Some(memory), Ok(done)) = (worker.memory.as_ref().filter(|_| shared), &mut done)
            && done.status == abi::OK
            && done.stage == Stage::Evaluate
        {
            // Scores that came by the pipe all the same are one answer too many.
            let unwanted = mem::take(&mut done.scores);
            done.scores = memory.read_scores(n_rows * n_criteria).map_err(no_memory)?;
            done.scores.extend(unwanted);
        }
        *idle = worker.alive();
        if idle.is_none() {
            plugin.slot.pid.store(0, Ordering::Relaxed);
        }
        validate::check(&plugin.manifest, piece.rows.len(), done?)
    }

    async fn open(&self, file: &PluginFile, slot: &Slot) -> Result<Opened, Trouble> {
        let (worker, loaded) = start(&self.inner.options, file).await?;
        let manifest = Manifest::parse(&loaded.manifest)
            .map_err(|error| Trouble::new(FaultKind::Manifest, error.to_string()))?;
        let pid = worker.pid().unwrap_or(0);
        slot.pid.store(pid, Ordering::Relaxed);
        Ok(Opened { worker, pid, manifest, sandbox: loaded.sandbox })
    }
}

/// Starts a worker with a library in it, and sees to it that it is held back as far as the caller demands.
pub(crate) async fn start(
    options: &HostOptions,
    file: &PluginFile,
) -> Result<(Worker, wire::Loaded), Trouble> {
    let mut worker = Worker::start(&options.find_worker()?, &options.deadlines).await?;
    let path = std::path::absolute(&file.path).map_err(|error| {
        Trouble::new(FaultKind::Refused, format!("cannot find {}: {error}", file.path.display()))
    })?;
    let load = Load { path, sha256: file.sha256.0, limits: Limits::default() };
    let loaded = worker.load(load, &options.deadlines).await?;
    if options.require_sandbox && loaded.sandbox != Sandbox::Full {
        let text = match loaded.sandbox {
            Sandbox::Partial { missing } => {
                format!("a full sandbox is demanded, but this system lacks {missing}")
            }
            _ => "a full sandbox is demanded, but this system has none".to_owned(),
        };
        return Err(Trouble::new(FaultKind::Sandbox, text));
    }
    Ok((worker, loaded))
}

fn no_memory(error: std::io::Error) -> Trouble {
    Trouble::new(FaultKind::Start, format!("the memory shared with a worker fails: {error}"))
}

/// A worker with its library loaded.
struct Opened {
    worker: Worker,
    pid: u32,
    manifest: Manifest,
    sandbox: Sandbox,
}

impl Evaluation {
    /// Takes the checked answer for some of the rows.
    fn take(
        &mut self,
        piece: &Piece,
        checked: Checked,
        bisect: &mut Bisect,
        id: &str,
    ) -> Result<(), Fault> {
        let first = piece.rows.start;
        for (row, trouble) in checked.bad_rows {
            let (row, fault) = (first + row, trouble.of(id));
            if bisect.blame(row) == Verdict::Plugin {
                return Err(fault);
            }
            self.row_faults.push(RowFault { row, fault });
        }
        let scores = first * self.n_criteria..piece.rows.end * self.n_criteria;
        self.scores[scores].copy_from_slice(&checked.scores);
        self.remarks.extend(checked.remarks.into_iter().map(|mut remark| {
            remark.row += first;
            remark
        }));
        self.log.extend(checked.log);
        Ok(())
    }
}
