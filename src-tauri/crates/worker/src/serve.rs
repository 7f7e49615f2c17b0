//! Takes jobs from the host and answers them, one at a time.

use std::io::{Read, Write};
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::mpsc::{self, Receiver, Sender};
use std::thread;

use wire::{Evaluate, FromWorker, Input, Probe, ToWorker};

use crate::library::Plugin;
use crate::memory::{Memory, Room};
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
pub(crate) fn listen(mut input: impl Read + Send + 'static, room: Room) -> Jobs {
    let (sender, queue) = mpsc::channel();
    let cancelled = Arc::new(AtomicU64::new(0));
    let flag = Arc::clone(&cancelled);
    // Lent, not given: the pipe stays open until the process ends, since a plugin may have closed it already.
    thread::spawn(move || exit::now(hear(&mut input, room, &sender, &flag)));
    Jobs { queue, cancelled }
}

fn hear(input: &mut impl Read, room: Room, sender: &Sender<Job>, cancelled: &AtomicU64) -> i32 {
    loop {
        match wire::read(input) {
            Ok(Some(ToWorker::Evaluate(evaluate))) if fits(&evaluate, room) => {
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
fn fits(evaluate: &Evaluate, room: Room) -> bool {
    let n_rows = evaluate.n_rows as usize;
    if let Some(half) = evaluate.half {
        let mut lengths = evaluate.inputs.iter().map(|input| call::length(input, n_rows));
        let inputs = lengths.try_fold(0_usize, |sum, it| sum.checked_add(it?));
        let scores = n_rows.checked_mul(evaluate.n_criteria as usize);
        return (half as usize) < wire::HALVES
            && inputs.is_some_and(|it| it <= room.inputs)
            && scores.is_some_and(|it| it <= room.scores);
    }
    let is_whole = |input: &Input| call::length(input, n_rows) == Some(input.values.len());
    evaluate.inputs.iter().all(is_whole)
}

/// Answers jobs until the host is gone.
pub(crate) fn serve(
    plugin: &Plugin,
    memory: Option<Memory>,
    jobs: &Jobs,
    output: &mut impl Write,
) -> Result<(), String> {
    let (mut instance, mut aside) = (None, None);
    while let Ok(job) = jobs.queue.recv() {
        let answer = match job {
            Job::Evaluate(evaluate) => {
                Here::allow_time(evaluate.deadline_ms)
                    .map_err(|error| format!("no processor time: {error}"))?;
                let shared = memory.zip(evaluate.half).map(|(memory, half)| memory.half(half));
                let flag = &jobs.cancelled;
                FromWorker::Done(call::answer(plugin, &mut instance, &evaluate, shared, flag))
            }
            Job::Probe(probe) => {
                FromWorker::Probed(probe::answer(plugin, &mut instance, &mut aside, &probe))
            }
        };
        send(output, &answer)?;
    }
    Ok(())
}
