//! One worker process: started, spoken to, and ended together with all it started.

use std::path::Path;
use std::process::{ExitStatus, Stdio};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::process::{Child, ChildStderr, ChildStdout, Command};
use tokio::sync::mpsc;
use tokio::task::JoinHandle;
use tokio::time::{Instant, timeout, timeout_at};
use wire::{Done, FrameError, FromWorker, Load, Loaded, Part, Probe, Probed, START_MARK, ToWorker};

use crate::fault::{FaultKind, Trouble};
use crate::link::{Draft, Memory, Writer};
use crate::options::Deadlines;

/// How long a process whose pipe has closed may take to be gone.
const LAST_BREATH: Duration = Duration::from_secs(1);
/// How much of what a plugin printed is kept, in bytes.
const TAIL_BYTES: usize = 4096;

/// A worker that has greeted. Dropping it kills its process group.
#[derive(Debug)]
pub(crate) struct Worker {
    child: Child,
    stdin: Writer,
    /// What the worker shares, where there is any.
    pub(crate) memory: Option<Memory>,
    /// What the reading task heard; it ends with the pipe.
    messages: mpsc::Receiver<Result<FromWorker, FrameError>>,
    printed: Arc<Mutex<Vec<u8>>>,
    /// Ends when all of it is read.
    printing: JoinHandle<()>,
}

/// A batch that is being scored.
#[derive(Debug)]
pub(crate) struct Running {
    job: u64,
    by: Instant,
    deadline: Duration,
}

impl Running {
    /// The same job, whose turn comes only now.
    pub(crate) fn at_its_turn(self) -> Running {
        Running { by: Instant::now() + self.deadline, ..self }
    }
}

impl Worker {
    /// Starts a worker and hears its greeting.
    pub(crate) async fn start(program: &Path, deadlines: &Deadlines) -> Result<Worker, Trouble> {
        let mut worker = Worker::spawn(program)?;
        let hello = match worker.answer_by(Instant::now() + deadlines.hello).await {
            Ok(Some(FromWorker::Hello(hello))) => Ok(hello),
            Ok(Some(_)) => Err("spoke before it greeted".to_owned()),
            Ok(None) => Err("did not greet in time".to_owned()),
            Err(trouble) => Err(trouble.text),
        };
        let hello = hello.map_err(|what| {
            let text = format!("the worker program {} {what}", program.display());
            Trouble::new(FaultKind::Start, text)
        })?;
        hello.check().map_err(|error| Trouble::new(FaultKind::Version, error.to_string()))?;
        Ok(worker)
    }

    fn spawn(program: &Path) -> Result<Worker, Trouble> {
        #[expect(clippy::disallowed_methods, reason = "this is the one place that starts workers")]
        let mut command = Command::new(program);
        command.env_clear().env(START_MARK, "1").current_dir("/").kill_on_drop(true);
        command.stdout(Stdio::piped()).stderr(Stdio::piped());
        let no_link = |error: std::io::Error| {
            Trouble::new(FaultKind::Start, format!("a worker cannot be spoken to: {error}"))
        };
        let draft = Draft::of(&mut command).map_err(no_link)?;
        // One signal then reaches whatever the worker started.
        #[cfg(unix)]
        command.process_group(0);
        let mut child = command.spawn().map_err(|error| {
            Trouble::new(FaultKind::Start, format!("cannot start {}: {error}", program.display()))
        })?;
        // A worker that is gone by now is noticed when its greeting is missing.
        let (stdin, memory) = draft.finish(&mut child).map_err(no_link)?;
        let pipes = child.stdout.take().zip(child.stderr.take());
        let (stdout, stderr) =
            pipes.ok_or_else(|| Trouble::new(FaultKind::Start, "a worker has no pipes"))?;
        let printed = Arc::new(Mutex::new(Vec::new()));
        let printing = tokio::spawn(keep_tail(stderr, Arc::clone(&printed)));
        let (sender, messages) = mpsc::channel(1);
        tokio::spawn(hear(stdout, sender));
        Ok(Worker { child, stdin, memory, messages, printed, printing })
    }

    /// Process id, until the process is known to be gone.
    pub(crate) fn pid(&self) -> Option<u32> {
        self.child.id()
    }

    /// Loads a library. The worker is of no use after a failure.
    pub(crate) async fn load(
        &mut self,
        load: Load,
        deadlines: &Deadlines,
    ) -> Result<Loaded, Trouble> {
        let by = Instant::now() + deadlines.load;
        self.send_by(by, &ToWorker::Load(load)).await?;
        match self.answer_by(by).await? {
            Some(FromWorker::Loaded(loaded)) => Ok(loaded),
            Some(FromWorker::Refused { part, why }) => {
                let kind = match part {
                    Part::Library => FaultKind::Refused,
                    Part::Table => FaultKind::Table,
                    Part::Manifest => FaultKind::Manifest,
                };
                Err(Trouble::new(kind, why))
            }
            Some(other) => Err(self.unexpected(&other).await),
            None => Err(self.late(deadlines.load).await),
        }
    }

