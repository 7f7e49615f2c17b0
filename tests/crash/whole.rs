//! Whole works, killed and cut off: each is there, or it is not.

use std::{
    collections::BTreeMap,
    fs,
    process::{Child, Stdio},
    thread,
    time::{Duration, Instant},
};

use catalog::backup;
use tests::Bench;

use crate::{
    audit::{State, audit},
    dice::Dice,
    disk::Contents,
    journal,
    power::{self, Bad, Extent, Film, lay_down},
    tally::{End, Tally},
    work::{TURNS, Work},
};

/// What is known of a work before it is killed.
struct Known {
    work: Work,
    /// All files of the folder before it.
    files: Contents,
    before: State,
    after: State,
    took: Duration,
    /// Its steps, where they can be noted.
    film: Option<Film>,
}

/// All works so far.
#[derive(Default)]
pub(crate) struct Works {
    known: BTreeMap<Work, Known>,
}

impl Works {
    pub(crate) fn round(&mut self, turn: usize, dice: &mut Dice, tally: &mut Tally) {
        let known = self.known(TURNS[turn % TURNS.len()]);
        let bench = Bench::bare();
        lay_down(&known.files, &bench);
        match known.killed(&bench, dice) {
            Ok(end) => tally.ended(known.work.name(), end, u64::from(end == End::ByItself)),
            Err(why) => tally.bad(known.work.name(), why),
        }
    }

    fn known(&mut self, work: Work) -> &Known {
        self.known.entry(work).or_insert_with(|| Known::learn(work))
    }

    /// Does all works that it does not know yet.
    pub(crate) fn learn(&mut self) {
        for work in TURNS {
            let _ = self.known(work);
        }
    }

    /// Cuts the power while each known work is done.
    pub(crate) fn cut(&self, extent: Extent, is_deaf: bool, dice: &mut Dice, tally: &mut Tally) {
        for known in self.known.values() {
            let Some(film) = &known.film else { continue };
            let judge = |bench: &Bench, said: &str, is_thorough: bool| {
                known.judged(bench, !said.is_empty(), is_thorough)
            };
            film.cut(extent, is_deaf, dice, tally, &judge);
        }
    }
}

impl Known {
    /// Does a work to its end once, to know what must come of it, how long it takes, and what its steps are.
    fn learn(work: Work) -> Known {
        let bench = work.bench();
        let arguments = work.arguments(&bench);
        let words: Vec<&str> = arguments.iter().map(String::as_str).collect();
        let files = journal::gather(&bench.path(""));
        let before = audit(&bench.catalogue()).unwrap();
        let begun = Instant::now();
        let film = if journal::IS_POSSIBLE {
            Some(Film::take(work.name(), &bench, &mut bench.command(&words)).unwrap())
        } else {
            let _ = bench.run(&words).done();
            None
        };
        let took = begun.elapsed();
        let after = audit(&bench.catalogue()).unwrap();
        work.beside(&bench, End::ByItself).unwrap();
        let files = files.into_iter().map(|(path, (_, bytes))| (path, bytes)).collect();
        Known { work, files, before, after, took, film }
    }

    /// Starts the work, kills it, and looks at what is there; then does it to its end.
    fn killed(&self, bench: &Bench, dice: &mut Dice) -> Result<End, Bad> {
        let arguments = self.work.arguments(bench);
        let words: Vec<&str> = arguments.iter().map(String::as_str).collect();
        let mut command = bench.command(&words);
        command.stdout(Stdio::null()).stderr(Stdio::piped());
        // Most of the time is reading and computing, so of four one is killed at any moment, two after the first byte (of
        // anything, such as the copy of the day, or of the catalogue itself), and one right after a step of its own. The
        // last is what nearly all kills of a publication are, which computes for seconds and commits in hundredths.
        let aside = Bench::bare();
        let mut way = dice.below(4);
        if self.work == Work::Publish && dice.below(8) > 0 {
            way = 3;
        }
        if let (3, Some(film)) = (way, &self.film) {
            let step = 1 + dice.below(film.records.len() as u64);
            let folder = bench.path("").canonicalize().unwrap();
            journal::noted(&mut command, &folder, &aside.path("journal"), step);
        }
        let mut child = command.spawn().unwrap();
        let is_done = match (way, &self.film) {
            (3, Some(_)) => kills_itself(&mut child)?,
            (1 | 2, _) => {
                first_byte(bench, &mut child, way == 1)?;
                thread::sleep(Duration::from_millis(40).mul_f64(dice.share()));
                has_ended(&mut child)?
            }
            _ => {
                thread::sleep(self.took.mul_f64(dice.share() * 1.05));
                has_ended(&mut child)?
            }
        };
        if !is_done {
            drop(child.kill());
        }
        drop(child.wait());
        self.judged(bench, is_done, true).map(|(end, _)| end)
    }

