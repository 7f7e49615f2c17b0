//! The host for callers that are not async.

use std::future::Future;
use std::io;
use std::num::NonZero;
use std::sync::mpsc;
use std::thread::available_parallelism;

use tokio::runtime::{Builder, Runtime};

use crate::evaluation::{Evaluate, Evaluation};
use crate::fault::{Fault, FaultKind, Trouble};
use crate::hash::Sha256Sum;
use crate::options::HostOptions;
use crate::supervisor::{Host, Loaded, PluginFile};

/// More threads would not help: they copy and check numbers for a few plugins.
const MOST_THREADS: usize = 4;

/// A [`Host`] with a runtime of its own. Its functions wait, on any thread; several threads may use it at once.
#[derive(Debug)]
pub struct Blocking {
    host: Host,
    /// Taken only when dropped.
    runtime: Option<Runtime>,
}

impl Blocking {
    /// Makes a host.
    ///
    /// # Errors
    /// When the system gives no thread.
    pub fn new(options: HostOptions) -> io::Result<Blocking> {
        let runtime = Builder::new_multi_thread()
            .worker_threads(available_parallelism().map_or(1, NonZero::get).min(MOST_THREADS))
            .thread_name("plugin-host")
            .enable_all()
            .build()?;
        Ok(Blocking { host: Host::new(options), runtime: Some(runtime) })
    }

    /// As [`Host::load`].
    ///
    /// # Errors
    /// As [`Host::load`].
    pub fn load(&self, file: &PluginFile) -> Result<Loaded, Fault> {
        let (host, file) = (self.host.clone(), file.clone());
        self.wait(async move { host.load(&file).await })
    }

    /// As [`Host::evaluate`].
    ///
    /// # Errors
    /// As [`Host::evaluate`].
    pub fn evaluate(&self, plugin: &Loaded, request: Evaluate) -> Result<Evaluation, Fault> {
        let (host, plugin) = (self.host.clone(), plugin.clone());
        self.wait(async move { host.evaluate(&plugin, &request).await })
    }

    /// As [`Host::scores`].
    ///
    /// # Errors
    /// As [`Host::evaluate`].
    pub fn scores(&self, plugin: &Loaded, request: Evaluate) -> Result<Evaluation, Fault> {
        let (host, plugin) = (self.host.clone(), plugin.clone());
        self.wait(async move { host.scores(&plugin, &request).await })
    }

    /// As [`Host::release`].
    pub fn release(&self, sha256: Sha256Sum) {
        self.host.release(sha256);
    }

    /// As [`Host::worker_pid`].
    #[must_use]
    pub fn worker_pid(&self, plugin: &Loaded) -> Option<u32> {
        self.host.worker_pid(plugin)
    }

    /// What the host was made from.
    pub(crate) fn options(&self) -> HostOptions {
        self.host.options().clone()
    }

    /// Runs a task on the own runtime and waits on a channel, which unlike `block_on` works inside another runtime.
    pub(crate) fn wait<T: Send + 'static>(
        &self,
        task: impl Future<Output = Result<T, Fault>> + Send + 'static,
    ) -> Result<T, Fault> {
        let (sender, receiver) = mpsc::sync_channel(1);
        if let Some(runtime) = &self.runtime {
            runtime.spawn(async move {
                // The receiver waits below; it is gone only if its thread is.
                let _ = sender.send(task.await);
            });
        }
        receiver.recv().unwrap_or_else(|_| {
            Err(Trouble::new(FaultKind::Start, "the plugin host has ended").of("host"))
        })
    }
}

impl Drop for Blocking {
    fn drop(&mut self) {
        // Dropping a runtime waits for its tasks, which is forbidden inside another runtime. Workers die with the host.
        if let Some(runtime) = self.runtime.take() {
            runtime.shutdown_background();
        }
    }
}