    /// Scores a batch.
    pub(crate) async fn evaluate(
        &mut self,
        evaluate: wire::Evaluate,
        deadline: Duration,
        grace: Duration,
    ) -> Result<Done, Trouble> {
        let running = self.begin(evaluate, deadline, grace).await?;
        self.finish(&running, grace).await
    }

    /// Lets a batch be scored.
    pub(crate) async fn begin(
        &mut self,
        evaluate: wire::Evaluate,
        deadline: Duration,
        grace: Duration,
    ) -> Result<Running, Trouble> {
        let (job, by) = (evaluate.job, Instant::now() + deadline);
        // A call that is to be stopped at once must still arrive.
        self.send_by(by.max(Instant::now() + grace), &ToWorker::Evaluate(evaluate)).await?;
        Ok(Running { job, by, deadline })
    }

    /// Waits for the answer. Past the deadline the plugin is asked to stop; past the grace its process is killed.
    pub(crate) async fn finish(
        &mut self,
        running: &Running,
        grace: Duration,
    ) -> Result<Done, Trouble> {
        let &Running { job, by, deadline } = running;
        let mut answer = self.answer_by(by).await?;
        if answer.is_none() {
            let by = Instant::now() + grace;
            self.send_by(by, &ToWorker::Cancel { job }).await?;
            answer = self.answer_by(by).await?;
        }
        match answer {
            Some(FromWorker::Done(done)) if done.job == job => Ok(done),
            Some(other) => Err(self.unexpected(&other).await),
            None => Err(self.late(deadline).await),
        }
    }

    /// Asks for what no job needs.
    pub(crate) async fn probe(
        &mut self,
        probe: Probe,
        deadline: Duration,
    ) -> Result<Probed, Trouble> {
        let by = Instant::now() + deadline;
        self.send_by(by, &ToWorker::Probe(probe)).await?;
        match self.answer_by(by).await? {
            Some(FromWorker::Probed(probed)) => Ok(probed),
            Some(other) => Err(self.unexpected(&other).await),
            None => Err(self.late(deadline).await),
        }
    }

    /// Ends the worker and gives the end of all that was printed in it.
    pub(crate) async fn close(mut self, deadline: Duration) -> String {
        self.kill().await;
        // The pipe ends with the last process that holds it; what came until then is enough.
        let _ = timeout(deadline, &mut self.printing).await;
        let printed = self.printed.lock().unwrap_or_else(PoisonError::into_inner);
        String::from_utf8_lossy(&printed).into_owned()
    }

    /// Whether it can take another job: its process has not ended and its pipe is open.
    pub(crate) fn is_alive(&mut self) -> bool {
        !self.messages.is_closed() && matches!(self.child.try_wait(), Ok(None))
    }

    /// Kills the process and what it started, and waits until it is gone.
    pub(crate) async fn kill(&mut self) {
        self.kill_group();
        self.messages.close();
        // Killed or gone before: both end the wait. An error leaves the rest to `kill_on_drop`.
        let _ = self.child.wait().await;
    }

    async fn send_by(&mut self, by: Instant, message: &ToWorker) -> Result<(), Trouble> {
        let frame = wire::encode(message)
            .map_err(|error| Trouble::new(FaultKind::Input, error.to_string()))?;
        match timeout_at(by, self.stdin.write_all(&frame)).await {
            // A failed write means that the worker is gone: hearing from it tells how.
            Ok(_) => Ok(()),
            Err(_) => {
                self.kill().await;
                Err(Trouble::new(
                    FaultKind::Timeout,
                    "did not take its inputs in time and was killed",
                ))
            }
        }
    }

    /// The next message; `None` when it does not come in time.
    async fn answer_by(&mut self, by: Instant) -> Result<Option<FromWorker>, Trouble> {
        match timeout_at(by, self.messages.recv()).await {
            Err(_) => Ok(None),
            Ok(Some(Ok(message))) => Ok(Some(message)),
            Ok(Some(Err(error @ FrameError::Io(_)))) => Err(self.end(&error.to_string()).await),
            Ok(Some(Err(FrameError::Truncated))) | Ok(None) => {
                Err(self.end("closed its pipe").await)
            }
            Ok(Some(Err(error))) => {
                self.kill().await;
                Err(Trouble::new(FaultKind::BadReply, format!("broke the protocol: {error}")))
            }
        }
    }

    async fn unexpected(&mut self, message: &FromWorker) -> Trouble {
        self.kill().await;
        let name = match message {
            FromWorker::Hello(_) => "a greeting",
            FromWorker::Loaded(_) => "a manifest",
            FromWorker::Refused { .. } => "a refusal",
            FromWorker::Done(_) => "the answer to another job",
            FromWorker::Probed(_) => "an answer to no question",
        };
        Trouble::new(FaultKind::BadReply, format!("broke the protocol: {name} came out of turn"))
    }

