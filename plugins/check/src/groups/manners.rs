//! Parameters, stopping, and what is left behind.

use std::thread;
use std::time::{Duration, Instant};

use bw_sdk::abi;
use bw_sdk::manifest::Param;
use host::{Evaluate, MAX_LOG_BYTES, Probe};

use super::{Checked, MANY_ROWS, SOME_ROWS};
use crate::inputs::{Like, batch};
use crate::process::{Held, held};
use crate::report::Verdict;
use crate::trial::{Stop, Trial, Trials, failure, reason};

/// Rounds of create, evaluate and destroy before memory is looked at, so that caches are full.
const WARM_UP: usize = 200;
/// Rounds over which memory must be stable.
const ROUNDS: usize = 1000;
/// Growth over all rounds that passes: what an allocator sets aside, and far less than a leak of one row's inputs.
const GROWTH_BYTES: u64 = 256 << 10;
/// Rows of a round.
const ROUND_ROWS: usize = 16;
/// How long a thread that has been joined may take to be gone.
const LAST_BREATH: Duration = Duration::from_secs(1);

pub(super) fn default_parameters(trials: &Trials<'_>) -> Checked {
    let mut trial = trials.open()?;
    let params = trial.manifest.default_params();
    let done = trial.create(params)?;
    Ok(done.and_then(|it| failure(&it)).map_or_else(Verdict::passed, Verdict::failed))
}

/// All parameters at one end of their ranges.
pub(super) fn parameters_at(trials: &Trials<'_>, end: fn(&Param) -> f64) -> Checked {
    let mut trial = trials.open()?;
    if trial.manifest.params.is_empty() {
        return Ok(Verdict::skipped("it has no parameters"));
    }
    let params = trial.manifest.params.iter().map(end).collect();
    let batch = Evaluate { params, ..batch(&trial.manifest, Like::Patchy, SOME_ROWS) };
    trial.judge(&batch)?;
    Ok(Verdict::passed())
}

pub(super) fn foreign_parameters(trials: &Trials<'_>) -> Checked {
    let mut trial = trials.open()?;
    if trial.manifest.params.is_empty() {
        return Ok(Verdict::skipped("it has no parameters"));
    }
    let defaults = trial.manifest.default_params();
    for (place, declared) in trial.manifest.params.clone().iter().enumerate() {
        let width = (declared.max - declared.min).max(1.0);
        for value in [declared.min - width, declared.max + width, f64::NAN, f64::INFINITY] {
            let mut params = defaults.clone();
            params[place] = value;
            let Some(done) = trial.create(params)? else {
                return Ok(Verdict::skipped("it makes no instances"));
            };
            if done.status != abi::OK && done.status != abi::E_INPUT {
                let why = reason(&done).map_or_else(String::new, |it| format!(" ({it:?})"));
                return Ok(Verdict::failed(format!(
                    "create returned {} for `{}` = {value:?}{why}: take it, or return BW_E_INPUT",
                    done.status, declared.id
                )));
            }
        }
    }
    Ok(Verdict::passed())
}

pub(super) fn parameter_count(trials: &Trials<'_>) -> Checked {
    let mut trial = trials.open()?;
    let defaults = trial.manifest.default_params();
    let n = defaults.len();
    let mut wrong = vec![[defaults.clone(), vec![0.0]].concat()];
    if 0 < n {
        wrong.push(defaults[..n - 1].to_vec());
    }
    let mut silent = false;
    for params in wrong {
        let given = params.len();
        let Some(done) = trial.create(params)? else {
            return Ok(match n {
                0 => Verdict::skipped("it makes no instances"),
                _ => Verdict::failed(
                    "it declares parameters but has no create function: they change nothing",
                ),
            });
        };
        if done.status != abi::E_INPUT {
            return Ok(Verdict::failed(format!(
                "create returned {} for {given} parameters instead of {n}: compare n and return BW_E_INPUT",
                done.status
            )));
        }
        silent |= reason(&done).is_none();
    }
    Ok(match silent {
        false => Verdict::passed(),
        true => {
            Verdict::warned("create gives no reason: log one at BW_LOG_ERROR before BW_E_INPUT")
        }
    })
}

