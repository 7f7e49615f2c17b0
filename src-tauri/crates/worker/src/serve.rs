//! Takes jobs from the host and answers them, one at a time.

use std::io::{Read, Write};
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::mpsc::{self, Receiver, Sender};
use std::thread;

use bw_sdk::abi::KIND_CURVE;
use wire::{Evaluate, FromWorker, Probe, ToWorker};

use crate::library::Plugin;
use crate::sandbox::{Confinement as _, Here};
use crate::{call, exit, probe, send};

/// What the reading thread hands over.
#[derive(Debug)]
pub(crate) struct Jobs {
    queue: Receiver<Job>,
    cancelled: Arc<AtomicU64>,
}

#[derive(Debug)]
enum Job {
    Evaluate(Evaluate),
    Probe(Probe),
}

/// Starts the thread that reads. It also ends the process when the host is gone, whatever the plugin is doing.
pub(crate) fn listen(mut input: impl Read + Send + 'static) -> Jobs {
    let (sender, queue) = mpsc::channel();
    let cancelled = Arc::new(AtomicU64::new(0));
    let flag = Arc::clone(&cancelled);
    // Lent, not given: the pipe stays open until the process ends, since a plugin may have closed it already.
    thread::spawn(move || exit::now(hear(&mut input, &sender, &flag)));
    Jobs { queue, cancelled }
}

fn hear(input: &mut impl Read, sender: &Sender<Job>, cancelled: &AtomicU64) -> i32 {
    loop {
        match wire::read(input) {
            Ok(Some(ToWorker::Evaluate(evaluate))) if fits(&evaluate) => {
                if sender.send(Job::Evaluate(evaluate)).is_err() {
                    return exit::DONE;
                }
            }
            Ok(Some(ToWorker::Probe(probe))) => {
                if sender.send(Job::Probe(probe)).is_err() {
                    return exit::DONE;
                }
            }
            Ok(Some(ToWorker::Cancel { job })) => cancelled.store(job, Ordering::Relaxed),
            Ok(None) => return exit::DONE,
            Ok(Some(_)) | Err(_) => return exit::PROTOCOL,
        }
    }
}

/// Whether the arrays are as long as the plugin will be told.
fn fits(evaluate: &Evaluate) -> bool {
    let n_rows = evaluate.n_rows as usize;
    evaluate.inputs.iter().all(|input| match input.kind {
        KIND_CURVE => n_rows.checked_mul(input.grid.len()) == Some(input.values.len()),
        _ => input.grid.is_empty() && input.values.len() == n_rows,
    })
}

/// Answers jobs until the host is gone.
pub(crate) fn serve(plugin: &Plugin, jobs: &Jobs, output: &mut impl Write) -> Result<(), String> {
    let (mut instance, mut aside) = (None, None);
    while let Ok(job) = jobs.queue.recv() {
        let answer = match job {
            Job::Evaluate(evaluate) => {
                Here::allow_time(evaluate.deadline_ms)
                    .map_err(|error| format!("no processor time: {error}"))?;
                FromWorker::Done(call::answer(plugin, &mut instance, &evaluate, &jobs.cancelled))
            }
            Job::Probe(probe) => {
                FromWorker::Probed(probe::answer(plugin, &mut instance, &mut aside, &probe))
            }
        };
        send(output, &answer)?;
    }
    Ok(())
}
