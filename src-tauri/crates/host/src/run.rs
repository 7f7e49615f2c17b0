//! One evaluation. While a plugin scores some rows, those before them are checked, and those after them are written and asked
//! for, so that its worker never waits for the host.

use bw_sdk::abi;
use bw_sdk::manifest::BatchKind;
use tokio::time::Instant;
use wire::{Done, MAX_ROWS, MAX_SILENT_ROWS};

use crate::bisect::{Bisect, Piece, Verdict};
use crate::child::{Running, Worker};
use crate::evaluation::{Call, Evaluate, Evaluation, RowFault};
use crate::fault::{Fault, FaultKind, Trouble};
use crate::link::Memory;
use crate::supervisor::{Host, Loaded};
use crate::validate::{self, Limits};

/// Inputs of this many bytes and more go through shared memory: below, a pipe is as quick.
const WORTH_SHARING: usize = 16 << 10;

/// A batch on its way.
#[derive(Debug)]
pub(crate) struct Run<'a> {
    host: &'a Host,
    plugin: &'a Loaded,
    request: &'a Evaluate,
    remarks: bool,
    limits: Limits<'a>,
    bisect: Bisect,
    evaluation: Evaluation,
    search_ends: Option<Instant>,
    /// The half of the memory that the next rows go to.
    half: u32,
    /// What the worker was asked for beside the job it is at.
    queued: Option<Queued>,
    /// What is answered and not checked yet.
    behind: Option<Answered>,
}

/// Rows that the worker will score next.
#[derive(Debug)]
struct Queued {
    piece: Piece,
    half: u32,
    running: Running,
}

/// An answer as it came.
#[derive(Debug)]
struct Answered {
    piece: Piece,
    half: Option<u32>,
    done: Done,
}

