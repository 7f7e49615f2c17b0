//! One worker shown as it is: nothing is retried, split, replaced or put right. For finding out what a library does.

use std::sync::Arc;
use std::time::Duration;

use bw_sdk::manifest::Manifest;
use tokio::sync::Mutex as AsyncMutex;
use tokio::time::Instant;
use wire::{Done, Probe, Probed, Sandbox};

use crate::blocking::Blocking;
use crate::child::Worker;
use crate::evaluation::{Call, Evaluate};
use crate::fault::{Fault, FaultKind, Trouble};
use crate::options::HostOptions;
use crate::supervisor::{self, PluginFile};
use crate::validate;

/// A fresh worker with a library in it. It ends with the session, or with the first fault.
#[derive(Debug)]
pub struct Session<'h> {
    host: &'h Blocking,
    options: HostOptions,
    name: String,
    worker: Arc<AsyncMutex<Option<Worker>>>,
    next_job: u64,
    /// The manifest as the library has it, unread.
    pub manifest: String,
    /// What holds the worker back.
    pub sandbox: Sandbox,
    /// The worker's process id.
    pub pid: u32,
    /// How long it took to start the worker and to load the library.
    pub load_time: Duration,
}

/// What a batch brought.
#[derive(Debug, Clone, PartialEq)]
pub struct Answer {
    /// What the worker sent, as it came.
    pub done: Done,
    /// The first fault that a [`Host`](crate::Host) would find in it.
    pub fault: Option<Fault>,
}

impl Blocking {
    /// Starts a worker for a library, apart from those that score.
    ///
    /// # Errors
    /// As [`Host::load`](crate::Host::load), except that the manifest is not read.
    pub fn session(&self, file: &PluginFile) -> Result<Session<'_>, Fault> {
        let options = self.options();
        let (with, of) = (options.clone(), file.clone());
        let name = file.path.file_name().map_or_else(String::new, |it| it.to_string_lossy().into());
        let named = name.clone();
        let (worker, loaded, load_time) = self.wait(async move {
            let start = Instant::now();
            let (worker, loaded) =
                supervisor::start(&with, &of).await.map_err(|it| it.of(&named))?;
            Ok((worker, loaded, start.elapsed()))
        })?;
        Ok(Session {
            host: self,
            options,
            name,
            pid: worker.pid().unwrap_or(0),
            worker: Arc::new(AsyncMutex::new(Some(worker))),
            next_job: 1,
            manifest: loaded.manifest,
            sandbox: loaded.sandbox,
            load_time,
        })
    }
}

impl Session<'_> {
    /// Sends a batch, whole and in one call.
    ///
    /// # Errors
    /// A [`Fault`] when the request does not fit the manifest, or when the worker is gone afterwards.
    pub fn evaluate(&mut self, manifest: &Manifest, request: &Evaluate) -> Result<Answer, Fault> {
        let deadlines = self.options.deadlines;
        self.evaluate_by(manifest, request, deadlines.for_rows(request.n_rows))
    }

    /// As [`Session::evaluate`], and asks the plugin to stop after this time, not after the usual one.
    ///
    /// # Errors
    /// As [`Session::evaluate`].
    pub fn evaluate_by(
        &mut self,
        manifest: &Manifest,
        request: &Evaluate,
        deadline: Duration,
    ) -> Result<Answer, Fault> {
        request.check(manifest).map_err(|it| it.of(&self.name))?;
        let grace = self.options.deadlines.grace;
        let job = self.next_job;
        self.next_job += 1;
        let allowed_ms = u64::try_from((deadline + grace).as_millis()).unwrap_or(u64::MAX);
        let message = {
            let call = Call { job, deadline_ms: allowed_ms, half: None, remarks: true };
            request.rows(manifest, 0..request.n_rows, &call)
        };
        let done = self.run(move |mut worker| async move {
            let outcome = worker.evaluate(message, deadline, grace).await;
            (worker, outcome)
        })?;
        let checked = validate::check_answer(manifest, request.n_rows, done.clone());
        let fault = checked.err().map(|it| Fault { plugin: self.name.clone(), ..it });
        Ok(Answer { done, fault })
    }

    /// Asks for what no job needs.
    ///
    /// # Errors
    /// A [`Fault`] when the worker is gone afterwards.
    pub fn probe(&mut self, probe: Probe) -> Result<Probed, Fault> {
        let deadline = self.options.deadlines.call;
        self.run(move |mut worker| async move {
            let outcome = worker.probe(probe, deadline).await;
            (worker, outcome)
        })
    }

    /// Ends the worker and gives the end of all that was printed in it.
    #[must_use]
    pub fn close(self) -> String {
        let (worker, deadline) = (Arc::clone(&self.worker), self.options.deadlines.grace);
        let printed = self.host.wait(async move {
            Ok(match worker.lock().await.take() {
                Some(worker) => worker.close(deadline).await,
                None => String::new(),
            })
        });
        printed.unwrap_or_default()
    }

    /// Lends the worker to a task. It is not put back after a fault.
    fn run<T, F>(&self, task: impl FnOnce(Worker) -> F + Send + 'static) -> Result<T, Fault>
    where
        T: Send + 'static,
        F: Future<Output = (Worker, Result<T, Trouble>)> + Send + 'static,
    {
        let (slot, name) = (Arc::clone(&self.worker), self.name.clone());
        self.host.wait(async move {
            let mut slot = slot.lock().await;
            let Some(worker) = slot.take() else {
                return Err(Trouble::new(FaultKind::Exit, "has ended already").of(&name));
            };
            let (worker, outcome) = task(worker).await;
            let outcome = outcome.map_err(|it| it.of(&name))?;
            *slot = Some(worker);
            Ok(outcome)
        })
    }
}
