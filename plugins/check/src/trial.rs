//! One check's dealings with the file: fresh workers, batches, and what a fault means for the verdict.

use std::cell::RefCell;
use std::time::{Duration, Instant};

use bw_sdk::abi;
use bw_sdk::manifest::Manifest;
use host::{
    Answer, Blocking, Done, Evaluate, Fault, FaultKind, Probe, Probed, Sandbox, Session, Stage,
};

use crate::file::Library;
use crate::report::{Outcome, Plugin, Verdict};
use crate::{Options, Refused, Unanswered};

/// A call is not asked to stop before this time.
const ASKED_TO_STOP: Duration = Duration::from_secs(2);

/// Why a check ends early.
#[derive(Debug)]
pub(crate) enum Stop {
    /// What came of it.
    Verdict(Verdict),
    /// Nothing can be checked here; not the file's fault.
    CannotRun(String),
}

impl From<Verdict> for Stop {
    fn from(it: Verdict) -> Self {
        Stop::Verdict(it)
    }
}

impl From<Fault> for Stop {
    fn from(it: Fault) -> Self {
        let hint = match it.kind {
            FaultKind::Crash | FaultKind::Killed => {
                ". A debugger or -fsanitize=address shows the place."
            }
            FaultKind::Exit => {
                ". Return a status; never end the process or close what others opened."
            }
            FaultKind::Timeout => ". A call has 2 s and 10 ms for each row.",
            FaultKind::BadReply => ". Write only to what the plugin itself has opened.",
            _ => "",
        };
        Stop::of(it, hint)
    }
}

impl Stop {
    /// What a fault means, with what to change.
    pub(crate) fn of(it: Fault, hint: &str) -> Self {
        let outcome = match it.kind {
            FaultKind::Start | FaultKind::Version | FaultKind::Sandbox => {
                return Stop::CannotRun(it.text);
            }
            FaultKind::Crash | FaultKind::Exit | FaultKind::Killed => Outcome::Crashed,
            FaultKind::Timeout => Outcome::TimedOut,
            _ => Outcome::Failed,
        };
        Stop::Verdict(Verdict { outcome, advice: format!("it {}{hint}", it.text) })
    }
}

/// A file to try.
#[derive(Debug)]
pub(crate) struct Trials<'a> {
    host: &'a Blocking,
    pub(crate) library: &'a Library,
    pub(crate) unanswered: Option<Unanswered>,
    pub(crate) refused: Option<Refused>,
    seen: RefCell<(Option<Plugin>, Option<Sandbox>)>,
}

impl<'a> Trials<'a> {
    pub(crate) fn new(host: &'a Blocking, library: &'a Library, options: &Options) -> Self {
        let Options { unanswered, refused, .. } = *options;
        Trials { host, library, unanswered, refused, seen: RefCell::default() }
    }

    /// What the file says of itself and what held its workers back, as far as was seen.
    pub(crate) fn seen(&self) -> (Option<Plugin>, Option<Sandbox>) {
        self.seen.borrow().clone()
    }

    /// A fresh worker with the library in it, or the fault as the host tells it.
    pub(crate) fn load(&self) -> Result<Session<'a>, Fault> {
        let session = self.host.session(&self.library.file).map_err(|mut fault| {
            // The report names the file already.
            let prefix = format!("{}: ", self.library.file.path.display());
            fault.text = fault.text.strip_prefix(&prefix).unwrap_or(&fault.text).to_owned();
            fault
        })?;
        self.seen.borrow_mut().1 = Some(session.sandbox.clone());
        Ok(session)
    }

    /// A fresh worker whose manifest is read.
    pub(crate) fn open(&self) -> Result<Trial<'a>, Stop> {
        let session = self.load()?;
        let manifest =
            Manifest::parse(&session.manifest).map_err(|why| Verdict::failed(why.to_string()))?;
        self.seen.borrow_mut().0 = Some(Plugin {
            id: manifest.id.clone(),
            name: manifest.name.clone(),
            version: manifest.version.clone(),
        });
        Ok(Trial { session, manifest })
    }
}

/// A worker that takes batches.
#[derive(Debug)]
pub(crate) struct Trial<'a> {
    pub(crate) session: Session<'a>,
    pub(crate) manifest: Manifest,
}

impl Trial<'_> {
    /// Scores a batch whose call must end well; what it brings is not looked at.
    pub(crate) fn score(&mut self, batch: &Evaluate) -> Result<Done, Stop> {
        Ok(self.answer(batch)?.done)
    }

    /// Scores a batch in which a host must find no fault either.
    pub(crate) fn judge(&mut self, batch: &Evaluate) -> Result<Done, Stop> {
        let answer = self.answer(batch)?;
        match answer.fault {
            None => Ok(answer.done),
            Some(fault) => Err(Verdict::failed(format!("it {}.", fault.text)).into()),
        }
    }

    fn answer(&mut self, batch: &Evaluate) -> Result<Answer, Stop> {
        let begin = Instant::now();
        let answer = self.session.evaluate(&self.manifest, batch)?;
        if answer.done.status == abi::E_STOPPED && ASKED_TO_STOP <= begin.elapsed() {
            let advice = "it did not finish in time and stopped when asked: a call has 2 s and 10 ms for each row";
            return Err(Verdict { outcome: Outcome::TimedOut, advice: advice.to_owned() }.into());
        }
        match failure(&answer.done) {
            None => Ok(answer),
            Some(advice) => Err(Verdict::failed(advice).into()),
        }
    }

    /// Asks for what no batch needs.
    pub(crate) fn probe(&mut self, probe: Probe) -> Result<Probed, Stop> {
        Ok(self.session.probe(probe)?)
    }

    /// Makes an instance of any parameters; `None` for a plugin that makes none.
    pub(crate) fn create(&mut self, params: Vec<f64>) -> Result<Option<Done>, Stop> {
        match self.probe(Probe::Create { params })? {
            Probed::Create { done } => Ok(done),
            other => Err(Stop::CannotRun(format!("the worker answered {other:?}"))),
        }
    }
}

/// What a call that did not end well says; `None` when it did.
pub(crate) fn failure(done: &Done) -> Option<String> {
    let function = match done.stage {
        Stage::Create => "create",
        Stage::Evaluate => "evaluate",
    };
    let advice = match done.status {
        abi::OK => return None,
        abi::E_INPUT => "refused what the manifest declares: take every input and parameter in it",
        abi::E_STOPPED => "stopped without being asked to: ask should_stop and go on while it is 0",
        abi::E_PANIC => "panicked: mend the cause, or leave the row unscored",
        _ => "gave up: one bad row is a remark and BW_NOT_SCORED, never a failed call",
    };
    let reason = reason(done).map_or("no reason logged".to_owned(), |it| format!("{it:?}"));
    Some(format!("{function} returned {} ({reason}). It {advice}.", done.status))
}

/// The last text logged as an error.
pub(crate) fn reason(done: &Done) -> Option<&str> {
    let errors = done.log.iter().rev().filter(|it| it.level == abi::LOG_ERROR);
    errors.map(|it| it.text.as_str()).next()
}