    /// What was left, given whether the work was acknowledged; thoroughly, with the work done to its end afterwards.
    fn judged(&self, bench: &Bench, is_acknowledged: bool, is_thorough: bool) -> power::Judged {
        let now = audit(&bench.catalogue())?;
        let end = match (is_acknowledged, now == self.before, now == self.after) {
            (true, _, true) => End::ByItself,
            (true, true, false) => {
                return Err(Bad::Lost(1, "what was acknowledged is gone".into()));
            }
            (false, true, _) => End::Before,
            (false, _, true) => End::After,
            (_, false, false) => {
                return Err(Bad::Half(format!(
                    "neither as before nor as after: {}",
                    self.differs(&now)
                )));
            }
        };
        self.work.beside(bench, end).map_err(|why| match is_acknowledged {
            true => Bad::Lost(1, why),
            false => Bad::Half(why),
        })?;
        if is_thorough {
            self.finished(bench, end)?;
        }
        Ok((end, u64::from(end == End::ByItself)))
    }

    /// The work can be done as if nothing had happened, and nothing is left lying about.
    fn finished(&self, bench: &Bench, end: End) -> Result<(), Bad> {
        let arguments = self.work.arguments(bench);
        let words: Vec<&str> = arguments.iter().map(String::as_str).collect();
        if end == End::Before {
            let again = bench.run(&words);
            // A text that is there is whole, and not written over.
            let is_there = matches!(self.work, Work::Export | Work::Tell) && again.status == 2;
            if again.status != 0 && !is_there {
                return Err(Bad::Half(format!("it cannot be done again: {}", again.err)));
            }
            let now = audit(&bench.catalogue())?;
            if now != self.after {
                return Err(Bad::Half(format!(
                    "done again it is something else: {}",
                    self.differs(&now)
                )));
            }
            self.work.beside(bench, End::ByItself)?;
        }
        if self.work == Work::Publish {
            let folder = bench.path("guide");
            let folder = folder.to_str().unwrap();
            let again = bench.run(&["publish", "--edition", "1", "--to", folder]);
            if again.status != 0 {
                return Err(Bad::Half(format!("the edition cannot be written out: {}", again.err)));
            }
        }
        if end != End::ByItself {
            let doctor = bench.run(&["doctor", "--repair"]);
            if doctor.status != 0 {
                let why = format!("the doctor finds something: {}{}", doctor.out, doctor.err);
                return Err(Bad::Half(why));
            }
        }
        let files = journal::gather(&bench.path(""));
        match files.keys().find(|it| it.to_string_lossy().contains(".part")) {
            None => Ok(()),
            Some(it) => Err(Bad::Half(format!("{} is left", it.display()))),
        }
    }

    fn differs(&self, now: &State) -> String {
        let tables = now.iter().filter(|(table, rows)| {
            self.before.get(*table) != Some(rows) && self.after.get(*table) != Some(rows)
        });
        tables
            .map(|(table, rows)| format!("{table} has {} rows", rows.lines().count()))
            .collect::<Vec<_>>()
            .join(", ")
    }
}

/// Waits until the catalogue changes, or with `or_copies` also its folder of copies, or the process ends.
fn first_byte(bench: &Bench, child: &mut Child, or_copies: bool) -> Result<(), String> {
    let sizes = || {
        let of = |name: &str| fs::metadata(bench.path(name)).map_or(0, |it| it.len());
        let copies = match or_copies {
            true => fs::read_dir(backup::folder(&bench.catalogue())).map_or(0, Iterator::count),
            false => 0,
        };
        (of("shelf.boxworth"), of("shelf.boxworth-wal"), of("shelf.boxworth-journal"), copies)
    };
    let before = sizes();
    while sizes() == before && !has_ended(child)? {
        thread::sleep(Duration::from_micros(300));
    }
    Ok(())
}

/// Whether a process ended by itself and well.
fn has_ended(child: &mut Child) -> Result<bool, String> {
    match child.try_wait().map_err(|it| it.to_string())? {
        None => Ok(false),
        Some(status) if status.success() => Ok(true),
        Some(status) => Err(ended(child, &status.to_string())),
    }
}

/// Waits for a process that is killed at one of its steps, and says whether it came to its end before.
fn kills_itself(child: &mut Child) -> Result<bool, String> {
    let status = child.wait().map_err(|it| it.to_string())?;
    match status.code() {
        None => Ok(false),
        Some(0) => Ok(true),
        Some(_) => Err(ended(child, &status.to_string())),
    }
}

fn ended(child: &mut Child, status: &str) -> String {
    let mut errors = String::new();
    if let Some(mut it) = child.stderr.take() {
        drop(std::io::Read::read_to_string(&mut it, &mut errors));
    }
    format!("ended with {status}: {errors}")
}
