//! A work is done once, with all that it does to its files noted; then the power is cut after every step of it.
//!
//! What is left on the disk follows from the records (`disk.rs`), so that the work is not done again for each cut: only the
//! audit is. At every step two things are looked at, what a kill would leave and the least that a power cut can leave, and at
//! many a third: what a power cut leaves as the dice will have it.

use std::{
    collections::{BTreeSet, VecDeque},
    fs,
    iter::once,
    path::Path,
    process::Command,
};

use tests::Bench;

use crate::{
    dice::Dice,
    disk::{Contents, Disk},
    journal::{self, Files, Record},
    tally::{End, Tally},
};

/// What is wrong with what was left.
#[derive(Debug)]
pub(crate) enum Bad {
    /// So many acknowledged writes are not there.
    Lost(u64, String),
    /// Something is neither as before nor as after.
    Half(String),
}

impl From<String> for Bad {
    fn from(why: String) -> Self {
        Bad::Half(why)
    }
}

/// How a work ended, and how many of its writes were acknowledged.
pub(crate) type Judged = Result<(End, u64), Bad>;

/// Looks at a folder that a power cut left, given what the process had said; thoroughly, by letting the program go on in it.
pub(crate) type Judge<'a> = dyn Fn(&Bench, &str, bool) -> Judged + 'a;

/// How many cuts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Extent {
    /// After every step.
    Every,
    /// After so many steps, drawn at random, and after the last.
    Some(u64),
}

/// Cuts of one work after which the program itself goes on, when every step is tried.
const THOROUGH: u64 = 12;

/// When every step is tried, the dice are thrown at one of so many.
const DRAWN_EACH: u64 = 4;

/// States that are not judged again when they come again.
const REMEMBERED: usize = 4;

/// A work with its records.
#[derive(Debug)]
pub(crate) struct Film {
    pub(crate) kind: &'static str,
    before: Files,
    pub(crate) records: Vec<Record>,
}

impl Film {
    /// Does a work to its end and notes its steps.
    ///
    /// # Errors
    /// When it fails, or when the records do not lead to the files that it left.
    pub(crate) fn take(
        kind: &'static str,
        bench: &Bench,
        command: &mut Command,
    ) -> Result<Film, String> {
        let aside = Bench::bare();
        let (folder, to) = (bench.path(""), aside.path("journal"));
        let folder = folder.canonicalize().unwrap();
        let before = journal::gather(&folder);
        journal::noted(command, &folder, &to, 0);
        let output = command.output().unwrap();
        if !output.status.success() {
            return Err(format!("{kind}: {}", String::from_utf8_lossy(&output.stderr)));
        }
        let film = Film { kind, before, records: journal::read(&to)? };
        let mut disk = Disk::new(&film.before, false);
        for record in &film.records {
            disk.follow(record)?;
        }
        let after: Contents = bare(journal::gather(&folder));
        let seen = disk.seen();
        let other = after.keys().chain(seen.keys()).find(|it| after.get(*it) != seen.get(*it));
        match other {
            None => Ok(film),
            Some(it) => Err(format!("{kind}: the records say something else of {}", it.display())),
        }
    }

    /// How many of its steps flush.
    pub(crate) fn flushes(&self) -> usize {
        let is_flush =
            |it: &&Record| matches!(it, Record::Flushed { .. } | Record::NamesFlushed { .. });
        self.records.iter().filter(is_flush).count()
    }

    /// Cuts the power, and says what came of it. On a deaf disk nothing is flushed, whatever it says.
    pub(crate) fn cut(
        &self,
        extent: Extent,
        is_deaf: bool,
        dice: &mut Dice,
        tally: &mut Tally,
        judge: &Judge<'_>,
    ) {
        let mut own = Tally::default();
        self.judge_all(extent, is_deaf, dice, &mut own, judge);
        let (steps, flushes) = (self.records.len(), self.flushes());
        println!("{}: {steps} steps, {flushes} flushes; {}", self.kind, own.sum("cuts"));
        tally.add(own);
    }

    fn judge_all(
        &self,
        extent: Extent,
        is_deaf: bool,
        dice: &mut Dice,
        tally: &mut Tally,
        judge: &Judge<'_>,
    ) {
        let steps = self.records.len() as u64;
        let chosen: BTreeSet<u64> = match extent {
            Extent::Every => (0..=steps).collect(),
            Extent::Some(few) => (1..few).map(|_| dice.below(steps)).chain([steps]).collect(),
        };
        let mut judged: VecDeque<(String, Contents)> = VecDeque::new();
        let mut look = |left: Contents, said: &str, dice: &mut Dice| {
            // What is unfinished is looked at by nobody but who clears it away: a step in it leaves what was judged before.
            let before = (said.to_owned(), finished(&left));
            if judged.contains(&before) {
                return;
            }
            judged.push_front(before);
            judged.truncate(REMEMBERED);
            let bench = Bench::bare();
            lay_down(&left, &bench);
            let is_thorough = extent == Extent::Every && dice.below(steps) < THOROUGH;
            match judge(&bench, said, is_thorough) {
                Ok((end, acknowledged)) => tally.ended(self.kind, end, acknowledged),
                Err(why) => tally.bad(self.kind, why),
            }
        };
        let mut disk = Disk::new(&self.before, is_deaf);
        let mut said = String::new();
        for (step, record) in (0..).zip(once(None).chain(self.records.iter().map(Some))) {
            if let Some(record) = record {
                disk.follow(record).unwrap();
            }
            if let Some(Record::Said { text }) = record {
                said.push_str(text);
            }
            if !chosen.contains(&step) {
                continue;
            }
            if extent == Extent::Every {
                look(disk.seen(), &said, dice);
            }
            if !disk.is_settled() {
                look(disk.sure(), &said, dice);
                if extent != Extent::Every || step % DRAWN_EACH == 0 {
                    look(disk.cut(dice), &said, dice);
                }
            }
        }
    }
}

fn finished(left: &Contents) -> Contents {
    let is_finished = |it: &Path| !it.to_string_lossy().contains(".part");
    let finished = left.iter().filter(|it| is_finished(it.0));
    finished.map(|(path, bytes)| (path.clone(), bytes.clone())).collect()
}

fn bare(files: Files) -> Contents {
    files.into_iter().map(|(path, (_, bytes))| (path, bytes)).collect()
}

/// Puts files into a fresh folder.
pub(crate) fn lay_down(contents: &Contents, bench: &Bench) {
    for (name, bytes) in contents {
        let path = bench.path("").join(name);
        fs::create_dir_all(path.parent().unwrap_or(Path::new("/"))).unwrap();
        fs::write(&path, bytes).unwrap();
        if name.to_string_lossy().ends_with("-wal") {
            // The index of a log is never flushed, so that it may hold anything.
            let index = name.to_string_lossy().replace("-wal", "-shm");
            fs::write(bench.path(&index), [0xa5; 32 * 1024]).unwrap();
        }
    }
}
