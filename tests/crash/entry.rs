//! Entry at the bench: one process that goes on writing and says what is done, until it is killed.

use std::{
    fs,
    io::{BufRead, BufReader, Write},
    path::{Path, PathBuf},
    process::{ExitCode, Stdio},
    thread,
    time::Duration,
};

use catalog::{Action, Fact, Reader};
use domain::{dictionary::Dictionary, key::ProductKey};
use engine::{Engine, EngineOptions, PriceRequest, RecordRequest};
use tests::Bench;

use crate::{
    Fault, audit,
    dice::Dice,
    tally::{End, Tally},
};

const KIND: &str = "entry";

/// An invented product of the seed catalogue.
const PRODUCT: &str = "thistlequern/grist-5";

/// Kills of one catalogue, before another one is begun.
const SERIES: u64 = 20;

/// The longest time from the first write to the kill.
const LONGEST: Duration = Duration::from_millis(300);

/// One write. It follows from its number, so that both sides know it.
#[derive(Debug, PartialEq, Eq)]
enum Deed {
    Finding(&'static str, String),
    Price(i64),
    Undo,
}

impl Deed {
    fn of(number: u64) -> Deed {
        // Different from all before it, since what is there already is not written again.
        let (whole, part) = (9 + number % 12, number / 12 % 100);
        match number % 7 {
            // It takes back the one before it, which is no undo.
            0 => Deed::Undo,
            3 => Deed::Price(i64::try_from(100 + number).unwrap()),
            1 | 4 => Deed::Finding("cabinet.net_volume", format!("{whole}.{part:02} L")),
            _ => Deed::Finding("cabinet.panel_thick.front", format!("{whole}.{part:02} mm")),
        }
    }

    fn done(&self, engine: &Engine, number: u64) -> Result<(), engine::Error> {
        let reason = format!("write {number}");
        match self {
            Deed::Undo => drop(engine.undo()?),
            Deed::Finding(address, value) => drop(engine.record(&RecordRequest {
                product: PRODUCT.into(),
                finding: (*address).into(),
                value: value.clone(),
                reason,
                ..RecordRequest::default()
            })?),
            Deed::Price(amount) => drop(engine.add_price(&PriceRequest {
                product: PRODUCT.into(),
                price: amount.to_string(),
                shop: format!("Invented shop {number}"),
                reason,
                ..PriceRequest::default()
            })?),
        }
        Ok(())
    }
}

/// The writing process: `scribe CATALOGUE FIRST [early]`.
pub(crate) fn scribe(arguments: &[String]) -> ExitCode {
    let [catalogue, first, rest @ ..] = arguments else { return ExitCode::from(2) };
    let is_early = rest.iter().any(|it| it == "early");
    let options = EngineOptions {
        catalogue: PathBuf::from(catalogue),
        require_sandbox: false,
        today: tests::AS_OF.parse().ok(),
        cache: None,
    };
    let engine = Engine::open(options).unwrap();
    let mut out = std::io::stdout().lock();
    for number in first.parse().unwrap().. {
        writeln!(out, "begin {number}").and_then(|()| out.flush()).unwrap();
        let done = |out: &mut dyn Write| {
            writeln!(out, "done {number}").and_then(|()| out.flush()).unwrap();
        };
        if is_early {
            done(&mut out);
        }
        if let Err(why) = Deed::of(number).done(&engine, number) {
            writeln!(out, "failed {number}: {why}").unwrap();
            return ExitCode::FAILURE;
        }
        if !is_early {
            done(&mut out);
        }
    }
    ExitCode::SUCCESS
}

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
            Err(why) => return self.given_up(tally, dice, why),
        };
        if self.fault == Some(Fault::Torn) {
            torn(&self.bench, &before);
        }
        let there =
            audit::audit(&self.bench.catalogue()).and_then(|_| written(&self.bench.catalogue()));
        match there {
            Ok(there) if there < acknowledged => {
                let why = format!("{acknowledged} writes acknowledged, {there} there");
                tally.lost(KIND, acknowledged - there, why);
                *self = Series::new(dice, self.fault);
            }
            Ok(there) if there > begun => {
                self.given_up(tally, dice, format!("{begun} writes begun, {there} there"));
            }
            Ok(there) => {
                let end = if there > acknowledged { End::After } else { End::Before };
                tally.ended(KIND, end, acknowledged.saturating_sub(self.written));
                self.written = there;
            }
            Err(why) => self.given_up(tally, dice, why),
        }
    }

    fn given_up(&mut self, tally: &mut Tally, dice: &mut Dice, why: String) {
        tally.half(KIND, why);
        *self = Series::new(dice, self.fault);
    }

    /// Starts the writing process, kills it, and gives the last write that it acknowledged and the last that it began.
    fn killed(&self, dice: &mut Dice) -> Result<(u64, u64), String> {
        let mut command = tests::command(std::env::current_exe().unwrap());
        command.arg("scribe").arg(self.bench.catalogue()).arg((self.written + 1).to_string());
        if self.fault == Some(Fault::Early) {
            command.arg("early");
        }
        let mut child = command
            .env("HOME", self.bench.path(""))
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
        let last = |word: &str| {
            let mut numbers = said.iter().rev().filter_map(|it| it.strip_prefix(word));
            numbers.find_map(|it| it.parse().ok()).unwrap_or(self.written)
        };
        match said.iter().find(|it| it.starts_with("failed")) {
            Some(why) => Err(why.clone()),
            None => Ok((last("done "), last("begin "))),
        }
    }

    /// The end of a series: the program itself finds nothing amiss, and goes on writing.
    pub(crate) fn close(&mut self, tally: &mut Tally) {
        if self.rounds == 0 {
            return;
        }
        let doctor = self.bench.run(&["doctor"]);
        if doctor.status != 0 {
            tally.half(KIND, format!("the doctor found something: {}{}", doctor.out, doctor.err));
        }
        let next = self.bench.run(&["record", PRODUCT, "cabinet.brace_count", "3"]);
        if next.status != 0 {
            tally.half(KIND, format!("nothing can be written any more: {}", next.err));
        }
    }
}

/// How many of the writes are there, each as it was meant.
fn written(catalogue: &Path) -> Result<u64, String> {
    let words = |it: catalog::Error| it.to_string();
    let reader = Reader::open(catalogue).map_err(words)?;
    let key = ProductKey::parse(PRODUCT).unwrap();
    let all = reader.changes(Some(&key), &Dictionary::standard()).map_err(words)?;
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
