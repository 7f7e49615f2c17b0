//! Kills the program at random moments while it writes, and holds what is left against what it had acknowledged.
//!
//! `cargo xtask crash --kills 1000 --seed 1`; in `cargo xtask test` it is a test like others, with few kills. Entry at the bench
//! is done by this very program as a process of its own, which says each write that it has done (`entry.rs`); import,
//! migration, publication, copies and the way back by the real `boxworth` (`whole.rs`). SIGKILL comes at a moment drawn evenly
//! from the time that the work takes, or from the moments after the first byte of it reached the disk.
//!
//! This is the method of SQLite's crash tests (sqlite.org/testing.html, section 3.3) without a simulated file system: the system
//! keeps what a killed process wrote, so a power cut is not tried. What it would do to a file whose writes were not flushed is
//! what the seeded fault `torn` does. A harness that finds nothing proves nothing, so each run of the test also lets two
//! seeded faults loose, and fails unless they are found.
#![expect(clippy::print_stdout, reason = "a program for the terminal")]
#![expect(clippy::unwrap_used, reason = "a harness that cannot start has nothing to say")]

mod audit;
mod dice;
mod entry;
mod tally;
mod whole;

use std::process::ExitCode;

use dice::Dice;
use tally::Tally;

/// Kills in a run that was not told how many.
const KILLS: u64 = 25;

/// Kills in which a seeded fault must show.
const KILLS_OF_A_FAULT: u64 = 6;

/// A fault that is put in to see that it is found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Fault {
    /// Writes are acknowledged before they are done.
    Early,
    /// Of the sectors that the last writes changed, every other one never reached the disk, as when nothing is flushed
    /// (`synchronous = OFF`) and the power fails.
    Torn,
}

impl Fault {
    fn parse(word: &str) -> Option<Self> {
        match word {
            "early" => Some(Fault::Early),
            "torn" => Some(Fault::Torn),
            _ => None,
        }
    }
}

fn main() -> ExitCode {
    let mut arguments = std::env::args().skip(1);
    let (mut kills, mut seed, mut fault) = (None, 1, None);
    while let Some(it) = arguments.next() {
        match it.as_str() {
            "scribe" => return entry::scribe(&arguments.collect::<Vec<_>>()),
            "--kills" => kills = arguments.next().and_then(|it| it.parse().ok()),
            "--seed" => seed = arguments.next().and_then(|it| it.parse().ok()).unwrap_or(seed),
            "--fault" => fault = arguments.next().as_deref().and_then(Fault::parse),
            // What the test harness is given: its options mean nothing here, and a filter may mean another test.
            option if option.starts_with('-') => {}
            filter if !"crash".contains(filter) => return ExitCode::SUCCESS,
            _ => {}
        }
    }
    if let Some(fault) = fault {
        let tally = entries(&mut Dice::new(seed), kills.unwrap_or(KILLS), Some(fault));
        tally.print(&format!("with the seeded fault {fault:?}"));
        return if tally.is_clean() { ExitCode::SUCCESS } else { ExitCode::FAILURE };
    }
    let tally = all(&mut Dice::new(seed), kills.unwrap_or(KILLS));
    tally.print(&format!("seed {seed}"));
    let mut is_good = tally.is_clean();
    for fault in [Fault::Early, Fault::Torn] {
        let found = entries(&mut Dice::new(seed), KILLS_OF_A_FAULT, Some(fault));
        let (lost, half) = found.bad();
        println!("seeded fault {fault:?}: {lost} lost, {half} half in {KILLS_OF_A_FAULT} kills");
        is_good &= lost + half > 0;
    }
    if is_good { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}

/// Kills entry alone.
fn entries(dice: &mut Dice, kills: u64, fault: Option<Fault>) -> Tally {
    let mut tally = Tally::default();
    let mut series = entry::Series::new(dice, fault);
    while tally.kills() < kills {
        series.round(dice, &mut tally);
    }
    tally
}

/// Kills everything that writes: entry at three of four, the others by turns. A short run does not come to publication,
/// which takes longest.
fn all(dice: &mut Dice, kills: u64) -> Tally {
    let mut tally = Tally::default();
    let mut series = entry::Series::new(dice, None);
    let mut works = whole::Works::default();
    let mut turn = 0;
    while tally.kills() < kills {
        if dice.below(4) < 3 {
            series.round(dice, &mut tally);
        } else {
            works.round(turn, dice, &mut tally);
            turn += 1;
        }
    }
    series.close(&mut tally);
    tally
}