pub(super) fn stops(trials: &Trials<'_>) -> Checked {
    let mut trial = trials.open()?;
    let batch = batch(&trial.manifest, Like::Plausible, MANY_ROWS);
    let answer = trial.session.evaluate_by(&trial.manifest, &batch, Duration::ZERO);
    let done = match answer {
        Ok(it) => it.done,
        Err(fault) => {
            return match Stop::from(fault) {
                Stop::Verdict(mut it) => {
                    it.advice = "the call went on for 2 s after it was asked to stop and was killed: ask should_stop \
                                 at least every 100 ms, and return BW_E_STOPPED"
                        .to_owned();
                    Ok(it)
                }
                other => Err(other),
            };
        }
    };
    // A call that was quicker than the wish to stop it is as good.
    Ok(match done.status {
        abi::OK | abi::E_STOPPED => Verdict::passed(),
        status => Verdict::failed(format!(
            "evaluate returned {status} when it was asked to stop: return BW_E_STOPPED"
        )),
    })
}

/// What the worker of a trial holds.
fn now(trial: &Trial<'_>) -> Result<Held, Stop> {
    let unseen = || Verdict::skipped("this system does not show what a process holds").into();
    held(trial.session.pid).ok_or_else(unseen)
}

pub(super) fn threads(trials: &Trials<'_>) -> Checked {
    let mut trial = trials.open()?;
    let before = now(&trial)?.threads;
    let batch = batch(&trial.manifest, Like::Plausible, SOME_ROWS);
    trial.score(&batch)?;
    trial.probe(Probe::End)?;
    let end = Instant::now() + LAST_BREATH;
    loop {
        let left = now(&trial)?.threads.saturating_sub(before);
        if left == 0 {
            return Ok(Verdict::passed());
        }
        if end < Instant::now() {
            return Ok(Verdict::failed(format!(
                "after the call {left} more threads run than before: join each before the call returns"
            )));
        }
        thread::sleep(Duration::from_millis(5));
    }
}

pub(super) fn memory(trials: &Trials<'_>) -> Checked {
    let mut trial = trials.open()?;
    let batch = batch(&trial.manifest, Like::Patchy, ROUND_ROWS);
    let mut before = now(&trial)?;
    for round in 0..WARM_UP + ROUNDS {
        if round == WARM_UP {
            before = now(&trial)?;
        }
        trial.score(&batch)?;
        trial.probe(Probe::End)?;
    }
    let grown = now(&trial)?.memory_bytes.saturating_sub(before.memory_bytes);
    Ok(match grown <= GROWTH_BYTES {
        true => Verdict::passed(),
        false => Verdict::failed(format!(
            "{} KiB more after {ROUNDS} rounds of create, evaluate and destroy: free in destroy what create allocates, \
             and in evaluate what it allocates itself",
            grown >> 10
        )),
    })
}

pub(super) fn quiet(trials: &Trials<'_>) -> Checked {
    let mut trial = trials.open()?;
    let batch = batch(&trial.manifest, Like::Plausible, 1);
    trial.score(&batch)?;
    trial.probe(Probe::Flush)?;
    let printed = trial.session.close();
    let first = printed.lines().map(str::trim).find(|it| !it.is_empty());
    Ok(match first {
        None => Verdict::passed(),
        Some(line) => {
            let line: String = line.chars().filter(|it| !it.is_control()).take(80).collect();
            Verdict::warned(format!("it printed {line:?}: nobody reads that; use the host's log"))
        }
    })
}

pub(super) fn log_text(trials: &Trials<'_>) -> Checked {
    let mut trial = trials.open()?;
    let batch = batch(&trial.manifest, Like::Patchy, MANY_ROWS);
    let log = trial.score(&batch)?.log;
    let bytes: usize = log.iter().map(|it| it.text.len()).sum();
    Ok(if log.iter().any(|it| it.text.contains(char::REPLACEMENT_CHARACTER)) {
        Verdict::warned("a log text is not UTF-8: its bad bytes are replaced")
    } else if MAX_LOG_BYTES / 2 < bytes {
        Verdict::warned(format!(
            "{bytes} bytes of log in one call; past {MAX_LOG_BYTES} the rest is dropped: log once a call, not once a row"
        ))
    } else {
        Verdict::passed()
    })
}
