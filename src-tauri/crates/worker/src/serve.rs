//! Takes jobs from the host and answers them, one at a time.

use std::io::{Read, Write};
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::mpsc::{self, Receiver, Sender};
use std::thread;

use bw_sdk::abi::KIND_CURVE;
use wire::{Evaluate, FromWorker, ToWorker};

use crate::library::Plugin;
use crate::sandbox::{Confinement as _, Here};
use crate::{call, exit, send};

/// What the reading thread hands over.
#[derive(Debug)]
pub(crate) struct Jobs {
    queue: Receiver<Evaluate>,
    cancelled: Arc<AtomicU64>,
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

fn hear(input: &mut impl Read, sender: &Sender<Evaluate>, cancelled: &AtomicU64) -> i32 {
    loop {
        match wire::read(input) {
            Ok(Some(ToWorker::Evaluate(evaluate))) if fits(&evaluate) => {
                if sender.send(evaluate).is_err() {
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
    let mut instance = None;
    while let Ok(evaluate) = jobs.queue.recv() {
        Here::allow_time(evaluate.deadline_ms)
            .map_err(|error| format!("no processor time: {error}"))?;
        let done = call::answer(plugin, &mut instance, &evaluate, &jobs.cancelled);
        send(output, &FromWorker::Done(done))?;
    }
    Ok(())
}
