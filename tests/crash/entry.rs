//! Entry at the bench, killed and cut off: one process that goes on writing and says what is done.

use std::{
    fs,
    io::{BufRead, BufReader},
    path::Path,
    process::Stdio,
    thread,
    time::Duration,
};

use catalog::{Action, Fact, Reader};
use domain::{dictionary::Dictionary, key::ProductKey};
use tests::Bench;

use crate::{
    Fault, audit,
    dice::Dice,
    power::{self, Bad, Film},
    scribe::{self, Deed, Habit, PRODUCT, last_said},
    tally::{End, Tally},
};

const KIND: &str = "entry";

/// Kills of one catalogue, before another one is begun.
const SERIES: u64 = 20;

/// The longest time from the first write to the kill.
const LONGEST: Duration = Duration::from_millis(300);

/// Writes of a film: a turn of all kinds, and some.
const FILMED: u64 = 9;

/// One catalogue through several kills.
pub(crate) struct Series {
    bench: Bench,
    fault: Option<Fault>,
    /// Writes that are there.
    written: u64,
    rounds: u64,
}

impl Series {
    pub(crate) fn new(dice: &mut Dice, fault: Option<Fault>) -> Self {
        // Begins anywhere, so that no two series write the same.
        let _ = dice.next();
        Series { bench: Bench::seeded(), fault, written: 0, rounds: 0 }
    }

    /// Lets it write, kills it, and looks.
    pub(crate) fn round(&mut self, dice: &mut Dice, tally: &mut Tally) {
        if self.rounds == SERIES {
            self.close(tally);
            *self = Series::new(dice, self.fault);
        }
        self.rounds += 1;
        let before = fs::read(self.bench.catalogue()).unwrap();
        let (acknowledged, begun) = match self.killed(dice) {
            Ok(it) => it,
            Err(why) => return self.given_up(tally, dice, Bad::Half(why)),
        };
        if self.fault == Some(Fault::Torn) {
            torn(&self.bench, &before);
        }
        match held(&self.bench, acknowledged, begun) {
            Ok(there) => {
                let end = if there > acknowledged { End::After } else { End::Before };
                tally.ended(KIND, end, acknowledged.saturating_sub(self.written));
                self.written = there;
            }
            Err(why) => self.given_up(tally, dice, why),
        }
    }

    fn given_up(&mut self, tally: &mut Tally, dice: &mut Dice, why: Bad) {
        tally.bad(KIND, why);
        *self = Series::new(dice, self.fault);
    }

    /// Starts the writing process, kills it, and gives the last write that it acknowledged and the last that it began.
    fn killed(&self, dice: &mut Dice) -> Result<(u64, u64), String> {
        let habit = if self.fault == Some(Fault::Early) { Habit::Early } else { Habit::Good };
        let mut child = scribe::command(&self.bench, self.written + 1, None, habit)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
        let mut said = Vec::new();
        // One in ten is killed while it starts.
        if dice.below(10) > 0 {
            said.extend(lines.next().and_then(Result::ok));
        }
        thread::sleep(LONGEST.mul_f64(dice.share()));
        child.kill().unwrap();
        said.extend(lines.map_while(Result::ok));
        drop(child.wait());
        let mut errors = String::new();
        if let Some(mut it) = child.stderr.take() {
            drop(std::io::Read::read_to_string(&mut it, &mut errors));
        }
        if !errors.is_empty() {
            return Err(errors);
        }
        let last =
            |word: &str| last_said(word, said.iter().map(String::as_str)).unwrap_or(self.written);
        match said.iter().find(|it| it.starts_with("failed")) {
            Some(why) => Err(why.clone()),
            None => Ok((last("done "), last("begin "))),
        }
    }

    /// The end of a series: the program itself finds nothing amiss, and goes on writing.
    pub(crate) fn close(&mut self, tally: &mut Tally) {
        if self.rounds > 0
            && let Err(why) = goes_on(&self.bench)
        {
            tally.bad(KIND, why);
        }
    }
}