    async fn late(&mut self, deadline: Duration) -> Trouble {
        self.kill().await;
        let seconds = deadline.as_secs_f64();
        Trouble::new(
            FaultKind::Timeout,
            format!("did not answer within {seconds:.1} s and was killed"),
        )
    }

    /// Why a worker whose pipe has closed is gone.
    async fn end(&mut self, what: &str) -> Trouble {
        let status = timeout(LAST_BREATH, self.child.wait()).await;
        let Ok(Ok(status)) = status else {
            self.kill().await;
            return Trouble::new(FaultKind::BadReply, format!("broke the protocol: {what}"));
        };
        let (kind, mut text) = cause(status);
        if let Some(line) = self.last_line() {
            text = format!("{text}; it last printed: {line}");
        }
        Trouble { kind, text }
    }

    fn last_line(&self) -> Option<String> {
        let printed = self.printed.lock().unwrap_or_else(PoisonError::into_inner);
        let text = String::from_utf8_lossy(&printed).into_owned();
        let line = text.lines().rev().find(|line| !line.trim().is_empty())?;
        Some(line.trim().chars().filter(|it| !it.is_control()).take(200).collect())
    }

    fn kill_group(&self) {
        // Once waited for there is no id, so no stranger who got the same number is hit.
        #[cfg(unix)]
        if let Some(pid) = self
            .child
            .id()
            .and_then(|it| i32::try_from(it).ok())
            .and_then(rustix::process::Pid::from_raw)
        {
            // It fails only when all of the group are gone.
            let _ = rustix::process::kill_process_group(pid, rustix::process::Signal::KILL);
        }
    }
}

impl Drop for Worker {
    fn drop(&mut self) {
        self.kill_group();
    }
}

#[cfg(unix)]
fn cause(status: ExitStatus) -> (FaultKind, String) {
    use std::os::unix::process::ExitStatusExt;

    use rustix::process::Signal;

    let Some(signal) = status.signal() else { return exit_cause(status) };
    let known = [
        (Signal::ABORT, "SIGABRT: it gave up, perhaps for want of memory"),
        (Signal::BUS, "SIGBUS: bad memory access"),
        (Signal::FPE, "SIGFPE: bad arithmetic"),
        (Signal::ILL, "SIGILL: bad instruction"),
        (Signal::SEGV, "SIGSEGV: bad memory access"),
        (Signal::SYS, "SIGSYS: forbidden system call"),
        (Signal::TRAP, "SIGTRAP: trap"),
        (Signal::XFSZ, "SIGXFSZ: wrote too much"),
    ];
    if signal == Signal::KILL.as_raw() {
        return (FaultKind::Killed, "was killed from outside (SIGKILL)".to_owned());
    }
    if signal == Signal::XCPU.as_raw() {
        return (FaultKind::Timeout, "used up its processor time (SIGXCPU)".to_owned());
    }
    let name =
        known.iter().find(|(it, _)| it.as_raw() == signal).map(|(_, name)| (*name).to_owned());
    (FaultKind::Crash, format!("crashed ({})", name.unwrap_or_else(|| format!("signal {signal}"))))
}

#[cfg(not(unix))]
fn cause(status: ExitStatus) -> (FaultKind, String) {
    exit_cause(status)
}

fn exit_cause(status: ExitStatus) -> (FaultKind, String) {
    let code = status.code().map_or("an unknown code".to_owned(), |code| format!("code {code}"));
    (FaultKind::Exit, format!("ended its process with {code}"))
}

/// Passes messages on until the pipe ends or one of them is none.
async fn hear(mut stdout: ChildStdout, sender: mpsc::Sender<Result<FromWorker, FrameError>>) {
    loop {
        let message = receive(&mut stdout).await;
        let is_last = message.is_err();
        if sender.send(message).await.is_err() || is_last {
            return;
        }
    }
}

async fn receive(stdout: &mut ChildStdout) -> Result<FromWorker, FrameError> {
    let short = |error: std::io::Error| match error.kind() {
        std::io::ErrorKind::UnexpectedEof => FrameError::Truncated,
        _ => FrameError::Io(error),
    };
    let mut prefix = [0; 4];
    stdout.read_exact(&mut prefix).await.map_err(short)?;
    let mut body = vec![0; wire::body_len(prefix)?];
    stdout.read_exact(&mut body).await.map_err(short)?;
    wire::decode(&body)
}

/// Reads all that a plugin prints, so that it never waits, and keeps the end.
async fn keep_tail(mut stderr: ChildStderr, printed: Arc<Mutex<Vec<u8>>>) {
    let mut buffer = vec![0; TAIL_BYTES];
    while let Ok(n @ 1..) = stderr.read(&mut buffer).await {
        let mut printed = printed.lock().unwrap_or_else(PoisonError::into_inner);
        printed.extend_from_slice(&buffer[..n]);
        let surplus = printed.len().saturating_sub(TAIL_BYTES);
        printed.drain(..surplus);
    }
}