impl<'a> Run<'a> {
    /// Plans a request that was checked.
    pub(crate) fn new(
        host: &'a Host,
        plugin: &'a Loaded,
        request: &'a Evaluate,
        remarks: bool,
    ) -> Run<'a> {
        let (n_rows, n_criteria) = (request.n_rows, plugin.manifest.criteria.len());
        let fitting = wire::INPUT_BYTES / request.row_bytes().max(1);
        let longest = fitting.clamp(1, if remarks { MAX_ROWS } else { MAX_SILENT_ROWS });
        let may_split = plugin.manifest.batch == BatchKind::Independent;
        let evaluation = Evaluation {
            n_rows,
            n_criteria,
            // Each is taken from an answer, or its row is found guilty; memory of zeros is not touched before.
            scores: vec![0.0; n_rows * n_criteria],
            remarks: Vec::new(),
            log: Vec::new(),
            row_faults: Vec::new(),
            incidents: Vec::new(),
        };
        Run {
            host,
            plugin,
            request,
            remarks,
            limits: Limits::of(&plugin.manifest),
            bisect: Bisect::new(n_rows, longest, may_split),
            evaluation,
            search_ends: None,
            half: 0,
            queued: None,
            behind: None,
        }
    }

    /// Runs all pieces, and searches for the guilty rows of those that fail. The worker is put back if it can go on.
    pub(crate) async fn finish(mut self, idle: &mut Option<Worker>) -> Result<Evaluation, Fault> {
        let ended = self.run(idle).await;
        // A worker that is still at rows that nobody waits for is of no use to the next call.
        if self.queued.is_some() && idle.take().is_some() {
            self.host.has_no_worker(self.plugin);
        }
        ended?;
        self.evaluation.row_faults.sort_by_key(|it| it.row);
        let n_criteria = self.evaluation.n_criteria;
        for RowFault { row, .. } in &self.evaluation.row_faults {
            let scores = row * n_criteria..(row + 1) * n_criteria;
            self.evaluation.scores[scores].fill(abi::NOT_SCORED);
        }
        Ok(self.evaluation)
    }

    /// Runs piece after piece until all are scored or to blame.
    async fn run(&mut self, idle: &mut Option<Worker>) -> Result<(), Fault> {
        loop {
            if let Some(piece) = self.bisect.next() {
                if let Err(trouble) = self.score(idle, &piece).await? {
                    self.failed(&piece, trouble)?;
                }
            } else if let Some(last) = self.behind.take() {
                // It may turn out bad, and its rows be run again.
                self.settle(idle.as_ref().and_then(|it| it.memory.as_ref()), last)?;
            } else {
                return Ok(());
            }
        }
    }

    /// Runs some rows in the plugin's worker, or in a fresh one. The inner error is one of these rows, the outer one ends
    /// the call, and the worker with it, since it may be in the middle of a job.
    async fn score(
        &mut self,
        idle: &mut Option<Worker>,
        piece: &Piece,
    ) -> Result<Result<(), Trouble>, Fault> {
        let lives = idle.as_mut().is_some_and(Worker::is_alive);
        let mut worker = match idle.take() {
            Some(worker) if lives => worker,
            gone => {
                if let Some(last) = self.behind.take() {
                    self.settle(gone.as_ref().and_then(|it| it.memory.as_ref()), last)?;
                }
                drop(gone);
                self.queued = None;
                match self.host.reopen(self.plugin).await {
                    Ok(worker) => worker,
                    Err(trouble) => return Ok(Err(trouble)),
                }
            }
        };
        let ahead = match self.queued.take() {
            Some(ahead) if ahead.piece == *piece => {
                Some((Some(ahead.half), ahead.running.at_its_turn()))
            }
            Some(other) => {
                // Rows before these failed and are asked for again; what came ahead of its time is not wanted any more.
                let grace = self.host.options().deadlines.grace;
                let unwanted = worker.finish(&other.running.at_its_turn(), grace).await;
                if unwanted.is_err() && !worker.is_alive() {
                    self.host.has_no_worker(self.plugin);
                    drop(worker);
                    worker = match self.host.reopen(self.plugin).await {
                        Ok(worker) => worker,
                        Err(trouble) => return Ok(Err(trouble)),
                    };
                }
                None
            }
            None => None,
        };
        let (half, begun) = match ahead {
            Some((half, running)) => (half, Ok(running)),
            None => {
                let half = self.half_for(&worker, piece);
                match self.ask(&mut worker, piece, half).await {
                    Ok(begun) => (half, begun),
                    Err(error) => return Ok(Err(no_memory(&error))),
                }
            }
        };
        if let Some(last) = self.behind.take() {
            self.settle(worker.memory.as_ref(), last)?;
        }
        if half.is_some() && begun.is_ok() {
            self.ask_ahead(&mut worker).await;
        }
        let done = match begun {
            Ok(running) => worker.finish(&running, self.host.options().deadlines.grace).await,
            Err(trouble) => Err(trouble),
        };
        let lives = worker.is_alive();
        if !lives {
            self.host.has_no_worker(self.plugin);
        }
        let done = match done {
            Ok(done) => done,
            Err(trouble) => {
                *idle = lives.then_some(worker);
                return Ok(Err(trouble));
            }
        };
        let answered = Answered { piece: piece.clone(), half, done };
        if lives && half.is_some() {
            self.behind = Some(answered);
        } else {
            self.settle(worker.memory.as_ref(), answered)?;
        }
        *idle = lives.then_some(worker);
        Ok(Ok(()))
    }

    /// The half of the memory for some rows, if they are worth it and find room.
    fn half_for(&self, worker: &Worker, piece: &Piece) -> Option<u32> {
        let n_rows = piece.rows.len();
        let input_bytes = n_rows.saturating_mul(self.request.row_bytes());
        let score_bytes = n_rows.saturating_mul(self.evaluation.n_criteria * size_of::<f64>());
        let fits = (WORTH_SHARING..=wire::INPUT_BYTES).contains(&input_bytes)
            && score_bytes <= wire::SCORE_BYTES;
        (fits && worker.memory.is_some()).then_some(self.half)
    }

    /// Writes some rows and asks for their scores. The outer error is one of the memory.
    async fn ask(
        &mut self,
        worker: &mut Worker,
        piece: &Piece,
        half: Option<u32>,
    ) -> std::io::Result<Result<Running, Trouble>> {
        if let (Some(half), Some(memory)) = (half, &worker.memory) {
            memory.write_inputs(half, self.request, &piece.rows)?;
            self.half = 1 - half;
        }
        let deadlines = &self.host.options().deadlines;
        let deadline = deadlines.for_rows(piece.rows.len());
        let allowed = (deadline + deadlines.grace).as_millis();
        let deadline_ms = u64::try_from(allowed).unwrap_or(u64::MAX);
        let call = Call { job: self.host.next_job(), deadline_ms, half, remarks: self.remarks };
        let message = self.request.rows(&self.plugin.manifest, piece.rows.clone(), &call);
        Ok(worker.begin(message, deadline, deadlines.grace).await)
    }

    /// Asks for the rows that are likely to be next. If that fails, it is tried again when they are.
    async fn ask_ahead(&mut self, worker: &mut Worker) {
        let Some(piece) = self.bisect.peek().cloned() else { return };
        let Some(half) = self.half_for(worker, &piece) else { return };
        if let Ok(Ok(running)) = self.ask(worker, &piece, Some(half)).await {
            self.queued = Some(Queued { piece, half, running });
        }
    }

    /// Checks an answer and keeps what is good.
    fn settle(&mut self, memory: Option<&Memory>, answered: Answered) -> Result<(), Fault> {
        let Answered { piece, half, done } = answered;
        match self.take(memory, &piece, half, done) {
            Ok(bad_rows) => {
                for (row, trouble) in bad_rows {
                    let fault = trouble.of(&self.plugin.manifest.id);
                    if self.bisect.blame(row) == Verdict::Plugin {
                        return Err(fault);
                    }
                    self.evaluation.row_faults.push(RowFault { row, fault });
                }
                Ok(())
            }
            Err(trouble) => self.failed(&piece, trouble),
        }
    }

    /// Takes an answer over, and gives the rows that are bad in themselves.
    fn take(
        &mut self,
        memory: Option<&Memory>,
        piece: &Piece,
        half: Option<u32>,
        mut done: Done,
    ) -> Result<Vec<(usize, Trouble)>, Trouble> {
        let first = piece.rows.start;
        let n_criteria = self.evaluation.n_criteria;
        let scores = std::mem::take(&mut done.scores);
        let said = validate::said(&self.plugin.manifest, piece.rows.len(), done)?;
        let range = first * n_criteria..piece.rows.end * n_criteria;
        match (half, memory) {
            (Some(half), Some(memory)) => {
                validate::count(&self.plugin.manifest, 0, scores.len())?;
                let place = &mut self.evaluation.scores[range.clone()];
                memory.read_scores(half, place).map_err(|error| no_memory(&error))?;
            }
            _ => {
                validate::count(&self.plugin.manifest, piece.rows.len(), scores.len())?;
                self.evaluation.scores[range.clone()].copy_from_slice(&scores);
            }
        }
        let bad_rows = self.limits.bad_rows(&mut self.evaluation.scores[range]);
        let remarks = said.remarks.into_iter().filter(|it| !bad_rows.contains_key(&it.row));
        self.evaluation.remarks.extend(remarks.map(|mut remark| {
            remark.row += first;
            remark
        }));
        self.evaluation.log.extend(said.log);
        Ok(bad_rows.into_iter().map(|(row, trouble)| (first + row, trouble)).collect())
    }

    /// Some rows failed: goes on with the search, or gives up.
    fn failed(&mut self, piece: &Piece, trouble: Trouble) -> Result<(), Fault> {
        let fault = trouble.of(&self.plugin.manifest.id);
        let now = Instant::now();
        let search = self.host.options().deadlines.search;
        let ends = *self.search_ends.get_or_insert(now + search);
        if !fault.kind.depends_on_rows() || ends < now {
            return Err(fault);
        }
        match self.bisect.failed(piece, fault.kind == FaultKind::Killed) {
            Verdict::GoOn => self.evaluation.incidents.push(fault),
            Verdict::Row(row) => self.evaluation.row_faults.push(RowFault { row, fault }),
            Verdict::Plugin => return Err(fault),
        }
        Ok(())
    }
}

fn no_memory(error: &std::io::Error) -> Trouble {
    Trouble::new(FaultKind::Start, format!("the memory shared with a worker fails: {error}"))
}