/// Some writes, with all that they did to the files. Those that are watched wait for five seconds each, so they are few.
pub(crate) fn filmed(habit: Habit) -> Film {
    let (kind, last) = match habit {
        Habit::Watched | Habit::WatchedNormal => ("entry, watched", 3),
        _ => (KIND, FILMED),
    };
    let bench = Bench::seeded();
    Film::take(kind, &bench, &mut scribe::command(&bench, 1, Some(last), habit)).unwrap()
}

/// What a power cut left of them.
pub(crate) fn judged(bench: &Bench, said: &str, is_thorough: bool) -> power::Judged {
    let last = |word: &str| last_said(word, said.lines()).unwrap_or(0);
    let (acknowledged, begun) = (last("done "), last("begin "));
    let there = held(bench, acknowledged, begun)?;
    if is_thorough {
        goes_on(bench)?;
    }
    Ok((if there > acknowledged { End::After } else { End::Before }, acknowledged))
}

/// The program finds nothing amiss, and goes on writing.
fn goes_on(bench: &Bench) -> Result<(), Bad> {
    let doctor = bench.run(&["doctor"]);
    if doctor.status != 0 {
        return Err(Bad::Half(format!("the doctor found something: {}{}", doctor.out, doctor.err)));
    }
    let next = bench.run(&["record", PRODUCT, "cabinet.brace_count", "3"]);
    if next.status != 0 {
        return Err(Bad::Half(format!("nothing can be written any more: {}", next.err)));
    }
    Ok(())
}

/// How many writes are there, which must be all that were acknowledged and none that was not begun.
fn held(bench: &Bench, acknowledged: u64, begun: u64) -> Result<u64, Bad> {
    let catalogue = bench.catalogue();
    let there = audit::audit(&catalogue).and_then(|_| written(&catalogue)).map_err(Bad::Half)?;
    if there < acknowledged {
        let why = format!("{acknowledged} writes acknowledged, {there} there");
        return Err(Bad::Lost(acknowledged - there, why));
    }
    if there > begun {
        return Err(Bad::Half(format!("{begun} writes begun, {there} there")));
    }
    Ok(there)
}

/// How many of the writes are there, each as it was meant.
fn written(catalogue: &Path) -> Result<u64, String> {
    let words = |it: catalog::Error| it.to_string();
    let reader = Reader::open(catalogue).map_err(words)?;
    let key = ProductKey::parse(PRODUCT).unwrap();
    let all = reader.changes(&key, &Dictionary::standard()).map_err(words)?;
    let mut number = 0;
    for set in all.iter().filter(|it| it.action != Action::Import) {
        number += 1;
        let deed = Deed::of(number);
        let [change] = &set.changes[..] else {
            return Err(format!("write {number} changed {} facts", set.changes.len()));
        };
        let is_it = match (&deed, &change.after) {
            (Deed::Undo, _) => set.action == Action::Undo,
            (Deed::Finding(address, value), Some(Fact::Finding(it))) => {
                it.address() == *address
                    && value.starts_with(&it.typed)
                    && set.reason == format!("write {number}")
            }
            (Deed::Price(amount), Some(Fact::Price(it))) => it.money.minor == amount * 100,
            _ => false,
        };
        if !is_it {
            return Err(format!("write {number} should be {deed:?} and is {:?}", change.after));
        }
    }
    Ok(number)
}

/// Gives every other changed sector its bytes of before.
fn torn(bench: &Bench, before: &[u8]) {
    const SECTOR: usize = 512;
    let mut now = fs::read(bench.catalogue()).unwrap();
    let mut is_odd = false;
    for (at, sector) in now.chunks_mut(SECTOR).enumerate() {
        let earlier = before.get(at * SECTOR..at * SECTOR + sector.len());
        if earlier.is_some_and(|it| it == &*sector) {
            continue;
        }
        is_odd = !is_odd;
        if is_odd {
            match earlier {
                Some(it) => sector.copy_from_slice(it),
                None => sector.fill(0),
            }
        }
    }
    fs::write(bench.catalogue(), now).unwrap();
    for log in ["shelf.boxworth-wal", "shelf.boxworth-shm"] {
        drop(fs::remove_file(bench.path(log)));
    }
}
