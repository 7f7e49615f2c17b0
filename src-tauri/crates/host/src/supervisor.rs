//! The host: one worker for each plugin, replaced when it fails.

use std::collections::HashMap;
use std::mem;
use std::path::PathBuf;
use std::sync::atomic::{AtomicU32, AtomicU64, Ordering};
use std::sync::{Arc, Mutex, PoisonError};

use bw_sdk::manifest::Manifest;
use tokio::sync::Mutex as AsyncMutex;
use tokio::time::Instant;
use wire::{Limits, Load, Sandbox};

use crate::child::Worker;
use crate::evaluation::{Evaluate, Evaluation};
use crate::fault::{Fault, FaultKind, Trouble};
use crate::hash::Sha256Sum;
use crate::options::HostOptions;
use crate::policy::{self, Action, Event};
use crate::run::Run;

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
        // A worker program that is not there is no failure of the plugin's, and waiting does not bring it.
        self.inner.options.find_worker().map_err(|trouble| trouble.of(&name))?;
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
            Ok(()) => Run::new(self, plugin, request, remarks).finish(&mut idle).await,
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
                    let text = "quarantined, since it failed too often in this run";
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

    /// Process id of a plugin's present worker; `None` when it has none.
    #[must_use]
    pub fn worker_pid(&self, plugin: &Loaded) -> Option<u32> {
        Some(plugin.slot.pid.load(Ordering::Relaxed)).filter(|&pid| pid != 0)
    }

    /// A fresh worker for a plugin that was loaded before.
    pub(crate) async fn reopen(&self, plugin: &Loaded) -> Result<Worker, Trouble> {
        let opened = self.open(&plugin.file, &plugin.slot).await?;
        if opened.manifest == *plugin.manifest {
            return Ok(opened.worker);
        }
        Err(Trouble::new(FaultKind::Manifest, "gave another manifest than the first time"))
    }

    /// A number for a job.
    pub(crate) fn next_job(&self) -> u64 {
        self.inner.next_job.fetch_add(1, Ordering::Relaxed)
    }

    /// Notes that a plugin's worker has ended.
    pub(crate) fn has_no_worker(&self, plugin: &Loaded) {
        plugin.slot.pid.store(0, Ordering::Relaxed);
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

/// A worker with its library loaded.
struct Opened {
    worker: Worker,
    pid: u32,
    manifest: Manifest,
    sandbox: Sandbox,
}
