//! Ends the program at bad moments while it writes, and holds what is left against what it had acknowledged.
//!
//! `cargo xtask crash --kills 1000 --seed 1`; in `cargo xtask test` it is a test like others, with few kills and cuts. Entry
//! at the bench is done by this very program as a process of its own, which says each write that it has done (`scribe.rs`,
//! `entry.rs`); all else by the real `boxworth` (`work.rs`, `whole.rs`).
//!
//! A kill is a SIGKILL at a moment drawn evenly from the time that the work takes, or soon after its first byte reached the
//! disk, or right after one of its own steps. The system keeps what a killed process wrote. A power cut does not: so the
//! steps of each work are noted once (`journal.rs`), and what a disk without power may have kept of them is worked out after
//! every step (`power.rs`; `disk.rs` says what a disk may lose).
//!
//! These are the two ways in which SQLite tests itself against crashes (sqlite.org/testing.html, section 3.3). A harness
//! that finds nothing proves nothing, so seeded faults are let loose in each run, and it fails unless they are found.
#![expect(clippy::print_stdout, reason = "a program for the terminal")]
#![expect(clippy::unwrap_used, reason = "a harness that cannot start has nothing to say")]

mod audit;
mod dice;
mod disk;
mod entry;
mod journal;
mod power;
mod scribe;
mod tally;
mod whole;
mod work;

use std::process::ExitCode;

use dice::Dice;
use power::Extent;
use scribe::Habit;
use tally::Tally;
use whole::Works;

/// Kills in a run that was not told how many.
const KILLS: u64 = 25;

/// Kills with a seeded fault, and how many at most until it shows.
const KILLS_OF_A_FAULT: u64 = 6;
const MOST_OF_A_FAULT: u64 = 60;

/// Steps of each work after which the power is cut in a short run.
const CUTS: u64 = 5;

/// The same in a long run, for each seeded fault.
const FAULTY_CUTS: u64 = 40;

/// A fault that is put in to see that kills find it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Fault {
    /// Writes are acknowledged before they are done.
    Early,
    /// Of the sectors that the last writes changed, every other one never reached the disk.
    Torn,
}

fn main() -> ExitCode {
    let mut arguments = std::env::args().skip(1);
    let (mut kills, mut seed, mut every) = (KILLS, 1, false);
    while let Some(it) = arguments.next() {
        match it.as_str() {
            "scribe" => return scribe::scribe(&arguments.collect::<Vec<_>>()),
            "--kills" => kills = arguments.next().and_then(|it| it.parse().ok()).unwrap_or(kills),
            "--seed" => seed = arguments.next().and_then(|it| it.parse().ok()).unwrap_or(seed),
            "--every-step" => every = true,
            // What the test harness is given: its options mean nothing here, and a filter may mean another test.
            option if option.starts_with('-') => {}
            filter if !"crash".contains(filter) => return ExitCode::SUCCESS,
            _ => {}
        }
    }
    let mut works = Works::default();
    let mut is_good = killed(&mut Dice::new(seed), kills, &mut works);
    if journal::IS_POSSIBLE {
        is_good &= cut(&mut Dice::new(seed), every, &mut works);
    }
    if is_good { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}

/// Kills everything that writes: entry at three of four, the others by turns. Then entry alone, with faults.
fn killed(dice: &mut Dice, kills: u64, works: &mut Works) -> bool {
    let mut tally = Tally::default();
    let mut series = entry::Series::new(dice, None);
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
    tally.print("The program is killed", "kills");
    let mut is_good = tally.is_clean();
    for fault in [Fault::Early, Fault::Torn] {
        let mut tally = Tally::default();
        let mut series = entry::Series::new(dice, Some(fault));
        // A busy machine may not come to a write before it is killed.
        let is_enough = |it: &Tally| it.kills() >= MOST_OF_A_FAULT || !it.is_clean();
        while tally.kills() < KILLS_OF_A_FAULT || !is_enough(&tally) {
            series.round(dice, &mut tally);
        }
        println!("seeded fault {fault:?}: {}", tally.sum("kills"));
        is_good &= !tally.is_clean();
    }
    is_good
}

/// Cuts the power: after every step of every work, or after few steps of those that are known already. Then with
/// `PRAGMA synchronous` set lower, and on a disk that flushes nothing.
fn cut(dice: &mut Dice, every: bool, works: &mut Works) -> bool {
    let mut tally = Tally::default();
    let (extent, few) = match every {
        true => (Extent::Every, Extent::Some(FAULTY_CUTS)),
        false => (Extent::Some(CUTS), Extent::Some(CUTS)),
    };
    let mut entries = vec![entry::filmed(Habit::Good)];
    if every {
        works.learn();
        entries.push(entry::filmed(Habit::Watched));
    }
    println!("The power is cut");
    for film in &entries {
        film.cut(extent, false, dice, &mut tally, &entry::judged);
    }
    works.cut(extent, false, dice, &mut tally);
    tally.print("All cuts", "cuts");
    let mut is_good = tally.is_clean();
    let lower = [("OFF", Habit::Off), ("NORMAL, watched", Habit::WatchedNormal)];
    for (word, habit) in &lower[..if every { 2 } else { 1 }] {
        let mut tally = Tally::default();
        print!("seeded fault synchronous = {word}: ");
        entry::filmed(*habit).cut(few, false, dice, &mut tally, &entry::judged);
        is_good &= !tally.is_clean();
    }
    let mut tally = Tally::default();
    println!("seeded fault of a disk that flushes nothing");
    entries[0].cut(few, true, dice, &mut tally, &entry::judged);
    works.cut(few, true, dice, &mut tally);
    println!("{}", tally.sum("cuts"));
    is_good && !tally.is_clean()
}
